"""Which orders are made together: an exact dynamic programme over the services of one dessert."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from demoule.plan.week import Demand
from demoule.units import Second

__all__ = ["Costs", "Making", "pooled"]

Making = tuple[tuple[str, int], ...]
"""One lot: demands and the pieces of each that it serves."""


@dataclass(frozen=True, slots=True)
class Costs:
    """What is weighed against what when orders are pooled, in seconds of work.

    Parameters
    ----------
    a_lot
        Work that each lot takes whatever its size: setting up, cleaning down, cooking.
    keeping
        For one piece kept for one day in the freezer.
    span
        The longest time between the first and the last service of one lot.
    """

    a_lot: Second
    keeping: Second = 3.0
    span: Second = 5 * 86400.0


def pooled(demands: Sequence[Demand], capacity: int, costs: Costs) -> tuple[Making, ...]:
    """The makings that serve the demands at least cost, each of at most `capacity` good pieces.

    Makings follow the services in time. Between two demands' ends the cost is linear in where a making is cut, so a
    cut need only be tried at an end, or whole fillings before or after one.

    Parameters
    ----------
    demands
        Of one dessert, in the order of their services.
    """
    if not demands:
        return ()
    ends: list[int] = []
    total = 0
    for demand in demands:
        total += demand.pieces
        ends.append(total)

    places = {end - k * capacity for end in ends for k in range(end // capacity + 1)} | set(ends)

    def demand_at(piece: int) -> int:
        return next(k for k, end in enumerate(ends) if piece < end)

    @cache
    def best(done: int) -> tuple[float, tuple[int, ...]]:
        if done == total:
            return 0.0, ()
        first = demand_at(done)
        found: tuple[float, tuple[int, ...]] | None = None
        cuts = {cut for cut in places if done < cut <= done + capacity} | {min(done + capacity, total)}
        for cut in sorted(cuts):
            last = demand_at(cut - 1)
            if cut > min(cuts) and demands[last].moment - demands[first].moment > costs.span:
                continue
            kept = 0.0
            at = done
            for demand, end in zip(demands[first : last + 1], ends[first : last + 1], strict=True):
                pieces = min(end, cut) - at
                kept += pieces * (demand.moment - demands[first].moment) / 86400.0
                at = min(end, cut)
            rest, later = best(cut)
            cost = costs.a_lot + costs.keeping * kept + rest
            if found is None or cost < found[0] - 1e-9:
                found = (cost, (cut, *later))
        assert found is not None  # the smallest cut is always allowed
        return found

    makings = []
    done = 0
    for cut in best(0)[1]:
        parts = []
        at = done
        for k in range(demand_at(done), demand_at(cut - 1) + 1):
            pieces = min(ends[k], cut) - at
            parts.append((demands[k].key, pieces))
            at += pieces
        makings.append(tuple(parts))
        done = cut
    return tuple(makings)
