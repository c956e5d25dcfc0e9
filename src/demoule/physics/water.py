"""How strongly a mixture holds its water: one model, from which freezing, boiling and keeping all follow.

The water phase is described by its mole fraction of dissolved particles X and by how much each solute takes the
freedom of the water beyond its mere number. For sucrose the equation of Starzak and Peacock is kept to the letter;
the other solutes take its shape with a strength of their own, and mix with the square-root rule of Norrish.
A solution of one solute is therefore exact, whatever stands beside it in the vector.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from demoule.composition import COUNT, MOLAR_MASS, Constituent
from demoule.figures import Status, published
from demoule.units import ZERO_CELSIUS, FloatArray, Kelvin

__all__ = [
    "WaterPhase",
    "water_activity",
    "water_activity_over_ice",
    "water_activity_stretched",
    "water_held",
    "water_phase",
]

_C = Constituent

_R = 8.314462618  # [J/(mol K)]
_T25 = 298.15  # reference temperature of all strengths [K]

# Starzak and Peacock: ln gamma_w = Q/(RT) x^2 (1 + a x + b x^2).
_Q = -17638.0  # [J/mol]
_A = -1.0038
_B = -0.24653

# Strength s of each solute in that shape: ln gamma_w = -(T25/T) (sum s x)^2 (1 + a X + b X^2), with
# s = at25 + slope (T25/T - 1).
# Where the freezing points alone speak, slope is 0; where 25 °C data differ, slope carries the difference.
_STRENGTH: dict[Constituent, tuple[float, float]] = {
    _C.SUCROSE: (float(np.sqrt(-_Q / (_R * _T25))), 0.0),
    _C.GLUCOSE: (1.500, 0.997),  # K = 2.25 at 25 °C; slope from freezing points
    _C.FRUCTOSE: (1.3624, 0.0),
    _C.GALACTOSE: (1.500, 0.997),  # taken as glucose
    _C.LACTOSE: (3.1463, 0.0),
    _C.MALTOSE: (2.5839, 0.0),
    _C.TREHALOSE: (2.65, 0.0),  # between maltose and sucrose
    _C.MALTOTRIOSE: (3.75, 0.0),  # this and the longer ones by chain length, see docs of the module
    _C.DEXTRINS: (7.3, 0.0),
    _C.MALTODEXTRINS: (23.3, 0.0),
    _C.SORBITOL: (1.285, 0.5),  # K = 1.65 at 25 °C; slope as mannitol's freezing points ask
    _C.GLYCEROL: (1.166, 2.24),  # K = 1.36 at 25 °C
    _C.ERYTHRITOL: (1.158, 1.0),  # K = 1.34 at 25 °C
    _C.OTHER_POLYOLS: (2.5, 0.0),  # taken near maltose
    _C.ACIDS: (1.1864, 0.0),
}

# Particles per molecule or, for the ash, per gram: dairy salts are taken as free particles of this mean mass,
# which makes average milk freeze where it does.
_PARTICLES = {_C.SALT: 2.0, _C.ASH: 1.0}
_ASH_MASS = 0.0705  # [kg/mol of particles]

# Sodium chloride: Debye-Hückel term on a mole-fraction base and two short-range terms, in ion fraction.
_DEBYE_25, _DEBYE_0, _CLOSEST = 2.917, 2.807, 15.0
_ION_2, _ION_3 = 0.79295, 9.43077
_ION_MOST = 0.16  # ion fraction of the eutectic brine and a little beyond

# Ethanol: ln gamma_w = -x^2 (k + slope (T25/T - 1) + a x + b x^2).
_ETHANOL = (-1.87187, 5.4, 47.87525, -184.66809)
_ETHANOL_MOST = 0.15  # mole fraction, 30 % by mass in water

# Water held by the swollen solids, not free to dissolve or freeze [kg/kg of them].
_BOUND = {_C.PROTEIN: 0.40, _C.STARCH: 0.30, _C.FIBRE: 0.30}

# ln aw over ice = sum c theta^k, theta in K below 0 °C; fitted to IAPWS-06 ice and IAPWS-95 water, 0 to -35 °C.
_ICE = (-9.690145e-3, -2.551749e-6, -8.185178e-8, 4.436087e-9)


def _columns() -> FloatArray:
    """Per kg of each constituent: particles, strength at 25 °C, its slope, ethanol, ions, bound water [mol, kg]."""
    table = np.zeros((COUNT, 6))
    for c in [*_STRENGTH, _C.ETHANOL, _C.SALT, _C.ASH]:
        molecules = 1.0 / (_ASH_MASS if c is _C.ASH else MOLAR_MASS[c])
        particles = molecules * _PARTICLES.get(c, 1.0)
        at25, slope = _STRENGTH.get(c, (0.0, 0.0))
        table[c, :3] = particles, at25 * particles, slope * particles
        table[c, 3] = particles if c is _C.ETHANOL else 0.0
        table[c, 4] = particles if c is _C.SALT else 0.0
    for c, held in _BOUND.items():
        table[c, 5] = held
    # The middle reading of what a table leaves open, as in Composition.readings.
    table[_C.UNKNOWN_SUGARS] = (table[_C.SUCROSE] + table[_C.GLUCOSE]) / 2
    table[_C.UNKNOWN_SOLIDS] = (table[_C.SUCROSE] + table[_C.MALTODEXTRINS]) / 2
    return table


_COLUMNS = _columns()
_WATER_MOLES = 1.0 / float(MOLAR_MASS[_C.WATER])


@dataclass(frozen=True, slots=True, eq=False)
class WaterPhase:
    """What a mixture's water sees, per kg of mixture; arrays of the shape of the recipes.

    `strength` is at 25 °C and `slope` its change with T25/T - 1, both per particle; `ethanol` and `ions` are shares of
    the particles. None of them changes when water freezes out or boils off.
    """

    water: FloatArray  # kg
    bound: FloatArray  # kg that the swollen solids would hold
    particles: FloatArray  # mol
    strength: FloatArray
    slope: FloatArray
    ethanol: FloatArray
    ions: FloatArray

    @property
    def solvent(self) -> FloatArray:
        """Water free to dissolve [mol]: with little water the swollen solids hold a falling share of it."""
        return _WATER_MOLES * self.water * self.water / (self.water + self.bound + 1e-300)

    @property
    def particle_fraction(self) -> FloatArray:
        """Mole fraction of dissolved particles in the water phase."""
        return self.particles / (self.particles + self.solvent + 1e-300)


def water_phase(fractions: FloatArray) -> WaterPhase:
    """Sum up a composition (k,) or many (..., k) for the water model."""
    x = np.asarray(fractions, dtype=float)
    sums = x @ _COLUMNS
    n = sums[..., 0]
    per = 1.0 / np.maximum(n, 1e-300)
    return WaterPhase(
        water=x[..., _C.WATER],
        bound=sums[..., 5],
        particles=n,
        strength=sums[..., 1] * per,
        slope=sums[..., 2] * per,
        ethanol=sums[..., 3] * per,
        ions=sums[..., 4] * per,
    )


def _excess(phase: WaterPhase, X: FloatArray, tau: FloatArray) -> tuple[FloatArray, FloatArray]:
    """-ln gamma_w of the phase at particle fraction X and tau = T25/T - 1, and its derivative by X."""
    s2 = (1.0 + tau) * (phase.strength + phase.slope * tau) ** 2
    damp = 1.0 + X * (_A + _B * X)
    dead = damp <= 0  # beyond 99 °Bx of sucrose
    damp = np.where(dead, 0.0, damp)
    value = s2 * X * X * damp
    slope = s2 * X * (2.0 * damp + np.where(dead, 0.0, X * (_A + 2.0 * _B * X)))
    if np.any(phase.ethanol > 0):
        k, by_temperature, a, b = _ETHANOL
        e = phase.ethanol * X
        m = np.minimum(e, _ETHANOL_MOST)
        inside = e < _ETHANOL_MOST
        factor = k + by_temperature * tau + a * m + b * m * m
        value = value + e * e * factor
        slope = slope + phase.ethanol * e * (2.0 * factor + np.where(inside, e * (a + 2.0 * b * m), 0.0))
    if np.any(phase.ions > 0):
        i = phase.ions * X
        m = np.minimum(i, _ION_MOST)
        inside = i < _ION_MOST
        root = np.sqrt(i / 2.0)
        debye = 2.0 * (_DEBYE_0 + (_DEBYE_25 - _DEBYE_0) * (1.0 - tau / (_T25 / ZERO_CELSIUS - 1.0)))
        value = value - debye * root**3 / (1.0 + _CLOSEST * root) + i * i * (_ION_2 + _ION_3 * m)
        by_root = debye * root**2 * (3.0 + 2.0 * _CLOSEST * root) / (1.0 + _CLOSEST * root) ** 2
        d_root = np.divide(0.25, root, out=np.zeros_like(root), where=root > 0)
        slope = slope + phase.ions * (
            -by_root * d_root + i * (2.0 * (_ION_2 + _ION_3 * m) + np.where(inside, i * _ION_3, 0.0))
        )
    return value, slope


def ln_water_activity(phase: WaterPhase, temperature: npt.ArrayLike) -> FloatArray:
    """Natural logarithm of the water activity of a summed-up mixture."""
    tau = _T25 / np.asarray(temperature, dtype=float) - 1.0
    X = phase.particle_fraction
    value, _ = _excess(phase, X, tau)
    result: FloatArray = np.log(np.maximum(1.0 - X, 1e-12)) - value
    return result


@published(
    gives="water activity of any mixture",
    source="starzak-peacock",
    valid="sucrose 0 to 90 °Bx, -40 to 130 °C; other solutes by their freezing points, to 30 % in water",
    error="0.001 for sucrose at 25 °C; 0.01 for mixtures; 0.03 for baked and dry goods",
    status=Status.QUOTED,
)
def water_activity(fractions: FloatArray, temperature: Kelvin | FloatArray) -> FloatArray:
    """Water activity of a mixture.

    Parameters
    ----------
    fractions
        One composition (k,) or many (..., k) [kg/kg].
    temperature
        [K], broadcast against the recipes.

    Returns
    -------
    FloatArray
        0 to 1, shape of recipes and temperatures broadcast.
    """
    result: FloatArray = np.exp(ln_water_activity(water_phase(fractions), temperature))
    return result


def water_activity_stretched(fractions: FloatArray) -> npt.NDArray[np.bool_]:
    """Whether a mixture lies outside what the water model was tried on."""
    x = np.asarray(fractions, dtype=float)
    phase = water_phase(x)
    X = phase.particle_fraction
    ethanol = phase.ethanol * X > _ETHANOL_MOST
    ions = phase.ions * X > 0.15
    thick = X > 0.33  # 90 °Bx of sucrose
    dry = phase.bound > phase.water / 2
    long = x[..., _C.DEXTRINS] + x[..., _C.MALTODEXTRINS] > 0.5 * x[..., _C.WATER]
    result: npt.NDArray[np.bool_] = ethanol | ions | thick | dry | long
    return result


def ln_activity_over_ice(temperature: npt.ArrayLike) -> FloatArray:
    """Natural logarithm of the activity of water in balance with ice; 0 above 0 °C."""
    th = np.maximum(ZERO_CELSIUS - np.asarray(temperature, dtype=float), 0.0)
    c1, c2, c3, c4 = _ICE
    return np.asarray(th * (c1 + th * (c2 + th * (c3 + th * c4))))


def ice_slope(temperature: npt.ArrayLike) -> FloatArray:
    """Derivative of `ln_activity_over_ice` by temperature [1/K], below 0 °C."""
    th = np.maximum(ZERO_CELSIUS - np.asarray(temperature, dtype=float), 0.0)
    c1, c2, c3, c4 = _ICE
    return np.asarray(-(c1 + th * (2 * c2 + th * (3 * c3 + th * 4 * c4))))


@published(
    gives="water activity in balance with ice",
    source="iapws-06",
    valid="-60 to 0 °C",
    error="2e-5 to -35 °C",
    status=Status.READ,
)
def water_activity_over_ice(temperature: Kelvin | FloatArray) -> FloatArray:
    """Activity of water in balance with ice at atmospheric pressure; 1 above 0 °C."""
    result: FloatArray = np.exp(ln_activity_over_ice(temperature))
    return result


def particle_fraction_at(phase: WaterPhase, temperature: npt.ArrayLike, ln_activity: npt.ArrayLike) -> FloatArray:
    """Particle fraction at which the solutes of a phase bring the water to an activity (its logarithm, 0 or less)."""
    tau = _T25 / np.asarray(temperature, dtype=float) - 1.0
    target = np.maximum(-np.asarray(ln_activity, dtype=float), 0.0)
    kappa = 0.5 + (1.0 + tau) * (phase.strength + phase.slope * tau) ** 2
    X = 2.0 * target / (1.0 + np.sqrt(1.0 + 4.0 * kappa * target))
    for _ in range(6):
        value, slope = _excess(phase, X, tau)
        step = (value - np.log1p(-X) - target) / np.maximum(slope + 1.0 / (1.0 - X), 0.2)
        X = np.clip(X - step, 0.5 * X, 0.5 * (1.0 + X))
    return np.asarray(X)


def water_held(phase: WaterPhase, temperature: npt.ArrayLike, ln_activity: npt.ArrayLike) -> FloatArray:
    """Water that the solids of a phase hold at an activity [kg per kg of mixture], bound water among it."""
    X = particle_fraction_at(phase, temperature, ln_activity)
    solvent = phase.particles * (1.0 - X) / np.maximum(X, 1e-15) / _WATER_MOLES
    held = (solvent + np.sqrt(solvent * (solvent + 4.0 * phase.bound))) / 2.0
    result: FloatArray = np.where(X > 0, held, np.inf)  # at an activity of 1 the water has no end
    return result
