"""One stage of the programme: the run, the runs with more and less of what is uncertain, and what they say."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from demoule.cold.bands import CONDUCTIVITY_BAND, Band, band
from demoule.cold.bodies import Part
from demoule.cold.programme import Room, Stage
from demoule.cold.readings import at_time, curve_of, levelled, mean_of, reached, stills_of
from demoule.cold.run import StageRun, Window
from demoule.cold.surface import FOIL, Surface, in_series, moisture_table
from demoule.figures import Basis
from demoule.units import Kelvin, Metre, Second

if TYPE_CHECKING:
    from demoule.cold.stay import Air, Body, State, Track, Watch
    from demoule.cold.walls import Side, Wall

__all__ = ["Dress", "Opening", "Thing", "air_of", "run_stage", "sides_of"]

_LEVEL = 0.5  # K: a stage without an end lasts until the piece is so near to its room
_AT_REST = 0.1  # K from the room: the run is over
_AT_MOST: Second = 10 * 86400.0  # nothing that fits a mould takes longer to come to rest
COARSE: Metre = 0.002
_COARSE_TOLERANCE = 0.06  # K, of the runs for bands


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Snapshot:
    """The state of a thing between two stages."""

    fine_state: State
    coarse_state: State
    surface: Kelvin
    dressed: str


@dataclass(slots=True, kw_only=True)
class Thing:
    """What stands in the room, on a fine grid and on a coarse one for bands, with the state it is in on either."""

    parts: tuple[Part, ...]
    fine: Body
    coarse: Body
    fine_state: State
    coarse_state: State
    surface: Kelvin
    dressed: str = ""  # what the walls in the states belong to

    def snapshot(self) -> Snapshot:
        """Where it stands."""
        return Snapshot(
            fine_state=self.fine_state, coarse_state=self.coarse_state, surface=self.surface, dressed=self.dressed
        )

    def restore(self, at: Snapshot) -> None:
        """Put it where it stood."""
        self.fine_state, self.coarse_state = at.fine_state, at.coarse_state
        self.surface, self.dressed = at.surface, at.dressed

    def at(self, snapshot: Snapshot) -> bool:
        """Whether it stands where the snapshot was taken."""
        return self.fine_state is snapshot.fine_state

    @property
    def diameter(self) -> Metre:
        """Of a sphere with the same surface [m]."""
        return float(np.sqrt(self.fine.grid.total_area / np.pi))


@dataclass(frozen=True, slots=True, kw_only=True)
class Dress:
    """What is around it: "mould", "coats" or "bare", its wall, and whether its foot looks into the air bare."""

    name: str
    wall: Wall | None
    open_foot: bool


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Opening:
    """A stage about to begin: the thing as it stands, what is around it, and how hard the room takes its heat."""

    thing: Thing
    stage: Stage
    room: Room
    dress: Dress
    surface: Surface
    assumed: tuple[str, ...]
    basis: tuple[Basis, ...]


def run_stage(
    thing: Thing,
    stage: Stage,
    room: Room,
    dress: Dress,
    surface: Surface,
    *,
    tolerance: float,
    assumed: tuple[str, ...],
    basis: tuple[Basis, ...],
    bands: bool = True,
) -> StageRun:
    """Run a stage, and move the thing's states on to its end; without bands it is run once, for its time alone."""
    air = air_of(room, surface)
    cools = _cools(thing, room)
    keeps_walls = dress.name == thing.dressed

    def run(fine: bool, h: float, k: float) -> Track:
        from demoule.cold.stay import State, stay
        from demoule.cold.walls import faces

        body = thing.fine if fine else thing.coarse
        state = thing.fine_state if fine else thing.coarse_state
        table, start = faces(body.grid, sides_of(stage, dress, surface, h))
        return stay(
            body,
            State(heat=state.heat, wall=state.wall if keeps_walls else start),
            table,
            air,
            until=_watch(stage, cools),
            at_most=_horizon(stage),
            tolerance=tolerance if fine else max(tolerance, _COARSE_TOLERANCE),
            k_factor=k,
            level=_AT_REST,
            ice=fine,
        )

    started = mean_of(thing.fine, thing.fine_state.heat)
    more, less = 1 + surface.band, 1 - surface.band
    k_more, k_less = 1 + CONDUCTIVITY_BAND, 1 - CONDUCTIVITY_BAND
    keys = ((1.0, 1.0), (more, 1.0), (less, 1.0), (1.0, k_more), (1.0, k_less))
    if bands:
        with ThreadPoolExecutor(2) as pool:  # the solver runs without the interpreter's lock
            fine = pool.submit(run, True, 1.0, 1.0)
            trials = dict(zip(keys, pool.map(lambda key: run(False, *key), keys), strict=True))
            track = fine.result()
    else:
        track = run(True, 1.0, 1.0)
        trials = {(1.0, 1.0): track if thing.fine is thing.coarse else run(False, 1.0, 1.0)}
    names = {"surface": f"the surface coefficient of “{room.name}”", "conductivity": "the conductivity of the mixes"}

    def banded(read: Callable[[Track], Second | None]) -> tuple[Second | None, Band]:
        time = read(track)
        if not bands:
            return time, Band(low=None, high=None, weakest="")
        return time, band(
            time,
            lambda h, k: read(trials[(h, k)]),
            surface=surface.band,
            names=names,
            reference=read(trials[(1.0, 1.0)]),
        )

    time, likely = banded(lambda t: _ended(t, stage, room, cools))
    if stage.until is None and stage.ready is None and stage.duration is not None:
        likely = Band(low=None, high=None, weakest=likely.weakest)
    window = None
    if stage.ready is not None:
        low, high = stage.ready
        opens, opening = banded(lambda t: reached(t, "core", low, falls=False))
        closes, closing = banded(lambda t: reached(t, "core", high, falls=False))
        window = Window(
            opens=opens,
            closes=closes,
            opens_low=opening.low,
            opens_high=opening.high,
            closes_low=closing.low,
            closes_high=closing.high,
        )
    end = float(track.time[-1]) if time is None else time
    base = trials[(1.0, 1.0)]
    thing.fine_state, thing.coarse_state = track.state, base.state
    thing.surface, thing.dressed = float(track.surface[-1]), dress.name
    return StageRun(
        stage=stage,
        room=room,
        surface_coefficient=surface.coefficient,
        time=time,
        low=likely.low,
        high=likely.high,
        started_at=started,
        ended=at_time(track, end),
        curve=curve_of(track, thing.parts),
        stills=stills_of(track, thing.fine, end),
        window=window,
        heat=float(np.interp(end, track.time, track.heat)),
        imbalance=track.imbalance,
        weakest=likely.weakest,
        assumed=assumed,
        basis=basis,
    )


def _cools(thing: Thing, room: Room) -> bool:
    """Whether the place that is furthest from the temperature of the room is warmer than it."""
    cells = thing.fine.grid.volume > 0
    temperatures = thing.fine.tables.temperature_of(thing.fine_state.heat)[cells]
    return bool(temperatures.max() - room.air > room.air - temperatures.min())


def _ended(track: Track, stage: Stage, room: Room, cools: bool) -> Second | None:
    """When the stage is over [s]; None: its end was not reached."""
    if stage.until is not None:
        until = stage.until
        return reached(track, until.place, until.temperature, falls=cools)
    if stage.ready is not None:
        return reached(track, "core", stage.ready[0], falls=False)
    if stage.duration is not None:
        return stage.duration
    return levelled(track, room.air, _LEVEL)


def _watch(stage: Stage, cools: bool) -> Watch | None:
    """What the run waits for: of a stage with a window its closing, so that the window is seen whole."""
    from demoule.cold.stay import Watch

    if stage.ready is not None:
        high = stage.ready[1]
        if stage.until is not None:
            high = max(high, stage.until.temperature)
        return Watch(place="core", temperature=high, falls=False)
    if stage.until is not None:
        return Watch(place=stage.until.place, temperature=stage.until.temperature, falls=cools)
    return None


def _horizon(stage: Stage) -> Second:
    """How long the run may go on [s]."""
    if stage.duration is not None:
        return stage.duration
    return _AT_MOST if stage.at_most is None else min(stage.at_most, _AT_MOST)


def air_of(room: Room, surface: Surface) -> Air:
    from demoule.cold.stay import Air

    if room.humidity is None or surface.convective <= 0:
        return Air.steady(room.air)
    low, extra = moisture_table(room.air, room.humidity)
    return Air.damp(room.air, low, extra)


def sides_of(stage: Stage, dress: Dress, surface: Surface, h: float) -> dict[int, Side]:
    from demoule.cold.grid import FOOT, SIDE, TOP
    from demoule.cold.walls import Side

    film, convective = surface.coefficient * h, surface.convective
    side = Side(film=film, wall=dress.wall, convective=convective)
    foot, top = side, side
    contact = None if stage.contact is None else Side(film=stage.contact * h, wall=dress.wall)
    if dress.open_foot:
        # In an open mould the piece lies upside down: its foot looks into the air, what stands on the shelf is its top.
        foot = Side(
            film=in_series(film, FOIL) if stage.covered else film, convective=0.0 if stage.covered else convective
        )
        top = contact or side
    elif contact is not None:
        foot = contact
    return {SIDE: side, FOOT: foot, TOP: top}
