"""Hundreds of variants of one question, on all processors of the machine."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

from demoule.cold.stay import Air, Body, State, Track, Watch, stay
from demoule.units import FloatArray, Second

__all__ = ["Case", "run_many"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Case:
    """One stay that is ready to run; see `stay`."""

    body: Body
    state: State
    faces: FloatArray
    air: Air
    until: Watch | None
    at_most: Second
    tolerance: float = 0.1
    k_factor: float = 1.0

    def run(self) -> Track:
        """What it gives; the state is left as it is."""
        return stay(
            self.body,
            self.state,
            self.faces,
            self.air,
            until=self.until,
            at_most=self.at_most,
            tolerance=self.tolerance,
            k_factor=self.k_factor,
            ice=False,
        )


def run_many(cases: Iterable[Case | Callable[[], Case]], workers: int | None = None) -> list[Track]:
    """Run cases side by side, in their order.

    Parameters
    ----------
    cases
        Cases, or functions that make one when its turn comes (another size needs another grid).
    workers
        Threads; None: one per processor. The solver holds no lock, so they really run side by side.
    """
    with ThreadPoolExecutor(workers or os.cpu_count() or 1) as pool:
        return list(pool.map(lambda case: (case() if callable(case) else case).run(), cases))
