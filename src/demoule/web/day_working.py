"""The questions of day sheets, and of who is where now: what is planned, and what was ticked of it."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping, Sequence
from functools import lru_cache
from typing import Any

from demoule.batch import NeedOf
from demoule.errors import BadInput, UnknownName
from demoule.plan import Plan, Task
from demoule.sheets import ghost_svg
from demoule.sheets.cut import keys_of
from demoule.sheets.looks import looks
from demoule.sheets.tokens import ThemeName
from demoule.units import ZERO_CELSIUS, Kind, parse, shown
from demoule.units.showing import Language, System
from demoule.web.week_reading import Texts, moment_of, plan_of
from demoule.web.week_telling import Teller
from demoule.web.week_words import day_name

__all__ = ["DAY_QUESTIONS", "Happened", "time_of", "weighed_for"]

_CORE = ("unmould hearts", "demould", "dip", "take out")
_PIECES = ("unmould hearts", "demould", "dip", "spray", "finish")
_MARK = 132


# ---- what is ticked, read


def ticks_read(*, ticks: Sequence[Mapping[str, Any]], system: System = "metric") -> list[dict[str, Any]]:
    """Ticks as they come from a sheet, with masses in kg and temperatures in K.

    Raises
    ------
    BadInput
        For a weight or a temperature that cannot be read, with the words that were typed.
    """
    found = []
    for tick in ticks:
        told = {key: tick.get(key) for key in ("key", "at", "day", "kind", "task", "start", "end", "note", "replaces")}
        really = str(tick.get("really") or "").strip() or str(tick.get("planned") or "").strip()
        if tick.get("kind") == "weight":
            told["mass"] = _quantity(really, Kind.MASS, "oz" if system == "us" else "g")
        if tick.get("kind") == "temperature":
            told["temperature"] = _quantity(
                str(tick.get("core") or ""), Kind.TEMPERATURE, "°F" if system == "us" else "°C"
            )
        if tick.get("kind") == "pieces":
            words = str(tick.get("pieces") or "").replace(" ", "").replace("\u202f", "")
            if not (words.isascii() and words.isdigit()) or len(words) > 7:
                raise BadInput(f"“{words[:40]}” is no number of pieces.", remedy="count again, and write the number.")
            told["pieces"] = int(words)
        found.append(told)
    return found


def _quantity(words: str, kind: Kind, unit: str) -> float:
    """A weight or a temperature; a bare number has the unit of the sheet."""
    tidy = words[:60].replace("−", "-").strip()
    bare = tidy.replace(",", ".").replace(" ", "").replace("\u202f", "").lstrip("+-").replace(".", "", 1)
    told = f"{tidy} {unit}" if bare.isdigit() else tidy
    return float(parse(told, kind).value)


# ---- the sheet of a day


class Happened:
    """What happened, by job and kind; what was replaced or withdrawn is not among it."""

    def __init__(self, happenings: Sequence[Mapping[str, Any]]) -> None:
        self.by_task: dict[str, list[Mapping[str, Any]]] = {}
        for one in happenings:
            self.by_task.setdefault(str(one["task"]), []).append(one)

    def all(self, job: str, *kinds: str) -> list[Mapping[str, Any]]:
        """Of one job, the earliest first."""
        return [one for one in self.by_task.get(job, ()) if one["kind"] in kinds]

    def last(self, job: str, *kinds: str) -> Mapping[str, Any] | None:
        """The last of one job."""
        return next(reversed(self.all(job, *kinds)), None)

    def start(self, job: str) -> datetime.datetime | None:
        """When a job was begun."""
        one = next(iter(self.all(job, "start")), None)
        return time_of(one["start"] or one["at"]) if one else None

    def end(self, job: str) -> datetime.datetime | None:
        """When a job was done."""
        one = self.last(job, "end", "tick")
        return time_of(one["end"] or one["at"]) if one else None


def time_of(words: str) -> datetime.datetime:
    """A moment that was noted."""
    return datetime.datetime.fromisoformat(words)


def _clock(plan: Plan, moment: datetime.datetime | None) -> str:
    return f"{moment.astimezone(plan.week.zone):%H:%M}" if moment is not None else ""


def day(
    *,
    texts: Texts,
    text: str,
    person: str,
    date: str,
    now: str,
    happenings: Sequence[Mapping[str, Any]],
    likely: Sequence[str] = (),
    theme: ThemeName = "day",
    system: System = "metric",
    language: Language = "en",
) -> dict[str, Any]:
    """One person's day: what is done, what is on now, and what comes.

    Parameters
    ----------
    likely
        Whose day it may be when nobody is named; the first who works in this kitchen.
    """
    plan = plan_of(text, texts)
    tell = Teller(plan, language)
    people = [one.name for one in plan.week.hands]
    busy = sorted({plan.week.clock(task.start).date() for task in plan.tasks})
    moment = moment_of(plan, now)
    today = plan.week.clock(moment).date() if 0 <= moment < plan.week.length else None
    chosen = next((one for one in busy if one.isoformat() == date), None)
    chosen = chosen or (today if today in busy else busy[0] if busy else plan.week.start.date())
    if person and person not in people:
        raise UnknownName("person", person[:80], people)
    at_work = [name for name in people if any(plan.week.clock(t.start).date() == chosen for t in plan.tasks_of(name))]
    person = person or next(iter([*(one for one in likely if one in people), *at_work]), people[0])
    happened = Happened(happenings)
    tasks = [task for task in plan.tasks_of(person) if plan.week.clock(task.start).date() == chosen]
    rows = []
    current = True
    for task in sorted(tasks, key=lambda one: one.start):
        ended = happened.end(task.job.key)
        state = "done" if ended is not None else "on" if current else "next"
        current = current and ended is not None
        rows.append(_row(plan, tell, task, happened, state, theme, system, language))
    place = busy.index(chosen) if chosen in busy else 0
    hands = next(one for one in plan.week.hands if one.name == person)
    blocks = [(a, b) for a, b in hands.blocks if plan.week.clock(a).date() == chosen]
    return {
        "person": person,
        "people": people,
        "date": chosen.isoformat(),
        "today": chosen == today,
        "name": day_name(chosen.weekday(), language, long=True),
        "days": [
            {"date": one.isoformat(), "name": f"{day_name(one.weekday(), language)} {one.day}.{one.month}."}
            for one in busy
        ],
        "before": busy[place - 1].isoformat() if place > 0 else "",
        "after": busy[place + 1].isoformat() if place + 1 < len(busy) else "",
        "hours": tell.words(
            "week.from_to",
            low=f"{plan.week.clock(min(a for a, _ in blocks)):%H:%M}",
            high=f"{plan.week.clock(max(b for _, b in blocks)):%H:%M}",
        )
        if blocks
        else "",
        "clock": plan.week.clock(moment).strftime("%H:%M") if 0 <= moment < plan.week.length else "",
        "number": plan.week.start.isocalendar().week,
        "rows": rows,
    }


def _row(
    plan: Plan,
    tell: Teller,
    task: Task,
    happened: Happened,
    state: str,
    theme: ThemeName,
    system: System,
    language: Language,
) -> dict[str, Any]:
    job = task.job
    start, end = happened.start(job.key), happened.end(job.key)
    core, pieces = happened.last(job.key, "temperature"), happened.last(job.key, "pieces")
    told = []
    if pieces is not None:
        told.append(tell.words("day.kept_pieces", count=pieces["pieces"]))
    if core is not None:
        value = shown(core["temperature"] - ZERO_CELSIUS, "°C", system=system, language=language)
        told.append(tell.words("day.core_read", value=value, time=_clock(plan, time_of(core["at"]))))
    if end is not None and not told:
        told.append(_clock(plan, end))
    named = dict(task.trays)
    trays = [f"{mould}: {', '.join(map(str, named[mould]))}" if mould in named else mould for mould, _ in job.trays]
    last = happened.last(job.key, "end", "tick")
    return {
        "job": job.key,
        "lot": job.lot,
        "mark": tell.marks[job.lot],
        "does": tell.says(job.does),
        "at": f"{plan.week.clock(task.start):%H:%M}",
        "until": f"{plan.week.clock(task.end):%H:%M}",
        "state": state,
        "begun": _clock(plan, start),
        "ended": _clock(plan, end),
        "key": last["key"] if last else "",
        "told": ", ".join(told),
        "trays": "; ".join(trays),
        "pieces": job.pieces,
        "overtime": task.overtime,
        "then": _then(plan, tell, task, end),
        "lines": [_line(line, happened.all(job.key, "weight"), system, language) for line in weighed_for(plan, task)]
        if state != "done"
        else [],
        "several": len({line["of"] for line in weighed_for(plan, task)}) > 1,
        "core": job.kind in _CORE,
        "counts": job.kind in _PIECES and bool(job.pieces),
        "ghost": _ghost(plan, task, theme) if state != "done" else "",
        "notes": [one["note"] for one in happened.all(job.key, "note")],
    }


def _then(plan: Plan, tell: Teller, task: Task, ended: datetime.datetime | None) -> list[str]:
    """What follows: how long it rests or freezes, from the moment of the tick once there is one."""
    lot = plan.week.lot(task.job.lot)
    if task.job.kind == "take out":
        part = next(part for part in lot.parts if part.job == task.job.key)
        demand = plan.week.demand(part.demand)
        return [f"{tell.says(demand.room or 'refrigerator')}, {tell.at(demand.moment)}"]
    end = float(task.end)
    if ended is not None:
        end = (ended - plan.week.start).total_seconds()
    found = []
    for lag in lot.lags:
        if lag.before == task.job.key and lag.at_least >= 1800:
            ready = tell.at(end + lag.at_least)
            when = tell.words("day.hard_at" if lag.why.endswith("freeze") else "day.ready_at", time=ready)
            found.append(f"{tell.says(lag.why)}: {when}")
    return list(dict.fromkeys(found))


def weighed_for(plan: Plan, task: Task) -> list[dict[str, Any]]:
    """What is weighed for a job: the lines of each component that it is the first to work on."""
    lot = plan.week.lot(task.job.lot)
    if lot.weighing is None:
        return []
    mine = [one for one in plan.tasks if one.job.lot == lot.key]
    found: list[dict[str, Any]] = []
    for need in lot.weighing.needs:
        first = min((one for one in mine if one.job.component == need.component), key=lambda t: t.start, default=None)
        first = first or next((one for one in mine if one.job.kind == "fill"), None)
        if first is not None and first.job.key == task.job.key:
            found += [_of(need, line) for line in need.lines]
    return found


def _of(need: NeedOf, line: Any) -> dict[str, Any]:
    return {
        "what": line.what,
        "of": need.component,
        "mass": line.mass,
        "makings": need.makings,
        "leaves": line.leaves,
        "called": line.leaves_called,
    }


def _line(
    line: Mapping[str, Any], weighed: Sequence[Mapping[str, Any]], system: System, language: Language
) -> dict[str, Any]:
    name = f"{line['what']}" if not line["of"] else f"{line['what']} ({line['of']})"
    tick = next((one for one in weighed if one["note"] == name), None)
    grams = line["mass"] * 1000
    step = 0.1 if grams < 100 else 1
    much = shown(grams, "g", system=system, language=language, step=step)
    total = line["mass"] * line["makings"]
    return {
        "what": line["what"],
        "of": line["of"],
        "name": name,
        "much": f"{line['makings']} × {much}" if line["makings"] > 1 else much,
        "planned": f"{total * 1000:.1f} g",
        "leaves": f"{line['leaves']:g} {line['called']}" if line["leaves"] else "",
        "ticked": tick is not None,
        "key": tick["key"] if tick else "",
        "really": shown(tick["mass"] * 1000, "g", system=system, language=language, step=step) if tick else "",
    }


def _ghost(plan: Plan, task: Task, theme: ThemeName) -> str:
    return _mark(plan, plan.week.lot(task.job.lot).dessert, task.job.component, theme)


@lru_cache(maxsize=200)
def _mark(plan: Plan, dessert: str, component: str, theme: ThemeName) -> str:
    worked = plan.week.worked.get(dessert)
    if worked is None:
        return ""
    layers = dict(zip([layer.component for layer in worked.piece.layers], keys_of(worked.piece), strict=True))
    styles = looks(worked.dessert.components, worked.cooked, dessert=dessert)
    ident = f"day-{abs(hash((dessert, component))) % 10**8}-{theme}"
    return ghost_svg(
        worked.piece,
        layers.get(component, component or "none"),
        name=dessert,
        size=_MARK,
        theme=theme,
        looks=styles,
        cooked=worked.cooked,
        ident=ident,
    )


# ---- who is where now


def now_where(
    *,
    texts: Texts,
    text: str,
    now: str,
    happenings: Sequence[Mapping[str, Any]],
    language: Language = "en",
) -> dict[str, Any]:
    """At one moment: who does what, and what stands in which room and mould."""
    plan = plan_of(text, texts)
    tell = Teller(plan, language)
    happened = Happened(happenings)
    moment = moment_of(plan, now)
    inside = 0 <= moment < plan.week.length
    if not inside:
        moment = min((task.start for task in plan.tasks if task.job.kind != "take out"), default=0)
    people = []
    for hands in plan.week.hands:
        mine = sorted(plan.tasks_of(hands.name), key=lambda task: task.start)
        begun = [task for task in mine if happened.start(task.job.key) and not happened.end(task.job.key)]
        planned = [task for task in mine if task.start <= moment < task.end and not happened.end(task.job.key)]
        at_it = (begun or planned)[:1]
        coming = next((t for t in mine if t.start > moment and not happened.end(t.job.key) and t not in at_it), None)
        here = any(a <= moment < b for a, b in (*hands.blocks, *hands.extra))
        people.append(
            {
                "person": hands.name,
                "here": here or bool(begun),
                "does": [
                    {
                        "job": task.job.key,
                        "does": tell.says(task.job.does),
                        "lot": task.job.lot,
                        "since": _clock(plan, happened.start(task.job.key)) or f"{plan.week.clock(task.start):%H:%M}",
                        "ticked": happened.start(task.job.key) is not None,
                    }
                    for task in at_it
                ],
                "next": {"at": tell.at(coming.start), "does": tell.says(coming.job.does), "lot": coming.job.lot}
                if coming is not None
                else None,
            }
        )
    places = []
    for resource in plan.week.resources:
        stays = [s for s in plan.stays if s.resource == resource.name and s.start <= moment < s.end]
        if resource.kind == "machine":
            continue
        used = sum(stay.amount for stay in stays) / resource.per
        places.append(
            {
                "name": tell.says(resource.name),
                "used": tell.words(
                    "day.places_used",
                    used=f"{used:g}".replace(".", tell.words("week.point")),
                    count=tell.count(resource.counted, resource.amount / resource.per),
                ),
                "inside": [
                    {"lot": s.lot, "mark": tell.marks[s.lot], "why": tell.says(s.why), "until": tell.at(s.end)}
                    for s in sorted(stays, key=lambda one: (one.end, one.lot))
                ],
            }
        )
    clock = plan.week.clock(moment)
    return {
        "at": tell.words("day.at_clock", day=day_name(clock.weekday(), language, long=True), time=f"{clock:%H:%M}"),
        "inside": inside,
        "people": people,
        "places": places,
        "number": plan.week.start.isocalendar().week,
    }


DAY_QUESTIONS: dict[str, Callable[..., Any]] = {
    function.__name__: function for function in (day, ticks_read, now_where)
}
"""What day sheets and the Log ask, by name."""
