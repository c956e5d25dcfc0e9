"""Goes through a finished week with fresh eyes: every rule, by sweeping over events, with nothing of the planner."""

from __future__ import annotations

import datetime
from collections import defaultdict
from collections.abc import Iterator
from itertools import pairwise
from typing import TYPE_CHECKING

from demoule.batch.clock import shifts
from demoule.batch.kitchen import Person
from demoule.plan.rules import RULES, Broken, at_clock, by_job, rule, spans_of
from demoule.plan.rules_of_the_dessert import WARM_LIMIT, hard_after

if TYPE_CHECKING:
    from demoule.plan.result import Plan, Task

__all__ = ["RULES", "WARM_LIMIT", "Broken", "check"]

_CLEAN = 900  # s of clean-down between makings, the second of which lacks an allergen of the first (practice)


def check(plan: Plan) -> tuple[Broken, ...]:
    """Every rule that the plan breaks; empty when it breaks none."""
    return tuple(Broken(name, says) for name, function in RULES.items() for says in function(plan))


@rule("every job once")
def _jobs(plan: Plan) -> Iterator[str]:
    seen: dict[str, int] = defaultdict(int)
    for task in plan.tasks:
        seen[task.job.key] += 1
        if task.end - task.start != task.job.seconds:
            yield f"{task.job.key} takes {task.end - task.start} s, not {task.job.seconds} s"
    for lot in plan.week.lots:
        for job in lot.jobs:
            wanted = 0 if lot.key in plan.unserved else 1
            if seen[job.key] != wanted:
                yield f"{job.key} is done {seen[job.key]} times, not {wanted}"


@rule("every order served or told")
def _orders(plan: Plan) -> Iterator[str]:
    given: dict[str, int] = defaultdict(int)
    for lot in plan.week.lots:
        total = 0
        for part in lot.parts:
            total += part.pieces
            given[part.demand] += part.pieces
        if total > lot.pieces:
            yield f"{lot.key} gives {total} pieces and has {lot.pieces}"
    for demand in plan.week.demands:
        if given[demand.key] != demand.pieces:
            yield f"{demand.key} wants {demand.pieces} pieces and is given {given[demand.key]}"


@rule("one thing at a time")
def _hands(plan: Plan) -> Iterator[str]:
    for person in {task.person for task in plan.tasks}:
        mine = sorted((task for task in plan.tasks if task.person == person), key=lambda t: (t.start, t.end))
        for one, other in pairwise(mine):
            if other.start < one.end:
                yield f"{person} is at {one.job.key} and {other.job.key} at {at_clock(plan, other.start):%a %H:%M}"


@rule("within the hours of work")
def _hours(plan: Plan) -> Iterator[str]:
    people = {person.name: person for person in plan.week.kitchen.people}
    away = {hands.name: hands for hands in plan.week.hands}
    for task in plan.tasks:
        if task.job.key in plan.week.begun:
            continue
        person = people.get(task.person)
        if person is None or task.person not in away:
            yield f"{task.person}, who does {task.job.key}, does not work here"
            continue
        if not _on_shift(plan, person, task):
            yield f"{task.person} is not at work for {task.job.key}, {at_clock(plan, task.start):%a %d %H:%M}"
        spans = (*away[task.person].blocks, *away[task.person].extra)
        if not any(a <= task.start and task.end <= b for a, b in spans):
            yield f"{task.person} is away for {task.job.key}, {at_clock(plan, task.start):%a %d %H:%M}"


def _on_shift(plan: Plan, person: Person, task: Task) -> bool:
    start, end = at_clock(plan, task.start), at_clock(plan, task.end)
    for back in (0, 1):
        day = start.date() - datetime.timedelta(days=back)
        if day in person.off:
            continue
        midnight = datetime.datetime.combine(day, datetime.time())
        a = (start.replace(tzinfo=None) - midnight).total_seconds()
        b = (end.replace(tzinfo=None) - midnight).total_seconds()
        for days, begins, ends in shifts(person.shift):
            if day.weekday() not in days:
                continue
            extra = person.overtime if task.overtime else 0.0
            begin = ends if task.overtime else begins
            pauses = [] if task.overtime else [p for p in person.breaks if p[0] < b and a < p[1]]
            pauses += [p for p in person.breaks if not task.overtime and p[0] + 86400 < b and a < p[1] + 86400]
            if begin <= a and b <= ends + extra and not pauses:
                return True
    return False


@rule("only who may")
def _skills(plan: Plan) -> Iterator[str]:
    people = {person.name: person for person in plan.week.kitchen.people}
    told = {skill for person in people.values() for skill in person.skills}
    for task in plan.tasks:
        if task.job.kind in told and task.job.kind not in people[task.person].skills:
            yield f"{task.person} does {task.job.key} and may not {task.job.kind}"


@rule("rests not too short")
def _short(plan: Plan) -> Iterator[str]:
    tasks = by_job(plan)
    for lot in plan.week.lots:
        for lag in lot.lags:
            if lag.before in tasks and lag.after in tasks:
                waited = tasks[lag.after].start - tasks[lag.before].end
                if waited < lag.at_least and lag.after not in plan.week.begun:
                    told = f"{lag.why}: {waited / 3600:.1f} h between {lag.before} and {lag.after}"
                    yield f"{told}, not {lag.at_least / 3600:.1f}"


@rule("rests not too long")
def _long(plan: Plan) -> Iterator[str]:
    tasks = by_job(plan)
    for lot in plan.week.lots:
        for lag in lot.lags:
            if lag.before in tasks and lag.after in tasks and lag.at_most is not None:
                waited = tasks[lag.after].start - tasks[lag.before].end
                if waited > lag.at_most and lag.after not in plan.week.begun:
                    told = f"{lag.why}: {waited / 3600:.1f} h between {lag.before} and {lag.after}"
                    yield f"{told}, at most {lag.at_most / 3600:.1f}"


def _spans(plan: Plan) -> Iterator[tuple[str, int, int, int, str]]:
    """Places and machines that are taken: of what, how many, from, to, by what."""
    for name, amount, begin, end, lot, why in spans_of(plan):
        yield name, amount, begin, end, f"{lot} ({why})"
    for task in plan.tasks:
        for use in task.job.uses:
            yield use.resource, use.amount, task.start, task.start + use.seconds, task.job.key


def _most(plan: Plan, kind: str) -> Iterator[str]:
    events: dict[str, list[tuple[int, int, str]]] = defaultdict(list)
    for name, amount, begin, end, who in _spans(plan):
        events[name] += [(begin, amount, who), (end, -amount, who)]
    for resource in plan.week.resources:
        if resource.kind != kind:
            continue
        level = 0
        for moment, change, who in sorted(events[resource.name], key=lambda e: (e[0], e[1])):
            level += change
            if change > 0 and level > resource.amount:
                yield (
                    f"{who} wants {change / resource.per:g} of {resource.name} on {at_clock(plan, moment):%a %H:%M}: "
                    f"{level / resource.per:g} wanted, {resource.amount / resource.per:g} there"
                )


@rule("trays owned")
def _moulds(plan: Plan) -> Iterator[str]:
    yield from _most(plan, "mould")


@rule("places in the rooms")
def _rooms(plan: Plan) -> Iterator[str]:
    yield from _most(plan, "room")


@rule("machines")
def _machines(plan: Plan) -> Iterator[str]:
    yield from _most(plan, "machine")


@rule("no tray twice")
def _trays(plan: Plan) -> Iterator[str]:
    yield from _twice(plan, "mould")


@rule("no shelf twice")
def _shelves(plan: Plan) -> Iterator[str]:
    yield from _twice(plan, "room")


def _twice(plan: Plan, kind: str) -> Iterator[str]:
    """Numbered places, trays or half levels: as many as are taken, none beyond what there is, none for two at once."""
    called = "tray" if kind == "mould" else "half level"
    step = {r.name: 1 if kind == "mould" else r.per // 2 for r in plan.week.resources if r.kind == kind}
    there = {r.name: r.amount // step[r.name] for r in plan.week.resources if r.kind == kind}
    by_place: dict[tuple[str, int], list[tuple[int, int, str]]] = defaultdict(list)
    for stay in plan.stays:
        if stay.resource not in there:
            continue
        if len(stay.places) != -(-stay.amount // step[stay.resource]):
            yield f"{stay.lot} takes {stay.amount} of {stay.resource} and names {len(stay.places)} {called}s"
        for place in stay.places:
            if place >= there[stay.resource]:
                yield f"{stay.lot} is in {called} {place + 1} of {stay.resource}, which has {there[stay.resource]}"
            by_place[stay.resource, place].append((stay.start, stay.end, stay.lot))
    for (name, place), spans in by_place.items():
        spans.sort()
        for one, other in pairwise(spans):
            if other[0] < one[1]:
                yield f"{called} {place + 1} of {name} is taken by {one[2]} and {other[2]}"


@rule("capacity of the moulds")
def _cavities(plan: Plan) -> Iterator[str]:
    for lot in plan.week.lots:
        worked = plan.week.worked.get(lot.dessert)
        if lot.stock or worked is None or worked.piece.mould is None:
            continue
        fill = next((job for job in lot.jobs if job.kind == "fill"), None)
        if fill is None:  # it failed before it was filled
            continue
        trays = dict(fill.trays).get(worked.piece.mould.name, 0)
        if lot.started > trays * worked.piece.mould.per_tray:
            yield f"{lot.key} fills {lot.started} cavities of {trays} trays"
        if lot.started < lot.pieces:
            yield f"{lot.key} begins {lot.started} pieces for {lot.pieces} good ones"


@rule("ready at service")
def _ready(plan: Plan) -> Iterator[str]:
    tasks = by_job(plan)
    told = dict(plan.late)
    found: dict[str, int] = {}
    for lot in plan.week.lots:
        for part in lot.parts:
            task = tasks.get(part.job)
            if task is None:
                continue
            demand = next(d for d in plan.week.demands if d.key == part.demand)
            found[demand.key] = max(found.get(demand.key, 0), task.end + demand.at_least - demand.moment)
            if demand.moment - task.end > demand.at_most and part.job not in plan.week.begun:
                stands = (demand.moment - task.end) / 3600
                yield f"{part.job} stands {stands:.1f} h, at most {demand.at_most / 3600:.1f}"
    for key, late in found.items():
        if max(late, 0) != told.get(key, 0):
            yield f"{key} is {max(late, 0) / 60:.0f} min late, and the plan says {told.get(key, 0) / 60:.0f}"


@rule("nothing before now")
def _now(plan: Plan) -> Iterator[str]:
    for task in plan.tasks:
        begun = plan.week.begun.get(task.job.key)
        if begun is None and task.start < plan.week.now:
            yield f"{task.job.key} begins at {at_clock(plan, task.start):%a %H:%M}, which is over"
        if begun is not None and (task.start, task.person) != begun:
            yield f"{task.job.key} has begun and is moved"


@rule("nothing in what is out of order")
def _down(plan: Plan) -> Iterator[str]:
    for name, begins, ends in plan.week.down:
        kind = plan.week.resource(name).kind
        for task in plan.tasks:
            for use in task.job.uses:
                meets = use.resource == name and task.start < ends and begins < task.start + use.seconds
                if meets and task.job.key not in plan.week.begun:
                    yield f"{task.job.key} uses {name}, which is out of order"
        if kind != "room":
            continue
        tasks = by_job(plan)
        for lot in plan.week.lots:
            for hold in lot.holds:
                first, last = tasks.get(hold.first), tasks.get(hold.last)
                if hold.resource != name or first is None:
                    continue
                put_in = first.end if hold.begins == "end" else first.start
                if begins <= put_in < ends and hold.first not in plan.week.begun:
                    yield f"{lot.key} goes into {name} while it is out of order"
                lags = [g for g in lot.lags if g.before == hold.first and g.after == hold.last]
                if last is None or not lags or hold.last in plan.week.begun:
                    continue
                stopped = max(min(last.start, ends) - max(put_in, begins), 0)
                worked = plan.week.worked.get(lot.dessert)
                hard = hard_after(worked, hold.why) if worked else None
                if hard is not None and last.start - put_in - stopped < hard - 1:
                    yield f"{lot.key} has frozen {(last.start - put_in - stopped) / 3600:.1f} h, not {hard / 3600:.1f}"


@rule("eaten in time")
def _expired(plan: Plan) -> Iterator[str]:
    demands = {d.key: d for d in plan.week.demands}
    stock = [lot for lot in plan.week.lots if lot.stock]
    for lot in stock:
        for part in lot.parts:
            if lot.use_by is not None and demands[part.demand].moment > lot.use_by:
                yield f"{part.job} is eaten after the last day of {lot.key}"
    for one in stock:
        for other in stock:
            if one.dessert != other.dessert or one.use_by is None:
                continue
            if other.use_by is not None and other.use_by <= one.use_by:
                continue
            left = one.pieces - sum(part.pieces for part in one.parts)
            could = [p for p in other.parts if demands[p.demand].moment <= one.use_by]
            if left > 0 and could:
                yield f"{other.key} is used for {could[0].demand} while {one.key} expires first"


@rule("clean-down between allergens")
def _clean(plan: Plan) -> Iterator[str]:
    bowls = {mixer.name for mixer in plan.week.kitchen.mixers}
    by_bowl: dict[str, list[tuple[int, int, int, frozenset[str], str]]] = defaultdict(list)
    for task in plan.tasks:
        for use in task.job.uses:
            if use.resource in bowls:
                bears = _bears(plan, task)
                by_bowl[use.resource].append((task.start, task.start + use.seconds, use.clean, bears, task.job.key))
    for bowl, turns in by_bowl.items():
        turns.sort(key=lambda turn: turn[0])
        for one, other in pairwise(turns):
            if one[3] - other[3] and one[2] < _CLEAN and other[0] - one[1] < _CLEAN:
                left = ", ".join(sorted(one[3] - other[3]))
                yield f"{bowl} is not cleaned of {left} between {one[4]} and {other[4]}"


def _bears(plan: Plan, task: Task) -> frozenset[str]:
    worked = plan.week.worked.get(task.job.lot.rsplit(" ", 1)[0])
    if worked is None or task.job.component not in worked.cooked:
        return task.job.allergens
    found: set[str] = set()
    for content in worked.cooked[task.job.component].contents:
        item = content.ingredient
        found |= item.allergens_eu if plan.week.kitchen.market == "EU" else item.allergens_us
    return frozenset(found)
