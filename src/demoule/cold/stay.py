"""One stay of one body in one room: from the state it comes with to the state it leaves with."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from demoule.cold import solver
from demoule.cold.grid import Grid
from demoule.cold.matter import Matter
from demoule.cold.surface import MOIST_STEP
from demoule.cold.tables import SPACING, Tables, tables_for
from demoule.errors import BadInput
from demoule.units import FloatArray, Joule, Kelvin, Second

__all__ = ["Air", "Body", "State", "Track", "Watch", "body_of", "stay"]

MOST_STEPS = 20_000
LONGEST: Second = 600.0
LEVEL = 0.01  # K
_FIELDS, _FEWEST_FIELDS, _FIELD_NUMBERS = 96, 24, 15_000_000  # kept of a stay: at most, at least, numbers in all
_NEAR = 1.0  # K: closer than this to a target on the freezing plateau steps are kept short


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Body:
    """A body cut into cells, with the look-ups of what it is made of."""

    grid: Grid
    matters: tuple[Matter, ...]
    tables: Tables
    cells: solver.Cells

    @property
    def coldest(self) -> Kelvin:
        """Lower end of the look-ups [K]."""
        return float(self.tables.temperature[0])


@dataclass(slots=True, kw_only=True, eq=False)
class State:
    """Heat content of every cell [J/m3], and temperature of the wall behind every face [K] (NaN without a wall)."""

    heat: FloatArray
    wall: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Air:
    """Air of a room over time, and what its moisture adds.

    `moist` is the extra air temperature from moisture that settles, at equal steps of surface temperature from
    `moist_low` [K] in steps of `moist_step`; empty: dry.
    """

    temperature: FloatArray
    times: FloatArray
    moist: FloatArray
    moist_low: Kelvin = 200.0
    moist_step: float = 1.0

    @classmethod
    def damp(cls, temperature: Kelvin, low: Kelvin, moist: FloatArray) -> Air:
        """Air of one temperature, with what its moisture adds by temperature of the surface, from `low` [K] on."""
        return cls(
            temperature=np.array([temperature]),
            times=np.zeros(1),
            moist=moist,
            moist_low=low,
            moist_step=MOIST_STEP,
        )

    def for_solver(self) -> solver.RoomAir:
        """As the solver takes it."""
        return solver.RoomAir(self.times, self.temperature, self.moist, self.moist_low, 1 / self.moist_step)

    @classmethod
    def steady(cls, temperature: Kelvin) -> Air:
        """Dry air of one temperature."""
        return cls(temperature=np.array([temperature]), times=np.zeros(1), moist=np.zeros(0))


@dataclass(frozen=True, slots=True, kw_only=True)
class Watch:
    """The end to wait for: "core", "mean" or "surface" reaches a temperature, from above when `falls`.

    At `leave` [K], met before, the body is left as it then stands, and the run goes on.
    """

    place: str
    temperature: Kelvin
    falls: bool
    leave: Kelvin | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Track:
    """What a stay gave.

    Parameters
    ----------
    time, core, mean, surface, heat
        Per step: seconds, kelvin, and joules through the surface since the start.
    ice
        Share of each layer's mass that is ice, shape (n_layers, n_times).
    fields, field_times
        Temperatures [K] at some of the steps, shape (n_fields, n_r, n_z).
    met
        When the watched temperature was reached [s]; None: not.
    stopped
        "reached", "levelled", "out of time" or "too many steps".
    imbalance
        Heat through the surface less the change of heat content, over the larger of the two.
    left, left_state
        When the body was left [s] though the run went on, and as what; None: not.
    """

    time: FloatArray
    core: FloatArray
    mean: FloatArray
    surface: FloatArray
    heat: FloatArray
    ice: FloatArray
    fields: npt.NDArray[np.float32]
    field_times: FloatArray
    met: Second | None
    stopped: str
    state: State
    imbalance: float
    gained: Joule
    steps: int
    left: Second | None = None
    left_state: State | None = None


_PLACES = {"core": 1, "mean": 2, "surface": 3}
_STOPPED = {
    solver.ENDED: "reached",
    solver.LEVELLED: "levelled",
    solver.OUT_OF_TIME: "out of time",
    solver.FULL: "too many steps",
}


def body_of(
    grid: Grid,
    matters: Sequence[Matter],
    low: Kelvin,
    high: Kelvin,
    *,
    smooth: bool = True,
    spacing: float = SPACING,
    masses: Sequence[float | None] = (),
) -> Body:
    """A body ready to be run between two temperatures [K].

    `masses` [kg] override density times volume, so that a piece holds what was weighed into it.
    """
    if not (np.isfinite([low, high]).all() and low > 0):
        raise BadInput(
            f"A temperature of {low - 273.15:.0f} °C lies below absolute zero.", remedy="check the sign and the unit."
        )
    volumes = grid.shares.sum(axis=(1, 2))
    wanted = [*masses, *[None] * (len(matters) - len(masses))]
    densities = np.array(
        [
            matter.density if weighed is None or volume == 0 else weighed / volume
            for matter, volume, weighed in zip(matters, volumes, wanted, strict=True)
        ]
    )
    tables = tables_for(matters, densities, grid.shares, low, high, smooth=smooth, spacing=spacing)
    mass = densities[:, None, None] * grid.shares
    used = grid.volume > 0
    cells = solver.Cells(
        grid.volume, grid.radial, grid.beside, grid.axial, grid.across, grid.step, mass, tables.make_up, *_span(used)
    )
    return Body(grid=grid, matters=tuple(matters), tables=tables, cells=cells)


def _span(used: npt.NDArray[np.bool_]) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.int64]]:
    """First cell used in each column, and the one after the last."""
    some = used.any(axis=1)
    first = np.where(some, used.argmax(axis=1), 0)
    last = np.where(some, used.shape[1] - used[:, ::-1].argmax(axis=1), 0)
    return first.astype(np.int64), last.astype(np.int64)


def stay(
    body: Body,
    state: State,
    faces: FloatArray,
    air: Air,
    *,
    until: Watch | None,
    at_most: Second,
    tolerance: float = 0.03,
    k_factor: float = 1.0,
    longest: Second = LONGEST,
    level: float = LEVEL,
    ice: bool = True,
    leave: Second | None = None,
) -> Track:
    """Move heat until the end is reached, nothing moves any more, or the time is over; `state` is left as it was.

    Parameters
    ----------
    faces
        Of `walls.faces`.
    at_most
        Seconds.
    tolerance
        Error allowed per step [K].
    k_factor
        On every conductivity of the body.
    level
        How near to the air everything must be to count as at rest [K].
    ice
        Whether to follow the ice of each layer.
    leave
        When the body is left as it then stands, though the run goes on [s].
    """
    grid, tables = body.grid, body.tables
    if not (at_most > 0 and np.isfinite(at_most)):
        raise BadInput("The time of a stage must be above zero.", remedy="give a time such as 12 h.")
    n_layers = len(body.matters)
    heat = state.heat.copy()
    has_wall = faces[:, 6] > 0
    wall = np.where(has_wall, state.wall, 0.0)
    before = float((grid.volume * heat).sum()) + float((faces[:, 6] * wall).sum())
    most = min(MOST_STEPS, 4000 + int(at_most / longest))
    log = np.empty((most + 1, 5 + n_layers))
    n_fields = min(_FIELDS, max(_FEWEST_FIELDS, _FIELD_NUMBERS // grid.volume.size))
    fields = np.empty((n_fields, *grid.volume.shape), dtype=np.float32)
    field_rows = np.empty(n_fields, dtype=np.int64)
    left_heat, left_wall = np.empty_like(heat), np.empty_like(wall)
    code, met, through, n_log, n_fields, steps, left = solver.march(
        body.cells,
        tables.lookups(k_factor, ice=ice),
        solver.Faces(np.stack([grid.face_r, grid.face_z], axis=1), faces),
        air.for_solver(),
        solver.End(
            time=float(at_most),
            tolerance=float(tolerance),
            longest=float(longest),
            watch=0 if until is None else _PLACES[until.place],
            target=0.0 if until is None else float(until.temperature),
            falls=until is not None and until.falls,
            near=_near(body, until),
            most_steps=most,
            level=float(level),
            leave_time=np.inf if leave is None else float(leave),
            leave_at=np.nan if until is None or until.leave is None else float(until.leave),
        ),
        heat,
        wall,
        log,
        fields,
        field_rows,
        left_heat,
        left_wall,
    )
    log = log[:n_log].copy()
    gained = float((grid.volume * heat).sum()) + float((faces[:, 6] * wall).sum()) - before
    scale = max(abs(through), abs(gained), 1e-12)
    return Track(
        time=log[:, 0],
        core=log[:, 1],
        mean=log[:, 2],
        surface=log[:, 3],
        heat=log[:, 4],
        ice=log[:, 5:].T,
        fields=fields[:n_fields],
        field_times=log[field_rows[:n_fields], 0],
        met=None if np.isnan(met) else float(met),
        stopped=_STOPPED[code],
        state=State(heat=heat, wall=np.where(has_wall, wall, np.nan)),
        imbalance=abs(through - gained) / scale,
        gained=through,
        steps=steps,
        left=None if np.isnan(left) else float(left),
        left_state=None if np.isnan(left) else State(heat=left_heat, wall=np.where(has_wall, left_wall, np.nan)),
    )


def _near(body: Body, until: Watch | None) -> float:
    """How close to a target steps are kept short; 0 where no freezing plateau lies near it."""
    if until is None:
        return 0.0
    points = [m.freezing_point for m in body.matters if m.freezing_point is not None]
    return _NEAR if any(abs(until.temperature - point) < _NEAR for point in points) else 0.0
