"""How a layer cuts when it is eaten: a class in plain words from the share of its volume that is ice."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from demoule.errors import BadInput
from demoule.figures import Status, published
from demoule.units import Fraction, Kelvin

if TYPE_CHECKING:
    from demoule.physics.thermal import ThermalTable

__all__ = ["CLASSES", "Softness", "ice_volume", "softness", "softness_words"]

ICE_DENSITY = 917.0  # kg/m3

CLASSES: tuple[tuple[str, float, str], ...] = (
    ("thawed", 0.02, "no ice to speak of: only the gel or the fat holds it"),
    ("spoon-soft", 0.12, "a spoon goes in without force, like soft ice"),
    ("sliceable", 0.30, "a knife cuts it clean"),
    ("firm", 0.45, "a knife or a scoop needs force"),
    ("hard", 1.00, "the knife stops"),
)
"""Word, upper end of the ice share of the volume, and what a chef notices (judged)."""

_NEAR = 0.05
"""A neighbouring class is named when its border is nearer than this: process alone moves hardness that much."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Softness:
    """A class of softness, with the neighbour that the process may make of it, or empty."""

    word: str
    meaning: str
    neighbour: str
    ice_volume: Fraction

    def __str__(self) -> str:
        return f"{self.word}, perhaps {self.neighbour}" if self.neighbour else self.word


@published(
    gives="softness when eaten, as a class",
    source="judged",
    valid="gels, fruit, mousses and creams between -30 °C and +10 °C; fat that is hard when cold adds firmness",
    error="one class near a border: the same recipe varies ninefold in hardness with its process",
    status=Status.JUDGED,
)
def softness(ice_share: Fraction) -> Softness:
    """The class of a layer whose volume, air counted, is ice to this share.

    Raises
    ------
    BadInput
        A share outside 0 to 1.

    Examples
    --------
    >>> str(softness(0.20))
    'sliceable'
    >>> str(softness(0.33))
    'firm, perhaps sliceable'
    """
    if not 0 <= ice_share <= 1:
        raise BadInput(f"An ice share of {ice_share:.0%} is not possible.", remedy="give 0 to 100 % of the volume.")
    ends = [end for _, end, _ in CLASSES]
    at = int(np.searchsorted(ends, ice_share, side="right"))
    at = min(at, len(CLASSES) - 1)
    below = ice_share - ends[at - 1] if at else np.inf
    above = ends[at] - ice_share if at + 1 < len(CLASSES) else np.inf
    neighbour = ""
    if min(below, above) < _NEAR:
        neighbour = CLASSES[at - 1][0] if below <= above else CLASSES[at + 1][0]
    word, _, meaning = CLASSES[at]
    return Softness(word=word, meaning=meaning, neighbour=neighbour, ice_volume=float(ice_share))


def softness_words(most: Fraction, least: Fraction) -> str:
    """A window of softness in words, from the harder to the softer one.

    Examples
    --------
    >>> softness_words(0.30, 0.02)
    'sliceable to spoon-soft'
    >>> softness_words(0.02, 0.0)
    'thawed'
    """
    ends = [end for _, end, _ in CLASSES]
    hardest = CLASSES[min(int(np.searchsorted(ends, most - 1e-9)), len(CLASSES) - 1)][0]
    softest = CLASSES[min(int(np.searchsorted(ends, least + 1e-9)), len(CLASSES) - 1)][0]
    return hardest if hardest == softest else f"{hardest} to {softest}"


def ice_volume(table: ThermalTable, temperature: Kelvin) -> Fraction:
    """Share of the volume, air counted, that is ice at a temperature [K]."""
    ice = float(np.interp(temperature, table.temperature, table.ice_fraction))
    return min(1.0, ice * table.density / ICE_DENSITY)
