"""How long heating and cooling take, as for one lump of even warmth: an estimate that the cold stage may refine."""

from __future__ import annotations

import numpy as np

from demoule.composition import Composition
from demoule.errors import BadInput
from demoule.figures import Status, published
from demoule.formula.component import Pan
from demoule.formula.matter import heat_capacity, mix_density
from demoule.formula.surroundings import Chill
from demoule.physics.heat import conductivity, enthalpy
from demoule.units import FloatArray, Kelvin, Kilogram, Metre, Second, Watt

__all__ = ["cooling", "freezing", "heating_time"]

# Depth of a mix in its pan when nothing is told (practice).
_DEPTH: Metre = 0.040

CLOSE = 0.5
"""A mix counts as having the temperature of the room when it is so near [K]."""

_POINTS = 13


@published(
    name="heating on a hob",
    gives="time to warm a mix on a hob",
    source="heat-balance",
    valid="a stirred mix that does not boil",
    error="30 %, from the efficiency of the hob",
    status=Status.JUDGED,
)
def heating_time(mass: Kilogram, composition: Composition, start: Kelvin, end: Kelvin, heat: Watt) -> Second:
    """Time to warm a mix from one temperature to another with a heat flow into the pot [s].

    Notes
    -----
    Mass times specific heat times the rise, over the heat flow; nothing for the pan and the air.
    Source: heat-balance. Status: judged.
    """
    if end <= start:
        return 0.0
    return mass * heat_capacity(composition, (start + end) / 2) * (end - start) / heat


@published(
    name="cooling in a pan",
    gives="cooling of a mix in a pan",
    source="lumped-cooling",
    valid="a layer to 6 cm deep in moving or still air, nothing frozen",
    error="30 % in time; 50 % when pan or room are not told",
    status=Status.JUDGED,
)
def cooling(
    mass: Kilogram,
    composition: Composition,
    start: Kelvin,
    end: Kelvin,
    room: Chill,
    pan: Pan | None = None,
    duration: Second | None = None,
) -> tuple[FloatArray, FloatArray]:
    """Times [s] and temperatures [K] of a mix that cools in a pan, shapes (13,).

    Parameters
    ----------
    mass, composition
        Of the mix.
    start, end
        Temperature of the mix, and to which it shall come [K].
    room
        Its air and surface coefficient.
    pan
        Its open area; None: the mix stands 4 cm deep.
    duration
        Measured: the curve then keeps its shape and takes this long.

    Raises
    ------
    BadInput
        When the room is warmer than the end wanted.

    Notes
    -----
    One lump of even temperature that loses heat through top and bottom of the pan, T = T_room + (T_start - T_room)
    exp(-t/tau) with tau = m c/(2 A U), 1/U = 1/h + L/(3 k) with L half the depth: the first term of the
    series for a slab at small Biot numbers. Source: lumped-cooling. Status: judged.
    """
    air = room.air
    if end < air - CLOSE and duration is None:
        raise BadInput(
            f"It cannot cool to {end - 273.15:.0f} °C in “{room.name}” at {air - 273.15:.0f} °C.",
            remedy="cool it in a colder room, or to a higher temperature.",
        )
    air = min(air, end - CLOSE)
    volume = mass / mix_density(composition)
    area = pan.open_area if pan is not None else volume / _DEPTH
    half_depth = volume / area / 2
    conduction = float(conductivity(composition.vector, (start + end) / 2))
    through = 1 / (1 / room.surface + half_depth / (3 * conduction))
    tau = mass * heat_capacity(composition, (start + end) / 2) / (2 * area * through)
    needed = tau * np.log((start - air) / (end - air))
    shares = np.linspace(0.0, 1.0, _POINTS)
    temperatures = air + (start - air) * np.exp(-shares * needed / tau)
    temperatures[-1] = end
    return shares * (needed if duration is None else duration), temperatures


@published(
    name="freezing in a pan",
    gives="freezing of a mix spread in a pan",
    source="lumped-cooling",
    valid="a layer to 4 cm deep in moving or still air",
    error="50 %; a piece in its mould is computed layer by layer instead",
    status=Status.JUDGED,
)
def freezing(composition: Composition, start: Kelvin, end: Kelvin, room: Chill) -> Second:
    """Time for a layer 4 cm deep to come from one temperature to another below freezing [s].

    Raises
    ------
    BadInput
        When the room is not colder than the end wanted.

    Notes
    -----
    Heat content by temperature over the heat flow by temperature, summed along the way: one lump, as in `cooling`, that
    conducts as it does when half frozen.
    Source: lumped-cooling. Status: judged.
    """
    if end < room.air + CLOSE:
        raise BadInput(
            f"It cannot freeze to {end - 273.15:.0f} °C in “{room.name}” at {room.air - 273.15:.0f} °C.",
            remedy="freeze it in a colder room, or to a higher temperature.",
        )
    temperatures = np.linspace(start, end, 101)
    heat = -np.diff(np.asarray(enthalpy(composition.vector, temperatures)))
    area_per_mass = 2 / (_DEPTH * mix_density(composition))
    conduction = float(conductivity(composition.vector, (273.15 + end) / 2))
    through = 1 / (1 / room.surface + _DEPTH / 2 / (3 * conduction))
    drive = (temperatures[1:] + temperatures[:-1]) / 2 - room.air
    return float((heat / (area_per_mass * through * drive)).sum())
