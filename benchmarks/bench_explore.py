"""How long variants take: rooms alone, with the piece built anew, and the bare solver; and that they agree.

Run with `python benchmarks/bench_explore.py [variants]`; it names the machine beside its figures.
"""

from __future__ import annotations

import os
import platform
import sys
import time

from demoule.cold.variants import Factor, explore
from demoule.files import demo
from demoule.worked import varied_from, work_up

ROOMS = [
    Factor(kind="air", of="blast freezer", low=233.15, high=245.15),
    Factor(kind="surface", of="blast freezer", low=10.0, high=30.0),
]
PIECE = [*ROOMS, Factor(kind="heart size", low=0.8, high=1.2)]
RECIPE = [*PIECE, Factor(kind="sugar", low=0.85, high=1.15)]


def main(n: int) -> None:
    desserts, kitchen, _ = demo()
    base = varied_from(work_up(desserts[0], kitchen))
    load = os.getloadavg()[0]
    print(f"{platform.machine()}, {os.cpu_count()} processors, load {load:.1f} before\n")
    explore(base, ROOMS, 4, workers=1)  # warm
    for what, factors in (("rooms", ROOMS), ("rooms and piece", PIECE), ("rooms, piece and recipe", RECIPE)):
        for count in (n // 8, n // 4, n // 2, n):
            begun = time.perf_counter()
            found = explore(base, factors, count, workers=1)
            took = time.perf_counter() - begun
            runs = count + 2 * len(factors) + 1
            print(f"{what:<24} {count:>5} variants, one process: {took:7.2f} s, {1000 * took / runs:6.1f} ms each")
        begun = time.perf_counter()
        there = explore(base, factors, n)
        took = time.perf_counter() - begun
        same = [one.answers for one in there.variants] == [one.answers for one in found.variants]
        print(f"{what:<24} {n:>5} variants, all processors: {took:5.2f} s; same numbers: {same}\n")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 256)
