"""Why something does not fit: the smallest set of facts that cannot hold together, in plain words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from demoule.errors import BadInput
from demoule.plan.aims import lot_cost
from demoule.plan.cycles import Arc, impossible_circle
from demoule.plan.model import WINDOW, solve
from demoule.plan.result import Clash
from demoule.plan.table import Placed, Table
from demoule.plan.week import SLOT, Lot, Week

__all__ = ["clashes_of", "refuse_circles"]

_WORK = 0.6


def refuse_circles(week: Week) -> None:
    """Raise BadInput when the rests of a lot contradict each other, and name them."""
    for lot in week.lots:
        length = {job.key: job.seconds for job in lot.jobs}
        arcs: list[Arc] = []
        said: dict[Arc, str] = {}
        for lag in lot.lags:
            least = (lag.before, lag.after, length[lag.before] + lag.at_least)
            arcs.append(least)
            said[least] = f"{lag.why} at least {_hours(lag.at_least)}"
            if lag.at_most is not None:
                most = (lag.after, lag.before, -length[lag.before] - lag.at_most)
                arcs.append(most)
                said[most] = f"{lag.why} at most {_hours(lag.at_most)}"
        circle = impossible_circle(length, arcs)
        if circle:
            raise BadInput(
                f"The rests of {lot.dessert} cannot all hold: {'; '.join(said[arc] for arc in circle)}.",
                where=f"dessert “{lot.dessert}”",
                remedy="let the longer rest begin earlier, or allow the shorter one to be longer.",
            )


def clashes_of(table: Table, placement: Mapping[str, Placed]) -> tuple[Clash, ...]:
    """For each lot that is late or not made, the facts that stand in its way while all others stay as they are."""
    found = []
    for lot in table.week.lots:
        cost = lot_cost(table, placement, lot)
        if cost.unserved or cost.late:
            found.append(_clash(table, placement, lot, late=not cost.unserved))
    return tuple(found)


def _clash(table: Table, placement: Mapping[str, Placed], lot: Lot, *, late: bool) -> Clash:
    facts = _facts(lot)
    base = frozenset({"on time"}) if late else frozenset()

    def fits(ignoring: frozenset[str]) -> bool:
        solved = solve(table, [lot.key], placement, must=True, ignoring=base | ignoring, work=_WORK)
        return solved.found or not solved.proven

    dropped: frozenset[str] = frozenset()
    kept: list[str] = []
    if fits(dropped):
        return Clash(
            lot=lot.key,
            what="late" if late else "not made",
            facts=("it would fit by itself; there was no time left to place it",),
            remedies=("plan for longer.",),
        )
    for fact in facts:
        if fits(dropped | {fact}):
            kept.append(fact)  # it can be placed without this one: it belongs to the clash
        else:
            dropped |= {fact}
    words = [_due(table, lot), *(_words(table, placement, lot, fact) for fact in kept)]
    remedies = [_remedy(table, fact) for fact in kept]
    return Clash(
        lot=lot.key,
        what="late" if late else "not made",
        facts=tuple(words),
        remedies=tuple(dict.fromkeys(r for r in remedies if r)),
    )


def _facts(lot: Lot) -> Sequence[str]:
    """What may be short for a lot; what others take first, so that the last left are the plain ones."""
    lags = dict.fromkeys(f"lag {lag.why}" for lag in lot.lags if lag.at_most is not None)
    machines = dict.fromkeys(use.resource for job in lot.jobs for use in job.uses)
    places = dict.fromkeys(hold.resource for hold in lot.holds)
    return [*lags, *machines, *places, "hands", "now"]


def _window(table: Table, lot: Lot) -> tuple[int, int]:
    due = table.due[lot.key]
    return max(table.first, due - WINDOW), due


def _due(table: Table, lot: Lot) -> str:
    demand = min((table.week.demand(p.demand) for p in lot.parts), key=lambda d: d.moment)
    out = demand.moment - demand.at_least
    return (
        f"{lot.pieces} {lot.dessert} ({lot.key}) are wanted from {table.week.told(demand.moment)} on, "
        f"so the first must be out of the freezer by {table.week.told(out)}"
    )


def _words(table: Table, placement: Mapping[str, Placed], lot: Lot, fact: str) -> str:
    week = table.week
    opens, due = _window(table, lot)
    if fact == "now":
        return f"nothing can begin before {week.told(table.first * SLOT)}"
    if fact == "hands":
        needed = sum(job.seconds for job in lot.jobs) / 3600
        _, busy = table.taken({k: p for k, p in placement.items() if table.lot_of[k] != lot.key})
        free = 0.0
        for crew, people in enumerate(table.crews):
            there = people.regular | people.extra
            free += max(int((there[opens:due] * people.size).sum() - busy[crew][opens:due].sum()), 0) * SLOT / 3600
        skills = sorted({job.skill for job in lot.jobs if job.skill})
        told = f"; only some may {' and '.join(skills)}" if skills else ""
        return (
            f"it needs {needed:.1f} h of hands between {week.told(opens * SLOT)} and {week.told(due * SLOT)}, where "
            f"{free:.1f} h are free, not always in one piece or at the hour wanted{told}"
        )
    if fact.startswith("lag "):
        lag = next(one for one in lot.lags if f"lag {one.why}" == fact and one.at_most is not None)
        return f"{lag.why} for {_hours(lag.at_most or 0)} at most"
    return _short(table, placement, lot, fact)


def _short(table: Table, placement: Mapping[str, Placed], lot: Lot, name: str) -> str:
    week = table.week
    resource = week.resource(name)
    most = max(
        [hold.amount for hold in lot.holds if hold.resource == name]
        + [use.amount for job in lot.jobs for use in job.uses if use.resource == name]
    )
    opens, due = _window(table, lot)
    taken, _ = table.taken({k: p for k, p in placement.items() if table.lot_of[k] != lot.key})
    tight = [t for t in range(opens, due) if resource.amount - taken[name][t] < most]
    words = (
        f"{lot.key} needs {_count(most, resource.per, resource.counted)} of {name}; "
        f"there {'are' if resource.amount > resource.per else 'is'} {_count(resource.amount, resource.per, '').strip()}"
    )
    if not tight:
        return words
    begin = end = tight[-1]
    while begin - 1 in tight[-2000:] and begin > opens:
        begin -= 1
    others = [
        other.key
        for other in week.lots
        if other.key != lot.key
        and other.jobs
        and other.jobs[0].key in placement
        and any(hold.resource == name and _meets(table.held(hold, placement), begin, end + 1) for hold in other.holds)
    ]
    held = f", taken by {', '.join(others)}" if others else ""
    return f"{words}, and from {week.told(begin * SLOT)} to {week.told((end + 1) * SLOT)} too few are free{held}"


def _meets(span: tuple[int, int], a: int, b: int) -> bool:
    return span[0] < b and a < span[1]


def _count(amount: int, per: int, counted: str) -> str:
    number = amount / per
    return f"{number:g} {counted}{'s' if number != 1 and counted else ''}"


def _remedy(table: Table, fact: str) -> str:
    if fact == "hands":
        return "add an hour of hands, or let somebody come earlier."
    if fact == "now":
        return "begin earlier, or serve later."
    if fact.startswith("lag "):
        return f"let {fact[4:]} longer, if the recipe allows it."
    resource = table.week.resource(fact)
    if resource.kind == "mould":
        return f"borrow one more tray of “{fact}”."
    return f"make room: one more {resource.counted} of {fact}."


def _hours(seconds: float) -> str:
    return f"{seconds / 3600:.1f} h".replace(".0 h", " h")
