"""Prepares what the cold stage needs before a first use, so that no chef's first click waits for it.

`python -m demoule.cold.warm` runs one small case of a round body and of another through all compiled loops; the machine
code stays on disk beside the package, or in the user's cache where that cannot be written.
"""

from __future__ import annotations

import time

import numpy as np

from demoule.units import Second

__all__ = ["warm"]


def warm() -> Second:
    """Compile whatever is not compiled yet; returns how long that took [s]."""
    from demoule.cold.cubes import cut_solid
    from demoule.cold.grid import FOOT, SIDE, TOP, cut
    from demoule.cold.matter import Matter
    from demoule.cold.stay import Air, State, Watch, body_of, stay
    from demoule.cold.walls import Side, faces

    started = time.perf_counter()
    outline = np.array([[0.0, 0.0], [0.01, 0.0], [0.01, 0.02], [0.0, 0.02], [0.0, 0.0]])
    matter = Matter.plain("water", density=1000.0, specific_heat=4180.0, conductivity=0.6)
    corners = 0.01 * np.array([[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]])
    pyramid = (corners, np.array([[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]]))
    for grid in (cut(outline, [outline], 0.002), cut_solid(pyramid, [pyramid], 0.002)):
        body = body_of(grid, [matter], 273.15, 293.15)
        table, wall = faces(grid, {kind: Side(film=20.0) for kind in (SIDE, FOOT, TOP)})
        state = State(heat=body.tables.heat_at([293.15]), wall=wall)
        watch = Watch(place="core", temperature=288.15, falls=True)
        stay(body, state, table, Air.steady(273.15), until=watch, at_most=3600.0)
    return time.perf_counter() - started


if __name__ == "__main__":
    took = warm()
    print(f"The cold room is ready ({took:.1f} s).")
