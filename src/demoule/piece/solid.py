"""A body that is not round, by its closed surface of triangles: what it measures, and how it is cut, moved and joined.

It stands upright on height 0, the axis through the middle of its volume. Where only a section turned about the axis
will do, its profile stands for it: at each height the circle of the same area.
"""

from __future__ import annotations

import hashlib
import math
from dataclasses import dataclass, field
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import MultiPolygon, Polygon

from demoule.errors import BadInput
from demoule.units import CubicMetre, FloatArray, Metre, SquareMetre

if TYPE_CHECKING:
    from demoule.piece.built import Outline

__all__ = [
    "UP",
    "Solid",
    "centre_of",
    "end_radius",
    "faces_of",
    "frame_of",
    "plane_cut",
    "revolved",
    "signed_area",
    "upright",
]

IntArray = npt.NDArray[np.int64]

UP: dict[str, tuple[float, float, float]] = {
    "x": (1.0, 0.0, 0.0),
    "y": (0.0, 1.0, 0.0),
    "z": (0.0, 0.0, 1.0),
    "-x": (-1.0, 0.0, 0.0),
    "-y": (0.0, -1.0, 0.0),
    "-z": (0.0, 0.0, -1.0),
}
"""Directions of a drawing that can point up."""

_SECTIONS = 72
_FLAT: Metre = 1e-6  # a foot is as level as this
_FINE: Metre = 2e-5  # a drawn section keeps this
_SECTORS = 72


@dataclass(frozen=True, slots=True)
class Solid:
    """A closed surface, compared by its digest.

    Parameters
    ----------
    points, facets
        Corners [m], shape (n, 3), and the three corners of each triangle, shape (m, 3), counter-clockwise from outside.
    """

    points: FloatArray = field(compare=False, repr=False)
    facets: IntArray = field(compare=False, repr=False)
    digest: str = ""

    @classmethod
    def of(cls, points: FloatArray, facets: IntArray) -> Solid:
        """The body of a surface."""
        p, f = np.ascontiguousarray(points, dtype=np.float64), np.ascontiguousarray(facets, dtype=np.int64)
        told = hashlib.blake2b(np.round(p, 12).tobytes(), digest_size=16)
        told.update(f.tobytes())
        return cls(p, f, told.hexdigest())

    @property
    def volume(self) -> CubicMetre:
        """By the divergence theorem, exact for the triangles."""
        a, b, c = self._corners()
        return float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6)

    @property
    def area(self) -> SquareMetre:
        """Of the whole surface, its flat foot included."""
        a, b, c = self._corners()
        return float(np.linalg.norm(np.cross(b - a, c - a), axis=1).sum() / 2)

    @property
    def height(self) -> Metre:
        """From the lowest to the highest point."""
        return float(np.ptp(self.points[:, 2]))

    @property
    def reach(self) -> Metre:
        """Greatest distance from the axis."""
        return float(np.hypot(self.points[:, 0], self.points[:, 1]).max())

    @property
    def curvature(self) -> Metre:
        """Mean curvature summed over the surface, hollows counted negative; 4 pi R for a sphere.

        Of facets: half the length of each edge times the angle by which the surface turns there. Source:
        steiner-formula.
        """
        a, b, c = self._corners()
        normal = np.cross(b - a, c - a)
        normal /= np.maximum(np.linalg.norm(normal, axis=1), 1e-300)[:, None]
        one, other, start, end = self._edges()
        along = self.points[end] - self.points[start]
        span = np.maximum(np.linalg.norm(along, axis=1), 1e-300)
        sine = np.einsum("ij,ij->i", np.cross(normal[one], normal[other]), along / span[:, None])
        turn = np.arctan2(sine, np.einsum("ij,ij->i", normal[one], normal[other]))
        return float((span * turn).sum() / 2)

    def shifted(self, up: Metre) -> Solid:
        """The same body, `up` metres higher."""
        return Solid.of(self.points + np.array([0.0, 0.0, up]), self.facets)

    def scaled(self, factor: float) -> Solid:
        """The same shape, every length times `factor`, about the point where the axis meets height 0."""
        return Solid.of(self.points * factor, self.facets)

    def joined(self) -> Solid:
        """Two such bodies put together foot to foot; the joint lies at half height.

        Raises
        ------
        BadInput
            A body without a flat foot to be joined at.
        """
        p = self.points.copy()
        p[:, 2] -= p[:, 2].min()
        on_foot = p[:, 2] < _FLAT
        foot = on_foot[self.facets].all(axis=1)
        if not foot.any():
            raise BadInput(
                "Two halves cannot be joined: the mesh has no flat foot.",
                remedy="export one half cut level, or the whole body without joined.",
            )
        kept = self.facets[~foot]
        lower = p * np.array([1.0, 1.0, -1.0])
        # Corners on the joint are the same for both halves.
        number = np.where(on_foot, np.arange(len(p)), np.arange(len(p)) + len(p))
        both = np.vstack([p, lower]) + np.array([0.0, 0.0, p[:, 2].max()])
        facets = np.vstack([kept, number[kept][:, ::-1]])
        used, numbered = np.unique(facets, return_inverse=True)
        return Solid.of(both[used], numbered.reshape(-1, 3))

    def cut_level(self, kept: CubicMetre) -> Solid:
        """What is left when it is cut level so that `kept` m³ remain on top; the rest stands on height 0."""
        if not kept > 0:
            raise BadInput("A heart needs a volume above zero.", remedy="give how much goes into the cavity.")
        low, high = float(self.points[:, 2].min()), float(self.points[:, 2].max())
        if kept >= self.volume:
            return self.shifted(-low)
        from scipy.optimize import brentq  # loads slowly, and most never ask

        def above(level: float) -> Solid:
            return _above(self, level)

        level = float(brentq(lambda z: above(z).volume - kept, low + 1e-7, high - 1e-5, xtol=1e-8))
        return above(level).shifted(-level)

    def section(self, turned: float = 0.0) -> MultiPolygon:
        """The cut along the axis: distance from it (negative on the left) and height.

        `turned` [rad] is how far the plane is turned from the x of the body.
        """
        c, s = math.cos(turned), math.sin(turned)
        # The plane holds the axis; what is looked along becomes the height of a level cut.
        seen = np.column_stack(
            [
                c * self.points[:, 0] + s * self.points[:, 1],
                self.points[:, 2],
                s * self.points[:, 0] - c * self.points[:, 1],
            ]
        )
        faces = faces_of(plane_cut(seen, self.facets, 0.0))
        return MultiPolygon([face.simplify(_FINE) for face in faces.geoms])

    def levels(self) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Heights, denser towards both ends, with the radius of equal area and the smallest radius of each section."""
        return _levels(self)

    @property
    def profile(self) -> Outline:
        """The body of revolution with the same area at each height, and the same volume."""
        return _profile(self)

    @property
    def inscribed(self) -> Outline:
        """The largest body of revolution about the axis inside it."""
        heights, _, least = _levels(self)
        return _closed(heights, least, self.height)

    def _corners(self) -> tuple[FloatArray, FloatArray, FloatArray]:
        a, b, c = (self.points[self.facets[:, k]] for k in range(3))
        return a, b, c

    def _edges(self) -> tuple[IntArray, IntArray, IntArray, IntArray]:
        """The two facets of each edge, and its ends in the direction of the first."""
        f = self.facets
        edges = np.concatenate([f[:, [0, 1]], f[:, [1, 2]], f[:, [2, 0]]])
        owner = np.tile(np.arange(len(f)), 3)
        key = np.sort(edges, axis=1) @ np.array([len(self.points), 1])
        order = np.argsort(key, kind="stable")
        order = order[: 2 * (len(order) // 2)]
        pairs = order.reshape(-1, 2)
        pairs = pairs[key[pairs[:, 0]] == key[pairs[:, 1]]]
        return owner[pairs[:, 0]], owner[pairs[:, 1]], edges[pairs[:, 0], 0], edges[pairs[:, 0], 1]


def upright(points: FloatArray, facets: IntArray, up: str = "z") -> Solid:
    """A drawn body stood on height 0 with its axis through the middle of its volume."""
    turned = points @ frame_of(np.array(UP[up])).T if up != "z" else points.copy()
    middle = centre_of(turned, facets)
    return Solid.of(turned - np.array([middle[0], middle[1], float(turned[:, 2].min())]), facets)


def revolved(outline: Outline, sectors: int = _SECTORS) -> Solid:
    """The facets of a round body; its radii are a hair larger, so that its volume stays that of the round one."""
    p = np.array(outline, dtype=float)
    loop = len(p) > 2 and bool((p[0] == p[-1]).all())
    if loop:
        p = p[:-1]
    wide = math.sqrt(2 * math.pi / sectors / math.sin(2 * math.pi / sectors))
    angle = 2 * math.pi * np.arange(sectors) / sectors
    ring: list[IntArray] = []
    points: list[FloatArray] = []
    count = 0
    for r, z in p:
        if r < 1e-9:
            points.append(np.array([[0.0, 0.0, z]]))
            ring.append(np.full(sectors, count))
            count += 1
        else:
            points.append(np.column_stack([wide * r * np.cos(angle), wide * r * np.sin(angle), np.full(sectors, z)]))
            ring.append(count + np.arange(sectors))
            count += sectors
    facets = []
    for k in range(len(ring) if loop else len(ring) - 1):
        low, high = ring[k], ring[(k + 1) % len(ring)]
        facets.append(np.column_stack([low, np.roll(low, -1), np.roll(high, -1)]))
        facets.append(np.column_stack([low, np.roll(high, -1), high]))
    found = np.vstack(facets)
    whole = (found[:, 0] != found[:, 1]) & (found[:, 1] != found[:, 2]) & (found[:, 2] != found[:, 0])
    return Solid.of(np.vstack(points), found[whole])


def centre_of(points: FloatArray, facets: IntArray) -> FloatArray:
    """Centre of the volume inside a closed surface [m]."""
    a, b, c = (points[facets[:, k]] for k in range(3))
    share = np.einsum("ij,ij->i", a, np.cross(b, c))
    return np.asarray((share[:, None] * (a + b + c)).sum(axis=0) / 4 / share.sum())


def frame_of(along: FloatArray) -> FloatArray:
    """Three directions as rows, right-handed, the last one along the axis."""
    axis = along / np.linalg.norm(along)
    helper = np.array([1.0, 0.0, 0.0]) if abs(axis[0]) < 0.9 else np.array([0.0, 1.0, 0.0])
    x = np.cross(helper, axis)
    x /= np.linalg.norm(x)
    return np.stack([x, np.cross(axis, x), axis])


def plane_cut(points: FloatArray, facets: IntArray, height: float) -> FloatArray:
    """Pieces of line where the plane z = height cuts the facets, (n, 2, 2), the inside to their left."""
    z = points[:, 2]
    # A corner just on the plane counts as above it, so that every cut is clean.
    above = z[facets] >= height
    cut = above.any(axis=1) & ~above.all(axis=1)
    corners, sides = facets[cut], above[cut]
    # Turn each facet so that the corner that is alone on its side comes first.
    alone = np.where(sides.sum(axis=1) == 1, sides.argmax(axis=1), (~sides).argmax(axis=1))
    order = (alone[:, None] + np.arange(3)) % 3
    rows = np.arange(len(corners))[:, None]
    first, second, third = np.moveaxis(points[corners[rows, order]], 1, 0)
    up = sides[np.arange(len(corners)), alone]

    def between(a: FloatArray, b: FloatArray) -> FloatArray:
        share = (height - a[:, 2]) / (b[:, 2] - a[:, 2])
        return np.asarray((a + share[:, None] * (b - a))[:, :2])

    one, other = between(first, second), between(first, third)
    start = np.where(up[:, None], one, other)
    end = np.where(up[:, None], other, one)
    return np.stack([start, end], axis=1)


def signed_area(pieces: FloatArray) -> float:
    """Area to the left of closed lines [m2]."""
    a, b = pieces[:, 0], pieces[:, 1]
    return float((a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]).sum() / 2)


def faces_of(pieces: FloatArray) -> MultiPolygon:
    """The faces inside closed lines that are given piece by piece; a line within a line is a hole."""
    from shapely.ops import polygonize

    if not len(pieces):
        return MultiPolygon()
    lines = shapely.linestrings(np.round(pieces, 9))
    rings = sorted(polygonize(shapely.get_parts(shapely.unary_union(lines)).tolist()), key=lambda one: -one.area)
    a, b = pieces[:, 0], pieces[:, 1]
    inside = []
    for one in rings:
        spot = np.array(one.representative_point().coords[0])
        p, q = a - spot, b - spot
        turns = np.arctan2(p[:, 0] * q[:, 1] - p[:, 1] * q[:, 0], (p * q).sum(axis=1)).sum() / (2 * math.pi)
        if round(float(turns)) != 0:
            inside.append(one)
    whole = shapely.unary_union(inside)
    parts = [part for part in shapely.get_parts(whole) if isinstance(part, Polygon) and part.area > 1e-10]
    return MultiPolygon(parts)


@lru_cache(maxsize=64)
def _levels(solid: Solid) -> tuple[FloatArray, FloatArray, FloatArray]:
    low, tall = float(solid.points[:, 2].min()), solid.height
    inside = 0.5 - 0.5 * np.cos(np.pi * (np.arange(_SECTIONS) + 0.5) / _SECTIONS)
    equal, least = np.zeros(_SECTIONS), np.zeros(_SECTIONS)
    for k, share in enumerate(inside):
        pieces = plane_cut(solid.points, solid.facets, low + float(share) * tall)
        equal[k] = math.sqrt(max(signed_area(pieces), 0.0) / math.pi)
        least[k] = _nearest(pieces)
    return low + inside * tall, equal, least


def _nearest(pieces: FloatArray) -> Metre:
    """Distance of the axis from a cut all round it; 0 where the axis lies outside."""
    if not len(pieces):
        return 0.0
    a, b = pieces[:, 0], pieces[:, 1]
    turns = np.arctan2(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0], (a * b).sum(axis=1)).sum() / (2 * math.pi)
    if round(float(turns)) != 1:
        return 0.0
    along = b - a
    share = np.clip(-(a * along).sum(axis=1) / np.maximum((along**2).sum(axis=1), 1e-30), 0.0, 1.0)
    return float(np.linalg.norm(a + share[:, None] * along, axis=1).min())


@lru_cache(maxsize=64)
def _profile(solid: Solid) -> Outline:
    heights, equal, _ = _levels(solid)
    drawn = _closed(heights, equal, solid.height)
    p = np.array(drawn)
    turned = abs(float(np.pi / 3 * np.sum(np.diff(p[:, 1]) * (p[1:, 0] ** 2 + p[1:, 0] * p[:-1, 0] + p[:-1, 0] ** 2))))
    wide = math.sqrt(solid.volume / turned)
    return tuple((r * wide, z) for r, z in drawn)


def _closed(heights: FloatArray, radii: FloatArray, tall: Metre) -> Outline:
    """An outline through radii at some heights, its ends carried on to the lowest and the highest point."""
    low = float(heights[0] + heights[-1] - tall) / 2
    foot, top = end_radius(heights[:4] - low, radii[:4]), end_radius(low + tall - heights[-4:][::-1], radii[-4:][::-1])
    line = [(0.0, low), *([(foot, low)] if foot else [])]
    line += [(float(r), float(z)) for z, r in zip(heights, radii, strict=True) if r > 0]
    line += [*([(top, low + tall)] if top else []), (0.0, low + tall)]
    return tuple(line)


def end_radius(away: FloatArray, radii: FloatArray) -> Metre:
    """Radius at an end of the axis from those near it: that of a flat, or 0 where the body is rounded off."""
    # Near a rounded end the squared radius falls straight to nothing; at a flat it stays.
    _, at_end = np.polyfit(np.abs(away), radii**2, 1)
    if at_end < 0.2 * radii[1] ** 2:
        return 0.0
    return float(math.sqrt(max(at_end, 0.0)))


def _above(solid: Solid, level: Metre) -> Solid:
    """The part of a body above a level, closed by a flat."""
    points, facets = solid.points, solid.facets
    z = points[:, 2] - level
    up = z[facets] >= 0
    count = up.sum(axis=1)
    kept = [points[facets[count == 3]]]
    for alone_up in (True, False):
        some = facets[count == (1 if alone_up else 2)]
        sides = up[count == (1 if alone_up else 2)]
        first = (sides if alone_up else ~sides).argmax(axis=1)
        order = (first[:, None] + np.arange(3)) % 3
        a, b, c = np.moveaxis(points[some[np.arange(len(some))[:, None], order]], 1, 0)
        to_b = (a[:, 2] - level) / (a[:, 2] - b[:, 2])
        to_c = (a[:, 2] - level) / (a[:, 2] - c[:, 2])
        at_b, at_c = a + to_b[:, None] * (b - a), a + to_c[:, None] * (c - a)
        if alone_up:
            kept.append(np.stack([a, at_b, at_c], axis=1))
        else:
            kept += [np.stack([at_b, b, c], axis=1), np.stack([at_b, c, at_c], axis=1)]
    for face in faces_of(plane_cut(points, facets, level)).geoms:
        for part in shapely.get_parts(shapely.constrained_delaunay_triangles(face)):
            ring = np.array(part.exterior.coords)[:3]
            if signed_area(np.stack([ring, np.roll(ring, -1, axis=0)], axis=1)) > 0:
                ring = ring[::-1]  # seen from below
            kept.append(np.column_stack([ring, np.full(3, level)])[None])
    corners = np.vstack(kept).reshape(-1, 3)
    unique, number = np.unique(np.round(corners, 9), axis=0, return_inverse=True)
    found = number.reshape(-1, 3)
    whole = (found[:, 0] != found[:, 1]) & (found[:, 1] != found[:, 2]) & (found[:, 2] != found[:, 0])
    return Solid.of(unique, found[whole])
