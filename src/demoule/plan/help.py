"""What would help: one more tray, place, hour, or an order a day later; each tried, none guessed."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from demoule.plan.aims import Cost, cost_of
from demoule.plan.result import Plan
from demoule.plan.search import Effort, Search
from demoule.plan.table import Placed, Table
from demoule.plan.week import SLOT, Hands, Week

__all__ = ["Help", "what_would_help"]

_DAY = 86400


@dataclass(frozen=True, slots=True, kw_only=True)
class Help:
    """One change, and what it was found to bring.

    Parameters
    ----------
    pieces
        More pieces served.
    late, overtime
        Minutes less.
    aim
        Cost less, in the units of the aims.
    """

    change: str
    kind: str  # "tray", "place", "hour", "day"
    pieces: int
    late: float
    overtime: float
    aim: int

    @property
    def helps(self) -> bool:
        """Whether it serves more, or less late."""
        return self.pieces > 0 or self.late > 0


def what_would_help(
    plan: Plan, *, effort: Effort | None = None, cancel: Callable[[], bool] | None = None
) -> tuple[Help, ...]:
    """Every single change tried on the plan, the most helpful first.

    The plan as it is gets the same further search as each change, so that what more searching alone would bring is
    not taken for the help of the change.
    """
    budget = effort or Effort(work=3.0, bound=False, whole=0)
    before = _after(plan, plan.week, budget, cancel)
    found = []
    for kind, words, week in _changes(plan.week, plan):
        if cancel is not None and cancel():
            break
        after = _after(plan, week, budget, cancel)
        found.append(
            Help(
                change=words,
                kind=kind,
                pieces=before.unserved - after.unserved,
                late=(before.late - after.late) * SLOT / 60,
                overtime=(before.overtime - after.overtime) * SLOT / 60,
                aim=before.total - after.total,
            )
        )
    return tuple(sorted(found, key=lambda one: (-one.pieces, -one.late, -one.aim, one.change)))


def _after(plan: Plan, week: Week, effort: Effort, cancel: Callable[[], bool] | None) -> Cost:
    table = Table.of(week)
    run = Search(table=table, effort=effort, cancel=cancel)
    names = {task.job.key: task.person for task in plan.tasks}
    run.placement = {
        key: Placed(place.slot, table.crew_of(names[key]), place.extra) for key, place in plan.placement.items()
    }
    run.first([lot for lot in week.lots if lot.jobs and lot.jobs[0].key not in run.placement])
    run.mend()
    if not run.in_trouble():
        run.improve()
    return cost_of(table, run.placement)


def _changes(week: Week, plan: Plan) -> Iterator[tuple[str, str, Week]]:
    for resource in week.resources:
        if resource.kind == "machine" and resource.counted == "pan":
            continue
        more = tuple(replace(r, amount=r.amount + r.per) if r.name == resource.name else r for r in week.resources)
        kind = "tray" if resource.kind == "mould" else "place"
        yield kind, f"one more {resource.counted} of {resource.name}", replace(week, resources=more)
    for person in week.hands:
        longer = tuple(_an_hour(p, week.length) if p.name == person.name else p for p in week.hands)
        yield "hour", f"{person.name} one hour longer each day", replace(week, hands=longer)
    stuck = {part.demand for key in plan.unserved for part in week.lot(key).parts} | {key for key, _ in plan.late}
    for order in dict.fromkeys(week.demand(key).order for key in stuck):
        later = tuple(replace(d, moment=d.moment + _DAY) if d.order == order else d for d in week.demands)
        moved = {d.key for d in later if d.order == order}
        lots = tuple(
            replace(
                lot,
                holds=tuple(
                    replace(h, until=h.until + _DAY)
                    if h.until is not None and any(p.job == h.first and p.demand in moved for p in lot.parts)
                    else h
                    for h in lot.holds
                ),
            )
            for lot in week.lots
        )
        yield "day", f"{order} a day later", replace(week, demands=later, lots=lots, length=week.length + _DAY)


def _an_hour(person: Hands, length: int) -> Hands:
    """The last block of each day an hour longer; overtime begins after it."""
    blocks = []
    spans = sorted(person.blocks)
    for k, (a, b) in enumerate(spans):
        last = k + 1 == len(spans) or spans[k + 1][0] - b > 4 * 3600
        blocks.append((a, min(b + 3600, length)) if last else (a, b))
    extra = tuple((max(a, next((y for x, y in blocks if x <= a < y), a)), b) for a, b in person.extra)
    return replace(person, blocks=tuple(blocks), extra=tuple((a, b) for a, b in extra if b > a))
