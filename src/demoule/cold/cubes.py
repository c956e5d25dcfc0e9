"""Cuts a body of any shape into cubes whose volumes, openings and surfaces are exact for its triangles."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from demoule.cold.compiled import compiled
from demoule.cold.grid import AWAY, FOOT, SIDE, TOP, Grid, joined_cells, share_out
from demoule.errors import BadInput
from demoule.units import FloatArray, Metre

__all__ = ["MOST_CUBES", "Facets", "cut_solid"]

IntArray = npt.NDArray[np.int64]
Facets = tuple[FloatArray, IntArray]
"""A closed surface: corners (n, 3) [m], and the three of each triangle (m, 3), counter-clockwise from outside."""

MOST_CUBES = 1_000_000
"""In the box around a body: some 300 MB of numbers in a run."""

_HAIR = 1e-9
_LEVEL = 1e-6  # m, a facet so near to the lowest or highest point is its foot or its top
_VOLUME, _X_MOMENT, _Y_MOMENT, _Z_MOMENT, _COVER, _Y_COVER, _Z_COVER, _Y_LID, _Z_LID = range(9)
_AREA, _REACH, _N_X, _N_Y, _N_Z, _GROWTH, _GROWTH_2 = range(7)


def cut_solid(boundary: Facets, layers: Sequence[Facets], step: Metre) -> Grid:
    """The grid of a body of any shape.

    Parameters
    ----------
    boundary
        Its closed surface.
    layers
        The closed surface of each layer, from the inside outwards; a layer owns what lies in its surface and in none
        before it. What no layer owns goes to the last.
    step
        Edge of a cell [m].

    Raises
    ------
    BadInput
        A body without size, or one that would need more than a million cells.

    Notes
    -----
    As in the plane of a round body: each triangle is cut at the planes of the grid. A piece of it adds to its own cell
    what it cuts off, and lends the cells before it, along x, the area that it covers; sums along the rows then give
    volumes, openings and moments as exact integrals (divergence theorem). How the surface grows outwards is that of
    Steiner's formula: a strip at each edge by the angle at which its facets meet, a cap at each corner.
    """
    points, facets = boundary
    low, high = points.min(axis=0), points.max(axis=0)
    if not (len(facets) >= 4 and np.isfinite(points).all() and (high > low).all()):
        raise BadInput("The piece has no size.", remedy="give a width and a height above zero.")
    if not step > 0:
        raise BadInput("The grid step must be above zero.", remedy="give a step such as 2 mm.")
    # The body stands in the middle of its box, so that what is alike on both sides is computed alike.
    n_x, n_y, n_z = (max(2, math.ceil(extent / step - 1e-9)) for extent in high - low)
    low = 0.5 * (low + high) - 0.5 * step * np.array([n_x, n_y, n_z])
    low[2] = points[:, 2].min()
    if n_x * n_y * n_z > MOST_CUBES:
        raise BadInput(
            f"At a grid step of {1000 * step:g} mm the piece would need {n_x * n_y * n_z} cells; {MOST_CUBES} is the "
            "most.",
            remedy="take a coarser grid; 2 mm is enough for a piece, 5 mm for a cake.",
        )
    size = (n_x, n_y, n_z)
    kinds = _kinds(points, facets)
    own, slot, surface, n_slots = _traced(points - low, facets, kinds, _grown(points, facets), step, *size)
    surface = surface[:n_slots]
    volume, moments, openings = _integrated(own, step)
    shares = np.zeros((len(layers), *size))
    left = volume.copy()
    for index, layer in enumerate(layers):
        inside = volume
        if layer is not boundary:
            none = np.zeros((len(layer[1]), 2))
            inside, _, _ = _integrated(
                _traced(layer[0] - low, layer[1], np.full(len(layer[1]), AWAY), none, step, *size)[0], step
            )
        shares[index], left = share_out(inside, volume, left)
    shares[-1] += left
    columns = (n_x * n_y, n_z)
    volume = volume.reshape(columns)
    moments = moments.reshape(3, *columns)
    shares = shares.reshape(-1, *columns)
    along_x, along_y, along_z = (one.reshape(columns) for one in openings)
    joined = joined_cells(
        volume, moments, shares, slot, surface, along_x, along_y, along_z, np.full(n_x * n_y, step**3), n_y
    )
    apart = _distances(step, volume, moments, size)
    kind, cell = np.nonzero(slot >= 0)
    rows = surface[slot[kind, cell]]
    here = rows[:, _AREA] > 0
    kind, cell, rows = kind[here], cell[here], rows[here]
    area, reach, growth, growth_2 = rows[:, [_AREA, _REACH, _GROWTH, _GROWTH_2]].T
    normal = rows[:, [_N_X, _N_Y, _N_Z]].T
    centroid = moments.reshape(3, -1)[:, cell] / np.maximum(volume.ravel()[cell], 1e-300)
    depth = (reach - (normal * centroid).sum(axis=0)) / area
    squares = normal**2
    return Grid(
        step=step,
        r=low[0] + step * (np.arange(n_x) + 0.5),
        y=low[1] + step * (np.arange(n_y) + 0.5),
        z=low[2] + step * (np.arange(n_z) + 0.5),
        across=n_y,
        volume=volume,
        shares=shares,
        joined=joined,
        radial=along_x / apart[0].reshape(columns),
        beside=along_y / apart[1].reshape(columns),
        axial=along_z / apart[2].reshape(columns),
        face_r=cell // n_z,
        face_z=cell % n_z,
        face_kind=kind,
        face_area=area,
        # Where a hollow brings the surface behind the centre of gravity the cell is thin: a twentieth of a step.
        face_depth=np.maximum(depth, 0.05 * step),
        face_along=squares / np.maximum(squares.sum(axis=0), 1e-300),
        face_growth=np.stack([growth, growth_2]) / area,
    )


def _kinds(points: FloatArray, facets: IntArray) -> IntArray:
    """Whether each facet is side, foot or top."""
    z = points[facets][:, :, 2]
    kinds = np.full(len(facets), SIDE)
    kinds[(z < points[:, 2].min() + _LEVEL).all(axis=1)] = FOOT
    kinds[(z > points[:, 2].max() - _LEVEL).all(axis=1)] = TOP
    return kinds


def _grown(points: FloatArray, facets: IntArray) -> FloatArray:
    """By how much the area of each facet grows per metre, and per square metre, outwards, (m, 2) [m, 1]."""
    corners = points[facets]
    a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
    normal = np.cross(b - a, c - a)
    length = np.maximum(np.linalg.norm(normal, axis=1), 1e-300)
    normal /= length[:, None]
    grown = np.zeros((len(facets), 2))
    # Edges: each is met twice, once in either direction; half of the strip goes to each facet.
    edges = np.concatenate([facets[:, [0, 1]], facets[:, [1, 2]], facets[:, [2, 0]]])
    owner = np.tile(np.arange(len(facets)), 3)
    key = np.sort(edges, axis=1) @ np.array([len(points), 1])
    order = np.argsort(key, kind="stable")
    pairs = order[: 2 * (len(order) // 2)].reshape(-1, 2)
    pairs = pairs[key[pairs[:, 0]] == key[pairs[:, 1]]]
    one, other = owner[pairs[:, 0]], owner[pairs[:, 1]]
    along = points[edges[pairs[:, 0], 1]] - points[edges[pairs[:, 0], 0]]
    span = np.maximum(np.linalg.norm(along, axis=1), 1e-300)
    sine = np.einsum("ij,ij->i", np.cross(normal[one], normal[other]), along / span[:, None])
    turn = np.arctan2(sine, np.einsum("ij,ij->i", normal[one], normal[other]))
    for facet in (one, other):
        np.add.at(grown[:, 0], facet, 0.5 * span * turn)
    # Corners: what the angles there lack of a full turn, shared by the angles.
    sides = corners[:, [1, 2, 0]] - corners
    spans = np.maximum(np.linalg.norm(sides, axis=2), 1e-300)
    back = -sides[:, [2, 0, 1]]
    cosine = np.einsum("ijk,ijk->ij", sides, back) / (spans * spans[:, [2, 0, 1]])
    angle = np.arccos(np.clip(cosine, -1.0, 1.0))
    around = np.zeros(len(points))
    np.add.at(around, facets, angle)
    lack = 2 * math.pi - around
    grown[:, 1] = (angle * (lack / np.maximum(around, 1e-12))[facets]).sum(axis=1)
    return grown


def _integrated(own: FloatArray, step: Metre) -> tuple[FloatArray, FloatArray, list[FloatArray]]:
    """Volumes, first moments (3, ...) and open areas of the faces onwards along x, y, z from what the facets left."""
    edge = step * np.arange(own.shape[1] + 1)
    cover, y_cover, z_cover = (_sum_beyond(own[k], 0) for k in (_COVER, _Y_COVER, _Z_COVER))
    volume = own[_VOLUME] + step * cover
    moments = np.stack(
        [
            own[_X_MOMENT] + 0.5 * np.diff(edge**2)[:, None, None] * cover,
            own[_Y_MOMENT] + step * y_cover,
            own[_Z_MOMENT] + step * z_cover,
        ]
    )
    openings = [cover, _sum_beyond(own[_Y_LID], 1), _sum_beyond(own[_Z_LID], 2)]
    # Sums leave a hair of rounding where nothing is.
    volume[volume < _HAIR * step**3] = 0.0
    for opening in openings:
        opening[opening < _HAIR * step**2] = 0.0
    return volume, moments, openings


def _sum_beyond(values: FloatArray, axis: int) -> FloatArray:
    """Sum of all values further out along an axis, the own one left out."""
    total = np.flip(np.cumsum(np.flip(values, axis), axis), axis)
    return np.asarray(total - values)


def _distances(step: Metre, volume: FloatArray, moments: FloatArray, size: tuple[int, int, int]) -> list[FloatArray]:
    """How far apart neighbours along x, y and z are [m]: a cut cell's middle lies where its volume does."""
    held = volume.reshape(size) > 0
    safe = np.maximum(volume.reshape(size), 1e-300)
    found = []
    for axis in range(3):
        middle = step * (np.arange(size[axis]) + 0.5)
        shape = [1, 1, 1]
        shape[axis] = -1
        at = np.where(held, moments[axis].reshape(size) / safe, middle.reshape(shape))
        apart = np.full(size, step)
        inner = [slice(None)] * 3
        inner[axis] = slice(0, -1)
        apart[tuple(inner)] = np.clip(np.diff(at, axis=axis), 0.5 * step, 1.5 * step)
        found.append(apart)
    return found


@compiled
def _clipped(given: FloatArray, n: int, axis: int, at: float, above: bool, out: FloatArray) -> int:
    """The part of a flat polygon above or below a plane, into `out`; returns its number of corners."""
    m = 0
    for p in range(n):
        q = p + 1 if p + 1 < n else 0
        a, b = given[p, axis] - at, given[q, axis] - at
        if not above:
            a, b = -a, -b
        if a >= 0.0:
            for c in range(3):
                out[m, c] = given[p, c]
            m += 1
        if (a > 0.0 and b < 0.0) or (a < 0.0 and b > 0.0):
            w = a / (a - b)
            for c in range(3):
                out[m, c] = given[p, c] + w * (given[q, c] - given[p, c])
            out[m, axis] = at
            m += 1
    return m


@compiled
def _slab(given: FloatArray, n: int, axis: int, i: int, step: float, spare: FloatArray, out: FloatArray) -> int:
    """The part of a flat polygon in slab i across an axis, into `out`; returns its number of corners."""
    low, high = given[0, axis], given[0, axis]
    for p in range(1, n):
        low, high = min(low, given[p, axis]), max(high, given[p, axis])
    if low >= i * step and high <= (i + 1) * step:
        for p in range(n):
            for c in range(3):
                out[p, c] = given[p, c]
        return n
    m = _clipped(given, n, axis, i * step, True, spare)
    return _clipped(spare, m, axis, (i + 1) * step, False, out) if m > 2 else 0


@compiled
def _range(given: FloatArray, n: int, axis: int, step: float, most: int) -> tuple[int, int]:
    """First and last slab across an axis that a polygon reaches into."""
    low, high = given[0, axis], given[0, axis]
    for p in range(1, n):
        low, high = min(low, given[p, axis]), max(high, given[p, axis])
    first = min(max(math.floor(low / step), 0), most - 1)
    last = min(max(math.floor(high / step), 0), most - 1)
    return first, last


@compiled
def _traced(
    points: FloatArray, facets: IntArray, kinds: IntArray, grown: FloatArray, step: float, n_x: int, n_y: int, n_z: int
) -> tuple[FloatArray, IntArray, FloatArray, int]:
    """What each cell is given by the pieces of facets in it, (9, n_x, n_y, n_z), and surface.

    Surface: the row of each kind in each cell (-1: none), (3, n_cells); rows `_AREA` to `_GROWTH_2`, all but the first
    times area; number of rows. Facets of the kind `AWAY` leave no surface.
    """
    own = np.zeros((9, n_x, n_y, n_z))
    slot = np.full((3, n_x * n_y * n_z), -1)
    surface = np.zeros((1024, 7))
    n_slots = 0
    # Lengths in steps: planes of the grid are whole numbers.
    scale, tiny = 1.0 / step, 1e-10
    whole, in_x, in_y, in_z, spare = (
        np.empty((16, 3)), np.empty((16, 3)), np.empty((16, 3)), np.empty((16, 3)), np.empty((16, 3)),
    )  # fmt: skip
    for f in range(len(facets)):
        for p in range(3):
            for c in range(3):
                whole[p, c] = points[facets[f, p], c] * scale
        ax, ay, az = _area_of(whole, 0, 1, 2)
        all_area = math.sqrt(ax * ax + ay * ay + az * az)
        if all_area < 1e-14:
            continue
        n0, n1, n2 = ax / all_area, ay / all_area, az / all_area
        # A facet in a plane of the grid belongs to the cell on its inner side.
        for p in range(3):
            whole[p, 0] -= tiny * n0
            whole[p, 1] -= tiny * n1
            whole[p, 2] -= tiny * n2
        i0, i1 = _range(whole, 3, 0, 1.0, n_x)
        for i in range(i0, i1 + 1):
            m_x = _slab(whole, 3, 0, i, 1.0, spare, in_x)
            if m_x < 3:
                continue
            j0, j1 = _range(in_x, m_x, 1, 1.0, n_y)
            for j in range(j0, j1 + 1):
                m_y = _slab(in_x, m_x, 1, j, 1.0, spare, in_y)
                if m_y < 3:
                    continue
                k0, k1 = _range(in_y, m_y, 2, 1.0, n_z)
                for k in range(k0, k1 + 1):
                    m_z = _slab(in_y, m_y, 2, k, 1.0, spare, in_z)
                    if m_z < 3:
                        continue
                    area, middle_0, middle_1, middle_2 = 0.0, 0.0, 0.0, 0.0
                    for q in range(1, m_z - 1):
                        ax, ay, az = _area_of(in_z, 0, q, q + 1)
                        part = ax * n0 + ay * n1 + az * n2
                        area += part
                        own[_COVER, i, j, k] += ax
                        own[_Y_LID, i, j, k] += ay
                        own[_Z_LID, i, j, k] += az
                        # Middles of the sides integrate second degree exactly.
                        for side in range(3):
                            a = 0 if side == 0 else (q if side == 1 else q + 1)
                            b = q if side == 0 else (q + 1 if side == 1 else 0)
                            x = 0.5 * (in_z[a, 0] + in_z[b, 0])
                            y = 0.5 * (in_z[a, 1] + in_z[b, 1])
                            z = 0.5 * (in_z[a, 2] + in_z[b, 2])
                            w = ax / 3.0
                            own[_VOLUME, i, j, k] += w * (x - i)
                            own[_X_MOMENT, i, j, k] += w * 0.5 * (x * x - i * i)
                            own[_Y_MOMENT, i, j, k] += w * (x - i) * y
                            own[_Z_MOMENT, i, j, k] += w * (x - i) * z
                            own[_Y_COVER, i, j, k] += w * y
                            own[_Z_COVER, i, j, k] += w * z
                            middle_0 += part / 3.0 * x
                            middle_1 += part / 3.0 * y
                            middle_2 += part / 3.0 * z
                    kind = kinds[f]
                    if kind == AWAY or area <= 0.0:
                        continue
                    cell = (i * n_y + j) * n_z + k
                    row = slot[kind, cell]
                    if row < 0:
                        if n_slots == len(surface):
                            longer = np.zeros((2 * n_slots, 7))
                            longer[:n_slots] = surface
                            surface = longer
                        row = n_slots
                        slot[kind, cell] = row
                        n_slots += 1
                    surface[row, _AREA] += area * step * step
                    reach = middle_0 * n0 + middle_1 * n1 + middle_2 * n2
                    surface[row, _REACH] += reach * step**3
                    surface[row, _N_X] += area * n0 * step * step
                    surface[row, _N_Y] += area * n1 * step * step
                    surface[row, _N_Z] += area * n2 * step * step
                    surface[row, _GROWTH] += area / all_area * grown[f, 0]
                    surface[row, _GROWTH_2] += area / all_area * grown[f, 1]
    power = (3, 4, 4, 4, 2, 3, 3, 2, 2)
    for k in range(9):
        own[k] *= step ** power[k]
    return own, slot, surface, n_slots


@compiled
def _area_of(corners: FloatArray, a: int, b: int, c: int) -> tuple[float, float, float]:
    """The area of a triangle as a vector along its normal."""
    u0, u1, u2 = corners[b, 0] - corners[a, 0], corners[b, 1] - corners[a, 1], corners[b, 2] - corners[a, 2]
    v0, v1, v2 = corners[c, 0] - corners[a, 0], corners[c, 1] - corners[a, 1], corners[c, 2] - corners[a, 2]
    return 0.5 * (u1 * v2 - u2 * v1), 0.5 * (u2 * v0 - u0 * v2), 0.5 * (u0 * v1 - u1 * v0)
