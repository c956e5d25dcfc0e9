"""Ganache and cream: whether fat and water hold together, and whether there is fat and rest enough to whip."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from demoule.composition import Constituent
from demoule.dossier.checks.registry import check
from demoule.dossier.view import Part, View
from demoule.dossier.words import opened
from demoule.figures import Finding
from demoule.formula.component import Bake, Fold, Rest, Whip
from demoule.physics.ganache import emulsion
from demoule.physics.whipping import WhipCheck, whip_check
from demoule.units import Kelvin, Second, kelvin

__all__ = ["emulsions", "judged_whipping", "whips"]

_FAT, _WATER = 0.15, 0.05  # kg/kg from which a mix is looked at as an emulsion
_EGG = 0.05  # kg egg per kg: from there egg carries the foam, not fat
_DAIRY = 0.2
_COLD: Kelvin = kelvin(10)  # the warmest at which the model of ripening fat holds: from there on the rest counts


@check("fat and water", looks_at="whether a ganache or caramel holds its fat", source="geometry")
def emulsions(view: View) -> Iterator[Finding]:
    """Every rich mix with water in it."""
    for part in view.used:
        composition = part.cooked.composition
        rich = composition.fat > _FAT and composition.water > _WATER and not part.steps(Bake)
        # Cream as it comes from the carton is an emulsion already.
        made = composition[Constituent.COCOA_BUTTER] > 0.02 or part.cooked.temperature > kelvin(30)
        if rich and made:
            yield from _placed(emulsion(composition).findings, part)


@check("whipping", looks_at="fat, rest and cold of what is whipped for its fat", source="mcgee-2004")
def whips(view: View) -> Iterator[Finding]:
    """Every component that is whipped and carried by fat; egg foams and folded mousses are left aside."""
    for part in view.used:
        judged = judged_whipping(part)
        if judged is not None:
            yield from _placed(judged[0].findings, part)


def judged_whipping(part: Part) -> tuple[WhipCheck, Kelvin, Second] | None:
    """A component whipped for its fat: the judgement, where it rests [K], and how long it takes to get cold [s].

    None for what is not whipped, for folded mousses and for foams that egg carries.
    """
    steps = [step for step in part.recipe.steps if isinstance(step, Whip)]
    if not steps or part.steps(Fold) or part.share("dairy") < _DAIRY or _eggs(part) > _EGG:
        return None
    rests = [step for step in part.recipe.steps if isinstance(step, Rest)]
    rest_at = rests[-1].at if rests else kelvin(4)
    warmed = any(moment.temperature > kelvin(30) for moment in part.cooked.history)
    if not warmed:  # cream whipped cold from the carton has rested since it was made
        return whip_check(part.cooked.composition, at=steps[-1].at, rested=24 * 3600.0, rest_at=rest_at), rest_at, 0.0
    rested = sum(step.at_least or 0.0 for step in rests)
    cools_for = min(_cools_for(part, rest_at), rested)
    judged = whip_check(part.cooked.composition, at=steps[-1].at, rested=rested, rest_at=rest_at, cools_for=cools_for)
    return judged, rest_at, cools_for


def _cools_for(part: Part, rest_at: Kelvin) -> Second:
    """How long a mix that rests takes until it is itself cold [s], as its record tells."""
    resting = [moment for moment in part.cooked.history if moment.doing == "rest"]
    if not resting:
        return 0.0
    before = [moment.time for moment in part.cooked.history if moment.time < resting[0].time]
    begins = before[-1] if before else resting[0].time
    cold = next((moment.time for moment in resting if moment.temperature <= max(_COLD, rest_at)), resting[-1].time)
    return max(cold - begins, 0.0)


def _eggs(part: Part) -> float:
    return sum(c.mass for c in part.cooked.contents if "eggs" in c.ingredient.allergens_eu)


def _placed(findings: tuple[Finding, ...], part: Part) -> Iterator[Finding]:
    for spoken in findings:
        says = f"{opened(part.name)}: {spoken.says[0].lower()}{spoken.says[1:]}"
        yield replace(spoken, where=part.where, says=says)
