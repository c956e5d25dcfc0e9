"""How much of a colour a market allows on which food, and what it wants said."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from typing import Literal

from demoule.errors import BadInput, UnknownName
from demoule.figures import Status
from demoule.larder.naming import fold
from demoule.larder.shelf import split_list
from demoule.larder.tables import read_csv

__all__ = [
    "CATEGORIES",
    "MARKETS",
    "ColourFact",
    "ColourRule",
    "Outcome",
    "Verdict",
    "check_colour",
    "check_colours",
    "colour_fact",
    "colour_facts",
    "colour_rules",
    "sulphites_declared",
    "warning_phrase",
]

Outcome = Literal["within", "over", "refused", "ask"]
MARKETS = ("EU", "US", "Codex")

CATEGORIES = {
    "03": "edible ices",
    "04.2": "candied fruit and fruit preserves",
    "05.2": "confectionery",
    "05.4": "decorations, coatings and fillings",
    "07.2": "fine bakery wares",
    "14.2.6": "liqueurs",
    "16": "desserts",
}
"""Numbers of the food categories on which a limit is judged; a person picks the one that fits the layer."""

_SULPHITE_LIMIT = 10.0  # mg/kg as sulphur dioxide in the food as eaten: EU Annex II and the US alike
_DIRECT = "may not be sold straight to the consumer; read the consolidated text for the category"
_ALL = "all"


@dataclass(frozen=True, slots=True, kw_only=True)
class ColourFact:
    """What a colour is and how each market treats it."""

    e_number: str
    name: str
    also: tuple[str, ...]
    us_name: str
    us_status: str  # "certified", "exempt", "limited", "revoked", "metal", "not listed"
    carrier: str  # "fat", "water", "pigment", "metal"
    eu_group: str  # "II", "III", "own limits", "metal", "carrier", "refused", "not for direct sale", ...
    traits: frozenset[str]
    note: str
    us_source: str
    status: Status


@dataclass(frozen=True, slots=True, kw_only=True)
class ColourRule:
    """One line of the law of a market about a colour, as data."""

    market: str
    kind: str  # "combined", "single", "refused", "read the text", "listed use", "until", "warning"
    subject: str  # an E number or "group III"
    category: str
    limit: float | None  # mg/kg of the food it is judged on
    says: str
    source: str
    locator: str
    status: Status


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """What one rule says to one dose; never that a food is safe.

    Parameters
    ----------
    outcome
        "within" a stated limit or listed without one, "over" it, "refused" by the market, or "ask": not shown here.
    limit, met
        mg of colour per kg of the food it was judged on; None where no number exists or none was told.
    warning
        Phrase the market wants on the pack, or empty.
    """

    colour: str
    market: str
    category: str
    outcome: Outcome
    limit: float | None
    met: float | None
    says: str
    warning: str
    source: str
    status: Status


@lru_cache(maxsize=1)
def colour_facts() -> tuple[ColourFact, ...]:
    """All colours the larder knows."""
    return tuple(
        ColourFact(
            e_number=row["e_number"],
            name=row["name"],
            also=split_list(row["also"]),
            us_name=row["us_name"],
            us_status=row["us_status"],
            carrier=row["carrier"],
            eu_group=row["eu_group"],
            traits=frozenset(split_list(row["traits"])),
            note=row["note"],
            us_source=row["us_source"],
            status=Status(row["status"]),
        )
        for row in read_csv("colours.csv")
    )


@lru_cache(maxsize=1)
def _by_name() -> Mapping[str, ColourFact]:
    found: dict[str, ColourFact] = {}
    for fact in colour_facts():
        for spelling in (fact.e_number, fact.name, *fact.also, fact.us_name):
            if spelling:
                found.setdefault(re.sub(r"\bno\b ?", "", fold(spelling)), fact)
    return found


def colour_fact(name: str) -> ColourFact:
    """A colour by its E number, INS number or name; raises UnknownName.

    Examples
    --------
    >>> colour_fact("INS 102").name, colour_fact("beta-carotene").e_number
    ('tartrazine', 'E 160a')
    """
    folded = re.sub(r"\bno\b ?", "", fold(name))
    fact = _by_name().get(folded)
    if fact is None and not folded.startswith("e") and folded[:3].isdigit():
        fact = _by_name().get("e" + folded)
    if fact is None:
        raise UnknownName("colour", name, [f.e_number for f in colour_facts()] + [f.name for f in colour_facts()])
    return fact


@lru_cache(maxsize=4)
def colour_rules(market: str) -> tuple[ColourRule, ...]:
    """What the larder holds of a market's law on colours; raises BadInput for a market it does not know."""
    if market not in MARKETS:
        raise BadInput(f"There are no colour rules for “{market}”.", remedy=f"use one of {', '.join(MARKETS)}.")
    return tuple(
        ColourRule(
            market=row["market"],
            kind=row["kind"],
            subject=row["subject"],
            category=row["category"],
            limit=float(row["limit_mg_per_kg"]) if row["limit_mg_per_kg"] else None,
            says=row["says"],
            source=row["source"],
            locator=row["locator"],
            status=Status(row["status"]),
        )
        for row in read_csv("colour_limits.csv")
        if row["market"] == market
    )


def warning_phrase(colours: Iterable[str]) -> str:
    """The phrase that prepacked food in the EU must carry beside some colours, or empty.

    Examples
    --------
    >>> warning_phrase(["E 102", "E 160a"])
    'E 102: may have an adverse effect on activity and attention in children'
    """
    named = []
    phrase = ""
    for colour in colours:
        rule = _rule("EU", "warning", colour_fact(colour).e_number)
        if rule is not None:
            named.append(rule.subject)
            phrase = rule.says
    return f"{', '.join(dict.fromkeys(named))}: {phrase}" if named else ""


def sulphites_declared(mg_per_kg: float) -> bool:
    """Whether sulphites must be named as an allergen: more than 10 mg/kg as sulphur dioxide in the food as eaten.

    Examples
    --------
    >>> sulphites_declared(150 * 0.04)
    False
    """
    return mg_per_kg > _SULPHITE_LIMIT


def _rule(market: str, kind: str, subject: str, category: str = "") -> ColourRule | None:
    for rule in colour_rules(market):
        if (
            rule.kind == kind
            and rule.subject == subject
            and (rule.category == _ALL or _covers(rule.category, category))
        ):
            return rule
    return None


def _words(text: str) -> set[str]:
    return {word.rstrip("s") for word in re.findall(r"[a-z]+|\d[\d.]*", text.casefold())}


def _covers(written: str, asked: str) -> bool:
    """Whether a category of the law covers the one asked: its number, and every further word it names."""
    return not written or _words(written) - {"of"} <= _words(asked)


def check_colour(
    colour: str, market: str, food_category: str, mg_per_kg: float | None, *, on: date | None = None
) -> Verdict:
    """What a market says to a dose of one colour on a food.

    Parameters
    ----------
    colour
        E number, INS number or name.
    market
        "EU", "US" or "Codex".
    food_category
        Number of the category the limit is judged on ("05.4", "16"), with words where the law wants them
        ("05.4 decoration of chocolates"); for the US the kind of food ("gelatin dessert").
    mg_per_kg
        Pure colour per kg of that food; None when the strength of the preparation is not told.
    on
        The day of use, for rules that end on a day.
    """
    if mg_per_kg is not None and mg_per_kg < 0:
        raise BadInput("A dose of colour below zero cannot be.", remedy="give mg of pure colour per kg of the layer.")
    fact = colour_fact(colour)
    if market == "EU":
        return _eu(fact, food_category, mg_per_kg)
    if market == "US":
        return _us(fact, food_category, mg_per_kg, on)
    colour_rules(market)  # an unknown market speaks here
    return _codex(fact, food_category, mg_per_kg)


def check_colours(
    doses: Mapping[str, float | None], market: str, food_category: str, *, on: date | None = None
) -> tuple[Verdict, ...]:
    """Each colour on its own, then, in the EU, the group III colours together."""
    verdicts = [check_colour(colour, market, food_category, dose, on=on) for colour, dose in doses.items()]
    if market == "EU":
        group = {colour: dose for colour, dose in doses.items() if colour_fact(colour).eu_group == "III"}
        rule = _rule("EU", "combined", "group III", food_category)
        if len(group) > 1 and rule is not None:
            told = [dose for dose in group.values() if dose is not None]
            total = sum(told)
            complete = len(told) == len(group)
            names = " + ".join(colour_fact(colour).e_number for colour in group)
            outcome: Outcome = "over" if total > (rule.limit or 0) else "within" if complete else "ask"
            verdicts.append(_against(names, "EU", food_category, rule, total if told else None, outcome))
    return tuple(verdicts)


def _against(
    name: str, market: str, category: str, rule: ColourRule, met: float | None, outcome: Outcome, warning: str = ""
) -> Verdict:
    says = rule.says
    if outcome == "ask" and met is None and rule.limit is not None:
        says += f"; the limit is {rule.limit:g} mg/kg, the pure colour in the preparation is not told"
    return Verdict(
        colour=name,
        market=market,
        category=category,
        outcome=outcome,
        limit=rule.limit,
        met=met,
        says=says,
        warning=warning,
        source=rule.source,
        status=rule.status,
    )


def _compared(limit: float, met: float | None) -> Outcome:
    return "ask" if met is None else "over" if met > limit else "within"


def _plain(
    fact: ColourFact,
    market: str,
    category: str,
    outcome: Outcome,
    met: float | None,
    says: str,
    source: str,
    status: Status,
) -> Verdict:
    warning = warning_phrase([fact.e_number]) if market == "EU" else ""
    return Verdict(
        colour=fact.e_number,
        market=market,
        category=category,
        outcome=outcome,
        limit=None,
        met=met,
        says=says,
        warning=warning,
        source=source,
        status=status,
    )


def _eu(fact: ColourFact, category: str, met: float | None) -> Verdict:
    number = fact.e_number
    warning = warning_phrase([number])
    for kind, outcome in (("refused", "refused"), ("read the text", "ask")):
        rule = _rule("EU", kind, number)
        if rule is not None:
            return _against(number, "EU", category, rule, met, outcome, warning)  # type: ignore[arg-type]
    law, status = "eu-1333-2008", Status.RECALLED
    match fact.eu_group:
        case "II":
            says = "group II: as much as good practice needs (quantum satis), in the categories of this larder"
            return _plain(fact, "EU", category, "within", met, says, "fr-order-1997", Status.READ)
        case "III":
            single = _rule("EU", "single", number, category)
            if single is not None and single.limit is not None and met is not None and met > single.limit:
                return _against(number, "EU", category, single, met, "over", warning)
            rule = _rule("EU", "combined", "group III", category)
            if rule is None or rule.limit is None:
                says = "no limit for this category is held here: read the consolidated text"
                return _plain(fact, "EU", category, "ask", met, says, law, status)
            tighter = single if single is not None and single.limit is not None else rule
            assert tighter.limit is not None
            return _against(number, "EU", category, tighter, met, _compared(tighter.limit, met), warning)
        case "metal":
            rule = _rule("EU", "listed use", number, category)
            if rule is not None:
                return _against(number, "EU", category, rule, met, "within")
            says = "no listed use on desserts or ices was found: ask the authority before covering a dessert"
            return _plain(fact, "EU", category, "ask", met, says, "eu-additives-database", Status.READ)
        case "not for direct sale":
            return _plain(fact, "EU", category, "ask", met, _DIRECT, "eu-2022-63", Status.READ)
        case "carrier":
            says = "only as a carrier in iron oxides, to 90 % of the pigment: ask the supplier"
            return _plain(fact, "EU", category, "ask", met, says, "eu-2022-63", Status.READ)
        case "colouring food":
            says = "an ingredient, not an additive, while the extraction is not selective: ask the supplier"
            return _plain(fact, "EU", category, "ask", met, says, law, status)
        case "not listed":
            return _plain(fact, "EU", category, "refused", met, "not listed in the EU", law, status)
        case _:
            says = "limits of its own: read the consolidated text for the category"
            return _plain(fact, "EU", category, "ask", met, says, law, status)


def _us(fact: ColourFact, category: str, met: float | None, on: date | None) -> Verdict:
    number, source, status = fact.e_number, fact.us_source, fact.status
    until = _rule("US", "until", number)
    if until is not None:
        last = date(2027, 1, 15)
        outcome: Outcome = "ask" if on is None else "refused" if on > last else "within"
        return _against(number, "US", category, until, met, outcome)
    text = _rule("US", "read the text", number)
    if text is not None:
        return _against(number, "US", category, text, met, "ask")
    rule = _rule("US", "single", number, category)
    if rule is not None and rule.limit is not None:
        return _against(number, "US", category, rule, met, _compared(rule.limit, met))
    match fact.us_status:
        case "certified":
            says = "certified colour, as much as good practice needs; only from a certified lot, named on the label"
            return _plain(fact, "US", category, "within", met, says, source, status)
        case "exempt":
            says = "listed without certification, as much as good practice needs"
            says += "; carmine is named on the label" if "carmine" in fact.traits else ""
            return _plain(fact, "US", category, "within", met, says, source, status)
        case "limited":
            says = "listed for some foods only, and not shown for this one: read its rule"
            return _plain(fact, "US", category, "ask", met, says, source, status)
        case _:
            return _plain(fact, "US", category, "refused", met, "not listed for food in the US", source, status)


def _codex(fact: ColourFact, category: str, met: float | None) -> Verdict:
    rule = _rule("Codex", "single", fact.e_number, category)
    if rule is None or rule.limit is None:
        says = "no Codex row for this colour and category is held here: read the standard"
        return _plain(fact, "Codex", category, "ask", met, says, "codex-gsfa", Status.READ)
    return _against(fact.e_number, "Codex", category, rule, met, _compared(rule.limit, met))
