"""How thick a syrup runs."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from demoule.composition import Constituent
from demoule.figures import Status, published
from demoule.physics.refraction import soluble_solids
from demoule.units import ZERO_CELSIUS, FloatArray, Fraction, Kelvin

__all__ = ["viscosity_of_mix", "viscosity_of_sucrose_solution", "viscosity_stretched"]

_C = Constituent


@published(
    gives="viscosity of sucrose solutions",
    source="genotelle",
    valid="0 to 75 °Bx, 0 to 100 °C",
    error="5 % at 20 °C, 8 % from 20 to 60 °C, 15 % from 0 to 100 °C",
    status=Status.RECALLED,
)
def viscosity_of_sucrose_solution(solids: Fraction | FloatArray, temperature: Kelvin | FloatArray) -> FloatArray:
    """Viscosity [Pa s] of sucrose in water from its mass fraction [kg/kg] and the temperature [K]."""
    b = np.clip(100.0 * np.asarray(solids, dtype=float), 0.0, 95.0)
    t = np.asarray(temperature, dtype=float) - ZERO_CELSIUS
    n = b / (1900.0 - 18.0 * b)
    exponent = 22.46 * n - 0.114 + (30.0 - t) / (91.0 + t) * (1.1 + 43.1 * n**1.25)
    result: FloatArray = 1e-3 * 10.0**exponent
    return result


@published(
    gives="viscosity of a mixture's syrup",
    source="genotelle",
    valid="sugars in water; read as sucrose of the same Brix",
    error="20 % for other sugars, a lower bound with gums, gelatine, starch, pulp or fat",
    status=Status.JUDGED,
)
def viscosity_of_mix(fractions: FloatArray, temperature: Kelvin | FloatArray) -> FloatArray:
    """Viscosity [Pa s] of a mixture's water phase, as sucrose of the same soluble solids; thickeners not counted."""
    return viscosity_of_sucrose_solution(soluble_solids(fractions), temperature)


def viscosity_stretched(fractions: FloatArray, temperature: Kelvin | FloatArray = 293.15) -> npt.NDArray[np.bool_]:
    """Whether a mixture is more than a sugar syrup, beyond 75 °Bx, or outside 0 to 100 °C."""
    x = np.asarray(fractions, dtype=float)
    t = np.asarray(temperature, dtype=float) - ZERO_CELSIUS
    solids = soluble_solids(x)
    swollen = x[..., [_C.PROTEIN, _C.STARCH, _C.FIBRE, _C.MILK_FAT, _C.COCOA_BUTTER, _C.OTHER_FAT]].sum(axis=-1)
    other = 1.0 - x[..., _C.WATER] - x[..., _C.SUCROSE] - swollen
    result: npt.NDArray[np.bool_] = (swollen > 0.002) | (other > 0.1) | (solids > 0.75) | (t < 0) | (t > 100)
    return result
