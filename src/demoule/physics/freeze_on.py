"""The layer that freezes onto a cold piece while it is in the bath, and when it begins to melt off again."""

from __future__ import annotations

import math
from dataclasses import dataclass

from demoule.errors import BadInput
from demoule.figures import Status, published
from demoule.physics.coating import Coating
from demoule.physics.root import root
from demoule.units import (
    CubicMetre,
    JoulePerKilogramKelvin,
    Kelvin,
    Kilogram,
    Metre,
    Second,
    SquareMetre,
    WattPerSquareMetreKelvin,
    celsius,
)

__all__ = [
    "Core",
    "HeatLimit",
    "freeze_on_constant",
    "freeze_on_constant_in_a_still_bath",
    "freeze_on_thickness",
    "heat_limit",
]

_ROOT_PI = math.sqrt(math.pi)
STIRRING = 150.0  # W/(m2 K), between held still (50) and moved quickly (300) (judged)


@dataclass(frozen=True, slots=True, kw_only=True)
class Core:
    """The piece as the bath meets it: its surface, its cold, and how readily it gives its cold away.

    Parameters
    ----------
    area, curvature
        Surface [m2] and integrated mean curvature [m] of the piece that goes into the bath.
    temperature
        Of the piece, even through the outer centimetre [K].
    effusivity
        Root of conductivity times density times apparent heat capacity at that temperature, W s^0.5/(m2 K); about
        1500 for a frozen mousse of 30 % air, 2700 for a frozen gel or fruit.
    mass, heat_capacity
        Of the whole piece [kg], and apparent, melting ice counted [J/(kg K)].
    """

    area: SquareMetre
    curvature: Metre
    temperature: Kelvin
    effusivity: float
    mass: Kilogram
    heat_capacity: JoulePerKilogramKelvin

    def __post_init__(self) -> None:
        if min(self.area, self.curvature, self.temperature, self.effusivity, self.mass, self.heat_capacity) <= 0:
            raise BadInput(
                "A piece to be dipped needs a surface, a mass, a temperature and heat properties above zero.",
                remedy="work up the piece first, or give its volume and mass.",
            )

    @classmethod
    def sphere(
        cls,
        volume: CubicMetre,
        *,
        temperature: Kelvin,
        mass: Kilogram,
        effusivity: float = 1500.0,
        heat_capacity: JoulePerKilogramKelvin = 4500.0,
    ) -> Core:
        """A sphere of that volume; the heat properties default to those of a frozen mousse."""
        radius = (3 * volume / (4 * math.pi)) ** (1 / 3)
        return cls(
            area=4 * math.pi * radius**2,
            curvature=4 * math.pi * radius,
            temperature=temperature,
            effusivity=effusivity,
            mass=mass,
            heat_capacity=heat_capacity,
        )

    @property
    def radius(self) -> Metre:
        """Mean radius of curvature [m]."""
        return self.area / self.curvature


@dataclass(frozen=True, slots=True, kw_only=True)
class HeatLimit:
    """The moment from which a longer dip makes a thinner shell; None within the ten minutes looked at."""

    time: Second | None
    thickness: Metre


@published(
    gives="growth constant of the layer that freezes on a cold core",
    source="carslaw-jaeger-1959",
    valid="first seconds of a dip, core wider than 30 mm, fat 30 to 70 %, bath above and piece below the setting point",
    error="equation exact for constant properties; properties judged",
    status=Status.RECALLED,
)
def freeze_on_constant(coating: Coating, core_effusivity: float, core: Kelvin, bath: Kelvin) -> float:
    """Growth constant lambda of h = 2 lambda sqrt(alpha t): superheat is spent at the front, none arrives by stirring.

    Parameters
    ----------
    coating
        The melted coating.
    core_effusivity
        Of the frozen piece, W s^0.5/(m2 K).
    core, bath
        Temperatures of piece and coating [K].

    Returns
    -------
    float
        lambda, without unit; 0 when the piece is at the setting point or above.

    Raises
    ------
    BadInput
        Bath at or below the setting point.

    Notes
    -----
    e_s (Ts - Ti) exp(-l2)/erf l = rho (L + c (Tb - Ts)) sqrt(pi) l sqrt(alpha), the surface of the core staying at
    Ti = (e Tp + e_s Ts/erf l)/(e + e_s/erf l). Source: carslaw-jaeger-1959, solidification on a cold half-space.

    Examples
    --------
    >>> round(freeze_on_constant(Coating(fat=0.45), 1500.0, 253.15, 308.15), 3)
    0.494
    """
    refuse_cold_bath(coating, bath)
    if core >= coating.sets_at:
        return 0.0
    e_s, e, t_s = coating.effusivity, core_effusivity, coating.sets_at
    needed = coating.density * (coating.latent_heat + coating.heat_capacity * (bath - t_s))

    def excess(lam: float) -> float:
        erf = math.erf(lam)
        cooled = (t_s - core) / (1 + e_s / (e * erf))  # Ts - Ti
        return e_s * cooled * math.exp(-lam * lam) / erf - needed * _ROOT_PI * lam * math.sqrt(coating.diffusivity)

    return root(excess, 1e-9, 6.0, 1e-14)


@published(
    gives="growth constant of the layer that freezes on a cold core in a bath that does not move",
    source="carslaw-jaeger-1959",
    valid="constant properties, wide core, deep still bath",
    error="exact",
    status=Status.RECALLED,
)
def freeze_on_constant_in_a_still_bath(coating: Coating, core_effusivity: float, core: Kelvin, bath: Kelvin) -> float:
    """Growth constant lambda when the superheat reaches the front by conduction alone: the exact three-region case.

    The right side of `freeze_on_constant` loses its superheat, the left side the heat that the liquid conducts,
    e_l (Tb - Ts) exp(-l2)/erfc l. Used to verify solvers; a dip in a kitchen moves.

    >>> round(freeze_on_constant_in_a_still_bath(Coating(fat=0.55), (0.7 * 720 * 4500) ** 0.5, 243.15, 295.15), 4)
    0.6154
    """
    refuse_cold_bath(coating, bath)
    if core >= coating.sets_at:
        return 0.0
    e_s, e, t_s = coating.effusivity, core_effusivity, coating.sets_at

    def excess(lam: float) -> float:
        erf = math.erf(lam)
        cooled = (t_s - core) / (1 + e_s / (e * erf))
        given = e_s * (bath - t_s) * math.exp(-lam * lam) / math.erfc(lam)
        wanted = coating.density * coating.latent_heat * _ROOT_PI * lam * math.sqrt(coating.diffusivity)
        return e_s * cooled * math.exp(-lam * lam) / erf - given - wanted

    return root(excess, 1e-9, 5.0, 1e-14)


class _Growth:
    """The frozen-on layer over time: the similarity law at first, heat from the bath and a finite core later.

    Two unknowns: thickness h and the heat Q that the core has taken per area. The core's flux follows from Q by the
    exact short-time relation of a sphere with its surface held at one temperature, the shell's by its thickness; both
    are scaled so that with no heat from the bath the similarity law comes out exactly.
    """

    def __init__(self, coating: Coating, core: Core, bath: Kelvin, stirring: WattPerSquareMetreKelvin) -> None:
        self.lam = freeze_on_constant(coating, core.effusivity, core.temperature, bath)
        self.alpha = coating.diffusivity
        if self.lam <= 0:
            return
        erf = math.erf(self.lam)
        self.span = coating.sets_at - core.temperature
        self.warmed = self.span / (1 + core.effusivity * erf / coating.effusivity)  # Ti - Tp of the similarity law
        self.effusivity = core.effusivity
        self.shell_conductivity = 2 * self.lam / (_ROOT_PI * erf) * coating.conductivity
        # Heat to be taken from each m3 that freezes on, the cooling of what is already there included.
        self.heat_per_volume = core.effusivity * self.warmed / (self.lam * math.sqrt(math.pi * self.alpha))
        self.capacity = core.mass * core.heat_capacity / core.area
        self.from_bath = stirring * (bath - coating.sets_at)

    def rates(self, h: float, taken: float, warmed: float) -> tuple[float, float, float]:
        """dh/dt, dQ/dt and the core's surface temperature above its start."""
        by_shell = self.shell_conductivity / h
        for _ in range(2):
            by_core = 2 / math.pi * self.effusivity**2 / taken * _sphere_share(taken / (self.capacity * warmed))
            step = math.sqrt(by_shell**2 + 4 * by_shell * by_core * self.span)
            warmed = (step - by_shell) / (2 * by_core)
        flux = by_shell * (self.span - warmed)
        return (flux - self.from_bath) / self.heat_per_volume, flux, warmed

    def over(self, duration: Second, steps: int = 24) -> list[tuple[Second, Metre]]:
        """Thickness at moments up to `duration`; ends early when all has melted off again."""
        if self.lam <= 0 or duration <= 0:
            return [(duration, 0.0)]
        # In the root of time the growth is nearly straight, so that few steps of fourth order are enough.
        end = math.sqrt(duration)
        x = end / (4 * steps)
        dx = (end - x) / steps
        t = x * x
        h = 2 * self.lam * math.sqrt(self.alpha * t) - 2 / 3 * self.from_bath * t / self.heat_per_volume
        taken = 2 * self.effusivity * self.warmed * math.sqrt(t / math.pi)
        warmed = self.warmed
        if h <= 0:  # a bath so hot that nothing lasts even for an instant
            return [(duration, 0.0)]
        course = [(t, h)]
        for _ in range(steps):
            slopes: list[tuple[float, float]] = []
            for share in (0.0, 0.5, 0.5, 1.0):
                dh, dq = (slopes[-1][0] * share * dx, slopes[-1][1] * share * dx) if slopes else (0.0, 0.0)
                at = x + share * dx
                rate_h, rate_q, warmed = self.rates(max(h + dh, 1e-8), taken + dq, warmed)
                slopes.append((2 * at * rate_h, 2 * at * rate_q))
            h += dx / 6 * (slopes[0][0] + 2 * slopes[1][0] + 2 * slopes[2][0] + slopes[3][0])
            taken += dx / 6 * (slopes[0][1] + 2 * slopes[1][1] + 2 * slopes[2][1] + slopes[3][1])
            x += dx
            if h <= 1e-7:
                return [*course, (duration, 0.0)]
            course.append((x * x, h))
        return course


def _sphere_share(uptake: float) -> float:
    """Flux of a sphere over that of a wide wall which has taken the same heat, by its uptake 0 to 1."""
    if uptake < 0.85:  # from U = 6 s/sqrt(pi) - 3 s2 with s the root of the Fourier number, exact to 1e-4 there
        s = 1 / _ROOT_PI - math.sqrt(1 / math.pi - uptake / 3)
        slope = 3 / (_ROOT_PI * s) - 3 if s > 1e-9 else math.inf
        return uptake * slope * math.pi / 18 if s > 1e-9 else 1.0
    return uptake * math.pi**3 * max(1 - uptake, 0.0) / 18  # the last term of the series


@published(
    gives="thickness frozen onto a cold piece while it is in the bath",
    source="carslaw-jaeger-1959",
    valid="0 to 12 s, fat 30 to 70 %, stirring 50 to 300 W/(m2 K)",
    error="2.5 % from a tracked front to 12 s, 6 % to 60 s; properties judged",
    status=Status.RECALLED,
)
def freeze_on_thickness(
    coating: Coating,
    core: Core,
    *,
    bath: Kelvin,
    duration: Second,
    stirring: WattPerSquareMetreKelvin = STIRRING,
) -> Metre:
    """Thickness of the layer that has frozen on when the piece leaves the bath [m].

    Grows as the root of time, is slowed by the heat that the moving bath brings to the front and by the core growing
    warm, and melts back after the heat limit (`heat_limit`).

    >>> core = Core.sphere(80e-6, temperature=253.15, mass=0.058)
    >>> round(freeze_on_thickness(Coating(fat=0.45), core, bath=308.15, duration=3.0) * 1000, 2)  # mm
    0.53
    """
    refuse_negative(duration)
    return _Growth(coating, core, bath, stirring).over(duration)[-1][1]


def heat_limit(
    coating: Coating, core: Core, *, bath: Kelvin, stirring: WattPerSquareMetreKelvin = STIRRING
) -> HeatLimit:
    """The dip after which the shell grows no more: the core takes no more heat than the bath brings."""
    course = _Growth(coating, core, bath, stirring).over(600.0, steps=400)
    time, thickness = max(course, key=lambda moment: moment[1])
    return HeatLimit(time=None if time >= 599.0 else time, thickness=thickness)


def refuse_warm_piece(coating: Coating, piece: Kelvin) -> None:
    """Refuse a piece on which no coating sets, where a shell is wanted and not only a film."""
    if piece >= coating.sets_at:
        raise BadInput(
            f"A piece at {celsius(piece):.1f} °C is not colder than {celsius(coating.sets_at):.1f} °C, where this "
            "coating sets: no shell forms on it, the film runs off.",
            remedy="freeze the piece to −18 °C or colder before dipping.",
        )


def refuse_cold_bath(coating: Coating, bath: Kelvin) -> None:
    if bath <= coating.sets_at:
        raise BadInput(
            f"The bath at {celsius(bath):.1f} °C is at or below {celsius(coating.sets_at):.1f} °C, where this coating "
            "sets: it would thicken and set in the pot.",
            remedy=f"warm the bath to {celsius(coating.sets_at) + 8:.0f} °C or more before dipping.",
        )
    if bath > 373.15:
        raise BadInput(f"A coating bath at {celsius(bath):.0f} °C burns.", remedy="keep the bath between 28 and 45 °C.")


def refuse_negative(duration: Second) -> None:
    if not 0 <= duration < math.inf:
        raise BadInput(
            f"A dip of {duration:g} s is not possible.", remedy="give the seconds in the bath, zero or more."
        )
