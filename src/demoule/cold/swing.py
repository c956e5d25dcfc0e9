"""How far a kept piece follows the air of a room whose door is opened and whose coil is thawed."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from demoule.cold.airing import SHORT_STEP, air_over_time
from demoule.cold.programme import Room, Stage
from demoule.cold.run import Swing
from demoule.units import FloatArray, Kelvin, Second

if TYPE_CHECKING:
    from demoule.cold.stay import Air, Body

__all__ = ["swing_of"]

_DAY: Second = 86400.0
_TOLERANCE = 0.03


def swing_of(body: Body, faces: FloatArray, air: Air, stage: Stage, room: Room, kitchen_air: Kelvin) -> Swing | None:
    """The swing of a body that has the temperature of its room; None where nothing stirs the air.

    Parameters
    ----------
    faces
        Of `walls.faces`, of the body as it is kept.
    air
        Of the room, with its moisture.

    Notes
    -----
    A day is run from rest; the swing is that of its second half.
    """
    from dataclasses import replace

    from demoule.cold.stay import State, stay

    times, temperature = air_over_time(stage, room, kitchen_air, kept=True)
    if len(times) < 2:
        return None
    state = State(
        heat=body.tables.heat_at([room.air] * len(body.matters)),
        wall=np.where(faces[:, 6] > 0, room.air, np.nan),
    )
    track = stay(
        body,
        state,
        faces,
        replace(air, times=times, temperature=temperature),
        until=None,
        at_most=_DAY,
        tolerance=_TOLERANCE,
        longest=SHORT_STEP,
        level=0.0,
        ice=False,
    )
    late = track.time >= _DAY / 2
    clock = np.linspace(_DAY / 2, _DAY, 2881)
    return Swing(
        openings=stage.openings + _DAY * (room.opened or 0.0),
        defrosts=_DAY * (room.defrosts or 0.0),
        air=_ends(np.interp(clock, times, temperature)),
        surface=_ends(track.surface[late]),
        mean=_ends(track.mean[late]),
    )


def _ends(values: FloatArray) -> tuple[Kelvin, Kelvin]:
    return float(values.min()), float(values.max())
