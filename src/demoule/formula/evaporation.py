"""How fast water goes off an open pan: by its surface, by how hot it is, and never faster than the hob can pay for."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from demoule.figures import Status, published
from demoule.formula.component import Pan
from demoule.units import CubicMetre, FloatArray, Kelvin, Metre, SquareMetre, Watt

__all__ = [
    "LATENT",
    "Band",
    "evaporation_ceiling",
    "evaporation_flux",
    "flux_below_boiling",
    "pan_area",
    "pan_for",
    "pan_holds",
]

LATENT = 2.257e6
"""Heat that turns a kilogram of water at 100 °C into steam [J/kg]."""


class Band(NamedTuple):
    """A figure with its likely range."""

    low: float
    usual: float
    high: float

    def times(self, factor: float) -> Band:
        """All three multiplied."""
        return Band(self.low * factor, self.usual * factor, self.high * factor)

    def plus(self, other: Band) -> Band:
        """Both added, as when their errors go together."""
        return Band(self.low + other.low, self.usual + other.usual, self.high + other.high)

    def at_most(self, ceiling: float) -> Band:
        """None of the three above a ceiling."""
        return Band(*(min(value, ceiling) for value in self))


NONE = Band(0.0, 0.0, 0.0)

# Water off an open pan [kg/(m2 h)] against the mix's distance from its boiling point [K], low, usual and high: a habit
# of the trade for 60 °C, 85 °C and the rolling boil; the rows for a simmer and for room temperature are our estimate.
_BELOW_BOILING = np.array([0.0, 15.0, 40.0, 80.0])
_FLUX = np.array([[10.0, 18.0, 30.0], [4.0, 9.0, 20.0], [1.5, 2.45, 4.0], [0.1, 0.2, 0.4]])
_LOG_FLUX = np.log(_FLUX)
_ROLLING = Band(20.0, 40.0, 80.0)
_LID = Band(1 / 10, 1 / 7, 1 / 5)  # what a lid leaves of it

# Share of a pan's volume that can be used without boiling over, and its depth over its diameter (practice).
_USEFUL, _DEPTH = 0.60, 0.77


@published(
    name="evaporation from an open pan",
    gives="water that goes off an open pan, by its surface",
    source="practice",
    valid="20 °C to the boil, pans of 16 to 32 cm",
    error="a factor of two either way",
    status=Status.PRACTICE,
)
def evaporation_flux(
    temperature: Kelvin, boiling_point: Kelvin, *, strength: str = "rolling", covered: bool = False
) -> Band:
    """Water that leaves a square metre of open surface [kg/(m2 s)], low, usual and high.

    Parameters
    ----------
    temperature, boiling_point
        Of the mix, and at which it boils here [K].
    strength
        "rolling" or "gentle", for a mix at the boil.
    covered
        With a lid on, a fifth to a tenth of it.

    Notes
    -----
    Between the tabled distances from the boil the logarithm is taken as linear, as the vapour pressure nearly is.
    The rate leaps to that of a rolling boil only at the boil itself, where bubbles carry the steam out.
    Source: practice. Status: practice.
    """
    below = boiling_point - temperature
    if below <= 0.5 and strength != "gentle":
        flux = _ROLLING
    else:
        flux = Band(*(float(np.exp(np.interp(below, _BELOW_BOILING, np.log(_FLUX[:, k])))) for k in range(3)))
    lid = _LID if covered else Band(1.0, 1.0, 1.0)
    return Band(*(value * share / 3600.0 for value, share in zip(flux, lid, strict=True)))


def flux_below_boiling(temperatures: FloatArray, boiling_point: Kelvin, *, covered: bool = False) -> FloatArray:
    """`evaporation_flux` at many temperatures below the boil at once, shape (n, 3): low, usual and high [kg/(m2 s)]."""
    below = boiling_point - np.asarray(temperatures, dtype=float)
    flux = np.exp(np.column_stack([np.interp(below, _BELOW_BOILING, _LOG_FLUX[:, k]) for k in range(3)]))
    result: FloatArray = flux * (np.array(_LID) if covered else 1.0) / 3600.0
    return result


@published(
    name="evaporation that a hob can pay for",
    gives="the most water that a hob can turn into steam",
    source="iapws-steam",
    valid="a mix at the boil",
    error="that of the hob's efficiency",
    status=Status.RECALLED,
)
def evaporation_ceiling(heat: Watt) -> float:
    """Water that a heat flow into the pot can boil off at most [kg/s].

    Notes
    -----
    The heat over the latent heat of water at 100 °C. Source: iapws-steam. Status: recalled.

    Examples
    --------
    A hob of 3.5 kW, 85 % of which reach the pot, boils off 79 g a minute:

    >>> round(evaporation_ceiling(3500 * 0.85) * 60_000)
    79
    """
    return heat / LATENT


def pan_area(diameter: Metre) -> SquareMetre:
    """Open surface of a round pan [m2]."""
    return math.pi / 4 * diameter**2


def pan_holds(pan: Pan) -> CubicMetre:
    """What a pan holds without boiling over [m3]; a depth that is not told is 0.77 of the diameter."""
    depth = pan.depth if pan.depth is not None else _DEPTH * math.sqrt(4 * pan.open_area / math.pi)
    return _USEFUL * pan.open_area * depth


def pan_for(volume: CubicMetre, diameters: tuple[Metre, ...]) -> Pan:
    """The smallest of the kitchen's pans that holds a volume; the largest when none does.

    Examples
    --------
    >>> pan_for(0.0012, (0.16, 0.20, 0.24, 0.28)).name
    '16 cm pan'
    """
    pans = [Pan(name=f"{d * 100:.0f} cm pan", open_area=pan_area(d)) for d in sorted(diameters)]
    return next((pan for pan in pans if pan_holds(pan) >= volume), pans[-1])
