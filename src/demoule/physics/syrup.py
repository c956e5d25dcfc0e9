"""What a glucose syrup is to its maker: dextrose equivalent and mean molar mass, from its saccharides."""

from __future__ import annotations

import numpy as np

from demoule.composition import COUNT, MOLAR_MASS, SACCHARIDES, Constituent
from demoule.figures import Status, published
from demoule.units import FloatArray

__all__ = ["dextrose_equivalent", "mean_molar_mass"]

_C = Constituent

# Saccharides with a reducing end; sucrose and trehalose have none.
_REDUCING = np.zeros(COUNT)
_MOLES = np.zeros(COUNT)
_MASS = np.zeros(COUNT)
for _c in SACCHARIDES:
    _MOLES[_c] = 1.0 / MOLAR_MASS[_c]
    _REDUCING[_c] = 0.0 if _c in (_C.SUCROSE, _C.TREHALOSE) else _MOLES[_c]
    _MASS[_c] = 1.0


@published(
    gives="dextrose equivalent of a syrup",
    source="belitz-2009",
    valid="starch hydrolysates; saccharides beyond three units taken as seven",
    error="4 DE",
    status=Status.READ,
)
def dextrose_equivalent(fractions: FloatArray) -> FloatArray:
    """Reducing power of the dry saccharides as grams of glucose per 100 g; one reducing end a molecule."""
    x = np.asarray(fractions, dtype=float)
    mass = x @ _MASS
    ends = 100.0 * float(MOLAR_MASS[_C.GLUCOSE]) * (x @ _REDUCING)
    return np.asarray(np.divide(ends, mass, out=np.zeros_like(mass), where=mass > 0))


def mean_molar_mass(fractions: FloatArray) -> FloatArray:
    """Number-average molar mass [kg/mol] of the saccharides; for a pure hydrolysate 18.016/DE."""
    x = np.asarray(fractions, dtype=float)
    moles = x @ _MOLES
    return np.asarray(np.divide(x @ _MASS, moles, out=np.full_like(moles, np.nan), where=moles > 0))
