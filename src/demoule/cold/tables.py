"""Turns what a cell is made of into one look-up: heat content in, temperature and conductivity out."""

from __future__ import annotations

import functools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from demoule.cold.compiled import compiled
from demoule.cold.matter import Matter
from demoule.cold.solver import Lookups
from demoule.units import FloatArray, Kelvin

__all__ = ["Tables", "same_range", "tables_for"]

SIXTEENTHS = 16
"""A cell's make-up is told in sixteenths of its volume; one table for each make-up that occurs."""

_ROWS = 4096  # equal steps of heat content in a table
SPACING = 0.025  # K, of the temperatures from which a table is turned round
_BOX = 0.5  # K, over which heat content and conductivity are smoothed
_BOX_SHARE = 0.15  # of the freezing point below 0 °C: a wider box would move the times of nearly pure water
_ROUNDING: Kelvin = 5.0  # temperature ranges start and end at multiples of it, so that tables can be used again
_MARGIN = 0.2  # of that, at least, beyond what can occur


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Tables:
    """Look-ups of all make-ups in a grid.

    Parameters
    ----------
    make_up
        Number of the table of each cell, shape (n_r, n_z).
    parts
        Fraction of the volume that each layer has in each make-up, shape (n_make_ups, n_layers).
    rows
        Temperature [K] and conductivity [W/(m K)] at equal steps of heat content, shape (n_make_ups, n_rows, 2).
    low, scale
        Heat content of the first row [J/m3] and rows per J/m3, shape (n_make_ups,).
    temperature, heat, ice
        Of each layer by itself: temperatures at equal steps, shape (n,); heat content [J/m3] and share of the layer's
        mass that is ice, shape (n_layers, n).
    """

    make_up: npt.NDArray[np.int64]
    parts: FloatArray
    rows: FloatArray
    low: FloatArray
    scale: FloatArray
    temperature: FloatArray
    heat: FloatArray
    ice: FloatArray

    def lookups(self, k_factor: float = 1.0, *, ice: bool = True) -> Lookups:
        """As the solver takes them, with or without the ice of each layer."""
        start, step = float(self.temperature[0]), float(self.temperature[1] - self.temperature[0])
        return Lookups(
            self.rows, self.low, self.scale, k_factor, self.ice if ice else self.ice[:, :0].copy(), start, 1 / step
        )

    def heat_at(self, temperatures: Sequence[Kelvin] | FloatArray) -> FloatArray:
        """Heat content of every cell [J/m3] when each layer has its own temperature [K], shape of the grid."""
        by_layer = np.array(
            [np.interp(t, self.temperature, row) for t, row in zip(temperatures, self.heat, strict=True)]
        )
        by_make_up: FloatArray = self.parts @ by_layer
        return np.asarray(by_make_up[self.make_up])

    def temperature_of(self, heat: FloatArray) -> FloatArray:
        """Temperature of every cell [K] from its heat content; `heat` may have leading axes."""
        n = self.rows.shape[1]
        place = (heat - self.low[self.make_up]) * self.scale[self.make_up]
        row = np.clip(place.astype(np.int64), 0, n - 2)
        below = self.rows[self.make_up, row, 0]
        return np.asarray(below + (place - row) * (self.rows[self.make_up, row + 1, 0] - below))

    def ice_of(self, layer: int, temperature: FloatArray) -> FloatArray:
        """Share of a layer's mass that is ice at given temperatures."""
        shares: FloatArray = np.interp(temperature, self.temperature, self.ice[layer])
        return shares


def _range(low: Kelvin, high: Kelvin) -> tuple[Kelvin, Kelvin]:
    """Where the look-ups for temperatures between two others start and end [K]."""
    start, end = _ROUNDING * np.floor(low / _ROUNDING - _MARGIN), _ROUNDING * np.ceil(high / _ROUNDING + _MARGIN)
    return float(start), float(end)


def same_range(low: Kelvin, high: Kelvin) -> tuple[Kelvin, Kelvin]:
    """Two temperatures that stand for all those whose look-ups start and end where those of `low` and `high` do [K]."""
    start, end = _range(low, high)
    return start + 1.5 * _MARGIN * _ROUNDING, end - 1.5 * _MARGIN * _ROUNDING


def tables_for(
    matters: Sequence[Matter],
    densities: FloatArray,
    shares: FloatArray,
    low: Kelvin,
    high: Kelvin,
    *,
    smooth: bool = True,
    spacing: float = SPACING,
) -> Tables:
    """The look-ups for a grid.

    Parameters
    ----------
    matters, densities
        Of each layer; densities [kg/m3] with air, shape (n_layers,).
    shares
        Volume of each layer in each cell, shape (n_layers, n_r, n_z).
    low, high
        Coldest and warmest temperature that can occur [K].
    smooth
        Spread kinks over a box of at most 0.5 K, and of at most 0.15 of the freezing point in °C: fewer time steps,
        and the times move by less than 0.1 %.
    spacing
        Of the temperatures from which the look-ups are turned round [K].
    """
    start, end = _range(low, high)
    temperature = np.linspace(start, end, round((end - start) / spacing) + 1)
    columns = [_columns(matter, float(start), float(end), spacing, smooth) for matter in matters]
    heat = densities[:, None] * np.array([column[0] for column in columns])
    conductivity = np.array([column[1] for column in columns])
    ice = np.array([column[2] for column in columns])
    counts, make_up = _make_ups(shares)
    rows, first, scale = _turned_round(temperature, heat, conductivity, counts / SIXTEENTHS, _ROWS)
    return Tables(
        make_up=make_up,
        parts=counts / SIXTEENTHS,
        rows=rows,
        low=first,
        scale=scale,
        temperature=temperature,
        heat=heat,
        ice=ice,
    )


@functools.lru_cache(maxsize=64)
def _columns(
    matter: Matter, start: float, end: float, spacing: float, smooth: bool
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Heat content [J/kg], conductivity and ice share of a matter at equal steps of temperature."""
    box = 0.0
    if smooth and matter.freezing_point is not None:
        box = max(0.0, min(_BOX, _BOX_SHARE * (273.15 - matter.freezing_point)))
    margin = max(1, round(box / 2 / spacing)) if box > 0 else 0
    count = round((end - start) / spacing) + 1
    fine: FloatArray = start + spacing * np.arange(-margin, count + margin, dtype=np.float64)
    heat = _extended(fine, matter.temperature, matter.enthalpy)
    conductivity = np.interp(fine, matter.temperature, matter.conductivity)
    ice = np.interp(fine, matter.temperature, matter.ice)
    if margin:
        heat, conductivity, ice = (_box_mean(values, margin) for values in (heat, conductivity, ice))
    # Heat content must grow with temperature, or a look-up from it would have no answer.
    heat = np.maximum.accumulate(heat) + 1e-6 * np.arange(count)
    return heat, conductivity, ice


def _box_mean(values: FloatArray, margin: int) -> FloatArray:
    """Mean over `margin` intervals on either side, by the trapezoidal rule; shorter by the margins."""
    total = np.concatenate([[0.0], np.cumsum(0.5 * (values[1:] + values[:-1]))])
    return np.asarray((total[2 * margin :] - total[: -2 * margin]) / (2 * margin))


def _extended(at: FloatArray, x: FloatArray, y: FloatArray) -> FloatArray:
    """Linear interpolation that goes on straight beyond both ends."""
    inside = np.interp(at, x, y)
    first = (y[1] - y[0]) / (x[1] - x[0])
    last = (y[-1] - y[-2]) / (x[-1] - x[-2])
    return np.asarray(inside + first * np.minimum(at - x[0], 0.0) + last * np.maximum(at - x[-1], 0.0))


def _make_ups(shares: FloatArray) -> tuple[FloatArray, npt.NDArray[np.int64]]:
    """The make-ups that occur, in sixteenths (n_make_ups, n_layers), and the number of each cell's own."""
    n_layers = len(shares)
    total = shares.sum(axis=0)
    held = total > 0
    fractions = shares[:, held] / total[held]
    # Boundaries between layers are rounded, not the layers, so that the sixteenths always add up.
    edges = np.rint(SIXTEENTHS * np.cumsum(fractions, axis=0)).astype(np.int64)
    edges[-1] = SIXTEENTHS
    counts = np.diff(edges, axis=0, prepend=0)
    key = np.zeros(counts.shape[1], dtype=np.int64)
    for row in counts:
        key = key * (SIXTEENTHS + 1) + row
    found, number = np.unique(key, return_inverse=True)
    unpacked = np.zeros((len(found), n_layers))
    for layer in range(n_layers - 1, -1, -1):
        unpacked[:, layer] = found % (SIXTEENTHS + 1)
        found = found // (SIXTEENTHS + 1)
    make_up = np.zeros(total.shape, dtype=np.int64)
    make_up[held] = number
    return unpacked, make_up


@compiled
def _turned_round(
    temperature: FloatArray, heat: FloatArray, conductivity: FloatArray, parts: FloatArray, n_rows: int
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Temperature and conductivity of each make-up at equal steps of its heat content.

    Conductivity of a mixed cell is the mean of its layers side by side and one behind the other.
    """
    n_t = len(temperature)
    n_parts, n_layers = parts.shape
    rows = np.empty((n_parts, n_rows, 2))
    low = np.empty(n_parts)
    scale = np.empty(n_parts)
    mixed = np.empty(n_t)
    for c in range(n_parts):
        for t in range(n_t):
            total = 0.0
            for m in range(n_layers):
                total += parts[c, m] * heat[m, t]
            mixed[t] = total
        low[c] = mixed[0]
        per_row = (mixed[n_t - 1] - mixed[0]) / (n_rows - 1)
        scale[c] = 1.0 / per_row
        t = 0
        for row in range(n_rows):
            wanted = low[c] + row * per_row
            while t < n_t - 2 and mixed[t + 1] < wanted:
                t += 1
            w = (wanted - mixed[t]) / (mixed[t + 1] - mixed[t])
            rows[c, row, 0] = temperature[t] + w * (temperature[t + 1] - temperature[t])
            beside, behind = 0.0, 0.0
            for m in range(n_layers):
                if parts[c, m] > 0.0:
                    k = conductivity[m, t] + w * (conductivity[m, t + 1] - conductivity[m, t])
                    beside += parts[c, m] * k
                    behind += parts[c, m] / k
            rows[c, row, 1] = 0.5 * (beside + 1.0 / behind)
    return rows, low, scale
