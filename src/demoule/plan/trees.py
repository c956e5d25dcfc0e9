"""A lot as a tree of jobs: its cheapest hours under any price of each hour, found exactly and within milliseconds."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType

import numpy as np
import numpy.typing as npt
from scipy.ndimage import minimum_filter1d

from demoule.plan.aims import own_costs, unserved_cost
from demoule.plan.table import Table
from demoule.plan.week import SLOT, Job, Lot

__all__ = ["NEVER", "Costs", "Tree"]

Costs = npt.NDArray[np.float64]

NEVER = 1e15
"""Cost of what cannot be; more than any plan costs."""


@dataclass(frozen=True, slots=True)
class _Edge:
    """From a job to the next one in the tree: slots between their starts, None where there is no limit."""

    near: int
    far: int
    least: int | None
    most: int | None


@dataclass(frozen=True, slots=True)
class _Stay:
    """A hold: from an offset after the start of one job to an offset after that of another, or to a slot."""

    resource: str
    amount: int
    first: int
    after_first: int
    last: int
    after_last: int
    until: int

    def span(self, starts: Sequence[int] | Mapping[int, int]) -> tuple[int, int]:
        """From which slot to which one it lasts, by the starts of the jobs by their number."""
        begins = max(starts[self.first] + self.after_first, 0)
        ends = starts[self.last] + self.after_last if self.last >= 0 else self.until
        return begins, max(ends, begins)


@dataclass(slots=True)
class Tree:
    """The jobs of one lot within its window, what each costs where, and the lags as a tree.

    Costs of a lot add up over its jobs, and so do prices of what it takes: of hands and machines while a job lasts, of
    places as the difference of what has accrued at the one job and at the other. The cheapest starts then follow from
    a dynamic programme over the tree. Lags that would close a circle in it are left out, which can only make it
    cheaper.

    Parameters
    ----------
    opens, closes
        First slot and first slot after the window.
    own
        For each job, its cost by start : (closes − opens,).
    """

    table: Table
    lot: Lot
    opens: int
    closes: int
    jobs: tuple[Job, ...]
    length: list[int]
    own: list[Costs]
    unserved: int
    edges: list[_Edge] = field(default_factory=list)
    tops: list[int] = field(default_factory=list)
    stays: list[_Stay] = field(default_factory=list)

    @classmethod
    def of(cls, table: Table, lot: Lot) -> Tree:
        """The tree of a lot."""
        opens, closes = table.window(lot)
        tree = cls(
            table=table,
            lot=lot,
            opens=opens,
            closes=closes,
            jobs=lot.jobs,
            length=[table.length[job.key] for job in lot.jobs],
            own=own_costs(table, lot, opens, closes, NEVER),
            unserved=unserved_cost(table, lot),
        )
        tree._link()
        number = {job.key: k for k, job in enumerate(lot.jobs)}
        for hold in lot.holds:
            first = number[hold.first]
            last = number[hold.last] if hold.last else -1
            tree.stays.append(
                _Stay(
                    resource=hold.resource,
                    amount=hold.amount,
                    first=first,
                    after_first=tree.length[first] if hold.begins == "end" else 0,
                    last=last,
                    after_last=tree.length[last] if last >= 0 and hold.ends == "end" else 0,
                    until=(hold.until or 0) // SLOT,
                )
            )
        return tree

    def _link(self) -> None:
        number = {job.key: k for k, job in enumerate(self.jobs)}
        begun = self.table.week.begun
        beside: list[list[_Edge]] = [[] for _ in self.jobs]
        for lag in self.lot.lags:
            if lag.before in begun and lag.after in begun:
                continue
            a, b = number[lag.before], number[lag.after]
            least = self.length[a] + lag.at_least // SLOT
            most = None if lag.at_most is None else self.length[a] + lag.at_most // SLOT
            beside[a].append(_Edge(a, b, least, most))
            beside[b].append(_Edge(b, a, None if most is None else -most, -least))
        seen: set[int] = set()
        for top in range(len(self.jobs)):
            if top in seen:
                continue
            self.tops.append(top)
            seen.add(top)
            ahead = [top]
            while ahead:
                for edge in beside[ahead.pop()]:
                    if edge.far not in seen:
                        seen.add(edge.far)
                        self.edges.append(edge)
                        ahead.append(edge.far)

    def priced(
        self,
        hands: Callable[[Job, int], Costs],
        accrued: Callable[[str, int], Costs],
        settled: Mapping[int, int] = MappingProxyType({}),
    ) -> list[Costs]:
        """Costs of each job by start, with the prices of what it takes.

        Parameters
        ----------
        hands
            For a job and its slots, the price of the cheapest hands by start : (slots of the week,).
        accrued
            For a resource and an amount of it, its price from the beginning of the week up to each slot :
            (slots + 1,).
        settled
            Start slots of jobs, by their number, that are no longer open; what they take is paid already.
        """
        opens, closes = self.opens, self.closes
        slots = np.arange(opens, closes)
        end = self.table.slots
        found = []
        for k, job in enumerate(self.jobs):
            if k in settled:
                cost = np.full(closes - opens, NEVER)
                cost[settled[k] - opens] = 0.0
                found.append(cost)
                continue
            cost = self.own[k] + hands(job, self.length[k])[opens:closes]
            for use in job.uses:
                price = accrued(use.resource, use.amount)
                cost += price[np.minimum(slots + use.seconds // SLOT, end)] - price[opens:closes]
            found.append(cost)
        for stay in self.stays:
            if stay.first in settled and (stay.last < 0 or stay.last in settled):
                continue
            price = accrued(stay.resource, stay.amount)
            begins = price[np.minimum(slots + stay.after_first, end)]
            if stay.last >= 0:
                found[stay.first] -= begins
                found[stay.last] += price[np.minimum(slots + stay.after_last, end)]
            else:
                found[stay.first] += np.maximum(price[min(stay.until, end)] - begins, 0.0)
        return found

    def cheapest(self, costs: Sequence[Costs]) -> tuple[float, list[int]]:
        """The least cost and the start slots that have it; starts are empty when the lags cannot hold."""
        size = self.closes - self.opens
        sums = list(costs)
        for edge in reversed(self.edges):
            sums[edge.near] = sums[edge.near] + _least_within(sums[edge.far], edge.least, edge.most)
        at = [0] * len(self.jobs)
        total = 0.0
        for top in self.tops:
            at[top] = int(np.argmin(sums[top]))
            total += float(sums[top][at[top]])
        if total >= NEVER / 2:
            return NEVER, []
        for edge in self.edges:
            a = 0 if edge.least is None else max(at[edge.near] + edge.least, 0)
            b = size if edge.most is None else min(at[edge.near] + edge.most + 1, size)
            at[edge.far] = a + int(np.argmin(sums[edge.far][a:b]))
        return total, [slot + self.opens for slot in at]


def _least_within(cost: Costs, least: int | None, most: int | None) -> Costs:
    """For each slot, the least cost among the slots that lie from `least` to `most` after it."""
    size = len(cost)
    out = np.full(size, NEVER)
    if least is None:
        assert most is not None  # an edge has one limit at the least
        sums = np.minimum.accumulate(cost)
        if most >= 0:
            out[: max(size - most, 0)] = sums[most:]
            out[max(size - most, 0) :] = sums[-1]
        else:
            out[-most:] = sums[:most]
        return out
    if most is None:
        sums = np.minimum.accumulate(cost[::-1])[::-1]
        if least >= 0:
            out[: max(size - least, 0)] = sums[least:]
        else:
            out[:-least] = sums[0]
            out[-least:] = sums[:least]
        return out
    before, behind = max(-least, 0), max(most, 0)
    wide = np.concatenate([np.full(before, NEVER), cost, np.full(behind, NEVER)])
    width = most - least + 1
    if width > 1:
        wide = np.concatenate([minimum_filter1d(wide, width, mode="constant", cval=NEVER), np.full(width, NEVER)])
        wide = wide[width // 2 :]
    return wide[before + least : before + least + size]
