"""What a chef reads off a run: when a temperature was reached, the window to eat, the curves, the stills."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from demoule.cold.bodies import Part
from demoule.cold.run import Curve, Still, Zones
from demoule.cold.softness import ICE_DENSITY
from demoule.errors import BadInput
from demoule.units import FloatArray, Kelvin, Metre, Second

if TYPE_CHECKING:
    from demoule.cold.stay import Body, Track

__all__ = [
    "at_time",
    "curve_of",
    "first_beyond",
    "ice_volumes",
    "levelled",
    "mean_of",
    "outer_cells",
    "reached",
    "stills_of",
    "within",
    "zones_of",
]

OUTER: Metre = 0.010
"""Depth of the layer that has to be cold, and not too cold, before a piece is dipped (practice)."""
_HEARTS = ("heart", "inner heart")


def reached(track: Track, place: str, temperature: Kelvin, *, falls: bool) -> Second | None:
    """When a place got to a temperature and stayed beyond it to the end of the run [s]; None: not at the end."""
    values: FloatArray = {"core": track.core, "mean": track.mean, "surface": track.surface}[place]
    beyond = values <= temperature if falls else values >= temperature
    if not beyond[-1]:
        return None
    short = np.flatnonzero(~beyond)
    if not short.size:
        return 0.0
    last = int(short[-1])
    a, b = values[last], values[last + 1]
    return float(track.time[last] + (track.time[last + 1] - track.time[last]) * (temperature - a) / (b - a))


def levelled(track: Track, air: Kelvin, within: float) -> Second | None:
    """When every place came within so many kelvin of the air and stayed there [s]; None: not at the end."""
    away: FloatArray = np.abs(track.core - air)
    far = np.flatnonzero(away > within)
    if not far.size:
        return 0.0
    last = int(far[-1])
    if last + 1 == len(away):
        return None
    share = (away[last] - within) / (away[last] - away[last + 1])
    return float(track.time[last] + share * (track.time[last + 1] - track.time[last]))


def at_time(track: Track, time: Second) -> tuple[Kelvin, Kelvin, Kelvin]:
    """Core, mean and surface at a time [K]."""
    core, mean, surface = (
        float(np.interp(time, track.time, values)) for values in (track.core, track.mean, track.surface)
    )
    return core, mean, surface


def mean_of(body: Body, heat: FloatArray) -> Kelvin:
    """Mean temperature by mass [K]."""
    mass = body.cells.mass.sum(axis=0)
    return float((mass * body.tables.temperature_of(heat)).sum() / mass.sum())


def curve_of(track: Track, parts: tuple[Part, ...]) -> Curve:
    """The curves, with the ice of heart and body."""
    roles = [part.role for part in parts]
    nothing: FloatArray = np.full_like(track.time, np.nan)
    return Curve(
        time=track.time,
        core=track.core,
        mean=track.mean,
        surface=track.surface,
        heart_ice=track.ice[roles.index("heart")] if "heart" in roles else nothing,
        body_ice=track.ice[roles.index("body")] if "body" in roles else nothing,
    )


def stills_of(track: Track, body: Body, end: Second, count: int = 5) -> tuple[Still, ...]:
    """So many fields, evenly from the start to the end; fewer where fewer were kept."""
    picked = [int(np.argmin(np.abs(track.field_times - share * end))) for share in np.linspace(0.0, 1.0, max(count, 2))]
    return tuple(_still(body, track.fields[at], float(track.field_times[at])) for at in dict.fromkeys(picked))


def _still(body: Body, field: npt.NDArray[np.float32], time: Second) -> Still:
    grid, tables = body.grid, body.tables
    temperature = np.where(grid.volume > 0, field.astype(np.float64), np.nan)
    shown = _shown_by(body)
    temperature = temperature.flat[shown]
    mass = body.cells.mass
    ice = sum(mass[m] * tables.ice_of(m, temperature) for m in range(len(mass)))
    water = sum(mass[m] * body.matters[m].water for m in range(len(mass)))
    with np.errstate(invalid="ignore", divide="ignore"):
        share = np.where(np.asarray(water) > 0, ice / np.asarray(water), np.nan)
    share = share.flat[shown]
    # Of a body that is not round, the columns in the plane through its axis.
    plane = slice(int(np.argmin(np.abs(grid.y))), None, grid.across)
    return Still(time=time, r=grid.r, z=grid.z, temperature=temperature[plane].T.copy(), ice=share[plane].T.copy())


@lru_cache(maxsize=8)  # of a piece on its way, whose stages all ask it
def _shown_by(body: Body) -> npt.NDArray[np.int64]:
    """Which cell each cell shows: itself, or its neighbour where it is too small to stand alone; shape of the grid."""
    shown = np.arange(body.grid.volume.size).reshape(body.grid.volume.shape)
    for cell, neighbour in body.grid.joined[::-1]:  # last joined first, for chains
        shown.flat[cell] = shown.flat[neighbour]
    return shown


@lru_cache(maxsize=8)  # of a piece on its way, whose stages all ask it
def outer_cells(body: Body, depth: Metre = OUTER) -> npt.NDArray[np.bool_]:
    """Cells whose middle lies no deeper than so much under the surface, shape of the grid."""
    from scipy.ndimage import distance_transform_edt

    used = body.grid.volume > 0
    if body.grid.across > 1:
        box = np.pad(used.reshape(-1, body.grid.across, used.shape[1]), 1)
        depth_in = (distance_transform_edt(box) - 0.5)[1:-1, 1:-1, 1:-1] * body.grid.step
        return np.asarray(used & (depth_in.reshape(used.shape) <= depth))
    # The axis is no surface: the section is mirrored on it, and closed on its other three sides.
    half = np.pad(used, ((0, 1), (1, 1)))
    away = distance_transform_edt(np.concatenate([half[::-1], half])) - 0.5
    inside = away[-used.shape[0] - 1 : -1, 1:-1] * body.grid.step
    return np.asarray(used & (inside <= depth))


def zones_of(track: Track, body: Body, parts: tuple[Part, ...]) -> Zones:
    """Means of heart and body, and the range of the outer 10 mm, at the moments whose fields were kept."""
    fields = track.fields.reshape(len(track.fields), -1)
    mass = body.cells.mass

    def mean(roles: tuple[str, ...]) -> FloatArray:
        weight: FloatArray = sum(
            (mass[k] for k, part in enumerate(parts) if part.role in roles), np.zeros(mass.shape[1:])
        )
        total = float(weight.sum())
        if total <= 0:
            return np.full(len(fields), np.nan)
        return np.asarray(fields @ (weight.ravel() / total))

    outer = fields[:, outer_cells(body).ravel()].astype(np.float64)
    return Zones(
        time=track.field_times,
        heart=mean(_HEARTS),
        body=mean(("body",)),
        outer_coldest=outer.min(axis=1),
        outer_warmest=outer.max(axis=1),
    )


def ice_volumes(track: Track, body: Body, parts: tuple[Part, ...], layer: str) -> FloatArray:
    """Share of the volume of the heart or of the body that is ice, at the moments whose fields were kept, (n_fields,).

    Raises
    ------
    BadInput
        A layer that the piece does not have.
    """
    roles = _HEARTS if layer == "heart" else (layer,)
    ice, volume = np.zeros(len(track.fields)), 0.0
    for k, part in enumerate(parts):
        if part.role in roles:
            share = body.tables.ice_of(k, track.fields.reshape(len(track.fields), -1).astype(np.float64))
            ice += share @ body.cells.mass[k].ravel() / ICE_DENSITY
            volume += float(body.grid.shares[k].sum())
    if not volume > 0:
        raise BadInput(f"The piece has no {layer} whose softness could be waited for.", remedy="leave it out.")
    return ice / volume


def first_beyond(time: FloatArray, values: FloatArray, limit: float, *, falls: bool = False) -> Second | None:
    """When a curve first passes a limit [s], 0 if it starts beyond it; None: never."""
    beyond = values <= limit if falls else values >= limit
    if not beyond.any():
        return None
    k = int(np.argmax(beyond))
    if k == 0:
        return 0.0
    a, b = float(values[k - 1]), float(values[k])
    return float(time[k - 1] + (time[k] - time[k - 1]) * (limit - a) / (b - a))


def within(zones: Zones, coldest: Kelvin, warmest: Kelvin) -> Second | None:
    """When the whole outer layer first lies between two temperatures [s]; None: never."""
    cold, warm = zones.outer_coldest, zones.outer_warmest
    # How far the worst place is outside; where it comes down to zero all are inside.
    outside = np.maximum(np.maximum(coldest - cold, warm - warmest), 0.0)
    return first_beyond(zones.time, outside, 1e-9, falls=True)
