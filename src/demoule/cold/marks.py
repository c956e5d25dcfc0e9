"""Moments of a stage that a chef waits for or works against, read off its runs with their bands."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np

from demoule.cold.bands import Band
from demoule.cold.film import reaches
from demoule.cold.programme import HARDENING, Stage
from demoule.cold.readings import first_beyond, reached, within
from demoule.cold.run import Film, Mark, Zones
from demoule.physics.frost import FROST_MARKS
from demoule.units import Kelvin, Second

if TYPE_CHECKING:
    from demoule.cold.stay import Track

__all__ = ["DEMOULDABLE", "DIPPED", "SLUMPS", "TOO_SOFT", "marks_of"]

DEMOULDABLE: Kelvin = 261.15
"""A core warmer than −12 °C tears on demoulding (practice)."""
DIPPED: tuple[Kelvin, Kelvin] = (251.15, 255.15)
"""The outer 10 mm at −22 to −18 °C: warmer it melts under the coat, colder the coat cracks (practice)."""
TOO_SOFT: Kelvin = 261.15
"""A surface warmer than −12 °C lets a coat slide and a velvet peel (practice)."""
SLUMPS: Kelvin = 281.15
"""A body of gelatine or whipped fat goes soft above 8 °C on average (practice)."""

Banded = Callable[[Callable[["Track"], Second | None]], tuple[Second | None, Band]]


def marks_of(
    stage: Stage,
    banded: Banded,
    zones: Callable[[Track], Zones],
    film: Film | None,
    best: tuple[Kelvin, Kelvin],
    *,
    undipped: bool,
) -> dict[str, Mark]:
    """The marks that matter in a stage.

    Parameters
    ----------
    banded
        Reads a moment off the run and off those with more and less of what is uncertain.
    best
        Core and mean of the body at which the piece is no longer at its best [K].
    undipped
        Whether the piece stands bare and is to be coated.
    """
    found: dict[str, Mark] = {}

    def mark(name: str, read: Callable[[Track], Second | None]) -> None:
        time, likely = banded(read)
        found[name] = Mark(time=time, low=likely.low, high=likely.high, weakest=likely.weakest)

    if stage.what in HARDENING:
        mark("demouldable", lambda t: reached(t, "core", DEMOULDABLE, falls=True))
    if stage.what in ("harden piece", "even out"):
        mark("dippable", lambda t: within(zones(t), *DIPPED))
    if undipped and stage.what in ("dip and spray", "stand"):
        mark("too soft to dip", lambda t: first_beyond(t.time, t.surface, TOO_SOFT))
        for name, mass in (("rime", FROST_MARKS["rime is seen"]), ("frost", FROST_MARKS["velvet may hold badly"])):
            likely, soonest, latest = reaches(film, mass)
            told = "how moist air settles" if film is None or not film.taken else "the humidity of the room"
            found[name] = Mark(time=likely, low=soonest, high=latest, weakest=told)
    if stage.what == "table":
        core, body = best
        mark("past its best", lambda t: _soonest(t, zones(t), core, body))
        mark("slumps", lambda t: first_beyond(zones(t).time, zones(t).body, max(body, SLUMPS)))
    return found


def _soonest(track: Track, zones: Zones, core: Kelvin, body: Kelvin) -> Second | None:
    """When core or body first gets too warm [s]."""
    moments = [first_beyond(track.time, track.core, core)]
    if np.isfinite(zones.body).all():
        moments.append(first_beyond(zones.time, zones.body, body))
    return min((t for t in moments if t is not None), default=None)
