"""The checker's list of rules, and what they all need: the tasks by job, the clock, and what is taken when."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

if TYPE_CHECKING:
    from demoule.plan.result import Plan, Task

__all__ = ["RULES", "Broken", "Rule", "at_clock", "by_job", "rule", "spans_of"]


@dataclass(frozen=True, slots=True)
class Broken:
    """A rule that a plan breaks, and where."""

    rule: str
    says: str


Rule: TypeAlias = "Callable[[Plan], Iterator[str]]"
RULES: dict[str, Rule] = {}
"""All rules by name."""


def rule(name: str) -> Callable[[Rule], Rule]:
    """Enter a rule."""

    def enter(function: Rule) -> Rule:
        RULES[name] = function
        return function

    return enter


def at_clock(plan: Plan, moment: float) -> datetime.datetime:
    """The time on the kitchen's clock."""
    beginning = plan.week.start.astimezone(datetime.UTC)
    return (beginning + datetime.timedelta(seconds=moment)).astimezone(plan.week.start.tzinfo)


def by_job(plan: Plan) -> dict[str, Task]:
    """Tasks by the key of their job."""
    return {task.job.key: task for task in plan.tasks}


def spans_of(plan: Plan) -> Iterator[tuple[str, int, int, int, str, str]]:
    """Places that are taken, worked out anew from the tasks: of what, how many, from, to, by which lot, why."""
    tasks = by_job(plan)
    for lot in plan.week.lots:
        if lot.key in plan.unserved:
            continue
        for hold in lot.holds:
            first = tasks.get(hold.first)
            last = tasks.get(hold.last) if hold.last else None
            if first is None or (hold.last and last is None):
                continue
            begin = first.end if hold.begins == "end" else first.start
            over = hold.until or begin
            end = over if last is None else last.end if hold.ends == "end" else last.start
            if end > begin:
                yield hold.resource, hold.amount, begin, end, lot.key, hold.why
