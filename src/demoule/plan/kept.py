"""A plan from what was kept of it: hours and hands by job; jobs moved by hand, what that breaks, and where they fit."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from demoule.errors import BadInput, UnknownName
from demoule.plan.checker import Broken, check
from demoule.plan.make import drawn_up, with_findings
from demoule.plan.replan import Event, changed
from demoule.plan.result import Clash, Plan, Task, tasks_of
from demoule.plan.table import Placed, Table
from demoule.plan.week import SLOT, Hands, Job, Week

__all__ = ["Fit", "Kept", "Place", "after", "again", "broken_by", "fits_of", "kept_of", "moved_by_hand", "places_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """When a job begins, in seconds after the beginning of the week, and whose hands do it."""

    start: int
    person: str
    overtime: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """What of a plan cannot be worked out from its facts.

    Parameters
    ----------
    places
        By job; a lot of which none is there is not made.
    clashes
        Why that is so, as it was found.
    moved
        What moved against the plan before, and why.
    bound
        A cost below which no plan of these lots can come; None: not computed.
    """

    places: Mapping[str, Place]
    clashes: tuple[Clash, ...] = ()
    moved: tuple[tuple[str, str], ...] = ()
    bound: int | None = None
    cancelled: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """A moment and a person for which a job could be moved and nothing else, without breaking anything."""

    start: int
    person: str
    overtime: bool


def kept_of(plan: Plan) -> Kept:
    """What must be kept of a plan, so that it can be told again."""
    return Kept(
        places={
            task.job.key: Place(start=task.start, person=task.person, overtime=task.overtime) for task in plan.tasks
        },
        clashes=plan.clashes,
        moved=plan.moved,
        bound=plan.bound,
        cancelled=plan.cancelled,
    )


def places_of(week: Week, placement: Mapping[str, Placed], prefer: Mapping[str, str] | None = None) -> dict[str, Place]:
    """Hours and hands of a placement that a search is at."""
    return {
        task.job.key: Place(start=task.start, person=task.person, overtime=task.overtime)
        for task in tasks_of(Table.of(week), placement, prefer)
    }


def again(week: Week, kept: Kept) -> Plan:
    """The plan of a week as it was kept; a job that the week no longer has is left out.

    What the checker finds is not asked here: hand-made plans may break rules, and are told so by `broken_by`.
    """
    table = Table.of(week)
    known = {job.key: job for lot in week.lots for job in lot.jobs}
    places = {key: place for key, place in kept.places.items() if key in known}
    for lot in week.lots:  # a lot is placed with all of its jobs or with none
        if any(job.key not in places for job in lot.jobs):
            for job in lot.jobs:
                places.pop(job.key, None)
    placement = {
        key: Placed(place.start // SLOT, table.crew_of(place.person), place.overtime) for key, place in places.items()
    }
    tasks = [_task(known[key], place) for key, place in places.items()]
    tasks.sort(key=lambda task: (task.start, task.job.key))
    made = drawn_up(
        table,
        placement,
        tasks,
        bound=kept.bound,
        cancelled=kept.cancelled,
        moved=kept.moved,
        clashes=tuple(clash for clash in kept.clashes if clash.lot in {lot.key for lot in week.lots}),
    )
    return with_findings(made)


def after(old: Plan, events: Sequence[Event], now: datetime.datetime, kept: Kept) -> Plan:
    """The plan after what happened, as it was kept."""
    week, _, _ = changed(old, events, now)
    return again(week, kept)


def _task(job: Job, place: Place) -> Task:
    return Task(
        job=job,
        start=place.start,
        end=place.start + job.seconds,
        person=place.person,
        overtime=place.overtime,
    )


def moved_by_hand(plan: Plan, job: str, start: int, person: str) -> Plan:
    """The plan with one job at another moment or in other hands, whatever that breaks.

    Parameters
    ----------
    start
        Seconds after the beginning of the week; taken to the nearest whole step of time.

    Raises
    ------
    BadInput
        When the job has begun, or the moment lies outside the week.
    """
    task = plan.task(job)
    if task is None:
        raise UnknownName("job", job, [one.job.key for one in plan.tasks])
    week = plan.week
    if job in week.begun:
        raise BadInput(f"“{job}” has begun; it stays where it is.", remedy="move what comes after it.")
    people = [one.name for one in week.hands]
    if person not in people:
        raise UnknownName("person", person, people)
    start = round(start / SLOT) * SLOT
    if not 0 <= start <= week.length - task.job.seconds:
        raise BadInput(f"{week.told(start)} lies outside the week that is planned.", remedy="give a moment of it.")
    hands = next(one for one in week.hands if one.name == person)
    place = Place(start=start, person=person, overtime=_extra(hands, start, start + task.job.seconds))
    kept = kept_of(plan)
    return again(week, replace(kept, places={**kept.places, job: place}))


def _extra(hands: Hands, start: int, end: int) -> bool:
    """Whether some hours are overtime: within what may be added, and not within a shift."""
    inside = any(a <= start and end <= b for a, b in hands.blocks)
    return not inside and any(a <= start and end <= b for a, b in hands.extra)


def broken_by(plan: Plan) -> tuple[Broken, ...]:
    """Every rule that the plan breaks, in the checker's words."""
    return check(plan)


def fits_of(plan: Plan, job: str, *, most: int = 4, tries: int = 160) -> tuple[Fit, ...]:
    """The nearest moments at which a job could begin while all else stays, for each pair of hands; nearest first.

    Parameters
    ----------
    most
        How many are wanted: for each person the nearest before and the nearest after.
    tries
        How many moments are put to the checker at the most.
    """
    task = plan.task(job)
    if task is None or job in plan.week.begun:
        return ()
    found: list[Fit] = []
    have: set[tuple[str, bool]] = set()
    standing = {(one.rule, one.says) for one in check(plan)}
    late = dict(plan.late)
    for start, person in _candidates(plan, task):
        side = (person, start < task.start)
        if side in have:
            continue
        if tries <= 0 or len(found) >= most:
            break
        tries -= 1
        trial = moved_by_hand(plan, job, start, person)
        broken = {(one.rule, one.says) for one in check(trial)}
        if broken and not broken < standing:
            continue
        if any(seconds > late.get(key, 0) for key, seconds in trial.late):
            continue
        moved = trial.task(job)
        assert moved is not None  # it was only moved
        found.append(Fit(start=start, person=person, overtime=moved.overtime))
        have.add(side)
    return tuple(found)


def _candidates(plan: Plan, task: Task) -> Iterator[tuple[int, str]]:
    """Moments within the rests of the lot and the free hours of each person, the nearest first."""
    week, length = plan.week, task.job.seconds
    low, high = week.now, week.length - length
    by_job = {one.job.key: one for one in plan.tasks}
    for lag in week.lot(task.job.lot).lags:
        if lag.after == task.job.key and lag.before in by_job:
            low = max(low, by_job[lag.before].end + lag.at_least)
            if lag.at_most is not None:
                high = min(high, by_job[lag.before].end + lag.at_most)
        if lag.before == task.job.key and lag.after in by_job:
            high = min(high, by_job[lag.after].start - lag.at_least - length)
            if lag.at_most is not None:
                low = max(low, by_job[lag.after].start - lag.at_most - length)
    spots: list[tuple[int, int, str]] = []
    for hands in week.hands:
        if task.job.skill and task.job.skill not in hands.skills:
            continue
        busy = [(one.start, one.end) for one in plan.tasks if one.person == hands.name and one is not task]
        for a, b in (*hands.blocks, *hands.extra):
            first = -(-max(a, low) // SLOT) * SLOT
            for start in range(first, min(b - length, high) + 1, SLOT):
                free = not any(x < start + length and start < y for x, y in busy)
                if free and (start, hands.name) != (task.start, task.person):
                    spots.append((abs(start - task.start), start, hands.name))
    for _, start, person in sorted(spots, key=lambda one: (one[0], one[2] != task.person, one[1], one[2])):
        yield start, person
