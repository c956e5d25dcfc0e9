"""A plan told again from what was kept of it, and jobs moved by hand with the checker's word on it.

What is expected of a rest, a tray and a shift is plain arithmetic on the little week.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable

import pytest

from demoule.errors import BadInput, UnknownName
from demoule.plan import (
    Away,
    Effort,
    Plan,
    Week,
    after,
    again,
    broken_by,
    check,
    fits_of,
    kept_of,
    moved_by_hand,
    plan_week,
    replan,
)

QUICK = Effort(work=3.0, bound=False, whole=0)


def both(plan: Plan) -> tuple[object, ...]:
    return plan.tasks, plan.stays, plan.late, plan.unserved, plan.answers, plan.findings, plan.moved, plan.cost


def test_a_plan_is_told_again_to_the_last_tray(tiny: Callable[..., Week]) -> None:
    made = plan_week(tiny(lots=3, trays=2), QUICK)
    told = again(made.week, kept_of(made))
    assert both(told) == both(made)
    assert check(told) == ()


def test_the_demonstration_is_told_again(made: Plan) -> None:
    assert both(again(made.week, kept_of(made))) == both(made)


def test_a_plan_after_something_happened_is_told_again(made: Plan) -> None:
    thursday = datetime.datetime(2026, 4, 30, 12)
    evening = datetime.datetime(2026, 4, 30, 20, 30)
    events = [Away(person="junior", since=thursday, until=evening)]
    new = replan(made, events, thursday, effort=Effort(work=2.0, bound=False))
    assert new.moved
    assert both(after(made, events, thursday, kept_of(new))) == both(new)


def test_a_rest_cut_short_is_said_in_the_checkers_words(tiny: Callable[..., Week]) -> None:
    made = plan_week(tiny(lots=1), QUICK)
    fill = made.task("Pear 1 fill")
    assert fill is not None
    moved = moved_by_hand(made, "Pear 1 finish", fill.end + 300, "ada")  # ten minutes are asked, five given
    (broken,) = broken_by(moved)
    assert broken.rule == "rests not too short"
    assert "pieces freeze: 0.1 h between Pear 1 fill and Pear 1 finish, not 0.2" in broken.says
    assert made.task("Pear 1 finish") != moved.task("Pear 1 finish")


def test_two_lots_in_one_tray_and_two_jobs_in_two_hands_are_said(tiny: Callable[..., Week]) -> None:
    made = plan_week(tiny(lots=2, people=(("ada", ((0, 7200),)), ("bo", ((0, 7200),)))), QUICK)
    first, second = sorted((made.task("Pear 1 fill"), made.task("Pear 2 fill")), key=lambda t: t.start if t else 0)
    assert first is not None
    assert second is not None
    rules = {one.rule for one in broken_by(moved_by_hand(made, second.job.key, first.start, first.person))}
    assert {"trays owned", "one thing at a time", "machines"} <= rules


def test_later_than_its_service_is_late_and_not_a_contradiction(tiny: Callable[..., Week]) -> None:
    made = plan_week(tiny(lots=1, service=6000, people=(("ada", ((0, 7200),)),)), QUICK)
    assert made.works
    moved = moved_by_hand(made, "Pear 1 out", 5700, "ada")
    assert moved.late == (("order 0", 5700 + 300 + 600 - 6000),)
    assert broken_by(moved) == ()
    assert any(finding.rule == "late" for finding in moved.findings)


def test_every_fit_breaks_nothing_and_is_as_near_as_can_be(tiny: Callable[..., Week]) -> None:
    made = plan_week(tiny(lots=2, people=(("ada", ((0, 7200),)), ("bo", ((900, 7200),)))), QUICK)
    for task in made.tasks:
        for fit in fits_of(made, task.job.key):
            trial = moved_by_hand(made, task.job.key, fit.start, fit.person)
            assert check(trial) == ()
            assert trial.late == made.late
            toward = 300 if fit.start < task.start else -300
            for start in range(fit.start + toward, task.start, toward):
                nearer = moved_by_hand(made, task.job.key, start, fit.person)
                assert check(nearer) or nearer.late != made.late, (task.job.key, fit, start)


def test_what_has_begun_and_what_is_not_there_cannot_be_moved(tiny: Callable[..., Week]) -> None:
    made = plan_week(tiny(lots=1, people=(("ada", ((0, 86100),)),)), QUICK)
    with pytest.raises(UnknownName):
        moved_by_hand(made, "Pear 9 fill", 0, "ada")
    with pytest.raises(UnknownName):
        moved_by_hand(made, "Pear 1 fill", 0, "cy")
    with pytest.raises(BadInput, match="outside the week"):
        moved_by_hand(made, "Pear 1 fill", 86400, "ada")
    begun = replan(made, [], made.week.clock(made.tasks[0].start + 300), effort=QUICK)
    with pytest.raises(BadInput, match="has begun"):
        moved_by_hand(begun, made.tasks[0].job.key, 0, "ada")
