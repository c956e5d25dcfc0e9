"""Frost and dew that settle on the skin of a piece while its surface warms, and dry off again above the dew point."""

from __future__ import annotations

import numpy as np

from demoule.cold.programme import Room, Stage
from demoule.cold.run import Film
from demoule.cold.surface import Surface
from demoule.figures import Status, published
from demoule.physics.frost import BAND, natural_convection, saturated_vapour_density, vapour_density
from demoule.units import ZERO_CELSIUS, FloatArray, Fraction, Kelvin, Metre, Second

__all__ = ["MOST_POINTS", "film_on", "humidity_of", "reaches", "settled"]

MOST_POINTS = 240
"""A curve is thinned to so many points; between them settling is followed by the rate in the middle."""
_FRIDGE = (0.45, 0.60, 0.75)
"""Humidity of a refrigerator that is not told (judged): the cold coil dries its air, open trays wet it."""
_ROOM = (0.35, 0.50, 0.65)
_CHILLED: Kelvin = 283.15


@published(
    gives="frost or dew on a surface that warms",
    source="lewis-relation",
    valid="surface -40 to 30 °C, rooms of 0 to 40 °C; nothing drips off",
    error="-30 to +50 %: draught, and a frost surface in supersaturated air; more where the humidity is not told",
    status=Status.RECALLED,
)
def settled(
    time: FloatArray, surface: FloatArray, air: Kelvin, humidity: Fraction, coefficient: float, factor: float = 1.0
) -> FloatArray:
    """Film on a surface over time [kg/m2]: what settles below the dew point, less what dries off above it.

    Parameters
    ----------
    time, surface
        Seconds and kelvin, shape (n,), time rising.
    air, humidity
        Of the room [K], 0 to 1.
    coefficient
        Surface coefficient without radiation [W/(m2 K)].
    factor
        On what settles.

    Examples
    --------
    >>> film = settled(np.array([0.0, 105.0]), np.array([253.15, 253.15]), 293.15, 0.5, 7.3)
    >>> round(float(film[-1]) * 1000, 1)  # g/m2 after the seconds that a held surface takes to 5
    5.0
    """
    vapour = vapour_density(air, humidity)
    middle = 0.5 * (surface[1:] + surface[:-1])
    density = 101325.0 / (287.05 * 0.5 * (middle + air))
    transfer = coefficient / (density * 1006.0 * 0.87 ** (2 / 3))
    saturated = np.array([saturated_vapour_density(float(t)) for t in middle])
    rate = factor * transfer * (vapour - saturated)
    film = np.zeros(len(time))
    for k, gained in enumerate(rate * np.diff(time)):
        film[k + 1] = max(film[k] + gained, 0.0)
    return film


def humidity_of(room: Room) -> tuple[Fraction, Fraction, Fraction]:
    """Humidity of a room: least, likely and most; all the same where it is told."""
    if room.humidity is not None:
        return room.humidity, room.humidity, room.humidity
    return _FRIDGE if room.air < _CHILLED else _ROOM


def film_on(
    time: FloatArray, surface: FloatArray, stage: Stage, room: Room, film: Surface, diameter: Metre
) -> Film | None:
    """Frost or dew over a stage in the open air; None under a lid, in a mould, and in freezers.

    Parameters
    ----------
    time, surface
        Of the stage [s], and of the skin [K].
    film
        Surface coefficient of the room and its convective share; where it was stated low, still air settles as much as
        it does by itself.
    diameter
        Of the piece [m].
    """
    if stage.covered or room.air < ZERO_CELSIUS - 5 or len(time) < 2:
        return None
    if len(time) > MOST_POINTS:
        picked = np.unique(np.round(np.linspace(0, len(time) - 1, MOST_POINTS)).astype(int))
        time, surface = time[picked], surface[picked]
    least, likely, most = humidity_of(room)
    still = natural_convection(float(surface.mean()), room.air, diameter)
    convective = max(film.coefficient * film.convective, still)

    def over(humidity: Fraction, factor: float) -> FloatArray:
        return settled(time, surface, room.air, humidity, convective, factor)

    middle = over(likely, 1.0)
    # Less settling dries off later but is never more; clipping keeps the band around the curve where both dry.
    low, high = over(least, BAND[0]), over(most, BAND[1])
    return Film(
        time=time,
        mass=middle,
        low=np.minimum(low, middle),
        high=np.maximum(high, middle),
        humidity=likely,
        taken=room.humidity is None,
    )


def reaches(film: Film | None, mass: float) -> tuple[Second | None, Second | None, Second | None]:
    """When so much lies on the skin [s]: likely, soonest, latest; None: never in the time computed."""
    from demoule.cold.readings import first_beyond

    if film is None:
        return None, None, None
    likely, soonest, latest = (first_beyond(film.time, values, mass) for values in (film.mass, film.high, film.low))
    return likely, soonest, latest
