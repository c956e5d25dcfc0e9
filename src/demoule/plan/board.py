"""The board on which lots are pinned one after the other: what is taken so far, and where the next lot fits best."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import numpy as np

from demoule.plan.prices import Prices, accrued, cheapest_hands
from demoule.plan.table import Placed, Placement, Slots, Table
from demoule.plan.trees import Costs, Tree
from demoule.plan.week import SLOT, Job, Lot

__all__ = ["Board"]

_SHUT = 1e9
"""Price of a slot in which too little is free: more than any plan costs, and still a sum of it can be told apart."""


@dataclass(slots=True)
class Board:
    """What placed lots take, kept up to date as lots come and go.

    Parameters
    ----------
    taken
        Of each resource, by slot.
    busy
        People of each crew at work, by slot.
    prices
        What hands and places are worth to the other lots; None: nothing.
    """

    table: Table
    taken: dict[str, Slots]
    busy: list[Slots]
    prices: Prices | None = None
    trees: dict[str, Tree] = field(default_factory=dict)

    @classmethod
    def of(cls, table: Table, placement: Mapping[str, Placed], prices: Prices | None = None) -> Board:
        """The board with all lots of a placement."""
        taken, busy = table.taken(placement)
        return cls(table=table, taken=taken, busy=busy, prices=prices)

    def pin(self, lot: Lot, placement: Mapping[str, Placed], sign: int = 1) -> None:
        """Put up what a lot takes, or take it down with a sign of −1."""
        for job in lot.jobs:
            place = placement[job.key]
            if place.crew >= 0:
                self.busy[place.crew][place.slot : place.slot + self.table.length[job.key]] += sign
            for use in job.uses:
                self.taken[use.resource][place.slot : place.slot + use.seconds // SLOT] += sign * use.amount
        for hold in lot.holds:
            a, b = self.table.held(hold, placement)
            self.taken[hold.resource][max(a, 0) : max(b, 0)] += sign * hold.amount

    def fit(self, lot: Lot) -> Placement | None:
        """The cheapest hours for a lot around all that is pinned; None when this way finds none.

        Jobs are settled one after the other, the last first. The tree says where they lie best by themselves; when a
        job meets another of its own lot, what is not settled yet is sought anew around what is. The board is left as
        it was.
        """
        if any(job.key in self.table.week.begun for job in lot.jobs):
            return None
        taken = {name: slots.copy() for name, slots in self.taken.items()}
        busy = [slots.copy() for slots in self.busy]
        trial = Board(self.table, taken, busy, self.prices, self.trees)
        return trial._settle(lot)

    def _settle(self, lot: Lot) -> Placement | None:
        if lot.key not in self.trees:
            self.trees[lot.key] = Tree.of(self.table, lot)
        tree = self.trees[lot.key]
        settled: dict[int, int] = {}
        placed: Placement = {}
        while len(settled) < len(tree.jobs):
            cost, starts = tree.cheapest(tree.priced(self._hands(), self._places(), settled))
            if cost >= min(_SHUT, tree.unserved):
                return None
            before = len(settled)
            for k in sorted(range(len(tree.jobs)), key=lambda k: (-starts[k], k)):
                if k in settled:
                    continue
                place = self._take(tree, k, starts[k], settled)
                if place is None:
                    break
                settled[k] = starts[k]
                placed[tree.jobs[k].key] = place
            if len(settled) == before:
                return None
        return placed

    def _take(self, tree: Tree, k: int, slot: int, settled: Mapping[int, int]) -> Placed | None:
        """Take what a job needs at a slot; None, and nothing is taken, when something is no longer free."""
        job, length = tree.jobs[k], tree.length[k]
        spans = [(use.resource, use.amount, slot, slot + use.seconds // SLOT) for use in job.uses]
        at = {**settled, k: slot}
        for stay in tree.stays:
            if k in (stay.first, stay.last) and stay.first in at and (stay.last < 0 or stay.last in at):
                begins, ends = stay.span(at)
                spans.append((stay.resource, stay.amount, begins, ends))
        place = self._crew(job, length, slot)
        if place is None:
            return None
        done: list[tuple[Slots, int]] = []
        for resource, amount, begins, ends in spans:
            there = self.taken[resource][begins:ends]
            if (there + amount > self.table.week.resource(resource).amount).any():
                for slots, more in done:
                    slots -= more
                return None
            there += amount
            done.append((there, amount))
        self.busy[place.crew][slot : slot + length] += 1
        return place

    def _crew(self, job: Job, length: int, slot: int) -> Placed | None:
        found: tuple[float, int, bool] | None = None
        for number, crew in enumerate(self.table.crews):
            if not self.table.may_do(crew, job) or (self.busy[number][slot : slot + length] >= crew.size).any():
                continue
            price = float(self.prices.hands[number, slot : slot + length].sum()) if self.prices else 0.0
            for extra in (False, True):
                if self.table.working(number, extra, length)[slot]:
                    way = (price + (crew.price * length if extra else 0), number, extra)
                    found = way if found is None else min(found, way)
        return None if found is None else Placed(slot, found[1], found[2])

    def _hands(self) -> Callable[[Job, int], Costs]:
        table = self.table
        free = [slots < crew.size for slots, crew in zip(self.busy, table.crews, strict=True)]
        prices = self.prices.hands if self.prices else np.zeros((len(table.crews), table.slots))
        by_hands = accrued(prices)
        known: dict[tuple[int, str], Costs] = {}

        def cost(job: Job, length: int) -> Costs:
            key = (length, job.skill)
            if key not in known:
                known[key] = cheapest_hands(table, by_hands, job, length, free)[0]
            return known[key]

        return cost

    def _places(self) -> Callable[[str, int], Costs]:
        table = self.table
        number = {one.name: k for k, one in enumerate(table.week.resources)}
        known: dict[tuple[str, int], Costs] = {}

        def cost(name: str, amount: int) -> Costs:
            if (name, amount) not in known:
                shut = self.taken[name] + amount > table.week.resource(name).amount
                price = np.where(shut, _SHUT, amount * self.prices.things[number[name]] if self.prices else 0.0)
                known[name, amount] = accrued(price[np.newaxis])[0]
            return known[name, amount]

        return cost
