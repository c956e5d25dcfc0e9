"""The exact model against every plan of a week so small that all can be tried; clashes in words."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import product

import pytest

from demoule.plan import Effort, Week, check, plan_week
from demoule.plan.aims import cost_of
from demoule.plan.bound import bound_of
from demoule.plan.make import finished
from demoule.plan.model import solve
from demoule.plan.search import Search
from demoule.plan.table import Placed, Table

EFFORT = Effort(work=3.0, bound=False)


def every_plan(week: Week) -> int:
    """The least cost over every placement of the jobs of all lots, by trying them."""
    table = Table.of(week)
    (a, b), *_ = week.hands[0].blocks
    slots = range(a // 300, b // 300)
    ways = []
    for lot in week.lots:
        fill, finish, out = lot.jobs
        lag = lot.lags[0]
        mine = []
        for s, t, u in product(slots, slots, slots):
            ends = s + 3, t + 2, u + 1
            if max(ends) > b // 300 or t < ends[0] + lag.at_least // 300 or u < ends[1]:
                continue
            if lag.at_most is not None and t > ends[0] + lag.at_most // 300:
                continue
            demand = week.demand(lot.parts[0].demand)
            if ends[2] * 300 + demand.at_most < demand.moment:
                continue
            place = {fill.key: Placed(s, 0), finish.key: Placed(t, 0), out.key: Placed(u, 0)}
            busy = {*range(s, s + 3), *range(t, t + 2), u}
            if len(busy) == 6:
                mine.append((cost_of(table, place, [lot]).total, busy, set(range(s, t + 2)), place))
        ways.append(sorted(mine, key=lambda way: way[0])[:4000])
    best = 10**9
    for one in ways[0]:
        if one[0] >= best:
            break
        for other in ways[1]:
            if one[0] + other[0] >= best:
                break
            if not one[1] & other[1] and not one[2] & other[2]:
                best = one[0] + other[0]
    return best


@pytest.mark.parametrize("service", [7500, 9000])
def test_the_model_finds_the_best_of_all_plans(tiny: Callable[..., Week], service: int):
    week = tiny(service=service)
    table = Table.of(week)
    solved = solve(table, [lot.key for lot in week.lots], {}, work=20.0)
    assert solved.proven
    assert cost_of(table, solved.placement).total == every_plan(week) == round(solved.bound)


@pytest.mark.parametrize("service", [7500, 9000])
def test_a_bound_lies_below_the_best_and_near_it(tiny: Callable[..., Week], service: int):
    week = tiny(service=service)
    best = every_plan(week)
    assert 0.75 * best <= bound_of(Table.of(week), best) <= best


def test_what_does_not_fit_is_left_out_and_the_facts_are_named(tiny: Callable[..., Week]):
    # Two lots want the one tray, and the person is there for just one of them.
    week = tiny(people=(("ada", ((0, 3000),)),), freeze=600, at_most=1200)
    made = plan_week(week, EFFORT)
    assert len(made.unserved) == 1
    assert check(made) == ()
    clash = made.clashes[0]
    assert clash.lot == made.unserved[0]
    told = " ".join(clash.facts)
    assert "are wanted from" in clash.facts[0]
    assert "tray" in told or "hands" in told
    assert clash.remedies


def test_a_tray_too_few_is_said_with_numbers(tiny: Callable[..., Week]):
    week = tiny(people=(("ada", ((0, 4200),)), ("bea", ((0, 4200),))), freeze=1500, at_most=1800)
    made = plan_week(week, EFFORT)
    assert made.unserved
    told = " ".join(made.clashes[0].facts)
    assert "each need 1 tray of tray" in told
    assert "you own 1" in told
    more = tuple(replace(r, amount=2) if r.name == "tray" else r for r in week.resources)
    assert plan_week(replace(week, resources=more), EFFORT).works


def test_people_of_the_same_hours_share_work_without_meeting(tiny: Callable[..., Week]):
    week = tiny(people=(("ada", ((0, 7200),)), ("bea", ((0, 7200),))), trays=2, service=6000)
    made = plan_week(week, EFFORT)
    assert made.works
    assert check(made) == ()


def test_the_same_week_gives_the_same_plan(tiny: Callable[..., Week]):
    week = tiny()
    one, other = plan_week(week, EFFORT), plan_week(week, EFFORT)
    assert [(t.job.key, t.start, t.person) for t in one.tasks] == [(t.job.key, t.start, t.person) for t in other.tasks]


def test_cancelling_keeps_the_best_so_far(tiny: Callable[..., Week]):
    made = plan_week(tiny(), EFFORT, cancel=lambda: True)
    assert made.cancelled
    assert check(made) == ()


def test_overtime_is_asked_only_when_it_must_be(tiny: Callable[..., Week]):
    enough = plan_week(tiny(extra=((7200, 9000),)), EFFORT)
    assert enough.cost.overtime == 0
    short = plan_week(
        tiny(people=(("ada", ((0, 3000),)),), extra=((3000, 7200),), at_most=1200),
        EFFORT,
    )
    assert not short.unserved
    assert short.cost.overtime > 0


def broken_search(week: Week, *, kept: bool) -> Search:
    """A search that ends with two jobs of one person in the same hour, with or without a sound placement before."""
    table = Table.of(week)
    run = Search(table=table, effort=EFFORT)
    run.first(list(week.lots))
    assert len(run.placement) == 6
    if kept:
        run.before.append(dict(run.placement))
    fill, other = (lot.jobs[0].key for lot in week.lots)
    run.placement[other] = run.placement[fill]
    return run


def test_a_plan_that_breaks_a_rule_is_not_handed_out_but_the_one_before_it(tiny: Callable[..., Week]):
    run = broken_search(tiny(trays=2), kept=True)
    made = finished(run.table, run)
    assert check(made) == ()
    assert made.unserved == ()
    assert any(f.rule == "plan before" and "last one that does" in f.says for f in made.findings)


def test_without_one_before_the_lots_concerned_are_left_out(tiny: Callable[..., Week]):
    run = broken_search(tiny(trays=2), kept=False)
    made = finished(run.table, run)
    assert check(made) == ()
    assert made.unserved
    assert any(f.rule == "plan before" and "Left out of it: Pear" in f.says for f in made.findings)
