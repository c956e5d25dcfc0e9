"""The questions of the Log: hours, weights and temperatures as they really were, beside what was planned."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping, Sequence
from statistics import median
from typing import Any

from demoule.plan import Plan, Task
from demoule.units import ZERO_CELSIUS, shown
from demoule.units.showing import Language, System
from demoule.web import log_pictures
from demoule.web.day_working import Happened, time_of, weighed_for
from demoule.web.week_reading import Texts, plan_of
from demoule.web.week_telling import Teller

__all__ = ["LOG_QUESTIONS"]


def log(
    *,
    texts: Texts,
    text: str,
    happenings: Sequence[Mapping[str, Any]],
    whole: Sequence[Mapping[str, Any]] = (),
    system: System = "metric",
    language: Language = "en",
) -> dict[str, Any]:
    """What really happened beside what was planned: hours, weights, temperatures, pieces; by making, the last first.

    Parameters
    ----------
    whole
        Also what was taken back later, for the full list.
    """
    plan = plan_of(text, texts)
    tell = Teller(plan, language)
    happened = Happened(happenings)
    by_lot: dict[str, list[Task]] = {}
    for task in plan.tasks:
        if happened.by_task.get(task.job.key):
            by_lot.setdefault(task.job.lot, []).append(task)

    def newest(lot: str) -> str:
        return max(str(one["at"]) for task in by_lot[lot] for one in happened.by_task[task.job.key])

    lots = [
        _lot(plan, tell, lot, by_lot[lot], happened, system, language)
        for lot in sorted(by_lot, key=newest, reverse=True)
    ]
    names = {task.job.key: f"{task.job.lot}: {tell.says(task.job.does)}" for task in plan.tasks}
    gone = {one["replaces"] for one in whole if one["replaces"]}
    return {
        "number": plan.week.start.isocalendar().week,
        "kitchen": plan.week.kitchen.name,
        "lots": lots,
        "summary": _summary(plan, happened, lots, language),
        "all": [
            {
                "at": _when(plan, tell, one["at"]),
                "what": names.get(str(one["task"]), str(one["task"]) or "–"),
                "kind": one["kind"],
                "who": one["who"],
                "gone": one["key"] in gone or one["kind"] == "withdrawn",
                "value": _value(one, system, language),
            }
            for one in whole
        ],
    }


def _when(plan: Plan, tell: Teller, words: str) -> str:
    return tell.at((time_of(words) - plan.week.start).total_seconds())


def _value(one: Mapping[str, Any], system: System, language: Language) -> str:
    parts = []
    if one["mass"] is not None:
        parts.append(shown(one["mass"] * 1000, "g", system=system, language=language))
    if one["temperature"] is not None:
        parts.append(shown(one["temperature"] - ZERO_CELSIUS, "°C", system=system, language=language, step=0.1))
    if one["pieces"] is not None:
        parts.append(str(one["pieces"]))
    if one["note"]:
        parts.append(str(one["note"]))
    return ", ".join(parts)


def _lot(
    plan: Plan,
    tell: Teller,
    lot_key: str,
    tasks: Sequence[Task],
    happened: Happened,
    system: System,
    language: Language,
) -> dict[str, Any]:
    lot = plan.week.lot(lot_key)
    hours, weights, readings, notes = [], [], [], []
    for task in sorted(tasks, key=lambda one: one.start):
        hours += _hours(plan, tell, task, happened)
        planned = {line["name"]: line for line in (_plain(one) for one in weighed_for(plan, task))}
        for one in happened.all(task.job.key, "weight"):
            want = planned.get(str(one["note"]))
            if want is not None and one["mass"] is not None:
                weights.append((str(one["note"]), want["mass"], float(one["mass"])))
        for one in happened.all(task.job.key, "temperature"):
            readings.append((task, time_of(one["at"]), float(one["temperature"])))
        for one in happened.all(task.job.key, "note"):
            notes.append(
                {
                    "does": tell.says(task.job.does),
                    "note": one["note"],
                    "who": one["who"],
                    "at": _when(plan, tell, one["at"]),
                }
            )
    counted = [(task, int(one["pieces"])) for task in tasks for one in happened.all(task.job.key, "pieces")[-1:]]
    most = max([abs(row["off"]) for row in hours], default=0)
    widest = max([abs(real - want) / want for _, want, real in weights if want > 0], default=0.0)
    return {
        "lot": lot_key,
        "dessert": lot.dessert,
        "pieces": lot.pieces,
        "started": lot.started,
        "hours": [{**row, "bar": log_pictures.bar(row["off"], _round_up(most, 15), row["told"])} for row in hours],
        "hours_span": tell.hours(60 * _round_up(most, 15)),
        "weights": [
            {
                "what": what,
                "planned": shown(want * 1000, "g", system=system, language=language, step=0.1 if want < 0.1 else 1),
                "really": shown(real * 1000, "g", system=system, language=language, step=0.1 if real < 0.1 else 1),
                "told": _percent((real - want) / want, language) if want > 0 else "",
                "bar": log_pictures.bar(
                    (real - want) / want if want > 0 else 0.0, max(_round_up(100 * widest, 5), 5) / 100, what
                ),
            }
            for what, want, real in weights
        ],
        "weights_span": _percent(max(_round_up(100 * widest, 5), 5) / 100, language).lstrip("+"),
        "probe": _probe(plan, tell, lot_key, readings, happened, system, language),
        "readings": [
            {
                "does": tell.says(task.job.does),
                "at": _when(plan, tell, at.isoformat()),
                "value": shown(value - ZERO_CELSIUS, "°C", system=system, language=language, step=0.1),
            }
            for task, at, value in readings
        ],
        "pieces_told": [
            {"does": tell.says(task.job.does), "count": count, "of": task.job.pieces} for task, count in counted
        ],
        "notes": notes,
    }


def _plain(line: Mapping[str, Any]) -> dict[str, Any]:
    return {
        "name": f"{line['what']} ({line['of']})" if line["of"] else str(line["what"]),
        "mass": line["mass"] * line["makings"],
    }


def _round_up(value: float, step: int) -> int:
    return max(-(-round(value) // step) * step, step)


def _percent(share: float, language: Language) -> str:
    text = f"{100 * share:+.1f}\u202f%".replace("-", "−")
    return text.replace(".", ",") if language == "fr" else text


def _hours(plan: Plan, tell: Teller, task: Task, happened: Happened) -> list[dict[str, Any]]:
    """Begin and length of a job beside its plan, in minutes."""
    start, end = happened.start(task.job.key), happened.end(task.job.key)
    zero = plan.week.start
    rows = []
    if start is not None:
        off = round(((start - zero).total_seconds() - task.start) / 60)
        rows.append(_hour_row(tell, task, "begins", tell.at(task.start), tell.at((start - zero).total_seconds()), off))
    if end is not None:
        off = round(((end - zero).total_seconds() - task.end) / 60)
        rows.append(_hour_row(tell, task, "ends", tell.at(task.end), tell.at((end - zero).total_seconds()), off))
    return rows


def _hour_row(tell: Teller, task: Task, what: str, planned: str, really: str, off: int) -> dict[str, Any]:
    minutes = abs(off)
    length = tell.hours(60 * minutes)
    sign = "+" if off > 0 else "−" if off < 0 else "±"
    return {
        "does": tell.says(task.job.does),
        "which": what,
        "planned": planned,
        "really": really,
        "off": off,
        "told": f"{sign}{length}",
        "person": task.person,
    }


def _probe(
    plan: Plan,
    tell: Teller,
    lot_key: str,
    readings: Sequence[tuple[Task, datetime.datetime, float]],
    happened: Happened,
    system: System,
    language: Language,
) -> dict[str, Any] | None:
    """The core of the pieces in the freezer: the computed band from the real end of filling, and what was measured."""
    lot = plan.week.lot(lot_key)
    worked = plan.week.worked.get(lot.dessert)
    if worked is None or lot.stock:
        return None
    for fill, out, stage in (("fill", "demould", "harden piece"), ("fill hearts", "unmould hearts", "harden heart")):
        run = worked.cold.stage(stage)
        measured = [(at, value) for task, at, value in readings if task.job.kind in (out, fill)]
        filled = next((task for task in plan.tasks if task.job.lot == lot_key and task.job.kind == fill), None)
        if run is None or run.time is None or filled is None or not measured:
            continue
        begun = happened.end(filled.job.key) or plan.week.clock(filled.end)
        points = [((at - begun).total_seconds(), value) for at, value in measured]
        points = [(seconds, value) for seconds, value in points if -600 <= seconds <= 7 * 86400]
        if not points:
            continue
        name = tell.words("log.probe", lot=lot_key)
        return {
            "name": name,
            **log_pictures.probe(run, points, begun.astimezone(plan.week.zone), name, tell.words, system, language),
        }
    return None


def _summary(
    plan: Plan,
    happened: Happened,
    lots: Sequence[Mapping[str, Any]],
    language: Language,
) -> dict[str, Any]:
    done = sum(1 for task in plan.tasks if happened.end(task.job.key) is not None)
    late = [row["off"] for lot in lots for row in lot["hours"] if row["which"] == "begins"]
    longer = []
    for task in plan.tasks:
        start, end = happened.start(task.job.key), happened.end(task.job.key)
        if start is not None and end is not None and end > start:
            longer.append(round((end - start).total_seconds() / 60) - round(task.job.seconds / 60))
    off = [
        (float(one["mass"]) - line["mass"]) / line["mass"]
        for task in plan.tasks
        for line in (_plain(each) for each in weighed_for(plan, task))
        for one in happened.all(task.job.key, "weight")
        if one["note"] == line["name"] and one["mass"] is not None and line["mass"] > 0
    ]
    good = expected = 0
    for task in plan.tasks:
        one = happened.last(task.job.key, "pieces")
        if one is not None and task.job.kind == "finish":
            good += int(one["pieces"])
            expected += plan.week.lot(task.job.lot).pieces

    def minutes(values: Sequence[float]) -> str:
        if not values:
            return ""
        value = round(median(values))
        return f"{'−' if value < 0 else ''}{abs(value)}\u202fmin"

    return {
        "done": done,
        "of": len(plan.tasks),
        "late": minutes(late),
        "longer": minutes(longer),
        "off": _percent(median(off), language) if off else "",
        "good": good,
        "expected": expected,
        "makings": len(lots),
    }


LOG_QUESTIONS: dict[str, Callable[..., Any]] = {"log": log}
"""What the Log asks, by name."""
