"""What a good week is, in order: all served, on time, least overtime, fresh and begun late."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from demoule.plan.table import Placed, Table
from demoule.plan.week import SLOT, Lot

__all__ = ["LATE", "Cost", "cost_of", "fresh_weight", "lot_cost", "own_costs", "roots", "unserved_cost"]

LATE = 5000
"""Aim lost for one slot by which one taking-out is late: more than any overtime or waiting that mends it."""

_UNSERVED = 4000  # for a piece; a lot never costs less than being as late as it may be


def unserved_cost(table: Table, lot: Lot) -> int:
    """Aim lost when a lot is not made: always more than any lateness of it."""
    return max(_UNSERVED * lot.pieces, 2 * LATE * table.late * max(len(lot.parts), 1))


def fresh_weight(lot: Lot) -> int:
    """Aim lost for one slot by which a lot is finished earlier than needed."""
    return max(lot.pieces // 10, 1)


def roots(lot: Lot) -> tuple[str, ...]:
    """Jobs that wait for nothing: with them the lot begins."""
    after = {lag.after for lag in lot.lags}
    return tuple(job.key for job in lot.jobs if job.key not in after and job.kind != "take out")


@dataclass(frozen=True, slots=True, kw_only=True)
class Cost:
    """The aims of a plan, gravest first; `total` weighs them far apart, so that a graver one wins.

    A minute of lateness weighs as much as some half an hour of overtime, and an hour of overtime as much as keeping
    sixty pieces for a day more.

    Parameters
    ----------
    unserved
        Pieces not made.
    late
        Slots by which takings-out are late, in all.
    overtime
        Slots of overtime, and `paid`, their price.
    waiting
        Slots by which work is finished or begun earlier than needed, weighed.
    moved
        Price of what moved against an earlier plan.
    """

    unserved: int
    late: int
    overtime: int
    paid: int
    waiting: int
    total: int


def cost_of(table: Table, placement: Mapping[str, Placed], lots: Iterable[Lot] | None = None) -> Cost:
    """The cost of all lots, or of some."""
    parts = [lot_cost(table, placement, lot) for lot in (table.week.lots if lots is None else lots)]
    return Cost(
        unserved=sum(p.unserved for p in parts),
        late=sum(p.late for p in parts),
        overtime=sum(p.overtime for p in parts),
        paid=sum(p.paid for p in parts),
        waiting=sum(p.waiting for p in parts),
        total=sum(p.total for p in parts),
    )


def lot_cost(table: Table, placement: Mapping[str, Placed], lot: Lot) -> Cost:
    """The cost of one lot; those of a week add up, which makes the bounds of groups of lots add up too."""
    if not lot.jobs:
        return Cost(unserved=0, late=0, overtime=0, paid=0, waiting=0, total=0)
    if lot.jobs[0].key not in placement:
        price = unserved_cost(table, lot)
        return Cost(unserved=sum(p.pieces for p in lot.parts), late=0, overtime=0, paid=0, waiting=0, total=price)
    due = table.due[lot.key]
    late = waiting = 0
    for part in lot.parts:
        demand = table.week.demand(part.demand)
        end = placement[part.job].slot + table.length[part.job]
        spare = demand.moment // SLOT - demand.at_least // SLOT - end
        late += max(-spare, 0)
        waiting += max(spare, 0)
    overtime = paid = 0
    for job in lot.jobs:
        place = placement[job.key]
        if place.extra:
            overtime += table.length[job.key]
            paid += table.length[job.key] * table.crews[place.crew].price
        if job.kind == "finish":
            waiting += fresh_weight(lot) * max(due - place.slot - table.length[job.key], 0)
    waiting += sum(max(due - placement[key].slot, 0) for key in roots(lot))
    return Cost(
        unserved=0, late=late, overtime=overtime, paid=paid, waiting=waiting, total=LATE * late + paid + waiting
    )


def own_costs(table: Table, lot: Lot, opens: int, closes: int, never: float) -> list[npt.NDArray[np.float64]]:
    """For each job of a lot, what it costs to begin in each slot of a window; overtime is not in it.

    The sum over the jobs, with the price of overtime, is the cost of the lot.

    Parameters
    ----------
    opens, closes
        The window; the costs are of shape (closes − opens,).
    never
        Cost of a slot in which the job may not begin.
    """
    slots = np.arange(opens, closes)
    due, begins = table.due[lot.key], set(roots(lot))
    served = {part.job: table.week.demand(part.demand) for part in lot.parts}
    found = []
    for job in lot.jobs:
        cost = np.zeros(closes - opens)
        end = slots + table.length[job.key]
        if job.kind == "finish":
            cost += fresh_weight(lot) * np.maximum(due - end, 0)
        if job.key in begins:
            cost += np.maximum(due - slots, 0)
        shut = (end > closes) | table.banned(job.key)[opens:closes]
        if job.key in served:
            demand = served[job.key]
            moment = demand.moment // SLOT
            spare = moment - demand.at_least // SLOT - end
            cost += np.maximum(spare, 0) + LATE * np.maximum(-spare, 0)
            shut = shut | (spare < -table.late) | (end + demand.at_most // SLOT < moment)
            if lot.use_by is not None:
                shut = shut | (end > lot.use_by // SLOT)
        if job.key in table.week.begun:
            shut = slots != table.week.begun[job.key][0] // SLOT
        else:
            shut = shut | (slots < table.first)
        cost[shut] = never
        found.append(cost)
    return found
