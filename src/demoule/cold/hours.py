"""The hours of a piece and nothing beside them: only what they hang on is run, once, on the coarse grid."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from demoule.cold import ends
from demoule.cold.airing import SHORT_STEP, air_over_time, has_pulses
from demoule.cold.life import Life
from demoule.cold.programme import HARDENING, Programme, Room, Stage
from demoule.cold.readings import at_time, ice_volumes, zones_of
from demoule.cold.run import Curve, StageRun, Window
from demoule.cold.stages import COARSE, Opening, air_of, begun
from demoule.errors import DemouleError
from demoule.memory import Memory
from demoule.units import FloatArray, Kelvin, Second

if TYPE_CHECKING:
    from demoule.formula.cooked import Cooked
    from demoule.piece import Piece

__all__ = ["hours_of"]

_TOLERANCE = 0.1  # K, of the time stepping: hours lie within 1 % of those of the whole life on the fine grid
_FINER = 0.5  # of that, for a window, whose end the piece nears slowly; it lies within 5 %
_NOTHING: FloatArray = np.zeros(0)
_NO_CURVE = Curve(time=_NOTHING, core=_NOTHING, mean=_NOTHING, surface=_NOTHING, heart_ice=_NOTHING, body_ice=_NOTHING)


def hours_of(
    piece: Piece,
    cooked: Mapping[str, Cooked],
    programme: Programme,
    rooms: Sequence[Room],
    *,
    filled_at: Mapping[str, Kelvin],
    kitchen_air: Kelvin,
    memory: Memory,
    airs: tuple[Kelvin, ...] = (),
) -> Mapping[str, Second | None]:
    """Time of each stage by its name, and of the window to eat as "window" [s]; None: not reached.

    Parameters
    ----------
    memory
        Where stages are kept; a variant runs only those that it reaches.
    airs
        Coldest and warmest of all rooms that will be asked for beside these: the look-ups then serve for all.

    Notes
    -----
    A piece that is kept until it has the air of its room starts from there into the thaw, whatever it went through
    before; how it is evened out, dipped and left on the table after the thaw is not run.
    """
    found: dict[str, Second | None] = {}
    quick = replace(programme, grid=COARSE, tolerance=_TOLERANCE)
    for part, filled in _parts(quick, piece, rooms, filled_at):
        life = _Hours(piece, cooked, part, rooms, filled, kitchen_air, memory, bands=False)
        life.airs = airs
        for stage in part.stages:
            try:
                run = life.run(stage)
            except DemouleError as error:
                raise error.at(stage.where or f"cold, {stage.what}") from None
            if run is None:
                continue
            found[stage.what] = run.time
            window = run.window
            if window is not None and window.opens is not None and window.closes is not None:
                found["window"] = window.closes - window.opens
    return found


def _parts(
    programme: Programme, piece: Piece, rooms: Sequence[Room], filled_at: Mapping[str, Kelvin]
) -> Iterator[tuple[Programme, Mapping[str, Kelvin]]]:
    """The stages whose hours are asked for, in parts that do not hang on each other, and what each starts from."""
    stages = list(programme.stages)
    while stages and not (stages[-1].what in HARDENING or stages[-1].has_window):
        stages.pop()
    airs = {room.name: room.air for room in rooms}
    for at in range(len(stages) - 1, -1, -1):
        kept, after = stages[at], stages[at + 1 :]
        if _levels(kept) and after and all(stage.what == "thaw" for stage in after):
            before = stages[:at]
            while before and before[-1].what not in HARDENING:
                before.pop()
            if before:
                yield replace(programme, stages=tuple(before)), filled_at
            air = kept.own_room.air if kept.own_room is not None else airs.get(kept.room)
            if air is not None:
                yield replace(programme, stages=tuple(after)), {layer.component: air for layer in piece.layers}
                return
    yield replace(programme, stages=tuple(stages)), filled_at


def _levels(stage: Stage) -> bool:
    """Whether it lasts until the piece has the air of the room."""
    return stage.what == "keep" and stage.until is None and stage.duration is None and not stage.has_window


class _Hours(Life):
    """The piece on its way, of which nothing but the hours is read."""

    airs: tuple[Kelvin, ...] = ()

    def all_airs(self) -> list[Kelvin]:
        """Of the rooms of all variants."""
        return [*super().all_airs(), *self.airs]

    def stay(self, opening: Opening) -> StageRun:
        """One stage, run once."""
        from demoule.cold.stay import LONGEST, stay

        thing, stage, room, dress, surface = opening.thing, opening.stage, opening.room, opening.dress, opening.surface
        damp = replace(room, humidity=None) if stage.covered and dress.name != "mould" else room
        falls = ends.cools(thing, room)
        table, state = begun(thing, False, stage, dress, surface)
        track = stay(
            thing.coarse,
            state,
            table,
            air_of(damp, surface, air_over_time(stage, room, self.kitchen_air)),
            until=ends.watch(stage, falls),
            at_most=ends.horizon(stage),
            tolerance=self.programme.tolerance * (_FINER if stage.has_window else 1.0),
            level=ends.AT_REST,
            ice=False,
            longest=SHORT_STEP if has_pulses(stage, room) else LONGEST,
        )
        opens, closes = ends.ready(
            track,
            stage,
            lambda: zones_of(track, thing.coarse, thing.parts),
            lambda layer: ice_volumes(track, thing.coarse, thing.parts, layer),
        )
        time = opens if stage.has_window and stage.until is None else ends.ended(track, stage, room, falls)
        thing.fine_state = thing.coarse_state = track.state
        thing.surface, thing.dressed = float(track.surface[-1]), dress.name
        return StageRun(
            stage=stage,
            room=room,
            surface_coefficient=surface.coefficient,
            time=time,
            low=None,
            high=None,
            started_at=float(track.mean[0]),
            ended=at_time(track, float(track.time[-1]) if time is None else time),
            curve=_NO_CURVE,
            stills=(),
            window=Window(opens=opens, closes=closes) if stage.has_window else None,
            heat=float(track.heat[-1]),
            imbalance=track.imbalance,
            weakest="",
            assumed=(),
            basis=(),
        )
