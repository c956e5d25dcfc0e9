"""Whether a heart fits, where it sits best, and how much wall is left around it."""

from __future__ import annotations

import math
from collections.abc import Callable
from copy import copy
from dataclasses import dataclass
from functools import lru_cache
from typing import TypeAlias

import numpy as np
import shapely
from shapely.geometry import LineString, MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from demoule.piece import nearness, solids
from demoule.piece.built import Clearance, Outline
from demoule.piece.solid import Solid, revolved
from demoule.units import FloatArray, Metre

__all__ = ["Form", "Room", "best_height", "largest_that_fits", "room_needed", "sticks_out", "walls"]

Form: TypeAlias = Outline | Solid
"""A body as a section that is turned, or as it is."""

_STEP: Metre = 0.00025  # between the points of a section at which a wall is measured
_COARSE: Metre = 5e-6
_FACETED, _SECTORS = 2e-5, 48  # of a round body beside one that is not: its points lie so near the true line
_STEEP = math.radians(45)  # a wall that rises more than this is at the top, or at the foot


@dataclass(frozen=True, slots=True)
class Room:
    """The hollow a heart is put into: the inside of a cavity or of a larger heart, above the base.

    Where it is not round, `solid` is the hollow itself, and `around` the profile that stands for it in words.
    """

    around: Outline
    base: Outline | None = None
    solid: Solid | None = None

    def scaled(self, factor: float) -> Room:
        """A larger or smaller hollow of the same shape over the same base."""
        solid = None if self.solid is None else self.solid.scaled(factor)
        return Room(solids.scaled(self.around, factor), self.base, solid)

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


def best_height(heart: Form, room: Room) -> tuple[Metre, Metre]:
    """Height of a heart's lowest point at which its smallest wall is greatest, and that wall [m].

    Of equally good heights the one nearest to the middle of the room is taken. A wall below zero tells that the
    heart stands out of the room wherever it is put. Sections are taken with points 5 µm from the true line.

    Parameters
    ----------
    heart
        Standing on height 0.
    """
    if isinstance(heart, Solid) or room.solid is not None:
        return _best_height_of_solid(_solid(heart), room)
    return _best_height_of_round(heart, room)


@lru_cache(maxsize=512)
def _best_height_of_round(heart: Outline, room: Room) -> tuple[Metre, Metre]:
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

    return _highest(wall, floor, top, tall, tries=17, near=1e-7)


def _highest(
    wall: Callable[[float], float], floor: Metre, top: Metre, tall: Metre, *, tries: int, near: Metre
) -> tuple[Metre, Metre]:
    """The height at which a wall is greatest, and that wall."""
    middle = (floor + top - tall) / 2
    tried = np.append(np.linspace(min(floor, middle), max(top - tall, middle), tries), middle)
    found = np.array([wall(up) for up in tried])
    best = float(tried[int(found.argmax())])
    span = max(float(tried[1] - tried[0]), 1e-6)
    from scipy.optimize import minimize_scalar  # loads slowly, and most never ask

    finer = minimize_scalar(
        lambda up: -wall(up), bounds=(best - span, best + span), method="bounded", options={"xatol": near}
    )
    most = max(float(-finer.fun), float(found.max()))
    if found[-1] >= most - 2e-6:
        return middle, float(found[-1])
    return (float(finer.x), most) if -finer.fun >= found.max() else (best, most)


@lru_cache(maxsize=128)
def _best_height_of_solid(heart: Solid, room: Room) -> tuple[Metre, Metre]:
    floor, top = room.levels
    around = _hollow(room)
    places = nearness.places_on(heart)

    def wall(up: float) -> float:
        here = places + np.array([0.0, 0.0, up])
        return min(nearness.least_depth(here, around), _above_base(here, room.base))

    return _highest(wall, floor, top, heart.height, tries=9, near=1e-5)


def _solid(form: Form) -> Solid:
    return form if isinstance(form, Solid) else _turned(form)


@lru_cache(maxsize=128)
def _turned(outline: Outline) -> Solid:
    line = shapely.simplify(solids.line(outline), _FACETED)
    return revolved(tuple((float(r), float(z)) for r, z in line.coords), _SECTORS)


def _hollow(room: Room) -> Solid:
    return _turned(room.around) if room.solid is None else room.solid


def _above_base(places: FloatArray, base: Outline | None) -> Metre:
    """Least distance of places from a base that lies on the foot [m]; below zero inside it."""
    if base is None:
        return math.inf
    wide, tall = max(r for r, _ in base), max(z for _, z in base)
    aside, up = np.hypot(places[:, 0], places[:, 1]) - wide, places[:, 2] - tall
    out = np.hypot(np.maximum(aside, 0.0), np.maximum(up, 0.0))
    return float(np.where((aside > 0) | (up > 0), out, np.maximum(aside, up)).min())


def _lifted(shape: BaseGeometry, up: float) -> BaseGeometry:
    return shapely.set_coordinates(copy(shape), np.add(shapely.get_coordinates(shape), (0.0, up)))


def sticks_out(heart: Form, room: Room) -> Metre:
    """How far a heart reaches beyond the room at most [m]; 0 when it stays inside."""
    if isinstance(heart, Solid) or room.solid is not None:
        places = nearness.places_on(_solid(heart))
        return max(0.0, -min(nearness.least_depth(places, _hollow(room)), _above_base(places, room.base)))
    free = room.polygon
    spots = _spots(solids.line(heart))
    return float(shapely.distance(spots, free).max())


def walls(heart: Form, room: Room) -> tuple[Clearance, ...]:
    """The smallest wall at the top, at the side, at the foot, and from heart to base.

    Directions without a wall (a foot wholly taken by the base) are left out. The body is measured, so a line that
    would run through the base does not count.
    """
    if isinstance(heart, Solid) or room.solid is not None:
        return _walls_of_solid(_solid(heart), room)
    return _walls_of_round(heart, room)


@lru_cache(maxsize=128)
def _walls_of_solid(heart: Solid, room: Room) -> tuple[Clearance, ...]:
    around = _hollow(room)
    length, start, end = nearness.shortest(heart, around)
    if room.base is not None:
        # Lines that would run into the base are none of the body's.
        wide, tall = max(r for r, _ in room.base), max(z for _, z in room.base)
        here = ~((np.hypot(end[:, 0], end[:, 1]) < wide + 1e-4) & (end[:, 2] < tall + 1e-4))
        length, start, end = length[here], start[here], end[here]
    way = end - start
    slope = np.arctan2(way[:, 2], np.hypot(way[:, 0], way[:, 1]))
    found: list[Clearance] = []
    for what, here in (("top", slope > _STEEP), ("side", np.abs(slope) <= _STEEP), ("foot", slope < -_STEEP)):
        some = np.flatnonzero(here)
        if some.size:
            near = some[np.argsort(length[some])[:64]]
            wall, one, other = nearness.measured(start[near], around)
            found.append(Clearance(what=what, wall=wall, start=_aside(one), end=_aside(other)))
    if room.base is not None:
        places = nearness.places_on(heart)
        tall = max(z for _, z in room.base)
        lowest = places[int(places[:, 2].argmin())]
        foot = (_aside(lowest)[0], tall)
        found.append(
            Clearance(what="heart to base", wall=_above_base(places, room.base), start=_aside(lowest), end=foot)
        )
    return tuple(found)


def _aside(point: FloatArray) -> tuple[Metre, Metre]:
    """Distance from the axis, and height."""
    return float(np.hypot(point[0], point[1])), float(point[2])


@lru_cache(maxsize=128)
def _walls_of_round(heart: Outline, room: Room) -> tuple[Clearance, ...]:
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
def largest_that_fits(heart: Form, room: Room, wall: Metre) -> float:
    """Factor on the lengths of a heart, up to 1, with which it leaves `wall` all round; 0 when no crumb does."""

    def spare(factor: float) -> float:
        smaller = heart.scaled(factor) if isinstance(heart, Solid) else solids.scaled(heart, factor)
        return best_height(smaller, room)[1] - wall

    if spare(1.0) >= 0:
        return 1.0
    if spare(0.1) < 0:
        return 0.0
    from scipy.optimize import brentq  # loads slowly, and most never ask

    # A thousandth less, so that what is promised is kept.
    return float(brentq(spare, 0.1, 1.0, xtol=3e-4, rtol=1e-4)) - 0.001


@lru_cache(maxsize=128)
def room_needed(heart: Form, room: Room, wall: Metre) -> float:
    """Factor on the lengths of a cavity, from 1 upwards, that leaves `wall` round the heart; inf if none does."""

    def spare(factor: float) -> float:
        return best_height(heart, room.scaled(factor))[1] - wall

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
