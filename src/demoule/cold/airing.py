"""Air of a room over time: a door that is opened, a coil that is thawed."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from demoule.cold.programme import Room, Stage
from demoule.errors import BadInput
from demoule.units import ZERO_CELSIUS, FloatArray, Fraction, Kelvin, Second

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["DOOR", "DOOR_TIME", "SHORT_STEP", "air_over_time", "has_pulses"]

DOOR: Fraction = 0.13
"""Of the way to the kitchen that the air goes when a door is opened: 7 K in a freezer at −35 °C (practice: 5 to 10)."""
DOOR_TIME: Second = 450.0
"""Until the air has come back, the door shut (practice: 5 to 10 min)."""
_DEFROST, _DEFROST_TIME = 7.5, 900.0  # K and s by which a thawed coil lifts the air (practice: 5 to 10 K, 10 to 20 min)
_RISE, _FALL = 30.0, 60.0  # s
_APART: Second = 900.0  # between the openings of one stage
_FOLLOWED: Second = 86400.0  # after a day the mean of what came before would do, and all is frozen
_MOST_PER_HOUR, _MOST_OPENINGS = 60.0, 200
SHORT_STEP: Second = 60.0
"""No longer steps than this while the air jumps [s]."""


def has_pulses(stage: Stage, room: Room) -> bool:
    """Whether the air of a stay jumps."""
    return stage.what != "keep" and bool(room.opened or room.defrosts or stage.openings)


def air_over_time(
    stage: Stage, room: Room, kitchen_air: Kelvin, *, kept: bool = False
) -> tuple[FloatArray, FloatArray]:
    """Times from the start of a stage [s] and the air at them [K], linear in between; one time: steady air.

    Parameters
    ----------
    stage, room
        With the door's openings and the defrosts.
    kept
        With them also where a piece is only kept, whose hours are followed without.
    kitchen_air
        What comes in through the door [K].

    Raises
    ------
    BadInput
        Openings or defrosts below zero, or more than one a minute.

    Notes
    -----
    Each opening lifts the air by `DOOR` of the way to the kitchen within half a minute, for `DOOR_TIME`; lifts that
    overlap add, and the air never gets past the kitchen's. The first opening comes half a period in.
    """
    for what, often in (("opened", room.opened), ("defrosted", room.defrosts)):
        if often is not None and not (0 <= often * 3600 <= _MOST_PER_HOUR):
            raise BadInput(
                f"“{room.name}” cannot be {what} {often * 3600:g} times an hour.",
                remedy="give a number between 0 and 60: opened: 4 per h.",
            )
    if not 0 <= stage.openings <= _MOST_OPENINGS:
        raise BadInput(f"A door is not opened {stage.openings} times.", remedy="give 0 to 200.")
    if not (has_pulses(stage, room) or (kept and (room.opened or room.defrosts or stage.openings))):
        return np.zeros(1), np.array([room.air])
    lifts = list(_lifts(stage, room, kitchen_air))
    marks = [0.0]
    for start, length, _ in lifts:
        marks += [start, start + _RISE, start + length, start + length + _FALL]
    times = np.unique(np.array(marks))
    lift = np.zeros_like(times)
    for start, length, kelvins in lifts:
        corners = [start, start + _RISE, start + length, start + length + _FALL]
        lift += np.interp(times, corners, [0.0, kelvins, kelvins, 0.0], left=0.0, right=0.0)
    least, most = min(room.air, kitchen_air), max(room.air, kitchen_air)
    return times, np.clip(room.air + lift, least, most)


def _lifts(stage: Stage, room: Room, kitchen_air: Kelvin) -> Iterator[tuple[Second, Second, float]]:
    """Start, length [s] and height [K] of every lift of a stay."""
    door = DOOR * (kitchen_air - room.air)
    if room.opened:
        for start in np.arange(0.5 / room.opened, _FOLLOWED, 1 / room.opened):
            yield float(start), DOOR_TIME, door
    for k in range(stage.openings):
        yield 1.0 + k * _APART, DOOR_TIME, door
    if room.defrosts and room.air < ZERO_CELSIUS:
        for start in np.arange(0.5 / room.defrosts, _FOLLOWED, 1 / room.defrosts):
            yield float(start), _DEFROST_TIME, _DEFROST
