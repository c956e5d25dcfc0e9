"""A freezer with a whole making in it at once: its machine takes only so much heat, and its air warms meanwhile."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from demoule.cold.airing import air_over_time
from demoule.cold.programme import Room
from demoule.cold.readings import reached
from demoule.cold.run import Loaded, Mark
from demoule.cold.stages import Opening, air_of, sides_of
from demoule.errors import BadInput
from demoule.figures import Status, published
from demoule.units import FloatArray, Joule, Kelvin, Second, Watt

if TYPE_CHECKING:
    from demoule.cold.stay import State, Track

__all__ = ["Machine", "load", "machine_of"]

_RATED_HEAT = 500e3  # J/kg of a mix of two thirds water from +70 to −18 °C, the cycle of a rating (judged)
_PEAK = 1.3  # heat taken at full work over the mean of a rating cycle (judged)
_CARNOT = 0.4  # of the ideal coefficient of performance that a small machine reaches (judged)
_COIL, _OUTSIDE = 8.0, 313.15  # K that the coil is colder than the air; condenser [K] (judged)
_NET = 0.8  # of what the machine takes, the rest goes to fans and walls (judged)
_SLOPE = 0.03  # more capacity per kelvin of warmer air (recalled, of small compressors)
_DROOP = 3.0  # K above the set temperature at which the machine is at full work (judged)
_ROOM_HEAT, _LEVEL_HEAT, _LEVELS = 5e3, 3e3, 8.0  # J/K of lining and coil, and of each level with its rack (judged)
_BAND = 0.30  # of the capacity
_EVERY: Second = 30.0  # of the room's balance
_STEP: Second = 120.0  # at most, of a piece in air that changes
_FIRST_LOOK: Second = 3 * 3600.0  # of a load whose pieces alone do not get there
_LOOKED, _LEAST_LOOK = 2.0, 600.0  # times as long as one piece alone; at least [s]
_MOST_TIMES, _MOST_TURNS = 3000, 40
_NEAR = 0.03  # K between two turns
_LONGEST: Second = 2 * 86400.0
MOST_PIECES = 100_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Machine:
    """What takes the heat out of a room.

    Parameters
    ----------
    capacity
        Heat that it takes at full work from air of the set temperature, fans and walls already off [W].
    heat_capacity
        Of the room's air, lining and racks [J/K].
    said
        Where the capacity comes from, in words.
    """

    capacity: Watt
    heat_capacity: float
    said: str

    def takes(self, above: float) -> Watt:
        """Heat taken when the air is so many kelvin above the set temperature [W].

        In proportion until full work, then slowly more with the density of what the compressor draws.
        """
        if above <= 0:
            return 0.0
        return min(self.capacity * (1 + _SLOPE * _DROOP) * above / _DROOP, self.capacity * (1 + _SLOPE * above))


def machine_of(room: Room) -> Machine | None:
    """The machine of a freezer: its capacity as told, else from its rating, else from its power; None: nothing told.

    Raises
    ------
    BadInput
        A capacity that is not above zero.

    Examples
    --------
    >>> round(machine_of(Room(name="blast", air=237.15, rated_mass=15.0, rated_time=4 * 3600.0)).capacity)
    677
    """
    heat_capacity = _ROOM_HEAT + _LEVEL_HEAT * (room.levels or _LEVELS)
    if room.capacity is not None:
        capacity, said = room.capacity, f"“{room.name}” takes {room.capacity:.0f} W as told"
    elif room.rated_mass is not None and room.rated_time is not None:
        capacity = _PEAK * room.rated_mass * _RATED_HEAT / room.rated_time
        said = f"“{room.name}” takes {capacity:.0f} W, worked out from its rating"
    elif room.power is not None:
        coil = room.air - _COIL
        capacity = _NET * _CARNOT * coil / (_OUTSIDE - coil) * room.power
        said = f"“{room.name}” takes {capacity:.0f} W, worked out from its electric power"
    else:
        return None
    if not (capacity > 0 and np.isfinite(capacity)):
        raise BadInput(
            f"“{room.name}” cannot take {capacity:g} W of heat.",
            remedy="give its capacity above zero, or leave it out: a small blast freezer takes 500 to 1500 W.",
        )
    return Machine(capacity=capacity, heat_capacity=heat_capacity, said=said)


@published(
    gives="hours with a whole making in the freezer at once",
    source="judged",
    valid="one load put in at once, every piece in the same air",
    error="capacity 30 %; the air of a full rack is not the same everywhere",
    status=Status.PRACTICE,
)
def load(
    opening: Opening,
    pieces: int,
    trays: int,
    alone: Mark,
    *,
    kitchen_air: Kelvin = 295.15,
    tolerance: float = 0.12,
    bands: bool = True,
) -> Loaded | None:
    """A hardening stage with many pieces in the room at once.

    Parameters
    ----------
    opening
        The stage about to begin, of one piece.
    pieces, trays
        In the room at once.
    alone
        The time of one piece alone with its band; the load's band widens it by that of the capacity.

    Returns
    -------
    Loaded or None
        None where nothing is known of the machine.

    Notes
    -----
    The room's balance, C dT/dt = heat of the pieces − heat taken by the machine, and the pieces' own run in that air
    are taken in turns until the air no longer moves. In the balance the pieces answer a change of the air with their
    surface, so that the turns close in even when the load is far beyond the machine.
    """
    machine = machine_of(opening.room)
    if machine is None:
        return None
    if not (0 < pieces <= MOST_PIECES and trays > 0):
        raise BadInput(f"{pieces} pieces cannot be frozen at once.", remedy=f"give 1 to {MOST_PIECES} pieces.")
    meets = _meets(opening)
    look = _FIRST_LOOK if alone.time is None else _EVERY * np.ceil(max(_LOOKED * alone.time, _LEAST_LOOK) / _EVERY)
    run = _together(meets, pieces, machine, kitchen_air, tolerance, first_look=float(look))
    low = high = None
    single = _together(meets, 0, machine, kitchen_air, tolerance, first_look=float(look))
    time = None
    if run.time is not None and single.time is not None and alone.time is not None and single.time > 0:
        scale = alone.time / single.time  # the coarse grid's hair of difference goes out
        time = run.time * scale
        if bands:
            strong, weak = (
                _together(
                    meets, pieces, replace(machine, capacity=machine.capacity * f), kitchen_air, tolerance, like=run
                ).time
                for f in (1 + _BAND, 1 - _BAND)
            )
            low = time
            if alone.low is not None and strong is not None:
                low = time * (1 - float(np.hypot(1 - alone.low / alone.time, 1 - strong / run.time)))
            if alone.high is not None and weak is not None:
                high = time * (1 + float(np.hypot(alone.high / alone.time - 1, weak / run.time - 1)))
    return Loaded(
        trays=trays,
        pieces=pieces,
        time=time,
        low=low,
        high=high,
        clock=run.clock,
        air=run.air,
        warmest=float(run.air.max()),
        capacity=machine.capacity,
        heat=run.given,
        imbalance=run.imbalance,
        assumed=(
            machine.said,
            f"all {trays} trays go in at once and every piece meets the same air",
            "trays and racks stand in the cold before",
        ),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Meets:
    """An opening with what the faces of its coarse body meet, and the state it comes in."""

    opening: Opening
    faces: FloatArray
    state: State


def _meets(opening: Opening) -> _Meets:
    from demoule.cold.stay import State
    from demoule.cold.walls import faces

    thing = opening.thing
    table, start = faces(thing.coarse.grid, sides_of(opening.stage, opening.dress, opening.surface, 1.0))
    wall = thing.coarse_state.wall if opening.dress.name == thing.dressed else start
    return _Meets(opening=opening, faces=table, state=State(heat=thing.coarse_state.heat, wall=wall))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Together:
    time: Second | None
    clock: FloatArray
    air: FloatArray
    rise: FloatArray
    horizon: Second
    given: Joule
    imbalance: float


def _together(
    meets: _Meets,
    pieces: int,
    machine: Machine,
    kitchen_air: Kelvin,
    tolerance: float,
    *,
    first_look: Second = _FIRST_LOOK,
    like: _Together | None = None,
) -> _Together:
    """Pieces and room in turns, the first in the air of a load `like` it; without pieces, one in air as set."""
    opening = meets.opening
    stage = opening.stage
    times, jumping = air_over_time(stage, opening.room, kitchen_air)
    most = min(stage.duration or stage.at_most or _LONGEST, _LONGEST)
    horizon = most if stage.duration is not None else min(most, first_look)
    if like is not None:
        horizon = like.horizon
    while True:
        steps = min(max(int(np.ceil(horizon / _EVERY)), 1), _MOST_TIMES)
        clock = np.linspace(0.0, horizon, steps + 1)
        base = np.interp(clock, times, jumping)
        rise = like.rise if like is not None and len(like.rise) == len(clock) else np.zeros_like(clock)
        track = _run(meets, clock, base + rise, tolerance)
        for _ in range(_MOST_TURNS if pieces else 0):
            heat = -pieces * np.interp(clock, track.time, track.heat)
            new = _warmed(np.diff(heat), clock, rise, machine, _answer(opening, pieces), kitchen_air - base)
            moved = float(np.abs(new - rise)[clock <= track.time[-1]].max())
            rise = new
            if moved < _NEAR:
                break
            track = _run(meets, clock, base + rise, tolerance)
        met = _met(opening, track)
        if met is not None or horizon >= most:
            break
        horizon = min(most, 3 * horizon)
    n = max(int(np.searchsorted(clock, track.time[-1] if met is None else met, side="right")) - 1, 1)
    given = -pieces * float(np.interp(clock[n], track.time, track.heat))
    taken = float(sum(machine.takes(x) * dt for x, dt in zip(rise[1 : n + 1], np.diff(clock)[:n], strict=True)))
    kept = machine.heat_capacity * float(rise[n])
    return _Together(
        time=met,
        clock=clock[: n + 1],
        air=(base + rise)[: n + 1],
        rise=rise,
        horizon=horizon,
        given=given,
        imbalance=abs(given - taken - kept) / max(abs(given), 1e-9) if pieces else 0.0,
    )


def _met(opening: Opening, track: Track) -> Second | None:
    """When the stage is over for the piece [s]; None: not within the run."""
    stage = opening.stage
    if stage.until is None:
        return stage.duration
    return reached(track, stage.until.place, stage.until.temperature, falls=True)


def _run(meets: _Meets, clock: FloatArray, air: FloatArray, tolerance: float) -> Track:
    """One piece in air that changes, on the coarse grid."""
    from demoule.cold.stay import Watch, stay

    opening = meets.opening
    until = opening.stage.until
    return stay(
        opening.thing.coarse,
        meets.state,
        meets.faces,
        air_of(opening.room, opening.surface, (clock, air)),
        until=None if until is None else Watch(place=until.place, temperature=until.temperature, falls=True),
        at_most=float(clock[-1]),
        tolerance=tolerance,
        longest=_STEP,
        level=0.0,
        ice=False,
    )


def _answer(opening: Opening, pieces: int) -> float:
    """By how much the heat of all pieces falls at most when the air warms by a kelvin [W/K]."""
    return pieces * opening.surface.coefficient * opening.thing.coarse.grid.total_area


def _warmed(
    heat: FloatArray, clock: FloatArray, before: FloatArray, machine: Machine, answer: float, most: FloatArray
) -> FloatArray:
    """By how much the air is warmer than set at each time [K], from the heat let into it in each interval [J].

    Implicit steps: what the machine takes rises with the air in two straight pieces, so that each is solved exactly.
    `before` is the rise in which the heat was given off; where the air is warmer than that, the pieces give less.
    """
    steep = machine.takes(_DROOP) / _DROOP
    flat = machine.capacity * _SLOPE
    warm, rise = 0.0, [0.0]
    steps = zip(heat.tolist(), np.diff(clock).tolist(), before[1:].tolist(), most[1:].tolist(), strict=True)
    for let_in, dt, met, warmest in steps:  # plain numbers: one at a time, arrays are slower
        own = machine.heat_capacity / dt + answer
        drive = machine.heat_capacity / dt * warm + let_in / dt + answer * met
        warm = drive / (own + steep) if drive > 0 else drive / own
        if warm > _DROOP:
            warm = (drive - machine.capacity) / (own + flat)
        warm = min(warm, warmest)
        rise.append(warm)
    return np.array(rise)
