"""Kitchen time on the nights on which the clock changes, and what is refused."""

from __future__ import annotations

import datetime
from zoneinfo import ZoneInfo

import pytest

from demoule.batch.clock import due
from demoule.batch.kitchen import Person
from demoule.errors import BadInput
from demoule.plan.calendar import beginning, clock_changes, hands_of, length_of, moment_of, moments_of

# Central European time goes forward at 02:00 on the last Sunday of March and back at 03:00 on the last of October.
# Source: Directive 2000/84/EC, articles 2 and 3 (01:00 Greenwich). Status: recalled; the dates are those of tzdata.
VIENNA = ZoneInfo("Europe/Vienna")
SPRING = beginning(datetime.date(2026, 3, 23), VIENNA)  # Monday of the week with 29 March
AUTUMN = beginning(datetime.date(2026, 10, 19), VIENNA)  # with 25 October


def test_a_rest_of_twelve_hours_across_the_change_is_twelve_real_hours():
    evening = moment_of(SPRING, datetime.date(2026, 3, 28), 20 * 3600)
    assert moment_of(SPRING, datetime.date(2026, 3, 29), 9 * 3600) - evening == 12 * 3600  # 13 h on the clock
    evening = moment_of(AUTUMN, datetime.date(2026, 10, 24), 20 * 3600)
    assert moment_of(AUTUMN, datetime.date(2026, 10, 25), 7 * 3600) - evening == 12 * 3600  # 11 h on the clock


def test_a_week_with_a_change_has_an_hour_less_or_more():
    assert length_of(SPRING, 7) == 167 * 3600
    assert length_of(AUTUMN, 7) == 169 * 3600
    assert "23 hours" in clock_changes(SPRING, 7)[0].says
    assert "25 hours" in clock_changes(AUTUMN, 7)[0].says
    assert clock_changes(beginning(datetime.date(2026, 4, 27), VIENNA), 7) == ()


def test_a_service_in_the_hour_that_is_leapt_over_is_refused():
    with pytest.raises(BadInput, match="does not exist"):
        moments_of(due("2026-03-29 02:30"), SPRING, 7, "orders.0")


def test_a_service_in_the_hour_that_comes_twice_is_refused():
    with pytest.raises(BadInput, match="comes twice"):
        moments_of(due("2026-10-25 02:30"), AUTUMN, 7, "orders.0")


def test_three_in_the_morning_of_the_night_of_the_change_is_two_or_four_real_hours_after_midnight():
    spring = moments_of(due("2026-03-29 03:00"), SPRING, 7, "")[0][0]
    assert spring - moment_of(SPRING, datetime.date(2026, 3, 29), 0) == 2 * 3600
    autumn = moments_of(due("2026-10-25 03:00"), AUTUMN, 7, "")[0][0]
    assert autumn - moment_of(AUTUMN, datetime.date(2026, 10, 25), 0) == 4 * 3600


def test_shifts_are_cut_at_breaks_and_days_off():
    person = Person(
        name="ada",
        shift="Mon–Fri 07:00–15:30",
        pay=20.0,
        breaks=((11.5 * 3600, 12 * 3600),),
        off=(datetime.date(2026, 3, 24),),
        overtime=3600.0,
    )
    hands = hands_of(person, SPRING, 7)
    assert hands.blocks[:2] == ((25200, 41400), (43200, 55800))
    assert hands.extra[0] == (55800, 59400)
    assert len(hands.blocks) == 8  # four days of two parts


def test_a_night_shift_runs_past_midnight():
    hands = hands_of(Person(name="ada", shift="Sat 22:00–06:00", pay=20.0), SPRING, 7)
    assert hands.blocks == ((5 * 86400 + 79200, 6 * 86400 + 5 * 3600),)  # six o'clock comes an hour early


@pytest.mark.parametrize(
    ("shift", "says"),
    [("", "has no shift"), ("Mon–Fri 07:00–15:00; Wed 14:00–18:00", "overlap on Wednesday")],
)
def test_shifts_that_cannot_be_are_refused(shift: str, says: str):
    with pytest.raises(BadInput, match=says):
        hands_of(Person(name="ada", shift=shift, pay=20.0), SPRING, 7)
