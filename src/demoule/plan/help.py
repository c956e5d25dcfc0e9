"""What would help: one more tray, place, hour, or an order a day later; each tried, none guessed."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace

from demoule.plan.aims import Cost, cost_of, lot_cost
from demoule.plan.result import Plan, tasks_of
from demoule.plan.search import Effort, Search
from demoule.plan.table import Placed, Table
from demoule.plan.week import SLOT, Week
from demoule.plan.wishes import Wish, hour_more, hours_of, moved_by_days, things

__all__ = ["Help", "Helps", "what_would_help"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Help:
    """One change, and what it was found to bring.

    Parameters
    ----------
    kind
        "tray", "place", "machine", "hour", "day".
    pieces
        More pieces served.
    late, overtime
        Minutes less.
    aim
        Cost less, in the units of the aims.
    serves
        Demands that it serves, or serves on time, and that are not so without it.
    """

    change: str
    kind: str
    pieces: int
    late: float
    overtime: float
    aim: int
    serves: tuple[str, ...] = ()

    @property
    def helps(self) -> bool:
        """Whether it serves more, or less late."""
        return self.pieces > 0 or (self.pieces == 0 and self.late > 0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Helps:
    """Changes that were tried, the most helpful first, and those for which there was no time."""

    tried: tuple[Help, ...]
    untried: tuple[str, ...] = ()

    @property
    def helping(self) -> tuple[Help, ...]:
        """Those that serve more, or less late."""
        return tuple(one for one in self.tried if one.helps)


def what_would_help(
    plan: Plan,
    *,
    effort: Effort | None = None,
    most: float = 40.0,
    progress: Callable[[str], None] | None = None,
    cancel: Callable[[], bool] | None = None,
) -> Helps:
    """Every single change tried on the plan, each by searching again.

    The plan as it is gets the same further search as each change, so that what more searching alone would bring is
    not taken for the help of the change. Hours are asked for from the whole to the part: all people longer each day,
    then each of them, then the single days of those who bring something; what does not help as a whole does not help
    in part.

    Parameters
    ----------
    effort
        Of one change.
    most
        Work in all, counted as in `Effort`; what is left then is named and not tried.
    progress, cancel
        Told what is tried; asked whether to stop, which keeps what was found.
    """
    return _Trial(plan, effort or Effort(work=1.5, bound=False, whole=0), most, progress, cancel).all()


Lying = Mapping[str, tuple[int, str, bool]]
"""Where jobs lie, by whose hands, and whether it is overtime."""


@dataclass(slots=True)
class _Trial:
    plan: Plan
    effort: Effort
    most: float
    progress: Callable[[str], None] | None
    cancel: Callable[[], bool] | None
    spent: float = 0.0
    before: Cost = field(init=False)
    lying: Lying = field(init=False)
    served: frozenset[str] = field(init=False)
    found: list[Help] = field(default_factory=list)
    untried: list[str] = field(default_factory=list)

    def all(self) -> Helps:
        plan = self.plan
        self.lying = {
            task.job.key: (plan.placement[task.job.key].slot, task.person, plan.placement[task.job.key].extra)
            for task in plan.tasks
        }
        self._tell("the week as it is")
        self.lying = _lying(self._searched(plan.week))
        run = self._searched(plan.week)
        self.before, self.served = cost_of(run.table, run.placement), _served(run)
        first, then = self._ordered()
        for wish in first:
            self._try(wish)
        short_of_hands = any("hands" in clash.about for clash in plan.clashes)
        if short_of_hands:
            self._hours()
        for wish in then:
            self._try(wish)
        if not short_of_hands:
            self._hours()
        order = sorted(self.found, key=lambda one: (-one.pieces, -one.late, -one.aim, one.change))
        return Helps(tried=tuple(order), untried=tuple(self.untried))

    def _ordered(self) -> tuple[list[Wish], list[Wish]]:
        """What a clash names, and the rest."""
        plan = self.plan
        orders = [*dict.fromkeys(plan.week.demand(key).order for key in self._in_trouble())]
        days = [moved_by_days(plan.week, order, shift) for order in orders for shift in (1, -1)]
        wishes = [*things(plan.week), *(wish for wish in days if wish is not None)]
        named = {name for clash in plan.clashes for name in (*clash.about, clash.lot)}
        return [w for w in wishes if w.about & named], [w for w in wishes if not w.about & named]

    def _in_trouble(self) -> list[str]:
        """Demands that are late or not served, and those that stand in their way."""
        plan = self.plan
        lots = [*plan.unserved, *(name for clash in plan.clashes for name in clash.about)]
        keys = {lot.key: lot for lot in plan.week.lots}
        stuck = [part.demand for key in lots if key in keys for part in keys[key].parts]
        return [*dict.fromkeys([key for key, _ in plan.late] + stuck)]

    def _hours(self) -> None:
        """From everybody to one person, from the week to the day."""
        week, people = self.plan.week, self.plan.week.hands
        alike: dict[object, list[str]] = {}
        for one in people:
            key = (one.blocks, one.extra, one.skills, one.pay, one.overtime_factor)
            alike.setdefault(key, []).append(one.name)
        everybody = self._value(
            "everybody an hour more at both ends of each day", hour_more(week, [p.name for p in people])
        )
        if everybody is None:
            self.untried.append("one hour more of each person")
            return
        for names in alike.values():
            person = next(one for one in people if one.name == names[0])
            whole = f"{person.name} one hour more at both ends of each day"
            value = self._value(whole, hour_more(week, names[:1])) if everybody.helps or everybody.aim > 0 else None
            if value is None:
                if everybody.helps or everybody.aim > 0:
                    self.untried.append(f"one hour more of {person.name}")
                continue
            if value.helps:
                for wish in sorted(hours_of(week, person, names[1:]), key=self._apart):
                    self._try(wish)
            elif value.aim > 0:
                self.found.append(replace(value, kind="hour"))

    def _apart(self, wish: Wish) -> tuple[int, int]:
        """Days between an hour more and the first service in trouble; what lies after it comes last."""
        week = self.plan.week
        moments = [week.demand(key).moment - week.demand(key).at_least for key in self._in_trouble()]
        day = (week.clock(min(moments)).date() - week.start.date()).days if moments else 0
        return (0, day - wish.day) if wish.day <= day else (1, wish.day - day)

    def _try(self, wish: Wish) -> None:
        values = [self._value(words, week, wish.kind) for words, week in wish.ways]
        tried = [value for value in values if value is not None]
        if not tried:
            self.untried.append(wish.ways[0][0])
            return
        self.found.append(max(tried, key=lambda one: (one.pieces, one.late, one.aim)))

    def _value(self, words: str, week: Week, kind: str = "hour") -> Help | None:
        """What a change brings; None when there is no time to try it."""
        if self.spent >= self.most or (self.cancel is not None and self.cancel()):
            return None
        self._tell(words)
        run = self._searched(week)
        after = cost_of(run.table, run.placement)
        served = _served(run)
        return Help(
            change=words,
            kind=kind,
            pieces=self.before.unserved - after.unserved,
            late=(self.before.late - after.late) * SLOT / 60,
            overtime=(self.before.overtime - after.overtime) * SLOT / 60,
            aim=self.before.total - after.total,
            serves=tuple(key for key in (d.key for d in week.demands) if key in served - self.served),
        )

    def _searched(self, week: Week) -> Search:
        """The week searched again from where the plan lies, what no longer is the same left out of it first."""
        table = Table.of(week)
        run = Search(table=table, effort=self.effort, cancel=self.cancel)
        for lot in week.lots:
            if all(job.key in self.lying for job in lot.jobs) and _same(self.plan.week, week, lot.key):
                for job in lot.jobs:
                    slot, person, extra = self.lying[job.key]
                    run.placement[job.key] = Placed(slot, table.crew_of(person), extra)
        run.first([lot for lot in week.lots if lot.jobs and lot.jobs[0].key not in run.placement])
        run.mend()
        if not run.in_trouble():
            run.improve()
        self.spent += run.spent
        return run

    def _tell(self, words: str) -> None:
        if self.progress is not None:
            self.progress(words)


def _same(old: Week, new: Week, key: str) -> bool:
    """Whether a lot is still the same work at the same hours; else it is placed anew."""
    one = next((lot for lot in old.lots if lot.key == key), None)
    other = new.lot(key)
    if one is None or (one.jobs, one.lags) != (other.jobs, other.lags):
        return False
    return all(old.demand(part.demand).moment == new.demand(part.demand).moment for part in other.parts)


def _lying(run: Search) -> Lying:
    return {
        task.job.key: (run.placement[task.job.key].slot, task.person, task.overtime)
        for task in tasks_of(run.table, run.placement)
    }


def _served(run: Search) -> frozenset[str]:
    """Demands that are served in full and on time."""
    bad = set()
    for lot in run.table.week.lots:
        cost = lot_cost(run.table, run.placement, lot)
        if cost.unserved:
            bad |= {part.demand for part in lot.parts}
        for part in lot.parts:
            if cost.late and part.job in run.placement:
                demand = run.table.week.demand(part.demand)
                end = run.placement[part.job].slot + run.table.length[part.job]
                if end * SLOT + demand.at_least > demand.moment:
                    bad.add(part.demand)
    return frozenset(demand.key for demand in run.table.week.demands) - bad
