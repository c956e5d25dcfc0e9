"""What one probe log tells of a room: how hard its air takes heat, how cold it is, and how sure that is."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from demoule.cold.bands import CONDUCTIVITY_BAND
from demoule.cold.programme import Room
from demoule.cold.records import Record, checked, shown, smoothed, thinned, within
from demoule.cold.stages import Opening, air_of, sides_of
from demoule.cold.surface import surface_coefficient
from demoule.errors import BadInput
from demoule.figures import Basis, Status, basis_of, published
from demoule.units import FloatArray, Fraction, Kelvin, Second, WattPerSquareMetreKelvin

if TYPE_CHECKING:
    from demoule.cold.stay import Track

__all__ = ["Fitted", "Lesson", "learn_room"]

PLACES = ("core", "centre", "mean", "surface")
"""Where a probe can sit: in the place slowest to follow the room, in the middle on the axis, or at the surface."""

_START_SPREAD = 1.5  # K: how well a chef knows with what temperature a piece went in (judged)
_AIR_SPREAD = 6.0  # K: how far the air of a room may lie from what its file says (judged)
_BODY_SPREAD = 0.5  # of the logarithm, when the log itself is to tell the conductivity
_LEAST_H, _MOST_H = 2.0, 150.0  # W/(m2 K): no air takes heat less or more hard
_LEAST_NOISE = 0.1  # K: a probe is no better
_ROUGH = 0.1  # K, of a computed curve
_WORST_FIT = 1.2  # K
_WORST_SHARE = 0.02  # of the span of the log
_FLOOR = np.array([0.03, 0.25, 0.025, 0.0, 0.0])
"""What no fit knows better: the probe itself is 0.25 K off, shape and mould as measured make 3 % (judged)."""
_VAGUE = 0.5  # a coefficient known no better than this is not known
_OTHER_ROOM = 12.0  # K
_LEAST_WAY = 0.35  # of the way from the start to the air must be seen
_ABOVE_START = 5.0  # K
_PLUNGE: Second = 300.0  # a probe stuck into a piece takes its temperature within this
_SURE = 1.96  # of a normal spread: 95 %
_STARTS = (9.0, 22.0)  # W/(m2 K), from which the fit sets out


@dataclass(frozen=True, slots=True, kw_only=True)
class Fitted:
    """A value that a log taught, with its limits at 95 %."""

    value: float
    low: float
    high: float

    def holds(self, truth: float) -> bool:
        """Whether a value lies within the limits."""
        return self.low <= truth <= self.high


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lesson:
    """What a log taught of a room.

    Parameters
    ----------
    surface, air
        Surface coefficient [W/(m2 K)] and temperature [K].
    body
        Factor on the conductivity of all mixes; None: it was not asked for, and its uncertainty is in the other limits.
    put_in
        When the piece was put in, from the first reading [s]; negative: before.
    scatter
        Of the readings about the computed curve, as a standard deviation [K].
    record, computed
        The readings used, and the temperatures computed at their times [K].
    notes
        What was assumed, cut off or mended, in words.
    """

    room: Room
    stage: str
    place: str
    surface: Fitted
    air: Fitted
    body: Fitted | None
    put_in: Second
    scatter: float
    record: Record
    computed: FloatArray
    notes: tuple[str, ...]
    basis: tuple[Basis, ...]
    runs: int

    @property
    def residuals(self) -> FloatArray:
        """Reading less curve [K]."""
        return np.asarray(self.record.temperature - self.computed)

    @property
    def band(self) -> Fraction:
        """Half the width of the limits of the surface coefficient, as a share of it."""
        return (self.surface.high - self.surface.low) / 2 / self.surface.value


@published(
    gives="surface coefficient and air of a room from a probe log",
    source="beck-arnold-1977",
    valid="one piece of known shape, mix and start; a room that stays as it is",
    error="stated with each log, 95 %; a wrong place of the probe is not in it",
    status=Status.RECALLED,
)
def learn_room(
    opening: Opening,
    record: Record,
    *,
    place: str = "core",
    body: bool = False,
    now: datetime.datetime | None = None,
) -> Lesson:
    """Fit surface coefficient and air of a room to what a probe wrote during one stage.

    Parameters
    ----------
    opening
        The stage about to begin; its room is what is learned.
    record
        Readings, with or without the time before the piece was put in.
    place
        Where the probe sat: "core", "centre", "mean" or "surface".
    body
        Learn the conductivity of the mixes too.
    now
        Against which a record from the future is refused; None: not looked at.

    Raises
    ------
    BadInput
        The log cannot tell, with the reason: too short, nothing that cools, another piece or another room.

    Notes
    -----
    Least squares with what is known beforehand as further readings: the start within 1.5 K, the air within 6 K of the
    file, the conductivity within its band. What is not asked for is fitted too, so its uncertainty is in the limits.
    Limits follow from the Jacobian and the scatter, widened where neighbouring residuals hang together.
    """
    if place not in PLACES:
        raise BadInput(f"A probe cannot sit at “{place}”.", remedy=f"write one of {', '.join(PLACES)}.")
    checked(record, now)
    fit = _Fit(opening, place, body)
    used, notes = fit.part_of(record)
    used = thinned(used)
    rough = [fit.solve(used, fit.guess(used, h)) for h in fit.first_guesses()]
    fit.refine()
    polished = sorted((fit.solve(used, one.values) for one in rough), key=lambda found: found.cost)
    best = polished[0]
    computed = fit.curve(used.time, best.values)
    residuals = used.temperature - computed
    scatter = _scatter(residuals)
    _refuse_misfit(opening, used, residuals, best.values)
    # Where fits from several sides end apart and explain the log alike, the log does not tell between them.
    alike = [one.values - best.values for one in polished if one.cost < 1.08 * best.cost + 3]
    spread = np.hypot(fit.spreads(best, used, residuals), np.abs(alike).max(axis=0) / _SURE)
    lesson = Lesson(
        room=opening.room,
        stage=opening.stage.what,
        place=place,
        surface=_fitted(best.values[0], spread[0], logarithm=True),
        air=_fitted(best.values[1], spread[1]),
        body=_fitted(best.values[2], spread[2], logarithm=True) if body else None,
        put_in=float(best.values[4]),
        scatter=scatter,
        record=used,
        computed=computed,
        notes=(*record.notes, *notes, *fit.assumed()),
        basis=(basis_of(learn_room), *opening.basis),
        runs=fit.runs,
    )
    _refuse_vague(lesson, opening)
    return lesson


@dataclass(slots=True, kw_only=True, eq=False)
class _Found:
    """A fit: log h, air [K], log of the factor on k, shift of the start [K], moment of putting in [s]."""

    values: FloatArray
    cost: float
    jacobian: FloatArray


class _Fit:
    """One stage as a function of what is not known of it."""

    STEPS = np.array([0.08, 0.8, 0.08, 0.8, 60.0])  # wide: the steps of the solver make every curve a little rough

    def __init__(self, opening: Opening, place: str, body: bool) -> None:
        self.opening, self.place, self.body = opening, place, body
        self.grid_body, self.state = opening.thing.coarse, opening.thing.coarse_state
        temperatures = self.grid_body.tables.temperature_of(self.state.heat)[self.grid_body.grid.volume > 0]
        self.cools = bool(temperatures.max() - opening.room.air > opening.room.air - temperatures.min())
        self.runs, self.tolerance = 0, 0.03
        self.horizon: Second = 3600.0
        self.spreads_before = np.array(
            [np.inf, _AIR_SPREAD, _BODY_SPREAD if body else np.log1p(CONDUCTIVITY_BAND) / 2, _START_SPREAD, np.inf]
        )
        self._kept: dict[bytes, tuple[FloatArray, FloatArray]] = {}
        self.start = float(self._place(self._run(np.log(10.0), opening.room.air, 0.0, 0.0, 60.0))[1][0])

    def refine(self) -> None:
        """Go on with the fine grid."""
        self.grid_body, self.state = self.opening.thing.fine, self.opening.thing.fine_state
        self.tolerance = 0.01
        self._kept.clear()

    def assumed(self) -> tuple[str, ...]:
        """What the lesson rests on."""
        where = {"core": "in the place slowest to follow the room", "centre": "in the middle of the piece"}.get(
            self.place, f"at the {self.place}"
        )
        words = [f"the probe sat {where}", f"the piece went in at about {shown(self.start)}"]
        if not self.body:
            words.append("the conductivity of the mixes is known to 20 %")
        return tuple(words)

    def first_guesses(self) -> tuple[float, ...]:
        """Coefficients to set out from."""
        stated = self.opening.surface.coefficient
        return (*_STARTS, stated) if all(abs(np.log(stated / h)) > 0.3 for h in _STARTS) else _STARTS

    def part_of(self, record: Record) -> tuple[Record, list[str]]:
        """The part of a record in which this stage can be seen; raises BadInput when it is another story."""
        air, notes = self.opening.room.air, list[str]()
        sign = 1.0 if self.cools else -1.0
        level = sign * smoothed(record.temperature)  # falls in the course of the stage, whatever its direction
        start, goal = sign * self.start, sign * air
        name, what = record.name, "cools" if self.cools else "warms"
        falls = float((np.maximum.accumulate(level) - level).max())
        rises = float((level - np.minimum.accumulate(level)).max())
        if falls < 0.2 * (start - goal) or rises > 1.5 * falls:
            raise BadInput(
                f"Nothing {what} in “{name}”: it goes from {shown(record.temperature[0])} "
                f"to {shown(record.temperature[-1])}, and {self.opening.stage.what} from {shown(self.start)} "
                f"towards {shown(air)}.",
                remedy="name the stage that was recorded, and the column of the probe in the piece.",
            )
        first = 0
        above = np.flatnonzero(level > start + _ABOVE_START)
        if above.size:
            # A probe that comes out of a warm drawer falls at once; a piece that was warmer falls slowly.
            last = int(above[-1])
            near = np.flatnonzero(level[last:] <= start + 2.0)
            leaves = int(np.flatnonzero(level[: last + 1] > level[: last + 1].max() - 1.0)[-1])
            taken = record.time[last + int(near[0])] - record.time[leaves] if near.size else np.inf
            steps = float(np.median(np.diff(record.time)))
            if taken > max(_PLUNGE, 2.5 * steps):
                raise BadInput(
                    f"“{name}” begins at {shown(sign * float(level[above].max()))}, and the piece goes in at "
                    f"{shown(self.start)}.",
                    remedy="write the temperature at which it was filled into the dessert, or cut the log to the "
                    "stage that is meant.",
                )
            first = last + int(near[0])
            notes.append("readings before the probe had the temperature of the piece were left out")
        lowest = int(level[first:].argmin()) + first
        end = len(level) - 1
        floor = level[lowest]
        back = np.flatnonzero(level[lowest:] > floor + max(1.0, 0.08 * (start - floor)))
        if back.size:
            still = np.flatnonzero(level[: lowest + int(back[0])] <= floor + 0.4)
            end = max(int(still[-1]), lowest)
            notes.append("readings after the piece was taken out were left out")
        used = within(record, float(record.time[first]), float(record.time[end]))
        if len(used.time) < 8 or used.time[-1] - used.time[0] < 300:
            raise BadInput(
                f"Of “{name}” only {(used.time[-1] - used.time[0]) / 60:.0f} min belong to {self.opening.stage.what}.",
                remedy="record the whole stage.",
            )
        way = (float(level[first : end + 1].max()) - float(level[first : end + 1].min())) / max(start - goal, 1.0)
        if way < _LEAST_WAY:
            raise BadInput(
                f"“{name}” is too short to tell: it shows {way:.0%} of the way from {shown(self.start)} to "
                f"{shown(air)}.",
                remedy="record from putting in until the core is hard.",
            )
        self.horizon = float(used.time[-1] - used.time[0])
        return used, notes

    def guess(self, record: Record, h: WattPerSquareMetreKelvin) -> FloatArray:
        """Values to set out from."""
        values = np.array([np.log(h), self._level(record), 0.0, 0.0, 0.0])
        values[4] = self._aligned(record, values)
        return values

    def solve(self, record: Record, guess: FloatArray) -> _Found:
        """The best fit from a first guess."""
        from scipy import optimize  # loads slowly, and only a log needs it

        low = [np.log(_LEAST_H), 175.0, -1.0, -8.0, -48 * 3600.0]
        high = [np.log(_MOST_H), 400.0, 1.0, 8.0, float(record.time[-1])]
        guess = np.clip(guess, np.array(low) + 1e-6, np.array(high) - 1e-6)
        weight = 1 / 0.4  # K; limits are found from the scatter itself afterwards

        def misfit(x: FloatArray) -> FloatArray:
            return self._misfit(record, x, weight)

        def jacobian(x: FloatArray) -> FloatArray:
            return self._jacobian(record, x, weight)

        found = optimize.least_squares(
            misfit,
            guess,
            jac=jacobian,
            bounds=(low, high),
            x_scale=np.array([0.2, 1.0, 0.1, 1.0, 300.0]),
            loss="soft_l1",
            f_scale=3.0,
            max_nfev=10,
            xtol=1e-4,
            ftol=1e-4,
        )
        return _Found(values=found.x, cost=float(found.cost), jacobian=self._jacobian(record, found.x, 1.0))

    def spreads(self, found: _Found, record: Record, residuals: FloatArray) -> FloatArray:
        """Standard deviation of each value."""
        n = len(record.time)
        noise = max(_scatter(residuals), _LEAST_NOISE)
        follow = float(np.clip(np.corrcoef(residuals[1:], residuals[:-1])[0, 1], 0.0, 0.97)) if n > 3 else 0.0
        # What the curve itself is off hangs together over long stretches: an eighth of the log, taken cautiously.
        noise = float(np.sqrt(noise**2 * (1 + follow) / (1 - follow) + _ROUGH**2 * n / 8))
        seen = found.jacobian[:n] / noise
        known = np.diag(1 / self.spreads_before**2)
        information = seen.T @ seen + known
        scale = 1 / np.sqrt(np.maximum(np.diag(information), 1e-300))
        covariance = np.linalg.pinv(information * np.outer(scale, scale), rcond=1e-10) * np.outer(scale, scale)
        return np.asarray(np.sqrt(np.diag(covariance) + _FLOOR**2))

    def curve(self, time: FloatArray, x: FloatArray) -> FloatArray:
        """Temperatures at the times of a record [K]."""
        span = self.horizon + max(0.0, -float(x[4])) + 60.0
        key = np.array([*x[:4], np.ceil(span / 600.0)]).tobytes()
        if key not in self._kept:
            self._kept[key] = self._place(self._run(x[0], x[1], x[2], x[3], 600.0 * np.ceil(span / 600.0)))
        at, values = self._kept[key]
        return np.asarray(np.interp(time - x[4], at, values))

    def _misfit(self, record: Record, x: FloatArray, weight: float) -> FloatArray:
        known = np.isfinite(self.spreads_before)
        off = x - np.array([0.0, self.opening.room.air, 0.0, 0.0, 0.0])
        # Many readings that hang together must not drown what is known beforehand.
        return np.concatenate(
            [(self.curve(record.time, x) - record.temperature) * weight, off[known] / self.spreads_before[known]]
        )

    def _jacobian(self, record: Record, x: FloatArray, weight: float) -> FloatArray:
        columns = []
        for number, step in enumerate(self.STEPS):
            more, less = x.copy(), x.copy()
            more[number] += step
            less[number] -= step
            apart = self._misfit(record, more, weight) - self._misfit(record, less, weight)
            columns.append(apart / (2 * step))
        return np.stack(columns, axis=1)

    def _level(self, record: Record) -> Kelvin:
        """Where the log seems to end: its last reading, when it has come to rest, else what the file says."""
        last = record.temperature[record.time > record.time[-1] - 0.1 * (record.time[-1] - record.time[0])]
        rests = np.ptp(last) < 0.05 * record.span + 0.3
        air = self.opening.room.air
        level = float(np.median(last))
        beyond = level < air if self.cools else level > air
        return level if beyond or (rests and abs(level - air) < _AIR_SPREAD) else air

    def _aligned(self, record: Record, x: FloatArray) -> Second:
        """When the piece went in, so that half the way is gone at the same moment in log and curve."""
        at, values = self._place(self._run(x[0], x[1], x[2], x[3], max(4 * self.horizon, 6 * 3600.0)))
        sign = 1.0 if self.cools else -1.0
        level = sign * record.temperature
        middle = 0.5 * (level.max() + level.min())
        seen = np.flatnonzero(level <= middle)
        computed = np.flatnonzero(sign * values <= middle)
        if not seen.size or not computed.size:
            return 0.0
        return float(record.time[seen[0]] - at[computed[0]])

    def _run(self, log_h: float, air: Kelvin, log_k: float, shift: float, at_most: Second) -> Track:
        from demoule.cold.stay import State, stay
        from demoule.cold.walls import faces

        self.runs += 1
        opening, body = self.opening, self.grid_body
        room = replace(opening.room, air=float(air), surface=float(np.exp(log_h)))
        surface = surface_coefficient(room, opening.thing.diameter, 0.5 * (self.opening.thing.surface + room.air))
        table, start = faces(body.grid, sides_of(opening.stage, opening.dress, surface, 1.0))
        kept = opening.dress.name == opening.thing.dressed
        return stay(
            body,
            State(heat=self._shifted(shift), wall=self.state.wall if kept else start),
            table,
            air_of(room, surface),
            until=None,
            at_most=float(at_most),
            tolerance=self.tolerance,
            k_factor=float(np.exp(log_k)),
            level=0.02,
            ice=False,
        )

    def _shifted(self, shift: float) -> FloatArray:
        """Heat content of every cell when the piece goes in so many kelvin warmer."""
        if shift == 0.0:
            return self.state.heat
        tables = self.grid_body.tables
        temperature = tables.temperature_of(self.state.heat) + shift
        by_layer = np.stack([np.interp(temperature, tables.temperature, row) for row in tables.heat])
        weights = np.moveaxis(tables.parts[tables.make_up], -1, 0)
        return np.asarray(np.where(self.grid_body.grid.volume > 0, (weights * by_layer).sum(axis=0), self.state.heat))

    def _place(self, track: Track) -> tuple[FloatArray, FloatArray]:
        if self.place != "centre":
            return track.time, {"core": track.core, "mean": track.mean, "surface": track.surface}[self.place]
        grid = self.grid_body.grid
        on_axis = np.flatnonzero(grid.volume[0] > 0)
        middle = int(on_axis[len(on_axis) // 2])
        return track.field_times, np.asarray(track.fields[:, 0, middle], dtype=np.float64)


def _fitted(value: float, spread: float, *, logarithm: bool = False) -> Fitted:
    low, high = value - _SURE * spread, value + _SURE * spread
    if logarithm:
        return Fitted(value=float(np.exp(value)), low=float(np.exp(low)), high=float(np.exp(high)))
    return Fitted(value=float(value), low=float(low), high=float(high))


def _scatter(residuals: FloatArray) -> float:
    """Standard deviation by the median, which a few odd readings do not move [K]."""
    return float(1.4826 * np.median(np.abs(residuals - np.median(residuals))))


def _refuse_misfit(opening: Opening, record: Record, residuals: FloatArray, x: FloatArray) -> None:
    stage, room, name = opening.stage.what, opening.room, record.name
    off = float(np.sqrt(np.mean(smoothed(residuals) ** 2)))
    most = max(_WORST_FIT, _WORST_SHARE * record.span)
    if off > most:
        raise BadInput(
            f"“{name}” does not look like {stage} of this piece: the nearest curve lies {off:.1f} K from it.",
            remedy="check that it is the log of this dessert and stage, where the probe sat, and the time column.",
        )
    h, air = float(np.exp(x[0])), float(x[1])
    if abs(air - room.air) > _OTHER_ROOM:
        raise BadInput(
            f"“{name}” tells of air of {shown(air)}; “{room.name}” has {shown(room.air)} in the kitchen file.",
            remedy="name the stage in whose room the log was made, or put the air of the room right.",
        )
    if not 1.05 * _LEAST_H < h < 0.95 * _MOST_H:
        raise BadInput(
            f"To explain “{name}” the air of “{room.name}” would have to take {h:.0f} W/m²K.",
            remedy="check that it is the log of this piece in this room, and the unit of its time column.",
        )


def _refuse_vague(lesson: Lesson, opening: Opening) -> None:
    if lesson.band > _VAGUE:
        raise BadInput(
            f"“{lesson.record.name}” cannot tell how hard “{opening.room.name}” takes heat: anything from "
            f"{lesson.surface.low:.0f} to {lesson.surface.high:.0f} W/m²K would do.",
            remedy="record the whole stage, from putting in until the piece has the temperature of the room.",
        )
    if lesson.body is not None and (lesson.body.high - lesson.body.low) / 2 / lesson.body.value > _VAGUE:
        raise BadInput(
            f"“{lesson.record.name}” cannot tell the conductivity of the mixes apart from the surface coefficient.",
            remedy="learn without the body, or put the probe nearer to the middle of a larger piece.",
        )
