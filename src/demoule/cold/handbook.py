"""Freezing times by the formulas of the handbooks: an independent second opinion on bare bodies of one mix."""

from __future__ import annotations

import math

from demoule.errors import BadInput
from demoule.figures import Status, published
from demoule.units import (
    JoulePerKilogram,
    Kelvin,
    KilogramPerCubicMetre,
    Metre,
    Second,
    WattPerMetreKelvin,
    WattPerSquareMetreKelvin,
)

__all__ = ["log_mean_difference", "mean_final_temperature", "pham_time", "plank_time"]

_VOLUME_PER_AREA = {"slab": 1 / 2, "cylinder": 1 / 4, "sphere": 1 / 6}  # over the thickness or diameter


@published(
    gives="freezing time of a body at its freezing point, sensible heat left out",
    source="plank",
    valid="starts at its freezing point, all water freezes there, little sensible heat",
    error="-12 % against tests of small particles; too short, for it counts the latent heat only",
    status=Status.QUOTED,
)
def plank_time(
    shape: str,
    size: Metre,
    *,
    density: KilogramPerCubicMetre,
    latent: JoulePerKilogram,
    freezing: Kelvin,
    air: Kelvin,
    h: WattPerSquareMetreKelvin,
    conductivity: WattPerMetreKelvin,
) -> Second:
    """Freezing time by Plank [s]: ρ L/(T_f − T_a) (P D/h + R D²/k), P = 1/2, 1/4, 1/6 and R = P/4.

    Parameters
    ----------
    size
        Thickness of a slab, or diameter [m].
    conductivity
        Frozen [W/(m K)].

    Raises
    ------
    BadInput
        An unknown shape, or a room that is not colder than the freezing point.

    Examples
    --------
    >>> hours = plank_time("slab", 0.0635, density=1057, latent=0.75 * 335e3, freezing=270.4, air=244.3, h=17,
    ...                    conductivity=1.038) / 3600
    >>> round(hours, 2)
    6.65
    """
    if shape not in _VOLUME_PER_AREA:
        raise BadInput(f"There is no formula for “{shape}”.", remedy="use slab, cylinder or sphere.")
    if not freezing > air:
        raise BadInput("The room is not colder than the freezing point.", remedy="name a colder room.")
    p = _VOLUME_PER_AREA[shape]
    return density * latent / (freezing - air) * (p * size / h + p / 4 * size**2 / conductivity)


def log_mean_difference(first: float, last: float) -> float:
    """Logarithmic mean of two temperature differences [K].

    >>> round(log_mean_difference(28.5 + 20.9, -2.1 + 20.9), 1)
    31.7
    """
    return first if math.isclose(first, last) else (first - last) / math.log(first / last)


def mean_final_temperature(core: Kelvin, air: Kelvin, biot: float) -> Kelvin:
    """Mean temperature of a frozen body whose core has just come to `core` [K]: T_c − (T_c − T_a)/(2 + 4/Bi).

    >>> round(mean_final_temperature(263.15, 252.25, 4.2) - 273.15, 1)
    -13.7
    """
    return core - (core - air) / (2 + 4 / biot)


@published(
    gives="freezing time of a body of one mix",
    source="pham-1984",
    valid="slab, long cylinder, sphere; one mix with a sharp freezing point",
    error="10 %",
    status=Status.READ,
)
def pham_time(
    shape: str,
    size: Metre,
    *,
    start: Kelvin,
    freezing: Kelvin,
    core: Kelvin,
    air: Kelvin,
    h: WattPerSquareMetreKelvin,
    unfrozen: tuple[WattPerMetreKelvin, float],
    frozen: tuple[WattPerMetreKelvin, float],
    latent: float,
) -> Second:
    """Freezing time by Pham's three stages [s].

    t = Σ Q_j/(h A ΔT_j) (1 + Bi_j/K_j) for cooling, freezing and subcooling, K = 6, 4, 6.

    Parameters
    ----------
    size
        Thickness of a slab, or diameter [m]; it enters the Biot numbers.
    unfrozen, frozen
        Conductivity [W/(m K)] and heat capacity per volume [J/(m3 K)].
    latent
        Heat of freezing per volume [J/m3], what is frozen out between freezing point and mean final temperature.
    """
    if shape not in _VOLUME_PER_AREA:
        raise BadInput(f"There is no formula for “{shape}”.", remedy="use slab, cylinder or sphere.")
    if not (start >= freezing > core > air):
        raise BadInput("Start, freezing point, core and room must follow each other downwards.")
    (k_l, c_l), (k_s, c_s) = unfrozen, frozen
    bi_l, bi_s = h * size / k_l, h * size / k_s
    mean = mean_final_temperature(core, air, bi_s)
    stages = (
        (c_l * (start - freezing), log_mean_difference(start - air, freezing - air), (bi_l + bi_s) / 2, 6.0),
        (latent, freezing - air, bi_s, 4.0),
        (c_s * (freezing - mean), log_mean_difference(freezing - air, mean - air), bi_s, 6.0),
    )
    depth = _VOLUME_PER_AREA[shape] * size
    return sum(q * depth / (h * apart) * (1 + biot / k) for q, apart, biot, k in stages)
