"""How long the main job takes: the three demonstration dossiers with their PDFs in one process.

`python benchmarks/bench_demo.py` prints wall and processor time and checks the answers; the goal is 5 s on 2 cores.
"""

from __future__ import annotations

import platform
import time
from collections.abc import Callable
from typing import TypeVar

T = TypeVar("T")
GOAL = 5.0  # s

_began = time.perf_counter(), time.process_time()


def timed(what: str, function: Callable[[], T]) -> T:
    """Run once, and print its wall and processor time [s]."""
    wall, busy = time.perf_counter(), time.process_time()
    result = function()
    print(f"  {what:<28}{time.perf_counter() - wall:7.2f} s  {time.process_time() - busy:7.2f} s of a processor")
    return result


def main() -> None:
    """The whole job, cold: reading, working up, checking and printing."""
    print(f"{platform.processor() or platform.machine()}, Python {platform.python_version()}")
    from demoule.dossier import dossier
    from demoule.files import demo
    from demoule.sheets import dossier_pdf
    from demoule.worked import work_up

    desserts, kitchen, orders = timed("reading", demo)
    grams, hours = {"Apricot": (68, 77), "Quince": (91, 101), "Chestnut": (49, 58)}, {}
    for dessert in desserts:
        name = dessert.name
        worked = timed(f"{name}, worked up", lambda d=dessert: work_up(d, kitchen, orders.needed(d.name)))  # type: ignore[misc]
        made = timed(f"{name}, its dossier", lambda w=worked: dossier(w))  # type: ignore[misc]
        paper = timed(f"{name}, on paper", lambda m=made: dossier_pdf(m, paper="a4"))  # type: ignore[misc]
        low, high = grams[name]
        assert low < 1000 * worked.piece.mass < high, (name, worked.piece.mass)
        hardened = worked.cold.stage("harden piece")
        assert hardened is not None
        assert hardened.time is not None
        assert 0.4 < hardened.time / 3600 < 2
        assert paper.startswith(b"%PDF")
        hours[name] = hardened.time
    assert hours["Quince"] > hours["Apricot"]  # the larger piece, and a warm mousse around its heart
    wall, busy = time.perf_counter() - _began[0], time.process_time() - _began[1]
    print(f"all of it, imports too: {wall:.2f} s, {busy:.2f} s of a processor (goal {GOAL:.0f} s on 2 cores)")
    assert busy < GOAL, "over the goal"


if __name__ == "__main__":
    main()
