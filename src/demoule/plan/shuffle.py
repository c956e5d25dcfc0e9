"""Lots taken off the board and pinned again in another order, hundreds of times: quick and seldom quite the best."""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from demoule.plan.aims import Cost, lot_cost
from demoule.plan.board import Board
from demoule.plan.table import Placed, Placement, Table
from demoule.plan.week import Lot

__all__ = ["Shuffle"]

_WORK = 1.2e-7  # of one job and one slot; with it work is roughly seconds of one core
_SIZES = (1, 2, 2, 3, 3, 4, 5)  # lots that are taken down with one


@dataclass(slots=True)
class Shuffle:
    """A placement that is changed in place, with the board and the costs of its lots.

    Parameters
    ----------
    placement
        Of all lots; those that are not in `lots` stay.
    lots
        That may be moved, and that have not begun.
    near
        For a lot, the others, those first with which it competes.
    spent
        Work so far, by jobs placed.
    """

    table: Table
    placement: Placement
    lots: Sequence[Lot]
    near: Callable[[Lot], list[Lot]]
    board: Board
    chance: random.Random
    cost: dict[str, Cost] = field(default_factory=dict)
    spent: float = 0.0
    _near: dict[str, list[Lot]] = field(default_factory=dict)

    @classmethod
    def of(
        cls,
        table: Table,
        placement: Mapping[str, Placed],
        lots: Sequence[Lot],
        near: Callable[[Lot], list[Lot]],
        seed: int,
    ) -> Shuffle:
        """From a placement, which is copied."""
        begun = {table.lot_of[job] for job in table.week.begun if job in table.lot_of}
        made = cls(
            table=table,
            placement=dict(placement),
            lots=[lot for lot in lots if lot.key not in begun],
            near=near,
            board=Board.of(table, placement),
            chance=random.Random(seed),
        )
        made.cost = {lot.key: lot_cost(table, made.placement, lot) for lot in made.lots}
        return made

    @property
    def trouble(self) -> list[Lot]:
        """Lots that are late or not made."""
        return [lot for lot in self.lots if self.cost[lot.key].unserved or self.cost[lot.key].late]

    def pin(self, lots: Sequence[Lot]) -> None:
        """Pin lots that are not on the board, in this order; those for which no place is found stay off it."""
        for lot in lots:
            found = self.board.fit(lot)
            self.spent += 0.001 + _WORK * len(lot.jobs) * self.table.slots
            if found is not None:
                self.board.pin(lot, found)
                self.placement.update(found)
            self.cost[lot.key] = lot_cost(self.table, self.placement, lot)

    def once(self) -> int:
        """Take some lots down and pin them again; what is gained, or 0 when everything is put back as it was."""
        lots = self._some()
        before = {lot.key: self._down(lot) for lot in lots}
        costs = {lot.key: self.cost[lot.key] for lot in lots}
        self.pin(lots)
        gain = sum(costs[lot.key].total - self.cost[lot.key].total for lot in lots)
        if gain < 0:
            for lot in lots:
                self._down(lot)
            for lot in lots:
                old = before[lot.key]
                if old:
                    self.board.pin(lot, old)
                    self.placement.update(old)
            self.cost.update(costs)
        return max(gain, 0)

    def _some(self) -> list[Lot]:
        """A lot, sooner one in trouble, and some of those that compete with it; as they come or in any order."""
        chance, trouble = self.chance, self.trouble
        first = chance.choice(trouble if trouble and chance.random() < 0.7 else list(self.lots))
        if first.key not in self._near:
            mine = {lot.key for lot in self.lots}
            self._near[first.key] = [lot for lot in self.near(first) if lot.key in mine]
        size = chance.choice(_SIZES)
        mates = self._near[first.key][: size + 3]
        lots = [first, *chance.sample(mates, min(size, len(mates)))]
        if chance.random() < 0.5:
            chance.shuffle(lots)
        return lots

    def _down(self, lot: Lot) -> Placement:
        """Take a lot off the board; where it was, empty when it was not on it."""
        if lot.jobs[0].key not in self.placement:
            return {}
        old = {job.key: self.placement.pop(job.key) for job in lot.jobs}
        self.board.pin(lot, old, -1)
        return old
