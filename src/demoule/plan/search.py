"""From a first complete week to a good one: lot by lot, then neighbours together, then all at once, with a bound."""

from __future__ import annotations

import random
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from demoule.plan.aims import Cost, cost_of, lot_cost
from demoule.plan.model import Moves, solve
from demoule.plan.shuffle import Shuffle
from demoule.plan.table import Placed, Placement, Table
from demoule.plan.week import Lot

__all__ = ["Best", "Effort", "Progress", "Search", "search"]

Progress = Callable[[str, Cost], None]
"""Told how far it is and the cost of the best week so far."""

Best = Callable[[Placement], None]
"""Given the best week so far, whenever there is a better one; it must not change it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Effort:
    """How long to look for a better week.

    Parameters
    ----------
    work
        The solver's count of work in all; a run bounded by it alone is the same each time, on any machine.
    seconds
        Of time; None: no limit. The week found then depends on how fast the machine is.
    bound
        Whether to prove how far the week may be from the best.
    """

    work: float = 12.0
    seconds: float | None = None
    bound: bool = True
    seed: int = 1
    one_step: float = 0.3
    whole: int = 45  # lots up to which all are solved at once


@dataclass(slots=True)
class Search:
    """A search under way: the best week so far, what it has taken, and weeks `before` that can be fallen back upon."""

    table: Table
    effort: Effort
    placement: Placement = field(default_factory=dict)
    progress: Progress | None = None
    cancel: Callable[[], bool] | None = None
    moves: Moves | None = None
    spent: float = 0.0
    began: float = field(default_factory=time.monotonic)
    steps: int = 0
    cancelled: bool = False
    frozen: frozenset[str] = frozenset()
    best: Best | None = None
    before: list[Placement] = field(default_factory=list)

    # ---- limits

    @property
    def over(self) -> bool:
        """Whether it is time to stop."""
        if self.cancel is not None and self.cancel():
            self.cancelled = True
        seconds = self.effort.seconds
        return (
            self.cancelled
            or self.spent >= self.effort.work
            or (seconds is not None and time.monotonic() - self.began >= seconds)
        )

    def left(self) -> float | None:
        """Seconds that are left."""
        seconds = self.effort.seconds
        return None if seconds is None else max(seconds - (time.monotonic() - self.began), 0.05)

    def tell(self, words: str) -> None:
        """Tell how far it is."""
        if self.progress is not None:
            self.progress(words, cost_of(self.table, self.placement))
        if self.best is not None:
            self.best(self.placement)

    # ---- steps

    def try_together(self, lots: Sequence[Lot], work: float | None = None, workers: int = 1) -> bool:
        """Place some lots anew around all others; keep it when the week is better for it."""
        before = self._price(self.placement, lots)
        hint = {job.key: self.placement[job.key] for lot in lots for job in lot.jobs if job.key in self.placement}
        whole = workers > 1
        solved = solve(
            self.table,
            [lot.key for lot in lots],
            self.placement,
            work=work or self.effort.one_step,
            seconds=self.left(),
            hint=hint if whole else None,
            below=None if whole else before,
            moves=self.moves,
            workers=workers,
        )
        self.spent += _work(solved.work)
        self.steps += 1
        if not solved.found:
            return False
        others = {key: place for key, place in self.placement.items() if key not in hint}
        after = {**others, **solved.placement}
        price = self._price(after, lots)
        if price <= before:
            self.placement = after
        return price < before

    def _price(self, placement: Mapping[str, Placed], lots: Sequence[Lot]) -> int:
        price = cost_of(self.table, placement, lots).total
        if self.moves is not None:
            price += moved_price(self.table, placement, lots, self.moves)
        return price

    def first(self, lots: Sequence[Lot]) -> None:
        """A complete week, one lot after the other: those that have begun, then those due first.

        Where nothing must be moved little, a lot is pinned on the board in milliseconds; the exact model places what
        finds no room so.
        """
        begun = {self.table.lot_of.get(key) for key in self.table.week.begun}
        lots = sorted(lots, key=lambda one: (one.key not in begun, self.table.due[one.key], one.key))
        left = lots
        if self.moves is None:
            board = self._shuffle(lots)
            board.pin(board.lots)
            self._take_over(board)
            left = [lot for lot in lots if lot.jobs[0].key not in self.placement]
            self.tell("all pinned")
        for lot in left:
            solved = solve(
                self.table, [lot.key], self.placement, work=self.effort.one_step, seconds=self.left(), moves=self.moves
            )
            self.spent += _work(solved.work)
            self.placement.update(solved.placement)
            self.tell(f"{lot.key} placed")

    def shuffle(self) -> None:
        """Take lots down and pin them again until all are served in time, or for so many times in vain."""
        board = self._shuffle(self._free())
        if self.moves is not None or len(board.lots) < 2:
            return
        tries = 60 + 8 * len(board.lots)
        while board.trouble and tries > 0 and not self.over:
            tries -= 1
            gained = board.once()
            self._take_over(board)
            if gained:
                tries = max(tries, 40 + 4 * len(board.lots))
                self.tell("shuffled")

    def _shuffle(self, lots: Sequence[Lot]) -> Shuffle:
        return Shuffle.of(self.table, self.placement, lots, self.nearest, self.effort.seed + self.steps)

    def _take_over(self, board: Shuffle) -> None:
        self.placement = dict(board.placement)
        self.spent += board.spent
        board.spent = 0.0

    def mend(self) -> None:
        """Lots that are late or not made, each together with those that are in its way."""
        for size in (2, 3, 4, 5):
            for lot in self.in_trouble():
                if self.over:
                    return
                near = self.nearest(lot)
                for k in range(0, min(len(near), 3 * (size - 1)), size - 1):
                    if self.over:
                        return
                    if self.try_together([lot, *near[k : k + size - 1]]):
                        self.tell(f"{lot.key} mended")
                    cost = lot_cost(self.table, self.placement, lot)
                    if not cost.unserved and not cost.late:
                        break

    def improve(self) -> None:
        """Neighbours in time or on the same moulds, or the dearest, together, until nothing is gained or it is over.

        They are taken down and pinned again, which is quick, or solved exactly, which is thorough: whichever has
        gained more for its work of late.
        """
        chance = random.Random(self.effort.seed)
        lots = self._free()
        if len(lots) < 2:
            return
        idle = 0
        gains = {"quick": 1e6, "thorough": 1e5}
        while not self.over and idle < 6 * len(lots):
            quick = self.moves is None and gains["quick"] > gains["thorough"]
            if self.moves is None and chance.random() < 0.1:
                quick = not quick
            way = "quick" if quick else "thorough"
            before, spent = self._price(self.placement, lots), self.spent
            if quick:
                self._pin_again()
            else:
                idle += 1
                self.try_together(self._some(lots, chance))
            gained = before - self._price(self.placement, lots)
            gains[way] = 0.8 * gains[way] + 0.2 * gained / max(self.spent - spent, 1e-3)
            if gained:
                idle = 0
                self.tell("better")

    def _pin_again(self) -> None:
        board = self._shuffle(self._free())
        self.steps += 1
        for _ in range(10):
            if len(board.lots) < 2 or self.over:
                break
            board.once()
        self._take_over(board)

    def _some(self, lots: Sequence[Lot], chance: random.Random) -> list[Lot]:
        """A lot in trouble, a dear one or any, and one or two that compete with it."""
        trouble = self.in_trouble()
        if trouble and chance.random() < 0.5:
            first = chance.choice(trouble)
        elif chance.random() < 0.5:
            weights = [lot_cost(self.table, self.placement, lot).total + 1 for lot in lots]
            first = chance.choices(lots, weights=[min(w, 60000) for w in weights])[0]
        else:
            first = chance.choice(lots)
        size = chance.choice((1, 1, 2))
        mates = self.nearest(first)[: size + 3]
        chance.shuffle(mates)
        return [first, *mates[:size]]

    def together(self) -> None:
        """All lots at once, from the best week so far."""
        lots = self._free()
        if not self.over and 1 < len(lots) <= self.effort.whole:
            work = max(min(self.effort.work - self.spent, 1.0), 0.1)
            if self.try_together(lots, work=work, workers=8):
                self.tell("better as a whole")

    def _free(self) -> list[Lot]:
        return [lot for lot in self.table.week.lots if lot.jobs and lot.key not in self.frozen]

    def in_trouble(self) -> list[Lot]:
        """Lots that are late or not made, the dearest first."""
        costs = [(lot_cost(self.table, self.placement, lot), lot) for lot in self._free()]
        bad = [(cost, lot) for cost, lot in costs if cost.unserved or cost.late]
        return [lot for _, lot in sorted(bad, key=lambda pair: (-pair[0].total, pair[1].key))]

    def nearest(self, lot: Lot) -> list[Lot]:
        """Other lots, those first that share its moulds and its days."""
        mine = {hold.resource for hold in lot.holds if self.table.week.resource(hold.resource).kind == "mould"}

        def apart(other: Lot) -> tuple[float, str]:
            theirs = {hold.resource for hold in other.holds}
            days = abs(self.table.due[other.key] - self.table.due[lot.key]) / 288
            return days - (1.5 if mine & theirs else 0.0) + (2.0 if other.stock else 0.0), other.key

        return sorted((other for other in self._free() if other.key != lot.key), key=apart)


def _work(solver: float) -> float:
    """Work of one step: what the solver counts, and the building of its model; roughly seconds of one core."""
    return 0.08 + 1.5 * solver


def moved_price(table: Table, placement: Mapping[str, Placed], lots: Sequence[Lot], moves: Moves) -> int:
    """What it costs that jobs lie elsewhere than in an earlier plan."""
    price = 0
    for lot in lots:
        for job in lot.jobs:
            old, new = moves.old.get(job.key), placement.get(job.key)
            if old is None or new is None or job.key in table.week.begun:
                continue
            away = abs(new.slot - old.slot)
            price += moves.a_slot * away + (moves.once if away else 0) + (moves.hands if new.crew != old.crew else 0)
    return price


def search(
    table: Table,
    effort: Effort,
    *,
    progress: Progress | None = None,
    cancel: Callable[[], bool] | None = None,
    best: Best | None = None,
) -> Search:
    """The best week that the effort finds; what is found so far is kept when it is cancelled."""
    run = Search(table=table, effort=effort, progress=progress, cancel=cancel, best=best)
    run.first([lot for lot in table.week.lots if lot.jobs])
    run.before.append(dict(run.placement))
    run.shuffle()
    run.mend()
    run.before.append(dict(run.placement))
    share = 0.6 if len(run._free()) <= effort.whole else 1.0
    run.effort = Effort(
        work=effort.work * share,
        seconds=None if effort.seconds is None else effort.seconds * share,
        bound=effort.bound,
        seed=effort.seed,
        one_step=effort.one_step,
        whole=effort.whole,
    )
    run.improve()
    run.before.append(dict(run.placement))
    run.effort = effort
    run.together()
    return run
