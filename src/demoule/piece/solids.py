"""What a section weighs up to when it is turned about the axis: volumes, surfaces, offsets, cuts.

An `Outline` is the right half of a section as (radius, height) points. It runs from the axis at the foot to the axis
at the top and is closed by the axis. A body with a hole (a ring) is a closed loop instead, its first point again its
last, turning from its lowest point outwards and up. Every function here takes both kinds.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache

import numpy as np
import shapely
from shapely.geometry import LineString, MultiPolygon, Polygon, box

from demoule.errors import BadInput
from demoule.piece.built import Outline
from demoule.units import CubicMetre, FloatArray, Metre, SquareMetre

__all__ = [
    "area",
    "closed",
    "cut_level",
    "height",
    "joined",
    "lateral_area",
    "line",
    "mirrored",
    "offset",
    "outline_of",
    "points",
    "polygon",
    "radii_at",
    "radius_at",
    "scaled",
    "scaled_to_volume",
    "shifted",
    "thickness_of",
    "turned_area",
    "turned_volume",
    "volume",
    "width",
]

_ON_AXIS: Metre = 1e-9
_ARC = 32  # straight pieces in a quarter turn where an offset goes round a corner
_FINE: Metre = 2e-7  # points nearer than this to a straight line are dropped after cutting and offsetting


def outline_of(pairs: Iterable[tuple[float, float]]) -> Outline:
    """An outline from (radius, height) pairs, without points that follow each other in the same place."""
    kept: list[tuple[float, float]] = []
    for r, z in pairs:
        point = (0.0 if abs(r) < _ON_AXIS else float(r), float(z))
        if not kept or abs(point[0] - kept[-1][0]) > _ON_AXIS or abs(point[1] - kept[-1][1]) > _ON_AXIS:
            kept.append(point)
    return tuple(kept)


def closed(outline: Outline) -> bool:
    """Whether the section is a loop that leaves a hole along the axis."""
    return outline[0] == outline[-1]


def points(outline: Outline) -> FloatArray:
    """The outline as an array, shape (n_points, 2): radius, height [m]."""
    return np.array(outline, dtype=float)


def turned_volume(r: FloatArray, z: FloatArray) -> CubicMetre:
    """Volume swept by a closed line turned about the axis, exact for straight pieces (Pappus, frusta of cones)."""
    step = np.diff(z)
    return abs(float(np.pi / 3 * np.sum(step * (r[1:] ** 2 + r[1:] * r[:-1] + r[:-1] ** 2))))


def turned_area(r: FloatArray, z: FloatArray) -> SquareMetre:
    """Surface swept by a line turned about the axis, exact for straight pieces (Pappus, frusta of cones)."""
    return float(np.pi * np.sum((r[1:] + r[:-1]) * np.hypot(np.diff(r), np.diff(z))))


def volume(outline: Outline) -> CubicMetre:
    """Volume of the body [m³]."""
    p = points(outline)
    return turned_volume(p[:, 0], p[:, 1])


def area(outline: Outline) -> SquareMetre:
    """Whole surface of the body, its flat foot included [m²]."""
    p = points(outline)
    return turned_area(p[:, 0], p[:, 1])


def lateral_area(outline: Outline) -> SquareMetre:
    """Surface without a flat foot: what touches the mould of a piece that is filled from its foot [m²]."""
    p = points(outline)
    foot = (np.abs(np.diff(p[:, 1])) < _ON_AXIS) & (p[:-1, 1] < p[:, 1].min() + _ON_AXIS)
    pieces = np.pi * (p[1:, 0] + p[:-1, 0]) * np.hypot(np.diff(p[:, 0]), np.diff(p[:, 1]))
    return float(pieces[~foot].sum())


def height(outline: Outline) -> Metre:
    """From the lowest to the highest point [m]."""
    z = points(outline)[:, 1]
    return float(z.max() - z.min())


def width(outline: Outline) -> Metre:
    """Greatest diameter [m]."""
    return 2 * float(points(outline)[:, 0].max())


def shifted(outline: Outline, up: Metre) -> Outline:
    """The same section, `up` metres higher."""
    return tuple((r, z + up) for r, z in outline)


def scaled(outline: Outline, factor: float) -> Outline:
    """The same shape, every length times `factor`, about the point where the axis meets height 0."""
    return tuple((r * factor, z * factor) for r, z in outline)


def scaled_to_volume(outline: Outline, wanted: CubicMetre) -> tuple[Outline, float]:
    """The same shape with another volume, and the factor by which each length changed."""
    factor = (wanted / volume(outline)) ** (1 / 3)
    return scaled(outline, factor), factor


def joined(outline: Outline) -> Outline:
    """Two such bodies put together foot to foot; the joint lies at half height."""
    p = points(outline)
    top = p[:, 1].max()
    foot = p[:, 1].min()
    if closed(outline):
        ring = polygon(shifted(outline, -foot))
        both = shapely.union(ring, shapely.affinity.scale(ring, yfact=-1, origin=(0, 0)))
        return shifted(from_polygon(both), top - foot)
    upper = [(r, z - foot) for r, z in outline if not (abs(r) < _ON_AXIS and abs(z - foot) < _ON_AXIS)]
    lower = [(r, -z) for r, z in reversed(upper)]
    return shifted(outline_of([*lower, *upper]), top - foot)


def polygon(outline: Outline) -> Polygon:
    """The right half of the section as a polygon, closed along the axis."""
    return Polygon(points(outline))


def line(outline: Outline) -> LineString:
    """The outer boundary as a line, without the axis."""
    return LineString(points(outline))


def mirrored(outline: Outline) -> Polygon | MultiPolygon:
    """The whole section, left and right of the axis."""
    p = points(outline)
    left = p * (-1.0, 1.0)
    if closed(outline):
        return MultiPolygon([Polygon(left), Polygon(p)])
    return Polygon(np.vstack([p, left[-2:0:-1]]))


@lru_cache(maxsize=64)  # a skin is the same around another heart
def offset(outline: Outline, distance: Metre) -> Outline:
    """The surface that lies everywhere `distance` outside the body; inside it when negative.

    Outward corners become round, as a coat makes them.

    Raises
    ------
    BadInput
        When nothing is left inside.
    """
    return _offset(outline, distance)


def _offset(outline: Outline, distance: Metre) -> Outline:
    if distance == 0:
        return outline
    grown = mirrored(outline).buffer(distance, quad_segs=_ARC)
    half = grown if grown.is_empty else shapely.intersection(grown, _right_half(grown))
    if half.is_empty:
        raise BadInput(
            f"Nothing is left {-1000 * distance:.1f} mm inside a body of {1000 * width(outline):.1f} mm.",
            remedy="take a smaller distance.",
        )
    return from_polygon(half)


@lru_cache(maxsize=64)
def thickness_of(outline: Outline, coat: CubicMetre) -> Metre:
    """Thickness of an even coat of a volume [m³] around the body [m]; the inverse of `offset` and `volume`."""
    if coat < 0:
        raise BadInput("A coat cannot have a negative volume.", remedy="give a mass above zero.")
    if coat == 0:
        return 0.0
    bare = volume(outline)

    def over(thickness: Metre) -> CubicMetre:
        return volume(_offset(outline, thickness)) - bare - coat

    # The volume of a coat grows nearly straight with its thickness: chords find it in a few tries.
    before, missed = 0.0, -coat
    thickness = coat / area(outline)
    for _ in range(20):
        value = over(thickness)
        if abs(value) <= 1e-7 * coat or value == missed:
            return thickness
        chord = (value - missed) / (thickness - before)
        before, missed = thickness, value
        thickness = max(thickness - value / chord, 0.5 * thickness) if chord > 0 else 1.5 * thickness
    return thickness


def cut_level(outline: Outline, kept: CubicMetre) -> Outline:
    """What is left of a body when it is cut level so that `kept` m³ remain on top: a cavity not filled to its rim.

    A cavity hangs upside down in its tray, so what is not filled is missing at the foot. The rest stands on height 0.
    """
    whole = volume(outline)
    if not kept > 0:
        raise BadInput("A heart needs a volume above zero.", remedy="give how much goes into the cavity.")
    if kept >= whole:
        return shifted(outline, -min(z for _, z in outline))
    shape = polygon(outline)
    low, high = shape.bounds[1], shape.bounds[3]
    reach = shape.bounds[2] + 1.0

    def above(level: float) -> Outline:
        return from_polygon(shapely.intersection(shape, box(-1.0, level, reach, high + 1.0)))

    from scipy.optimize import brentq  # loads slowly, and most never ask

    level = brentq(lambda z: volume(above(z)) - kept, low, high - 1e-6, xtol=1e-9)
    return shifted(above(float(level)), -float(level))


def radius_at(outline: Outline, level: Metre) -> Metre:
    """Greatest radius of the body at a height [m]; 0 where there is none."""
    return float(radii_at(outline, np.array([level]))[0])


def radii_at(outline: Outline, levels: FloatArray) -> FloatArray:
    """Greatest radius of the body at each of some heights [m], shape (n_levels,); 0 where there is none."""
    p = points(outline)
    at = levels[:, None]
    low, high = np.minimum(p[:-1, 1], p[1:, 1]), np.maximum(p[:-1, 1], p[1:, 1])
    crossing = (low <= at) & (at <= high)
    step = p[1:, 1] - p[:-1, 1]
    share = np.where(np.abs(step) > 0, (at - p[:-1, 1]) / np.where(step == 0, 1.0, step), 1.0)
    r = p[:-1, 0] + share * (p[1:, 0] - p[:-1, 0])
    flat = np.where(step == 0, np.maximum(p[:-1, 0], p[1:, 0]), r)
    return np.asarray(np.where(crossing, flat, 0.0).max(axis=1, initial=0.0))


def _right_half(shape: Polygon | MultiPolygon) -> Polygon:
    _, low, reach, high = shape.bounds
    return box(0.0, low - 1.0, reach + 1.0, high + 1.0)


def from_polygon(shape: Polygon | MultiPolygon) -> Outline:
    """The outline of the largest part of a polygon in the right half plane."""
    parts = [part for part in shapely.get_parts(shape) if isinstance(part, Polygon) and not part.is_empty]
    if not parts:
        raise BadInput("Nothing is left of the shape.", remedy="look at its sizes.")
    largest = max(parts, key=lambda part: part.area)
    return _from_ring(np.asarray(largest.exterior.coords, dtype=float)[:-1])


def _from_ring(ring: FloatArray) -> Outline:
    signed = float(np.sum(ring[:, 0] * np.roll(ring[:, 1], -1) - np.roll(ring[:, 0], -1) * ring[:, 1]))
    if signed < 0:
        ring = ring[::-1]  # counter-clockwise: along the foot outwards, up, and back along the top
    on_axis = np.flatnonzero(np.abs(ring[:, 0]) < _ON_AXIS)
    if len(on_axis) < 2:
        start = int(np.lexsort((ring[:, 0], ring[:, 1]))[0])
        looped = np.roll(ring, -start, axis=0)
        return _thinned(np.vstack([looped, looped[:1]]))
    low = int(on_axis[np.argmin(ring[on_axis, 1])])
    turned = np.roll(ring, -low, axis=0)
    ends = np.flatnonzero(np.abs(turned[:, 0]) < _ON_AXIS)
    top = int(ends[np.argmax(turned[ends, 1])])
    return _thinned(turned[: top + 1])


def _thinned(pairs: FloatArray) -> Outline:
    kept = shapely.get_coordinates(LineString(pairs).simplify(_FINE, preserve_topology=False))
    kept[np.abs(kept[:, 0]) < _ON_AXIS, 0] = 0.0
    apart = (np.abs(np.diff(kept, axis=0)) > _ON_AXIS).any(axis=1)
    return tuple(map(tuple, kept[np.concatenate([[True], apart])].tolist()))
