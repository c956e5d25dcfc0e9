"""Plans broken on purpose: for each rule one, and the checker must name that rule."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from demoule.plan import RULES, Plan, Task, check


def changed(plan: Plan, key: str, **what: object) -> Plan:
    """The plan with one task changed."""
    return replace(plan, tasks=tuple(replace(t, **what) if t.job.key == key else t for t in plan.tasks))


def moved(plan: Plan, key: str, seconds: int) -> Plan:
    task = at(plan, key)
    return changed(plan, key, start=task.start + seconds, end=task.end + seconds)


def at(plan: Plan, key: str) -> Task:
    task = plan.task(key)
    assert task is not None
    return task


def first(plan: Plan, kind: str) -> Task:
    return next(task for task in plan.tasks if task.job.kind == kind)


def with_week(plan: Plan, **what: object) -> Plan:
    return replace(plan, week=replace(plan.week, **what))


def lot_changed(plan: Plan, key: str, **what: object) -> Plan:
    return with_week(plan, lots=tuple(replace(x, **what) if x.key == key else x for x in plan.week.lots))


def resource(plan: Plan, name: str, amount: int) -> Plan:
    return with_week(
        plan, resources=tuple(replace(r, amount=amount) if r.name == name else r for r in plan.week.resources)
    )


def job_left_out(plan: Plan) -> Plan:
    return replace(plan, tasks=plan.tasks[1:])


def pieces_short(plan: Plan) -> Plan:
    demand = plan.week.demands[0]
    return with_week(plan, demands=(replace(demand, pieces=demand.pieces + 1), *plan.week.demands[1:]))


def two_at_once(plan: Plan) -> Plan:
    mine = plan.tasks_of("chef")
    return changed(plan, mine[1].job.key, start=mine[0].start, end=mine[0].start + mine[1].job.seconds)


def at_night(plan: Plan) -> Plan:
    task = first(plan, "fill")
    day = task.start // 86400 * 86400
    return changed(plan, task.job.key, start=day + 3 * 3600, end=day + 3 * 3600 + task.job.seconds)


def not_allowed(plan: Plan) -> Plan:
    spray = first(plan, "spray")
    people = tuple(
        replace(p, skills=frozenset() if p.name == spray.person else frozenset({"spray"}))
        for p in plan.week.kitchen.people
    )
    return with_week(plan, kitchen=replace(plan.week.kitchen, people=people))


def rest_too_short(plan: Plan) -> Plan:
    lag = next(g for x in plan.week.lots for g in x.lags if g.at_least >= 12 * 3600)
    before, after = at(plan, lag.before), at(plan, lag.after)
    return moved(plan, lag.after, before.end + 3600 - after.start)


def rest_too_long(plan: Plan) -> Plan:
    lag = next(g for x in plan.week.lots for g in x.lags if g.at_most is not None and g.at_most <= 4 * 3600)
    return moved(plan, lag.before, -8 * 3600)


def too_few_trays(plan: Plan) -> Plan:
    return resource(plan, "chestnut 60 ml", 2)


def too_few_places(plan: Plan) -> Plan:
    return resource(plan, "refrigerator", 50)


def one_bowl_twice(plan: Plan) -> Plan:
    return resource(plan, "oven", 0)


def tray_twice(plan: Plan) -> Plan:
    stays = [s for s in plan.stays if s.resource == "half sphere 15 ml"]
    meets = replace(stays[0], lot="somebody else's")
    return replace(plan, stays=(*plan.stays, meets))


def overfull(plan: Plan) -> Plan:
    return lot_changed(plan, "Quince 2", started=33)


def too_late(plan: Plan) -> Plan:
    out = [t for t in plan.tasks if t.job.kind == "take out"][-1]
    return moved(plan, out.job.key, 3 * 3600)


def before_now(plan: Plan) -> Plan:
    return with_week(plan, now=plan.tasks[5].start + 300)


def in_a_dead_machine(plan: Plan) -> Plan:
    spray = first(plan, "spray")
    return with_week(plan, down=(("spray gun", spray.start, spray.end),))


def soft_inside(plan: Plan) -> Plan:
    fill = at(plan, "Quince 1 fill")
    demould = at(plan, "Quince 1 demould")
    lags = tuple(replace(g, at_least=0) if g.after == "Quince 1 demould" else g for g in plan.week.lot("Quince 1").lags)
    return moved(lot_changed(plan, "Quince 1", lags=lags), "Quince 1 demould", fill.end + 1800 - demould.start)


def eaten_too_late(plan: Plan) -> Plan:
    return lot_changed(plan, "Apricot stock", use_by=86400)


def not_cleaned(plan: Plan) -> Plan:
    """Somebody's mousse with egg in the bowl of a ganache, and the ganache at once behind it."""
    fill = at(plan, "Chestnut 1 fill")
    quince = at(plan, "Quince 1 fill")
    bowl = next(u.resource for u in quince.job.uses if "mixer" in u.resource)
    use = replace(fill.job.uses[0], resource=bowl, clean=0)
    egg = replace(fill, job=replace(fill.job, uses=(use,)), start=quince.start - use.seconds, end=quince.start)
    return replace(plan, tasks=tuple(egg if t.job.key == fill.job.key else t for t in plan.tasks))


def too_warm(plan: Plan) -> Plan:
    fill = at(plan, "Chestnut 1 fill")
    return changed(plan, fill.job.key, end=fill.end + 3 * 3600)


BREAKS: dict[str, Callable[[Plan], Plan]] = {
    "every job once": job_left_out,
    "every order served or told": pieces_short,
    "one thing at a time": two_at_once,
    "within the hours of work": at_night,
    "only who may": not_allowed,
    "rests not too short": rest_too_short,
    "rests not too long": rest_too_long,
    "trays owned": too_few_trays,
    "places in the rooms": too_few_places,
    "machines": one_bowl_twice,
    "no tray twice": tray_twice,
    "capacity of the moulds": overfull,
    "ready at service": too_late,
    "nothing before now": before_now,
    "nothing in what is out of order": in_a_dead_machine,
    "frozen through": soft_inside,
    "eaten in time": eaten_too_late,
    "clean-down between allergens": not_cleaned,
    "time out of the cold": too_warm,
}


def test_a_plan_that_leaves_the_planner_breaks_no_rule(made: Plan):
    assert check(made) == ()
    assert made.checked == tuple(RULES)


def test_there_is_a_broken_plan_for_every_rule():
    assert set(BREAKS) == set(RULES)


@pytest.mark.parametrize("rule", BREAKS)
def test_a_broken_plan_is_caught_by_its_rule(made: Plan, rule: str):
    broken = BREAKS[rule](made)
    assert rule in {one.rule for one in check(broken)}


def test_a_freezer_that_stood_still_counts_no_frost(made: Plan):
    fill, out = at(made, "Quince 1 fill"), at(made, "Quince 1 demould")
    begun = {t.job.key: (t.start, t.person) for t in made.tasks if t.start <= fill.start}
    down = (("blast freezer", fill.end + 300, out.start),)
    broken = with_week(made, down=down, begun=begun, now=fill.end)
    assert any("has frozen" in one.says for one in check(broken))


def test_a_day_off_is_seen_without_the_calendar(made: Plan):
    task = first(made, "fill")
    day = made.week.clock(task.start).date()
    off = tuple(replace(p, off=(day,)) if p.name == task.person else p for p in made.week.kitchen.people)
    broken = with_week(made, kitchen=replace(made.week.kitchen, people=off))
    assert any(one.rule == "within the hours of work" for one in check(broken))


def test_a_stranger_is_refused(made: Plan):
    assert any("does not work here" in one.says for one in check(changed(made, made.tasks[0].job.key, person="x")))
