"""What an hour of hands, a tray or a place is worth in a week, and the cost below which no plan can come."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from demoule.plan.table import Mask, Table, fits
from demoule.plan.trees import NEVER, Costs, Tree
from demoule.plan.week import SLOT, Job

__all__ = ["Prices", "accrued", "cheapest_hands", "priced"]

Crews = npt.NDArray[np.int_]

_STEP = 0.05  # of the way that would close the gap were the costs linear
_SMOOTH = 0.3  # of each new direction; the rest is that of the rounds before
_SHORTER = 0.85
_PATIENCE = 10  # rounds without gain before the steps become shorter
_GAIN = 1e-4
_SHORTEST = 2e-4


@dataclass(slots=True)
class Prices:
    """A price for each slot of each crew and of each resource, and what the week costs at the least under them.

    Whatever the prices, no plan can cost less than all lots by themselves at these prices, less what everything there
    is would earn: what a plan takes is never more than there is. The prices that give the most are sought by moving
    them up where more is wanted than there is, and down where less (Lagrangian relaxation, subgradient steps). The
    lots by themselves are solved exactly.

    Source: fisher-1981; with lags between jobs, moehring-2003. Status: recalled.

    Parameters
    ----------
    hands
        By crew : (crews, slots).
    things
        By resource, per unit : (resources, slots).
    bound
        The best found, and `hands` and `things` are the prices that gave it.
    """

    table: Table
    trees: tuple[Tree, ...]
    hands: Costs
    things: Costs
    bound: float = 0.0
    rounds: int = 0
    _there: tuple[Costs, Costs] = field(init=False)
    _row: dict[str, int] = field(init=False)

    def __post_init__(self) -> None:
        table = self.table
        crews = [crew.size * (crew.regular | crew.extra).astype(np.float64) for crew in table.crews]
        things = [
            np.maximum(float(one.amount) - table.blocked.get(one.name, 0), np.zeros(table.slots))
            for one in table.week.resources
        ]
        self._there = np.array(crews), np.array(things).reshape(len(things), table.slots)
        self._row = {one.name: k for k, one in enumerate(table.week.resources)}

    @classmethod
    def none(cls, table: Table) -> Prices:
        """Everything for nothing."""
        return cls(
            table=table,
            trees=tuple(Tree.of(table, lot) for lot in table.week.lots if lot.jobs),
            hands=np.zeros((len(table.crews), table.slots)),
            things=np.zeros((len(table.week.resources), table.slots)),
        )

    def raised(self, upper: float, rounds: int, stop: Callable[[], bool] | None = None) -> None:
        """Look for prices with a better bound.

        Parameters
        ----------
        upper
            The cost of a plan.
        rounds
            How often all lots are solved.
        stop
            Asked after each round whether it is enough.
        """
        amounts = np.maximum(self._there[1].max(axis=1, keepdims=True), 1.0)
        hands, things = self.hands, self.things * amounts
        best_hands, best_things = hands, things
        best, idle, step = -np.inf, 0, _STEP
        along: Costs | None = None
        for _ in range(rounds):
            value, over_hands, over_things = self._round(hands, things / amounts)
            self.rounds += 1
            idle = 0 if value > best + _GAIN * abs(best) else idle + 1
            if value > best:
                best, best_hands, best_things = value, hands, things
            if idle >= _PATIENCE:
                idle, step = 0, step * _SHORTER
                hands, things = best_hands, best_things
            if step < _SHORTEST or (stop is not None and stop()):
                break
            over = np.concatenate([over_hands, over_things / amounts])
            along = over if along is None else _SMOOTH * over + (1 - _SMOOTH) * along
            prices = np.concatenate([hands, things])
            moving = np.where((prices <= 0) & (along < 0), 0.0, along)
            steep = float((moving * moving).sum())
            if steep < 1e-9:
                break
            gap = max(min(upper, 1.5 * abs(best)) - max(value, best - abs(best)), 1.0)
            prices = np.maximum(prices + step * gap / steep * moving, 0.0)
            hands, things = prices[: len(hands)], prices[len(hands) :]
        if best > self.bound:
            self.bound = best
        self.hands, self.things = best_hands, best_things / amounts

    def _round(self, hands: Costs, things: Costs) -> tuple[float, Costs, Costs]:
        """The bound at some prices, and how much more is wanted than there is."""
        table = self.table
        nothing = np.zeros(table.slots)
        by_hands = accrued(hands)
        by_things = accrued(things)
        cheapest: dict[tuple[int, str], tuple[Costs, Crews]] = {}
        scaled: dict[tuple[str, int], Costs] = {}

        def whose(job: Job, length: int) -> tuple[Costs, Crews]:
            key = (length, job.skill)
            if key not in cheapest:
                cheapest[key] = cheapest_hands(table, by_hands, job, length)
            return cheapest[key]

        def cost_of_hands(job: Job, length: int) -> Costs:
            return nothing if job.key in table.week.begun else whose(job, length)[0]

        def price_of(resource: str, amount: int) -> Costs:
            key = (resource, amount)
            if key not in scaled:
                scaled[key] = amount * by_things[self._row[resource]]
            return scaled[key]

        total = -float((hands * self._there[0]).sum() + (things * self._there[1]).sum())
        over_hands, over_things = -self._there[0], -self._there[1]
        for tree in self.trees:
            cost, starts = tree.cheapest(tree.priced(cost_of_hands, price_of))
            if cost >= tree.unserved:
                total += tree.unserved
                continue
            total += cost
            for job, slot, length in zip(tree.jobs, starts, tree.length, strict=True):
                if job.key not in table.week.begun:
                    over_hands[whose(job, length)[1][slot], slot : slot + length] += 1
                for use in job.uses:
                    over_things[self._row[use.resource], slot : slot + use.seconds // SLOT] += use.amount
            for stay in tree.stays:
                begins, ends = stay.span(starts)
                over_things[self._row[stay.resource], begins:ends] += stay.amount
        return total, over_hands, over_things


def accrued(prices: Costs) -> Costs:
    """Prices from the beginning of the week up to each slot."""
    return np.concatenate([np.zeros((len(prices), 1)), np.cumsum(prices, axis=1)], axis=1)


def cheapest_hands(
    table: Table, by_hands: Costs, job: Job, length: int, free: Sequence[Mask] | None = None
) -> tuple[Costs, Crews]:
    """For each start of a job, the least price of hands, overtime in it, and the crew that asks it.

    Parameters
    ----------
    by_hands
        Accrued prices of each crew : (crews, slots + 1).
    free
        Of each crew, slots in which somebody has nothing to do yet : (slots,); None: all.
    """
    ways: list[Costs] = [np.full(table.slots, NEVER)]
    crews = [0]
    for number, crew in enumerate(table.crews):
        if not table.may_do(crew, job):
            continue
        price = np.full(table.slots, NEVER)
        price[: table.slots - length + 1] = by_hands[number, length:] - by_hands[number, :-length]
        if free is not None:
            price[~fits(free[number], length)] = NEVER
        for extra in (False, True):
            more = crew.price * length if extra else 0
            ways.append(np.where(table.working(number, extra, length), price + more, NEVER))
            crews.append(number)
    every = np.array(ways)
    least = every.argmin(axis=0)
    return every[least, np.arange(table.slots)], np.array(crews)[least]


def priced(table: Table, upper: float, rounds: int, stop: Callable[[], bool] | None = None) -> Prices:
    """Prices of a week from a plan's cost, and the bound that they give."""
    found = Prices.none(table)
    found.raised(upper, rounds, stop)
    return found
