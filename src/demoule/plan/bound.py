"""A cost below which no plan of a week's lots can come, so that a plan can say how far from the best it may be."""

from __future__ import annotations

import math
import time
from collections.abc import Callable

from demoule.plan.model import solve
from demoule.plan.prices import priced
from demoule.plan.table import Table

__all__ = ["bound_of"]

_ALONE = 0.6  # work for one lot by itself


def bound_of(
    table: Table,
    upper: int,
    *,
    rounds: int = 250,
    seconds: float | None = None,
    cancel: Callable[[], bool] | None = None,
) -> int:
    """The higher of two bounds: lots that must share hands and places at a price, and each lot by itself.

    The first is high where much is wanted at once, the second, in which no job of a lot meets another, in a quiet
    week.

    Parameters
    ----------
    upper
        The cost of a plan of the week.
    rounds
        How often prices are changed.
    seconds
        After so long it ends; None: no limit.
    """
    began = time.monotonic()

    def over() -> bool:
        return (cancel is not None and cancel()) or (seconds is not None and time.monotonic() - began >= seconds)

    shared = priced(table, upper, rounds, over).bound
    apart = 0.0
    for lot in table.week.lots:
        if over():
            break
        if lot.jobs:
            least = solve(table, [lot.key], {}, work=_ALONE, alone=True).bound
            apart += max(least, 0.0) if math.isfinite(least) else 0.0
    # Costs are whole: what is above a whole number by more than the error of adding up is the next one.
    return math.ceil(max(shared, apart) - 1e-3)
