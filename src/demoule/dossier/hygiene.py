"""What can be said about hygiene from composition and from hours: growth class, and time spent warm."""

from __future__ import annotations

import enum
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from demoule.figures import Status, published
from demoule.units import FloatArray, Kelvin, Second, kelvin

__all__ = [
    "COLD_LIMIT",
    "HOT_LIMIT",
    "GrowthClass",
    "GrowthVerdict",
    "listeria_class",
    "time_between",
    "worst_layer",
]

COLD_LIMIT: Kelvin = kelvin(5)
"""Cold holding, FDA Food Code 3-501.16: at or below, the clock of warm time stands still."""
HOT_LIMIT: Kelvin = kelvin(57)
"""Hot holding, the same code: above, growth stops."""

_DAY = 86400.0
_SHORT_LIFE = "a life of less than 5 days"
_WATER_ACTIVITY_ERROR = 0.01  # of a calculated water activity; nearer to a limit than this means: measure
_PH_ERROR = 0.1  # judged, of a pH from a table


class GrowthClass(enum.StrEnum):
    """Whether Listeria monocytogenes is held to be able to grow in a food."""

    ABLE = "able"
    UNABLE = "unable"
    NOT_SHOWN = "not shown"


@dataclass(frozen=True, slots=True, kw_only=True)
class GrowthVerdict:
    """The class, why, and whether a measurement could turn it over."""

    growth: GrowthClass
    why: str
    measure: bool  # nearer to a limit than the calculation is sure


@published(
    gives="growth class for Listeria monocytogenes",
    source="eu-2073-2005",
    valid="ready-to-eat food; pH, water activity and days of life",
    error="exact rule; a calculated water activity is 0.01 unsure",
    status=Status.READ,
    name="Listeria growth class",
)
def listeria_class(
    ph: float | None, water_activity: float | None, life: Second | None, *, calculated: bool = False
) -> GrowthVerdict:
    """Class of a food by its pH, water activity and life.

    Parameters
    ----------
    ph, water_activity
        None when not known.
    life
        Shelf life [s], the time before freezing included; None when not known.
    calculated
        Whether pH and water activity are calculated: near a limit the verdict then says "measure".

    Returns
    -------
    GrowthVerdict
        Unable at pH 4.4 or less, at water activity 0.92 or less, at pH 5.0 or less with 0.94 or less, or with a life
        of less than 5 days; limits inclusive.

    Notes
    -----
    Source: eu-2073-2005, Annex I chapter 1, note to category 1.3; life under 5 days from memory. Status: read.

    Examples
    --------
    >>> listeria_class(6.3, 0.96, 4 * 86400).growth.value, listeria_class(6.3, 0.96, 5 * 86400).growth.value
    ('unable', 'able')
    """

    def judged(shift_ph: float = 0.0, shift_aw: float = 0.0) -> tuple[GrowthClass, str]:
        acid = None if ph is None else ph + shift_ph
        aw = None if water_activity is None else water_activity + shift_aw
        if acid is not None and acid <= 4.4:
            return GrowthClass.UNABLE, "pH 4.4 or less"
        if aw is not None and aw <= 0.92:
            return GrowthClass.UNABLE, "water activity 0.92 or less"
        if acid is not None and aw is not None and acid <= 5.0 and aw <= 0.94:
            return GrowthClass.UNABLE, "pH 5.0 or less with water activity 0.94 or less"
        if life is not None and life < 5 * _DAY:
            return GrowthClass.UNABLE, _SHORT_LIFE
        if acid is not None and aw is not None and life is not None:
            return GrowthClass.ABLE, "neither pH, water activity nor a short life holds it back"
        if life is None and acid is not None and aw is not None:
            return GrowthClass.NOT_SHOWN, "its life is not told"
        untold = "pH" if acid is None else "water activity"
        return GrowthClass.NOT_SHOWN, f"its {untold} is not told"

    growth, why = judged()
    measure = False
    if calculated:
        shifted = {
            judged(p, a)[0]
            for p in (-_PH_ERROR, 0.0, _PH_ERROR)
            for a in (-_WATER_ACTIVITY_ERROR, 0.0, _WATER_ACTIVITY_ERROR)
        }
        measure = len(shifted) > 1
    return GrowthVerdict(growth=growth, why=why, measure=measure)


def worst_layer(
    layers: Sequence[tuple[str, float | None, float | None]], life: Second | None
) -> tuple[str, GrowthVerdict]:
    """The layer, or the interface of two neighbours, in which growth is least held back.

    Acid gel beside neutral mousse does not make the mousse acid, and where they meet both may exchange water and acid:
    the interface is taken with the higher pH and the higher water activity of the two.

    Parameters
    ----------
    layers
        (name, pH, water activity) from the inside outwards.
    """
    order = {GrowthClass.ABLE: 0, GrowthClass.NOT_SHOWN: 1, GrowthClass.UNABLE: 2}
    places: list[tuple[str, GrowthVerdict]] = [
        (name, listeria_class(ph, aw, life, calculated=True)) for name, ph, aw in layers
    ]
    for (name, ph, aw), (other, other_ph, other_aw) in pairwise(layers):
        meeting_ph = None if ph is None or other_ph is None else max(ph, other_ph)
        meeting_aw = None if aw is None or other_aw is None else max(aw, other_aw)
        verdict = listeria_class(meeting_ph, meeting_aw, life, calculated=True)
        places.append((f"where {name} meets {other}", verdict))
    # Among those held back, one that only its short life holds is the weakest.
    return min(places, key=lambda place: (order[place[1].growth], place[1].why != _SHORT_LIFE, not place[1].measure))


def time_between(
    times: Sequence[Second] | FloatArray,
    temperatures: Sequence[Kelvin] | FloatArray,
    low: Kelvin = COLD_LIMIT,
    high: Kelvin = HOT_LIMIT,
) -> Second:
    """Time a record spends above `low` and below `high`, straight lines between readings [s].

    Examples
    --------
    >>> round(time_between([0, 3600], [kelvin(0), kelvin(10)]), 6)
    1800.0
    """
    step = np.diff(np.asarray(times, dtype=float))
    temp = np.asarray(temperatures, dtype=float)
    bottom, top = np.minimum(temp[:-1], temp[1:]), np.maximum(temp[:-1], temp[1:])
    flat = top == bottom
    crossing = np.maximum(0.0, np.minimum(top, high) - np.maximum(bottom, low)) / np.where(flat, 1.0, top - bottom)
    held = (low < bottom) & (bottom < high)
    return float((step * np.where(flat, held, crossing)).sum())
