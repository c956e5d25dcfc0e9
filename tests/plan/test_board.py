"""Lots pinned on the board: against the exact model, against the count of what is taken, and back as they were."""

from __future__ import annotations

import copy
from collections.abc import Callable

import numpy as np

from demoule.plan import Effort, Plan, Week, check
from demoule.plan.aims import cost_of, lot_cost
from demoule.plan.board import Board
from demoule.plan.make import drawn_up
from demoule.plan.model import solve
from demoule.plan.result import tasks_of
from demoule.plan.search import Search
from demoule.plan.shuffle import Shuffle
from demoule.plan.table import Table


def shuffle_of(week: Week, seed: int = 1) -> Shuffle:
    table = Table.of(week)
    run = Search(table=table, effort=Effort())
    made = Shuffle.of(table, {}, [lot for lot in week.lots if lot.jobs], run.nearest, seed)
    made.pin(sorted(made.lots, key=lambda lot: table.due[lot.key]))
    return made


def test_a_lot_on_an_empty_board_costs_no_less_than_the_exact_best_and_not_much_more(made: Plan):
    table = Table.of(made.week)
    board = Board.of(table, {})
    costs, bests = 0, 0
    for lot in made.week.lots:
        found = board.fit(lot)
        assert found is not None
        exact = solve(table, [lot.key], {}, work=5.0, alone=True)
        assert exact.proven
        best = lot_cost(table, exact.placement, lot).total
        cost = lot_cost(table, found, lot).total
        assert cost >= best
        costs, bests = costs + cost, bests + best
    assert costs <= 1.25 * bests


def test_a_week_pinned_lot_by_lot_passes_the_checker(made: Plan):
    found = shuffle_of(made.week)
    broken = check(drawn_up(found.table, found.placement, tasks_of(found.table, found.placement)))
    assert broken == ()


def test_shuffling_never_loses_and_the_board_stays_in_step(made: Plan):
    found = shuffle_of(made.week)
    before = cost_of(found.table, found.placement).total
    gained = sum(found.once() for _ in range(25))
    assert gained >= 0
    assert cost_of(found.table, found.placement).total == before - gained
    taken, busy = found.table.taken(found.placement)
    for name, slots in taken.items():
        assert np.array_equal(slots, found.board.taken[name])
    for one, other in zip(busy, found.board.busy, strict=True):
        assert np.array_equal(one, other)
    assert check(drawn_up(found.table, found.placement, tasks_of(found.table, found.placement))) == ()


def test_the_same_seed_shuffles_the_same(made: Plan):
    one, other = shuffle_of(made.week), shuffle_of(made.week)
    for _ in range(8):
        one.once()
        other.once()
    assert one.placement == other.placement


def test_fitting_leaves_the_board_as_it_was(tiny: Callable[..., Week]):
    week = tiny()
    board = Board.of(Table.of(week), {})
    before = copy.deepcopy((board.taken, board.busy))
    assert board.fit(week.lots[0]) is not None
    for name, slots in before[0].items():
        assert np.array_equal(slots, board.taken[name])
    assert np.array_equal(before[1], board.busy)


def test_two_lots_that_want_one_tray_do_not_meet(tiny: Callable[..., Week]):
    week = tiny(people=(("ada", ((0, 7200),)), ("bea", ((0, 7200),))), trays=1)
    found = shuffle_of(week)
    assert not found.trouble
    spans = sorted(found.table.held(lot.holds[0], found.placement) for lot in week.lots)
    assert spans[0][1] <= spans[1][0]


def test_what_fits_nowhere_is_left_off_the_board(tiny: Callable[..., Week]):
    week = tiny(people=(("ada", ((0, 3000),)),), at_most=1200)
    found = shuffle_of(week)
    assert len(found.trouble) == 1
    assert found.trouble[0].jobs[0].key not in found.placement
