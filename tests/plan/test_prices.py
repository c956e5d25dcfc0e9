"""Lots as trees against the exact model; bounds by prices against the best of weeks that can be tried out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from demoule.plan import Lag, Plan, Week
from demoule.plan.aims import lot_cost
from demoule.plan.model import solve
from demoule.plan.prices import Prices, priced
from demoule.plan.table import Table
from demoule.plan.trees import NEVER, Tree


def free(table: Table) -> Prices:
    prices = Prices.none(table)
    prices.raised(1.0, 1)
    return prices


def test_a_lot_by_itself_costs_what_the_exact_model_says(tiny: Callable[..., Week]):
    # With two people no two jobs of a lot can meet, so that the tree, which knows nothing of meeting, is exact.
    week = tiny(people=(("ada", ((0, 7200),)), ("bea", ((0, 7200),))))
    table = Table.of(week)
    alone = sum(solve(table, [lot.key], {}, alone=True, work=5.0).bound for lot in week.lots)
    assert free(table).bound == pytest.approx(alone)


def test_jobs_of_a_tree_keep_their_lags(made: Plan):
    table = Table.of(made.week)
    chance = np.random.default_rng(1)
    for lot in made.week.lots:
        tree = Tree.of(table, lot)
        costs = [own + chance.random(len(own)) * 50 for own in tree.own]
        total, starts = tree.cheapest(costs)
        at = {job.key: slot for job, slot in zip(tree.jobs, starts, strict=True)}
        assert total == pytest.approx(sum(cost[slot - tree.opens] for cost, slot in zip(costs, starts, strict=True)))
        for lag in lot.lags:
            waited = at[lag.after] - at[lag.before] - table.length[lag.before]
            assert waited >= lag.at_least // 300
            assert lag.at_most is None or waited <= lag.at_most // 300


def test_costs_of_jobs_add_up_to_the_cost_of_the_lot(made: Plan):
    table = Table.of(made.week)
    for lot in made.week.lots:
        tree = Tree.of(table, lot)
        cost = lot_cost(table, made.placement, lot)
        own = sum(
            costs[made.placement[job.key].slot - tree.opens] for job, costs in zip(tree.jobs, tree.own, strict=True)
        )
        assert own + cost.paid == cost.total


def test_a_lag_that_cannot_hold_is_told_as_never(tiny: Callable[..., Week]):
    week = tiny(lots=1)
    lot = week.lots[0]
    long = Lag(before=lot.lags[1].before, after=lot.lags[1].after, at_least=40 * 3600, at_most=None, why="kept")
    week = replace(week, lots=(replace(lot, lags=(lot.lags[0], long)),))
    table = Table.of(week)
    tree = Tree.of(table, week.lots[0])
    assert tree.cheapest(tree.own) == (NEVER, [])


def test_prices_raise_the_bound_and_never_above_a_plan(made: Plan):
    table = Table.of(made.week)
    first = free(table).bound
    found = priced(table, made.cost.total, 60)
    assert first < found.bound <= made.cost.total
    # A price is asked only where hands are there to be had.
    for crew, prices in zip(table.crews, found.hands, strict=True):
        assert not prices[~(crew.regular | crew.extra)].any()


def test_a_plan_costs_more_than_the_bound_under_any_prices(tiny: Callable[..., Week]):
    week = tiny(service=7500)
    table = Table.of(week)
    chance = np.random.default_rng(3)
    solved = solve(table, [lot.key for lot in week.lots], {}, work=20.0)
    assert solved.proven
    best = sum(lot_cost(table, solved.placement, lot).total for lot in week.lots)
    bounds = []
    for _ in range(20):
        prices = Prices.none(table)
        prices.hands[:, :40] = chance.random((len(prices.hands), 40)) * 0.3
        prices.things[:, :40] = chance.random((len(prices.things), 40)) * 0.3
        prices.raised(best, 1)
        bounds.append(prices.bound)
    assert 0 < min(bounds) < max(bounds) <= best


def test_what_has_begun_stays_in_the_tree(tiny: Callable[..., Week]):
    week = tiny(lots=1)
    key = week.lots[0].jobs[0].key
    week = replace(week, now=1200, begun={key: (300, "ada")})
    tree = Tree.of(Table.of(week), week.lots[0])
    _, starts = tree.cheapest(tree.own)
    assert starts[0] == 1
    assert min(starts[1:]) >= 4
