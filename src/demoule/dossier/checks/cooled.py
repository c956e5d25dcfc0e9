"""The cooling rules on the computed curve of every component that is cooked, and the hours that food spends warm."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from demoule.dossier.checks.registry import check, finding
from demoule.dossier.cooling import RULES, cooling_verdict
from demoule.dossier.hygiene import time_between
from demoule.dossier.verdict import Verdict
from demoule.dossier.view import Part, View, joined, warmest_of
from demoule.dossier.words import degrees, duration, listed, opened
from demoule.figures import Finding, Severity
from demoule.physics import water_activity
from demoule.units import FloatArray, Second, kelvin

__all__ = ["cooling_rules", "record_to_frozen", "warm_time", "warm_times"]

_MOIST = 0.10  # kg water per kg
_DRY = 0.85  # water activity: what is drier (discs, coatings, caramel) is not what the rules are about (fda-food-code)
_LONG: Second = 4 * 3600.0
_NOTED: Second = 2 * 3600.0


def _perishable(part: Part) -> bool:
    composition = part.cooked.composition
    return composition.water > _MOIST and float(water_activity(composition.vector, kelvin(25))) > _DRY


def record_to_frozen(view: View, part: Part) -> tuple[FloatArray, FloatArray]:
    """Computed core temperature of a component from its first step to the end of its hardening [s], [K]."""
    records = [view.record(part)]
    run = view.hardening(part)
    if run is not None:
        records.append((np.asarray(run.curve.time), np.asarray(run.curve.core)))
    return joined(records)


@check(
    "cooling rules", looks_at="whether cooked components fall through the warm range in time", source="fda-food-code"
)
def cooling_rules(view: View) -> Iterator[Finding]:
    """Run the market's cooling rule on the computed curve of each cooked component with water in it."""
    for rule in RULES:
        if rule.market != view.market:
            continue
        for part in view.used:
            times, temperatures = record_to_frozen(view, part)
            roles = {layer.role for layer, other in view.layered if other.name == part.name}
            if roles and roles <= {"shell", "spray"}:
                continue  # goes on hot or warm, and is cold within seconds
            if not _perishable(part) or len(times) < 2 or temperatures.max() < rule.start:
                continue
            first = int(np.argmax(temperatures >= rule.start))
            if first > len(times) - 2:
                verdict, why = Verdict.NOT_SHOWN, "the recipe tells no cooling."
            else:
                judged = cooling_verdict(rule, times[first:], temperatures[first:])
                verdict, why = judged.verdict, judged.why
            if verdict == Verdict.FAIL:
                yield finding(
                    Severity.CAUTION,
                    "cooling rules",
                    part.where,
                    f"Cooled as written, {part.name} fails the rule {rule.says}: {why}",
                    why="Between 57 and 10 °C spores that survive cooking grow fast. Computed, not measured.",
                    remedy=_quicker(part),
                    source=rule.source,
                )
            elif verdict == Verdict.NOT_SHOWN:
                yield finding(
                    Severity.NOTE,
                    "cooling rules",
                    part.where,
                    f"The cooling of {part.name} is not shown: {why}",
                    why=f"The rule asks for {rule.says}; your authority may ask for another.",
                    remedy="write a cool step with its pan and room, or log the core.",
                    source=rule.source,
                )


def _quicker(part: Part) -> str:
    mass = part.cooked.mass
    # A layer of half the depth cools about three times as fast: spread to 20 mm of depth.
    area = mass / part.cooked.density / 0.020
    pans = max(1, int(np.ceil(area / (0.53 * 0.325))))
    return (
        f"spread the {1000 * mass:.0f} g no deeper than 20 mm ({pans} hotel pan{'s' if pans > 1 else ''} 1/1), cool in "
        "the blast freezer or over ice, and log the core."
    )


def warm_times(view: View) -> tuple[tuple[str, Second], ...]:
    """Computed time between 5 and 57 °C in the life of each layer's component, thaw and standing included [s]."""
    found: list[tuple[str, Second]] = []
    tail = 0.0
    for run in view.worked.cold.stages:
        if run.stage.what in ("thaw", "stand", "serve", "dip and spray", "table"):
            times, warmest = warmest_of(run)
            tail += time_between(times, warmest)
    for _layer, part in view.layered:
        if not _perishable(part) or part.name in dict(found):
            continue
        times, temperatures = record_to_frozen(view, part)
        found.append((part.name, tail + (time_between(times, temperatures) if len(times) > 1 else 0.0)))
    return tuple(found)


@check("warm time", looks_at="how long each component spends above 5 °C in its whole life", source="fda-food-code")
def warm_time(view: View) -> Iterator[Finding]:
    """Sum the hours above 5 °C through cooking, filling, thaw and standing."""
    over = [(name, seconds) for name, seconds in warm_times(view) if seconds > _NOTED]
    for name, seconds in over:
        part = view.part(name)
        yield finding(
            Severity.CAUTION if seconds > _LONG else Severity.NOTE,
            "warm time",
            part.where if part else "cold",
            f"{opened(name)} spends {duration(seconds)} between 5 and 57 °C in its life as computed.",
            why="Time above 5 °C adds up over making, filling, spraying and thawing; freezing stops the clock and does "
            "not set it back.",
            remedy="cool faster, fill colder, or take fewer trays out at a time; log what really happens.",
            source="fda-food-code",
        )
    runs = [r for r in view.worked.cold.stages if r.stage.what == "thaw" and r.room.air > 278.15 + 0.05]
    for run in runs:
        yield finding(
            Severity.CAUTION,
            "warm time",
            run.stage.where or "cold.thaw",
            f"The thaw is at {degrees(run.room.air)}.",
            why="Dairy desserts are thawed in the refrigerator: at most 5 °C in the US, 0 to 4 °C in France.",
            remedy=f"thaw in a room of 4 °C or colder instead of {listed([run.room.name or 'this one'])}.",
            source="fr-order-2013" if view.market == "EU" else "fda-food-code",
        )
