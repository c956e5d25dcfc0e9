"""How sweet a mixture is beside sucrose: an order and a wide band, for tasters disagree."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from demoule.composition import COUNT, Constituent
from demoule.figures import Status, published
from demoule.units import ZERO_CELSIUS, FloatArray, Kelvin

__all__ = ["RELATIVE_SWEETNESS", "Sweetness", "sweetness"]

_C = Constituent

RELATIVE_SWEETNESS: dict[Constituent, tuple[float, float, float]] = {
    _C.SUCROSE: (1.00, 1.00, 1.00),
    _C.GLUCOSE: (0.65, 0.50, 0.75),
    _C.FRUCTOSE: (1.30, 1.03, 1.80),
    _C.GALACTOSE: (0.45, 0.30, 0.65),
    _C.LACTOSE: (0.22, 0.15, 0.40),
    _C.MALTOSE: (0.40, 0.30, 0.50),
    _C.TREHALOSE: (0.50, 0.40, 0.70),
    _C.MALTOTRIOSE: (0.25, 0.15, 0.35),
    _C.DEXTRINS: (0.10, 0.00, 0.20),
    _C.MALTODEXTRINS: (0.00, 0.00, 0.05),
    _C.SORBITOL: (0.55, 0.50, 0.60),
    _C.GLYCEROL: (0.60, 0.50, 0.80),
    _C.ERYTHRITOL: (0.65, 0.55, 0.75),
    _C.OTHER_POLYOLS: (0.60, 0.45, 0.90),
    _C.UNKNOWN_SUGARS: (0.80, 0.15, 1.80),
    _C.UNKNOWN_SOLIDS: (0.00, 0.00, 1.00),
}
"""Sweetness of a gram beside a gram of sucrose at table temperature: the usual value, and the span of the authors."""

_TABLE = np.zeros((COUNT, 3))
for _c, _row in RELATIVE_SWEETNESS.items():
    _TABLE[_c] = _row

# Fructose cools sweeter and warms blander: 1.47 at 5 °C and 1.00 at 40 °C in a 5 % solution.
_FRUCTOSE_COLD, _FRUCTOSE_WARM = (5.0, 1.47), (40.0, 1.00)


@dataclass(frozen=True, slots=True, eq=False)
class Sweetness:
    """Sucrose that would be as sweet [kg per kg of mixture]: usual value and span, of the shape of the recipes."""

    value: FloatArray
    low: FloatArray
    high: FloatArray


@published(
    gives="sucrose as sweet as the mixture",
    source="sweetness-authors",
    valid="about 5 to 20 % sugar, 5 to 40 °C",
    error="the span of the authors is the band; only order and bounds can be told",
    status=Status.QUOTED,
)
def sweetness(fractions: FloatArray, temperature: Kelvin = 293.15) -> Sweetness:
    """Sweetness of one composition (k,) or many (..., k) eaten at a temperature [K]; each sugar adds its own."""
    table = _TABLE.copy()
    t = min(max(temperature - ZERO_CELSIUS, _FRUCTOSE_COLD[0]), _FRUCTOSE_WARM[0])
    slope = (_FRUCTOSE_WARM[1] - _FRUCTOSE_COLD[1]) / (_FRUCTOSE_WARM[0] - _FRUCTOSE_COLD[0])
    table[_C.FRUCTOSE, 0] = max(_FRUCTOSE_COLD[1] + slope * (t - _FRUCTOSE_COLD[0]), RELATIVE_SWEETNESS[_C.FRUCTOSE][1])
    sums = np.asarray(fractions, dtype=float) @ table
    return Sweetness(value=sums[..., 0], low=sums[..., 1], high=sums[..., 2])
