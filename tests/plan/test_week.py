"""The demonstration's week, and what a chef would ask of it."""

from __future__ import annotations

import datetime
from dataclasses import replace

import pytest

from demoule.batch import Kitchen, Order, OrderBook
from demoule.batch.clock import due
from demoule.batch.orders import InStock
from demoule.errors import BadInput
from demoule.plan import Added, Away, Cancelled, Down, Effort, Failed, Plan, as_json, build_week, check, replan
from demoule.plan.places import hard_within, thaw_of
from demoule.worked import Worked

MONDAY = datetime.date(2026, 4, 27)


def test_the_demonstration_works(made: Plan):
    assert made.works
    assert made.unserved == ()
    banquet = next(answer for answer in made.answers if answer.order == "banquet Sat")
    assert banquet.ready
    assert banquet.pieces == 208
    assert banquet.first_start is not None
    assert banquet.first_heart is not None


def test_needs_and_makings_are_those_of_the_order_book(made: Plan):
    # 96 + 5 × 12 − 24, 48 + 5 × 6 − 18, 64 + 5 × 6 − 12, in fillings of 60, 32 and 45 cavities at 4, 5, 5 % rejects:
    # arithmetic on the invented orders.
    lots = [lot for lot in made.week.lots if not lot.stock]
    for dessert, pieces, count in (("Apricot", 132, 3), ("Quince", 60, 2), ("Chestnut", 82, 2)):
        mine = [lot for lot in lots if lot.dessert == dessert]
        assert sum(part.pieces for lot in mine for part in lot.parts) == pieces
        assert len(mine) == count


def test_quince_has_no_margin_and_it_is_said(made: Plan):
    assert any(f.rule == "no margin" and "Quince" in f.says for f in made.findings)
    spare = dict(next(a for a in made.answers if a.order == "banquet Sat").spare)
    assert spare["Quince"] == 0
    assert spare["Apricot"] >= 36


def test_hours_come_from_the_cold_room_at_the_safe_end(made: Plan, worked: tuple[Worked, ...]):
    quince = next(one for one in worked if one.dessert.name == "Quince")
    run = quince.cold.stage("harden piece")
    assert run is not None
    assert run.high is not None
    assert run.loaded is not None
    assert run.loaded.high is not None
    lag = next(g for g in made.week.lot("Quince 1").lags if g.before == "Quince 1 fill")
    # A full freezer takes longer than one piece by itself, and the plan goes by the full one.
    assert run.high < run.loaded.high <= lag.at_least < run.loaded.high + 300
    more = hard_within(run, 2 * run.loaded.trays)
    assert more == pytest.approx(2 * run.loaded.high)
    assert hard_within(run, 1) == run.loaded.high
    thaw = quince.cold.stage("thaw")
    assert thaw is not None
    assert thaw.window is not None
    assert thaw.window.opens_high is not None
    assert thaw.window.opens_high <= thaw_of(quince)[0] < thaw.window.opens_high + 300


def test_rests_come_from_the_recipe(made: Plan):
    lags = {g.why: g for g in made.week.lot("Apricot 1").lags}
    assert (lags["whipped ganache rests"].at_least, lags["whipped ganache rests"].at_most) == (12 * 3600, 48 * 3600)


def test_banquet_trays_thaw_in_their_window_the_shop_as_late_as_anyone_is_there(made: Plan):
    for demand in made.week.demands:
        if demand.order == "banquet Sat":
            assert not demand.stretched
        assert demand.at_most <= 24 * 3600
    assert any(demand.stretched for demand in made.week.demands if demand.order == "shop Tue")
    assert any(f.rule == "stands thawed" for f in made.findings)


def test_stock_is_used_first_and_first_what_expires_first(
    book: OrderBook, worked: tuple[Worked, ...], kitchen: Kitchen
):
    lots = (
        InStock(dessert="Apricot", pieces=12, until=datetime.date(2026, 6, 1), label="late"),
        InStock(dessert="Apricot", pieces=12, until=datetime.date(2026, 4, 28), label="early"),
    )
    week = build_week(replace(book, lots=lots), worked, kitchen, start=MONDAY)
    early, late = week.lot("early"), week.lot("late")
    assert [part.demand for part in early.parts] == ["shop Tue 28 Apricot"]
    assert [part.demand for part in late.parts] == ["shop Wed 29 Apricot"]


def test_a_component_in_stock_is_not_made_again(book: OrderBook, worked: tuple[Worked, ...], kitchen: Kitchen):
    made = InStock(dessert="Quince", component="sablé", mass=0.6, until=datetime.date(2026, 5, 10))
    week = build_week(replace(book, lots=(made,)), worked, kitchen, start=MONDAY)
    assert not any("sablé" in job.key for job in week.lot("Quince 1").jobs)
    assert any(f.rule == "from stock" for f in week.findings)
    gone = replace(made, until=datetime.date(2026, 4, 28))
    week = build_week(replace(book, lots=(gone,)), worked, kitchen, start=MONDAY)
    assert any("sablé" in job.key for job in week.lot("Quince 1").jobs)


@pytest.mark.parametrize(
    ("order", "says"),
    [
        (Order(what="late", due=due("2026-04-20 10:00"), pieces=(("Quince", 6),)), "in the past"),
        (Order(what="none", due=due("Saturday 10:00"), pieces=(("Quince", 0),)), "asks for 0"),
        (Order(what="many", due=due("Saturday 10:00"), pieces=(("Quince", 10_000),)), "hours of work"),
        (Order(what="who", due=due("Saturday 10:00"), pieces=(("Quinze", 6),)), "no dessert called"),
    ],
)
def test_an_order_that_cannot_be_is_refused(
    order: Order, says: str, book: OrderBook, worked: tuple[Worked, ...], kitchen: Kitchen
):
    with pytest.raises(BadInput, match=says):
        build_week(replace(book, orders=(*book.orders, order)), worked, kitchen, start=MONDAY)


def test_a_mould_that_nobody_owns_is_refused(book: OrderBook, worked: tuple[Worked, ...], kitchen: Kitchen):
    moulds = tuple(replace(m, owned=0) if m.name == "quince 110 ml" else m for m in kitchen.moulds)
    with pytest.raises(BadInput, match="owns no tray of “quince 110 ml”"):
        build_week(book, worked, replace(kitchen, moulds=moulds), start=MONDAY)


def test_someone_without_a_shift_is_refused(book: OrderBook, worked: tuple[Worked, ...], kitchen: Kitchen):
    people = (replace(kitchen.people[0], shift=""), *kitchen.people[1:])
    with pytest.raises(BadInput, match="chef has no shift"):
        build_week(book, worked, replace(kitchen, people=people), start=MONDAY)


def test_only_who_may_sprays(book: OrderBook, worked: tuple[Worked, ...], kitchen: Kitchen):
    people = tuple(replace(p, skills=frozenset({"spray"}) if p.name == "chef" else frozenset()) for p in kitchen.people)
    week = build_week(book, worked, replace(kitchen, people=people), start=MONDAY)
    assert {job.skill for lot in week.lots for job in lot.jobs if job.kind == "spray"} == {"spray"}


# ---- when reality differs

NOW = datetime.datetime(2026, 4, 30, 10, 0)
LATER = Effort(work=4.0, bound=False)


def begun(plan: Plan) -> set[tuple[str, int, str]]:
    return {(t.job.key, t.start, t.person) for t in plan.tasks if plan.week.clock(t.start).replace(tzinfo=None) < NOW}


@pytest.mark.parametrize(
    "event",
    [
        Away(person="cook", since=NOW, until=datetime.datetime(2026, 4, 30, 23, 0)),
        Down(what="blast freezer", since=NOW, until=datetime.datetime(2026, 4, 30, 12, 0)),
        Down(what="spray gun", since=NOW, until=datetime.datetime(2026, 4, 30, 16, 0)),
        Failed(lot="Apricot 2"),
        Cancelled(what="shop", day=datetime.date(2026, 5, 1)),
        Added(order=Order(what="tea", due=due("2026-05-02 15:00"), pieces=(("Chestnut", 12),))),
    ],
    ids=lambda event: type(event).__name__,
)
def test_a_change_leaves_what_has_begun_and_passes_the_checker(made: Plan, event: object):
    new = replan(made, [event], NOW, effort=LATER)  # type: ignore[list-item]
    assert check(new) == ()
    assert begun(made) <= {(t.job.key, t.start, t.person) for t in new.tasks}
    assert all(why for _, why in new.moved)


def test_somebody_away_moves_little(made: Plan):
    new = replan(made, [Away(person="chef", since=NOW, until=datetime.datetime(2026, 4, 30, 23))], NOW, effort=LATER)
    assert new.works
    mine = [t for t in made.tasks_of("chef") if t.job.key in {x.job.key for x in new.tasks}]
    assert mine
    assert len(new.moved) <= 16  # of about ninety jobs


def test_a_name_that_is_not_in_the_plan_is_answered_with_the_nearest(made: Plan):
    with pytest.raises(BadInput, match="no person called “cok”"):
        replan(made, [Away(person="cok", since=NOW, until=NOW + datetime.timedelta(hours=1))], NOW)


def test_a_plan_can_be_written_down(made: Plan):
    found = as_json(made)
    assert len(found["tasks"]) == len(made.tasks)
    assert found["tasks"][0]["start"].endswith("+02:00")
