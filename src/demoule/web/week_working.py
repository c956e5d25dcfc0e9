"""The questions of the Week to the numerics: a week told again, tried, changed; all that goes in and out is plain."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from typing import Any

from demoule.batch import OrderBook
from demoule.errors import BadInput, UnknownName
from demoule.figures import Finding
from demoule.files import orders_of
from demoule.files.weeks import Change, PlannedWeek, events_told, planned_week, week_text
from demoule.plan import (
    Broken,
    Clash,
    Effort,
    Kept,
    Place,
    Plan,
    Stay,
    Task,
    Week,
    after,
    again,
    as_json,
    broken_by,
    build_week,
    fits_of,
    kept_of,
    moved_by_hand,
    plan_week,
    replan,
)
from demoule.plan.kept import places_of
from demoule.plan.replan import changed, what_moved
from demoule.sheets.week_picture import lot_marks
from demoule.units.showing import Language, System
from demoule.web import week_pictures as pictures
from demoule.web.orders_form import orders, orders_begun, orders_differ, orders_merged
from demoule.web.reading import dessert_in, kitchen_in
from demoule.web.week_words import day_name, told
from demoule.web.wording import words_of
from demoule.worked import Worked, work_up

__all__ = ["WEEK_QUESTIONS", "Texts", "plan_of", "search_again", "search_week"]

Texts = Mapping[str, Any]
"""What a week was made from: "orders", "kitchen", and "desserts", the texts by short name."""

_MOST_DAYS = 28
_WORK = 12.0
_WORK_AGAIN = 8.0


# ---- reading


def _key(texts: Texts) -> tuple[str, str, tuple[tuple[str, str], ...]]:
    return str(texts["orders"]), str(texts["kitchen"]), tuple(sorted(dict(texts["desserts"]).items()))


@lru_cache(maxsize=6)
def _worked(kitchen: str, desserts: tuple[tuple[str, str], ...]) -> tuple[Worked, ...]:
    place = kitchen_in(kitchen)
    return tuple(work_up(dessert_in(text, kitchen, ""), place) for _, text in desserts)


def _book(orders: str, worked: Sequence[Worked]) -> OrderBook:
    return orders_of(orders, "orders", [one.dessert.name for one in worked])


@lru_cache(maxsize=6)
def _facts(orders: str, kitchen: str, desserts: tuple[tuple[str, str], ...], start: str, days: int | None) -> Week:
    worked = _worked(kitchen, desserts)
    book = _book(orders, worked)
    wanted = set(book.desserts)
    return build_week(
        book,
        [one for one in worked if one.dessert.name in wanted],
        kitchen_in(kitchen),
        start=datetime.date.fromisoformat(start),
        days=days,
    )


@lru_cache(maxsize=12)
def _plan(text: str, orders: str, kitchen: str, desserts: tuple[tuple[str, str], ...]) -> Plan:
    kept = planned_week(text)
    plan = again(_facts(orders, kitchen, desserts, kept.start.isoformat(), kept.days), kept.changes[0].kept)
    for change in kept.changes[1:]:
        events, now = events_told(change.happened or {})
        plan = after(plan, events, now, change.kept)
    return plan


def plan_of(text: str, texts: Texts) -> Plan:
    """The plan of a week that is kept or tried."""
    return _plan(text, *_key(texts))


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
    week = _facts(*_key(texts), _day(start).isoformat(), days)
    made = plan_week(
        week,
        Effort(work=_WORK if seconds is None else 1e9, seconds=seconds, bound=False),
        progress=lambda words, cost: progress(words, _cost(cost)),
        best=lambda placement: best(_plain(Kept(places=places_of(week, placement), cancelled=True))),
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
    week, _, _ = changed(old, events, now)
    prefer = {task.job.key: task.person for task in old.tasks}
    made = replan(
        old,
        events,
        now,
        effort=Effort(work=_WORK_AGAIN, bound=False),
        progress=lambda words, cost: progress(words, _cost(cost)),
        best=lambda placement: best(_plain(Kept(places=places_of(week, placement, prefer), cancelled=True))),
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
    week = PlannedWeek(
        name=name,
        start=first,
        days=days,
        orders=tuple(sources["orders"]),
        kitchen=tuple(sources["kitchen"]),
        desserts=dict(sources["desserts"]),
        changes=(Change(kept=_kept(found)),),
    )
    text = week_text(week)
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
    week = plan.week
    if move.get("later") not in (None, ""):
        later = move["later"]
        if not isinstance(later, (int, float)) or not abs(later) < 400 * 1440:
            raise BadInput("It is not said by how many minutes.", remedy="give minutes, such as 30 or -30.")
        return task.start + round(60 * later)
    clock = week.clock(task.start)
    day = _day(str(move["day"])) if move.get("day") else clock.date()
    words = str(move.get("time") or f"{clock:%H:%M}").strip().replace("h", ":").replace(".", ":").rstrip(":")
    try:
        hour, _, minute = words.partition(":")
        time = datetime.time(int(hour), int(minute or 0))
    except ValueError:
        raise BadInput(
            f"“{str(move.get('time'))[:40]}” is no time.", remedy="write hours and minutes, such as 09:30."
        ) from None
    moment = datetime.datetime.combine(day, time, week.zone)
    return round((moment.astimezone(datetime.UTC) - week.start.astimezone(datetime.UTC)).total_seconds())


def week_holds(*, texts: Texts, text: str) -> list[dict[str, Any]]:
    """Every rule that a week breaks, in the checker's words; empty when it may be kept."""
    plan = plan_of(text, texts)
    return [_broken(plan, one, "en") for one in broken_by(plan)]


# ---- telling


class _Teller:
    """A plan in the words of a language."""

    def __init__(self, plan: Plan, language: Language) -> None:
        self.plan, self.language, self.words = plan, language, words_of(language)
        self.marks = lot_marks(plan)

    def at(self, moment: int | float | None) -> str:
        """A moment: "Sat 19:30"."""
        if moment is None:
            return ""
        clock = self.plan.week.clock(moment)
        short = day_name(clock.weekday(), self.language)
        return (
            f"{short} {clock:%d.%m.} {clock:%H:%M}" if self.plan.week.length > 8 * 86400 else f"{short} {clock:%H:%M}"
        )

    def iso(self, moment: int | float) -> str:
        return self.plan.week.clock(moment).isoformat()

    def hours(self, seconds: float) -> str:
        """A length of time: "6 h 50", "35 min"."""
        minutes = round(seconds / 60)
        if minutes < 60:
            return f"{minutes}\u202fmin"
        return f"{minutes // 60}\u202fh" + (f" {minutes % 60:02d}" if minutes % 60 else "")

    def says(self, words: str) -> str:
        return told(words, self.language)

    def task(self, task: Task) -> str:
        start, end = self.plan.week.clock(task.start), self.plan.week.clock(task.end)
        day = day_name(start.weekday(), self.language)
        return f"{day} {start:%H:%M}–{end:%H:%M}, {task.person}: {task.job.lot}, {self.says(task.job.does)}"

    def stay(self, stay: Stay) -> str:
        resource = self.plan.week.resource(stay.resource)
        count = stay.amount / resource.per
        counted = self.words(f"week.counted_{resource.counted}", count=f"{count:g}".replace(".", self.words("week.point")))
        room = self.says(stay.resource)
        return f"{stay.lot}: {self.says(stay.why)}, {self.at(stay.start)} – {self.at(stay.end)}, {room}, {counted}"

    def finding(self, finding: Finding) -> dict[str, str]:
        return {
            "severity": str(finding.severity), "rule": finding.rule, "where": finding.where,
            "says": self.says(finding.says), "why": self.says(finding.why), "remedy": self.says(finding.remedy),
            "source": finding.source,
        }  # fmt: skip


def _broken(plan: Plan, broken: Broken, language: Language) -> dict[str, Any]:
    """A broken rule, with the jobs, lots and things that it names."""
    names = sorted((task.job.key for task in plan.tasks), key=len, reverse=True)
    left, jobs = broken.says, []
    for name in names:
        if name in left:
            jobs.append(name)
            left = left.replace(name, "\0")
    things = [one.name for one in plan.week.resources if one.name in left]
    lots = [lot.key for lot in plan.week.lots if lot.key in left]
    return {
        "rule": told(broken.rule, language), "says": told(broken.says, language), "jobs": jobs, "things": things,
        "lots": lots,
    }  # fmt: skip


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
    tell = _Teller(plan, language)
    before = _moved_since(plan, plan_of(kept, texts)) if kept and kept != text else {}
    broken = [_broken(plan, one, language) for one in broken_by(plan)]
    chosen = plan.task(task)
    lot_keys = {one.key for one in plan.week.lots}
    lot = lot if lot in lot_keys else chosen.job.lot if chosen is not None else ""
    wrong = frozenset(job for one in broken for job in one["jobs"])
    axis = pictures.axis_of(plan)
    shown = _shown_day(axis, plan, day, chosen, now)
    drawn = pictures.Drawn(
        axis=axis, marks=tell.marks, task_says=tell.task, stay_says=tell.stay, chosen=task, lot=lot, before=before,
        wrong=wrong,
    )  # fmt: skip
    alone = pictures.Drawn(
        axis=pictures.axis_of(plan, shown), marks=tell.marks, task_says=tell.task, stay_says=tell.stay, chosen=task,
        lot=lot, before=before, wrong=wrong,
    )  # fmt: skip
    names = [(day_name(k, language, long=True), day_name(k, language)) for k in range(7)]
    start = plan.week.start
    planned = planned_week(text)
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
        "days": [{"date": one.isoformat(), "name": f"{names[one.weekday()][1]} {one.day}.{one.month}."} for one in axis.days],
        "people": [one.name for one in plan.week.hands],
        "legend": _legend(plan, drawn),
        "tasks": [_task_row(tell, one, before, wrong) for one in plan.tasks],
        "stays": [
            {"where": tell.says(s.resource), "lot": s.lot, "why": tell.says(s.why), "from": tell.at(s.start), "to": tell.at(s.end),
             "places": len(s.places)}
            for s in plan.stays
        ],
        "chosen": _chosen(plan, tell, chosen, before) if chosen is not None else None,
        "way": _way(plan, tell, drawn, lot) if lot else None,
        "moved": [
            {"what": told(what, language), "why": told(why, language)} for what, why in planned.changes[-1].kept.moved
        ],
        "by_hand": [
            {"job": job, "what": f"{_lot_of(plan, job)}: {tell.says(_does(plan, job))}", "was": f"{tell.at(a)}, {who}"}
            for job, (a, _, who) in before.items()
        ],
        "rules": [told(one, language) for one in plan.checked],
        "things": [one.name for one in plan.week.resources if one.kind != "mould"],
        "lots": [one.key for one in plan.week.lots if not one.stock and one.jobs],
        "orders": list(dict.fromkeys(d.order.rsplit(" ", 1)[0] for d in plan.week.demands)),
        "desserts": list(plan.week.worked),
        "now": _now_words(plan, now),
    }  # fmt: skip


def _now_words(plan: Plan, now: str) -> str:
    """The present on the kitchen's clock, or the beginning of the week when that lies outside of it."""
    moment = _moment(plan, now)
    return plan.week.clock(moment if 0 <= moment < plan.week.length else 0).strftime("%Y-%m-%dT%H:%M")


def _moment(plan: Plan, now: str) -> int:
    if not now:
        return -1
    try:
        present = datetime.datetime.fromisoformat(now)
    except ValueError:
        return -1
    if present.tzinfo is None:
        present = present.replace(tzinfo=plan.week.zone)
    return round((present - plan.week.start).total_seconds())


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
    moment = _moment(plan, now)
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


def _answer(plan: Plan, tell: _Teller, place: int, broken: int) -> dict[str, Any]:
    one = plan.answers[place]
    out = min((a for _, a, _, _ in one.into_room), default=None)
    by = min((c for _, _, _, c in one.into_room), default=None)
    return {
        "order": one.order, "at": tell.at(one.moment), "pieces": one.pieces,
        "ready": one.ready and not broken,
        "begins": tell.at(one.first_start), "does": tell.says(one.first_does),
        "slack": tell.hours(one.slack) if one.slack else "",
        "out": tell.at(out), "by": tell.at(by),
        "spare": list(one.spare),
        "windows": [
            {"dessert": name, "at": tell.at(a), "from": tell.at(b), "to": tell.at(c)} for name, a, b, c in one.into_room
        ],
    }  # fmt: skip


def _rows(drawn: pictures.Drawn, tell: _Teller) -> list[dict[str, Any]]:
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
        counted = tell.words(f"week.counted_{resource.counted}", count=f"{count:g}")
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


def _over(plan: Plan, name: str, tell: _Teller) -> dict[int, str]:
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
    wanted = tell.words(f"week.counted_{resource.counted}", count=f"{worst / resource.per:g}")
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
                    {"key": lot.key, "mark": drawn.marks[lot.key], "started": lot.started, "made": lot.key not in plan.unserved}
                    for lot in lots
                ],
                "stock": stock,
            }
        )  # fmt: skip
    return found


def _task_row(
    tell: _Teller, task: Task, before: Mapping[str, tuple[int, int, str]], wrong: frozenset[str]
) -> dict[str, Any]:
    plan = tell.plan
    clock = plan.week.clock(task.start)
    return {
        "job": task.job.key, "lot": task.job.lot, "mark": tell.marks[task.job.lot], "does": tell.says(task.job.does),
        "person": task.person, "date": clock.date().isoformat(),
        "day": day_name(clock.weekday(), tell.language), "from": f"{clock:%H:%M}",
        "to": f"{plan.week.clock(task.end):%H:%M}", "overtime": task.overtime, "moved": task.job.key in before,
        "wrong": task.job.key in wrong, "begun": task.job.key in plan.week.begun,
    }  # fmt: skip


def _does(plan: Plan, job: str) -> str:
    found = plan.task(job)
    return found.job.does if found else job


def _lot_of(plan: Plan, job: str) -> str:
    found = plan.task(job)
    return found.job.lot if found else ""


def _chosen(plan: Plan, tell: _Teller, task: Task, before: Mapping[str, tuple[int, int, str]]) -> dict[str, Any]:
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


def _way(plan: Plan, tell: _Teller, drawn: pictures.Drawn, lot_key: str) -> dict[str, Any]:
    lot = plan.week.lot(lot_key)
    tasks = {task.job.key: task for task in plan.tasks}
    rests = []
    for lag in lot.lags:
        if lag.before not in tasks or lag.after not in tasks or (lag.at_least < 1800 and lag.at_most is None):
            continue
        waited = tasks[lag.after].start - tasks[lag.before].end
        good = lag.at_least <= waited and (lag.at_most is None or waited <= lag.at_most)
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


def week_json(*, texts: Texts, text: str) -> dict[str, Any]:
    """The plan as plain data for other programs, with every rule that it breaks."""
    plan = plan_of(text, texts)
    found = as_json(plan)
    found["broken"] = [_broken(plan, one, "en") for one in broken_by(plan)]
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
    tell, tell_other = _Teller(ours, language), _Teller(other, language)

    def words(teller: _Teller, task: Task | None) -> str:
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
}  # fmt: skip
"""What the Week asks, by name."""
