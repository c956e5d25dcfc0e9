"""A plan in the words of a language: moments, lengths of time, jobs, what stands where, and rules that are broken."""

from __future__ import annotations

from typing import Any

from demoule.figures import Finding
from demoule.plan import Broken, Plan, Stay, Task
from demoule.sheets.week_picture import lot_marks
from demoule.units.showing import Language
from demoule.web.week_words import day_name, told
from demoule.web.wording import words_of

__all__ = ["Teller", "broken_told"]


class Teller:
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

    def hours(self, seconds: float) -> str:
        """A length of time: "6 h 50", "35 min"."""
        minutes = round(seconds / 60)
        if minutes < 0:
            return f"−{self.hours(-seconds)}"
        if minutes >= 5 * 1440:
            return self.words("week.days_long", count=round(minutes / 1440))
        if minutes < 60:
            return f"{minutes}\u202fmin"
        return f"{minutes // 60}\u202fh" + (f" {minutes % 60:02d}" if minutes % 60 else "")

    def count(self, counted: str, number: float) -> str:
        """A number of trays, levels, bowls: one, or many."""
        shown = f"{number:g}".replace(".", self.words("week.point"))
        return self.words(f"{'one' if number == 1 else 'many'}.{counted}", count=shown)

    def says(self, words: str) -> str:
        """A sentence of the planner."""
        return told(words, self.language)

    def task(self, task: Task) -> str:
        """A job in one line."""
        start, end = self.plan.week.clock(task.start), self.plan.week.clock(task.end)
        day = day_name(start.weekday(), self.language)
        return f"{day} {start:%H:%M}–{end:%H:%M}, {task.person}: {task.job.lot}, {self.says(task.job.does)}"

    def stay(self, stay: Stay) -> str:
        """What stands somewhere, in one line."""
        resource = self.plan.week.resource(stay.resource)
        count = stay.amount / resource.per
        counted = self.count(resource.counted, count)
        room = self.says(stay.resource)
        return f"{stay.lot}: {self.says(stay.why)}, {self.at(stay.start)} – {self.at(stay.end)}, {room}, {counted}"

    def finding(self, finding: Finding) -> dict[str, str]:
        """A finding, in words."""
        return {
            "severity": str(finding.severity), "rule": finding.rule, "where": finding.where,
            "says": self.says(finding.says), "why": self.says(finding.why), "remedy": self.says(finding.remedy),
            "source": finding.source,
        }  # fmt: skip


def broken_told(plan: Plan, broken: Broken, language: Language) -> dict[str, Any]:
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
