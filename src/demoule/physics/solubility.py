"""How much of a sugar water can hold before it grains."""

from __future__ import annotations

from typing import Literal

import numpy as np
import numpy.typing as npt

from demoule.composition import Constituent
from demoule.errors import BadInput
from demoule.figures import Status, published
from demoule.units import ZERO_CELSIUS, FloatArray, Kelvin

__all__ = ["SOLUBLE", "SucroseTable", "solubility", "solubility_stretched", "sucrose_solubility"]

_C = Constituent

SucroseTable = Literal["vavrinecz", "traditional"]

# Mass % by powers of t in °C. The two tables differ by up to 0.42 points; the newer one lies lower at room temperature.
_SUCROSE: dict[str, tuple[float, ...]] = {
    "vavrinecz": (64.447, 0.08222, 1.6169e-3, -1.558e-6, -4.63e-8),
    "traditional": (64.1775, 0.134760, 5.32643e-4, -1.46e-8),
}

# Mass % of the saturated solution at °C.
_TABLES: dict[Constituent, tuple[tuple[float, ...], tuple[float, ...]]] = {
    # Jackson and Silsbee: the monohydrate to 50 °C, the anhydrous form above.
    _C.GLUCOSE: (
        (0.5, 10.0, 20.0, 30.0, 40.0, 50.0, 55.2, 64.8, 70.2, 80.5, 90.8),
        (35.2, 41.0, 47.8, 54.6, 61.9, 70.9, 73.1, 76.4, 78.2, 81.5, 84.9),
    ),
    _C.FRUCTOSE: ((20.0, 25.0, 30.0, 35.0, 40.0, 45.0, 50.0), (78.9, 80.3, 81.6, 83.0, 84.3, 85.6, 86.9)),
    # Hudson: at the balance of its two forms.
    _C.LACTOSE: (
        (0.0, 15.0, 20.0, 25.0, 39.0, 49.0, 64.0, 74.0, 89.0),
        (10.6, 14.5, 16.1, 17.8, 24.0, 29.8, 39.7, 46.3, 58.2),
    ),
    # Gillis.
    _C.MALTOSE: ((0.6, 21.0, 34.4, 43.5, 59.8, 74.2), (36.1, 44.1, 49.6, 55.3, 63.7, 72.3)),
}

SOLUBLE: tuple[Constituent, ...] = (_C.SUCROSE, *_TABLES)
"""The sugars whose solubility is known."""


@published(
    gives="solubility of sucrose in water",
    source="vavrinecz-1962",
    valid="0 to 100 °C",
    error="0.1 points against its own table, 0.5 against the other",
    status=Status.RECALLED,
)
def sucrose_solubility(temperature: Kelvin | FloatArray, table: SucroseTable = "vavrinecz") -> FloatArray:
    """Mass fraction [kg/kg] of sucrose in its saturated solution at a temperature [K], by one of two named tables."""
    t = np.asarray(temperature, dtype=float) - ZERO_CELSIUS
    total = np.zeros_like(t)
    for coefficient in reversed(_SUCROSE[table]):
        total = total * t + coefficient
    return np.asarray(total / 100.0)


@published(
    gives="solubility of a sugar in water",
    source="jackson-silsbee",
    valid="glucose 0.5 to 91 °C, fructose 20 to 50 °C, lactose 0 to 89 °C, maltose 0.6 to 74 °C",
    error="1 point",
    status=Status.RECALLED,
)
def solubility(sugar: Constituent, temperature: Kelvin | FloatArray, table: SucroseTable = "vavrinecz") -> FloatArray:
    """Mass fraction [kg/kg] of a sugar in its saturated solution at a temperature [K].

    Outside its table a sugar keeps the slope of the table's end. For sucrose `table` names the one used.
    """
    if sugar is _C.SUCROSE:
        return sucrose_solubility(temperature, table)
    if sugar not in _TABLES:
        raise BadInput(
            f"The solubility of {sugar.name.lower().replace('_', ' ')} is not known here.",
            remedy="ask for sucrose, glucose, fructose, lactose or maltose.",
        )
    at, mass_percent = (np.array(column) for column in _TABLES[sugar])
    t = np.asarray(temperature, dtype=float) - ZERO_CELSIUS
    inside = np.interp(t, at, mass_percent)
    below = np.minimum(t - at[0], 0.0) * (mass_percent[1] - mass_percent[0]) / (at[1] - at[0])
    above = np.maximum(t - at[-1], 0.0) * (mass_percent[-1] - mass_percent[-2]) / (at[-1] - at[-2])
    return np.asarray(np.clip((inside + below + above) / 100.0, 0.0, 0.99))


def solubility_stretched(sugar: Constituent, temperature: Kelvin | FloatArray) -> npt.NDArray[np.bool_]:
    """Whether a temperature lies outside the table of a sugar."""
    t = np.asarray(temperature, dtype=float) - ZERO_CELSIUS
    low, high = (0.0, 100.0) if sugar is _C.SUCROSE else (_TABLES[sugar][0][0], _TABLES[sugar][0][-1])
    result: npt.NDArray[np.bool_] = (t < low) | (t > high)
    return result
