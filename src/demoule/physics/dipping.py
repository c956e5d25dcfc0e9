"""How thick a shell a cold piece takes out of a bath of melted coating, and what the dip does to the piece."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

from demoule.errors import BadInput
from demoule.figures import Basis, Finding, Severity, Status, basis_of, published
from demoule.physics.coat import coat_area, coat_volume
from demoule.physics.coating import Coating
from demoule.physics.freeze_on import (
    STIRRING,
    Core,
    freeze_on_constant,
    freeze_on_thickness,
    refuse_cold_bath,
    refuse_negative,
)
from demoule.physics.root import root
from demoule.units import (
    Fraction,
    Joule,
    JoulePerKilogram,
    Kelvin,
    Kilogram,
    Metre,
    Second,
    WattPerSquareMetreKelvin,
    celsius,
)

__all__ = ["Core", "Shell", "ShellFactors", "dip", "dipped_temperature", "second_dip"]

GRAVITY = 9.80665  # m/s2
_ROOT_PI = math.sqrt(math.pi)

LIFT = 0.05  # m/s, a hand that lifts straight up (judged)
UNCALIBRATED = 1.5  # what a first guess may be wrong by, either way, as a factor (judged)
CALIBRATED_NEAR, CALIBRATED_FAR = 0.10, 0.15  # after test dips, near the test and beyond it (judged)
FOOT = (0.05, 0.15)  # share of the shell that gathers at the lowest point (common practice)


@dataclass(frozen=True, slots=True, kw_only=True)
class ShellFactors:
    """What test dips of this kitchen taught: factors on the two parts of a shell, and the conditions they came from."""

    film: float
    freeze_on: float
    fat: Fraction
    bath: Kelvin
    piece: Kelvin
    shortest: Second
    longest: Second
    learned_from: str

    def near(self, fat: Fraction, bath: Kelvin, piece: Kelvin, duration: Second) -> bool:
        """Whether a dip is like the tests: 3 % points of fat, 3 K of bath, 5 K of piece, half to twice the seconds."""
        return (
            abs(fat - self.fat) <= 0.03 + 1e-9
            and abs(bath - self.bath) <= 3.0 + 1e-9
            and abs(piece - self.piece) <= 5.0 + 1e-9
            and 0.5 * self.shortest - 1e-9 <= duration <= 2.0 * self.longest + 1e-9
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Shell:
    """What one dip leaves on a piece, and what it does to piece and bath.

    Parameters
    ----------
    thickness, mass
        Of the whole shell when it has set, with the likely range [m, kg].
    frozen_on, film
        Thickness frozen on in the bath, and thickness of the film that set on it afterwards [m].
    set_time
        From leaving the bath until nothing flows any more [s].
    drips
        Liquid that ran off again [kg].
    foot
        What gathers at the lowest point, from and to, counted in the mass [kg].
    heat_taken
        Heat the piece receives until it and its shell have one temperature [J].
    heat_from_bath
        Of that, what cools the coating left in the bath [J].
    piece_temperature
        Mean of piece and shell after they have equalised [K].
    """

    thickness: Metre
    thickness_low: Metre
    thickness_high: Metre
    mass: Kilogram
    mass_low: Kilogram
    mass_high: Kilogram
    frozen_on: Metre
    film: Metre
    set_time: Second
    drips: Kilogram
    foot: tuple[Kilogram, Kilogram]
    heat_taken: Joule
    heat_from_bath: Joule
    piece_temperature: Kelvin
    learned_from: str
    stretched: bool
    basis: tuple[Basis, ...]
    findings: tuple[Finding, ...]


def _drain(
    coating: Coating, core: Core, growth: float, bath: Kelvin, lift: float, frozen_on: Metre
) -> tuple[Metre, Metre, Second]:
    """(film carried out, whole thickness when set, seconds until set); `growth` is 2 lambda2 alpha of the film."""
    between = (bath + coating.sets_at) / 2
    viscosity, rho_g = coating.viscosity(between), coating.density * GRAVITY
    floor = coating.yield_stress() / rho_g  # what never runs
    carried = max(math.sqrt(viscosity * lift / rho_g), floor)
    if growth <= 0:  # nothing freezes: it runs down to its floor, within a minute of hanging
        return carried, frozen_on + _after_draining(carried, floor, rho_g / (6 * viscosity), core.radius, 60.0), 60.0
    conductance = rho_g / (3 * viscosity * core.radius * growth)

    def slope(solid: Metre, whole: Metre) -> float:
        """d(whole)/d(solid): what runs off while the solid grows."""
        liquid = whole - solid
        if liquid <= floor:
            return 0.0
        return -conductance * (liquid - floor) ** 2 * (2 * liquid + floor) * solid

    solid, whole = frozen_on, frozen_on + carried
    for _ in range(400):
        liquid = whole - solid
        if liquid - floor <= 1e-3 * carried or liquid < 1e-8:
            break  # below its floor it freezes where it hangs
        rate = slope(solid, whole)
        step = min(0.35 * (liquid - floor) / (1 - rate), 0.15 * carried)
        if solid <= 0.2 * step:
            step = min(step, 0.1 * carried)
        a = rate
        b = slope(solid + step / 2, whole + step / 2 * a)
        c = slope(solid + step / 2, whole + step / 2 * b)
        d = slope(solid + step, whole + step * c)
        whole += step / 6 * (a + 2 * b + 2 * c + d)
        solid += step
    return carried, whole, (whole**2 - frozen_on**2) / (2 * growth)


def _after_draining(film: Metre, floor: Metre, mobility: float, radius: Metre, duration: Second) -> Metre:
    """A film that does not freeze, after it has hung for a time: implicit steps, which never undershoot the floor."""
    steps = 200
    dt = duration / steps
    for _ in range(steps):
        new = film
        for _ in range(4):  # Newton
            run = 2 * mobility / radius * (new - floor) ** 2 * (2 * new + floor)
            by = 2 * mobility / radius * (2 * (new - floor) * (2 * new + floor) + 2 * (new - floor) ** 2)
            new = max(new - (new - film + dt * run) / (1 + dt * by), floor)
        film = new
    return film


@published(
    gives="thickness and mass of a dipped shell",
    source="dip-model",
    valid="fat 30 to 70 %, bath 25 to 45 °C, piece -35 to -8 °C, 0 to 12 s, lift 1 to 20 cm/s",
    error="a factor 1.5 either way before a test dip, 10 to 15 % after one",
    status=Status.JUDGED,
)
def dip(
    coating: Coating,
    core: Core,
    *,
    bath: Kelvin,
    duration: Second,
    lift: float = LIFT,
    stirring: WattPerSquareMetreKelvin = STIRRING,
    learned: ShellFactors | None = None,
) -> Shell:
    """Shell that one dip leaves: what freezes on in the bath, and the film that drains and sets after it.

    Parameters
    ----------
    coating, core
        The melted coating, and the cold piece.
    bath
        Temperature of the coating [K].
    duration
        Time in the bath [s].
    lift
        Speed at which the piece is lifted out [m/s].
    stirring
        Surface coefficient between coating and piece: 50 held still, 300 moved quickly [W/(m2 K)].
    learned
        What test dips taught (`learn_from_dips`); None: a first guess with a wide band.

    Raises
    ------
    BadInput
        A bath at or below its setting point, negative seconds, a lift of zero.

    Notes
    -----
    Film at leaving the bath max(sqrt(eta U/(rho g)), tau_y/(rho g)); then dh_l/dt = -2 q/R - A/h_s and
    dh_s/dt = A/h_s, q = rho g/(6 eta) (h_l - h_y)^2 (2 h_l + h_y), until no liquid is left: a shell is as thick as
    what has not run off when it sets (lee-2016 for the idea). Source: dip-model.

    Examples
    --------
    >>> core = Core.sphere(80e-6, temperature=253.15, mass=0.058)
    >>> shell = dip(Coating(fat=0.45), core, bath=308.15, duration=3.0)
    >>> round(shell.thickness * 1000, 2), round(shell.mass * 1000, 1)  # mm, g
    (1.22, 13.3)
    """
    return _dip(coating, core, core.effusivity, bath, duration, lift, stirring, learned)


def _dip(
    coating: Coating,
    core: Core,
    effusivity_after: float,
    bath: Kelvin,
    duration: Second,
    lift: float,
    stirring: float,
    learned: ShellFactors | None,
) -> Shell:
    refuse_cold_bath(coating, bath)
    refuse_negative(duration)
    if not 0 < lift <= 1.0 or stirring < 0:
        raise BadInput(
            f"A piece cannot be lifted out at {lift * 100:.3g} cm/s.",
            remedy="give a speed above 0 and up to 100 cm/s; a steady hand lifts at 3 to 10 cm/s.",
        )
    frozen_on = freeze_on_thickness(coating, core, bath=bath, duration=duration, stirring=stirring)
    between = (bath + coating.sets_at) / 2
    lam = freeze_on_constant(coating, effusivity_after, core.temperature, between)
    growth = 2 * lam**2 * coating.diffusivity
    carried, whole, set_time = _drain(coating, core, growth, bath, lift, frozen_on)
    thickness = whole
    if learned is not None:
        # The film is what a dip of no time leaves; the rest is what the time in the bath has added.
        film_alone = whole if frozen_on <= 0 else _drain(coating, core, growth, bath, lift, 0.0)[1]
        thickness = learned.film * film_alone + learned.freeze_on * (whole - film_alone)
    factor = thickness / whole
    mass = coating.density * coat_volume(core.area, core.curvature, thickness)

    stretched = _outside(coating, core, bath, duration, lift)
    if learned is None:
        low, high = 1 / UNCALIBRATED, UNCALIBRATED
        if stretched:
            low, high = low / 1.3, high * 1.3
    else:
        spread = CALIBRATED_NEAR if learned.near(coating.fat, bath, core.temperature, duration) else CALIBRATED_FAR
        low, high = 1 - spread, 1 + spread
        if stretched:
            low, high = 1 - 2 * spread, 1 + 2 * spread
    ran_off = max(frozen_on + carried - whole, 0.0) * factor
    drips = coating.density * core.area * ran_off
    from_bath = stirring * core.area * (bath - coating.sets_at) * duration + drips * coating.heat_capacity * (
        bath - between
    )
    if core.temperature >= coating.sets_at:
        from_bath = stirring * core.area * max(bath - core.temperature, 0.0) * duration
    temperature = dipped_temperature(coating, core, shell_mass=mass, bath=bath, heat_from_bath=from_bath)
    heat = from_bath + mass * coating.heat_given(bath, temperature)
    return Shell(
        thickness=thickness,
        thickness_low=low * thickness,
        thickness_high=high * thickness,
        mass=mass,
        mass_low=low * mass,
        mass_high=high * mass,
        frozen_on=frozen_on * factor,
        film=(whole - frozen_on) * factor,
        set_time=set_time,
        drips=drips,
        foot=(FOOT[0] * mass, FOOT[1] * mass),
        heat_taken=heat,
        heat_from_bath=from_bath,
        piece_temperature=temperature,
        learned_from=learned.learned_from if learned else "",
        stretched=stretched,
        basis=(basis_of(dip, stretched=stretched), basis_of(freeze_on_thickness, stretched=duration > 12.0)),
        findings=_findings(coating, core, thickness, temperature, stretched),
    )


def second_dip(
    first: Shell,
    first_coating: Coating,
    coating: Coating,
    core: Core,
    *,
    bath: Kelvin,
    duration: Second,
    piece: Kelvin | None = None,
    lift: float = LIFT,
    stirring: WattPerSquareMetreKelvin = STIRRING,
    learned: ShellFactors | None = None,
) -> Shell:
    """Shell that a second dip adds over the first; thinner, for the first shell conducts badly.

    Parameters
    ----------
    first, first_coating, core
        What the first dip left, of which coating, on which piece.
    piece
        Temperature of the piece now: None when it is dipped again at once, which is then that after the first dip;
        the temperature it was frozen back to otherwise [K].

    Notes
    -----
    The first shell is the ground on which the second freezes; the piece under it is felt as heat gets through to it,
    by the exact flux into a layer on a half-space (carslaw-jaeger-1959).
    """
    temperature = first.piece_temperature if piece is None else piece
    thickness = first.thickness
    whole_mass = core.mass + first.mass
    covered = replace(
        core,
        area=coat_area(core.area, core.curvature, thickness),
        curvature=core.curvature + 4 * math.pi * thickness,
        temperature=temperature,
        mass=whole_mass,
        heat_capacity=(core.mass * core.heat_capacity + first.mass * first_coating.heat_capacity) / whole_mass,
        effusivity=_layered_effusivity(first_coating, thickness, core.effusivity, max(duration, 0.5)),
    )
    later = _layered_effusivity(first_coating, thickness, core.effusivity, max(duration, 0.0) + 8.0)
    return _dip(coating, covered, later, bath, duration, lift, stirring, learned)


def _layered_effusivity(layer: Coating, thickness: Metre, below: float, time: Second) -> float:
    """Effusivity with which a layer on a half-space takes heat up to a time, its surface held at one temperature."""
    e = layer.effusivity
    reflected = (below - e) / (below + e)
    reach = math.sqrt(layer.diffusivity * time)
    total = 1.0
    for n in range(1, 60):
        z = n * thickness / reach
        integral = math.exp(-z * z) / _ROOT_PI - z * math.erfc(z)
        term = 2 * _ROOT_PI * reflected**n * integral
        total += term
        if abs(term) < 1e-9:
            break
    return e * total


def dipped_temperature(
    coating: Coating,
    core: Core,
    *,
    shell_mass: Kilogram,
    bath: Kelvin,
    heat_from_bath: Joule = 0.0,
    enthalpy: Callable[[Kelvin], JoulePerKilogram] | None = None,
) -> Kelvin:
    """Mean temperature of piece and shell after they have equalised, from the energy balance alone [K].

    Parameters
    ----------
    shell_mass
        Coat that stayed on the piece [kg].
    heat_from_bath
        Heat that came in beside what the coat itself gives [J].
    enthalpy
        Of the piece by temperature [J/kg], with its melting ice; None: the core's constant heat capacity.

    Examples
    --------
    >>> core = Core.sphere(80e-6, temperature=253.15, mass=0.058)
    >>> round(dipped_temperature(Coating(fat=0.45), core, shell_mass=0.013, bath=308.15) - 273.15)
    -14
    """
    start = core.temperature

    def gained(t: Kelvin) -> JoulePerKilogram:
        return core.heat_capacity * (t - start) if enthalpy is None else enthalpy(t) - enthalpy(start)

    def excess(t: Kelvin) -> float:
        return core.mass * gained(t) - shell_mass * coating.heat_given(bath, t) - heat_from_bath

    return root(excess, start - 1e-6, max(bath, start) + 200.0, 1e-9)


def _outside(coating: Coating, core: Core, bath: Kelvin, duration: Second, lift: float) -> bool:
    return not (
        0.30 <= coating.fat <= 0.70
        and 25.0 <= celsius(bath) <= 45.0
        and -35.0 <= celsius(core.temperature) <= -8.0
        and duration <= 12.0
        and 0.01 <= lift <= 0.20
    )


def _findings(
    coating: Coating, core: Core, thickness: Metre, temperature: Kelvin, stretched: bool
) -> tuple[Finding, ...]:
    found = []
    if core.temperature >= coating.sets_at:
        found.append(
            Finding(
                severity=Severity.CAUTION,
                rule="dip needs a cold piece",
                where="",
                says=f"The piece at {celsius(core.temperature):.0f} °C is not colder than the setting point of the "
                f"coating, {celsius(coating.sets_at):.0f} °C: only a film stays on it, and does not set.",
                why="a shell freezes on from the cold of the piece.",
                remedy="freeze the piece to -18 °C or colder before dipping.",
            )
        )
    elif temperature > 268.15:
        found.append(
            Finding(
                severity=Severity.CAUTION,
                rule="dip warms the piece",
                where="",
                says=f"The dip warms the whole piece to about {celsius(temperature):.0f} °C.",
                why="the coat brings more heat than a small piece can hold and stay frozen.",
                remedy="start colder, dip shorter, or take a thinner coating; freeze it again at once.",
            )
        )
    if thickness > 0.0015:  # common practice
        found.append(
            Finding(
                severity=Severity.NOTE,
                rule="shell is thick",
                where="",
                says=f"A shell of {thickness * 1000:.1f} mm is thick to bite through and cracks readily.",
                remedy="add cocoa butter, warm the bath by a few degrees, or dip shorter.",
            )
        )
    if stretched:
        found.append(
            Finding(
                severity=Severity.NOTE,
                rule="dip model stretched",
                where="",
                says="This dip lies outside the conditions in which the dipping model was tried; its band is wider.",
                remedy="weigh five pieces before and after a test dip.",
            )
        )
    return tuple(found)
