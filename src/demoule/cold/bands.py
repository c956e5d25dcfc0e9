"""From runs with more and less of each uncertain input to a band around a time, and to the input that widens it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from demoule.cold.programme import Conduction
from demoule.units import Fraction, Second

__all__ = ["CONDUCTIVITY_BAND", "Band", "band", "conductivity_band"]

CONDUCTIVITY_BAND: Fraction = 0.20
"""Conductivity of frozen and aerated mixes from their composition is good to this [carson-2016]."""


_LEAST: Fraction = 0.03  # a log of one piece tells no better what the next one conducts (judged)


def conductivity_band(learned: Conduction | None) -> Fraction:
    """How far either way the conductivity of the mixes may lie."""
    return CONDUCTIVITY_BAND if learned is None else min(max(learned.band, _LEAST), CONDUCTIVITY_BAND)


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """The likely range of a time [s], None where it is not reached, and the input that widens it most."""

    low: Second | None
    high: Second | None
    weakest: str


def band(
    time: Second | None,
    run: Callable[[float, float], Second | None],
    *,
    surface: Fraction,
    names: Mapping[str, str],
    conductivity: Fraction = CONDUCTIVITY_BAND,
    reference: Second | None = None,
) -> Band:
    """The band of a time.

    Parameters
    ----------
    time
        The time itself [s].
    run
        The time for a factor on the surface coefficient and one on every conductivity; None: not reached.
    surface, conductivity
        How far either may lie off, as a fraction.
    names
        Words for "surface" and "conductivity".
    reference
        What `run(1, 1)` gives, when it is coarser than `time`; differences are scaled to it.

    Notes
    -----
    The two inputs are independent: their differences add by squares, upwards and downwards apart.
    """
    base = run(1.0, 1.0) if reference is None else reference
    trials = {
        "surface": (run(1 + surface, 1.0), run(1 - surface, 1.0)),
        "conductivity": (run(1.0, 1 + conductivity), run(1.0, 1 - conductivity)),
    }
    down, up, spread = 0.0, 0.0, {}
    never = False
    for name, times in trials.items():
        reached = [t for t in times if t is not None]
        never = never or len(reached) < len(times)
        if base is None or not reached:
            spread[name] = float("inf") if len(reached) < len(times) else 0.0
            continue
        down += min(0.0, min(reached) - base) ** 2
        up += max(0.0, max(reached) - base) ** 2
        spread[name] = max(reached) - min(reached) if len(reached) == len(times) else float("inf")
    weakest = names[max(spread, key=lambda name: spread[name])]
    if time is None or base is None or base <= 0:
        return Band(low=None, high=None, weakest=weakest)
    scale = time / base
    low = max(0.0, time - scale * down**0.5)
    return Band(low=low, high=None if never else time + scale * up**0.5, weakest=weakest)
