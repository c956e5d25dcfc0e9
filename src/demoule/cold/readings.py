"""What a chef reads off a run: when a temperature was reached, the window to eat, the curves, the stills."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from demoule.cold.bodies import Part
from demoule.cold.run import Curve, Still
from demoule.units import FloatArray, Kelvin, Second

if TYPE_CHECKING:
    from demoule.cold.stay import Body, Track

__all__ = ["at_time", "curve_of", "levelled", "mean_of", "reached", "stills_of"]

_MOMENTS = (0.0, 0.25, 0.5, 0.75, 1.0)


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


def stills_of(track: Track, body: Body, end: Second) -> tuple[Still, ...]:
    """The fields at the start, at each quarter of the time and at the end."""
    picked = [int(np.argmin(np.abs(track.field_times - share * end))) for share in _MOMENTS]
    return tuple(_still(body, track.fields[at], float(track.field_times[at])) for at in dict.fromkeys(picked))


def _still(body: Body, field: npt.NDArray[np.float32], time: Second) -> Still:
    grid, tables = body.grid, body.tables
    temperature = np.where(grid.volume > 0, field.astype(np.float64), np.nan)
    # A cell too small to stand alone shows what its neighbour shows; last joined first, for chains.
    for cell, neighbour in grid.joined[::-1]:
        temperature.flat[cell] = temperature.flat[neighbour]
    mass = body.cells.mass
    ice = sum(mass[m] * tables.ice_of(m, temperature) for m in range(len(mass)))
    water = sum(mass[m] * body.matters[m].water for m in range(len(mass)))
    with np.errstate(invalid="ignore", divide="ignore"):
        share = np.where(np.asarray(water) > 0, ice / np.asarray(water), np.nan)
    for cell, neighbour in grid.joined[::-1]:
        share.flat[cell] = share.flat[neighbour]
    return Still(time=time, r=grid.r, z=grid.z, temperature=temperature.T.copy(), ice=share.T.copy())
