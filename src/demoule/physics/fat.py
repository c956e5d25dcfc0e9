"""How much of a fat is solid at a temperature, and the heat that its setting gives."""

from __future__ import annotations

import numpy as np

from demoule.composition import Constituent
from demoule.figures import Status, published
from demoule.units import ZERO_CELSIUS, FloatArray, Kelvin

__all__ = ["FAT_HEAT", "fat_heat", "solid_fat"]

_C = Constituent

# Solid share by temperature [°C], annealed fats. Typical curves, the seasons move milk fat by 8 points.
_CURVES: dict[Constituent, tuple[tuple[float, ...], tuple[float, ...]]] = {
    _C.COCOA_BUTTER: (
        (-20.0, 0.0, 10.0, 20.0, 25.0, 30.0, 32.5, 35.0, 37.0),
        (0.97, 0.94, 0.90, 0.76, 0.70, 0.45, 0.18, 0.01, 0.0),
    ),
    _C.MILK_FAT: (
        (-30.0, -20.0, -10.0, 0.0, 5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0),
        (0.85, 0.80, 0.74, 0.65, 0.50, 0.39, 0.28, 0.18, 0.11, 0.06, 0.02, 0.0),
    ),
}

FAT_HEAT: dict[Constituent, float] = {_C.COCOA_BUTTER: 157e3, _C.MILK_FAT: 85e3}
"""Heat of melting of the wholly solid fat [J/kg]."""


@published(
    gives="share of a fat that is solid",
    source="fat-curves",
    valid="cocoa butter set in its stable form, milk fat rested cold; -30 to 40 °C",
    error="0.05 cocoa butter, 0.10 milk fat",
    status=Status.RECALLED,
)
def solid_fat(fat: Constituent, temperature: Kelvin | FloatArray) -> FloatArray:
    """Solid share 0 to 1 of cocoa butter or milk fat at a temperature [K]; other fats are taken as liquid."""
    t = np.asarray(temperature, dtype=float) - ZERO_CELSIUS
    if fat not in _CURVES:
        return np.zeros_like(t)
    at, share = _CURVES[fat]
    return np.asarray(np.interp(t, at, share))


def fat_heat(fractions: FloatArray, temperature: FloatArray) -> FloatArray:
    """Heat that melted fat holds more than at 0 °C [J per kg of mixture]; negative below, where more fat is solid."""
    x = np.asarray(fractions, dtype=float)
    total = np.zeros(np.broadcast_shapes(x.shape[:-1], np.shape(temperature)))
    for fat, heat in FAT_HEAT.items():
        total = total + x[..., fat] * heat * (solid_fat(fat, ZERO_CELSIUS) - solid_fat(fat, temperature))
    return total
