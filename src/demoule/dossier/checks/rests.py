"""Rests that are too short for fat and gel to set, or so long that a component is past its best."""

from __future__ import annotations

from collections.abc import Iterator

from demoule.dossier.checks.registry import check, finding
from demoule.dossier.view import Part, View
from demoule.dossier.words import duration, opened
from demoule.figures import Finding, Severity
from demoule.formula.component import Rest, Whip
from demoule.physics import water_activity
from demoule.physics.whipping import ripeness
from demoule.units import Second, kelvin

__all__ = ["rests"]

_HOUR: Second = 3600.0
# Whipped ganache, common practice: 12 h wanted, 48 h the most; an open gel keeps 48 to 72 h.
_WANTED, _MOST = 12 * _HOUR, 48 * _HOUR
_GEL_MOST, _OTHER_MOST = 48 * _HOUR, 72 * _HOUR
# What is dry enough keeps longer: by water activity, common practice; a calculated one is unsure by 0.01.
_KEEPS_BY_DRYNESS: tuple[tuple[float, Second], ...] = ((0.80, 60 * 86400.0), (0.86, 21 * 86400.0), (0.91, 7 * 86400.0))
_SLACK: Second = 60.0
_RICH = 0.20  # kg fat per kg


@check("rest", looks_at="whether what is whipped has rested long enough, and nothing too long")
def rests(view: View) -> Iterator[Finding]:
    """The written rests of every component against the habit of the trade."""
    for part in view.used:
        rest = [step for step in part.recipe.steps if isinstance(step, Rest)]
        if _is_ganache(part):
            yield from _before_whipping(part, sum(step.at_least or 0.0 for step in rest))
        if not rest:
            continue
        longest = _longest(part)
        most = sum(step.at_most or 0.0 for step in rest)
        if most > longest + _SLACK:
            yield finding(
                Severity.CAUTION,
                "rest",
                part.where,
                f"{opened(part.name)} may rest up to {duration(most)}.",
                why="Past two days the emulsion coarsens, and the ganache grains when whipped."
                if part.steps(Whip)
                else f"With a water activity of {_activity(part):.2f} it does not keep so long, and its unfrozen days "
                "count against the life of the piece.",
                remedy=f"use or freeze it within {duration(longest)}.",
            )
        if all(step.at_most is None for step in rest):
            yield finding(
                Severity.NOTE,
                "rest",
                part.where,
                f"No longest rest is written for {part.name}.",
                why="Without it neither the life of the piece can be told nor how early the work may begin.",
                remedy=f"write “at most: {duration(longest)}”.",
            )


def _is_ganache(part: Part) -> bool:
    """Whipped after it was warm, and rich: cream that was whipped cold from the carton needs no rest."""
    warmed = any(moment.temperature > kelvin(30) for moment in part.cooked.history)
    return bool(part.steps(Whip)) and warmed and part.cooked.composition.fat > _RICH


def _before_whipping(part: Part, rested: Second) -> Iterator[Finding]:
    if rested >= _WANTED - _SLACK or not ripeness(rested, kelvin(4)).ready:
        return  # enough; or so little that the check of whipping itself speaks
    yield finding(
        Severity.NOTE,
        "rest",
        part.where,
        f"{opened(part.name)} rests {duration(rested)} before it is whipped.",
        why="Most of its fat has set; overnight it takes more air and stands longer.",
        remedy=f"rest it {duration(_WANTED)} at 4 °C where the day allows it.",
    )


def _activity(part: Part) -> float:
    return float(water_activity(part.cooked.composition.vector, kelvin(25)))


def _longest(part: Part) -> Second:
    if part.steps(Whip):
        return _MOST
    for limit, keeps in _KEEPS_BY_DRYNESS:
        if _activity(part) <= limit:
            return keeps
    return _GEL_MOST if part.contents("gelatine", "agar") else _OTHER_MOST
