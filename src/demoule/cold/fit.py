"""One stage as a function of what is not known of it, fitted to what a probe wrote; and how far the fit may be off."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from demoule.cold.records import Record, shown, smoothed, within
from demoule.cold.stages import Opening, air_of, sides_of
from demoule.cold.surface import surface_coefficient
from demoule.errors import BadInput
from demoule.units import ZERO_CELSIUS, FloatArray, Kelvin, Second, WattPerSquareMetreKelvin

if TYPE_CHECKING:
    from demoule.cold.stay import Track

__all__ = ["LEAST_H", "MOST_H", "Fit", "Found", "Way", "degrees_hint", "scatter_of"]

_START_SPREAD = 1.5  # K: how well a chef knows with what temperature a piece went in (judged)
_AIR_SPREAD = 6.0  # K: how far the air of a room may lie from what its file says (judged)
_BODY_SPREAD = 0.5  # of the logarithm, when the log itself is to tell the conductivity
LEAST_H, MOST_H = 2.0, 150.0  # W/(m2 K): no air takes heat less or more hard
_LEAST_NOISE = 0.1  # K: a probe is no better
_ROUGH = 0.1  # K, of a computed curve
_FLOOR = np.array([0.03, 0.25, 0.025, 0.0, 0.0])
"""What no fit knows better: the probe itself is 0.25 K off, shape and mould as measured make 3 % (judged)."""
_LEAST_WAY = 0.35  # of the way from the start to the air must be seen
_ABOVE_START = 5.0  # K
_PLUNGE: Second = 300.0  # a probe stuck into a piece takes its temperature within this
_SURE = 1.96  # of a normal spread: 95 %
_RISE = _SURE**2 / 2  # of half a sum of squares, at the ends of that
_SMALLEST, _LARGEST, _MOST_STRIDES = 0.02, 0.25, 8  # strides of the logarithm of the coefficient
_OTHER_DEGREES = 4.0  # K from the start of the piece, with °C for °F or the other way
_STARTS = (9.0, 22.0)  # W/(m2 K), from which the fit sets out


@dataclass(slots=True, kw_only=True, eq=False)
class Found:
    """A fit: log h, air [K], log of the factor on k, shift of the start [K], moment of putting in [s]."""

    values: FloatArray
    cost: float
    jacobian: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """Best fits for coefficients on both sides of the best one, and how much worse each explains the log.

    Parameters
    ----------
    values
        In order of the coefficient, shape (n, 5); the best among them.
    rise
        Of half the sum of squares over that of the best, shape (n,).
    spread
        Standard deviation of each value where the coefficient is known.
    """

    values: FloatArray
    rise: FloatArray
    spread: FloatArray

    @property
    def best(self) -> FloatArray:
        """The values that explain the log best."""
        return np.asarray(self.values[int(np.argmin(self.rise))])

    def limits(self, finest: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Lower and upper limit of each value at 95 %, around the values of the finest fit."""
        middle = int(np.argmin(self.rise))
        low, high = np.zeros(5), np.zeros(5)
        # The coefficient itself: where the rise passes what chance makes; its root grows evenly.
        root = np.sqrt(np.maximum(self.rise, 0.0))
        for side, side_of in ((low, slice(middle, None, -1)), (high, slice(middle, None))):
            away = np.abs(self.values[side_of, 0] - self.values[middle, 0])
            side[0] = np.interp(np.sqrt(_RISE), root[side_of], away) if len(away) > 1 else 0.0
        # What goes with it, from the fits that the log does not contradict.
        left = np.sqrt(np.clip(1 - self.rise / _RISE, 0.0, 1.0))[:, None] * _SURE * self.spread
        held = self.rise <= _RISE
        apart = self.values - self.values[middle]
        low[1:] = -(apart - left)[held].min(axis=0)[1:]
        high[1:] = (apart + left)[held].max(axis=0)[1:]
        return finest - np.hypot(low, _SURE * _FLOOR), finest + np.hypot(high, _SURE * _FLOOR)


class Fit:
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
            [np.inf, _AIR_SPREAD, _BODY_SPREAD if body else np.log1p(opening.conductivity) / 2, _START_SPREAD, np.inf]
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
            words.append(f"the conductivity of the mixes is known to {100 * self.opening.conductivity:.0f} %")
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
                remedy=degrees_hint(record, self.start)
                or "name the stage that was recorded, and the column of the probe in the piece.",
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
                    remedy=degrees_hint(record, self.start)
                    or "write the temperature at which it was filled into the dessert, or cut the log to the "
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

    def along(self, record: Record, best: Found) -> Way:
        """Move the coefficient to both sides of the best one and fit everything else again."""
        noise = self.noise(record, record.temperature - self.curve(record.time, best.values))
        best = self.solve(record, best.values, noise=noise)
        found = {float(best.values[0]): best}
        step = float(np.clip(self.spreads(best)[0], _SMALLEST, _LARGEST))
        for sign in (1.0, -1.0):
            at, values = float(best.values[0]), best.values
            stride = step
            for _ in range(_MOST_STRIDES):
                at += sign * stride
                if not np.log(LEAST_H) < at < np.log(MOST_H):
                    break
                one = self.solve(record, np.array([at, *values[1:]]), noise=noise, held=True)
                found[at], values = one, one.values
                rise = one.cost - min(other.cost for other in found.values())
                if rise > 1.2 * _RISE:
                    break
                stride = min(stride * (2.0 if rise < 0.2 * _RISE else 1.0), _LARGEST)
        order = [found[at] for at in sorted(found)]
        costs = np.array([one.cost for one in order])
        least = order[int(np.argmin(costs))]
        return Way(
            values=np.stack([one.values for one in order]),
            rise=costs - costs.min(),
            spread=self.spreads(least, given_h=True),
        )

    def solve(self, record: Record, guess: FloatArray, *, noise: float = 0.4, held: bool = False) -> Found:
        """The best fit from a first guess, with the coefficient held or not.

        `noise` is the standard deviation of a reading [K].
        """
        from scipy import optimize  # loads slowly, and only a log needs it

        free = slice(1, None) if held else slice(None)
        low = np.array([np.log(LEAST_H), 175.0, -1.0, -8.0, -48 * 3600.0])
        high = np.array([np.log(MOST_H), 400.0, 1.0, 8.0, float(record.time[-1])])
        guess = np.clip(guess, low + 1e-6, high - 1e-6)

        def whole(x: FloatArray) -> FloatArray:
            return np.concatenate([guess[:1], x]) if held else x

        def misfit(x: FloatArray) -> FloatArray:
            return self._misfit(record, whole(x), 1 / noise)

        def jacobian(x: FloatArray) -> FloatArray:
            return np.asarray(self._jacobian(record, whole(x), 1 / noise)[:, free])

        found = optimize.least_squares(
            misfit,
            guess[free],
            jac=jacobian,
            bounds=(low[free], high[free]),
            x_scale=np.array([0.2, 1.0, 0.1, 1.0, 300.0])[free],
            loss="soft_l1",
            f_scale=3.0,
            max_nfev=10,
            xtol=1e-4,
            ftol=1e-4,
        )
        values = whole(found.x)
        return Found(values=values, cost=float(found.cost), jacobian=self._jacobian(record, values, 1 / noise))

    def noise(self, record: Record, residuals: FloatArray) -> float:
        """Standard deviation of a reading as one that tells something by itself [K]."""
        n = len(record.time)
        noise = max(scatter_of(residuals), _LEAST_NOISE)
        follow = float(np.clip(np.corrcoef(residuals[1:], residuals[:-1])[0, 1], 0.0, 0.97)) if n > 3 else 0.0
        # What the curve itself is off hangs together over long stretches: an eighth of the log, taken cautiously.
        return float(np.sqrt(noise**2 * (1 + follow) / (1 - follow) + _ROUGH**2 * n / 8))

    @staticmethod
    def spreads(found: Found, *, given_h: bool = False) -> FloatArray:
        """Standard deviation of each value, or of each but the coefficient when that is known."""
        jacobian = found.jacobian[:, 1:] if given_h else found.jacobian
        information = jacobian.T @ jacobian
        scale = 1 / np.sqrt(np.maximum(np.diag(information), 1e-300))
        covariance = np.linalg.pinv(information * np.outer(scale, scale), rcond=1e-10) * np.outer(scale, scale)
        spread = np.sqrt(np.diag(covariance))
        return np.concatenate([[0.0], spread]) if given_h else spread

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
        on_axis = np.flatnonzero(grid.volume[grid.axis] > 0)
        middle = int(on_axis[len(on_axis) // 2])
        return track.field_times, np.asarray(track.fields[:, grid.axis, middle], dtype=np.float64)


def scatter_of(residuals: FloatArray) -> float:
    """Standard deviation by the median, which a few odd readings do not move [K]."""
    return float(1.4826 * np.median(np.abs(residuals - np.median(residuals))))


def degrees_hint(record: Record, start: Kelvin) -> str:
    """What to do when a log begins where the piece does only with the other degrees; empty: it does not."""
    begins = record.temperature[:3] - ZERO_CELSIUS
    apart = float(np.abs(begins + ZERO_CELSIUS - start).min())
    for scale, others in (("F", (begins - 32) / 1.8), ("C", 1.8 * begins + 32)):
        if float(np.abs(others + ZERO_CELSIUS - start).min()) < min(_OTHER_DEGREES, apart / 4):
            return f"it begins with the piece if its degrees are °{scale}: say so with --degrees {scale}."
    return ""
