"""A draft label for one market: name, ingredient list, allergens, nutrition, quantity, keeping and cautions."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from demoule.composition import POLYOLS, Composition, Constituent
from demoule.dossier.allergens import contains_lines, declared_allergens, untold_allergens
from demoule.dossier.amounts import Amounts, Parts, declared_amounts, mixed_nutrients
from demoule.dossier.answer import Label
from demoule.dossier.contents import PieceContents, contents_of_piece
from demoule.dossier.energy import MARKETS, Market, eu_kcal, eu_kj, us_kcal
from demoule.dossier.ingredients import ingredient_text, listed_ingredients, names_of
from demoule.dossier.nutrition import declaration
from demoule.dossier.rounding import printed_eu, printed_us
from demoule.dossier.words import degrees, duration, listed
from demoule.errors import BadInput
from demoule.figures import Basis, Finding, Severity, basis_of
from demoule.larder import warning_phrase
from demoule.larder.ingredient import Ingredient
from demoule.units import Kilogram, Second, kelvin

if TYPE_CHECKING:
    from demoule.worked import Worked

__all__ = [
    "DRAFT",
    "EnergyOfMix",
    "added_polyols",
    "amounts_of_piece",
    "draft_label",
    "energy_of_mix",
    "fruit_words",
    "label_basis",
    "label_of_mix",
    "market_of",
    "named_after",
    "net_quantity",
]

DRAFT = (
    "Draft from table values. Have it checked against current law where you sell, and against your suppliers' sheets."
)
_OUNCE = 0.028349523125
_LAXATIVE = 0.10  # g/g of added polyols, eu-1169-2011 Annex III, recalled
_ALCOHOL = 0.001  # g/g
# Words of a name that name no fruit, and would be found in egg white or brown sugar.
_NO_FRUIT = frozenset(
    ("white", "dark", "black", "brown", "red", "yellow", "green", "golden", "little", "small", "sweet", "and", "the")
)


def market_of(written: str) -> Market:
    """The market whose rules are applied; raises BadInput for one we hold no rules of."""
    folded = written.strip().upper()
    for market in MARKETS:
        if folded == market:
            return "EU" if market == "EU" else "US"
    raise BadInput(f"No labelling rules are held for the market “{written}”.", remedy="write EU or US.")


def named_after(worked: Worked) -> str:
    """The fruit that a piece is named after or looks like; its name when nothing else is told."""
    return worked.dessert.names_fruit or worked.dessert.name


def fruit_words(worked: Worked) -> tuple[str, ...]:
    """Words under which that fruit may stand among the ingredients: the whole name, and each noun of it."""
    told = named_after(worked)
    single = (word for word in re.findall(r"\w{3,}", told.casefold()) if word not in _NO_FRUIT)
    return tuple(dict.fromkeys((*names_of(told), *single)))


def amounts_of_piece(contents: PieceContents, market: Market) -> Amounts:
    """Unrounded amounts of the whole piece, per gram, mixed by the mass of its layers."""
    return declared_amounts(contents.composition, contents.nutrients, contents.parts, contents.mass, market)


def draft_label(worked: Worked, market: Market, contents: PieceContents | None = None) -> Label:
    """The draft label of one dessert.

    Parameters
    ----------
    contents
        Of one piece, when already known.
    """
    inside = contents or contents_of_piece(worked)
    amounts = amounts_of_piece(inside, market)
    entries = listed_ingredients(inside.parts, inside.mass, market, fruit_words(worked))
    return Label(
        market=market,
        name=f"{worked.dessert.name}, moulded frozen dessert",
        ingredients=ingredient_text(entries, market),
        contains=contains_lines(declared_allergens(inside.parts, market)),
        allergens_untold=untold_allergens(inside.parts),
        nutrition=declaration(amounts, inside.mass, market),
        serving=_serving(inside.mass),
        net_quantity=net_quantity(inside.mass, market),
        storage=_storage(worked, market),
        cautions=_cautions(worked, inside, market),
        findings=tuple(_findings(amounts, inside.composition, market)),
    )


def net_quantity(mass: Kilogram, market: Market) -> str:
    """Net quantity as printed: grams, and ounces first in the US."""
    grams = f"{1000 * mass:.0f} g"
    return grams if market == "EU" else f"Net Wt {mass / _OUNCE:.1f} oz ({grams})"


def _serving(mass: Kilogram) -> str:
    return f"1 piece ({1000 * mass:.0f} g)"


def _storage(worked: Worked, market: Market) -> str:
    us = market == "US"
    keep = next((stage for stage in worked.dessert.programme.stages if stage.what == "keep"), None)
    text = f"Keep frozen at {degrees(kelvin(-18), us=us)} or colder"
    if keep is not None and keep.at_most is not None:
        text += f", at most {duration(keep.at_most)}"
    cold = f"{degrees(kelvin(5), us=True)} or colder" if us else "0 to 4 °C"
    text += f". Thaw in the refrigerator at {cold}"
    thaw = worked.cold.stage("thaw")
    window = thaw.window if thaw is not None else None
    if window is not None and window.opens is not None:
        text += f"; ready after {_span(window.opens_low, window.opens, window.opens_high)}"
    return f"{text}. Do not freeze again after thawing."


def _span(low: Second | None, middle: Second, high: Second | None) -> str:
    first, last = duration(middle if low is None else low), duration(middle if high is None else high)
    return f"about {first}" if first == last else f"{first} to {last}"


def _cautions(worked: Worked, contents: PieceContents, market: Market) -> tuple[str, ...]:
    told: list[str] = [DRAFT]
    left = [g.what for g in worked.piece.garnishes if not g.eaten]
    if left:
        told.append(f"Remove before eating: {listed(left)}.")
    numbers = {a.e_number for i, _ in contents.parts for a in i.additives if a.label_class == "colour"}
    phrase = warning_phrase(sorted(numbers)) if market == "EU" else ""
    if phrase:
        told.append(phrase)
    if contents.composition[Constituent.ETHANOL] >= _ALCOHOL:
        told.append(f"Contains alcohol ({100 * contents.composition[Constituent.ETHANOL]:.1f} g per 100 g).")
    if market == "EU" and added_polyols(contents) > _LAXATIVE:
        told.append("Excessive consumption may produce laxative effects.")
    return tuple(told)


def added_polyols(contents: PieceContents) -> float:
    """Polyols that came with sweeteners and not with fruit [g/g]."""
    return sum(
        mass / contents.mass * float(ingredient.composition.vector[POLYOLS].sum())
        for ingredient, mass in contents.parts
        if float(ingredient.composition.vector[POLYOLS].sum()) > 0.3
    )


def _findings(amounts: Amounts, composition: Composition, market: Market) -> Sequence[Finding]:
    found = []
    for key, declared in amounts.items():
        if "raised to" in declared.note:
            found.append(
                Finding(
                    severity=Severity.NOTE,
                    rule="label whole and part",
                    where="piece",
                    says=f"The draft label has {declared.note}.",
                    why=f"Analysed {key.replace('_', ' ')} and one found by difference do not fit each other.",
                    remedy="ask the suppliers for analysed figures before printing.",
                    source="eu-1169-2011" if market == "EU" else "us-21cfr101-9",
                )
            )
    if composition[Constituent.ETHANOL] >= _ALCOHOL:
        found.append(
            Finding(
                severity=Severity.CAUTION,
                rule="alcohol",
                where="piece",
                says=f"{100 * composition[Constituent.ETHANOL]:.2g} g of alcohol per 100 g are counted as kept.",
                why="How much cooking drives off is uncertain, and children and some guests must not be served it.",
                remedy="say it on the card, and state a measured loss if the mix is boiled after the spirit goes in.",
                source="usda-handbook-74",
            )
        )
    return found


def label_basis(market: Market) -> tuple[Basis, ...]:
    """What the declaration stands on."""
    if market == "EU":
        return (basis_of(eu_kj), basis_of(eu_kcal), basis_of(printed_eu))
    return (basis_of(us_kcal), basis_of(printed_us))


@dataclass(frozen=True, slots=True, kw_only=True)
class EnergyOfMix:
    """Energy of a plain mixture: unrounded per 100 g with its band, and as printed."""

    market: Market
    kcal_per_100g: float
    kcal_low: float
    kcal_high: float
    kj_per_100g: float | None
    kj_low: float | None
    kj_high: float | None
    printed_kcal: str
    printed_kj: str
    unknown: float
    basis: tuple[Basis, ...]
    findings: tuple[Finding, ...]


def energy_of_mix(parts: Sequence[tuple[Ingredient, Kilogram]], market: str = "EU") -> EnergyOfMix:
    """Energy of ingredients mixed by mass, for `demoule ask energy`.

    Parameters
    ----------
    parts
        Ingredients, pure constituents among them, each with its mass [kg].
    """
    label = label_of_mix(parts, market)
    which = market_of(market)
    amounts = _amounts_of_mix(parts, which)
    kcal = amounts["energy_kcal" if which == "EU" else "calories"]
    kj = amounts.get("energy_kj")
    printed = {line.unit: line.printed_100g for line in label.nutrition if line.unit in ("kJ", "kcal")}
    return EnergyOfMix(
        market=which,
        kcal_per_100g=100 * kcal.value,
        kcal_low=100 * kcal.low,
        kcal_high=100 * (kcal.high if kcal.high is not None else kcal.value),
        kj_per_100g=100 * kj.value if kj else None,
        kj_low=100 * kj.low if kj else None,
        kj_high=100 * (kj.high if kj.high is not None else kj.value) if kj else None,
        printed_kcal=printed["kcal"],
        printed_kj=printed.get("kJ", ""),
        unknown=kcal.unknown,
        basis=label_basis(which),
        findings=label.findings,
    )


def _amounts_of_mix(parts: Parts, market: Market) -> Amounts:
    composition = Composition.mixed((mass, ingredient.composition) for ingredient, mass in parts)
    mass = sum(mass for _, mass in parts)
    return declared_amounts(composition, mixed_nutrients(parts), parts, mass, market)


def label_of_mix(
    parts: Sequence[tuple[Ingredient, Kilogram]],
    market: str = "EU",
    *,
    name: str = "mix",
    serving: Kilogram | None = None,
) -> Label:
    """The declaration of ingredients mixed by mass without loss, for `demoule ask label`.

    Parameters
    ----------
    serving
        Mass for which the second column is worked out [kg]; None: 100 g.

    Raises
    ------
    BadInput
        For a mix of nothing, a serving of nothing, or a market without rules.
    """
    which = market_of(market)
    mass = sum(mass for _, mass in parts)
    portion = 0.1 if serving is None else serving
    if not mass > 0 or not portion > 0:
        raise BadInput("A label needs a mix and a serving of more than nothing.", remedy="give masses above zero.")
    amounts = _amounts_of_mix(parts, which)
    composition = Composition.mixed((m, ingredient.composition) for ingredient, m in parts)
    entries = listed_ingredients(parts, mass, which)
    return Label(
        market=which,
        name=name,
        ingredients=ingredient_text(entries, which),
        contains=contains_lines(declared_allergens(parts, which)),
        allergens_untold=untold_allergens(parts),
        nutrition=declaration(amounts, portion, which),
        serving=f"{1000 * portion:g} g",
        net_quantity=net_quantity(mass, which),
        storage="",
        cautions=(DRAFT,),
        findings=tuple(_findings(amounts, composition, which)),
    )
