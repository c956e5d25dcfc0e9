"""How fast frost or dew settles on a cold piece that stands in a room."""

from __future__ import annotations

import functools
import importlib
import math
import sys
from dataclasses import dataclass
from types import ModuleType

from demoule.errors import BadInput
from demoule.figures import Basis, Finding, Severity, Status, basis_of, published
from demoule.units import (
    ZERO_CELSIUS,
    Fraction,
    Kelvin,
    KilogramPerCubicMetre,
    Metre,
    Pascal,
    Second,
    WattPerSquareMetreKelvin,
    celsius,
)

__all__ = [
    "FROST_MARKS",
    "Frost",
    "dew_point",
    "frost_flux",
    "frost_time",
    "natural_convection",
    "saturated_vapour_density",
    "vapour_density",
]

_GAS_CONSTANT_OF_VAPOUR = 461.5  # J/(kg K)
_LEWIS = 0.87  # of vapour in air, thermal over mass diffusivity
_AIR_HEAT_CAPACITY = 1006.0  # J/(kg K)
FROST_MARKS: dict[str, float] = {"rime is seen": 0.002, "velvet may hold badly": 0.005, "velvet peels": 0.010}
"""Frost on a piece [kg/m2] from which it matters (judged): ask the chef, and let them set their own."""
BAND = (0.7, 1.5)  # of the seconds' inverse: moving air on one side, supersaturated frost surface on the other


@functools.cache
def _moist_air() -> ModuleType:
    """PsychroLib in SI units, in plain Python.

    Where numba is installed PsychroLib compiles every function anew on first use, which takes seconds and can end the
    process; single numbers need no compiling, so numba is hidden from it while it loads.
    """
    hidden = sys.modules.get("numba")
    sys.modules["numba"] = None  # type: ignore[assignment]
    try:
        module = importlib.import_module("psychrolib")
    finally:
        if hidden is None:
            del sys.modules["numba"]
        else:
            sys.modules["numba"] = hidden
    module.SetUnitSystem(module.SI)
    return module


def _check_air(air: Kelvin, humidity: Fraction) -> None:
    if not 233.15 <= air <= 333.15:
        raise BadInput(
            f"Air of {celsius(air):.0f} °C is no kitchen air.", remedy="give the temperature of the room in °C."
        )
    if not 0 <= humidity <= 1:
        raise BadInput(
            f"A humidity of {humidity:.0%} is not possible.", remedy="give the relative humidity between 0 and 100 %."
        )


@published(
    gives="dew point of the room",
    source="psychrolib",
    valid="air -40 to 60 °C",
    error="0.05 K",
    status=Status.READ,
)
def dew_point(air: Kelvin, humidity: Fraction) -> Kelvin:
    """Temperature below which moisture of the air settles on a surface [K].

    Parameters
    ----------
    air, humidity
        Temperature of the room [K] and its relative humidity, 0 to 1; below 1e-3 taken as 1e-3.

    Raises
    ------
    BadInput
        A humidity outside 0 to 1.

    >>> round(dew_point(293.15, 0.5) - 273.15, 2)
    9.27
    """
    _check_air(air, humidity)
    return float(_moist_air().GetTDewPointFromRelHum(celsius(air), max(humidity, 1e-3))) + ZERO_CELSIUS


@published(
    gives="vapour in saturated air over water or ice",
    source="psychrolib",
    valid="-40 to 60 °C",
    error="0.3 %",
    status=Status.READ,
)
def saturated_vapour_density(temperature: Kelvin) -> KilogramPerCubicMetre:
    """Vapour in air at a surface of water, or of ice below 0 °C [kg/m3].

    >>> round(saturated_vapour_density(263.15) * 1000, 2)  # g/m3
    2.14
    """
    pressure: Pascal = float(_moist_air().GetSatVapPres(celsius(temperature)))
    return pressure / (_GAS_CONSTANT_OF_VAPOUR * temperature)


def vapour_density(air: Kelvin, humidity: Fraction) -> KilogramPerCubicMetre:
    """Vapour in the air of a room [kg/m3].

    >>> round(vapour_density(293.15, 0.5) * 1000, 2)  # g/m3
    8.64
    """
    _check_air(air, humidity)
    pressure: Pascal = float(_moist_air().GetSatVapPres(celsius(air)))
    return humidity * pressure / (_GAS_CONSTANT_OF_VAPOUR * air)


@published(
    gives="surface coefficient of a sphere in still air, without radiation",
    source="churchill-1983",
    valid="spheres of 10 to 200 mm, still air",
    error="15 %",
    status=Status.RECALLED,
)
def natural_convection(surface: Kelvin, air: Kelvin, diameter: Metre) -> WattPerSquareMetreKelvin:
    """Surface coefficient of a sphere in still air by natural convection alone [W/(m2 K)].

    Nu = 2 + 0.589 Ra^(1/4)/(1 + (0.469/Pr)^(9/16))^(4/9).

    >>> round(natural_convection(253.15, 293.15, 0.053), 1)
    7.3
    """
    if not diameter > 0:
        raise BadInput("A piece has a diameter above zero.", remedy="give it in millimetres.")
    film = (surface + air) / 2
    k = 0.0243 * (film / 273.15) ** 0.81
    nu = 1.33e-5 * (film / 273.15) ** 1.78
    pr = 0.711
    rayleigh = 9.80665 / film * abs(air - surface) * diameter**3 / nu**2 * pr
    nusselt = 2 + 0.589 * rayleigh**0.25 / (1 + (0.469 / pr) ** (9 / 16)) ** (4 / 9)
    return float(nusselt * k / diameter)


@published(
    gives="frost or dew settling on a cold surface",
    source="lewis-relation",
    valid="surface -40 to 30 °C, rooms of 5 to 40 °C, first millimetre of frost",
    error="-30 to +50 %: draught, and a frost surface in supersaturated air",
    status=Status.RECALLED,
)
def frost_flux(surface: Kelvin, air: Kelvin, humidity: Fraction, coefficient: WattPerSquareMetreKelvin) -> float:
    """Moisture settling on a surface [kg/(m2 s)], zero where the surface is above the dew point.

    h_m (vapour of the air - vapour at the surface), h_m = h/(rho cp Le^(2/3)); h without its radiation.

    >>> flux = frost_flux(253.15, 293.15, 0.5, 7.3)
    >>> round(0.005 / flux)  # seconds to 5 g/m2
    105
    """
    if coefficient < 0:
        raise BadInput("A surface coefficient is not negative.", remedy="still air gives 5 to 8, a draught 10 to 20.")
    density_of_air = 101325.0 / (287.05 * (surface + air) / 2)
    transfer = coefficient / (density_of_air * _AIR_HEAT_CAPACITY * _LEWIS ** (2 / 3))
    return float(max(transfer * (vapour_density(air, humidity) - saturated_vapour_density(surface)), 0.0))


@dataclass(frozen=True, slots=True, kw_only=True)
class Frost:
    """Seconds until a film of frost or dew has settled.

    Parameters
    ----------
    time, low, high
        Until the mass asked for [s]; None: never, the surface is above the dew point.
    dew_point
        Of the room [K].
    flux
        [kg/(m2 s)] at the start.
    kind
        "frost" on a surface below 0 °C, "dew" above.
    """

    time: Second | None
    low: Second | None
    high: Second | None
    dew_point: Kelvin
    flux: float
    kind: str
    basis: tuple[Basis, ...]
    findings: tuple[Finding, ...]


def frost_time(
    surface: Kelvin,
    air: Kelvin,
    humidity: Fraction,
    *,
    diameter: Metre,
    mass: float = FROST_MARKS["velvet may hold badly"],
    coefficient: WattPerSquareMetreKelvin | None = None,
    draught: bool = False,
    warms: float = 0.0,
) -> Frost:
    """Seconds until so much frost or dew lies on a piece.

    Parameters
    ----------
    surface, air, humidity
        Temperatures of piece and room [K], relative humidity 0 to 1.
    diameter
        Of the piece [m], for still air.
    mass
        Frost looked for [kg/m2]: 0.002 is seen as rime, 0.005 to 0.010 spoils the hold of velvet (judged).
    coefficient
        Surface coefficient without radiation [W/(m2 K)]; None: computed for still air, doubled in a draught.
    warms
        How fast the surface warms [K/s]: 0.015 to 0.025 for a small piece; 0: held.

    Examples
    --------
    >>> round(frost_time(263.15, 293.15, 0.5, diameter=0.053).time)
    132
    """
    _check_air(air, humidity)
    if not mass > 0 or warms < 0:
        raise BadInput("There is no time to no frost.", remedy="give the frost in g per m², above zero.")

    def flux_at(t: Second) -> float:
        here = min(surface + warms * t, air)
        h = coefficient
        if h is None:
            h = natural_convection(here, air, diameter) * (2 if draught else 1)
        return frost_flux(here, air, humidity, h)

    flux = flux_at(0.0)
    time = None if flux <= 0 else mass / flux
    if time is not None and warms > 0:
        # March in steps that are short against both the warming and the settling.
        settled, t = 0.0, 0.0
        step = min(time / 40, 0.25 / warms)
        time = None
        while t < 7200:
            rate = flux_at(t + step / 2)
            if rate <= 0:
                break
            if settled + rate * step >= mass:
                time = t + (mass - settled) / rate
                break
            settled += rate * step
            t += step
    findings = []
    if time is not None and time < 60:
        findings.append(
            Finding(
                severity=Severity.CAUTION,
                rule="frost before spraying",
                where="",
                says=f"In this room {mass * 1000:.0f} g/m² settle within {time:.0f} s of leaving the freezer.",
                why="frost under a shell or velvet spoils its hold and adds water.",
                remedy="work in a drier or cooler room, a few pieces at a time, and brush frost off.",
            )
        )
    return Frost(
        time=time,
        low=None if time is None else time / BAND[1],
        high=None if time is None else time / BAND[0],
        dew_point=dew_point(air, humidity),
        flux=flux,
        kind="frost" if surface < ZERO_CELSIUS else "dew",
        basis=(basis_of(frost_flux), basis_of(dew_point)),
        findings=tuple(findings),
    )


def frost_after(flux: float, duration: Second) -> tuple[float, float, float]:
    """Frost settled after a time at a steady flux: (kg/m2, low, high)."""
    settled = flux * duration
    return settled, settled * BAND[0], settled * BAND[1]


def sweating_time(surface: Kelvin, air: Kelvin, humidity: Fraction, rate: float) -> Second:
    """Seconds until a piece that warms exponentially at `rate` [1/s] rises above the dew point; infinite if never."""
    start, stop = air - surface, air - dew_point(air, humidity)
    return 0.0 if start <= stop else math.log(start / stop) / rate
