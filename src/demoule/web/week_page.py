"""The page of a week: answers, containers, the job and the making at hand, what breaks, and all of it as lists."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from typing import Any

from demoule.files.weeks import planned_week
from demoule.plan import Plan, Task, broken_by, fits_of
from demoule.units.showing import Language
from demoule.web import week_pictures as pictures
from demoule.web.week_reading import Texts, moment_of, plan_of
from demoule.web.week_telling import Teller, broken_told
from demoule.web.week_words import day_name, told

__all__ = ["week"]


def week(
    *,
    texts: Texts,
    text: str,
    kept: str = "",
    task: str = "",
    lot: str = "",
    day: str = "",
    now: str = "",
    language: Language = "en",
) -> dict[str, Any]:
    """A week as a page needs it.

    Parameters
    ----------
    kept
        The text that is kept, when `text` is a trial: what moved is outlined.
    task, lot
        The job and the making at hand.
    day
        The day that a phone shows.
    now
        The present moment, ISO 8601.
    """
    plan = plan_of(text, texts)
    tell = Teller(plan, language)
    before = _moved_since(plan, plan_of(kept, texts)) if kept and kept != text else {}
    broken = [broken_told(plan, one, language) for one in broken_by(plan)]
    broken.sort(key=lambda one: task not in one["jobs"])  # what speaks of the job at hand comes first
    chosen = plan.task(task)
    lot_keys = {one.key for one in plan.week.lots}
    lot = lot if lot in lot_keys else chosen.job.lot if chosen is not None else ""
    wrong = frozenset(job for one in broken for job in one["jobs"])
    axis = pictures.axis_of(plan)
    shown = _shown_day(axis, plan, day, chosen, now)
    drawn = pictures.Drawn(
        axis=axis,
        marks=tell.marks,
        task_says=tell.task,
        stay_says=tell.stay,
        chosen=task,
        lot=lot,
        before=before,
        wrong=wrong,
    )
    alone = pictures.Drawn(
        axis=pictures.axis_of(plan, shown),
        marks=tell.marks,
        task_says=tell.task,
        stay_says=tell.stay,
        chosen=task,
        lot=lot,
        before=before,
        wrong=wrong,
    )
    names = [(day_name(k, language, long=True), day_name(k, language)) for k in range(7)]
    start = plan.week.start
    moved = planned_week(text).changes[-1].kept.moved
    return {
        "number": start.isocalendar().week,
        "kitchen": plan.week.kitchen.name,
        "about": ", ".join(dict.fromkeys(d.order.rsplit(" ", 1)[0] for d in plan.week.demands)),
        "start": start.date().isoformat(),
        "works": plan.works,
        "cancelled": plan.cancelled,
        "answers": [_answer(plan, tell, k, len(broken)) for k in range(len(plan.answers))],
        "main": max(
            range(len(plan.answers)), key=lambda k: (plan.answers[k].pieces, -plan.answers[k].moment), default=-1
        ),
        "broken": broken,
        "findings": [tell.finding(one) for one in plan.findings],
        "patterns": pictures.patterns(),
        "head": pictures.day_head(axis, names),
        "rows": _rows(drawn, tell),
        "day": {
            "date": shown.isoformat(),
            "name": f"{names[shown.weekday()][0]} {shown.day}.{shown.month}.",
            "before": _beside(axis, shown, -1),
            "after": _beside(axis, shown, 1),
            "head": pictures.day_head(alone.axis, names),
            "rows": _rows(alone, tell),
        },
        "knots": [[round(a), round(x, 3)] for a, x in axis.knots],
        "days": [
            {"date": one.isoformat(), "name": f"{names[one.weekday()][1]} {one.day}.{one.month}."} for one in axis.days
        ],
        "people": [one.name for one in plan.week.hands],
        "legend": _legend(plan, drawn),
        "tasks": [_task_row(tell, one, before, wrong) for one in plan.tasks],
        "stays": [
            {
                "where": tell.says(s.resource),
                "lot": s.lot,
                "why": tell.says(s.why),
                "from": tell.at(s.start),
                "to": tell.at(s.end),
                "places": len(s.places),
            }
            for s in plan.stays
        ],
        "chosen": _chosen(plan, tell, chosen, before) if chosen is not None else None,
        "way": _way(plan, tell, drawn, lot) if lot else None,
        "moved": [{"what": told(what, language), "why": told(why, language)} for what, why in moved],
        "by_hand": [
            {"job": job, "what": f"{_lot_of(plan, job)}: {tell.says(_does(plan, job))}", "was": f"{tell.at(a)}, {who}"}
            for job, (a, _, who) in before.items()
            if not any(what.startswith(f"{_lot_of(plan, job)}: {_does(plan, job)}, ") for what, _ in moved)
        ],
        "rules": [told(one, language) for one in plan.checked],
        "things": [
            {"name": one.name, "told": tell.says(one.name)} for one in plan.week.resources if one.kind != "mould"
        ],
        "lots": [one.key for one in plan.week.lots if not one.stock and one.jobs],
        "orders": list(dict.fromkeys(d.order.rsplit(" ", 1)[0] for d in plan.week.demands)),
        "desserts": list(plan.week.worked),
        "now": _now_words(plan, now),
    }


def _now_words(plan: Plan, now: str) -> str:
    """The present on the kitchen's clock, or the beginning of the week when that lies outside of it."""
    moment = moment_of(plan, now)
    return plan.week.clock(moment if 0 <= moment < plan.week.length else 0).strftime("%Y-%m-%dT%H:%M")


def _moved_since(plan: Plan, kept: Plan) -> dict[str, tuple[int, int, str]]:
    found = {}
    old = {task.job.key: task for task in kept.tasks}
    for task in plan.tasks:
        was = old.get(task.job.key)
        if was is not None and (was.start, was.person) != (task.start, task.person):
            found[task.job.key] = (was.start, was.end, was.person)
    return found


def _shown_day(axis: pictures.Axis, plan: Plan, day: str, chosen: Task | None, now: str) -> datetime.date:
    wanted = [day] if day else []
    if chosen is not None:
        wanted.append(plan.week.clock(chosen.start).date().isoformat())
    moment = moment_of(plan, now)
    if 0 <= moment < plan.week.length:
        wanted.append(plan.week.clock(moment).date().isoformat())
    for words in wanted:
        for one in axis.days:
            if one.isoformat() == words:
                return one
    busy = min((task.start for task in plan.tasks if task.job.kind != "take out"), default=0)
    first = plan.week.clock(busy).date()
    return first if first in axis.days else axis.days[0]


def _beside(axis: pictures.Axis, day: datetime.date, step: int) -> str:
    place = axis.days.index(day) + step
    return axis.days[place].isoformat() if 0 <= place < len(axis.days) else ""


def _answer(plan: Plan, tell: Teller, place: int, broken: int) -> dict[str, Any]:
    one = plan.answers[place]
    out = min((a for _, a, _, _ in one.into_room), default=None)
    by = min((c for _, _, _, c in one.into_room), default=None)
    return {
        "order": one.order,
        "at": tell.at(one.moment),
        "pieces": one.pieces,
        "ready": one.ready and not broken,
        "begins": tell.at(one.first_start),
        "does": tell.says(one.first_does),
        "slack": tell.hours(one.slack) if one.slack else "",
        "out": tell.at(out),
        "by": tell.at(by),
        "spare": list(one.spare),
        "windows": [
            {"dessert": name, "at": tell.at(a), "from": tell.at(b), "to": tell.at(c)} for name, a, b, c in one.into_room
        ],
    }


def _rows(drawn: pictures.Drawn, tell: Teller) -> list[dict[str, Any]]:
    plan = drawn.axis.plan
    rows: list[dict[str, Any]] = []
    for person in plan.week.hands:
        rows.append(
            {
                "kind": "hands",
                "name": person.name,
                "sub": "",
                "svg": pictures.hands_row(drawn, person.name, person.name),
            }
        )
    order = {"mould": 0, "room": 1}
    used = [r for r in plan.week.resources if r.kind in order and any(s.resource == r.name for s in plan.stays)]
    for resource in sorted(used, key=lambda r: (order[r.kind], r.air if r.air is not None else 0.0)):
        count = resource.amount / resource.per
        counted = tell.count(resource.counted, count)
        air = f"{resource.air - 273.15:.0f} °C".replace("-", "−") if resource.air is not None else ""
        name = tell.says(resource.name)
        rows.append(
            {
                "kind": resource.kind,
                "name": name,
                "sub": f"{counted}, {air}" if air else counted,
                "svg": pictures.place_row(drawn, resource, f"{name}, {counted}", _over(plan, resource.name, tell)),
            }
        )
    return rows


def _over(plan: Plan, name: str, tell: Teller) -> dict[int, str]:
    """The moment at which most is wanted of something, when that is more than there is."""
    resource = plan.week.resource(name)
    stays = [stay for stay in plan.stays if stay.resource == name]
    worst, at = 0, 0
    for moment in sorted({stay.start for stay in stays}):
        level = sum(stay.amount for stay in stays if stay.start <= moment < stay.end)
        if level > worst:
            worst, at = level, moment
    if worst <= resource.amount:
        return {}
    wanted = tell.count(resource.counted, worst / resource.per)
    return {at: tell.words("week.too_much", wanted=wanted, there=f"{resource.amount / resource.per:g}")}


def _legend(plan: Plan, drawn: pictures.Drawn) -> list[dict[str, Any]]:
    found = []
    for name in dict.fromkeys(lot.dessert for lot in plan.week.lots):
        lots = [lot for lot in plan.week.lots if lot.dessert == name and not lot.stock]
        stock = sum(lot.pieces for lot in plan.week.lots if lot.dessert == name and lot.stock)
        fill = drawn.fill(next(lot.key for lot in plan.week.lots if lot.dessert == name))
        found.append(
            {
                "name": name,
                "fill": fill,
                "lots": [
                    {
                        "key": lot.key,
                        "mark": drawn.marks[lot.key],
                        "started": lot.started,
                        "made": lot.key not in plan.unserved,
                    }
                    for lot in lots
                ],
                "stock": stock,
            }
        )
    return found


def _task_row(
    tell: Teller, task: Task, before: Mapping[str, tuple[int, int, str]], wrong: frozenset[str]
) -> dict[str, Any]:
    plan = tell.plan
    clock = plan.week.clock(task.start)
    return {
        "job": task.job.key,
        "lot": task.job.lot,
        "mark": tell.marks[task.job.lot],
        "does": tell.says(task.job.does),
        "person": task.person,
        "date": clock.date().isoformat(),
        "day": day_name(clock.weekday(), tell.language),
        "from": f"{clock:%H:%M}",
        "to": f"{plan.week.clock(task.end):%H:%M}",
        "overtime": task.overtime,
        "moved": task.job.key in before,
        "wrong": task.job.key in wrong,
        "begun": task.job.key in plan.week.begun,
    }


def _does(plan: Plan, job: str) -> str:
    found = plan.task(job)
    return found.job.does if found else job


def _lot_of(plan: Plan, job: str) -> str:
    found = plan.task(job)
    return found.job.lot if found else ""


def _chosen(plan: Plan, tell: Teller, task: Task, before: Mapping[str, tuple[int, int, str]]) -> dict[str, Any]:
    was = before.get(task.job.key)
    clock = plan.week.clock(task.start)
    broken = broken_by(plan)
    fits = fits_of(plan, task.job.key) if len(broken) < 40 else ()
    return {
        **_task_row(tell, task, before, frozenset()),
        "was": f"{tell.at(was[0])}, {was[2]}" if was else "",
        "was_date": plan.week.clock(was[0]).date().isoformat() if was else "",
        "was_time": f"{plan.week.clock(was[0]):%H:%M}" if was else "",
        "was_person": was[2] if was else "",
        "lasts": tell.hours(task.end - task.start),
        "time": f"{clock:%H:%M}",
        "who_may": [one.name for one in plan.week.hands if not task.job.skill or task.job.skill in one.skills],
        "fits": [
            {
                "date": plan.week.clock(one.start).date().isoformat(),
                "time": f"{plan.week.clock(one.start):%H:%M}",
                "at": tell.at(one.start),
                "person": one.person,
                "overtime": one.overtime,
            }
            for one in fits
        ],
        "trays": [f"{mould}: {', '.join(map(str, numbers))}" for mould, numbers in task.trays],
        "pieces": task.job.pieces,
        "batch": round(task.job.batch * 1000) if task.job.batch else 0,
    }


def _way(plan: Plan, tell: Teller, drawn: pictures.Drawn, lot_key: str) -> dict[str, Any]:
    lot = plan.week.lot(lot_key)
    tasks = {task.job.key: task for task in plan.tasks}
    rests = []
    for lag in lot.lags:
        if lag.before not in tasks or lag.after not in tasks:
            continue
        waited = tasks[lag.after].start - tasks[lag.before].end
        good = lag.at_least <= waited and (lag.at_most is None or waited <= lag.at_most)
        if good and lag.at_least < 1800:
            continue  # it may follow at once: nothing to mind
        rests.append(
            {
                "why": tell.says(lag.why),
                "from": tell.says(tasks[lag.before].job.does),
                "to": tell.says(tasks[lag.after].job.does),
                "waited": tell.hours(waited),
                "at_least": tell.hours(lag.at_least),
                "at_most": tell.hours(lag.at_most) if lag.at_most is not None else "",
                "good": good,
            }
        )
    moments = [
        {"kind": tell.words(f"week.done_{task.job.kind.replace(' ', '_')}"), "at": tell.at(task.start)}
        for task in plan.tasks
        if task.job.lot == lot_key and task.job.kind in ("fill", "dip", "spray", "take out")
    ]
    names = {key: tell.words(f"week.strand_{key}") for key in ("hearts", "rests", "pieces")}
    return {
        "lot": lot_key,
        "pieces": lot.pieces,
        "started": lot.started,
        "strands": pictures.way_rows(drawn, lot_key, names),
        "rests": rests,
        "moments": moments,
    }
