"""How strongly a mixture holds its water: one model, from which freezing, boiling and keeping all follow.

The water phase is described by the mole fraction X of its dissolved particles and by how much each solute takes the
freedom of the water beyond its mere number. For sucrose the equation of Starzak and Peacock is kept to the letter,
temperature and all; the other solutes take its shape with a strength of their own, from their freezing points and from
constants at 25 °C where these are known. Strengths mix by Norrish's rule of square roots, so that one solute in water
is exact. Salt and ethanol, whose strength changes sign, are counted beside that sum.

What a kitchen's mixtures need besides, and what was decided:

- Saccharides beyond two units act by their molar mass and by a strength that grows with their length (polymers in
  water by Flory and Huggins), judged against the water that syrup solids and maltodextrins take up.
- Minerals other than salt are free particles of one mean mass, calibrated on milk.
- Protein, starch and fibre dissolve nothing of themselves, but hold some water that neither dissolves nor freezes, ever
  more firmly as the mixture dries; fat, air and crystals hold none.
- All sugar is counted as dissolved, also where it would grain; for chocolate and dry mixes the result is stretched.
- What a table leaves open is read in three ways by `Composition.readings`; pass its rows to get a band. A bare vector
  with unknown parts is read as the middle one.
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
_COLDEST = 243.15  # below it a solution keeps the activity it has there: nothing colder was tried [K]

# Starzak and Peacock: ln gamma_w = Q/(RT) x^2 (1 + a x + b x^2).
_Q = -17638.0  # [J/mol]
_A = -1.0038
_B = -0.24653

# Strength s of each solute in that shape: ln gamma_w = -(T25/T) S (S (1 + a X + b X^2) - X E), S = sum of s x,
# s = at25 + slope (T25/T - 1), and E = sum of easing x for the one solute whose strength falls faster.
# Where the freezing points alone speak, slope is 0; where 25 °C data differ, slope carries the difference.
_STRENGTH: dict[Constituent, tuple[float, float]] = {
    _C.SUCROSE: (float(np.sqrt(-_Q / (_R * _T25))), 0.0),
    _C.GLUCOSE: (1.500, 0.997),  # K = 2.25 at 25 °C; slope from freezing points
    _C.FRUCTOSE: (1.3624, 0.0),
    _C.GALACTOSE: (1.500, 0.997),  # taken as glucose
    _C.LACTOSE: (3.1463, 0.0),
    _C.MALTOSE: (2.5839, 0.0),
    _C.TREHALOSE: (2.65, 0.0),  # between maltose and sucrose
    _C.MALTOTRIOSE: (3.75, 0.0),  # this and the longer ones by chain length
    _C.DEXTRINS: (7.3, 0.0),
    _C.MALTODEXTRINS: (23.3, 0.0),
    _C.SORBITOL: (1.285, 0.5),  # K = 1.65 at 25 °C; slope as mannitol's freezing points ask
    _C.GLYCEROL: (1.300, 2.583),  # with its easing K = 1.16 at 25 °C and 5 mol/kg
    _C.ERYTHRITOL: (1.158, 1.0),  # K = 1.34 at 25 °C
    _C.OTHER_POLYOLS: (2.5, 0.0),  # taken near maltose
    _C.ACIDS: (1.1864, 0.0),
}

_EASING = {_C.GLYCEROL: 3.749}

# Particles per molecule or, for the ash, per gram: minerals are taken as free particles of this mean mass. Calibrated
# on milk, between -0.52 °C when all its minerals stand as ash and -0.57 °C when its sodium stands as salt (printed:
# -0.55), and on the ice-cream mix of 12/11/15 at -2.5 °C. Fruits, whose ash is potassium, come within 0.25 K.
_PARTICLES = {_C.SALT: 2.0, _C.ASH: 1.0}
_ASH_MASS = 0.073  # [kg/mol of particles]

# Sodium chloride: Debye-Hückel term on a mole-fraction base and two short-range terms in the ion fraction, fitted to
# freezing points and to osmotic coefficients at 25 °C. Pairs: at 25 °C, and change with T25/T - 1.
_DEBYE = (2.917, -1.1984)
_CLOSEST = 20.0
_ION_2 = (1.24999, -9.72290)
_ION_3 = (10.93793, 31.13072)
_ION_MOST = 0.19  # ion fraction of the saturated brine

# Ethanol: ln gamma_w = -x^2 (k(x) + slope (T25/T - 1)); k by mole fraction, from freezing points to 60 % by mass.
_ETHANOL_SLOPE = 5.4
_ETHANOL = (
    *((0.0, -1.872), (0.01, -1.412), (0.02, -0.988), (0.03, -0.602), (0.04, -0.252), (0.05, 0.060), (0.06, 0.336)),
    *((0.07, 0.575), (0.08, 0.776), (0.09, 0.941), (0.1, 1.069), (0.115, 1.192), (0.13, 1.231), (0.145, 1.187)),
    *((0.18, 0.520), (0.207, 0.049), (0.242, -0.413), (0.281, -0.805), (0.323, -1.148), (0.37, -1.452)),
)
_ETHANOL_AT, _ETHANOL_K = np.array(_ETHANOL).T.copy()
_ETHANOL_MOST = float(_ETHANOL_AT[-1])

# Water held by the swollen solids, not free to dissolve or freeze [kg/kg of them]: of water w, w exp(-y - _GRIP y^2) is
# free, y = bound/w. Protein as Schwartzberg has it; the rest judged, the grip so that flour of 14 % moisture reads 0.7.
_BOUND = {_C.PROTEIN: 0.40, _C.STARCH: 0.30, _C.FIBRE: 0.30}
_GRIP = 0.4

# ln aw over ice = sum c theta^k, theta in K below 0 °C; fitted to IAPWS-06 ice and IAPWS-95 water, 0 to -35 °C.
_ICE = (-9.690145e-3, -2.551749e-6, -8.185178e-8, 4.436087e-9)


def _columns() -> FloatArray:
    """Per kg of each constituent: particles, strength at 25 °C, slope, ethanol, ions, easing, bound water [mol, kg]."""
    table = np.zeros((COUNT, 7))
    for c in [*_STRENGTH, _C.ETHANOL, _C.SALT, _C.ASH]:
        molecules = 1.0 / (_ASH_MASS if c is _C.ASH else MOLAR_MASS[c])
        particles = molecules * _PARTICLES.get(c, 1.0)
        at25, slope = _STRENGTH.get(c, (0.0, 0.0))
        table[c, :3] = particles, at25 * particles, slope * particles
        table[c, 3] = particles if c is _C.ETHANOL else 0.0
        table[c, 4] = particles if c is _C.SALT else 0.0
        table[c, 5] = _EASING.get(c, 0.0) * particles
    for c, held in _BOUND.items():
        table[c, 6] = held
    # The middle reading of what a table leaves open, as in Composition.readings.
    table[_C.UNKNOWN_SUGARS] = (table[_C.SUCROSE] + table[_C.GLUCOSE]) / 2
    table[_C.UNKNOWN_SOLIDS] = (table[_C.SUCROSE] + table[_C.MALTODEXTRINS]) / 2
    return table


_COLUMNS = _columns()
_WATER_MOLES = 1.0 / float(MOLAR_MASS[_C.WATER])


@dataclass(frozen=True, slots=True, eq=False)
class WaterPhase:
    """What a mixture's water sees, per kg of mixture; arrays of the shape of the recipes.

    `strength` is at 25 °C and `slope` its change with T25/T - 1, per particle like `easing`; `ethanol` and `ions` are
    shares of the particles. None of them changes when water freezes out or boils off.
    """

    water: FloatArray  # kg
    bound: FloatArray  # kg that the swollen solids would hold
    particles: FloatArray  # mol
    strength: FloatArray
    slope: FloatArray
    ethanol: FloatArray
    ions: FloatArray
    easing: FloatArray

    @property
    def solvent(self) -> FloatArray:
        """Water free to dissolve [mol]: all but the bound, which holds on ever harder as the mixture dries."""
        if not np.any(self.bound > 0):
            return np.asarray(_WATER_MOLES * self.water)
        y = np.minimum(self.bound / np.maximum(self.water, 1e-12), 20.0)
        return np.asarray(_WATER_MOLES * self.water * np.exp(-y * (1.0 + _GRIP * y)))

    @property
    def particle_fraction(self) -> FloatArray:
        """Mole fraction of dissolved particles in the water phase."""
        return self.particles / (self.particles + self.solvent + 1e-300)


def _tau(T: FloatArray) -> FloatArray:
    return np.asarray(_T25 / np.maximum(T, _COLDEST) - 1.0)


@dataclass(frozen=True, slots=True, eq=False)
class ActivityCurve:
    """ln aw = c0 + c1 tau + c2 tau^2 + c3 tau^3 with tau = T25/T - 1; arrays of the shape of the recipes."""

    c0: FloatArray
    c1: FloatArray
    c2: FloatArray
    c3: FloatArray

    def at(self, temperature: npt.ArrayLike) -> tuple[FloatArray, FloatArray]:
        """ln aw at a temperature [K], and its derivative by temperature [1/K]."""
        T = np.asarray(temperature, dtype=float)
        tau = _tau(T)
        value = self.c0 + tau * (self.c1 + tau * (self.c2 + tau * self.c3))
        moves = np.where(T > _COLDEST, -_T25 / (T * T), 0.0)
        slope = (self.c1 + tau * (2.0 * self.c2 + tau * (3.0 * self.c3))) * moves
        return value, slope


def water_phase(fractions: FloatArray) -> WaterPhase:
    """Sum up a composition (k,) or many (..., k) for the water model."""
    x = np.asarray(fractions, dtype=float)
    sums = x @ _COLUMNS
    n = sums[..., 0]
    per = 1.0 / np.maximum(n, 1e-300)
    return WaterPhase(
        water=x[..., _C.WATER],
        bound=sums[..., 6],
        particles=n,
        strength=sums[..., 1] * per,
        slope=sums[..., 2] * per,
        ethanol=sums[..., 3] * per,
        ions=sums[..., 4] * per,
        easing=sums[..., 5] * per,
    )


def _excess(phase: WaterPhase, X: FloatArray, tau: FloatArray) -> tuple[FloatArray, FloatArray]:
    """-ln gamma_w of the phase at particle fraction X and tau = T25/T - 1, and its derivative by X."""
    strength = phase.strength + phase.slope * tau
    lead = (1.0 + tau) * strength
    damp = 1.0 + X * (_A + _B * X)
    inner = strength * damp - X * phase.easing
    by_x = strength * (_A + 2.0 * _B * X) - phase.easing
    alive = phase.strength * damp > X * phase.easing  # it dies beyond 99 °Bx of sucrose
    value = np.where(alive, lead * X * X * inner, 0.0)
    slope = np.where(alive, lead * X * (2.0 * inner + X * by_x), 0.0)
    if np.any(phase.ethanol > 0):
        e = phase.ethanol * X
        factor = np.interp(e, _ETHANOL_AT, _ETHANOL_K) + _ETHANOL_SLOPE * tau
        nearby = np.interp(e + 1e-4, _ETHANOL_AT, _ETHANOL_K) + _ETHANOL_SLOPE * tau
        value = value + e * e * factor
        slope = slope + phase.ethanol * e * (2.0 * factor + e * (nearby - factor) * 1e4)
    if np.any(phase.ions > 0):
        i = phase.ions * X
        m = np.minimum(i, _ION_MOST)
        second, third = _ION_2[0] + _ION_2[1] * tau, _ION_3[0] + _ION_3[1] * tau
        debye = 2.0 * (_DEBYE[0] + _DEBYE[1] * tau)
        root = np.sqrt(i / 2.0)
        screen = 1.0 + _CLOSEST * root
        value = value - debye * root**3 / screen + i * i * (second + third * m)
        # By the root first, then by the ion fraction: d root / d i = 1/(4 root).
        by_i = -debye * root * (3.0 + 2.0 * _CLOSEST * root) / (4.0 * screen**2)
        slope = slope + phase.ions * (by_i + i * (2.0 * (second + third * m) + np.where(i < _ION_MOST, third * i, 0.0)))
    return value, slope


def activity_curve(phase: WaterPhase) -> ActivityCurve:
    """ln aw of the mixture as it stands, over temperature: a cubic in T25/T - 1, the same equation as `_excess`."""
    X = phase.particle_fraction
    square = X * X
    damp = 1.0 + X * (_A + _B * X)
    alive = phase.strength * damp > X * phase.easing
    square_alive = np.where(alive, square, 0.0)
    s, b = phase.strength, phase.slope
    # (1 + tau) (s + b tau) ((s + b tau) damp - X easing), sorted by powers of tau.
    inner0, inner1 = s * damp - X * phase.easing, b * damp
    p0, p1, p2 = s * inner0, s * inner1 + b * inner0, b * inner1
    c0 = np.log(np.maximum(1.0 - X, 1e-12)) - square_alive * p0
    c1, c2, c3 = -square_alive * (p0 + p1), -square_alive * (p1 + p2), -square_alive * p2
    if np.any(phase.ethanol > 0):
        e = phase.ethanol * X
        c0 = c0 - e * e * np.interp(e, _ETHANOL_AT, _ETHANOL_K)
        c1 = c1 - e * e * _ETHANOL_SLOPE
    if np.any(phase.ions > 0):
        i = phase.ions * X
        m = np.minimum(i, _ION_MOST)
        root = np.sqrt(i / 2.0)
        debye = 2.0 * root**3 / (1.0 + _CLOSEST * root)
        c0 = c0 + debye * _DEBYE[0] - i * i * (_ION_2[0] + _ION_3[0] * m)
        c1 = c1 + debye * _DEBYE[1] - i * i * (_ION_2[1] + _ION_3[1] * m)
    return ActivityCurve(c0, c1, c2, c3)


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
    result: FloatArray = np.exp(activity_curve(water_phase(fractions)).at(temperature)[0])
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
    tau = _tau(np.asarray(temperature, dtype=float))
    target = np.maximum(-np.asarray(ln_activity, dtype=float), 0.0)
    # Start from the quadratic that holds in thin solutions; it lies near the root for all but the thickest.
    kappa = 0.5 + (1.0 + tau) * (phase.strength + phase.slope * tau) ** 2
    X = np.minimum(2.0 * target / (1.0 + np.sqrt(1.0 + 4.0 * kappa * target)), -np.expm1(-np.minimum(target, 25.0)))
    for _ in range(6):
        value, slope = _excess(phase, X, tau)
        step = (value - np.log1p(-X) - target) / np.maximum(slope + 1.0 / (1.0 - X), 0.2)
        X = np.clip(X - step, 0.5 * X, 0.5 * (1.0 + X))
    return np.asarray(X)


def water_held(phase: WaterPhase, temperature: npt.ArrayLike, ln_activity: npt.ArrayLike) -> FloatArray:
    """Water that the solids of a phase hold at an activity [kg per kg of mixture], bound water among it."""
    X = particle_fraction_at(phase, temperature, ln_activity)
    solvent = phase.particles * (1.0 - X) / np.maximum(X, 1e-15) / _WATER_MOLES
    held = _with_bound(solvent, phase.bound) if np.any(phase.bound > 0) else solvent
    result: FloatArray = np.where(X > 0, held, np.inf)  # at an activity of 1 the water has no end
    return result


def _with_bound(solvent: FloatArray, bound: FloatArray) -> FloatArray:
    """Water of which so much is free to dissolve: the inverse of `WaterPhase.solvent`, by Newton in ln(bound/water)."""
    z = np.log(np.maximum(bound, 1e-300)) - np.log(np.maximum(solvent, 1e-12))
    z = np.minimum(z, 160.0)
    # Right of the root of a convex rising function, from where Newton walks down without overshooting.
    u = np.minimum(z, np.log(np.sqrt(np.maximum(z, 0.05) / _GRIP)))
    for _ in range(5):
        y = np.exp(u)
        u = u - (u + y * (1.0 + _GRIP * y) - z) / (1.0 + y * (1.0 + 2.0 * _GRIP * y))
    return np.where(z > -18.0, bound * np.exp(-u), solvent + bound)
