"""Rules that go back to the recipe, the cold room and the weigh-up, past whatever the planner made of them."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

from demoule.plan.rules import at_clock, by_job, rule, spans_of

if TYPE_CHECKING:
    from demoule.plan.result import Plan, Task
    from demoule.plan.week import Lot
    from demoule.worked import Worked

__all__ = ["WARM_LIMIT", "hard_after"]

WARM_LIMIT = 4 * 3600
"""Longest that what is perishable may be out of the cold, all times added [s] (recalled: two-hour/four-hour guide)."""

_AT_A_TIME = 12  # frozen pieces that are handled together, and the longest that they are out for it (practice)
_OUT_AT_MOST = 1200.0
_KEEPS_FROZEN = 263.15  # K, −10 °C: the air of a room in which something freezes through
_LONG_WAIT = 45 * 60.0  # s; a shorter wait is bridged by whoever began it (practice)
_WORK = {"fill": "fill moulds", "demould": "demould", "dip": "dip", "spray": "spray", "finish": "finish"}
_USED_IN = {
    "heart": "fill hearts",
    "inner heart": "fill hearts",
    "body": "fill",
    "base": "fill",
    "shell": "dip",
    "spray": "spray",
}


def _made(plan: Plan) -> Iterator[tuple[Lot, Worked, list[Task]]]:
    """Lots that are made whole, with their dessert worked up and their tasks by time."""
    tasks = by_job(plan)
    for lot in plan.week.lots:
        worked = plan.week.worked.get(lot.dessert)
        if lot.stock or worked is None or lot.key in plan.unserved:
            continue
        mine = [tasks[job.key] for job in lot.jobs if job.key in tasks]
        if any(task.job.kind == "finish" for task in mine):  # else it failed, or was taken back, under way
            yield lot, worked, sorted(mine, key=lambda task: (task.start, task.end))


def _first(tasks: Sequence[Task], kind: str) -> Task | None:
    return next((task for task in tasks if task.job.kind == kind), None)


def _last(tasks: Sequence[Task], kind: str) -> Task | None:
    return next((task for task in reversed(tasks) if task.job.kind == kind), None)


def hard_after(worked: Worked, why: str) -> float | None:
    """Seconds until hearts or pieces are hard, by the slow end of the band of the cold room's answer."""
    run = worked.cold.stage("harden heart" if why.startswith("hearts") else "harden piece")
    return None if run is None else (run.high or run.time)


@rule("minutes of the weigh-up")
def _minutes(plan: Plan) -> Iterator[str]:
    for lot, _, tasks in _made(plan):
        wanted = dict(lot.weighing.hands_on) if lot.weighing else {}
        for kind, name in _WORK.items():
            given = sum(task.end - task.start for task in tasks if task.job.kind == kind)
            if given and given < wanted.get(name, 0.0) - 1:
                yield f"{lot.key}: {name} is given {given / 60:.0f} min and takes {wanted[name] / 60:.0f}"


@rule("rests of the recipe")
def _rests(plan: Plan) -> Iterator[str]:
    for lot, worked, tasks in _made(plan):
        for component in worked.dessert.components:
            waits = [wait for wait in worked.cooked[component.name].waits if wait.at_least >= _LONG_WAIT]
            turns = [task for task in tasks if task.job.kind == "cook" and task.job.component == component.name]
            if not turns or not waits:
                continue
            user = _user(worked, component.name, tasks)
            chain = [*turns, user] if user is not None else turns
            gaps = [other.start - one.end for one, other in pairwise(chain)]
            left = list(gaps)
            for wait in waits:
                while left and left[0] < wait.at_least - 1:
                    left.pop(0)
                if not left and user is not None:
                    told = ", ".join(f"{gap / 3600:.1f}" for gap in gaps)
                    yield f"{lot.key}: {component.name} needs {wait.at_least / 3600:.1f} h to {wait.what}, has {told} h"
                    break
                gap = left.pop(0) if left else 0
                if wait.at_most is not None and len(gaps) == len(waits) and gap > max(wait.at_most, wait.at_least) + 1:
                    most = wait.at_most / 3600
                    yield f"{lot.key}: {component.name} may {wait.what} {most:.1f} h, has {gap / 3600:.1f}"


def _user(worked: Worked, component: str, tasks: Sequence[Task]) -> Task | None:
    """The first task that uses a component: by its place in the piece, or the first with what it goes into."""
    found = [
        task
        for layer in worked.piece.layers
        if layer.component == component
        for task in tasks
        if task.job.kind == _USED_IN.get(layer.role)
    ]
    for other in worked.dessert.components:
        inside = {line.what.casefold() for line in other.weighed}
        inside |= {str(getattr(step, "syrup", "")).casefold() for step in other.steps}
        if component.casefold() in inside:
            mine = [task for task in tasks if task.job.kind == "cook" and task.job.component == other.name]
            merged = [task for task in tasks if task.job.component == other.name]
            found += (mine or merged)[:1]
    return min(found, key=lambda task: task.start, default=None)


@rule("frozen through")
def _frozen(plan: Plan) -> Iterator[str]:
    for lot, worked, tasks in _made(plan):
        for fills, empties, why in (("fill hearts", "unmould hearts", "hearts"), ("fill", "demould", "pieces")):
            hard = hard_after(worked, why)
            if hard is None:
                continue
            for put_in, out in zip(_all(tasks, fills), _all(tasks, empties), strict=False):
                if out.start - put_in.end < hard - 1 and out.job.key not in plan.week.begun:
                    stay = (out.start - put_in.end) / 3600
                    yield f"{lot.key}: {why} freeze {stay:.2f} h, {hard / 3600:.2f} h needed"


def _all(tasks: Sequence[Task], kind: str) -> list[Task]:
    return [task for task in tasks if task.job.kind == kind]


@rule("in the mould and the freezer until it is hard")
def _moulded(plan: Plan) -> Iterator[str]:
    spans = list(spans_of(plan))
    air = {room.name: room.air for room in plan.week.kitchen.rooms}
    counted = {resource.name for resource in plan.week.resources}
    for lot, worked, tasks in _made(plan):
        fill, demould = _first(tasks, "fill"), _last(tasks, "demould")
        mould = worked.piece.mould
        if fill is None or demould is None or mould is None:
            continue
        trays = math.ceil(lot.started / mould.per_tray)
        mine = [span for span in spans if span[4] == lot.key]
        held = [s for s in mine if s[0] == mould.name and s[2] <= fill.start and demould.end <= s[3]]
        if max((s[1] for s in held), default=0) < trays:
            yield f"{lot.key} does not keep {trays} trays of {mould.name} from filling to demoulding"
        cold = [s for s in mine if air.get(s[0], 300.0) < _KEEPS_FROZEN and s[2] <= fill.end and demould.start <= s[3]]
        if not cold and any(name in counted and a < _KEEPS_FROZEN for name, a in air.items()):
            yield f"{lot.key} is in no freezer between filling and demoulding"


@rule("in the vessel of the weigh-up")
def _vessels(plan: Plan) -> Iterator[str]:
    machines = {resource.name for resource in plan.week.resources if resource.kind == "machine"}
    bowls = {mixer.name for mixer in plan.week.kitchen.mixers}
    for lot, _, tasks in _made(plan):
        used = {use.resource for task in tasks for use in task.job.uses}
        made = {task.job.component for task in tasks}
        for need in lot.weighing.needs if lot.weighing else ():
            named = {part.strip() for part in need.vessel.split(",")} & bowls
            whipped = [task for task in tasks if task.job.component == need.component and task.job.kind != "cook"]
            if named and whipped and need.component in made and not named & used:
                yield f"{lot.key}: {need.component} is weighed for the {', '.join(sorted(named))}, which nobody uses"
        for kind, machine in (("dip", "bath"), ("spray", "spray gun")):
            for task in tasks:
                if task.job.kind == kind and machine in machines and machine not in {u.resource for u in task.job.uses}:
                    yield f"{task.job.key} is done without a {machine}"


@rule("thawed through")
def _thawed(plan: Plan) -> Iterator[str]:
    tasks = by_job(plan)
    late = dict(plan.late)
    demands = {demand.key: demand for demand in plan.week.demands}
    for lot in plan.week.lots:
        worked = plan.week.worked.get(lot.dessert)
        run = worked.cold.stage("thaw") if worked else None
        if run is None:
            continue
        told = [run.window.opens_high, run.window.opens] if run.window else []
        slow = next((value for value in (*told, run.high, run.time) if value is not None), None)
        for part in lot.parts:
            task, demand = tasks.get(part.job), demands[part.demand]
            if task is None or slow is None:
                continue
            has = demand.moment + late.get(demand.key, 0) - task.end
            if has < slow - 1:
                yield f"{part.job} has {has / 3600:.1f} h to thaw, {slow / 3600:.1f} h are needed"


@rule("kept no longer than it keeps")
def _kept(plan: Plan) -> Iterator[str]:
    tasks = by_job(plan)
    for lot, worked, mine in _made(plan):
        run, finish = worked.cold.stage("keep"), _last(mine, "finish")
        most = run.stage.at_most if run else None
        for part in lot.parts:
            task = tasks.get(part.job)
            if finish is not None and task is not None and most is not None and task.start - finish.end > most:
                kept = (task.start - finish.end) / 86400
                yield f"{part.job} has been kept {kept:.0f} days, {most / 86400:.0f} at most"


@rule("time out of the cold")
def _warm(plan: Plan) -> Iterator[str]:
    tasks = by_job(plan)
    for lot in plan.week.lots:
        mine = [tasks[job.key] for job in lot.jobs if job.key in tasks]
        warm = sum(_out(lot, task) for task in mine)
        if warm > WARM_LIMIT:
            yield f"{lot.key} is out of the cold for {warm / 3600:.1f} h in all"


def _out(lot: Lot, task: Task) -> float:
    """Seconds for which one piece is out of the cold during a task.

    The filling counts whole, by the minutes of the weigh-up, and so does whatever a task takes longer than planned;
    frozen pieces are handled by the dozen and are out for that dozen's share of the work.
    """
    over = max(task.end - task.start - task.job.seconds, 0)
    if task.job.kind == "fill":
        told = dict(lot.weighing.hands_on).get("fill moulds") if lot.weighing else None
        return over + (task.end - task.start - over if told is None else told)
    if task.job.kind in ("demould", "dip", "spray", "finish"):
        share = (task.end - task.start - over) * _AT_A_TIME / max(lot.started, _AT_A_TIME)
        return over + min(share, _OUT_AT_MOST)
    return 0.0


@rule("places as told")
def _told(plan: Plan) -> Iterator[str]:
    """What the pictures and lists show is what the tasks take."""
    wanted = Counter((name, amount, begin, end, lot) for name, amount, begin, end, lot, _ in spans_of(plan))
    shown = Counter((s.resource, s.amount, s.start, s.end, s.lot) for s in plan.stays)
    for name, _, begin, _, lot in (wanted - shown) + (shown - wanted):
        yield f"{lot} is not told in {name} as it stands there from {at_clock(plan, begin):%a %H:%M}"
