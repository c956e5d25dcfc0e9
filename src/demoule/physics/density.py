"""How much room a mixture takes: sugar solutions by the tables of the sugar trade, everything else beside them."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from demoule.composition import COUNT, Constituent
from demoule.figures import Status, published
from demoule.physics.fat import solid_fat
from demoule.units import ZERO_CELSIUS, FloatArray, Fraction, Kelvin

__all__ = [
    "aerated_density",
    "density_of_mix",
    "density_of_sucrose_solution",
    "density_of_water",
    "density_stretched",
]

_C = Constituent

# ICUMSA SPS-4: rho = rho_water(t) + sum over powers of w, and of d = t - 20 °C.
_POLYNOMIAL = (
    (385.1761, 135.3705, 40.9299, -3.9643, 13.4853, -17.2890),
    (-46.2720e-2, -7.1720e-2, 1.1597e-2, 5.1126e-2, 17.5254e-2),
    (59.7712e-4, 7.2491e-4, 12.3630e-4, -35.4791e-4),
    (-47.2207e-6, -21.6977e-6, 27.6301e-6),
    (18.3184e-8, 12.3081e-8),
)

# Room a dissolved gram takes beyond what sucrose takes [1e-3 m3/kg]: limiting partial volumes at 25 °C, sucrose 0.617.
_EXTRA = {
    _C.GLUCOSE: 0.004,
    _C.FRUCTOSE: -0.004,
    _C.GALACTOSE: -0.003,
    _C.LACTOSE: -0.010,
    _C.MALTOSE: -0.007,
    _C.TREHALOSE: -0.013,
    _C.MALTOTRIOSE: -0.008,
    _C.DEXTRINS: -0.008,
    _C.MALTODEXTRINS: -0.008,
    _C.SORBITOL: 0.039,
    _C.ERYTHRITOL: 0.095,
    _C.OTHER_POLYOLS: 0.015,
    _C.ACIDS: -0.010,
    _C.UNKNOWN_SUGARS: 0.002,
    _C.UNKNOWN_SOLIDS: 0.0,
}
_DISSOLVED = np.zeros(COUNT)
_DISSOLVED[[_C.SUCROSE, *_EXTRA]] = 1.0
_EXTRA_VOLUME = np.zeros(COUNT)
for _c, _v in _EXTRA.items():
    _EXTRA_VOLUME[_c] = _v * 1e-3

_MOST = 0.95  # beyond this share of the syrup, sugar is counted as crystals
_CRYSTAL = 1588.0  # [kg/m3]
_SALT = (0.290e-3, 0.285e-3)  # apparent volume of salts in water [m3/kg]: constant and slope by their share
_GLYCEROL = (0.767e-3, 0.026e-3)  # apparent volume in water: constant and slope by the square of its share

# Apparent volume of ethanol in water at 20 °C [1e-3 m3/kg] by its mass share in the two, and its growth per K.
_ETHANOL_SHARE = np.array([0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.8, 1.0])
_ETHANOL_VOLUME = np.array([1.186, 1.168, 1.1543, 1.1569, 1.1705, 1.187, 1.2025, 1.2317, 1.2669])
_ETHANOL_GROWTH = 1.0e-3

# Choi and Okos, kg/m3 and per °C.
_SOLIDS = {_C.PROTEIN: (1329.9, -0.5184), _C.STARCH: (1599.1, -0.31046), _C.FIBRE: (1311.5, -0.36589)}


@published(
    gives="density of water",
    source="kell-1975",
    valid="-20 to 110 °C, one atmosphere",
    error="0.02 kg/m3 from 0 to 100 °C",
    status=Status.RECALLED,
)
def density_of_water(temperature: Kelvin | FloatArray) -> FloatArray:
    """Density of liquid water [kg/m3]; below -20 °C as at -20 °C."""
    t = np.clip(np.asarray(temperature, dtype=float) - ZERO_CELSIUS, -20.0, 150.0)
    top = 999.83952 + t * (
        16.945176 + t * (-7.9870401e-3 + t * (-46.170461e-6 + t * (105.56302e-9 - t * 280.54253e-12)))
    )
    return top / (1.0 + 16.879850e-3 * t)


@published(
    gives="density of sucrose solutions",
    source="icumsa-sps4",
    valid="0 to 84 % sucrose, 0 to 80 °C",
    error="0.5 kg/m3 to 70 %, 1 above; 2 kg/m3 away from 20 °C",
    status=Status.RECALLED,
)
def density_of_sucrose_solution(solids: Fraction | FloatArray, temperature: Kelvin | FloatArray) -> FloatArray:
    """Density [kg/m3] of sucrose in water from the mass fraction [kg/kg] and the temperature [K]."""
    w = np.asarray(solids, dtype=float)
    d = np.clip(np.asarray(temperature, dtype=float) - ZERO_CELSIUS, -20.0, 110.0) - 20.0
    total = density_of_water(temperature)
    for power, row in enumerate(_POLYNOMIAL):
        by_w = np.zeros_like(w)
        for coefficient in reversed(row):
            by_w = (by_w + coefficient) * w
        total = total + by_w * d**power
    return np.asarray(total)


@published(
    gives="density of a mixture without air",
    source="icumsa-sps4",
    valid="0 to 90 °C; volumes of the constituents add up beside the sugar solution",
    error="0.5 % for solutions and purées, 1.5 % with fats and dry solids",
    status=Status.RECALLED,
)
def density_of_mix(fractions: FloatArray, temperature: Kelvin | FloatArray = 293.15) -> FloatArray:
    """Density [kg/m3] without air of one composition (k,) or many (..., k) at a temperature [K], nothing frozen."""
    x = np.asarray(fractions, dtype=float)
    T = np.asarray(temperature, dtype=float)
    t = T - ZERO_CELSIUS
    water, ethanol, glycerol = x[..., _C.WATER], x[..., _C.ETHANOL], x[..., _C.GLYCEROL]
    sugars = x @ _DISSOLVED
    dissolved = np.minimum(sugars, water * (_MOST / (1.0 - _MOST)))
    syrup = water + dissolved
    w = np.divide(dissolved, syrup, out=np.zeros_like(syrup), where=syrup > 0)
    volume = syrup / density_of_sucrose_solution(w, T) + (sugars - dissolved) / _CRYSTAL + x @ _EXTRA_VOLUME
    share = np.divide(glycerol, glycerol + water, out=np.zeros_like(water), where=glycerol > 0)
    volume = volume + glycerol * (_GLYCEROL[0] + _GLYCEROL[1] * share**2) * (1.0 + 5.0e-4 * (t - 20.0))
    share = np.divide(ethanol, ethanol + water, out=np.zeros_like(water), where=ethanol > 0)
    spirit = np.interp(share, _ETHANOL_SHARE, _ETHANOL_VOLUME) * 1e-3
    volume = volume + ethanol * spirit * (1.0 + _ETHANOL_GROWTH * (t - 20.0))
    salts = x[..., _C.SALT] + x[..., _C.ASH]
    share = np.divide(salts, salts + water, out=np.zeros_like(water), where=salts > 0)
    volume = volume + salts * (_SALT[0] + _SALT[1] * np.minimum(share, 0.3))
    for c, (rho, slope) in _SOLIDS.items():
        volume = volume + x[..., c] / (rho + slope * t)
    for c in (_C.MILK_FAT, _C.COCOA_BUTTER, _C.OTHER_FAT):
        volume = volume + x[..., c] * _fat_volume(c, T)
    result: FloatArray = 1.0 / volume
    return result


def _fat_volume(which: Constituent, T: FloatArray) -> FloatArray:
    """Room of a fat [m3/kg], solid and liquid shares together; solid fat is denser by 8 %."""
    t = T - ZERO_CELSIUS
    liquid = 1.0 / (925.59 - 0.41757 * t) if which is not _C.COCOA_BUTTER else 1.0 / (918.0 - 0.62 * t)
    if which is _C.OTHER_FAT:
        return np.asarray(liquid)
    solid = solid_fat(which, T)
    return np.asarray(liquid * (1.0 - 0.08 * solid))


def aerated_density(mix_density: FloatArray | float, air: Fraction | FloatArray) -> FloatArray:
    """Density [kg/m3] of a foam from that of its mix and the share of its volume that is air."""
    result: FloatArray = np.asarray(mix_density, dtype=float) * (1.0 - np.asarray(air, dtype=float))
    return result


def density_stretched(fractions: FloatArray, temperature: Kelvin | FloatArray = 293.15) -> npt.NDArray[np.bool_]:
    """Whether a mixture or a temperature lies outside what the density model was tried on."""
    x = np.asarray(fractions, dtype=float)
    t = np.asarray(temperature, dtype=float) - ZERO_CELSIUS
    sugars = x @ _DISSOLVED
    result: npt.NDArray[np.bool_] = (sugars > 0.84 * (sugars + x[..., _C.WATER])) | (t < 0) | (t > 90)
    return result
