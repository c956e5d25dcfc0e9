"""Cuts a body of revolution into rings of cells whose volumes and surfaces are exact for any section."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from demoule.cold.compiled import compiled
from demoule.errors import BadInput
from demoule.units import CubicMetre, FloatArray, Metre, SquareMetre

__all__ = ["AWAY", "FOOT", "SIDE", "TOP", "Grid", "cut", "joined_cells", "line_grid", "share_out"]

SIDE, FOOT, TOP, AWAY = 0, 1, 2, 3
"""Kinds of surface: the wrapped side; a level face at the lowest and at the highest point; none (inside the body)."""

MOST_CELLS = 250_000
_TOO_SMALL = 0.3  # of a full cell: such a cell joins its neighbour, so that no cell is quicker than the others
_HAIR = 1e-9
_VOLUME, _R_MOMENT, _Z_MOMENT, _COVER, _Z_COVER, _LID = range(6)
_AREA, _REACH, _N_R, _N_Z, _GROWTH, _GROWTH_2 = range(6)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Grid:
    """The cells of a body; arrays over cells have shape (n_columns, n_z), a cell outside the body has volume 0.

    A column of a round body is a ring: column i is the i-th from the axis. Of any other body it is upright and square,
    and number i * `across` + k is the i-th along x and the k-th along y.

    Parameters
    ----------
    step
        Edge of a cell [m].
    r, z
        Centres of the columns outwards (along x where the body is not round), and of the cells upwards [m], shapes
        (n_r,) and (n_z,).
    volume
        Of each cell [m3].
    shares
        Volume of each layer in each cell [m3], shape (n_layers, n_columns, n_z).
    joined
        Cells that were too small and joined a neighbour, and that neighbour, as flat indices, shape (n, 2).
    radial, axial
        Open area over distance [m] of the face to the next cell outwards (along x) and to the next cell upwards.
    face_r, face_z, face_kind
        Cell and kind of each piece of outer surface, shape (n_faces,).
    face_area
        Its area [m2].
    face_depth
        Distance of the cell's centre of gravity from it [m].
    face_along
        Share of its normal that points along r (or x), y and z, by squares, shape (3, n_faces); sums to 1.
    face_growth
        How its area grows with the distance s outwards: area (1 + growth[0] s + growth[1] s2), shape (2, n_faces).
    y, across, beside
        Of a body that is not round: centres of the columns along y [m], their number, and the open area over distance
        [m] of the face to the next cell along y.
    """

    step: Metre
    r: FloatArray
    z: FloatArray
    volume: FloatArray
    shares: FloatArray
    joined: npt.NDArray[np.int64]
    radial: FloatArray
    axial: FloatArray
    face_r: npt.NDArray[np.int64]
    face_z: npt.NDArray[np.int64]
    face_kind: npt.NDArray[np.int64]
    face_area: FloatArray
    face_depth: FloatArray
    face_along: FloatArray
    face_growth: FloatArray
    y: FloatArray = field(default_factory=lambda: np.zeros(1))
    across: int = 1
    beside: FloatArray = field(default_factory=lambda: np.zeros((0, 0)))

    @property
    def axis(self) -> int:
        """The column on the axis, or nearest to it."""
        if self.across == 1:
            return 0
        return int(np.argmin(np.abs(self.r))) * self.across + int(np.argmin(np.abs(self.y)))

    @property
    def smallest(self) -> Metre:
        """Its smaller extent, across or upwards [m]."""
        wide = float(self.r[-1]) * 2 if self.across == 1 else self.step * min(len(self.r), len(self.y))
        return min(wide, float(np.ptp(self.z)) + self.step)

    @property
    def total_volume(self) -> CubicMetre:
        """Of the whole body [m3]."""
        return float(self.volume.sum())

    @property
    def total_area(self) -> SquareMetre:
        """Of the whole outer surface [m2]."""
        return float(self.face_area.sum())

    @property
    def cells(self) -> int:
        """Number of cells that hold something."""
        return int(np.count_nonzero(self.volume))


def cut(boundary: FloatArray, layers: Sequence[FloatArray], step: Metre) -> Grid:
    """The grid of a body.

    Parameters
    ----------
    boundary
        Closed outline of its section, (n, 2) points of radius and height [m]; it may fold back, and it need not touch
        the axis.
    layers
        Closed outline of each layer, from the inside outwards; a layer owns what lies in its outline and in no outline
        before it. What no layer owns goes to the last.
    step
        Edge of a cell [m].

    Raises
    ------
    BadInput
        A body without size, or one that would need more than 250 000 cells.

    Notes
    -----
    Each edge of the outline is cut at the grid lines. A piece of edge adds to its own cell what it cuts off, and lends
    the cells nearer to the axis its height; sums along the rows then give ring volumes, openings of faces and moments
    as exact integrals (Green's theorem with the weight 2πr), whatever the shape does.
    """
    ring = _counterclockwise(boundary)
    low_r, low_z = ring.min(axis=0)
    high_r, high_z = ring.max(axis=0)
    if not (high_r > 0 and high_z > low_z and np.isfinite(ring).all() and low_r > -1e-9):
        raise BadInput("The piece has no size.", remedy="give a width and a height above zero.")
    if not step > 0:
        raise BadInput("The grid step must be above zero.", remedy="give a step such as 1 mm.")
    n_r = max(2, math.ceil(high_r / step - 1e-9))
    n_z = max(2, math.ceil((high_z - low_z) / step - 1e-9))
    if n_r * n_z > MOST_CELLS:
        raise BadInput(
            f"At a grid step of {1000 * step:g} mm the piece would need {n_r * n_z} cells; {MOST_CELLS} is the most.",
            remedy="take a coarser grid; 1 mm is enough for a piece, 2 mm for a cake.",
        )
    own, surface = _traced(ring, step, low_z, n_r, n_z)
    volume, moments, radial, axial = _integrated(own, step)
    shares = np.zeros((len(layers), n_r, n_z))
    left = volume.copy()
    for index, outline in enumerate(layers):
        if np.array_equal(outline, boundary):
            inside = volume
        else:
            inside, *_ = _integrated(_traced(_counterclockwise(outline), step, low_z, n_r, n_z)[0], step)
        shares[index], left = share_out(inside, volume, left)
    shares[-1] += left
    r = step * (np.arange(n_r) + 0.5)
    z = low_z + step * (np.arange(n_z) + 0.5)
    faces = np.moveaxis(surface, 1, -1).reshape(-1, surface.shape[1])
    slot = np.where(faces[:, _AREA] > 0, np.arange(len(faces)), -1).reshape(3, -1)
    joined = joined_cells(
        volume, moments, shares, slot, faces, radial, np.zeros((0, 0)), axial, 2 * np.pi * r * step * step, 1
    )
    distance_r, distance_z = _distances(r, z, step, volume, moments)
    return _assembled(step, r, z, volume, moments, shares, joined, slot, faces, radial / distance_r, axial / distance_z)


def line_grid(shape: str, size: Metre, cells: int, shares: FloatArray | None = None, *, two_ends: bool = False) -> Grid:
    """One row of cells: per square metre of a slab, per metre of a long cylinder, or a sphere.

    Parameters
    ----------
    shape
        "slab", "cylinder" or "sphere".
    size
        Half thickness of a slab cooled on both sides, or its whole thickness when `two_ends`; else the radius [m].
    shares
        Fraction of each cell that each layer fills, (n_layers, cells); None: one layer.
    two_ends
        A slab whose lower face (kind `FOOT`) is open as well.
    """
    if not size > 0:
        raise BadInput("The size must be above zero.", remedy="give a thickness or a diameter, for instance 40 mm.")
    step = size / cells
    edge: FloatArray = step * np.arange(cells + 1, dtype=np.float64)
    power = {"slab": 0, "cylinder": 1, "sphere": 2}[shape]
    factor = (1.0, 2 * np.pi, 4 * np.pi)[power]
    area = factor * edge**power
    volume = factor * np.diff(edge ** (power + 1)) / (power + 1)
    centroid = factor * np.diff(edge ** (power + 2)) / (power + 2) / volume
    radial = np.append(area[1:-1], 0.0) / step
    faces = [(cells - 1, TOP if two_ends else SIDE, area[-1], size - centroid[-1])]
    if two_ends:
        faces.insert(0, (0, FOOT, area[0], float(centroid[0])))
    growth = {0: (0.0, 0.0), 1: (1 / size, 0.0), 2: (2 / size, 1 / size**2)}[power]
    fractions = np.ones((1, cells)) if shares is None else shares
    return Grid(
        step=step,
        r=np.asarray(edge[:-1] + step / 2),
        z=np.zeros(1),
        volume=volume[:, None],
        shares=(fractions * volume)[:, :, None],
        joined=np.zeros((0, 2), dtype=np.int64),
        radial=radial[:, None],
        axial=np.zeros((cells, 1)),
        face_r=np.array([face[0] for face in faces]),
        face_z=np.zeros(len(faces), dtype=np.int64),
        face_kind=np.array([face[1] for face in faces]),
        face_area=np.array([face[2] for face in faces], dtype=float),
        face_depth=np.array([face[3] for face in faces], dtype=float),
        face_along=np.tile(np.array([[1.0], [0.0], [0.0]]), (1, len(faces))),
        face_growth=np.tile(np.array(growth)[:, None], (1, len(faces))),
    )


def _counterclockwise(outline: FloatArray) -> FloatArray:
    """The closed outline turned so that the inside lies on the left."""
    points = np.asarray(outline, dtype=float)
    if points.ndim != 2 or points.shape[0] < 3:
        raise BadInput("A section needs at least three points.", remedy="give the profile by more points.")
    if not np.array_equal(points[0], points[-1]):
        points = np.vstack([points, points[:1]])
    r, z = points.T
    turn = float(np.sum(r[:-1] * z[1:] - r[1:] * z[:-1]))
    return np.ascontiguousarray(points if turn > 0 else points[::-1])


def _integrated(own: FloatArray, step: Metre) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Volumes, first moments (2, ...) and open areas of the faces outwards and upwards from what the edges left."""
    edge = step * np.arange(own.shape[1] + 1)
    beyond = _sum_beyond(own[_COVER], axis=0)
    beyond_z = _sum_beyond(own[_Z_COVER], axis=0)
    disc = np.pi * np.diff(edge**2)[:, None]
    volume = own[_VOLUME] + disc * beyond
    moments = np.stack(
        [
            own[_R_MOMENT] + 2 * np.pi / 3 * np.diff(edge**3)[:, None] * beyond,
            own[_Z_MOMENT] + disc * beyond_z,
        ]
    )
    radial = 2 * np.pi * edge[1:, None] * beyond
    axial = _sum_beyond(own[_LID], axis=1)
    # Sums leave a hair of rounding where nothing is.
    volume[volume < _HAIR * step**3] = 0.0
    radial[radial < _HAIR * step**2] = 0.0
    axial[axial < _HAIR * step**2] = 0.0
    return volume, moments, radial, axial


def _sum_beyond(values: FloatArray, axis: int) -> FloatArray:
    """Sum of all values further out along an axis, the own one left out."""
    total = np.flip(np.cumsum(np.flip(values, axis), axis), axis)
    return np.asarray(total - values)


@compiled
def _traced(ring: FloatArray, step: float, low_z: float, n_r: int, n_z: int) -> tuple[FloatArray, FloatArray]:
    """What each cell is given by the pieces of edge in it: integrals (6, n_r, n_z), and surface (3, 6, n_r, n_z).

    The integrals are `_VOLUME` to `_LID`; surface is `_AREA` to `_GROWTH_2`, all but the first times area.
    """
    own = np.zeros((6, n_r, n_z))
    surface = np.zeros((3, 6, n_r, n_z))
    high_z = low_z
    for p in range(len(ring)):
        high_z = max(high_z, ring[p, 1])
    n = len(ring) - 1
    tiny = 1e-9 * step
    cuts = np.empty(2 * (n_r + n_z) + 4)
    # Three Gauss points integrate the moments, polynomials of the third and fourth degree, exactly.
    gauss_x = (0.5 - 0.5 * math.sqrt(0.6), 0.5, 0.5 + 0.5 * math.sqrt(0.6))
    gauss_w = (5.0 / 18.0, 8.0 / 18.0, 5.0 / 18.0)
    for p in range(n):
        r0, z0 = ring[p, 0], ring[p, 1]
        r1, z1 = ring[p + 1, 0], ring[p + 1, 1]
        length = math.hypot(r1 - r0, z1 - z0)
        if length < 1e-15:
            continue
        normal_r, normal_z = (z1 - z0) / length, -(r1 - r0) / length
        on_axis = r0 < tiny and r1 < tiny
        edge_area = 0.0 if on_axis else math.pi * (r0 + r1) * length
        growth = 2.0 * math.pi * normal_r * length
        growth_2 = 0.0
        kind = SIDE
        if normal_z < -0.999999 and z0 - low_z < tiny:
            kind = FOOT
        elif normal_z > 0.999999 and high_z - z0 < tiny:
            kind = TOP
        if edge_area > 0.0:
            # The offset surface grows by an arc at each turn of the outline; half of it goes to each edge beside it.
            for side in range(2):
                here = p + side
                other = (p - 1) % n if side == 0 else (p + 1) % n
                mr = ring[other + 1, 0] - ring[other, 0]
                mz = ring[other + 1, 1] - ring[other, 1]
                other_length = math.hypot(mr, mz)
                if other_length < 1e-15:
                    continue
                other_r, other_z, half = mz / other_length, -mr / other_length, 0.5
                if ring[here, 0] < tiny:  # on the axis the outline meets its own mirror image
                    other_r, other_z, half = 0.0, (1.0 if normal_z > 0 else -1.0), 1.0
                turn = math.atan2(normal_r * other_z - normal_z * other_r, normal_r * other_r + normal_z * other_z)
                if side == 0:
                    turn = -turn
                growth += half * 2.0 * math.pi * ring[here, 0] * turn
                growth_2 += half * 2.0 * math.pi * (other_z - normal_z if side == 1 else normal_z - other_z)
        count = 0
        cuts[count] = 0.0
        count += 1
        if abs(r1 - r0) > 1e-15:
            first = math.ceil(min(r0, r1) / step)
            last = math.floor(max(r0, r1) / step)
            for line in range(first, last + 1):
                t = (line * step - r0) / (r1 - r0)
                if 0.0 < t < 1.0:
                    cuts[count] = t
                    count += 1
        if abs(z1 - z0) > 1e-15:
            first = math.ceil((min(z0, z1) - low_z) / step)
            last = math.floor((max(z0, z1) - low_z) / step)
            for line in range(first, last + 1):
                t = (low_z + line * step - z0) / (z1 - z0)
                if 0.0 < t < 1.0:
                    cuts[count] = t
                    count += 1
        cuts[count] = 1.0
        count += 1
        cuts[:count].sort()
        for c in range(count - 1):
            a, b = cuts[c], cuts[c + 1]
            if b - a < 1e-13:
                continue
            ra, za = r0 + a * (r1 - r0), z0 + a * (z1 - z0)
            rb, zb = r0 + b * (r1 - r0), z0 + b * (z1 - z0)
            # An edge that runs along a grid line belongs to the cell on its inner side.
            i = math.floor((0.5 * (ra + rb) - tiny * normal_r) / step)
            j = math.floor((0.5 * (za + zb) - tiny * normal_z - low_z) / step)
            i = min(max(i, 0), n_r - 1)
            j = min(max(j, 0), n_z - 1)
            inner = i * step
            rise = zb - za
            for g in range(3):
                r = ra + gauss_x[g] * (rb - ra)
                z = za + gauss_x[g] * rise
                w = gauss_w[g] * rise * math.pi
                own[_VOLUME, i, j] += w * (r * r - inner * inner)
                own[_R_MOMENT, i, j] += w * 2.0 / 3.0 * (r**3 - inner**3)
                own[_Z_MOMENT, i, j] += w * z * (r * r - inner * inner)
            own[_COVER, i, j] += rise
            own[_Z_COVER, i, j] += 0.5 * (za + zb) * rise
            own[_LID, i, j] -= math.pi * (rb * rb - ra * ra)
            area = math.pi * (ra + rb) * length * (b - a)
            if on_axis or area <= 0.0:
                continue
            share = area / edge_area
            middle = 0.5 * (ra + rb) * normal_r + 0.5 * (za + zb) * normal_z
            surface[kind, _AREA, i, j] += area
            surface[kind, _REACH, i, j] += area * middle
            surface[kind, _N_R, i, j] += area * normal_r
            surface[kind, _N_Z, i, j] += area * normal_z
            surface[kind, _GROWTH, i, j] += share * growth
            surface[kind, _GROWTH_2, i, j] += share * growth_2
    return own, surface


def share_out(inside: FloatArray, volume: FloatArray, left: FloatArray) -> tuple[FloatArray, FloatArray]:
    """What a layer gets of each cell, given its own volume there and what is left of the cell; and what is left then.

    Rounding may leave a hair of a layer where an inner one has taken the cell already.
    """
    share = np.clip(inside - (volume - left), 0.0, left)
    return share, left - share


@compiled
def joined_cells(
    volume: FloatArray,
    moments: FloatArray,
    shares: FloatArray,
    slot: npt.NDArray[np.int64],
    surface: FloatArray,
    radial: FloatArray,
    beside: FloatArray,
    axial: FloatArray,
    full: FloatArray,
    across: int,
) -> npt.NDArray[np.int64]:
    """Give cells that are nearly empty to the neighbour behind their widest opening, in place; returns the pairs.

    Parameters
    ----------
    volume, radial, beside, axial, across
        As in `Grid`, the openings as areas [m2].
    moments, shares
        Of each cell, (n, n_columns, n_z).
    slot, surface
        The row in `surface` of each kind of surface in each cell, (3, n_cells), −1: none; all of a row is added up
        when two cells join.
    full
        Volume of a whole cell of each column [m3].
    """
    n, n_z = volume.shape
    wanting = np.empty(volume.size)
    for i in range(n):
        for j in range(n_z):
            here = i * n_z + j
            outside = slot[0, here] >= 0 or slot[1, here] >= 0 or slot[2, here] >= 0
            small = volume[i, j] < _TOO_SMALL * full[i] and (volume[i, j] > 0.0 or outside)
            wanting[here] = volume[i, j] / full[i] if small else 2.0
    pairs = np.empty((volume.size, 2), dtype=np.int64)
    count = 0
    # The emptiest first: what it gives may lift a neighbour over the limit.
    for here in np.argsort(wanting, kind="mergesort"):
        if wanting[here] > 1.0:
            break
        i, j = here // n_z, here % n_z
        if volume[i, j] >= _TOO_SMALL * full[i]:
            continue
        widest, there = 0.0, -1
        fullest, beyond = 0.0, -1
        for way in range(6):
            to_i, to_j, opening = i, j, 0.0
            if way == 0 and i >= across:
                to_i = i - across
                opening = radial[to_i, j]
            elif way == 1 and i % across != 0:
                to_i = i - 1
                opening = beside[to_i, j]
            elif way == 2 and j > 0:
                to_j = j - 1
                opening = axial[i, to_j]
            elif way == 3 and j + 1 < n_z:
                to_j = j + 1
                opening = axial[i, j]
            elif way == 4 and (i + 1) % across != 0:
                to_i = i + 1
                opening = beside[i, j]
            elif way == 5 and i + across < n:
                to_i = i + across
                opening = radial[i, j]
            else:
                continue
            held = volume[to_i, to_j]
            if opening > 0.0 and opening >= widest and held > 0.0:
                widest, there = opening, to_i * n_z + to_j
            if held > fullest:
                fullest, beyond = held, to_i * n_z + to_j
        if there < 0:
            if volume[i, j] > 0.0 and slot[0, here] < 0 and slot[1, here] < 0 and slot[2, here] < 0:
                continue
            # A sliver closed on all sides: what it holds goes to the fullest cell beside it, or across an edge.
            if beyond < 0:
                for di in (-across - 1, -across, -across + 1, -1, 0, 1, across - 1, across, across + 1):
                    for dj in range(-1, 2):
                        to_i, to_j = i + di, j + dj
                        inside = 0 <= to_i < n and 0 <= to_j < n_z and abs(to_i % across - i % across) <= 1
                        if inside and to_i != i and volume[to_i, to_j] > fullest:
                            fullest, beyond = volume[to_i, to_j], to_i * n_z + to_j
            there = beyond
            if there < 0:
                continue
        to_i, to_j = there // n_z, there % n_z
        pairs[count, 0], pairs[count, 1] = here, there
        count += 1
        volume[to_i, to_j] += volume[i, j]
        volume[i, j] = 0.0
        for m in range(len(moments)):
            moments[m, to_i, to_j] += moments[m, i, j]
            moments[m, i, j] = 0.0
        for m in range(len(shares)):
            shares[m, to_i, to_j] += shares[m, i, j]
            shares[m, i, j] = 0.0
        for kind in range(3):
            row, other = slot[kind, here], slot[kind, there]
            if row >= 0 and other >= 0:
                for c in range(surface.shape[1]):
                    surface[other, c] += surface[row, c]
            elif row >= 0:
                slot[kind, there] = row
            slot[kind, here] = -1
        radial[i, j] = axial[i, j] = 0.0
        if i >= across:
            radial[i - across, j] = 0.0
        if j:
            axial[i, j - 1] = 0.0
        if across > 1:
            beside[i, j] = 0.0
            if i % across != 0:
                beside[i - 1, j] = 0.0
    return pairs[:count]


def _distances(
    r: FloatArray, z: FloatArray, step: Metre, volume: FloatArray, moments: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """How far apart neighbours outwards and upwards are [m]: a cut cell's middle lies where its volume does.

    A whole ring keeps its middle at half width; what counts is how far a cut moves it from there.
    """
    safe = np.maximum(volume, 1e-30)
    whole = r + step**2 / (12 * r)  # centre of gravity of a whole ring
    at_r = np.where(volume > 0, moments[0] / safe - (whole - r)[:, None], r[:, None])
    at_z = np.where(volume > 0, moments[1] / safe, z[None, :])
    distance_r, distance_z = np.full(volume.shape, step), np.full(volume.shape, step)
    distance_r[:-1] = np.clip(np.diff(at_r, axis=0), 0.5 * step, 1.5 * step)
    distance_z[:, :-1] = np.clip(np.diff(at_z, axis=1), 0.5 * step, 1.5 * step)
    return distance_r, distance_z


def _assembled(
    step: Metre,
    r: FloatArray,
    z: FloatArray,
    volume: FloatArray,
    moments: FloatArray,
    shares: FloatArray,
    joined: npt.NDArray[np.int64],
    slot: npt.NDArray[np.int64],
    surface: FloatArray,
    radial: FloatArray,
    axial: FloatArray,
) -> Grid:
    kind, cell = np.nonzero(slot >= 0)
    i, j = cell // len(z), cell % len(z)
    area, reach, n_r, n_z, growth, growth_2 = surface[slot[kind, cell]].T
    centroid = moments[:, i, j] / np.maximum(volume[i, j], 1e-30)
    depth = (reach - n_r * centroid[0] - n_z * centroid[1]) / area
    upright = n_r**2 / np.maximum(n_r**2 + n_z**2, 1e-300)
    return Grid(
        step=step,
        r=r,
        z=z,
        volume=volume,
        shares=shares,
        joined=joined,
        radial=np.ascontiguousarray(radial),
        axial=np.ascontiguousarray(axial),
        face_r=i,
        face_z=j,
        face_kind=kind,
        face_area=area,
        # Where a hollow brings the surface behind the centre of gravity the cell is thin: a twentieth of a step.
        face_depth=np.maximum(depth, 0.05 * step),
        face_along=np.stack([upright, np.zeros_like(upright), 1.0 - upright]),
        face_growth=np.stack([growth, growth_2]) / area,
    )
