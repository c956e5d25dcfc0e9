"""How many recipes a second get composition, water activity and freezing point, in one vectorised call.

Run with `python benchmarks/bench_water.py`. The peer solves the same equation recipe by recipe with a root finder,
as a notebook would; the answers of both are compared before any time is printed.
"""

from __future__ import annotations

import platform
import time

import numpy as np
from scipy.optimize import brentq

from demoule.composition import COUNT, Constituent
from demoule.physics import freezing_point, water_activity, water_activity_over_ice

RECIPES, INGREDIENTS, GOAL = 100_000, 40, 500_000


def main() -> None:
    rng = np.random.default_rng(7)
    table = rng.dirichlet(np.full(COUNT, 0.15), INGREDIENTS)
    table[:, [Constituent.UNKNOWN_SUGARS, Constituent.UNKNOWN_SOLIDS]] = 0.0
    table[:, Constituent.WATER] += 1.0
    table /= table.sum(axis=1, keepdims=True)
    weights = rng.dirichlet(np.full(INGREDIENTS, 0.3), RECIPES)

    best = wall = np.inf
    for _ in range(15):
        start, busy = time.perf_counter(), time.process_time()
        x = weights @ table
        activity = water_activity(x, 298.15)
        freezes = freezing_point(x)
        best, wall = min(best, time.process_time() - busy), min(wall, time.perf_counter() - start)

    few = 50
    busy = time.process_time()
    for i in range(few):
        row = weights[i] @ table
        aw = float(water_activity(row, 298.15))
        depth = brentq(
            lambda t, row=row: float(water_activity(row, t)) - float(water_activity_over_ice(t)), 213.15, 273.15
        )
        assert abs(aw - activity[i]) < 1e-12
        assert abs(depth - freezes[i]) < 1e-6
    peer = (time.process_time() - busy) / few

    rate = RECIPES / best
    print(f"{platform.machine()}, {platform.processor() or 'processor not told'}, numpy {np.__version__}")
    # Judged by processor seconds, which other work on the machine hardly stretches; the clock is printed beside it.
    print(f"{rate:,.0f} recipes a processor second (goal {GOAL:,}), {RECIPES / wall:,.0f} by the clock")
    print(f"{peer / (best / RECIPES):,.0f} times as fast as recipe by recipe")
    assert rate >= GOAL


if __name__ == "__main__":
    main()
