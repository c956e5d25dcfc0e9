"""When reality differs: what has begun stays, the rest moves as little as it can, and is told why."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import TypeAlias

from demoule.batch import Order, OrderBook
from demoule.errors import BadInput, UnknownName
from demoule.figures import Finding, Severity
from demoule.plan.build import demands_of, more_lots
from demoule.plan.calendar import without
from demoule.plan.make import finished
from demoule.plan.model import Moves
from demoule.plan.result import Plan, Task
from demoule.plan.search import Best, Effort, Progress, Search
from demoule.plan.table import Placed, Table
from demoule.plan.week import SLOT, Demand, Hands, Job, Lag, Lot, Part, Week
from demoule.plan.wishes import demand_at

__all__ = ["Added", "Away", "Cancelled", "Down", "Event", "Failed", "changed", "replan", "what_moved"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Away:
    """A person is not there, from and until moments on the kitchen's clock."""

    person: str
    since: datetime.datetime
    until: datetime.datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Down:
    """A room or a machine is out of order; what is inside a freezer freezes for that much longer."""

    what: str
    since: datetime.datetime
    until: datetime.datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Failed:
    """A lot came to nothing and is made again."""

    lot: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Added:
    """One more order."""

    order: Order


@dataclass(frozen=True, slots=True, kw_only=True)
class Cancelled:
    """An order is taken back; recurring ones on one day only when `day` is given."""

    what: str
    day: datetime.date | None = None


Event: TypeAlias = Away | Down | Failed | Added | Cancelled


def replan(
    old: Plan,
    events: Sequence[Event],
    now: datetime.datetime,
    *,
    effort: Effort | None = None,
    progress: Progress | None = None,
    cancel: Callable[[], bool] | None = None,
    best: Best | None = None,
) -> Plan:
    """A new plan from an old one; `best` is given the best placement so far.

    Parameters
    ----------
    old
        The plan that was being followed.
    events
        What happened.
    now
        The present; jobs that began before it stay as they are, in time and in hands. A naive one is on the kitchen's
        clock.

    Raises
    ------
    BadInput
        A name that is not in the plan, or a moment outside the week.
    """
    week, reasons, touched = changed(old, events, now)
    table = Table.of(week)
    kept = {
        key: _in_crew(table, old, key, place)
        for key, place in old.placement.items()
        if key in table.lot_of and key in {job.key for job in week.lot(table.lot_of[key]).jobs}
    }
    touched |= _disturbed(table, old, week, kept)
    moves = Moves(old=dict(kept), once=_MOVED, hands=_OTHER_HANDS)
    budget = replace(effort or Effort(work=5.0, bound=False), one_step=0.4)
    run = Search(table=table, effort=budget, progress=progress, cancel=cancel, moves=moves, best=best)
    run.placement = {key: place for key, place in kept.items() if table.lot_of[key] not in touched}
    _keep_begun(table, run, touched)
    lots = [week.lot(key) for key in dict.fromkeys(lot.key for lot in week.lots if lot.key in touched)]
    run.first([lot for lot in lots if lot.jobs])
    run.try_together([lot for lot in lots if lot.jobs][:_TOGETHER], work=1.0)
    run.mend()
    _settle(run, touched)
    prefer = {task.job.key: task.person for task in old.tasks}
    made = finished(table, run, prefer=prefer)
    return replace(made, moved=what_moved(old, made, reasons))


def changed(old: Plan, events: Sequence[Event], now: datetime.datetime) -> tuple[Week, dict[str, str], set[str]]:
    """The facts of the week after what happened; why each thing is so; and the lots that it touches."""
    present = _seconds(old.week, now)
    if not 0 <= present < old.week.length:
        raise BadInput(
            f"{now:%A %d %B %H:%M} lies outside the week that is planned.", remedy="give a moment of this week."
        )
    begun = {task.job.key: (task.start, task.person) for task in old.tasks if task.start < present}
    week = replace(old.week, now=present, begun=MappingProxyType(begun), findings=old.week.findings)
    reasons: dict[str, str] = {}
    touched: set[str] = set()
    for event in events:
        week = _applied(week, old, event, reasons, touched)
    return _still_reached(week), reasons, touched


_MOVED = 1200  # aim lost for a job that is moved: as much as for half an hour of lateness, or four hours of overtime
_OTHER_HANDS = 600
_TOGETHER = 5  # lots that are placed anew at once


def _settle(run: Search, touched: set[str]) -> None:
    """Lots of which something moved, each with its neighbours, until nothing is gained: fewer moves, or a better week.

    Moves have their price in the aims, so that what moved and need not have goes back.
    """
    wide = False
    while not run.over:
        gained = False
        for lot in _moved_lots(run, touched):
            near = run.nearest(lot)
            for mates in (near[:3], near[1:4]) if wide else ([], near[:1], near[1:2], near[:2]):
                if run.over:
                    return
                if run.try_together([lot, *mates]):
                    run.tell(f"{lot.key} settled")
                    gained = True
        if not gained and wide:
            return
        wide = not gained


def _moved_lots(run: Search, touched: set[str]) -> list[Lot]:
    """Lots with jobs that lie elsewhere than before, those of which most moved first; then the others that changed."""
    assert run.moves is not None
    counts: dict[str, int] = {}
    for key, old in run.moves.old.items():
        new = run.placement.get(key)
        if new is not None and (new.slot, new.crew) != (old.slot, old.crew):
            counts[run.table.lot_of[key]] = counts.get(run.table.lot_of[key], 0) + 1
    moved = sorted(counts, key=lambda key: (-counts[key], key))
    return [run.table.week.lot(key) for key in [*moved, *sorted(touched - set(moved))] if run.table.week.lot(key).jobs]


def _still_reached(week: Week) -> Week:
    """The week with longer hours in the refrigerator where nobody is left to take pieces out in the best ones."""
    out = {part.demand for lot in week.lots for part in lot.parts if part.job in week.begun}
    demands = []
    longer = []
    for demand in week.demands:
        if demand.key in out or demand.moment <= week.now or demand.dessert not in week.worked:
            demands.append(demand)
            continue
        again = demand_at(week, demand, demand.moment)
        if again.at_most > demand.at_most:
            longer.append(again)
            demands.append(replace(demand, at_most=again.at_most, stretched=again.stretched))
        else:
            demands.append(demand)
    if not longer:
        return week
    told = Finding(
        severity=Severity.CAUTION,
        rule="stands thawed",
        where="orders",
        says=f"{', '.join(one.key for one in longer)} may now stand in the refrigerator for up to "
        f"{max(one.at_most for one in longer) / 3600:.0f} h before service; they are at their best for "
        f"{min(one.best for one in longer) / 3600:.0f} h.",
        why="Nobody is left to take them out later.",
        remedy="let somebody come in for it; cover the trays. Local law may allow less.",
    )
    return replace(week, demands=tuple(demands), findings=(*week.findings, told))


def _seconds(week: Week, moment: datetime.datetime) -> int:
    clock = moment if moment.tzinfo else moment.replace(tzinfo=week.zone)
    return round((clock - week.start).total_seconds())


def _in_crew(table: Table, old: Plan, key: str, place: Placed) -> Placed:
    """The same place, in the crew to which the person now belongs."""
    task = old.task(key)
    crew = table.crew_of(task.person) if task else place.crew
    return Placed(place.slot, crew, place.extra)


def _keep_begun(table: Table, run: Search, touched: set[str]) -> None:
    """Lots that have begun are never dropped: they are placed anew around what has been done."""
    for key in sorted(touched):
        for job in table.week.lot(key).jobs:
            run.placement.pop(job.key, None)


def _disturbed(table: Table, old: Plan, week: Week, kept: Mapping[str, Placed]) -> set[str]:
    """Lots of which something can no longer stay where it was."""
    found = set()
    hours = {person.name: (*person.blocks, *person.extra) for person in week.hands}
    by_job = {task.job.key: task for task in old.tasks}
    for key, place in kept.items():
        lot = table.lot_of[key]
        task: Task | None = by_job.get(key)
        if task is None or key in week.begun:
            continue
        if not any(a <= task.start and task.end <= b for a, b in hours.get(task.person, ())):
            found.add(lot)
        job = week.job(key)
        if table.banned(key)[place.slot]:
            found.add(lot)
        for use in job.uses:
            blocked = table.blocked.get(use.resource)
            if blocked is not None and blocked[place.slot : place.slot + use.seconds // SLOT].any():
                found.add(lot)
    for one in week.lots:
        for lag in one.lags:
            if lag.before in kept and lag.after in kept and lag.after not in week.begun:
                waited = kept[lag.after].slot - kept[lag.before].slot - table.length[lag.before]
                if waited < lag.at_least // SLOT:
                    found.add(one.key)
        if one.jobs and any(job.key not in kept for job in one.jobs):
            found.add(one.key)
    return found


# ---- events


def _applied(week: Week, old: Plan, event: Event, reasons: dict[str, str], touched: set[str]) -> Week:
    if isinstance(event, Away | Down) and _seconds(week, event.until) <= _seconds(week, event.since):
        raise BadInput(
            f"It ends {event.until:%A %H:%M} and begins {event.since:%A %H:%M}.",
            remedy="give a moment after the beginning.",
        )
    if isinstance(event, Away):
        names = [person.name for person in week.hands]
        if event.person not in names:
            raise UnknownName("person", event.person, names)
        since, until = _seconds(week, event.since), _seconds(week, event.until)
        reasons[f"person {event.person}"] = f"{event.person} is away"
        return replace(week, hands=tuple(_away(p, since, until) if p.name == event.person else p for p in week.hands))
    if isinstance(event, Down):
        names = [one.name for one in week.resources if one.kind != "mould"]
        if event.what not in names:
            raise UnknownName("room or machine", event.what, names)
        since, until = _seconds(week, event.since), _seconds(week, event.until)
        reasons[f"down {event.what}"] = f"{event.what} is out of order"
        lots = tuple(_longer(week, old, lot, event.what, since, until) for lot in week.lots)
        return replace(week, lots=lots, down=(*week.down, (event.what, since, until)))
    if isinstance(event, Failed):
        return _failed(week, event.lot, reasons, touched)
    if isinstance(event, Added):
        return _added(week, event.order, reasons, touched)
    return _cancelled(week, event, reasons)


def _away(person: Hands, since: int, until: int) -> Hands:
    return replace(person, blocks=without(person.blocks, since, until), extra=without(person.extra, since, until))


def _longer(week: Week, old: Plan, lot: Lot, room: str, since: int, until: int) -> Lot:
    """What is in a freezer while it stands still freezes for as much longer."""
    lags: list[Lag] = []
    for lag in lot.lags:
        first = old.task(lag.before)
        hold = next(
            (
                h
                for h in lot.holds
                if h.resource == room and h.first == lag.before and h.last == lag.after and h.why.endswith("freeze")
            ),
            None,
        )
        if hold is not None and first is not None and lag.before in week.begun and lag.after not in week.begun:
            stopped = max(until - max(first.end, since), 0) if first.end + lag.at_least > since else 0
            stopped = -(-stopped // SLOT) * SLOT
            most = None if lag.at_most is None else max(lag.at_most, lag.at_least + stopped)
            lags.append(replace(lag, at_least=lag.at_least + stopped, at_most=most))
        else:
            lags.append(lag)
    return replace(lot, lags=tuple(lags))


def _failed(week: Week, key: str, reasons: dict[str, str], touched: set[str]) -> Week:
    keys = [lot.key for lot in week.lots if not lot.stock]
    if key not in keys:
        raise UnknownName("lot", key, keys)
    lot = week.lot(key)
    served = [(week.demand(part.demand), part.pieces) for part in lot.parts if part.job not in week.begun]
    done = tuple(part for part in lot.parts if part.job in week.begun)
    left = _only_begun(lot, week, done)
    again = more_lots(week, lot.dessert, served)
    for one in again:
        reasons[f"lot {one.key}"] = f"{key} failed and is made again"
        touched.add(one.key)
    lots = tuple(left if one.key == key else one for one in week.lots)
    return replace(week, lots=(*lots, *again))


def _only_begun(lot: Lot, week: Week, parts: tuple[Part, ...]) -> Lot:
    """What of a lot has begun; the rest is not done."""
    jobs = tuple(job for job in lot.jobs if job.key in week.begun)
    keys = {job.key for job in jobs}
    return replace(
        lot,
        jobs=jobs,
        lags=tuple(lag for lag in lot.lags if lag.before in keys and lag.after in keys),
        holds=tuple(hold for hold in lot.holds if hold.first in keys and (not hold.last or hold.last in keys)),
        parts=parts,
    )


def _added(week: Week, order: Order, reasons: dict[str, str], touched: set[str]) -> Week:
    days = max(round(week.length / 86400), 1)
    new = demands_of(OrderBook(orders=(order,)), week.worked, week.start, days, week.now, week.hands)
    taken = {demand.key for demand in week.demands}
    clash = [demand.key for demand in new if demand.key in taken]
    if clash:
        raise BadInput(f"“{clash[0]}” is ordered already.", remedy="give the new order another name.")
    week = replace(week, demands=(*week.demands, *new))
    lots: list[Lot] = []
    for dessert in dict.fromkeys(demand.dessert for demand in new):
        served: list[tuple[Demand, int]] = [(d, d.pieces) for d in new if d.dessert == dessert]
        for lot in more_lots(week, dessert, served):
            reasons[f"lot {lot.key}"] = f"{order.what} was added"
            touched.add(lot.key)
            lots.append(lot)
    return replace(week, lots=(*week.lots, *lots))


def _cancelled(week: Week, event: Cancelled, reasons: dict[str, str]) -> Week:
    gone = [
        demand
        for demand in week.demands
        if demand.order.rsplit(" ", 1)[0] == event.what
        and (event.day is None or week.clock(demand.moment).date() == event.day)
        and demand.moment > week.now
    ]
    if not gone:
        raise UnknownName("order", event.what, {d.order.rsplit(" ", 1)[0] for d in week.demands})
    keys = {demand.key for demand in gone}
    lots = []
    for lot in week.lots:
        out = {part.job for part in lot.parts if part.demand in keys and part.job not in week.begun}
        if not out:
            lots.append(lot)
            continue
        parts = tuple(part for part in lot.parts if part.job not in out)
        pieces = sum(part.pieces for part in lot.parts if part.job in out)
        reasons[f"lot {lot.key}"] = f"{event.what} was taken back"
        if not parts and not lot.stock:
            lots.append(_only_begun(replace(lot, spare=lot.spare + pieces), week, ()))
            continue
        lots.append(
            replace(
                lot,
                jobs=tuple(job for job in lot.jobs if job.key not in out),
                lags=tuple(lag for lag in lot.lags if lag.after not in out),
                holds=tuple(h for h in lot.holds if h.first not in out and h.last not in out),
                parts=parts,
                spare=lot.spare + pieces,
            )
        )
    given: dict[str, int] = {}
    for part in (part for lot in lots for part in lot.parts):
        given[part.demand] = given.get(part.demand, 0) + part.pieces
    kept = tuple(
        replace(d, pieces=given[d.key]) if d.key in keys else d
        for d in week.demands
        if d.key not in keys or d.key in given
    )
    return replace(week, lots=tuple(lots), demands=kept)


# ---- what moved


def what_moved(old: Plan, new: Plan, reasons: Mapping[str, str]) -> tuple[tuple[str, str], ...]:
    """Each job that lies elsewhere, in words, with the reason as far as it can be told."""
    week = new.week
    after_all = {task.job.key: task for task in new.tasks}
    found = []
    general = next(iter(reasons.values()), "")
    for task in old.tasks:
        job = task.job
        after = after_all.get(job.key)
        why = reasons.get(f"lot {job.lot}") or reasons.get(f"person {task.person}") or _place_reason(job, reasons)
        why = why or f"it makes room: {general}"
        if after is None:
            found.append((f"{job.lot}: {job.does}, {week.told(task.start)}, is not done", why))
        elif after.start != task.start:
            found.append((f"{job.lot}: {job.does}, from {week.told(task.start)} to {week.told(after.start)}", why))
        elif after.person != task.person:
            found.append((f"{job.lot}: {job.does}, {week.told(task.start)}, from {task.person} to {after.person}", why))
    keys = {task.job.key for task in old.tasks}
    for key, task in after_all.items():
        if key not in keys:
            why = reasons.get(f"lot {task.job.lot}", general)
            found.append((f"{task.job.lot}: {task.job.does}, new on {week.told(task.start)}", why))
    return tuple(found)


def _place_reason(job: Job, reasons: Mapping[str, str]) -> str:
    return next((reasons[f"down {use.resource}"] for use in job.uses if f"down {use.resource}" in reasons), "")
