"""Sugar that will crystallise: every syrup, gel and candied fruit at the coldest it comes to before ice forms."""

from __future__ import annotations

from collections.abc import Iterator

from demoule.composition import Composition, Constituent
from demoule.dossier.checks.registry import check, finding
from demoule.dossier.offers import instead, more_of
from demoule.dossier.view import FROZEN, Part, View
from demoule.dossier.words import degrees, grams, rounded
from demoule.errors import UnknownName
from demoule.figures import Finding, Offer, Severity
from demoule.formula.component import Bake
from demoule.physics import freezing_point
from demoule.physics.graining import GrainClass, Graining, graining, to_leave_danger
from demoule.units import Kelvin, kelvin

__all__ = ["coldest_unfrozen", "grains_of", "sugar_grains"]

_FRIDGE: Kelvin = kelvin(4)
_SYRUPY = 0.03  # kg water per kg: below it there is no syrup
_SWEET = 0.15
_CLEAR = 0.98  # what a remedy aims at: a little under saturation
_HELPS = "glucose syrup 60 DE"
_WATER = Composition.of({Constituent.WATER: 1.0})


def coldest_unfrozen(part: Part) -> Kelvin:
    """The coldest that a component comes to before ice forms in it [K]: its resting place, or where it freezes."""
    waits = [wait.temperature for wait in part.cooked.waits if wait.temperature > FROZEN]
    return max(min([*waits, _FRIDGE]), float(freezing_point(part.cooked.composition.vector)))


def grains_of(part: Part) -> Graining:
    """Supersaturation of a component where it is coldest before ice forms."""
    return graining(part.cooked.composition, coldest_unfrozen(part))


@check("sugar grains", looks_at="whether a syrup is oversaturated where it is coldest", source="jackson-silsbee")
def sugar_grains(view: View) -> Iterator[Finding]:
    """Supersaturation of every sweet component with water in it."""
    for part in view.parts:
        composition = part.cooked.composition
        if composition.water < _SYRUPY or composition.sugars < _SWEET or part.steps(Bake) or composition.fat > 0.25:
            continue
        at = coldest_unfrozen(part)
        found = grains_of(part)
        if found.grain_class is GrainClass.CLEAR:
            continue
        grave = found.grain_class in (GrainClass.SPREADS, GrainClass.BY_ITSELF)
        yield finding(
            Severity.CAUTION if grave else Severity.NOTE,
            "sugar grains",
            part.where,
            f"At {degrees(at)} {part.name} holds {rounded(_worst(found), 3)} times the {found.sugar} that stays "
            f"dissolved: it {found.grain_class.value}.",
            why="What is above saturation comes out as crystals, sooner where crystals are already.",
            remedy=_remedy(view, part, at, found)[0],
            offers=_remedy(view, part, at, found)[1],
        )


def _worst(found: Graining) -> float:
    return max(found.coefficient, found.glucose, found.lactose)


def _remedy(view: View, part: Part, at: Kelvin, found: Graining) -> tuple[str, tuple[Offer, ...]]:
    """What leaves the danger zone, in words and as a change of the recipe."""
    mass, composition = part.cooked.mass, part.cooked.composition
    if found.sugar == "sucrose":
        try:
            helper = view.worked.larder.find(_HELPS).composition
        except UnknownName:
            helper = None
        share = to_leave_danger(composition, at, helper, below=_CLEAR, replacing=True) if helper is not None else None
        if share is not None and share > 0:
            told = f"{grams(share * mass)} of its sugar as {_HELPS} brings it under saturation."
            return told, instead(part, "sugar", _HELPS, share * mass)
    water = to_leave_danger(composition, at, _WATER, below=_CLEAR)
    if water is not None and water > 0:
        told = f"{grams(water * mass)} more water brings it under saturation."
        return told, more_of(part, "water", water * mass)
    return "keep it warmer, or use it on the day.", ()
