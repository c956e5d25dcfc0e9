"""How a mixture holds and passes heat: specific heat, enthalpy with its ice, conductivity with ice and air."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from demoule.composition import COUNT, Constituent
from demoule.figures import Status, published
from demoule.physics.freezing import ice_fraction, latent_heat_of_ice
from demoule.units import ZERO_CELSIUS, FloatArray, Fraction, Kelvin

__all__ = [
    "conductivity",
    "conductivity_with_air",
    "conductivity_with_ice",
    "density_of_ice",
    "enthalpy",
    "heat_stretched",
    "specific_heat",
    "specific_heat_of_ice",
]

_C = Constituent

# Choi and Okos by component: powers of t in °C.
_K = np.array(
    [
        [0.57109, 1.7625e-3, -6.7036e-6],  # water
        [0.20141, 1.3874e-3, -4.3312e-6],  # carbohydrate
        [0.18071, -2.7604e-4, -1.7749e-7],  # fat
        [0.17881, 1.1958e-3, -2.7178e-6],  # protein
        [0.18331, 1.2497e-3, -3.1683e-6],  # fibre
        [0.32962, 1.4011e-3, -2.9069e-6],  # ash
        [0.1740, -2.5e-4, 0.0],  # ethanol; it and the next row from handbooks, recalled
        [0.2850, 1.0e-4, 0.0],  # glycerol and other small polyols
    ]
)
_RHO = np.array(
    [
        [997.18, 3.1439e-3, -3.7574e-3],
        [1599.1, -0.31046, 0.0],
        [925.59, -0.41757, 0.0],
        [1329.9, -0.5184, 0.0],
        [1311.5, -0.36589, 0.0],
        [2423.8, -0.28063, 0.0],
        [806.0, -0.85, 0.0],
        [1273.0, -0.65, 0.0],
    ]
)
_CP = 1e3 * np.array(
    [
        [4.1762, -9.0864e-5, 5.4731e-6],
        [1.5488, 1.9625e-3, -5.9399e-6],
        [1.9842, 1.4733e-3, -4.8008e-6],
        [2.0082, 1.2089e-3, -1.3129e-6],
        [1.8459, 1.8306e-3, -4.6509e-6],
        [1.0926, 1.8896e-3, -3.6817e-6],
        [2.27, 9.0e-3, 0.0],
        [2.23, 6.0e-3, 0.0],
    ]
)
_K_ICE = (2.2196, -6.2489e-3, 1.0154e-4)
_RHO_ICE = (916.89, -0.13071, 0.0)
_CP_ICE = (2062.3, 6.0769, 0.0)

_CLASS = np.full(COUNT, 1)
_CLASS[_C.WATER] = 0
_CLASS[[_C.MILK_FAT, _C.COCOA_BUTTER, _C.OTHER_FAT]] = 2
_CLASS[_C.PROTEIN] = 3
_CLASS[_C.FIBRE] = 4
_CLASS[[_C.SALT, _C.ASH]] = 5
_CLASS[_C.ETHANOL] = 6
_CLASS[[_C.GLYCEROL, _C.SORBITOL, _C.ERYTHRITOL]] = 7
_GROUP = np.zeros((COUNT, len(_K)))
_GROUP[np.arange(COUNT), _CLASS] = 1.0
_AIR_CONDUCTIVITY = 0.024  # [W/(m K)]


def _at(table: FloatArray, t: FloatArray) -> FloatArray:
    """Polynomials of t: shape (..., components)."""
    t = np.asarray(t)[..., None]
    result: FloatArray = table[:, 0] + t * (table[:, 1] + t * table[:, 2])
    return result


def _one(row: tuple[float, float, float], t: FloatArray) -> FloatArray:
    return np.asarray(row[0] + t * (row[1] + t * row[2]))


@published(
    gives="density of ice",
    source="choi-okos",
    valid="-40 to 0 °C",
    error="0.3 kg/m3",
    status=Status.QUOTED,
)
def density_of_ice(temperature: Kelvin | FloatArray) -> FloatArray:
    """Density of ice [kg/m3]."""
    return _one(_RHO_ICE, np.asarray(temperature, dtype=float) - ZERO_CELSIUS)


@published(
    gives="specific heat of ice",
    source="choi-okos",
    valid="-40 to 0 °C",
    error="2 %",
    status=Status.QUOTED,
)
def specific_heat_of_ice(temperature: Kelvin | FloatArray) -> FloatArray:
    """Specific heat of ice [J/(kg K)]."""
    return _one(_CP_ICE, np.asarray(temperature, dtype=float) - ZERO_CELSIUS)


@published(
    gives="specific heat of an unfrozen mixture",
    source="choi-okos",
    valid="-40 to 150 °C, without ice and setting fat",
    error="5 %",
    status=Status.QUOTED,
)
def specific_heat(fractions: FloatArray, temperature: Kelvin | FloatArray) -> FloatArray:
    """Specific heat [J/(kg K)] of a mixture in which nothing freezes or sets."""
    x = np.asarray(fractions, dtype=float) @ _GROUP
    t = np.asarray(temperature, dtype=float) - ZERO_CELSIUS
    result: FloatArray = (x * _at(_CP, np.maximum(t, -40.0))).sum(axis=-1)
    return result


def _integral(row: FloatArray, t: FloatArray) -> FloatArray:
    t = np.asarray(t)[..., None]
    result: FloatArray = t * (row[..., 0] + t * (row[..., 1] / 2 + t * row[..., 2] / 3))
    return result


@published(
    gives="heat content of a mixture with its ice",
    source="choi-okos",
    valid="-40 to 120 °C; the setting of fat is counted apart",
    error="5 % of the heat of freezing",
    status=Status.QUOTED,
)
def enthalpy(fractions: FloatArray, temperature: Kelvin | FloatArray, ice: FloatArray | None = None) -> FloatArray:
    """Heat content [J per kg], zero at 0 °C with all water liquid.

    `ice` [kg/kg] is what stands at that temperature; left out, it is the balance of `ice_fraction`.
    """
    x = np.asarray(fractions, dtype=float)
    T = np.asarray(temperature, dtype=float)
    t = T - ZERO_CELSIUS
    if ice is None:
        ice = ice_fraction(x, T)
    parts = x @ _GROUP
    water = parts[..., 0]
    solids = (parts[..., 1:] * _integral(_CP[1:], t)).sum(axis=-1)
    warm = _integral(_CP[:1], np.maximum(t, 0.0))[..., 0]
    cold = np.minimum(t, 0.0)
    in_ice = cold * (_CP_ICE[0] + cold * _CP_ICE[1] / 2) - latent_heat_of_ice(ZERO_CELSIUS)
    # Undercooled water: what ice holds and the latent heat at that temperature, so that the two agree at any path.
    in_water = np.where(t < 0, in_ice + latent_heat_of_ice(T), warm)
    result: FloatArray = solids + (water - ice) * in_water + ice * in_ice
    return result


def conductivity_with_ice(unfrozen: FloatArray, of_ice: FloatArray, share: FloatArray) -> FloatArray:
    """Conductivity [W/(m K)] of ice of a volume share in an unfrozen rest, by Levy's equation."""
    ratio = of_ice / unfrozen
    sigma = (ratio - 1.0) ** 2 / ((ratio + 1.0) ** 2 + ratio / 2.0)
    b = 2.0 / sigma - 1.0 + 2.0 * share
    f = 0.5 * (b - np.sqrt(np.maximum(b * b - 8.0 * share / sigma, 0.0)))
    result: FloatArray = unfrozen * (2.0 + ratio + 2.0 * (ratio - 1.0) * f) / (2.0 + ratio - (ratio - 1.0) * f)
    return result


def conductivity_with_air(dense: FloatArray, air: Fraction | FloatArray) -> FloatArray:
    """Conductivity [W/(m K)] of a foam of closed bubbles, by Maxwell and Eucken."""
    a = np.asarray(air, dtype=float)
    k = np.asarray(dense, dtype=float)
    gas = _AIR_CONDUCTIVITY
    result: FloatArray = k * (2 * k + gas - 2 * a * (k - gas)) / (2 * k + gas + a * (k - gas))
    return result


@published(
    gives="thermal conductivity of a mixture with ice and air",
    source="carson-2016",
    valid="-40 to 90 °C, air to 60 % of the volume",
    error="10 % dense and unfrozen, 20 % frozen or aerated",
    status=Status.QUOTED,
)
def conductivity(
    fractions: FloatArray,
    temperature: Kelvin | FloatArray,
    ice: FloatArray | None = None,
    air: Fraction | FloatArray = 0.0,
) -> FloatArray:
    """Conductivity [W/(m K)]: all but ice and air side by side, then Levy for ice, then Maxwell and Eucken for air."""
    x = np.asarray(fractions, dtype=float)
    T = np.asarray(temperature, dtype=float)
    t = np.clip(T - ZERO_CELSIUS, -60.0, 150.0)
    if ice is None:
        ice = ice_fraction(x, T)
    ice = np.asarray(ice, dtype=float)
    parts = np.broadcast_to(x @ _GROUP, (*np.broadcast_shapes(x.shape[:-1], t.shape), len(_K))).copy()
    parts[..., 0] = np.maximum(parts[..., 0] - ice, 0.0)
    volumes = parts / _at(_RHO, t)
    rest = volumes.sum(axis=-1)
    unfrozen = (volumes * _at(_K, t)).sum(axis=-1) / np.maximum(rest, 1e-12)
    unfrozen = np.where(rest > 0, unfrozen, _K[0, 0])  # all ice: the rest does not matter
    cold = np.minimum(t, 0.0)
    of_ice = ice / _one(_RHO_ICE, cold)
    dense = conductivity_with_ice(unfrozen, _one(_K_ICE, cold), of_ice / (of_ice + rest))
    return conductivity_with_air(dense, air)


def heat_stretched(fractions: FloatArray, air: Fraction | FloatArray = 0.0) -> npt.NDArray[np.bool_]:
    """Whether a mixture lies outside what the heat properties were tried on: much ethanol or very much air."""
    x = np.asarray(fractions, dtype=float)
    result: npt.NDArray[np.bool_] = (x[..., _C.ETHANOL] > 0.15) | (np.asarray(air) > 0.6)
    return result
