"""Where the ring of a leader may stand: on a coat all the way up its side, inside a layer, on the bar of a wall."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry import LineString

from demoule.piece import Clearance, solids
from demoule.sheets.cut import Drawn, region_of
from demoule.sheets.frame import Frame
from demoule.sheets.hung import Spot

__all__ = ["on_coat", "on_layer", "on_wall"]


def on_wall(group: Sequence[Clearance], frame: Frame, side: int) -> list[tuple[Spot, float]]:
    """Middle and outer end of each bar, the first wall of a group before the others."""
    found: list[tuple[Spot, float]] = []
    for i, clearance in enumerate(group):
        for share in (0.5, 1.0):
            r = clearance.start[0] + share * (clearance.end[0] - clearance.start[0])
            z = clearance.start[1] + share * (clearance.end[1] - clearance.start[1])
            found.append((frame.at(r if r < 1e-4 else side * r, z), 6.0 * i + (4 if share == 0.5 else 0)))
    return found


def on_coat(one: Drawn, under: Drawn | None, frame: Frame, side: int) -> list[tuple[Spot, float]]:
    """Points in the middle of a coat, all the way up its side."""
    z = [point[1] for point in one.outline]
    low, high = min(z), max(z)
    levels = np.array([low + (high - low) * k / 39 for k in range(5, 38)])
    r = solids.radii_at(one.outline, levels)
    if under is not None:
        r = (r + solids.radii_at(under.outline, levels)) / 2
    return [(frame.at(side * radius, level), 0.0) for radius, level in zip(r.tolist(), levels.tolist(), strict=True)]


def on_layer(one: Drawn, frame: Frame, side: int) -> list[tuple[Spot, float]]:
    """Points inside a layer, dearer the nearer they are to its edge."""
    region = region_of(one, whole=False)
    low, high = region.bounds[1], region.bounds[3]
    reach = region.bounds[2] + 0.001
    found: list[tuple[Spot, float]] = []
    boundary = shapely.boundary(region_of(one))
    for k in range(1, 14):
        level = low + (high - low) * k / 14
        chords = region.intersection(LineString([(0.0, level), (reach, level)]))
        for chord in shapely.get_parts(chords):
            if chord.length < 1e-4:
                continue
            a, b = chord.bounds[0], chord.bounds[2]
            for share in (0.5, 0.74, 0.86):
                r = a + share * (b - a)
                near = shapely.Point(r, level).distance(boundary) * frame.scale
                found.append((frame.at(side * r, level), 9.0 * max(0.0, 8.0 - near)))
    return found
