"""The lists of a week: day sheets, what to pull from the freezer, what to order for which day, labels; also as CSV."""

from __future__ import annotations

import datetime
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from demoule.batch import Buying
from demoule.batch.buying import buying_of
from demoule.larder import Ingredient
from demoule.plan import Plan, Stay, Task
from demoule.sheets.lists import as_csv
from demoule.sheets.week_axis import lot_marks
from demoule.units import shown
from demoule.units.showing import System

__all__ = [
    "DayRow",
    "DaySheet",
    "Delivery",
    "LabelRow",
    "PullRow",
    "day_sheets",
    "deliveries",
    "labels",
    "pull_list",
    "week_csv",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class DayRow:
    """One thing to do: when, what, how much, in which tray."""

    at: str
    until: str
    lot: str
    mark: str
    does: str
    amount: str
    trays: str
    notes: str
    overtime: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class DaySheet:
    """One person's day."""

    person: str
    day: datetime.date
    hours: str
    rows: tuple[DayRow, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PullRow:
    """Pieces to take out of the freezer."""

    at: str
    not_before: str
    not_after: str
    order: str
    dessert: str
    lot: str
    pieces: int
    room: str
    service: str
    person: str
    day: datetime.date
    out_of: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Delivery:
    """What must be in the house on the morning of a day."""

    day: datetime.date
    lines: tuple[Buying, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelRow:
    """A label for a box, a tray or a pan."""

    what: str
    lot: str
    made: str
    keep: str
    where: str
    allergens: str


_ON_TAP = frozenset({"water"})
"""What nobody orders."""


def day_sheets(plan: Plan, system: System = "metric") -> tuple[DaySheet, ...]:
    """A sheet for each person and each day on which there is work, by day."""
    marks = lot_marks(plan)
    by_day: dict[tuple[datetime.date, str], list[Task]] = defaultdict(list)
    for task in plan.tasks:
        by_day[plan.week.clock(task.start).date(), task.person].append(task)
    sheets = []
    for (day, person), tasks in sorted(by_day.items()):
        rows = []
        for task in sorted(tasks, key=lambda one: one.start):
            job = task.job
            rows.append(
                DayRow(
                    at=f"{plan.week.clock(task.start):%H:%M}",
                    until=f"{plan.week.clock(task.end):%H:%M}",
                    lot=job.lot,
                    mark=marks[job.lot],
                    does=job.does,
                    amount=_amount(task, system),
                    trays=_trays(task),
                    notes=_note(plan, task),
                    overtime=task.overtime,
                )
            )
        sheets.append(DaySheet(person=person, day=day, hours=_hours(plan, person, day), rows=tuple(rows)))
    return tuple(sheets)


def _amount(task: Task, system: System) -> str:
    job = task.job
    parts = []
    if job.batch:
        parts.append(shown(job.batch * 1000, "g", system=system))
    if job.pieces:
        parts.append(f"{job.pieces} pieces")
    return ", ".join(parts)


def _trays(task: Task) -> str:
    named = dict(task.trays)
    parts = []
    for mould, count in task.job.trays:
        numbers = named.get(mould)
        which = f"tray{'s' if count > 1 else ''} {_spans(numbers)}" if numbers else f"{count} trays"
        parts.append(f"{mould}, {which}")
    return "; ".join(parts)


def _spans(numbers: tuple[int, ...]) -> str:
    """ "1–3, 5" of 1, 2, 3, 5."""
    runs: list[list[int]] = []
    for value in sorted(numbers):
        if runs and value == runs[-1][-1] + 1:
            runs[-1].append(value)
        else:
            runs.append([value])
    return ", ".join(str(r[0]) if len(r) == 1 else f"{r[0]}–{r[-1]}" for r in runs)


def _note(plan: Plan, task: Task) -> str:
    """What follows: how long it rests or freezes, and by when."""
    lot = plan.week.lot(task.job.lot)
    if task.job.kind == "take out":
        part = next(part for part in lot.parts if part.job == task.job.key)
        demand = plan.week.demand(part.demand)
        return f"into the {demand.room or 'refrigerator'}, for {plan.week.told(demand.moment)}"
    into: dict[str, tuple[int, ...]] = {}
    for stay in _put_away(plan, task.job.lot, task.end):
        into[stay.resource] = (*into.get(stay.resource, ()), *stay.places)
    notes = [f"into the {room}, {_levels(places)}" for room, places in into.items()]
    for lag in lot.lags:
        if lag.before == task.job.key and lag.at_least >= 1800:
            ready = plan.week.told(task.end + lag.at_least)
            notes.append(f"{lag.why}, ready {ready}")
    return "; ".join(dict.fromkeys(notes))


def _hours(plan: Plan, person: str, day: datetime.date) -> str:
    hands = next((one for one in plan.week.hands if one.name == person), None)
    blocks = [(a, b) for a, b in hands.blocks if plan.week.clock(a).date() == day] if hands else []
    if not blocks:
        return ""
    clock = plan.week.clock
    pauses = [f"break {clock(b):%H:%M} to {clock(a):%H:%M}" for (_, b), (a, _) in pairwise(sorted(blocks)) if a > b]
    return ", ".join([f"{clock(min(blocks)[0]):%H:%M} to {clock(max(b for _, b in blocks)):%H:%M}", *pauses])


def pull_list(plan: Plan) -> tuple[PullRow, ...]:
    """Everything that is taken out of the freezer, by time, with the hours between which the taking-out may begin."""
    rows = []
    for task in plan.tasks:
        if task.job.kind != "take out":
            continue
        lot = plan.week.lot(task.job.lot)
        part = next(part for part in lot.parts if part.job == task.job.key)
        demand = plan.week.demand(part.demand)
        rows.append(
            PullRow(
                at=plan.week.told(task.start),
                not_before=plan.week.told(demand.moment - demand.at_most - task.job.seconds),
                not_after=plan.week.told(demand.moment - demand.at_least - task.job.seconds),
                order=demand.order,
                dessert=demand.dessert,
                lot=lot.key,
                pieces=part.pieces,
                room=demand.room,
                service=plan.week.told(demand.moment),
                person=task.person,
                day=plan.week.clock(task.start).date(),
                out_of=_shelves(plan, lot.key, ends=task.end),
            )
        )
    return tuple(rows)


def deliveries(plan: Plan) -> tuple[Delivery, ...]:
    """What to buy, by the day on whose morning it must be there; an open pack is used up before the next is bought."""
    needed: dict[datetime.date, dict[str, float]] = defaultdict(lambda: defaultdict(float))
    things: dict[str, Ingredient] = {}
    for lot in plan.week.lots:
        if lot.weighing is None or lot.key in plan.unserved:
            continue
        worked = plan.week.worked[lot.dessert]
        day_of = _days_of(plan, lot.key)
        first = min(day_of.values(), default=None)
        for need in lot.weighing.needs:
            day = day_of.get(need.component, day_of.get("", first))
            if day is None:
                continue
            for line in need.lines:
                if line.is_component or line.what.casefold() in _ON_TAP:
                    continue
                item = worked.larder.find(line.what)
                things[item.name] = item
                needed[day][item.name] += line.exact * need.makings
    left: dict[str, float] = dict(plan.week.kitchen.pantry)
    out = []
    for day in sorted(needed):
        lines = []
        for name, mass in sorted(needed[day].items()):
            there = left.get(name, 0.0)
            bought = buying_of(things[name], mass, mass, there)
            packed = sum(pack.mass * count for pack, count in bought.packs)
            left[name] = max(there + (packed or max(bought.need - there, 0.0)) - bought.need, 0.0)
            if bought.need > there + 1e-9:
                lines.append(bought)
        if lines:
            out.append(Delivery(day=day, lines=tuple(lines)))
    return tuple(out)


def _days_of(plan: Plan, lot: str) -> dict[str, datetime.date]:
    """The first day on which each component of a lot is worked on."""
    found: dict[str, datetime.date] = {}
    for task in plan.tasks:
        if task.job.lot == lot and task.job.component:
            day = plan.week.clock(task.start).date()
            found[task.job.component] = min(found.get(task.job.component, day), day)
    return found


def labels(plan: Plan) -> tuple[LabelRow, ...]:
    """A label for whatever is put away: components that rest, hearts, pieces that are finished."""
    rows = []
    last = {(task.job.lot, task.job.component): task for task in plan.tasks if task.job.kind == "cook"}
    for task in plan.tasks:
        if task.job.kind == "cook" and last[task.job.lot, task.job.component] is not task:
            continue  # a pan that is taken up again keeps no label from before
        lot = plan.week.lot(task.job.lot)
        after = [lag for lag in lot.lags if lag.before == task.job.key and lag.at_most is not None]
        if task.job.kind not in ("cook", "unmould hearts", "finish") or not after:
            continue
        keep = task.end + min(lag.at_most or 0 for lag in after)
        what = {"unmould hearts": f"{lot.dessert} hearts", "finish": f"{lot.dessert}, {task.job.pieces} pieces"}
        rows.append(
            LabelRow(
                what=what.get(task.job.kind, f"{task.job.component}, for {lot.dessert}"),
                lot=f"{plan.week.start.isocalendar().week}-{lot_marks(plan)[lot.key]}",
                made=f"{plan.week.clock(task.end):%a %d %b %H:%M}",
                keep=_until(plan, task.end, keep),
                where=_where(plan, task),
                allergens=", ".join(sorted(_allergens(plan, task))),
            )
        )
    return tuple(rows)


_MONTHS = 14 * 86400
"""What keeps longer is told by the day."""


def _until(plan: Plan, made: int, keep: int) -> str:
    """The last moment; of what keeps for months the last whole day."""
    if keep - made <= _MONTHS:
        return f"{plan.week.clock(keep):%a %d %b %Y %H:%M}"
    return f"{plan.week.clock(keep - 86400):%a %d %b %Y}"


def _where(plan: Plan, task: Task) -> str:
    stay = next(iter(_put_away(plan, task.job.lot, task.end)), None)
    if stay is None:
        return ""
    air = plan.week.resource(stay.resource).air
    return stay.resource if air is None else f"{stay.resource}, {air - 273.15:.0f} °C".replace("-", "−")


def _put_away(plan: Plan, lot: str, moment: int) -> list[Stay]:
    """What of a lot is put into a room at a moment."""
    return [
        stay
        for stay in plan.stays
        if stay.lot == lot and stay.start == moment and plan.week.resource(stay.resource).kind == "room"
    ]


def _shelves(plan: Plan, lot: str, *, ends: int) -> str:
    """Where pieces stand that are taken out: "store freezer, level 3"; those of stock stand where they were put."""
    for stay in plan.stays:
        room = plan.week.resource(stay.resource)
        if stay.lot == lot and stay.end == ends and room.kind == "room" and stay.why == "pieces kept":
            return f"{stay.resource}, {_levels(stay.places)}"
    return ""


def _levels(places: Sequence[int]) -> str:
    """ "levels 3–4" of half levels 4 to 7."""
    levels = tuple(sorted({place // 2 + 1 for place in places}))
    return f"level{'s' if len(levels) > 1 else ''} {_spans(levels)}"


def _allergens(plan: Plan, task: Task) -> frozenset[str]:
    if task.job.kind != "finish":
        return task.job.allergens
    return frozenset().union(*(job.allergens for job in plan.week.lot(task.job.lot).jobs))


def week_csv(plan: Plan) -> dict[str, str]:
    """The lists by file name; masses in grams, times on the kitchen's clock with their distance from UTC."""
    return {
        "day-sheets.csv": as_csv(
            ("day", "person", "from", "to", "lot", "what", "amount", "trays", "then", "overtime"),
            (
                (
                    sheet.day.isoformat(),
                    sheet.person,
                    row.at,
                    row.until,
                    row.lot,
                    row.does,
                    row.amount,
                    row.trays,
                    row.notes,
                    "yes" if row.overtime else "",
                )
                for sheet in day_sheets(plan)
                for row in sheet.rows
            ),
        ),
        "pull-list.csv": as_csv(
            ("at", "not_before", "not_after", "for", "dessert", "lot", "pieces", "out_of", "into", "service", "person"),
            (
                (
                    r.at,
                    r.not_before,
                    r.not_after,
                    r.order,
                    r.dessert,
                    r.lot,
                    r.pieces,
                    r.out_of,
                    r.room,
                    r.service,
                    r.person,
                )
                for r in pull_list(plan)
            ),
        ),
        "deliveries.csv": as_csv(("day", "ingredient", "need_g", "pack", "packs"), _bought(plan)),
        "labels.csv": as_csv(
            ("what", "lot", "made", "keep_until", "where", "allergens"),
            ((r.what, r.lot, r.made, r.keep, r.where, r.allergens) for r in labels(plan)),
        ),
        "places.csv": as_csv(
            ("what", "places", "from", "to", "lot", "why", "pieces"),
            (
                (
                    stay.resource,
                    " ".join(str(place + 1) for place in stay.places),
                    plan.week.clock(stay.start).isoformat(),
                    plan.week.clock(stay.end).isoformat(),
                    stay.lot,
                    stay.why,
                    stay.pieces,
                )
                for stay in plan.stays
            ),
        ),
    }


def _bought(plan: Plan) -> Iterator[tuple[object, ...]]:
    for delivery in deliveries(plan):
        for line in delivery.lines:
            for pack, count in line.packs or ((None, None),):
                yield delivery.day.isoformat(), line.ingredient.name, 1000 * line.need, pack.name if pack else "", count
