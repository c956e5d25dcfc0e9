"""How long variants take: rooms alone, with the piece built and its recipe cooked anew; and that they agree.

Run with `python benchmarks/bench_explore.py [variants]`; it names the machine beside its figures.
"""

from __future__ import annotations

import os
import platform
import sys
import time

from demoule.cold.variants import explore, whole_life_of
from demoule.cold.varying import Factor
from demoule.files import demo
from demoule.worked import varied_from, work_up

ROOMS = [
    Factor(kind="air", of="blast freezer", low=233.15, high=245.15),
    Factor(kind="surface", of="blast freezer", low=10.0, high=30.0),
]
PIECE = [*ROOMS, Factor(kind="heart size", low=0.8, high=1.2)]
RECIPE = [*PIECE, Factor(kind="sugar", low=0.85, high=1.15)]


FRIDGE = [*RECIPE, Factor(kind="air", of="refrigerator", low=275.65, high=279.15)]
FULL = 6  # variants that also go through their whole life


def main(n: int) -> None:
    desserts, kitchen, _ = demo()
    base = varied_from(work_up(desserts[0], kitchen))
    load = os.getloadavg()[0]
    print(f"{platform.machine()}, {os.cpu_count()} processors, load {load:.1f} before; processor time is the measure\n")
    explore(base, FRIDGE, 4, workers=1)  # warm
    for what, factors in (
        ("rooms", ROOMS),
        ("rooms and piece", PIECE),
        ("rooms, piece and recipe", RECIPE),
        ("these and the refrigerator", FRIDGE),
    ):
        for count in (n // 8, n // 4, n // 2, n):
            begun, work = time.perf_counter(), time.process_time()
            found = explore(base, factors, count, workers=1)
            took, work = time.perf_counter() - begun, time.process_time() - work
            runs = count + 2 * len(factors) + 1
            print(
                f"{what:<26} {count:>5} variants, one after the other: {took:6.2f} s, "
                f"{work:6.2f} s of a processor, {1000 * work / runs:5.1f} ms each"
            )
        begun = time.perf_counter()
        there = explore(base, factors, n)
        shared = time.perf_counter() - begun
        same = [one.answers for one in there.variants] == [one.answers for one in found.variants]
        print(
            f"{what:<26} {n:>5} variants, all processors: {shared:.2f} s, {took / shared:.2f} times as fast; "
            f"same numbers: {same}"
        )
        assert same
        worst, begun = 0.0, time.process_time()
        for outcome in found.variants[:FULL]:
            whole = whole_life_of(base, factors, outcome)
            for stage in whole.stages:
                quick = outcome.answers.get(stage.stage.what)
                if quick is not None and stage.time:
                    worst = max(worst, abs(quick / stage.time - 1))
        each = 1000 * (time.process_time() - begun) / FULL
        print(f"{what:<26} whole life on 1 mm with bands: {each:.0f} ms each; hours differ by {worst:.2%} at most\n")
        assert worst < 0.01


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1024)
