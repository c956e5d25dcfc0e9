"""What a refractometer reads: refractive index, Brix and Baumé of a mixture's water phase."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from demoule.composition import COUNT, Constituent
from demoule.figures import Status, published
from demoule.physics.density import density_of_sucrose_solution
from demoule.units import FloatArray, Fraction

__all__ = [
    "baume",
    "brix_from_baume",
    "brix_from_refractive_index",
    "refractive_index",
    "refractive_index_of_mix",
    "soluble_solids",
    "soluble_solids_stretched",
]

_C = Constituent

# Powers of Brix; fitted to the tables of the handbook, 0 to 84 %.
_INDEX = (1.33301169, 1.41748477e-3, 6.60449640e-6, -2.97372164e-8, 7.57129379e-10, -4.24027580e-12)

# What one gram of each solute reads as grams of sucrose.
_READS = np.zeros(COUNT)
for _c, _share in {
    _C.SUCROSE: 1.0,
    _C.GLUCOSE: 0.99,
    _C.FRUCTOSE: 0.99,
    _C.GALACTOSE: 0.99,
    _C.LACTOSE: 1.0,
    _C.MALTOSE: 1.0,
    _C.TREHALOSE: 1.0,
    _C.MALTOTRIOSE: 1.0,
    _C.DEXTRINS: 1.0,
    _C.MALTODEXTRINS: 1.0,
    _C.SORBITOL: 0.98,
    _C.GLYCEROL: 0.81,
    _C.ERYTHRITOL: 0.93,
    _C.OTHER_POLYOLS: 1.0,
    _C.ETHANOL: 0.45,
    _C.ACIDS: 0.90,
    _C.SALT: 1.2,
    _C.ASH: 1.2,
    _C.UNKNOWN_SUGARS: 0.995,
    _C.UNKNOWN_SOLIDS: 1.0,
}.items():
    _READS[_c] = _share
_PHASE = (_READS > 0).astype(float)
_PHASE[_C.WATER] = 1.0


@published(
    gives="refractive index of sucrose solutions",
    source="crc-solutions",
    valid="0 to 84 °Bx, 20 °C, 589 nm",
    error="1e-4",
    status=Status.READ,
)
def refractive_index(solids: Fraction | FloatArray) -> FloatArray:
    """Refractive index at 20 °C of sucrose in water from its mass fraction [kg/kg]."""
    b = 100.0 * np.asarray(solids, dtype=float)
    total = np.zeros_like(b)
    for coefficient in reversed(_INDEX):
        total = total * b + coefficient
    return np.asarray(total)


@published(
    gives="Brix from a refractive index",
    source="crc-solutions",
    valid="1.3330 to 1.5010 at 20 °C",
    error="0.05 °Bx",
    status=Status.READ,
)
def brix_from_refractive_index(index: Fraction | FloatArray) -> FloatArray:
    """Mass fraction of sucrose [kg/kg] that has a refractive index at 20 °C; the hundredth of the degree Brix."""
    n = np.asarray(index, dtype=float)
    b = (n - 1.333) / 0.002
    for _ in range(20):
        slope = np.zeros_like(b)
        for power in range(5, 0, -1):
            slope = slope * b + power * _INDEX[power]
        b = np.clip(b - (refractive_index(b / 100.0) - n) / slope, -5.0, 100.0)
    return b / 100.0


@published(
    gives="soluble solids as a refractometer reads them",
    source="crc-solutions",
    valid="sugars in water exactly; other solutes by what a gram of each reads",
    error="0.2 °Bx with other sugars, 1 °Bx with spirit, salt or much protein",
    status=Status.RECALLED,
)
def soluble_solids(fractions: FloatArray) -> FloatArray:
    """Soluble solids [kg/kg] of the water phase as a refractometer reads them: fat, starch, protein and fibre apart."""
    x = np.asarray(fractions, dtype=float)
    phase = x @ _PHASE
    return np.asarray(np.divide(x @ _READS, phase, out=np.zeros_like(phase), where=phase > 0))


def refractive_index_of_mix(fractions: FloatArray) -> FloatArray:
    """Refractive index at 20 °C of the water phase of a mixture."""
    return refractive_index(soluble_solids(fractions))


@published(
    gives="degrees Baumé",
    source="mohos-2010",
    valid="0 to 80 °Bx, 20 °C",
    error="0.3 °Bé",
    status=Status.READ,
)
def baume(solids: Fraction | FloatArray) -> FloatArray:
    """Degrees Baumé (modulus 145) of a sucrose solution from its mass fraction [kg/kg]."""
    gravity = density_of_sucrose_solution(solids, 293.15) / density_of_sucrose_solution(0.0, 293.15)
    result: FloatArray = 145.0 - 145.0 / gravity
    return result


def brix_from_baume(degrees: Fraction | FloatArray) -> FloatArray:
    """Mass fraction [kg/kg] of a sucrose solution of so many degrees Baumé."""
    grid = np.linspace(0.0, 0.9, 901)
    return np.asarray(np.interp(np.asarray(degrees, dtype=float), baume(grid), grid))


def soluble_solids_stretched(fractions: FloatArray) -> npt.NDArray[np.bool_]:
    """Whether the reading rests on more than sugars: spirit, salts, polyols, or beyond the refractometer's 84 °Bx."""
    x = np.asarray(fractions, dtype=float)
    phase = np.maximum(x @ _PHASE, 1e-12)
    other = x[..., [_C.ETHANOL, _C.SALT, _C.ASH, _C.GLYCEROL, _C.ACIDS, _C.UNKNOWN_SOLIDS]].sum(axis=-1)
    result: npt.NDArray[np.bool_] = (other > 0.05 * phase) | (soluble_solids(x) > 0.84)
    return result
