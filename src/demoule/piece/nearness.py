"""How near two bodies of any shape come to each other: walls in every direction, not in one section alone."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import numpy.typing as npt

from demoule.piece.solid import Solid
from demoule.units import FloatArray, Metre

if TYPE_CHECKING:
    from scipy.spatial import cKDTree

__all__ = ["least_depth", "measured", "places_on", "shortest"]

IntArray = npt.NDArray[np.int64]

_APART: Metre = 0.002  # between the places at which a large facet is felt
_SPREAD: Metre = 0.0018  # between the places that stand for a surface
_CANDIDATES = 150  # places whose facets are looked at for an exact length
_LOOKED_AT = 16  # ways that are measured exactly
_NEARLY = 0.02


class _Felt(NamedTuple):
    """Places on a surface, (n, 3), the facet of each, the normals of all facets, and those that stand for it."""

    places: FloatArray
    facet: IntArray
    normal: FloatArray
    few: IntArray
    tree: cKDTree


def least_depth(points: FloatArray, inside: Solid) -> Metre:
    """How deep the shallowest of the points lies inside a body [m], to a twentieth of a millimetre; < 0 outside."""
    return float(_about(points, inside)[0].min())


def shortest(inner: Solid, outer: Solid) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Short ways between a body and the one around it, from many places of either: length, inner and outer end.

    Lengths are good to a tenth of a millimetre; see `measured`. One below zero: the inner body stands out there.
    """
    there = places_on(inner)
    out, ends = _about(there, outer)
    from_outer = places_on(outer)
    back, starts = _about(from_outer, inner)
    return np.concatenate([out, -back]), np.vstack([there, starts]), np.vstack([ends, from_outer])


def measured(starts: FloatArray, outer: Solid) -> tuple[Metre, FloatArray, FloatArray]:
    """The shortest way from some places, the likeliest first, to the surface around them: length, start and end."""
    from trimesh.triangles import closest_point

    felt = _felt(outer)
    best: tuple[Metre, FloatArray, FloatArray] | None = None
    for start in starts[:_LOOKED_AT]:
        away = ((felt.places - start) ** 2).sum(axis=1)
        count = min(_CANDIDATES, len(away) - 1)
        facets = np.unique(felt.facet[np.argpartition(away, count)[: count + 1]])
        corners = outer.points[outer.facets[facets]]
        near = np.asarray(closest_point(corners, np.tile(start, (len(facets), 1))))  # type: ignore[no-untyped-call]
        lengths = np.linalg.norm(near - start, axis=1)
        # Over an edge several facets are equally near: the one that faces the place tells its side.
        inwards = ((near - start) * felt.normal[facets]).sum(axis=1)
        k = int(np.where(lengths <= lengths.min() + 1e-9, np.abs(inwards), -1.0).argmax())
        depth = float(lengths[k] * np.sign(inwards[k]))
        if best is None or depth < best[0]:
            best = (depth, start, near[k])
    assert best is not None
    return best


def places_on(solid: Solid) -> FloatArray:
    """Places that stand for a surface, about two millimetres apart, (n, 3) [m]."""
    felt = _felt(solid)
    return felt.places[felt.few]


@lru_cache(maxsize=32)
def _felt(solid: Solid) -> _Felt:
    from scipy.spatial import cKDTree  # loads slowly, and most never ask

    a, b, c = (solid.points[solid.facets[:, k]] for k in range(3))
    normal = np.cross(b - a, c - a)
    normal /= np.maximum(np.linalg.norm(normal, axis=1), 1e-14)[:, None]
    longest = np.sqrt(np.max([((b - a) ** 2).sum(1), ((c - b) ** 2).sum(1), ((a - c) ** 2).sum(1)], axis=0))
    # Each facet is felt at the middles of the small triangles that it falls into.
    parts = np.maximum(1, np.ceil(longest / _APART).astype(int))
    # A facet without area, which closes some surfaces, faces nowhere.
    parts[np.linalg.norm(normal, axis=1) < 0.5] = 0
    places, facet = [], []
    for n in np.unique(parts[parts > 0]):
        here = np.flatnonzero(parts == n)
        spots = [(i + s, j + s) for s in (1 / 3, 2 / 3) for i in range(n) for j in range(n) if i + j + (s > 0.5) < n]
        u, v = np.array(spots).T / n
        found = a[here, None] + u[None, :, None] * (b - a)[here, None] + v[None, :, None] * (c - a)[here, None]
        places.append(found.reshape(-1, 3))
        facet.append(np.repeat(here, len(spots)))
    # Corners stick out furthest.
    whole = np.flatnonzero(parts > 0)
    corners, first = np.unique(solid.facets[whole].ravel(), return_index=True)
    places.append(solid.points[corners])
    facet.append(whole[first // 3])
    all_places = np.vstack(places)
    cell = np.round(all_places / _SPREAD).astype(np.int64)
    _, few = np.unique(cell, axis=0, return_index=True)
    return _Felt(all_places, np.concatenate(facet), normal, few, cKDTree(all_places[few]))


def _about(points: FloatArray, solid: Solid) -> tuple[FloatArray, FloatArray]:
    """Depth of points in a body [m], below zero outside, and the place of its surface nearest to each.

    Measured square to the facet of that place, which is right to where facets meet.
    """
    felt = _felt(solid)
    # Of surfaces one in the other all places are nearly equally near: a little further than the nearest will do.
    _, at = felt.tree.query(points, eps=_NEARLY)
    found = felt.few[at]
    near = felt.places[found]
    inwards = ((near - points) * felt.normal[felt.facet[found]]).sum(axis=1)
    return inwards, near
