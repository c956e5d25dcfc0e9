"""The one scheme that moves heat: enthalpy in cells, two linearly implicit stages, a sweep along each direction.

Unknown is the heat content H of each cell [J/m3]; temperature and conductivity follow from it by look-up. With F(H) the
heat that flows into the cells, and W = (C + Δt L_r) C⁻¹ (C + Δt L_z) the conduction operator factored by direction,
or W = (C + Δt L_xy) C⁻¹ (C + Δt L_z) where the body is not round,

    W x₁ = F(H),  H* = H + Δt C x₁/V,  W x₂ = F(H*) − 2 C x₁,  H ← H + Δt C (1.5 x₁ + 0.5 x₂)/V.

That is the two-stage W-method of second order, whatever W is; neither splitting nor the choice of C lowers the order.
A factor for each of three directions will not do: where the surface is curved they do not commute, and steps of minutes
make one cell drift from the next. So L_xy stays whole, and its factor is solved by rounds of sweeps along x and y in
turn (Peaceman and Rachford), which close in on it at every wave length; what they leave is levelled out, so that it
adds up to nothing.
C is a chord of the heat-content curve taken half a step ahead, which sees the onset of freezing coming. What one cell
gives another takes, and what passes the surface is counted from the same sweeps, so heat balances to rounding.

Cells stand in columns of one z each. The columns of a round body follow each other outwards along r; those of any other
body are numbered along y within x, so that the next column outwards (along x) lies `across` columns on, and the next
one beside it (along y) one on. A round body is the case of `across` = 1, and has nothing beside.

All compiled loops of the scheme stand in this one file, because machine code kept on disk is renewed by file.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from demoule.cold.compiled import compiled
from demoule.units import FloatArray

__all__ = ["ENDED", "FULL", "LEVELLED", "OUT_OF_TIME", "Cells", "End", "Faces", "Lookups", "RoomAir", "march"]

IntArray = npt.NDArray[np.int64]

ENDED, LEVELLED, OUT_OF_TIME, FULL = 0, 1, 2, 3
"""Why a run stopped: target met, nothing moves any more, end of the time, too many steps."""

AREA, DEPTH, INNER, OUTER, FILM, CONVECTIVE, CAPACITY, BARE, ALONG_R, ALONG_Y, ALONG_Z = range(11)
"""Columns of `Faces.table`; see `walls.faces`."""

_CHORD = 1.0e3  # J/m3, a change too small to take a chord over
_FLAT = 1e-12  # K per J/m3: flatter is taken as flat, so that a heat capacity stays finite
_MISSED = 0.05  # of how far the heat capacity missed a cell's temperature: a kink jumped over shows only there
_TOGETHER = 16  # columns that go through the sweep along z side by side, so that they share what is near at hand
_ROUNDS = 4  # of sweeps along x and y in turn
_CUT_CELLS = 1.0  # by how much heat spreads faster in cut cells than in whole ones
_FARTHEST = 150.0  # cells, by squares, that heat may spread in a step where the body is not round
_LONE = 0.2  # of the greatest error of one cell counts beside the mean one, or the last frozen cells would be lost


class Cells(NamedTuple):
    """The grid: see `Grid`; `first` and `last` bound the cells used in each column."""

    volume: FloatArray
    radial: FloatArray
    beside: FloatArray
    axial: FloatArray
    across: int
    step: float
    mass: FloatArray
    make_up: IntArray
    first: IntArray
    last: IntArray


class Lookups(NamedTuple):
    """See `Tables`; conductivities are multiplied by `k_factor`; ice at equal steps of temperature, or not at all."""

    rows: FloatArray
    low: FloatArray
    scale: FloatArray
    k_factor: float
    ice: FloatArray
    ice_low: float
    ice_scale: float


class Faces(NamedTuple):
    """The cell of each face, (n_faces, 2), and its resistances, (n_faces, 11)."""

    cell: IntArray
    table: FloatArray


class RoomAir(NamedTuple):
    """Air over time, linear between `times`; `moist`: extra air temperature by surface temperature, empty when dry."""

    times: FloatArray
    air: FloatArray
    moist: FloatArray
    moist_low: float
    moist_scale: float


class End(NamedTuple):
    """When to stop and how fine to step: see `march`."""

    time: float
    tolerance: float
    longest: float
    watch: int
    target: float
    falls: bool
    near: float
    most_steps: int
    level: float
    leave_time: float
    leave_at: float


class _Now(NamedTuple):
    """Everything that follows from the heat content at one moment."""

    temperature: FloatArray
    conductivity: FloatArray
    slope: FloatArray
    g_r: FloatArray
    g_y: FloatArray
    g_z: FloatArray
    u_in: FloatArray
    u_out: FloatArray
    through: FloatArray
    skin: FloatArray


@compiled
def _look_up(heat: FloatArray, cells: Cells, look: Lookups, now: _Now) -> None:
    """Temperature, conductivity and dT/dH of every cell."""
    top = look.rows.shape[1] - 2
    for i in range(heat.shape[0]):
        # Rows are taken as slices: their loops count from zero, which the compiler can put into several lanes.
        a, b = cells.first[i], cells.last[i]
        h, make_up = heat[i, a:b], cells.make_up[i, a:b]
        t, k, slope = now.temperature[i, a:b], now.conductivity[i, a:b], now.slope[i, a:b]
        for j in range(b - a):
            c = make_up[j]
            place = (h[j] - look.low[c]) * look.scale[c]
            row = min(max(int(place), 0), top)
            w = place - row
            t0, t1 = look.rows[c, row, 0], look.rows[c, row + 1, 0]
            k0, k1 = look.rows[c, row, 1], look.rows[c, row + 1, 1]
            t[j] = t0 + w * (t1 - t0)
            k[j] = look.k_factor * (k0 + min(max(w, 0.0), 1.0) * (k1 - k0))
            slope[j] = max((t1 - t0) * look.scale[c], _FLAT)


@compiled
def _flows(cells: Cells, now: _Now, flow: FloatArray) -> None:
    """Conductances between cells [W/K], and the heat that flows into each from its neighbours [W]."""
    n, across = flow.shape[0], cells.across
    for i in range(n):
        a, b = cells.first[i], cells.last[i]
        k, g_z, axial = now.conductivity[i, a:b], now.g_z[i, a:b], cells.axial[i, a:b]
        for j in range(b - a - 1):
            g_z[j] = axial[j] * 2.0 * k[j] * k[j + 1] / (k[j] + k[j + 1])
        if i + across < n:
            outer, g_r, radial = now.conductivity[i + across, a:b], now.g_r[i, a:b], cells.radial[i, a:b]
            for j in range(b - a):
                g_r[j] = radial[j] * 2.0 * k[j] * outer[j] / (k[j] + outer[j])
        if (i + 1) % across != 0:
            other, g_y, beside = now.conductivity[i + 1, a:b], now.g_y[i, a:b], cells.beside[i, a:b]
            for j in range(b - a):
                g_y[j] = beside[j] * 2.0 * k[j] * other[j] / (k[j] + other[j])
    for i in range(n):
        a, b = cells.first[i], cells.last[i]
        t, g_z, f = now.temperature[i, a:b], now.g_z[i, a:b], flow[i, a:b]
        for j in range(b - a):
            f[j] = 0.0
        for j in range(b - a - 1):
            f[j] += g_z[j] * (t[j + 1] - t[j])
        for j in range(1, b - a):
            f[j] -= g_z[j - 1] * (t[j] - t[j - 1])
        _taken(f, now.temperature, now.g_r, i, across, across, a, b, 1.0)
        if across > 1:
            _taken(f, now.temperature, now.g_y, i, 1, across, a, b, 1.0)


@compiled
def _before(i: int, apart: int, across: int) -> int:
    """The column before one along r or x (`apart` = `across`) or along y (1); below zero: it is the first."""
    return i - apart if apart == across or i % across != 0 else -1


@compiled
def _after(i: int, apart: int, across: int, n: int) -> int:
    """The column after one; below zero: it is the last."""
    if apart == across:
        return i + apart if i + apart < n else -1
    return i + 1 if (i + 1) % across != 0 else -1


@compiled
def _taken(
    flow: FloatArray, t: FloatArray, g: FloatArray, i: int, apart: int, across: int, a: int, b: int, factor: float
) -> None:
    """Add what column i takes from the ones before and after it in a direction, times a factor."""
    here = t[i, a:b]
    after, before = _after(i, apart, across, len(t)), _before(i, apart, across)
    if after >= 0:
        other, coupling = t[after, a:b], g[i, a:b]
        for j in range(b - a):
            flow[j] += factor * coupling[j] * (other[j] - here[j])
    if before >= 0:
        other, coupling = t[before, a:b], g[before, a:b]
        for j in range(b - a):
            flow[j] += factor * coupling[j] * (other[j] - here[j])


@compiled
def _surface(
    faces: Faces, room: RoomAir, air: float, wall: FloatArray, now: _Now, flow: FloatArray, wall_flow: FloatArray
) -> None:
    """Heat from the air through each face [W], added to what flows into cells and walls; its coefficients and skin."""
    n_moist = len(room.moist)
    for p in range(len(faces.cell)):
        i, j = faces.cell[p, 0], faces.cell[p, 1]
        face = faces.table[p]
        to_wall = face[DEPTH] / now.conductivity[i, j] + face[INNER]
        walled = face[CAPACITY] > 0.0
        node = wall[p] if walled else now.temperature[i, j]
        behind = face[OUTER] if walled else to_wall + face[OUTER]
        if n_moist == 0:
            u = 1.0 / (behind + face[FILM])
            q = u * (air - node)
        else:
            # Newton on the temperature of the surface: what comes through the air goes on inwards.
            t = now.skin[p]
            slope = 0.0
            for _ in range(3):
                place = min(max((t - room.moist_low) * room.moist_scale, 0.0), n_moist - 1.001)
                m = int(place)
                rise = face[CONVECTIVE] * (room.moist[m] + (place - m) * (room.moist[m + 1] - room.moist[m]))
                slope = face[CONVECTIVE] * (room.moist[m] - room.moist[m + 1]) * room.moist_scale
                excess = (t - node) / behind - (air + rise - t) / face[FILM]
                t -= excess / (1.0 / behind + (1.0 + slope) / face[FILM])
            q = (t - node) / behind
            u = 1.0 / (behind + face[FILM] / (1.0 + slope))
        now.skin[p] = node + q * behind
        now.u_out[p] = u * face[AREA]
        now.through[p] = q * face[AREA]
        if walled:
            now.u_in[p] = face[AREA] / to_wall
            inwards = now.u_in[p] * (node - now.temperature[i, j])
            flow[i, j] += inwards
            wall_flow[p] = now.through[p] - inwards
        else:
            now.u_in[p] = 0.0
            flow[i, j] += now.through[p]
            wall_flow[p] = 0.0


@compiled
def _capacities(
    step: float, heat: FloatArray, rate: FloatArray, cells: Cells, look: Lookups, now: _Now, capacity: FloatArray
) -> None:
    """Heat capacity of every cell [J/K]: the chord over half the change that the last step lets expect."""
    top = look.rows.shape[1] - 2
    for i in range(heat.shape[0]):
        a, b = cells.first[i], cells.last[i]
        h, gone, make_up, volume = heat[i, a:b], rate[i, a:b], cells.make_up[i, a:b], cells.volume[i, a:b]
        now_t, slope, c = now.temperature[i, a:b], now.slope[i, a:b], capacity[i, a:b]
        for j in range(b - a):
            change = 0.5 * step * gone[j]
            rise = slope[j] * change
            if abs(change) > _CHORD:
                u = make_up[j]
                place = (h[j] + change - look.low[u]) * look.scale[u]
                row = min(max(int(place), 0), top)
                t = look.rows[u, row, 0] + (place - row) * (look.rows[u, row + 1, 0] - look.rows[u, row, 0])
                rise = t - now_t[j]
            else:
                change, rise = 1.0, slope[j]
            c[j] = volume[j] * abs(change) / max(abs(rise), _FLAT * abs(change))
            if volume[j] == 0.0:
                c[j] = 1.0


@compiled
def _gain(capacity: float, inwards: float, outwards: float) -> float:
    """What a face adds to its cell's pivot, its wall (if it has one) eliminated."""
    if capacity > 0.0:
        return inwards - inwards * inwards / (capacity + inwards + outwards)
    return outwards


@compiled
def _factor(
    step: float, cells: Cells, faces: Faces, now: _Now, capacity: FloatArray, along: FloatArray, gain: FloatArray
) -> FloatArray:
    """Inverse pivots of the tridiagonal operators, the last of `along` being those along z.

    Of a round body the other is along r. Else they are those along x and y of each round, each with half the capacity
    and the round's own multiple of it, which is returned. `gain` is what the faces add to each cell along x and y.
    """
    n, across = capacity.shape[0], cells.across
    shifts = _shifts(step, cells, now, capacity)
    last = len(along) - 1
    gain[:] = 0.0
    along[last] = 0.0
    for p in range(len(faces.cell)):
        i, j = faces.cell[p, 0], faces.cell[p, 1]
        face = faces.table[p]
        share = face[ALONG_R] + face[ALONG_Y]
        level = _gain(face[CAPACITY], step * share * now.u_in[p], step * share * now.u_out[p])
        part = face[ALONG_R] / share if share > 0.0 else 0.0
        gain[0, i, j] += part * level
        if across > 1:
            gain[1, i, j] += (1.0 - part) * level
        part = step * face[ALONG_Z]
        along[last, i, j] += _gain(face[CAPACITY], part * now.u_in[p], part * now.u_out[p])
    for i in range(n):
        a, b = cells.first[i], cells.last[i]
        if across == 1:
            _pivoted(1.0, step, capacity, gain[0], now.g_r, along[0], i, across, across, a, b)
        else:
            for k in range(_ROUNDS):
                own = 0.5 + shifts[k]
                _pivoted(own, step, capacity, gain[0], now.g_r, along[k], i, across, across, a, b)
                _pivoted(own, step, capacity, gain[1], now.g_y, along[_ROUNDS + k], i, 1, across, a, b)
        c, of_z, g_z = capacity[i, a:b], along[last, i, a:b], now.g_z[i, a:b]
        for j in range(b - a):
            of_z[j] += c[j] + step * g_z[j]
        for j in range(1, b - a):
            of_z[j] += step * g_z[j - 1]
    along_z = along[last]
    for start in range(0, n, _TOGETHER):
        low, high, end = _together(cells, start)
        for i in range(start, end):
            for j in range(low, high):
                if along_z[i, j] == 0.0:  # outside the body
                    along_z[i, j] = 1.0
        for j in range(low, high):
            for i in range(start, end):
                q = step * now.g_z[i, j - 1] if j else 0.0
                pivot = along_z[i, j - 1] if j else 0.0
                along_z[i, j] = 1.0 / (along_z[i, j] - q * q * pivot)
    return shifts


@compiled
def _shifts(step: float, cells: Cells, now: _Now, capacity: FloatArray) -> FloatArray:
    """The multiples of the capacity that the rounds add, evenly spread by their ratio over all wave lengths.

    The smallest comes first: rounds in the other order grow where the surface is deeply ribbed.
    """
    shifts = np.zeros(_ROUNDS)
    if cells.across > 1:
        ratio = 1.0 + _CUT_CELLS * _spread(step, cells, now, capacity) / 0.5
        for k in range(_ROUNDS):
            shifts[k] = 0.5 * ratio ** ((2 * k + 1) / (2.0 * _ROUNDS))
    return shifts


@compiled
def _spread(step: float, cells: Cells, now: _Now, capacity: FloatArray) -> float:
    """How far heat spreads within a step where it does so fastest, in cells by squares, along one direction."""
    fastest = 0.0
    for i in range(capacity.shape[0]):
        a, b = cells.first[i], cells.last[i]
        k, v, c = now.conductivity[i, a:b], cells.volume[i, a:b], capacity[i, a:b]
        for j in range(b - a):
            fastest = max(fastest, k[j] * v[j] / c[j])
    return 2.0 * step * fastest / cells.step**2


@compiled
def _spread_now(cells: Cells, now: _Now) -> float:
    """How far heat spreads in a second at this moment where it does so fastest, in cells by squares."""
    fastest = 0.0
    for i in range(cells.volume.shape[0]):
        a, b = cells.first[i], cells.last[i]
        k, slope, v = now.conductivity[i, a:b], now.slope[i, a:b], cells.volume[i, a:b]
        for j in range(b - a):
            if v[j] > 0.0:
                fastest = max(fastest, k[j] * slope[j])
    return 2.0 * fastest / cells.step**2


@compiled
def _pivoted(
    own: float,
    step: float,
    capacity: FloatArray,
    gain: FloatArray,
    g: FloatArray,
    along: FloatArray,
    i: int,
    apart: int,
    across: int,
    a: int,
    b: int,
) -> None:
    """Inverse pivots of a column from those of the one before it, with so many times its own capacity."""
    here, c, more = along[i, a:b], capacity[i, a:b], gain[i, a:b]
    for j in range(b - a):
        here[j] = own * c[j] + more[j]
    if _after(i, apart, across, len(capacity)) >= 0:
        coupling = g[i, a:b]
        for j in range(b - a):
            here[j] += step * coupling[j]
    before = _before(i, apart, across)
    if before >= 0:
        coupling, pivot = g[before, a:b], along[before, a:b]
        for j in range(b - a):
            here[j] += step * coupling[j] * (1.0 - step * coupling[j] * pivot[j])
    for j in range(b - a):
        here[j] = 1.0 / here[j]


@compiled
def _together(cells: Cells, start: int) -> tuple[int, int, int]:
    """Lowest and highest cell used by the columns that are swept together from one on, and the column after them."""
    end = min(start + _TOGETHER, len(cells.first))
    low, high = cells.volume.shape[1], 0
    for i in range(start, end):
        if cells.last[i] > cells.first[i]:
            low = min(low, cells.first[i])
            high = max(high, cells.last[i])
    return low, high, end


@compiled
def _share(face: FloatArray, upright: bool) -> float:
    """What the sweep along z takes of a face, or those along r, x and y."""
    return float(face[ALONG_Z] if upright else face[ALONG_R] + face[ALONG_Y])


@compiled
def _walls_in(x: FloatArray, y: FloatArray, faces: Faces, now: _Now, step: float, upright: bool) -> None:
    """Put the walls' right side `y` on that of their cells, the walls eliminated."""
    for p in range(len(faces.cell)):
        if faces.table[p, CAPACITY] > 0.0:
            part = step * _share(faces.table[p], upright)
            pivot = faces.table[p, CAPACITY] + part * (now.u_in[p] + now.u_out[p])
            x[faces.cell[p, 0], faces.cell[p, 1]] += part * now.u_in[p] * y[p] / pivot


@compiled
def _walls_out(x: FloatArray, y: FloatArray, faces: Faces, now: _Now, step: float, upright: bool) -> float:
    """The walls' answer from that of their cells (a bare face: its cell's); returns what they draw from the air [W]."""
    drawn = 0.0
    for p in range(len(faces.cell)):
        cell = x[faces.cell[p, 0], faces.cell[p, 1]]
        part = step * _share(faces.table[p], upright)
        if faces.table[p, CAPACITY] > 0.0:
            pivot = faces.table[p, CAPACITY] + part * (now.u_in[p] + now.u_out[p])
            y[p] = (y[p] + part * now.u_in[p] * cell) / pivot
        else:
            y[p] = cell
        drawn -= part * now.u_out[p] * y[p]
    return drawn


@compiled
def _swept(x: FloatArray, step: float, cells: Cells, g: FloatArray, along: FloatArray, apart: int) -> None:
    """Solve the lines that lead from column to column; neighbours on a line are so many columns `apart`."""
    n, across = x.shape[0], cells.across
    for i in range(n):
        before = _before(i, apart, across)
        if before >= 0:
            a, b = cells.first[i], cells.last[i]
            here, there, coupling, pivot = x[i, a:b], x[before, a:b], g[before, a:b], along[before, a:b]
            for j in range(b - a):
                here[j] += step * coupling[j] * pivot[j] * there[j]
    for i in range(n - 1, -1, -1):
        a, b = cells.first[i], cells.last[i]
        here, pivot = x[i, a:b], along[i, a:b]
        after = _after(i, apart, across, n)
        if after >= 0:
            there, coupling = x[after, a:b], g[i, a:b]
            for j in range(b - a):
                here[j] += step * coupling[j] * there[j]
        for j in range(b - a):
            here[j] *= pivot[j]


@compiled
def _rest(
    right: FloatArray,
    given: FloatArray,
    x: FloatArray,
    step: float,
    shift: float,
    cells: Cells,
    capacity: FloatArray,
    gain: FloatArray,
    g: FloatArray,
    apart: int,
) -> None:
    """The right side of a half round: what is given, less what `x` takes of it across the lines, and its shift."""
    for i in range(x.shape[0]):
        a, b = cells.first[i], cells.last[i]
        f, all_, here = right[i, a:b], given[i, a:b], x[i, a:b]
        c, more = capacity[i, a:b], gain[i, a:b]
        for j in range(b - a):
            f[j] = all_[j] + ((shift - 0.5) * c[j] - more[j]) * here[j]
        _taken(f, x, g, i, apart, cells.across, a, b, step)


@compiled
def _plane(
    x: FloatArray,
    step: float,
    cells: Cells,
    now: _Now,
    capacity: FloatArray,
    along: FloatArray,
    gain: FloatArray,
    shifts: FloatArray,
    given: FloatArray,
    half: FloatArray,
) -> None:
    """Solve (C + Δt L_xy) x = right side in place, by rounds along x and y; `given` and `half` are room to work in."""
    for i in range(x.shape[0]):
        a, b = cells.first[i], cells.last[i]
        given[i, a:b] = x[i, a:b]
        half[i, a:b] = x[i, a:b]
    for k in range(_ROUNDS):
        if k > 0:
            _rest(half, given, x, step, shifts[k], cells, capacity, gain[1], now.g_y, 1)
        _swept(half, step, cells, now.g_r, along[k], cells.across)
        _rest(x, given, half, step, shifts[k], cells, capacity, gain[0], now.g_r, cells.across)
        _swept(x, step, cells, now.g_y, along[_ROUNDS + k], 1)
    left, whole = 0.0, 0.0
    for i in range(x.shape[0]):
        a, b = cells.first[i], cells.last[i]
        for j in range(a, b):
            if cells.volume[i, j] > 0.0:
                own = capacity[i, j] + gain[0, i, j] + gain[1, i, j]
                left += given[i, j] - own * x[i, j]
                whole += own
    for i in range(x.shape[0]):
        here = x[i, cells.first[i] : cells.last[i]]
        for j in range(len(here)):
            here[j] += left / whole


@compiled
def _solve(
    x: FloatArray,
    y: FloatArray,
    step: float,
    cells: Cells,
    faces: Faces,
    now: _Now,
    capacity: FloatArray,
    along: FloatArray,
    gain: FloatArray,
    shifts: FloatArray,
    given: FloatArray,
    half: FloatArray,
) -> float:
    """Solve W x = right side in place, x for cells and y for walls; returns what x draws from the air [W]."""
    _walls_in(x, y, faces, now, step, False)
    if cells.across == 1:
        _swept(x, step, cells, now.g_r, along[0], 1)
    else:
        _plane(x, step, cells, now, capacity, along, gain, shifts, given, half)
    drawn = _walls_out(x, y, faces, now, step, False)
    for p in range(len(faces.cell)):
        y[p] *= faces.table[p, CAPACITY]
    for i in range(x.shape[0]):
        a, b = cells.first[i], cells.last[i]
        here, c = x[i, a:b], capacity[i, a:b]
        for j in range(b - a):
            here[j] *= c[j]
    _walls_in(x, y, faces, now, step, True)
    along_z = along[len(along) - 1]
    for start in range(0, x.shape[0], _TOGETHER):
        low, high, end = _together(cells, start)
        for j in range(low + 1, high):
            for i in range(start, end):
                x[i, j] += step * now.g_z[i, j - 1] * along_z[i, j - 1] * x[i, j - 1]
        if high > low:
            for i in range(start, end):
                x[i, high - 1] *= along_z[i, high - 1]
        for j in range(high - 2, low - 1, -1):
            for i in range(start, end):
                x[i, j] = (x[i, j] + step * now.g_z[i, j] * x[i, j + 1]) * along_z[i, j]
    return drawn + _walls_out(x, y, faces, now, step, True)


@compiled
def _note(row: FloatArray, cells: Cells, look: Lookups, faces: Faces, wall: FloatArray, now: _Now, air: float) -> float:
    """Write core, mean, surface and the ice of each layer into a row of the log; returns the distance from the air [K].

    The core is the place that is slowest to follow: the warmest in a colder room, the coldest in a warmer one.
    """
    n_r = cells.volume.shape[0]
    coldest, warmest = 1e9, -1e9
    for i in range(n_r):
        for j in range(cells.first[i], cells.last[i]):
            if cells.volume[i, j] > 0.0:
                coldest = min(coldest, now.temperature[i, j])
                warmest = max(warmest, now.temperature[i, j])
    away = max(abs(coldest - air), abs(warmest - air))
    row[1] = warmest if abs(warmest - air) > abs(coldest - air) else coldest
    surface, area = 0.0, 0.0
    for p in range(len(faces.cell)):
        face = faces.table[p]
        i, j = faces.cell[p, 0], faces.cell[p, 1]
        walled = face[CAPACITY] > 0.0
        if walled:
            away = max(away, abs(wall[p] - air))
        t = now.skin[p]
        if face[BARE] == 0.0:  # under a mould's wall
            depth = face[DEPTH] / now.conductivity[i, j]
            node = wall[p] if walled else air
            way = depth + face[INNER] + (0.0 if walled else face[OUTER] + face[FILM])
            t = now.temperature[i, j] + depth / way * (node - now.temperature[i, j])
        surface += face[AREA] * t
        area += face[AREA]
    row[3] = surface / area
    heat_mass, all_mass = 0.0, 0.0
    for m in range(len(cells.mass)):
        top = look.ice.shape[1] - 2
        ice, mass = 0.0, 0.0
        for i in range(n_r):
            a, b = cells.first[i], cells.last[i]
            t, here = now.temperature[i, a:b], cells.mass[m, i, a:b]
            for j in range(b - a):
                heat_mass += here[j] * t[j]
                mass += here[j]
            if top >= 0:
                for j in range(b - a):
                    if here[j] > 0.0:
                        place = (t[j] - look.ice_low) * look.ice_scale
                        at = min(max(int(place), 0), top)
                        ice += here[j] * (look.ice[m, at] + (place - at) * (look.ice[m, at + 1] - look.ice[m, at]))
        row[5 + m] = ice / mass if mass > 0.0 and top >= 0 else np.nan
        all_mass += mass
    row[2] = heat_mass / all_mass
    return away


@compiled
def _air_at(room: RoomAir, time: float) -> float:
    """Air temperature at a time [s], linear between the times given, the last one for ever."""
    for a in range(1, len(room.times)):
        if time < room.times[a]:
            w = (time - room.times[a - 1]) / (room.times[a] - room.times[a - 1])
            return float(room.air[a - 1] + min(max(w, 0.0), 1.0) * (room.air[a] - room.air[a - 1]))
    return float(room.air[-1])


@compiled
def march(
    cells: Cells,
    look: Lookups,
    faces: Faces,
    room: RoomAir,
    end: End,
    heat: FloatArray,
    wall: FloatArray,
    log: FloatArray,
    fields: npt.NDArray[np.float32],
    field_rows: IntArray,
    left_heat: FloatArray,
    left_wall: FloatArray,
) -> tuple[int, float, float, int, int, int, float]:
    """Run one stay in one room; `heat` [J/m3] and `wall` [K] are moved on in place.

    Parameters
    ----------
    end
        Time at most [s]; error allowed per step [K]; longest step [s]; what is watched (0 nothing, 1 core, 2 mean,
        3 surface), the temperature it must reach [K], whether falling, to hold for two more steps (after
        which `heat` and `wall` are those at the target); how near to it [K]
        a step is at most a hundredth of the elapsed time; steps at most; how near
        to the air [K] everything is at rest; when the body is left as it then stands though the run goes on: at a
        time [s] (inf: not), or when what is watched comes to a temperature [K] (NaN: not).
    log
        Filled per accepted step: time [s], core, mean, surface [K], heat through the surface so far [J], ice of each
        layer.
    fields, field_rows
        Filled with temperature fields [K] and their row in `log`; when they run out every other one is dropped.
    left_heat, left_wall
        Filled with `heat` and `wall` as they stood when the body was left.

    Returns
    -------
    Why it stopped, when the target was met [s] (NaN: not), heat through the surface [J], rows in `log`, number of
    fields, steps taken, when the body was left [s] (NaN: not).
    """
    shape, beside, n = cells.volume.shape, cells.beside.shape, len(faces.cell)
    now = _Now(
        np.ones(shape), np.ones(shape), np.ones(shape), np.zeros(shape), np.zeros(beside), np.zeros(shape),
        np.zeros(n), np.zeros(n), np.zeros(n), np.zeros(n),
    )  # fmt: skip
    then = _Now(
        np.ones(shape), np.ones(shape), np.ones(shape), np.zeros(shape), np.zeros(beside), np.zeros(shape),
        np.zeros(n), np.zeros(n), np.zeros(n), np.zeros(n),
    )  # fmt: skip
    capacity = np.ones(shape)
    round_body = cells.across == 1
    along = np.ones((2 if round_body else 2 * _ROUNDS + 1, shape[0], shape[1]))
    gain = np.zeros((1 if round_body else 2, shape[0], shape[1]))
    given, half = np.zeros(beside), np.zeros(beside)
    flow, x_1, x_2, rate, ahead = (np.zeros(shape), np.zeros(shape), np.zeros(shape), np.zeros(shape), np.zeros(shape))
    wall_flow, y_1, y_2, wall_ahead, wall_rate = np.zeros(n), np.zeros(n), np.zeros(n), np.zeros(n), np.zeros(n)
    total = cells.volume.sum()
    # The same arrays as single rows, for what is done cell by cell; a cell outside the body has no volume and no part.
    size = shape[0] * shape[1]
    flat_heat, flat_c, flat_1, flat_2 = heat.reshape(size), capacity.reshape(size), x_1.reshape(size), x_2.reshape(size)
    flat_rate, flat_ahead, flat_volume = rate.reshape(size), ahead.reshape(size), cells.volume.reshape(size)
    flat_now, flat_then = now.temperature.reshape(size), then.temperature.reshape(size)
    per_volume = np.zeros(size)
    for q in range(size):
        if flat_volume[q] > 0.0:
            per_volume[q] = 1.0 / flat_volume[q]
    time, dt, through, drawn, crossing, before = 0.0, 0.5, 0.0, 0.0, np.nan, 0.0
    n_log, n_fields, every, steps, met = 0, 0, 1, 0, 0
    heat_there, wall_there, through_there = heat.copy(), wall.copy(), 0.0  # when the target was met
    left = np.nan
    air = _air_at(room, 0.0)
    _look_up(heat, cells, look, now)
    for p in range(n):
        now.skin[p] = wall[p] if faces.table[p, CAPACITY] > 0.0 else now.temperature[faces.cell[p, 0], faces.cell[p, 1]]
    while True:
        _flows(cells, now, flow)
        _surface(faces, room, air, wall, now, flow, wall_flow)
        away = _note(log[n_log], cells, look, faces, wall, now, air)
        log[n_log, 0] = time
        log[n_log, 4] = through
        if n_log % every == 0:
            if n_fields == len(fields):
                n_fields = (n_fields + 1) // 2
                every *= 2
                for f in range(n_fields):
                    fields[f] = fields[2 * f]
                    field_rows[f] = field_rows[2 * f]
            if n_log % every == 0:
                fields[n_fields] = now.temperature
                field_rows[n_fields] = n_log
                n_fields += 1
        n_log += 1

        watched = log[n_log - 1, max(end.watch, 1)]
        if np.isnan(left):
            if time >= end.leave_time * (1.0 - 1e-12):
                left = time
            elif end.watch > 0 and (watched <= end.leave_at if end.falls else watched >= end.leave_at):
                left = time
                if n_log > 1 and watched != before:
                    start = log[n_log - 2, 0]
                    left = start + (time - start) * (end.leave_at - before) / (watched - before)
            if not np.isnan(left):
                left_heat[:] = heat - (time - left) * rate
                left_wall[:] = wall - (time - left) * wall_rate
        if end.watch > 0:
            if (watched <= end.target) == end.falls:
                if met == 0:
                    crossing = time
                    if n_log > 1 and watched != before:
                        start = log[n_log - 2, 0]
                        crossing = start + (time - start) * (end.target - before) / (watched - before)
                    heat_there[:] = heat - (time - crossing) * rate
                    wall_there[:] = wall - (time - crossing) * wall_rate
                    through_there = through - (time - crossing) * 0.5 * drawn
                met += 1
                if met == 3:
                    heat[:] = heat_there
                    wall[:] = wall_there
                    return ENDED, crossing, through_there, n_log, n_fields, steps, left
            else:
                met = 0
            before = watched
        if time >= end.time * (1.0 - 1e-12):
            return OUT_OF_TIME, np.nan, through, n_log, n_fields, steps, left
        if away < end.level and time >= room.times[-1]:
            return LEVELLED, np.nan, through, n_log, n_fields, steps, left
        if steps >= end.most_steps or n_log >= len(log):
            return FULL, np.nan, through, n_log, n_fields, steps, left

        dt = min(dt, end.longest)
        if not round_body:
            dt = min(dt, _FARTHEST / _spread_now(cells, now))
        if end.watch > 0 and abs(watched - end.target) < end.near:
            dt = min(dt, max(0.01 * time, 0.5))
        while True:  # one step, again with a shorter one until its error is small enough
            steps += 1
            step = min(dt, end.time - time)
            if time < end.leave_time:
                step = min(step, end.leave_time - time)
            later = _air_at(room, time + step)
            _capacities(step, heat, rate, cells, look, now, capacity)
            shifts = _factor(step, cells, faces, now, capacity, along, gain)
            x_1[:] = flow
            y_1[:] = wall_flow
            drawn = now.through.sum() + _solve(
                x_1, y_1, step, cells, faces, now, capacity, along, gain, shifts, given, half
            )
            for q in range(size):
                flat_ahead[q] = flat_heat[q] + step * flat_c[q] * flat_1[q] * per_volume[q]
            for p in range(n):
                wall_ahead[p] = wall[p] + (step * y_1[p] if faces.table[p, CAPACITY] > 0.0 else 0.0)
                then.skin[p] = now.skin[p]
            _look_up(ahead, cells, look, then)
            _flows(cells, then, x_2)
            _surface(faces, room, later, wall_ahead, then, x_2, y_2)
            for q in range(size):
                flat_2[q] -= 2.0 * flat_c[q] * flat_1[q]
            for p in range(n):
                y_2[p] -= 2.0 * faces.table[p, CAPACITY] * y_1[p]
            drawn += then.through.sum() + _solve(
                x_2, y_2, step, cells, faces, now, capacity, along, gain, shifts, given, half
            )
            square, widest, missed = 0.0, 0.0, 0.0
            for q in range(size):
                if flat_volume[q] > 0.0:
                    e = 0.5 * step * (flat_1[q] + flat_2[q])
                    square += flat_volume[q] * e * e
                    widest = max(widest, abs(e))
                    missed = max(missed, abs(flat_then[q] - flat_now[q] - step * flat_1[q]))
            error = max(np.sqrt(square / total), _LONE * widest, _MISSED * missed) / end.tolerance
            change = 0.85 / np.sqrt(max(error, 1e-12))
            if error <= 1.0 or step < 1e-6:
                break
            dt = step * min(max(change, 0.3), 0.9)
            if steps >= end.most_steps:
                break
        for q in range(size):
            flat_rate[q] = flat_c[q] * (1.5 * flat_1[q] + 0.5 * flat_2[q]) * per_volume[q]
            flat_heat[q] += step * flat_rate[q]
        for p in range(n):
            if faces.table[p, CAPACITY] > 0.0:
                wall_rate[p] = 1.5 * y_1[p] + 0.5 * y_2[p]
                wall[p] += step * wall_rate[p]
        through += 0.5 * step * drawn
        time += step
        air = later
        dt = step * min(max(change, 0.3), 2.0)
        _look_up(heat, cells, look, now)
