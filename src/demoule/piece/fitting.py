"""Whether a heart fits, where it sits best, and how much wall is left around it."""

from __future__ import annotations

import math
from copy import copy
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely
from shapely.geometry import LineString, MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from demoule.piece import solids
from demoule.piece.built import Clearance, Outline
from demoule.units import FloatArray, Metre

__all__ = ["Room", "best_height", "largest_that_fits", "room_needed", "sticks_out", "walls"]

_STEP: Metre = 0.00025  # between the points of a section at which a wall is measured
_COARSE: Metre = 5e-6
_STEEP = math.radians(45)  # a wall that rises more than this is at the top, or at the foot


@dataclass(frozen=True, slots=True)
class Room:
    """The hollow a heart is put into: the inside of a cavity or of a larger heart, above the base."""

    around: Outline
    base: Outline | None = None

    @property
    def polygon(self) -> Polygon | MultiPolygon:
        """Right half of the section of the free room."""
        whole = solids.polygon(self.around)
        return whole if self.base is None else whole.difference(solids.polygon(self.base))

    @property
    def boundary(self) -> shapely.Geometry:
        """Everything a heart must keep away from, without the axis."""
        lines = [solids.line(self.around)]
        if self.base is not None:
            lines.append(solids.line(self.base))
        return shapely.union_all(lines)

    @property
    def levels(self) -> tuple[Metre, Metre]:
        """Lowest and highest point of the free room."""
        z = [z for _, z in self.around]
        floor = min(z) if self.base is None else max(z for _, z in self.base)
        return floor, max(z)


@lru_cache(maxsize=512)
def best_height(heart: Outline, room: Room) -> tuple[Metre, Metre]:
    """Height of a heart's lowest point at which its smallest wall is greatest, and that wall [m].

    Of equally good heights the one nearest to the middle of the room is taken. A wall below zero tells that the
    heart stands out of the room wherever it is put. Sections are taken with points 5 µm from the true line.

    Parameters
    ----------
    heart
        Standing on height 0.
    """
    line = shapely.simplify(solids.line(heart), _COARSE)
    shape = shapely.simplify(solids.polygon(heart), _COARSE)
    free, boundary = room.polygon, shapely.simplify(room.boundary, _COARSE)
    shapely.prepare(free)
    floor, top = room.levels
    tall = solids.height(heart)

    def wall(up: float) -> float:
        here = _lifted(shape, up)
        if free.covers(here):
            return float(shapely.distance(_lifted(line, up), boundary))
        return -math.sqrt(here.difference(free).area) - 1e-9

    middle = (floor + top - tall) / 2
    tried = np.append(np.linspace(min(floor, middle), max(top - tall, middle), 17), middle)
    found = np.array([wall(up) for up in tried])
    best = float(tried[int(found.argmax())])
    span = max(float(tried[1] - tried[0]), 1e-6)
    from scipy.optimize import minimize_scalar  # loads slowly, and most never ask

    finer = minimize_scalar(
        lambda up: -wall(up), bounds=(best - span, best + span), method="bounded", options={"xatol": 1e-7}
    )
    most = max(float(-finer.fun), float(found.max()))
    if found[-1] >= most - 2e-6:
        return middle, float(found[-1])
    return (float(finer.x), most) if -finer.fun >= found.max() else (best, most)


def _lifted(shape: BaseGeometry, up: float) -> BaseGeometry:
    return shapely.set_coordinates(copy(shape), np.add(shapely.get_coordinates(shape), (0.0, up)))


def sticks_out(heart: Outline, room: Room) -> Metre:
    """How far a heart reaches beyond the room at most [m]; 0 when it stays inside."""
    free = room.polygon
    spots = _spots(solids.line(heart))
    return float(shapely.distance(spots, free).max())


@lru_cache(maxsize=128)
def walls(heart: Outline, room: Room) -> tuple[Clearance, ...]:
    """The smallest wall at the top, at the side, at the foot, and from heart to base.

    Directions without a wall (a foot wholly taken by the base) are left out. The body is measured, so a line that
    would run through the base does not count.
    """
    heart_line, around = solids.line(heart), solids.line(room.around)
    lines = _shortest(heart_line, around)
    found: list[Clearance] = []
    base = None if room.base is None else solids.mirrored(room.base)
    if base is not None:
        lines = lines[~shapely.intersects(shapely.segmentize(lines, _STEP), base.buffer(-1e-6))]
    start, end = _ends(lines)
    rise = np.arctan2(end[:, 1] - start[:, 1], end[:, 0] - start[:, 0])
    # A wall that leads inwards (a ring) is a side as well: only its slope counts.
    slope = np.arctan2(np.sin(rise), np.abs(np.cos(rise)))
    for what, here, pure in (
        ("top", slope > _STEEP, slope > math.radians(85)),
        ("side", np.abs(slope) <= _STEEP, np.abs(slope) < math.radians(5)),
        ("foot", slope < -_STEEP, slope < -math.radians(85)),
    ):
        if here.any():
            thinnest = np.flatnonzero(here)[int(shapely.length(lines[here]).argmin())]
            # At the edge of its direction it is only the flank of a thinner wall beside it: measure straight instead.
            flank = abs(abs(slope[thinnest]) - _STEEP) < math.radians(3)
            chosen = pure if flank else here
            if chosen.any():
                found.append(_clearance(what, lines[chosen]))
    if room.base is not None:
        found.append(_clearance("heart to base", _shortest(heart_line, solids.line(room.base))))
    return tuple(found)


@lru_cache(maxsize=128)
def largest_that_fits(heart: Outline, room: Room, wall: Metre) -> float:
    """Factor on the lengths of a heart, up to 1, with which it leaves `wall` all round; 0 when no crumb does."""

    def spare(factor: float) -> float:
        return best_height(solids.scaled(heart, factor), room)[1] - wall

    if spare(1.0) >= 0:
        return 1.0
    if spare(0.1) < 0:
        return 0.0
    from scipy.optimize import brentq  # loads slowly, and most never ask

    # A thousandth less, so that what is promised is kept.
    return float(brentq(spare, 0.1, 1.0, xtol=3e-4, rtol=1e-4)) - 0.001


@lru_cache(maxsize=128)
def room_needed(heart: Outline, room: Room, wall: Metre) -> float:
    """Factor on the lengths of a cavity, from 1 upwards, that leaves `wall` round the heart; inf if none does."""

    def spare(factor: float) -> float:
        return best_height(heart, Room(solids.scaled(room.around, factor), room.base))[1] - wall

    if spare(1.0) >= 0:
        return 1.0
    high = 1.25
    while spare(high) < 0 and high < 20:
        high *= 1.5
    if spare(high) < 0:
        return math.inf
    from scipy.optimize import brentq  # loads slowly, and most never ask

    return float(brentq(spare, 1.0, high, xtol=3e-4, rtol=1e-4)) + 0.001


def _spots(line: LineString) -> FloatArray:
    return np.asarray(shapely.points(shapely.get_coordinates(shapely.segmentize(line, _STEP))))


def _shortest(inner: LineString, outer: LineString) -> FloatArray:
    """Shortest lines between two boundaries from many points of each, inner end first."""
    out = shapely.shortest_line(_spots(inner), outer)
    back = shapely.reverse(shapely.shortest_line(_spots(outer), inner))
    return np.concatenate([out, back])


def _ends(lines: FloatArray) -> tuple[FloatArray, FloatArray]:
    ends = shapely.get_coordinates(lines).reshape(len(lines), 2, 2)
    return ends[:, 0], ends[:, 1]


def _clearance(what: str, lines: FloatArray) -> Clearance:
    length = shapely.length(lines)
    # Among walls that are equally thin (parallel faces) the one nearest to the axis is shown.
    near = np.flatnonzero(length <= length.min() + 1e-7)
    start, end = _ends(lines[near])
    shown = int(start[:, 0].argmin())
    return Clearance(
        what=what,
        wall=float(length.min()),
        start=(float(start[shown, 0]), float(start[shown, 1])),
        end=(float(end[shown, 0]), float(end[shown, 1])),
    )
