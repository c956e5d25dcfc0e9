"""The week in one call: facts, search, check, and the answers a chef asks first."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

from demoule.batch import Kitchen, OrderBook
from demoule.errors import BadInput
from demoule.figures import Finding, Severity, by_severity
from demoule.plan.aims import cost_of
from demoule.plan.bound import bound_of
from demoule.plan.build import build_week
from demoule.plan.checker import RULES, Broken, check
from demoule.plan.clash_words import listed
from demoule.plan.clashes import clashes_of, refuse_circles
from demoule.plan.result import Answer, Clash, Plan, Task, stays_of, tasks_of, with_trays
from demoule.plan.search import Best, Effort, Progress, Search, search
from demoule.plan.table import Placed, Table
from demoule.plan.week import Week
from demoule.worked import Worked

__all__ = ["drawn_up", "finished", "plan", "plan_week", "with_findings"]


def plan(
    orders: OrderBook,
    worked: Sequence[Worked],
    kitchen: Kitchen,
    *,
    start: datetime.date,
    days: int | None = None,
    now: datetime.datetime | None = None,
    effort: Effort | None = None,
    progress: Progress | None = None,
    cancel: Callable[[], bool] | None = None,
) -> Plan:
    """Who does what, when, in which mould and freezer, for a week of orders.

    Parameters
    ----------
    orders, worked, kitchen
        What is wanted, the desserts worked up, and the kitchen they are made in.
    start, days, now
        The first day, how many days (None: seven, or up to the last dated order), and the moment before which nothing
        begins.
    effort
        How long to look. Bounded by work alone (the default), the same orders give the same week each time.
    progress, cancel
        Told the best week so far; asked whether to stop, which keeps it.

    Raises
    ------
    DemouleError
        What cannot be planned at all, in plain words. What merely does not fit is in the plan, with the reason.
    """
    week = build_week(orders, worked, kitchen, start=start, days=days, now=now)
    return plan_week(week, effort or Effort(), progress=progress, cancel=cancel)


def plan_week(
    week: Week,
    effort: Effort,
    *,
    progress: Progress | None = None,
    cancel: Callable[[], bool] | None = None,
    best: Best | None = None,
) -> Plan:
    """The plan of a week whose facts are told; `best` is given the best placement so far, to be kept if all ends."""
    refuse_circles(week)
    table = Table.of(week)
    run = search(table, effort, progress=progress, cancel=cancel, best=best)
    bound = None
    if effort.bound and not run.cancelled:
        bound = bound_of(
            table,
            cost_of(table, run.placement).total,
            seconds=None if effort.seconds is None else effort.seconds * 0.25,
            cancel=cancel,
        )
    return finished(table, run, bound=bound)


def finished(
    table: Table,
    run: Search,
    *,
    bound: int | None = None,
    prefer: Mapping[str, str] | None = None,
    moved: tuple[tuple[str, str], ...] = (),
) -> Plan:
    """The plan of a search that is over, gone through by the checker.

    What does not pass is never handed out: the last placement before it that passes is, or what is left of the plan
    without the lots concerned; a caution says so.

    Raises
    ------
    BadInput
        When nothing passes, not even a week in which nothing more is begun.
    """

    def drawn(placement: Mapping[str, Placed]) -> Plan:
        tasks = tasks_of(table, placement, prefer)
        return drawn_up(table, placement, tasks, bound=bound, work=run.spent, cancelled=run.cancelled, moved=moved)

    made = drawn(run.placement)
    broken = check(made)
    said: list[Finding] = []
    if broken:
        told = f"{broken[0].rule}: {broken[0].says}"
        made, what = _passing(drawn, run, broken)
        said.append(
            Finding(
                severity=Severity.CAUTION,
                rule="plan before",
                where="the week",
                says=f"The last plan found does not pass the checker ({told}). {what}",
                why="No plan is handed out that breaks a rule.",
                remedy="plan again, and report this.",
            )
        )
    if not made.works and not run.cancelled:
        made = replace(made, clashes=clashes_of(table, made.placement))
    made = with_findings(made)
    return replace(made, findings=by_severity([*made.findings, *said])) if said else made


def _passing(drawn: Callable[[Mapping[str, Placed]], Plan], run: Search, broken: Sequence[Broken]) -> tuple[Plan, str]:
    """The latest plan that passes the checker, and in words which one it is."""
    for placement in reversed(run.before):
        earlier = drawn(placement)
        if not check(earlier):
            return earlier, "This is the last one that does."
    table, placement, left = run.table, dict(run.placement), []
    while broken and placement:
        on = dict.fromkeys(table.lot_of[key] for key in placement)
        named = [key for key in on if any(f"{key} " in f"{one.says} " for one in broken)]
        for key in named or list(on):
            left.append(key)
            for job in table.week.lot(key).jobs:
                placement.pop(job.key, None)
        made = drawn(placement)
        broken = check(made)
        if not broken:
            return made, f"Left out of it: {', '.join(left)}."
    raise BadInput(
        f"No plan of this week passes the checker: {'; '.join(f'{one.rule}: {one.says}' for one in broken[:3])}.",
        remedy="report this; it is a fault of the program.",
    )


def drawn_up(
    table: Table,
    placement: Mapping[str, Placed],
    tasks: Sequence[Task],
    *,
    bound: int | None = None,
    work: float = 0.0,
    cancelled: bool = False,
    moved: tuple[tuple[str, str], ...] = (),
    clashes: tuple[Clash, ...] = (),
) -> Plan:
    """Everything that follows from jobs in their places, right or wrong; nobody has checked it yet."""
    week = table.week
    stays = tuple(stays_of(table, placement))
    tasks = tuple(with_trays(tasks, stays, week))
    unserved = tuple(lot.key for lot in week.lots if lot.jobs and lot.jobs[0].key not in placement)
    late: dict[str, int] = {}
    ends = {task.job.key: task.end for task in tasks}
    for lot in week.lots:
        for part in lot.parts:
            if part.job in ends:
                demand = week.demand(part.demand)
                over = ends[part.job] + demand.at_least - demand.moment
                if over > 0:
                    late[demand.key] = max(late.get(demand.key, 0), over)
    return Plan(
        week=week,
        tasks=tasks,
        stays=stays,
        unserved=unserved,
        late=tuple(late.items()),
        cost=cost_of(table, placement),
        bound=bound,
        findings=(),
        clashes=clashes,
        answers=_answers(week, tasks, unserved, late),
        checked=tuple(RULES),
        placement=dict(placement),
        work=work,
        cancelled=cancelled,
        moved=moved,
    )


def with_findings(made: Plan) -> Plan:
    """The plan with what there is to say of it."""
    return replace(made, findings=by_severity([*made.week.findings, *_findings(made)]))


def _findings(made: Plan) -> list[Finding]:
    found = _clashing(made.clashes)
    for key, seconds in made.late:
        found.append(
            Finding(
                severity=Severity.STOP,
                rule="late",
                where=key,
                says=f"{key} is ready {seconds / 60:.0f} min after its service.",
                remedy="serve it later, or see what would help.",
            )
        )
    warm = {
        lot.key: sum(task.job.warm for task in made.tasks if task.job.lot == lot.key)
        for lot in made.week.lots
        if not lot.stock
    }
    long = {key: seconds for key, seconds in warm.items() if seconds > 2 * 3600}
    if long:
        told = ", ".join(f"{key} {seconds / 60:.0f} min" for key, seconds in long.items())
        found.append(
            Finding(
                severity=Severity.CAUTION,
                rule="time out of the cold",
                source="two-four-hour-guide",
                where="the bench",
                says=f"Pieces are out of the cold for more than two hours in all: {told}.",
                why="Times above the limit add up; checked against four hours in all (two-hour/four-hour guide).",
                remedy="fill in two halves, or keep the bench cold. Local law and your own hazard analysis decide.",
            )
        )
    return found


_MOST_FACTS = 8


def _clashing(clashes: Sequence[Clash]) -> list[Finding]:
    """One stop for each set of remedies: lots that the same thing stands in the way of are told together."""
    alike: dict[tuple[str, ...], list[Clash]] = {}
    for clash in clashes:
        alike.setdefault(clash.remedies or (clash.lot,), []).append(clash)
    found = []
    for remedies, group in alike.items():
        first = group[0]
        facts = [*dict.fromkeys(fact for clash in group for fact in clash.facts)]
        if len(group) == 1:
            says = f"{first.lot} is {first.what}: {facts.pop(0)}."
        else:
            states = {what: [c.lot for c in group if c.what == what] for what in ("not made", "late")}
            parts = [
                f"{listed(lots)} {'is' if len(lots) == 1 else 'are'} {what}" for what, lots in states.items() if lots
            ]
            says = f"{'; '.join(parts)}."
            # What stands in the way first; of what is wanted, one line for each hour.
            wanted = [clash.facts[0] for clash in group]
            hours = {fact.partition(" are wanted ")[2]: fact for fact in reversed(wanted)}
            facts = [*(fact for fact in facts if " are wanted " not in fact), *hours.values()]
        more = len(facts) - _MOST_FACTS
        why = "; ".join(facts[:_MOST_FACTS]) + (f"; and {more} more" if more > 0 else "")
        found.append(
            Finding(
                severity=Severity.STOP,
                rule=first.what,
                where=", ".join(clash.lot for clash in group),
                says=says,
                why=f"{why[:1].upper()}{why[1:]}." if why else "",
                remedy="; or ".join(remedy.removesuffix(".") for remedy in remedies) + "." if remedies else "",
            )
        )
    return found


def _answers(week: Week, tasks: Sequence[Task], unserved: Sequence[str], late: Mapping[str, int]) -> tuple[Answer, ...]:
    """For each service, the four figures on top of the week."""
    by_job = {task.job.key: task for task in tasks}
    answers = []
    orders: dict[tuple[int, str], list[str]] = {}
    for demand in week.demands:
        orders.setdefault((demand.moment, demand.order), []).append(demand.key)
    for (moment, order), keys in sorted(orders.items()):
        lots = [lot for lot in week.lots if any(part.demand in keys for part in lot.parts)]
        mine = [by_job[job.key] for lot in lots for job in lot.jobs if job.key in by_job]
        work = [task for task in mine if task.job.kind != "take out"]
        first = min(work, key=lambda task: (task.start, task.job.key), default=None)
        hearts = min((task.start for task in work if task.job.kind == "fill hearts"), default=None)
        into: dict[str, tuple[str, int, int, int]] = {}
        for lot in lots:
            for part in lot.parts:
                if part.demand in keys and part.job in by_job:
                    demand, task = week.demand(part.demand), by_job[part.job]
                    old = into.get(demand.dessert)
                    out = min(task.start, old[1]) if old else task.start
                    into[demand.dessert] = (
                        demand.dessert,
                        out,
                        demand.moment - demand.at_most - task.job.seconds,
                        demand.moment - demand.at_least - task.job.seconds,
                    )
        spare: dict[str, int] = {}
        names = dict.fromkeys(week.demand(key).dessert for key in keys)
        for lot in week.lots:
            if lot.dessert in names and not lot.stock and lot.key not in unserved:
                room = lot.weighing.room if lot.weighing else 0
                spare[lot.dessert] = spare.get(lot.dessert, 0) + lot.spare + room
        answers.append(
            Answer(
                order=order,
                moment=moment,
                pieces=sum(week.demand(key).pieces for key in keys),
                ready=not any(lot.key in unserved for lot in lots) and not any(key in late for key in keys),
                first_start=first.start if first else None,
                first_does=f"{first.job.lot}: {first.job.does}" if first else "",
                slack=_slack(week, first, tasks) if first else None,
                first_heart=hearts,
                into_room=tuple(into.values()),
                spare=tuple(spare.items()),
            )
        )
    return tuple(answers)


def _slack(week: Week, first: Task, tasks: Sequence[Task]) -> int:
    """Seconds by which one job could begin later while everything else stays as it is."""
    lot = week.lot(first.job.lot)
    by_job = {task.job.key: task for task in tasks}
    latest = [by_job[lag.after].start - lag.at_least for lag in lot.lags if lag.before == first.job.key]
    latest += [task.start for task in tasks if task.person == first.person and task.start > first.start]
    person = next((one for one in week.hands if one.name == first.person), None)
    if person is not None:
        latest += [b for a, b in (*person.blocks, *person.extra) if a <= first.start < b]
    return max(min(latest, default=first.end) - first.end, 0)
