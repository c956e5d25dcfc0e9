"""How long one dip and one candying take: `python benchmarks/bench_dessert.py`."""

from __future__ import annotations

import platform
import time
from collections.abc import Callable

from demoule.physics.blanching import BlanchWater, blanch
from demoule.physics.candy_course import Fruit, SyrupStage
from demoule.physics.candy_shapes import KINDS, piece_shape
from demoule.physics.candying import candy, candying_time, end_state
from demoule.physics.coating import Coating
from demoule.physics.dipping import dip
from demoule.physics.freeze_on import Core

HOUR = 3600.0


def best(function: Callable[[], object], times: int = 7) -> float:
    """Shortest of several runs [ms]."""
    function()
    found = []
    for _ in range(times):
        start = time.perf_counter()
        function()
        found.append(time.perf_counter() - start)
    return min(found) * 1000


def main() -> None:
    """Print the figures, with a check that each answer is right."""
    print(f"{platform.processor() or platform.machine()}, Python {platform.python_version()}")
    core = Core.sphere(80e-6, temperature=253.15, mass=0.058)
    coating = Coating(fat=0.45)
    assert abs(dip(coating, core, bath=308.15, duration=3.0).thickness - 1.224e-3) < 2e-5
    print(f"one dip                       {best(lambda: dip(coating, core, bath=308.15, duration=3.0)):7.2f} ms")
    syrup = SyrupStage(duration=4 * HOUR, temperature=358.15, mass=2.0, solids=0.65)
    for kind in KINDS:
        fruit = Fruit(mass=1.0, soluble_solids=0.12, shape=piece_shape(kind, 0.016))
        course = candy(fruit, [syrup])
        assert abs(course.end.solids - end_state(fruit, 2.0, 0.65).solids) < 1e-9
        print(f"candy, {kind:<10} with band  {best(lambda f=fruit: candy(f, [syrup])):7.2f} ms")
    fruit = Fruit(mass=1.0, soluble_solids=0.12, shape=piece_shape("wedge", 0.016))
    days = [
        SyrupStage(duration=24 * HOUR, temperature=293.15, mass=2.0, solids=0.30),
        SyrupStage(duration=24 * HOUR, temperature=293.15, solids=0.45),
        SyrupStage(duration=24 * HOUR, temperature=293.15, solids=0.60),
    ]
    print(f"candy, three days with band   {best(lambda: candy(fruit, days)):7.2f} ms")
    print(f"time to 90 % of the way       {best(lambda: candying_time(fruit, syrup)):7.2f} ms")
    waters = [BlanchWater(ratio=5.0, temperature=368.15, duration=300.0)] * 3
    print(f"three blanches                {best(lambda: blanch(fruit.shape, waters)):7.2f} ms")


if __name__ == "__main__":
    main()
