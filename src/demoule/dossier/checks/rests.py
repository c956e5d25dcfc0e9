"""Rests that are too short for fat and gel to set, or so long that a component is past its best."""

from __future__ import annotations

from collections.abc import Iterator

from demoule.dossier.checks.registry import check, finding
from demoule.dossier.view import Part, View
from demoule.dossier.words import degrees, duration
from demoule.figures import Finding, Severity
from demoule.formula.component import Rest, Whip
from demoule.units import Kelvin, Second, kelvin

__all__ = ["rests", "whipping_temperature"]

_HOUR: Second = 3600.0
# Whipped ganache, common practice: 6 h is the least, 12 h wanted, 48 h the most; an open gel keeps 48 to 72 h.
_LEAST, _WANTED, _MOST = 6 * _HOUR, 12 * _HOUR, 48 * _HOUR
_GEL_MOST, _OTHER_MOST = 48 * _HOUR, 72 * _HOUR
_SLACK: Second = 60.0
_WARMEST_WHIP: Kelvin = kelvin(8)
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
                f"{part.name.capitalize()} may rest up to {duration(most)}.",
                why="Past two days the emulsion coarsens, and the ganache grains when whipped."
                if part.steps(Whip)
                else "Its unfrozen days count against the life of the piece, and an open gel dries.",
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
    if rested >= _WANTED - _SLACK:
        return
    yield finding(
        Severity.NOTE if rested >= _LEAST - _SLACK else Severity.CAUTION,
        "rest",
        part.where,
        f"{part.name.capitalize()} rests {duration(rested)} before it is whipped."
        if rested > 0
        else f"{part.name.capitalize()} is whipped without a rest.",
        why="Part of the fat is still liquid, so it takes little air and will not stand.",
        remedy=f"rest it {duration(_WANTED)} at 4 °C; {duration(_LEAST)} is the least.",
    )


def _longest(part: Part) -> Second:
    if part.steps(Whip):
        return _MOST
    return _GEL_MOST if part.contents("gelatine", "agar") else _OTHER_MOST


@check("whipping temperature", looks_at="whether cream and ganache are whipped cold")
def whipping_temperature(view: View) -> Iterator[Finding]:
    """Fat that is not cold holds no air."""
    for part in view.used:
        for step in part.recipe.steps:
            if isinstance(step, Whip) and step.at > _WARMEST_WHIP + 0.05 and part.cooked.composition.fat > _RICH:
                yield finding(
                    Severity.CAUTION,
                    "whipping temperature",
                    part.where,
                    f"{part.name.capitalize()} is whipped at {degrees(step.at)}.",
                    why="Above 8 °C too little of the fat is solid to hold the air.",
                    remedy="whip at 3 to 6 °C, in a chilled bowl.",
                )
