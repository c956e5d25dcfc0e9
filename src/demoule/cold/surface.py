"""How hard a room takes or gives heat at a surface: its air, still or blown, radiation, what it stands on, moisture."""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass

import numpy as np

from demoule.cold.programme import Room
from demoule.errors import BadInput
from demoule.figures import Basis, Status, basis_of, published
from demoule.physics.frost import dew_point, natural_convection, saturated_vapour_density
from demoule.units import (
    ZERO_CELSIUS,
    FloatArray,
    Fraction,
    Kelvin,
    Metre,
    WattPerMetreKelvin,
    WattPerSquareMetreKelvin,
)

__all__ = [
    "MOIST_STEP",
    "Surface",
    "forced_convection",
    "in_series",
    "moisture_heating",
    "moisture_table",
    "radiation",
    "surface_coefficient",
]

STEFAN_BOLTZMANN = 5.670374419e-8  # W/(m2 K4), CODATA 2018
EMISSIVITY = 0.9  # of food, silicone and painted steel alike (recalled)
FUSION, EVAPORATION = 333.6e3, 2.50e6  # J/kg at 0 °C
AIR_HEAT_CAPACITY, LEWIS = 1006.0, 0.87  # J/(kg K); thermal over mass diffusivity of vapour in air
MOIST_STEP = 0.5  # K between the rows of a moisture table
FOIL = 30.0  # W/(m2 K): a film or lid lying loosely on an open face, with some 0.8 mm of air under it (judged)


@published(
    gives="surface coefficient of a sphere in blown air, without radiation",
    source="ranz-marshall-1952",
    valid="Reynolds number up to 200 000 is used; measured to 60 000 and on drops below 200",
    error="15 %",
    status=Status.RECALLED,
)
def forced_convection(air: Kelvin, speed: float, diameter: Metre) -> WattPerSquareMetreKelvin:
    """Surface coefficient of a sphere in blown air by convection alone [W/(m2 K)].

    Nu = 2 + 0.6 Re^(1/2) Pr^(1/3); without wind the 2 of pure conduction stays.

    Parameters
    ----------
    air
        Mean of air and surface [K].
    speed
        Of the air past the piece [m/s].
    diameter
        [m].

    Raises
    ------
    BadInput
        A diameter that is not above zero, or a negative speed.

    Examples
    --------
    >>> round(forced_convection(243.15, 3.0, 0.053), 1)
    27.8
    """
    if not diameter > 0 or speed < 0:
        raise BadInput("A diameter is above zero and a wind not below.", remedy="blast freezers blow 2 to 5 m/s.")
    k, nu, prandtl = _air(air)
    nusselt = 2 + 0.6 * np.sqrt(speed * diameter / nu) * prandtl ** (1 / 3)
    return float(nusselt * k / diameter)


@published(
    gives="surface coefficient of radiation",
    source="stefan-boltzmann",
    valid="a small piece in a room whose walls have the temperature of its air",
    error="10 % of itself: emissivity, walls colder or warmer than the air",
    status=Status.READ,
)
def radiation(surface: Kelvin, walls: Kelvin, emissivity: Fraction = EMISSIVITY) -> WattPerSquareMetreKelvin:
    """Surface coefficient of radiation between a piece and the walls around it [W/(m2 K)].

    ε σ (T₁² + T₂²)(T₁ + T₂), which times the difference is the exact exchange ε σ (T₁⁴ − T₂⁴).

    >>> round(radiation(263.15, 263.15), 2)
    3.72
    """
    return emissivity * STEFAN_BOLTZMANN * (surface**2 + walls**2) * (surface + walls)


@published(
    gives="heat brought by moisture that settles, as extra air temperature",
    source="lewis-relation",
    valid="surfaces -40 to 30 °C in rooms of 5 to 40 °C",
    error="30 %",
    status=Status.RECALLED,
)
def moisture_heating(surface: Kelvin, air: Kelvin, humidity: Fraction) -> float:
    """How many kelvin warmer dry air would have to be to bring the heat that settling moisture brings.

    (L/c_p) Le^(-2/3) (w_air − w_surface) with humidity ratios w, at 1 atm; zero above the dew point. What settles as
    frost gives the heat of fusion too.

    >>> round(moisture_heating(273.15, 293.15, 0.6), 1)
    13.5
    """
    settles = _humidity_ratio(air, humidity) - _humidity_ratio(surface, 1.0)
    latent = EVAPORATION + FUSION * min(max(ZERO_CELSIUS - surface, 0.0), 1.0)
    return max(0.0, latent / AIR_HEAT_CAPACITY * math.pow(LEWIS, -2 / 3) * settles)


def _humidity_ratio(temperature: Kelvin, humidity: Fraction) -> float:
    """Water in air [kg per kg of dry air] of a relative humidity, over ice below 0 °C."""
    pressure = humidity * saturated_vapour_density(temperature) * 461.5 * temperature
    return 0.62198 * pressure / (101325.0 - pressure)


@functools.lru_cache(maxsize=32)
def moisture_table(air: Kelvin, humidity: Fraction) -> tuple[Kelvin, FloatArray]:
    """First surface temperature [K], and `moisture_heating` from there to the air in steps of `MOIST_STEP`."""
    low = 218.15
    surfaces = np.arange(low, max(air, low + 2) + 2 * MOIST_STEP, MOIST_STEP)
    return low, np.array([moisture_heating(float(t), air, humidity) for t in surfaces])


@dataclass(frozen=True, slots=True, kw_only=True)
class Surface:
    """The surface coefficient of a room for one piece.

    Parameters
    ----------
    coefficient
        Convection and radiation together [W/(m2 K)].
    convective
        Share that is convection.
    assumed
        What was taken for want of being told, in words.
    band
        Its likely range as a fraction either way.
    """

    coefficient: WattPerSquareMetreKelvin
    convective: Fraction
    assumed: tuple[str, ...]
    basis: tuple[Basis, ...]
    band: Fraction


COMPUTED_BAND = 0.30
"""Coefficients worked back from measured cooling curves are good to this [ashrae-4707]; a guess is no better."""
LEARNED_BAND = 0.10
LEAST_LEARNED_BAND = 0.06
"""A room is not the same twice: how full it is and where a tray stands in it make this much (judged)."""


def surface_coefficient(room: Room, diameter: Metre, surface: Kelvin) -> Surface:
    """What a room's surface coefficient is for a piece of this size.

    Parameters
    ----------
    room
        A coefficient stated or learned wins; else it follows from air speed (none: still air) and radiation.
    diameter
        Of a sphere with the surface of the piece [m].
    surface
        Typical temperature of the surface during the stay [K].

    Raises
    ------
    BadInput
        Impossible air, coefficient, speed or size.
    """
    if not 0 < room.air < 400:
        raise BadInput(
            f"The air of “{room.name}” would have {room.air - ZERO_CELSIUS:.0f} °C.",
            remedy="give an air temperature between absolute zero (−273 °C) and 120 °C.",
        )
    if room.humidity is not None and not 0 <= room.humidity <= 1:
        raise BadInput(
            f"A humidity of {room.humidity:.0%} in “{room.name}” is not possible.", remedy="give 0 to 100 %."
        )
    if not diameter > 0:
        raise BadInput("The piece has no size.", remedy="give a diameter above zero.")
    radiated = radiation(surface, room.air)
    if room.surface is not None:
        if not 0 < room.surface < 20_000:
            raise BadInput(
                f"A surface coefficient of {room.surface:g} W/m²K in “{room.name}” takes no heat that a room could.",
                remedy="give about 8 for still air, 10 to 20 for a ventilated refrigerator, 20 to 40 for blown air.",
            )
        learned = bool(room.learned)
        return Surface(
            coefficient=room.surface,
            convective=max(0.0, 1 - radiated / room.surface),
            assumed=(_said(room.surface, room),),
            basis=(),
            band=_learned_band(room) if learned else COMPUTED_BAND,
        )
    if room.air_speed is not None and room.air_speed > 0:
        film = (surface + room.air) / 2
        blown = forced_convection(film, room.air_speed, diameter)
        still = natural_convection(surface, room.air, diameter)
        convection = max(blown, still)
        words = f"surface coefficient of “{room.name}” computed for air of {room.air_speed:g} m/s"
        basis = (basis_of(forced_convection), basis_of(radiation))
    else:
        if room.air_speed is not None and room.air_speed < 0:
            raise BadInput(
                f"Air in “{room.name}” cannot blow with {room.air_speed:g} m/s.", remedy="give 0 for still air."
            )
        convection = natural_convection(surface, room.air, diameter)
        words = f"surface coefficient of “{room.name}” computed for still air"
        basis = (basis_of(natural_convection), basis_of(radiation))
    total = convection + radiated
    return Surface(coefficient=total, convective=convection / total, assumed=(words,), basis=basis, band=COMPUTED_BAND)


def _said(coefficient: WattPerSquareMetreKelvin, room: Room) -> str:
    if room.learned:
        return f"surface coefficient of “{room.name}” as learned here, {coefficient:.3g} W/m²K ({room.learned})"
    return f"surface coefficient of “{room.name}” as stated, {coefficient:g} W/m²K"


def _learned_band(room: Room) -> Fraction:
    """What the log itself tells, but never surer than another load on another day."""
    return LEARNED_BAND if room.learned_band is None else max(room.learned_band, LEAST_LEARNED_BAND)


def in_series(*coefficients: WattPerSquareMetreKelvin) -> WattPerSquareMetreKelvin:
    """One surface coefficient for several resistances one behind the other [W/(m2 K)].

    >>> in_series(10.0, 10.0)
    5.0
    """
    return 1 / sum(1 / coefficient for coefficient in coefficients)


def room_dew_point(room: Room) -> Kelvin | None:
    """Dew point of a room whose humidity is told [K]."""
    return None if room.humidity is None else dew_point(room.air, room.humidity)


def _air(temperature: Kelvin) -> tuple[WattPerMetreKelvin, float, float]:
    """Conductivity [W/(m K)], viscosity [m2/s] and Prandtl number of dry air at 1 atm, by Sutherland's law."""
    ratio = temperature / 273.15
    conductivity = 0.0244 * ratio**1.5 * (273.15 + 194.0) / (temperature + 194.0)
    viscosity = 1.716e-5 * ratio**1.5 * (273.15 + 111.0) / (temperature + 111.0)
    density = 101325.0 / (287.05 * temperature)
    return conductivity, viscosity / density, viscosity * AIR_HEAT_CAPACITY / conductivity
