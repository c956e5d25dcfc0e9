"""One stage of the programme: the run, the runs with more and less of what is uncertain, and what they say."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from functools import cache
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from demoule.cold import ends
from demoule.cold.airing import SHORT_STEP, air_over_time, has_pulses
from demoule.cold.bands import CONDUCTIVITY_BAND, Band, band
from demoule.cold.bodies import Part
from demoule.cold.film import film_on
from demoule.cold.marks import SLUMPS, marks_of
from demoule.cold.programme import Room, Stage
from demoule.cold.readings import (
    at_time,
    curve_of,
    ice_volumes,
    mean_of,
    outer_cells,
    stills_of,
    zones_of,
)
from demoule.cold.run import StageRun, Window, Zones
from demoule.cold.surface import FOIL, Surface, in_series, moisture_table
from demoule.cold.swing import swing_of
from demoule.figures import Basis
from demoule.units import FloatArray, Fraction, Joule, Kelvin, Metre, Second

if TYPE_CHECKING:
    from demoule.cold.stay import Air, Body, State, Track
    from demoule.cold.walls import Side, Wall

__all__ = ["Dress", "Opening", "Thing", "air_of", "begun", "run_stage", "sides_of"]

COARSE: Metre = 0.002
_WARMS_FIRST: Metre = 0.003  # depth that the warmth of a coat reaches while it sets, half a minute (judged)
_COARSE_TOLERANCE = 0.12  # K, of the runs for bands, whose differences alone count


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

    def take(self, heat: Joule) -> None:
        """Let heat into the outer millimetres: that of a coat laid on [J]."""
        from demoule.cold.stay import State

        for name in ("fine", "coarse"):
            body: Body = getattr(self, name)
            state: State = getattr(self, f"{name}_state")
            outer = outer_cells(body, max(_WARMS_FIRST, 1.5 * body.grid.step))
            warmed = _levelled_up(body, state.heat, outer, heat)
            setattr(self, f"{name}_state", State(heat=warmed, wall=state.wall))
        self.surface = self._skin()

    def _skin(self) -> Kelvin:
        """Temperature of the cells at the surface, by area [K]."""
        grid = self.fine.grid
        temperatures = self.fine.tables.temperature_of(self.fine_state.heat)[grid.face_r, grid.face_z]
        return float((temperatures * grid.face_area).sum() / grid.total_area)


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
    conductivity: Fraction = CONDUCTIVITY_BAND  # how far that of the mixes may lie either way


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
    stills: int = 5,
    kitchen_air: Kelvin = 295.15,
    best: tuple[Kelvin, Kelvin] = (275.15, SLUMPS),
    conductivity: Fraction = CONDUCTIVITY_BAND,
) -> StageRun:
    """Run a stage, and move the thing's states on to its end; without bands it is run once, for its time alone.

    `best` are core and mean of the body from which on a piece on the table is past its best, `conductivity` how far
    that of the mixes may lie either way.
    """
    damp = replace(room, humidity=None) if stage.covered and dress.name != "mould" else room
    air = air_of(damp, surface, air_over_time(stage, room, kitchen_air))
    jumps = has_pulses(stage, room)
    falls = ends.cools(thing, room)
    leave = ends.leaves(stage)

    @cache
    def sided(fine: bool, h: float) -> tuple[FloatArray, State]:
        return begun(thing, fine, stage, dress, surface, h)

    def run(fine: bool, h: float, k: float, to: Second | None = None) -> Track:
        from demoule.cold.stay import LONGEST, stay

        table, state = sided(fine, h)
        return stay(
            thing.fine if fine else thing.coarse,
            state,
            table,
            air,
            until=ends.watch(stage, falls) if to is None else None,
            at_most=ends.horizon(stage) if to is None else to,
            tolerance=tolerance if fine else max(tolerance, _COARSE_TOLERANCE),
            k_factor=k,
            level=ends.AT_REST if to is None else 0.0,
            ice=fine,
            longest=SHORT_STEP if jumps else LONGEST,
            leave=leave if to is None else None,
        )

    started = mean_of(thing.fine, thing.fine_state.heat)
    same = thing.fine is thing.coarse
    more, less = 1 + surface.band, 1 - surface.band
    keys = ((1.0, 1.0), (more, 1.0), (less, 1.0), (1.0, 1 + conductivity), (1.0, 1 - conductivity))
    if bands:
        # Two long stays of the solver, which holds no lock; more threads would only wait for each other in between.
        with ThreadPoolExecutor(1) as pool:
            coming = pool.submit(lambda: {key: run(False, *key) for key in keys})
            track = run(True, 1.0, 1.0)
            trials = coming.result()
    else:
        track = run(True, 1.0, 1.0)
        trials = {keys[0]: track if same else run(False, *keys[0])}
    names = {"surface": f"the surface coefficient of “{room.name}”", "conductivity": "the conductivity of the mixes"}

    def banded(read: Callable[[Track], Second | None]) -> tuple[Second | None, Band]:
        time = read(track)
        if not bands:
            return time, Band(low=None, high=None, weakest="")
        return time, band(
            time,
            lambda h, k: read(trials[(h, k)]),
            surface=surface.band,
            conductivity=conductivity,
            names=names,
            reference=read(trials[(1.0, 1.0)]),
        )

    looked: dict[int, Zones] = {}

    def zones(t: Track) -> Zones:
        if id(t) not in looked:
            looked[id(t)] = zones_of(t, thing.fine if t is track else thing.coarse, thing.parts)
        return looked[id(t)]

    def ice(t: Track, layer: str) -> FloatArray:
        return ice_volumes(t, thing.fine if t is track else thing.coarse, thing.parts, layer)

    @cache
    def ready(t: Track) -> tuple[Second | None, Second | None]:
        return ends.ready(t, stage, lambda: zones(t), lambda layer: ice(t, layer))

    window = None
    if stage.has_window:
        opens, opening = banded(lambda t: ready(t)[0])
        closes, closing = banded(lambda t: ready(t)[1])
        window = Window(
            opens=opens,
            closes=closes,
            opens_low=opening.low,
            opens_high=opening.high,
            closes_low=closing.low,
            closes_high=closing.high,
        )
    if window is not None and stage.until is None:
        time, likely = opens, opening
    else:
        time, likely = banded(lambda t: ends.ended(t, stage, room, falls))
    if stage.until is None and not stage.has_window and stage.duration is not None:
        likely = Band(low=None, high=None, weakest=likely.weakest)
    end = float(track.time[-1]) if time is None else time
    base = trials[(1.0, 1.0)]
    curve, kept = curve_of(track, thing.parts), stills_of(track, thing.fine, end, stills)
    place, heat = at_time(track, end), float(np.interp(end, track.time, track.heat))
    film = film_on(track.time, track.surface, stage, room, surface, thing.diameter) if dress.name != "mould" else None
    marks = marks_of(stage, banded, zones, film, best, undipped=dress.name == "bare")
    regions = zones(track)
    fine_state, coarse_state, skin, imbalance = track.state, base.state, float(track.surface[-1]), track.imbalance
    taken_out = stage.until is None and (stage.has_window or stage.duration is not None)
    if taken_out and time is not None and 0 < time < track.time[-1] * (1 - 1e-9):
        # The run went on, to see what comes; the piece is taken out at the end of the stage.
        skin = place[2]
        if track.left == time and track.left_state is not None and base.left_state is not None:
            fine_state, coarse_state = track.left_state, base.left_state
        else:  # it ends where two places are ready, which no run can see coming
            again = run(True, 1.0, 1.0, time)
            fine_state, imbalance = again.state, max(imbalance, again.imbalance)
            coarse_state = fine_state if same else run(False, 1.0, 1.0, time).state
    swing = None
    if stage.what == "keep":
        swing = swing_of(thing.coarse, sided(False, 1.0)[0], air_of(damp, surface), stage, room, kitchen_air)
    thing.fine_state, thing.coarse_state = fine_state, coarse_state
    thing.surface, thing.dressed = skin, dress.name
    return StageRun(
        stage=stage,
        room=room,
        surface_coefficient=surface.coefficient,
        time=time,
        low=likely.low,
        high=likely.high,
        started_at=started,
        ended=place,
        curve=curve,
        stills=kept,
        window=window,
        heat=heat,
        imbalance=imbalance,
        weakest=likely.weakest,
        assumed=assumed,
        basis=basis,
        marks=marks,
        zones=regions,
        film=film,
        swing=swing,
    )


def _levelled_up(body: Body, heat: FloatArray, cells: npt.NDArray[np.bool_], gained: Joule) -> FloatArray:
    """Heat content when some cells are brought to one temperature by so much heat; the colder they are, the more."""
    volume = np.where(cells, body.grid.volume, 0.0)
    low, high = float(body.tables.temperature[0]), float(body.tables.temperature[-1])
    same = len(body.matters)

    def at(temperature: Kelvin) -> FloatArray:
        return np.where(cells, np.maximum(heat, body.tables.heat_at([temperature] * same)), heat)

    for _ in range(20):
        middle = 0.5 * (low + high)
        if float((volume * (at(middle) - heat)).sum()) < gained:
            low = middle
        else:
            high = middle
    warmed = at(high)
    # What the bisection leaves, and what the warmest place cannot hold, goes to all of them.
    left = gained - float((volume * (warmed - heat)).sum())
    total = float(volume.sum())
    return warmed + np.where(cells, left / total, 0.0) if total > 0 else warmed


def begun(
    thing: Thing, fine: bool, stage: Stage, dress: Dress, surface: Surface, h: float = 1.0
) -> tuple[FloatArray, State]:
    """What the faces of the fine or the coarse body meet, and the state it comes in."""
    from demoule.cold.stay import State
    from demoule.cold.walls import faces

    body, state = (thing.fine, thing.fine_state) if fine else (thing.coarse, thing.coarse_state)
    table, start = faces(body.grid, sides_of(stage, dress, surface, h))
    return table, state if dress.name == thing.dressed else State(heat=state.heat, wall=start)


def air_of(room: Room, surface: Surface, over_time: tuple[FloatArray, FloatArray] | None = None) -> Air:
    """The air of a room as the solver takes it, with its moisture; its temperature by time where that is given."""
    from demoule.cold.stay import Air

    air = Air.steady(room.air)
    if room.humidity is not None and surface.convective > 0:
        low, extra = moisture_table(room.air, room.humidity)
        air = Air.damp(room.air, low, extra)
    if over_time is not None:
        times, temperature = over_time
        air = replace(air, times=times, temperature=temperature)
    return air


def sides_of(stage: Stage, dress: Dress, surface: Surface, h: float) -> dict[int, Side]:
    """What side, foot and top of a thing meet in a stage; `h` is a factor on every coefficient."""
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
