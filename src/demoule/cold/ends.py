"""How a stage ends: what its run waits for, when it is over, and from when to when the piece is ready to eat."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from demoule.cold.programme import Room, Stage
from demoule.cold.readings import first_beyond, levelled, reached
from demoule.units import FloatArray, Second

if TYPE_CHECKING:
    from demoule.cold.run import Zones
    from demoule.cold.stages import Thing
    from demoule.cold.stay import Track, Watch

__all__ = ["AT_REST", "cools", "ended", "horizon", "leaves", "ready", "watch"]

AT_REST = 0.1
"""So near to the air of the room [K] a run is over."""
_LEVEL = 0.5  # K: a stage without an end lasts until the piece is so near to its room
_AT_MOST: Second = 10 * 86400.0  # nothing that fits a mould takes longer to come to rest
_WINDOW: Second = 2 * 86400.0  # a thaw that waits for more than the core is followed so long
_STUDIED: dict[str, Second] = {"dip and spray": 1800.0, "table": 7200.0}  # beyond the time written, to see what comes


def cools(thing: Thing, room: Room) -> bool:
    """Whether the place that is furthest from the temperature of the room is warmer than it."""
    cells = thing.fine.grid.volume > 0
    temperatures = thing.fine.tables.temperature_of(thing.fine_state.heat)[cells]
    return bool(temperatures.max() - room.air > room.air - temperatures.min())


def watch(stage: Stage, falls: bool) -> Watch | None:
    """What the run waits for: of a stage with a window its closing, so that the window is seen whole."""
    from demoule.cold.stay import Watch

    if stage.has_window:
        # A window of the body or of softness may open and close at another time than that of the core.
        if stage.ready is None or stage.ready_body is not None or stage.softened:
            return None
        high = stage.ready[1]
        if stage.until is not None:
            high = max(high, stage.until.temperature)
        return Watch(place="core", temperature=high, falls=False, leave=stage.ready[0])
    if stage.until is not None:
        return Watch(place=stage.until.place, temperature=stage.until.temperature, falls=falls)
    return None


def leaves(stage: Stage) -> Second | None:
    """When the piece is taken out of a stage of a told time [s]; None: when something is reached."""
    return stage.duration if stage.until is None and not stage.has_window else None


def horizon(stage: Stage) -> Second:
    """How long the run may go on [s]."""
    if stage.duration is not None:
        return max(stage.duration, _STUDIED.get(stage.what, 0.0))
    if (stage.ready_body is not None or stage.softened) and stage.at_most is None:
        return _WINDOW
    return _AT_MOST if stage.at_most is None else min(stage.at_most, _AT_MOST)


def ended(track: Track, stage: Stage, room: Room, falls: bool) -> Second | None:
    """When a stage without a window is over [s]; None: its end was not reached."""
    if stage.until is not None:
        until = stage.until
        return reached(track, until.place, until.temperature, falls=falls)
    if stage.duration is not None:
        return stage.duration
    return levelled(track, room.air, _LEVEL)


def ready(
    track: Track, stage: Stage, zones: Callable[[], Zones], ice: Callable[[str], FloatArray]
) -> tuple[Second | None, Second | None]:
    """From when to when core, body and softness are all as they are wanted [s]; None: not within the run.

    Parameters
    ----------
    zones
        Looks at the temperatures by place, which takes time and only some windows need.
    ice
        Share of the volume of a layer that is ice, at the moments of the zones.
    """
    opens: list[Second | None] = []
    closes: list[Second | None] = []
    if stage.ready is not None:
        opens.append(reached(track, "core", stage.ready[0], falls=False))
        closes.append(reached(track, "core", stage.ready[1], falls=False))
    if stage.ready_body is not None:
        low, high = stage.ready_body
        opens.append(first_beyond(zones().time, zones().body, low))
        closes.append(first_beyond(zones().time, zones().body, high))
    for wanted in stage.softened:
        share = ice(wanted.layer)
        opens.append(first_beyond(track.field_times, share, wanted.most, falls=True))
        if wanted.least > 0:
            closes.append(first_beyond(track.field_times, share, wanted.least, falls=True))
    known = [moment for moment in opens if moment is not None]
    opened = max(known, default=None) if len(known) == len(opens) else None
    return opened, min((moment for moment in closes if moment is not None), default=None)
