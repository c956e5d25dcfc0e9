"""Gels: whether they set beside fruit, acid, heat and alcohol, and whether they weep after freezing."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

from demoule.composition import Constituent
from demoule.dossier.checks.registry import check
from demoule.dossier.mixture_figures import gelling_shares, is_agent
from demoule.dossier.view import Part, View
from demoule.dossier.words import opened
from demoule.figures import Finding, Severity
from demoule.formula.component import Bake, Boil
from demoule.formula.cooked import Content
from demoule.larder.ingredient import NUTRIENTS
from demoule.physics import soluble_solids
from demoule.physics.gelatine import PROTEOLYTIC, enzyme_left, gelatine_check
from demoule.physics.gels import Setting, gel_sets
from demoule.physics.weeping import Gel, Weeping, weeping
from demoule.units import Fraction, MassFraction, Second, kelvin

__all__ = ["found_weeping", "frozen_fast", "gel_settings", "gelatine_holds", "gels_set", "gels_weep"]

_SCALDED = kelvin(85)
_ACID = 4.2  # pH from which a part counts as the acid of a mix
_FAST_AIR = kelvin(-28)
_KINDS = {
    "agar": "agar",
    "pectin HM": "HM pectin",
    "pectin LM": "LM pectin",
    "carrageenan": "kappa carrageenan",
}
_STARCHY = 0.015  # kg native starch per kg that makes a gel of its own


def _agents(part: Part, trait: str) -> tuple[Content, ...]:
    """Gelling agents of one trait that this component weighs itself, not inside another component."""
    return tuple(c for c in part.contents(trait) if is_agent(c.ingredient) and part.weighs(c.ingredient.name))


def _solids(part: Part) -> MassFraction:
    return min(float(soluble_solids(part.cooked.composition.vector)), 0.99)


def _placed(findings: tuple[Finding, ...], part: Part, line: str = "") -> Iterator[Finding]:
    for spoken in findings:
        yield replace(spoken, where=part.line(line) if line else part.where, says=_named(spoken.says, part))


def _named(says: str, part: Part) -> str:
    """The sentence with the component in it, so that it can be read apart from its place."""
    return f"{opened(part.name)}: {says[0].lower()}{says[1:]}"


@check("gelatine", looks_at="gelatine against raw enzyme fruit, acid, heat and alcohol", source="gelatine-makers")
def gelatine_holds(view: View) -> Iterator[Finding]:
    """Every component that is set with gelatine, and every layer where gelatine meets a proteolytic fruit."""
    fruit_told: set[str] = set()
    for part in view.used:
        share = gelling_shares(part, "gelatine")
        raw = [c for c in part.contents("proteolytic") if _of_enzyme(c)]
        if share <= 0 or (not _agents(part, "gelatine") and not raw) or part.steps(Bake):
            continue
        composition = part.cooked.composition
        agents = [c for c in part.contents("gelatine") if is_agent(c.ingredient)]
        mass = sum(c.mass for c in agents)
        bloom = sum(c.mass * (c.ingredient.bloom_strength or 200.0) for c in agents) / mass
        ethanol = composition[Constituent.ETHANOL]
        hottest = max(agents, key=lambda c: c.heated_to)
        fruit = min(raw, key=lambda c: (c.heated_to, c.held), default=None)
        judged = gelatine_check(
            share / (share + composition.water),
            bloom,
            ph=part.cooked.ph,
            alcohol=ethanol / (ethanol + composition.water),
            raw_fruit=_of_enzyme(fruit) if fruit is not None else "",
            enzyme=_enzyme(fruit) if fruit is not None else None,
            heated_to=hottest.heated_to,
            held=hottest.held,
        )
        for entry in judged.findings:
            if entry.rule == "proteolytic fruit" and fruit is not None:
                if _of_enzyme(fruit) not in fruit_told:
                    bought = _BOUGHT.search(fruit.ingredient.name.casefold()) is not None
                    told = _of_the_tub(entry, fruit.ingredient.name) if bought else entry
                    yield from _placed((told,), part, fruit.ingredient.name)
                fruit_told.add(_of_enzyme(fruit))
            else:
                yield from _placed((entry,), part, hottest.ingredient.name)


_BOUGHT = re.compile(r"purée|puree|juice|pulp")  # sold pasteurised more often than raw (practice)


def _of_the_tub(entry: Finding, name: str) -> Finding:
    """What is said of a purée or juice that was not heated here: whether its maker heated it, only the tub tells."""
    if entry.severity is not Severity.STOP:
        return entry
    return replace(
        entry,
        severity=Severity.CAUTION,
        says=f"{opened(name)} keeps gelatine from setting if it was never heated.",
        why=f"{entry.why} Many purées and juices are pasteurised, and the file does not tell.",
        remedy="read the tub; if it is raw, scald it to 85 °C through, or set with agar or pectin.",
    )


def _of_enzyme(content: Content | None) -> str:
    """The fruit of the enzyme table that an ingredient is of, or empty."""
    name = content.ingredient.name.casefold() if content is not None else ""
    return next((fruit for fruit in PROTEOLYTIC if fruit in name), "")


def _enzyme(content: Content) -> Fraction:
    """Share of the enzyme left in a fruit after the heat it has seen."""
    if content.heated_to >= _SCALDED and content.held >= 60:
        return 0.0
    if content.held <= 0:
        return 1.0
    return enzyme_left([0.0, content.held], [content.heated_to, content.heated_to])


@check("gels set", looks_at="agar, pectin and carrageenan against dose, solids, acid, calcium and boil")
def gels_set(view: View) -> Iterator[Finding]:
    """Every component that weighs agar, pectin or carrageenan."""
    for part in view.used:
        for kind, found, _dose in gel_settings(part):
            trait = next(trait for trait, named in _KINDS.items() if named == kind)
            hottest = max(_agents(part, trait), key=lambda c: c.heated_to)
            yield from _placed(found.findings, part, hottest.ingredient.name)


def gel_settings(part: Part) -> Iterator[tuple[str, Setting, MassFraction]]:
    """Every agar, pectin or carrageenan that a component weighs, whether it sets, and its dose."""
    for trait, kind in _KINDS.items():
        agents = _agents(part, trait)
        if not agents:
            continue
        hottest = max(agents, key=lambda c: c.heated_to)
        dose = min(sum(c.mass for c in agents), 0.2)
        found = gel_sets(
            kind,
            concentration=dose,
            solids=_solids(part),
            ph=part.cooked.ph,
            calcium=_calcium(part),
            boiled=_boiled(part, hottest.held),
            boiled_at=hottest.heated_to,
            acid_in_boil=_acid_in_boil(part),
        )
        yield kind, found, dose


_POURED: Second = 120.0  # off the hob it is poured out, steams and is soon too cool for acid to cut fast (practice)


def _boiled(part: Part, held: Second) -> Second:
    """How long the agent was at the boil: as the steps say, not as long as a pot that is left standing stays hot."""
    told = [step.duration for step in part.steps(Boil) if isinstance(step, Boil)]
    if not told or None in told:
        return held
    return min(held, sum(time or 0.0 for time in told) + _POURED)


def _calcium(part: Part) -> MassFraction | None:
    which = NUTRIENTS.index("calcium")
    return part.cooked.nutrients.amounts[which] if part.cooked.nutrients.unknown[which] < 0.2 else None


def _acid_in_boil(part: Part) -> bool:
    """Whether acid fruit or acid went through the boil with the gelling agent."""
    sour = sum(
        c.mass
        for c in part.cooked.contents
        if c.ingredient.ph is not None and c.ingredient.ph <= _ACID and c.heated_to >= kelvin(80)
    )
    return sour > 0.1 or any(c.heated_to >= kelvin(80) for c in part.contents("acid"))


def frozen_fast(view: View, part: Part) -> str:
    """ "fast", "slow" or "" when not known: by the air in which a component is hardened."""
    run = view.hardening(part) or view.worked.cold.stage("harden piece")
    if run is None:
        return ""
    return "fast" if run.room.air <= _FAST_AIR else "slow"


@check("gels weep", looks_at="how much gels and starches weep after freezing and thawing", source="weeping-order")
def gels_weep(view: View) -> Iterator[Finding]:
    """Every gel of the piece, as it goes through the freezer."""
    for part in view.used:
        lines = {kind: line for kind, _dose, line in _gels_of(part)}
        for kind, judged in found_weeping(view, part):
            yield from _placed(judged.findings, part, lines[kind])


def found_weeping(view: View, part: Part) -> Iterator[tuple[str, Weeping]]:
    """Every gel of a component, and how it weeps after the way it is frozen."""
    composition = part.cooked.composition
    if part.steps(Bake) or composition.water < 0.2 or composition.fat > 0.1:
        return
    gum = part.contents("gum")
    bean = sum(c.mass for c in gum if "locust" in c.ingredient.name.casefold())
    xanthan = sum(c.mass for c in gum if "xanthan" in c.ingredient.name.casefold())
    solids = _solids(part)
    for kind, concentration, _line in _gels_of(part):
        gel = Gel(
            kind=kind,
            concentration=concentration,
            solids=solids,
            freezing=frozen_fast(view, _layer_of(view, part)),
            locust_bean=bean,
            xanthan=xanthan,
        )
        yield kind, weeping(gel)


def _gels_of(part: Part) -> Iterator[tuple[str, MassFraction, str]]:
    for trait, kind in _KINDS.items():
        agents = _agents(part, trait)
        if agents:
            yield kind, sum(c.mass for c in agents), agents[0].ingredient.name
    gelatine = _agents(part, "gelatine")
    if gelatine:
        share = sum(c.mass for c in gelatine)
        yield "gelatine", share / (share + part.cooked.composition.water), gelatine[0].ingredient.name
    native = [
        c
        for c in part.cooked.contents
        if c.ingredient.composition[Constituent.STARCH] > 0.5 and "starch modified" not in c.ingredient.traits
    ]
    starch = sum(c.mass * c.ingredient.composition[Constituent.STARCH] for c in native)
    if starch > _STARCHY and max(c.heated_to for c in native) > kelvin(65):
        yield "starch", starch, native[0].ingredient.name


def _layer_of(view: View, part: Part) -> Part:
    """The layer in which a component goes into the freezer: itself, or the first layer that holds it."""
    if view.is_layer(part):
        return part
    for _layer, other in view.layered:
        if view.holds(other, part.name):
            return other
    return part
