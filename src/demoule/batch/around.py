"""A kitchen as cooking sees it."""

from __future__ import annotations

from demoule.batch.kitchen import Kitchen
from demoule.batch.learned import learned_here
from demoule.cold.programme import Room
from demoule.formula import Chill, Surroundings
from demoule.units import WattPerSquareMetreKelvin

__all__ = ["surroundings"]

# Surface coefficient of a room that tells neither it nor its air speed (practice): still, and blast.
_STILL, _BLAST, _BLAST_BELOW = 8.0, 20.0, 248.15


def surroundings(kitchen: Kitchen) -> Surroundings:
    """What a component's cooking depends on in a kitchen: altitude, hob, pans, rooms, and what was learned there."""
    usual = Surroundings()
    learned = learned_here(kitchen)
    factors = [(one.what, one.factor) for one in kitchen.calibrations]
    if learned.evaporation is not None:
        factors.append(("evaporation", learned.evaporation))
    rooms = tuple(Chill(name=room.name, air=room.air, surface=_surface(room)) for room in kitchen.rooms)
    return Surroundings(
        altitude=kitchen.altitude,
        hob_power=kitchen.hob_power,
        hob_efficiency=kitchen.hob_efficiency,
        air=kitchen.air,
        pans=kitchen.pans or usual.pans,
        rooms=rooms or usual.rooms,
        factors=tuple(factors),
        tissues=learned.tissues,
        folding=learned.folding,
    )


def _surface(room: Room) -> WattPerSquareMetreKelvin:
    if room.surface is not None:
        return room.surface
    if room.air_speed is not None:
        return 6.0 + 4.0 * room.air_speed  # a flat surface in moving air, rough
    return _BLAST if room.air < _BLAST_BELOW else _STILL
