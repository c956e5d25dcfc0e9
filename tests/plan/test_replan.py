"""A week changed under way: what has begun stays, as little as can be moves, and every move has its reason."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from dataclasses import replace

import pytest

from demoule.batch import Order
from demoule.batch.clock import due
from demoule.errors import BadInput
from demoule.plan import Added, Away, Cancelled, Down, Effort, Event, Failed, Plan, Week, check, plan_week, replan

EFFORT = Effort(work=4.0, bound=False)
THURSDAY = datetime.datetime(2026, 4, 30, 10, 0)
TEN = 10
"""Jobs of about a hundred that one change may move beyond those that it hits."""


def moves(new: Plan) -> list[str]:
    """Jobs that were there before and lie elsewhere now; what is new, or no longer done, is told beside them."""
    return [what for what, _ in new.moved if "new on" not in what and "is not done" not in what]


# ---- weeks so small that the least number of moves is known by hand


def test_one_job_changes_hands_when_somebody_else_is_free(tiny: Callable[..., Week]):
    # Two people, and services ten minutes apart: who does the last job is away in that hour, and the other is free.
    both = (("ada", ((0, 10800),)), ("bea", ((0, 10800),)))
    made = plan_week(tiny(people=both, trays=2, service=9000), EFFORT)
    assert made.works
    task = max(made.tasks, key=lambda one: one.start)
    start = made.week.clock(task.start)
    gone = Away(person=task.person, since=start, until=start + datetime.timedelta(minutes=30))
    new = replan(made, [gone], made.week.clock(0), effort=EFFORT)
    assert new.works
    assert check(new) == ()
    assert len(moves(new)) == 1
    assert f"from {task.person} to" in moves(new)[0]
    assert new.moved[0][1] == f"{task.person} is away"


def test_nothing_moves_when_nobody_is_missed(tiny: Callable[..., Week]):
    made = plan_week(tiny(people=(("ada", ((0, 7200),)), ("bea", ((0, 7200),))), trays=2), EFFORT)
    last = made.week.clock(max(task.end for task in made.tasks))
    new = replan(made, [Away(person="ada", since=last, until=last + datetime.timedelta(hours=1))], last, effort=EFFORT)
    assert new.moved == ()
    assert new.placement == made.placement


def test_a_machine_out_of_order_moves_only_the_job_that_needs_it(tiny: Callable[..., Week]):
    # One lot; the bowl is out of order when it would be filled, and there is time before that: the filling alone moves,
    # for the piece may stay an hour and a half in the mould.
    made = plan_week(tiny(lots=1, at_most=5400, people=(("ada", ((0, 9000),)),), service=10800), EFFORT)
    fill = made.task("Pear 1 fill")
    assert fill is not None
    start = made.week.clock(fill.start)
    stopped = Down(what="bowl", since=start, until=start + datetime.timedelta(minutes=20))
    new = replan(made, [stopped], made.week.clock(0), effort=EFFORT)
    assert new.works
    assert [what.split(",")[0] for what in moves(new)] == ["Pear 1: Fill"]
    assert new.moved[0][1] == "bowl is out of order"


def test_it_cannot_end_before_it_begins(tiny: Callable[..., Week]):
    made = plan_week(tiny(), EFFORT)
    now = made.week.clock(0)
    with pytest.raises(BadInput, match="It ends"):
        replan(made, [Down(what="bowl", since=now, until=now)], now)


# ---- the demonstration's week


@pytest.fixture(scope="module")
def after(made: Plan) -> Callable[[Event], Plan]:
    done: dict[str, Plan] = {}

    def replanned(event: Event) -> Plan:
        if repr(event) not in done:
            done[repr(event)] = replan(made, [event], THURSDAY, effort=EFFORT)
        return done[repr(event)]

    return replanned


AWAY = Away(person="cook", since=THURSDAY, until=datetime.datetime(2026, 4, 30, 23))
EVENING = Away(person="junior", since=THURSDAY, until=datetime.datetime(2026, 4, 30, 23))
STOPPED = Down(what="blast freezer", since=THURSDAY, until=datetime.datetime(2026, 4, 30, 12))
FAILED = Failed(lot="Apricot 2")
TEA = Added(order=Order(what="tea", due=due("2026-05-02 15:00"), pieces=(("Chestnut", 12),)))
CANCELLED = Cancelled(what="shop", day=datetime.date(2026, 5, 1))


def hit(made: Plan, event: Event) -> int:
    """Jobs that cannot stay where they are."""
    since, until = (3 * 86400 + 3600 * hour for hour in (10, 23 if event is AWAY else 12))
    if event is AWAY:
        return sum(since <= task.start < until for task in made.tasks_of("cook"))
    if event is STOPPED:
        fills = ("fill", "fill hearts")
        return sum(since <= task.end < until and task.job.kind in fills for task in made.tasks)
    return 0


@pytest.mark.parametrize("event", [AWAY, STOPPED, FAILED, TEA, CANCELLED], ids=lambda event: type(event).__name__)
def test_one_change_moves_few_jobs_and_every_one_has_its_reason(
    made: Plan, after: Callable[[Event], Plan], event: Event
):
    new = after(event)
    assert check(new) == ()
    # A lot that is made again brings a dozen jobs into a full week, and some of the others must make room.
    assert len(moves(new)) <= TEN + hit(made, event) + (5 if event is FAILED else 0)
    assert all(why for _, why in new.moved)


def test_an_absence_is_made_up_for_and_nobody_works_who_is_away(made: Plan, after: Callable[[Event], Plan]):
    new = after(AWAY)
    assert new.works
    since, until = 3 * 86400 + 10 * 3600, 3 * 86400 + 23 * 3600
    assert not any(since <= task.start < until for task in new.tasks_of("cook"))


def test_when_the_last_one_in_the_house_is_away_pieces_come_out_earlier_and_it_is_told(
    made: Plan, after: Callable[[Event], Plan]
):
    new = after(EVENING)
    assert not new.unserved
    told = [finding for finding in new.findings if finding.rule == "stands thawed" and "may now stand" in finding.says]
    assert told
    assert "shop Fri" in told[0].says
    before = {demand.key: demand.at_most for demand in made.week.demands}
    longer = [demand for demand in new.week.demands if demand.at_most > before[demand.key]]
    assert longer
    assert all(demand.at_most <= 24 * 3600 for demand in longer)


def test_what_is_inside_a_freezer_that_stands_still_freezes_for_as_much_longer(made: Plan):
    fill = next(t for t in made.tasks if t.job.kind == "fill" and t.start >= 2 * 86400)
    lag = next(g for g in made.week.lot(fill.job.lot).lags if g.before == fill.job.key and g.why == "pieces freeze")
    now = made.week.clock(fill.end + 600)
    two = Down(what="blast freezer", since=now, until=now + datetime.timedelta(hours=2))
    new = replan(made, [two], now, effort=EFFORT)
    assert check(new) == ()
    after_lag = next(g for g in new.week.lot(fill.job.lot).lags if g.before == lag.before and g.after == lag.after)
    assert after_lag.at_least == lag.at_least + 2 * 3600
    out = new.task(lag.after)
    assert out is not None
    assert out.start - fill.end >= lag.at_least + 2 * 3600


def test_a_failed_lot_is_made_again_and_what_was_left_of_it_is_not(made: Plan, after: Callable[[Event], Plan]):
    new = after(FAILED)
    again = [lot for lot in new.week.lots if lot.key not in {one.key for one in made.week.lots}]
    assert again
    old = {part.demand: part.pieces for part in made.week.lot("Apricot 2").parts}
    given: dict[str, int] = {}
    for lot in again:
        for part in lot.parts:
            given[part.demand] = given.get(part.demand, 0) + part.pieces
    assert given == old
    assert any("failed and is made again" in why for _, why in new.moved)


def test_an_order_more_is_served_and_one_less_is_not_made(made: Plan, after: Callable[[Event], Plan]):
    more = after(TEA)
    assert any(demand.order == "tea Sat" and demand.pieces == 12 for demand in more.week.demands)
    assert not more.unserved
    less = after(CANCELLED)
    assert not any(demand.order == "shop Fri" for demand in less.week.demands)
    gone = [what for what, _ in less.moved if what.endswith("is not done")]
    assert gone
    assert all("shop Fri" in what for what in gone)
    assert less.works


def test_the_same_change_gives_the_same_plan(made: Plan, after: Callable[[Event], Plan]):
    other = replan(made, [AWAY], THURSDAY, effort=EFFORT)
    assert other.placement == after(AWAY).placement
    assert replace(other, week=made.week).moved == after(AWAY).moved
