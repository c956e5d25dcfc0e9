"""Where a mixture begins to freeze, and how much of its water is ice below that."""

from __future__ import annotations

from typing import Annotated

import numpy as np
import numpy.typing as npt

from demoule.composition import COUNT, Constituent
from demoule.figures import Status, published
from demoule.physics.water import (
    ActivityCurve,
    WaterPhase,
    activity_curve,
    ice_slope,
    ln_activity_over_ice,
    water_held,
    water_phase,
)
from demoule.units import ZERO_CELSIUS, FloatArray, Kelvin

__all__ = ["freezing_point", "freezing_stretched", "glass_onset", "ice_fraction", "ice_share", "latent_heat_of_ice"]

_C = Constituent
_R_WATER = 461.523  # [J/(kg K)]

# Temperature at which ice growth ends in the freeze-concentrated solution [°C]: one set, the upper transition of
# Levine and Slade (in Belitz, table 0.7: sucrose, glucose, sorbitol, trehalose, glycerol; the others recalled from the
# same series). The Tg' of other schools lie 10 to 15 K lower and must not be mixed in.
_ONSET: dict[Constituent, float] = {
    _C.SUCROSE: -32.0,
    _C.GLUCOSE: -43.0,
    _C.FRUCTOSE: -42.0,
    _C.GALACTOSE: -41.5,
    _C.LACTOSE: -28.0,
    _C.MALTOSE: -29.5,
    _C.TREHALOSE: -29.5,
    _C.MALTOTRIOSE: -23.5,
    _C.DEXTRINS: -13.5,
    _C.MALTODEXTRINS: -8.0,
    _C.SORBITOL: -43.5,
    _C.GLYCEROL: -65.0,
    _C.ERYTHRITOL: -53.5,
    _C.OTHER_POLYOLS: -34.5,
    _C.ETHANOL: -120.0,
    _C.ACIDS: -50.0,
    _C.SALT: -60.0,
    _C.ASH: -60.0,
}
_COLDEST = -65.0
_DEEPEST = 70.0  # depression where the search ends [K]

_WEIGHTS = np.zeros((COUNT, 2))
for _c, _onset in _ONSET.items():
    _WEIGHTS[_c] = 1.0, _onset
_WEIGHTS[_C.UNKNOWN_SUGARS] = 1.0, (_ONSET[_C.SUCROSE] + _ONSET[_C.GLUCOSE]) / 2
_WEIGHTS[_C.UNKNOWN_SOLIDS] = 1.0, (_ONSET[_C.SUCROSE] + _ONSET[_C.MALTODEXTRINS]) / 2


@published(
    gives="temperature at which ice growth ends",
    source="belitz-2009",
    valid="single sugars and polyols; mixtures by mass",
    error="3 K",
    status=Status.QUOTED,
)
def glass_onset(fractions: FloatArray) -> FloatArray:
    """Temperature [K] below which no more ice forms in the freeze-concentrated solution."""
    sums = np.asarray(fractions, dtype=float) @ _WEIGHTS
    mean = np.divide(sums[..., 1], sums[..., 0], out=np.full(sums.shape[:-1], _COLDEST), where=sums[..., 0] > 1e-9)
    result: FloatArray = ZERO_CELSIUS + np.maximum(mean, _COLDEST)
    return result


def _freezing_point(phase: WaterPhase) -> FloatArray:
    """Where the mixture's activity meets that over ice: Newton in the depression; both curves are nearly straight."""
    curve = activity_curve(phase)
    theta = np.minimum(-curve.at(268.15)[0] / 9.69e-3, _DEEPEST)
    moved = theta
    for _ in range(3):
        before, theta = theta, _newton(curve, theta)
        moved = np.abs(theta - before)
    # Most have arrived by now; the few thick ones go on alone.
    late = np.nonzero(np.atleast_1d(moved) > 1e-6)
    if late[0].size:
        alone = ActivityCurve(*(np.atleast_1d(c)[late] for c in (curve.c0, curve.c1, curve.c2, curve.c3)))
        go_on = np.atleast_1d(theta)[late]
        for _ in range(6):
            before, go_on = go_on, _newton(alone, go_on)
        # A curve that runs almost beside that of ice is halved in.
        go_on = np.where(np.abs(go_on - before) > 1e-6, _halved(alone), go_on)
        whole = np.array(np.atleast_1d(theta))
        whole[late] = go_on
        theta = whole.reshape(theta.shape)
    return np.asarray(ZERO_CELSIUS - theta)


def _newton(curve: ActivityCurve, theta: FloatArray) -> FloatArray:
    T = ZERO_CELSIUS - theta
    ln_aw, slope = curve.at(T)
    step = (ln_activity_over_ice(T) - ln_aw) / np.maximum(ice_slope(T) - slope, 1e-3)
    return np.asarray(np.clip(theta + np.minimum(step, 10.0), 0.0, _DEEPEST))


def _halved(curve: ActivityCurve) -> FloatArray:
    low, high = np.zeros_like(curve.c0), np.full_like(curve.c0, _DEEPEST)
    for _ in range(40):
        middle = (low + high) / 2.0
        T = ZERO_CELSIUS - middle
        warm = curve.at(T)[0] < ln_activity_over_ice(T)
        low, high = np.where(warm, middle, low), np.where(warm, high, middle)
    return np.asarray((low + high) / 2.0)


@published(
    gives="temperature at which the first ice stands in the mixture",
    source="starzak-peacock",
    valid="0 to -20 °C: sucrose to 42 %, monosaccharides to 30 %, maltose to 44 %, glycerol to 36 %, ethanol to 30 %, "
    "sodium chloride to 23 %, each in water, and their mixtures",
    error="0.06 K single sugars, 0.1 K salt and ethanol, 0.2 K glycerol and mixtures",
    status=Status.QUOTED,
)
def freezing_point(fractions: FloatArray) -> FloatArray:
    """Initial freezing point [K] of one composition (k,) or many (..., k).

    Water without solutes gives 273.15; mixtures too thick to freeze give 203.15, where the search ends.
    """
    return _freezing_point(water_phase(fractions))


@published(
    gives="ice in a mixture below its freezing point",
    source="starzak-peacock",
    valid="-35 to 0 °C; no ice forms below the onset of the glass",
    error="0.03 kg/kg to -12 °C, more below",
    status=Status.QUOTED,
)
def ice_fraction(fractions: FloatArray, temperature: Kelvin | FloatArray) -> FloatArray:
    """Ice [kg per kg of mixture] in balance at a temperature [K].

    For n recipes at m temperatures pass recipes (n, 1, k) and temperatures (m,).
    """
    x = np.asarray(fractions, dtype=float)
    phase = water_phase(x)
    T = np.maximum(np.asarray(temperature, dtype=float), glass_onset(x))
    held = water_held(phase, T, ln_activity_over_ice(T))
    return np.asarray(np.maximum(phase.water - held, 0.0))


def ice_share(fractions: FloatArray, temperature: Kelvin | FloatArray) -> FloatArray:
    """Share of the mixture's water that is ice, 0 to 1."""
    water = np.asarray(fractions, dtype=float)[..., _C.WATER]
    ice = ice_fraction(fractions, temperature)
    return np.asarray(np.divide(ice, water, out=np.zeros_like(ice), where=water > 0))


def freezing_stretched(fractions: FloatArray) -> npt.NDArray[np.bool_]:
    """Whether a mixture's freezing point lies outside what the model was tried on."""
    phase = water_phase(fractions)
    result: npt.NDArray[np.bool_] = (_freezing_point(phase) < ZERO_CELSIUS - 21.0) | (phase.bound > phase.water / 2)
    return result


@published(
    gives="latent heat of ice",
    source="iapws-06",
    valid="-35 to 0 °C",
    error="0.4 kJ/kg",
    status=Status.READ,
)
def latent_heat_of_ice(temperature: Kelvin | FloatArray) -> Annotated[FloatArray, "J/kg"]:
    """Heat [J/kg] that melting takes at a temperature [K], from the activity over ice (Clausius and Clapeyron)."""
    T = np.minimum(np.asarray(temperature, dtype=float), ZERO_CELSIUS)
    return np.asarray(_R_WATER * T * T * ice_slope(T))
