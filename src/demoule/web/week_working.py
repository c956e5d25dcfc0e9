"""The questions of the Week to the numerics: a week told again, tried, changed; all that goes in and out is plain."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from demoule.errors import BadInput, UnknownName
from demoule.files.weeks import Change, PlannedWeek, events_told, planned_week, week_text
from demoule.plan import (
    Clash,
    Effort,
    Kept,
    Place,
    Plan,
    Task,
    after,
    as_json,
    broken_by,
    fits_of,
    kept_of,
    moved_by_hand,
    plan_week,
    replan,
)
from demoule.plan.kept import places_of
from demoule.plan.replan import changed, what_moved
from demoule.units.showing import Language, System
from demoule.web.day_working import DAY_QUESTIONS
from demoule.web.log_working import LOG_QUESTIONS
from demoule.web.orders_form import orders, orders_begun, orders_differ, orders_merged
from demoule.web.reading import kitchen_in
from demoule.web.week_page import week
from demoule.web.week_reading import Texts, facts_of, plan_of
from demoule.web.week_telling import Teller, broken_told

__all__ = ["WEEK_QUESTIONS", "search_again", "search_week"]

_WORK = 12.0
_WORK_AGAIN = 8.0


# ---- planning; asked of a process of its own, for it takes long


def search_week(
    *,
    texts: Texts,
    start: str,
    days: int | None,
    seconds: float | None,
    progress: Callable[[str, dict[str, int]], None],
    best: Callable[[dict[str, Any]], None],
    cancel: Callable[[], bool],
) -> dict[str, Any]:
    """A first plan; what it tells in between is enough to go on from."""
    facts = facts_of(texts, _day(start).isoformat(), days)
    made = plan_week(
        facts,
        Effort(work=_WORK if seconds is None else 1e9, seconds=seconds, bound=False, whole=0),
        progress=lambda words, cost: progress(words, _cost(cost)),
        best=lambda placement: best(_plain(Kept(places=places_of(facts, placement), cancelled=True))),
        cancel=cancel,
    )
    return _plain(kept_of(made))


def search_again(
    *,
    texts: Texts,
    text: str,
    happened: Mapping[str, Any],
    progress: Callable[[str, dict[str, int]], None],
    best: Callable[[dict[str, Any]], None],
    cancel: Callable[[], bool],
) -> dict[str, Any]:
    """A plan after something happened."""
    old = plan_of(text, texts)
    events, now = events_told(happened)
    facts, _, _ = changed(old, events, now)
    prefer = {task.job.key: task.person for task in old.tasks}
    made = replan(
        old,
        events,
        now,
        effort=Effort(work=_WORK_AGAIN, bound=False),
        progress=lambda words, cost: progress(words, _cost(cost)),
        best=lambda placement: best(_plain(Kept(places=places_of(facts, placement, prefer), cancelled=True))),
        cancel=cancel,
    )
    return _plain(kept_of(made))


def _cost(cost: Any) -> dict[str, int]:
    return {"unserved": cost.unserved, "late": cost.late * 5, "overtime": cost.overtime * 5}


def _plain(kept: Kept) -> dict[str, Any]:
    return {
        "places": {job: [p.start, p.person, p.overtime] for job, p in kept.places.items()},
        "clashes": [
            {"lot": c.lot, "what": c.what, "facts": c.facts, "remedies": c.remedies, "about": c.about}
            for c in kept.clashes
        ],
        "bound": kept.bound,
        "cancelled": kept.cancelled,
    }


def _kept(found: Mapping[str, Any], moved: Sequence[tuple[str, str]] = ()) -> Kept:
    return Kept(
        places={job: Place(start=a, person=b, overtime=c) for job, (a, b, c) in found["places"].items()},
        clashes=tuple(Clash(**clash) for clash in found["clashes"]),
        moved=tuple(moved),
        bound=found["bound"],
        cancelled=found["cancelled"],
    )


def _day(words: str) -> datetime.date:
    try:
        return datetime.date.fromisoformat(words)
    except ValueError:
        raise BadInput(f"“{words[:40]}” is no day.", remedy="write year-month-day.") from None


# ---- the text of a week


def week_begun(
    *, texts: Texts, sources: Mapping[str, Any], start: str, days: int | None, found: Mapping[str, Any]
) -> dict[str, str]:
    """The text of a week that has just been planned, and its name."""
    first = _day(start)
    kitchen = kitchen_in(str(texts["kitchen"])).name
    number = first.isocalendar().week
    name = f"{number}, {kitchen}"[:120]
    planned = PlannedWeek(
        name=name,
        start=first,
        days=days,
        orders=tuple(sources["orders"]),
        kitchen=tuple(sources["kitchen"]),
        desserts=dict(sources["desserts"]),
        changes=(Change(kept=_kept(found)),),
    )
    text = week_text(planned)
    plan_of(text, texts)
    return {"text": text, "name": name}


def week_changed(*, texts: Texts, text: str, happened: Mapping[str, Any], found: Mapping[str, Any]) -> str:
    """The text of a week after something happened, with what moved and why."""
    old = plan_of(text, texts)
    events, now = events_told(happened)
    _, reasons, _ = changed(old, events, now)
    new = after(old, events, now, _kept(found))
    return week_text(planned_week(text).after(happened, _kept(found, what_moved(old, new, reasons))))


def week_moved(*, texts: Texts, text: str, moves: Sequence[Mapping[str, Any]]) -> str:
    """The text of a week with jobs moved by hand.

    Parameters
    ----------
    moves
        Each with "job" and, as far as it changes, "day" and "time" on the kitchen's clock, "later" in minutes, and
        "person".
    """
    plan = plan_of(text, texts)
    for move in moves:
        task = plan.task(str(move.get("job", "")))
        if task is None:
            raise UnknownName("job", str(move.get("job", ""))[:120], [one.job.key for one in plan.tasks])
        start = _start(plan, task, move)
        plan = moved_by_hand(plan, task.job.key, start, str(move.get("person") or task.person))
    return week_text(planned_week(text).now_kept(kept_of(plan)))


def _start(plan: Plan, task: Task, move: Mapping[str, Any]) -> int:
    facts = plan.week
    if move.get("later") not in (None, ""):
        later = move["later"]
        if not isinstance(later, (int, float)) or not abs(later) < 400 * 1440:
            raise BadInput("It is not said by how many minutes.", remedy="give minutes, such as 30 or -30.")
        return task.start + round(60 * later)
    clock = facts.clock(task.start)
    day = _day(str(move["day"])) if move.get("day") else clock.date()
    words = str(move.get("time") or f"{clock:%H:%M}").strip().replace("h", ":").replace(".", ":").rstrip(":")
    try:
        hour, _, minute = words.partition(":")
        time = datetime.time(int(hour), int(minute or 0))
    except ValueError:
        raise BadInput(
            f"“{str(move.get('time'))[:40]}” is no time.", remedy="write hours and minutes, such as 09:30."
        ) from None
    moment = datetime.datetime.combine(day, time, facts.zone)
    return round((moment.astimezone(datetime.UTC) - facts.start.astimezone(datetime.UTC)).total_seconds())


def week_holds(*, texts: Texts, text: str) -> list[dict[str, Any]]:
    """Every rule that a week breaks, in the checker's words; empty when it may be kept."""
    plan = plan_of(text, texts)
    return [broken_told(plan, one, "en") for one in broken_by(plan)]


def week_json(*, texts: Texts, text: str) -> dict[str, Any]:
    """The plan as plain data for other programs, with every rule that it breaks."""
    plan = plan_of(text, texts)
    found = as_json(plan)
    found["broken"] = [broken_told(plan, one, "en") for one in broken_by(plan)]
    return found


def week_fits(*, texts: Texts, text: str, job: str) -> list[dict[str, Any]]:
    """Where a job could go while all else stays."""
    plan = plan_of(text, texts)
    if plan.task(job) is None:
        raise UnknownName("job", job[:120], [one.job.key for one in plan.tasks])
    return [
        {"start": plan.week.clock(one.start).isoformat(), "person": one.person, "overtime": one.overtime}
        for one in fits_of(plan, job)
    ]


def week_paper(*, texts: Texts, text: str, what: str, paper: str = "a4", system: System = "metric") -> Any:
    """The week on paper ("pdf", "pages"), as lists by file name ("csv"), or for a calendar ("ics", "ics PERSON")."""
    from demoule.sheets.week_calendar import week_calendar
    from demoule.sheets.week_lists import week_csv
    from demoule.sheets.week_paper import week_pages, week_pdf

    plan = plan_of(text, texts)
    size: Any = "letter" if paper == "letter" else "a4"
    if what == "pdf":
        return week_pdf(plan, paper=size, system=system)
    if what == "pages":
        return week_pages(plan, paper=size, system=system)
    if what == "csv":
        return week_csv(plan)
    person = what.removeprefix("ics").strip()
    if person and person not in [one.name for one in plan.week.hands]:
        raise UnknownName("person", person[:80], [one.name for one in plan.week.hands])
    return week_calendar(plan, person or None)


def week_people(*, texts: Texts, text: str) -> list[str]:
    """Who works in the week."""
    return [one.name for one in plan_of(text, texts).week.hands]


def week_differ(*, texts: Texts, mine: str, theirs: str, language: Language = "en") -> list[dict[str, str]]:
    """Jobs that two people have put to different hours or hands."""
    ours, other = plan_of(mine, texts), plan_of(theirs, texts)
    left, right = ({task.job.key: task for task in plan.tasks} for plan in (ours, other))
    tell, tell_other = Teller(ours, language), Teller(other, language)

    def words(teller: Teller, task: Task | None) -> str:
        return f"{teller.at(task.start)}, {task.person}" if task is not None else ""

    return [
        {"at": f"/{job}", "mine": words(tell, left.get(job)), "theirs": words(tell_other, right.get(job))}
        for job in dict.fromkeys([*right, *left])
        if words(tell, left.get(job)) != words(tell_other, right.get(job))
    ]


def week_merged(*, texts: Texts, mine: str, theirs: str, jobs: Sequence[str]) -> str:
    """Their week with some jobs where mine has them."""
    ours, other = plan_of(mine, texts), plan_of(theirs, texts)
    kept = kept_of(other)
    places = dict(kept.places)
    for task in ours.tasks:
        if task.job.key in jobs and task.job.key in places:
            places[task.job.key] = Place(start=task.start, person=task.person, overtime=task.overtime)
    return week_text(planned_week(theirs).now_kept(replace(kept, places=places)))


WEEK_QUESTIONS: dict[str, Callable[..., Any]] = {
    function.__name__: function
    for function in (
        week, week_begun, week_changed, week_moved, week_holds, week_json, week_fits, week_paper, week_people,
        week_differ, week_merged, orders, orders_begun, orders_differ, orders_merged,
    )
} | DAY_QUESTIONS | LOG_QUESTIONS  # fmt: skip
"""What the Week asks, by name."""
