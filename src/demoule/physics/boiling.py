"""When a mixture boils, at the pressure of the kitchen's altitude, and how far it must be cooked for a temperature."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from demoule.composition import Constituent
from demoule.figures import Status, published
from demoule.physics.water import activity_curve, water_held, water_phase
from demoule.units import FloatArray, Fraction, Kelvin, Metre, Pascal

__all__ = [
    "ATMOSPHERE",
    "boiling_point",
    "boiling_stretched",
    "pressure_at_altitude",
    "solids_at_boiling_point",
    "steam_pressure",
    "water_left_at_boiling_point",
    "water_lost_to_solids",
]

_C = Constituent
ATMOSPHERE: Pascal = 101325.0

_T_CRITICAL, _P_CRITICAL = 647.096, 22.064e6
_WAGNER = (
    (1.0, -7.85951783),
    (1.5, 1.84408259),
    (3.0, -11.7866497),
    (3.5, 22.6807411),
    (4.0, -15.9618719),
    (7.5, 1.80122502),
)

# Ethanol over water, van Laar at one atmosphere; its vapour pressure by Antoine (mmHg, °C).
_LAAR_ETHANOL, _LAAR_WATER = 1.6798, 0.9227
_ANTOINE = (8.11220, 1592.864, 226.184)


@published(
    gives="pressure of the air at an altitude",
    source="iso-2533",
    valid="-300 to 11000 m",
    error="the weather moves it by 2 %, 0.6 K of boiling point",
    status=Status.RECALLED,
)
def pressure_at_altitude(altitude: Metre | FloatArray) -> FloatArray:
    """Pressure [Pa] of the standard atmosphere at an altitude [m]."""
    result: FloatArray = ATMOSPHERE * (1.0 - 2.25577e-5 * np.asarray(altitude, dtype=float)) ** 5.25588
    return result


def _ln_steam_pressure(T: FloatArray) -> tuple[FloatArray, FloatArray]:
    """ln p_sat and its derivative by temperature."""
    v = 1.0 - T / _T_CRITICAL
    g = sum(a * v**n for n, a in _WAGNER)
    dg = sum(a * n * v ** (n - 1.0) for n, a in _WAGNER)
    ratio = _T_CRITICAL / T
    value = np.log(_P_CRITICAL) + ratio * g
    slope = -ratio * g / T - dg / T
    return np.asarray(value), np.asarray(slope)


@published(
    gives="vapour pressure of water",
    source="iapws-saturation",
    valid="0 to 373 °C",
    error="0.02 %",
    status=Status.RECALLED,
)
def steam_pressure(temperature: Kelvin | FloatArray) -> FloatArray:
    """Vapour pressure of pure water [Pa] at a temperature [K] (Wagner and Pruss)."""
    result: FloatArray = np.exp(_ln_steam_pressure(np.asarray(temperature, dtype=float))[0])
    return result


def _ethanol_pressure(ethanol: FloatArray, water: FloatArray, T: FloatArray) -> FloatArray:
    """Partial pressure of ethanol [Pa] over mole fractions of ethanol and water."""
    a, b, c = _ANTOINE
    pure = 133.322 * 10.0 ** (a - b / (T - 273.15 + c))
    ratio = _LAAR_ETHANOL * ethanol / np.maximum(_LAAR_WATER * water, 1e-12)
    result: FloatArray = ethanol * np.exp(_LAAR_ETHANOL / (1.0 + ratio) ** 2) * pure
    return result


@published(
    gives="boiling point of a mixture",
    source="starzak-peacock",
    valid="sucrose to 90 °Bx, 70 to 130 °C; other sugars and syrups with the same shape",
    error="1 K to 70 °Bx, 10 % of the elevation above",
    status=Status.QUOTED,
)
def boiling_point(fractions: FloatArray, pressure: Pascal | FloatArray = ATMOSPHERE) -> FloatArray:
    """Boiling point [K] of one composition (k,) or many (..., k) at a pressure [Pa]."""
    phase = water_phase(fractions)
    curve = activity_curve(phase)
    X = phase.particle_fraction
    e, w = phase.ethanol * X, 1.0 - X
    ln_p = np.log(np.asarray(pressure, dtype=float))
    T = np.full(np.broadcast_shapes(X.shape, ln_p.shape), 373.15)
    for _ in range(12):
        steam, slope = _ln_steam_pressure(T)
        ln_aw, by_temperature = curve.at(T)
        ln_total = ln_aw + steam
        if np.any(e > 0):
            ln_total = np.logaddexp(ln_total, np.log(np.maximum(_ethanol_pressure(e, w, T), 1e-300)))
        before, T = T, np.clip(T + np.clip((ln_p - ln_total) / (slope + by_temperature), -20.0, 20.0), 253.15, 523.15)
        if np.max(np.abs(T - before), initial=0.0) < 1e-9:
            break
    return T


@published(
    gives="water left in a syrup that boils at a temperature",
    source="starzak-peacock",
    valid="to 90 °Bx or 135 °C for sucrose",
    error="2 % points of solids",
    status=Status.QUOTED,
)
def water_left_at_boiling_point(
    fractions: FloatArray, temperature: Kelvin | FloatArray, pressure: Pascal | FloatArray = ATMOSPHERE
) -> FloatArray:
    """Water left [kg per kg of the mixture put in] when it boils at a temperature; ethanol has gone by then.

    Larger than the water put in when the mixture boils above that temperature already; infinite at or below the boiling
    point of pure water.
    """
    x = np.array(fractions, dtype=float)
    x[..., _C.ETHANOL] = 0.0
    T = np.asarray(temperature, dtype=float)
    ln_aw = np.log(np.asarray(pressure, dtype=float)) - _ln_steam_pressure(T)[0]
    return water_held(water_phase(x), T, np.minimum(ln_aw, 0.0))


def solids_at_boiling_point(
    fractions: FloatArray, temperature: Kelvin | FloatArray, pressure: Pascal | FloatArray = ATMOSPHERE
) -> FloatArray:
    """Dry share [kg/kg] of the syrup made of these solids that boils at a temperature."""
    x = np.asarray(fractions, dtype=float)
    left = water_left_at_boiling_point(x, temperature, pressure)
    dry = 1.0 - x[..., _C.WATER] - x[..., _C.ETHANOL]
    result: FloatArray = dry / (dry + left)
    return result


def boiling_stretched(fractions: FloatArray, temperature: Kelvin | FloatArray | None = None) -> npt.NDArray[np.bool_]:
    """Whether a mixture or a cooking temperature lies outside what the boiling model was tried on."""
    x = np.asarray(fractions, dtype=float)
    phase = water_phase(x)
    result: npt.NDArray[np.bool_] = (phase.particle_fraction > 0.33) | (x[..., _C.ETHANOL] > 0.05)
    if temperature is not None:
        result = result | (np.asarray(temperature) > 408.15)
    return result


def water_lost_to_solids(fractions: FloatArray, solids: Fraction | FloatArray) -> FloatArray:
    """Water that must go off [kg per kg of mixture] to reach a dry share [kg/kg]; negative when water must come in."""
    x = np.asarray(fractions, dtype=float)
    dry = 1.0 - x[..., _C.WATER] - x[..., _C.ETHANOL]
    result: FloatArray = 1.0 - x[..., _C.ETHANOL] - dry / np.asarray(solids, dtype=float)
    return result
