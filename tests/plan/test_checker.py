"""Plans broken on purpose: for each rule one, and the checker must name that rule."""

from __future__ import annotations

import ast
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

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


def hurried(plan: Plan) -> Plan:
    """The finish of a lot in five minutes, and the job says so itself."""
    task = first(plan, "finish")
    job = replace(task.job, seconds=300)
    broken = changed(plan, task.job.key, job=job, end=task.start + 300)
    jobs = tuple(job if one.key == job.key else one for one in plan.week.lot(job.lot).jobs)
    return lot_changed(broken, job.lot, jobs=jobs)


def whipped_at_once(plan: Plan) -> Plan:
    """The ganache of Apricot 2 an hour before it is whipped, and nothing in the week says that it must rest."""
    turns = [t for t in plan.tasks if t.job.lot == "Apricot 2" and t.job.component == "whipped ganache"]
    fill = next(t for t in turns if t.job.kind == "fill")
    broken = plan
    for task in turns:
        if task.job.kind == "cook":
            broken = moved(broken, task.job.key, fill.start - 3600 - task.end)
    lags = tuple(replace(g, at_least=0) for g in plan.week.lot("Apricot 2").lags if "ganache" in g.before)
    return lot_changed(broken, "Apricot 2", lags=lags)


def shelf_twice(plan: Plan) -> Plan:
    stay = next(s for s in plan.stays if s.resource == "store freezer")
    return replace(plan, stays=(*plan.stays, replace(stay, lot="somebody else's")))


def shown_elsewhere(plan: Plan) -> Plan:
    stay = plan.stays[0]
    return replace(plan, stays=(replace(stay, end=stay.end + 3600), *plan.stays[1:]))


def no_bowl(plan: Plan) -> Plan:
    fill = at(plan, "Apricot 2 fill")
    return changed(plan, fill.job.key, job=replace(fill.job, uses=()))


def out_of_the_mould(plan: Plan) -> Plan:
    holds = tuple(h for h in plan.week.lot("Quince 1").holds if h.resource != "quince 110 ml")
    return lot_changed(plan, "Quince 1", holds=holds)


def icy(plan: Plan) -> Plan:
    """Taken out an hour before service, and the order says that this is enough."""
    part = plan.week.lot("Quince 2").parts[0]
    demand = plan.week.demand(part.demand)
    task = at(plan, part.job)
    broken = moved(plan, part.job, demand.moment - 3600 - task.end)
    return with_week(
        broken,
        demands=tuple(replace(d, at_least=3600) if d.key == demand.key else d for d in plan.week.demands),
    )


def forgotten(plan: Plan) -> Plan:
    """Finished half a year before it is taken out."""
    finish = at(plan, "Quince 1 finish")
    return moved(plan, finish.job.key, -180 * 86400)


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
    "no shelf twice": shelf_twice,
    "places as told": shown_elsewhere,
    "minutes of the weigh-up": hurried,
    "rests of the recipe": whipped_at_once,
    "in the vessel of the weigh-up": no_bowl,
    "in the mould and the freezer until it is hard": out_of_the_mould,
    "thawed through": icy,
    "kept no longer than it keeps": forgotten,
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


def test_what_stands_in_the_warm_is_counted_from_the_weigh_up_not_from_the_plan(made: Plan):
    # The planner's own count says nothing is ever warm; three hours more on the bench are seen all the same.
    lots = tuple(replace(x, jobs=tuple(replace(j, warm=0) for j in x.jobs)) for x in made.week.lots)
    blind = with_week(made, lots=lots)
    blind = replace(blind, tasks=tuple(replace(t, job=replace(t.job, warm=0)) for t in blind.tasks))
    assert check(blind) == ()
    assert "time out of the cold" in {one.rule for one in check(too_warm(blind))}


def test_the_checker_takes_nothing_from_the_search():
    """Its modules import neither the model nor the table, the search or the builder of lots."""
    from demoule.plan import checker, rules, rules_of_the_dessert

    own = {"checker", "rules", "rules_of_the_dessert", "result", "week"}  # the last two: the objects that it is shown
    for module in (checker, rules, rules_of_the_dessert):
        tree = ast.parse(Path(module.__file__ or "").read_text(encoding="utf-8"))
        named = {node.module for node in ast.walk(tree) if isinstance(node, ast.ImportFrom) and node.module}
        assert {name.rsplit(".", 1)[1] for name in named if name.startswith("demoule.plan.")} <= own


def test_a_day_off_is_seen_without_the_calendar(made: Plan):
    task = first(made, "fill")
    day = made.week.clock(task.start).date()
    off = tuple(replace(p, off=(day,)) if p.name == task.person else p for p in made.week.kitchen.people)
    broken = with_week(made, kitchen=replace(made.week.kitchen, people=off))
    assert any(one.rule == "within the hours of work" for one in check(broken))


def test_a_stranger_is_refused(made: Plan):
    assert any("does not work here" in one.says for one in check(changed(made, made.tasks[0].job.key, person="x")))
