"""What would help, on weeks so small that the answer is known by hand; and why something does not fit."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from dataclasses import replace

from demoule.batch import Kitchen, OrderBook
from demoule.plan import Effort, Help, Lot, Plan, Resource, Week, build_week, helps_as_json, plan_week, what_would_help
from demoule.plan.wishes import hour_more, things
from demoule.worked import Worked

EFFORT = Effort(work=3.0, bound=False)

# One tray, one person there for two hours. A filling takes 15 min, an hour of freezing and 10 min of finishing, all of
# it in the tray: 85 min. The pieces must be out at 02:20, 02:30 and 02:40, five minutes of work each. So one filling is
# in time, a second would be ready at 02:50, and nobody is there then. By hand:
#   one more tray     two fillings side by side: 10 pieces more; the hands have 15 + 15 + 10 + 10 + 5 + 5 min of 120.
#   one hour longer   the second filling from 01:25 to 02:50, out at 02:55, ready at 03:05: 15 min late.
#   one more bowl     the bowl is taken for 10 of the 15 min of filling, which one person does: nothing.
SHORT_OF_TRAYS = {"lots": 3, "freeze": 3600, "at_most": 7200}


def value(plan: Plan, words: str) -> Help:
    return next(one for one in what_would_help(plan).tried if one.change.startswith(words))


def test_a_tray_an_hour_and_a_bowl_bring_what_is_known_by_hand(tiny: Callable[..., Week]):
    made = plan_week(tiny(**SHORT_OF_TRAYS), EFFORT)
    assert len(made.unserved) == 2
    tray = value(made, "one more tray")
    assert (tray.pieces, tray.late) == (10, 0.0)
    hour = value(made, "ada stays one hour longer on Monday")
    assert (hour.pieces, hour.late) == (10, -15.0)
    bowl = value(made, "one more bowl")
    assert (bowl.pieces, bowl.late, bowl.aim) == (0, 0.0, 0)
    assert not bowl.helps


def test_a_day_later_serves_what_the_day_has_hours_for(tiny: Callable[..., Week]):
    # The orders' names are one, so all three move to the next day: the person is there from midnight on, all day.
    made = plan_week(tiny(**SHORT_OF_TRAYS), EFFORT)
    later = value(made, "order a day later")
    assert later.pieces == 20
    assert later.kind == "day"


def test_one_more_place_brings_what_is_known_by_hand(tiny: Callable[..., Week]):
    # Two trays, but a freezer of one level in which each filling takes a whole one: the tray of the test above again.
    week = tiny(lots=2, trays=2, freeze=3600, at_most=7200)
    lots = tuple(
        replace(lot, holds=(*lot.holds, replace(lot.holds[0], resource="freezer", amount=100))) for lot in week.lots
    )
    freezer = Resource(name="freezer", kind="room", amount=100, per=100, counted="level", air=253.15)
    made = plan_week(replace(week, lots=lots, resources=(*week.resources, freezer)), EFFORT)
    assert len(made.unserved) == 1
    assert value(made, "one more level in the freezer").pieces == 10
    assert value(made, "one more tray of tray").pieces == 0
    assert "there is 1" in " ".join(made.clashes[0].facts)


def test_what_is_promised_is_kept_when_the_change_is_made(tiny: Callable[..., Week]):
    week = tiny(**SHORT_OF_TRAYS)
    made = plan_week(week, EFFORT)
    tray = value(made, "one more tray")
    more = tuple(replace(r, amount=2) if r.name == "tray" else r for r in week.resources)
    after = plan_week(replace(week, resources=more), EFFORT)  # has passed the checker
    assert made.cost.unserved - after.cost.unserved == tray.pieces
    assert made.cost.total - after.cost.total == tray.aim


def test_what_helps_most_comes_first_and_what_serves_is_named(tiny: Callable[..., Week]):
    found = what_would_help(plan_week(tiny(**SHORT_OF_TRAYS), EFFORT))
    gains = [one.pieces for one in found.tried]
    assert gains == sorted(gains, reverse=True)
    assert next(one for one in found.tried if one.kind == "tray").serves
    assert helps_as_json(found)["tried"][0]["more_pieces"] == 20


def test_people_of_the_same_hours_are_asked_about_once(tiny: Callable[..., Week]):
    week = tiny(people=(("ada", ((0, 4200),)), ("bea", ((0, 4200),))), freeze=1500, at_most=1800)
    hours = [one for one in what_would_help(plan_week(week, EFFORT)).tried if one.kind == "hour"]
    assert [one.change for one in hours] == ["ada (or bea) stays one hour longer on Monday"]


def test_the_time_for_it_is_bounded_and_what_was_not_tried_is_named(tiny: Callable[..., Week]):
    made = plan_week(tiny(**SHORT_OF_TRAYS), EFFORT)
    found = what_would_help(made, most=0.0)
    assert found.tried == ()
    assert any("tray" in words for words in found.untried)
    assert any("hour" in words for words in found.untried)


def test_it_tells_what_it_tries_and_stops_when_asked(tiny: Callable[..., Week]):
    made = plan_week(tiny(**SHORT_OF_TRAYS), EFFORT)
    told: list[str] = []
    found = what_would_help(made, progress=told.append, cancel=lambda: len(told) > 2)
    assert told[0] == "the week as it is"
    assert len(found.tried) < 3
    assert found.untried


def test_an_hour_more_is_an_hour_more_with_overtime_too(tiny: Callable[..., Week]):
    week = tiny(people=(("ada", ((3600, 7200),)),), extra=((7200, 9000),))
    person = hour_more(week, ["ada"]).hands[0]
    assert person.blocks == ((0, 10800),)
    assert person.extra == ((7200, 12600),)


def test_fillings_are_cut_to_use_one_more_tray_where_that_makes_fewer_of_them(
    book: OrderBook, worked: tuple[Worked, ...], kitchen: Kitchen
):
    # 60 Quince from two trays of eight cavities, one in twenty lost: 15 good pieces a filling, four fillings; from
    # three trays 22, three fillings.
    moulds = tuple(replace(m, owned=2) if m.name == "quince 110 ml" else m for m in kitchen.moulds)
    few = replace(kitchen, moulds=moulds)
    shaped = tuple(replace(one, kitchen=few) for one in worked)
    week = build_week(book, shaped, few, start=datetime.date(2026, 4, 27))
    assert len(made_of(week)) == 4
    wish = next(one for one in things(week) if "quince 110 ml" in one.about)
    (words, wider), (more, again) = wish.ways
    assert more == f"{words}, and fillings cut to use it"
    assert len(made_of(wider)) == 4
    assert len(made_of(again)) == 3
    assert sum(lot.pieces for lot in made_of(again)) == sum(lot.pieces for lot in made_of(week))


def made_of(week: Week) -> list[Lot]:
    return [lot for lot in week.lots if lot.dessert == "Quince" and not lot.stock]
