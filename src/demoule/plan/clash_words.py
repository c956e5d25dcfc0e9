"""The facts of a clash in plain words, with numbers and hours."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from demoule.plan.cycles import Arc, longest_paths
from demoule.plan.table import WINDOW, Placed, Table
from demoule.plan.week import SLOT, Lot

__all__ = ["facts_in_words", "listed", "remedies_for"]


def facts_in_words(
    table: Table, lots: Sequence[str], limits: Sequence[str], placement: Mapping[str, Placed] | None
) -> tuple[str, ...]:
    """What is wanted, and each limit in the way.

    Parameters
    ----------
    placement
        Where other lots lie, when the clash is one with them; None: the lots clash by themselves.
    """
    wanted = [table.week.lot(key) for key in lots]
    return (
        *(_wanted(table, lot) for lot in wanted),
        *(_limit(table, wanted, name, placement) for name in limits),
        *(_work(table, lot) for lot in wanted if not set(limits) - {"now"}),
    )


def _work(table: Table, lot: Lot) -> str:
    """What remains when nothing is short: the work and the rests themselves, and what is out of order."""
    week = table.week
    opens = max(table.first, table.due[lot.key] - WINDOW)
    begins = {job.key: week.begun[job.key][0] // SLOT if job.key in week.begun else opens for job in lot.jobs}
    arcs = [*_arcs(table, lot), *(("", key, slot) for key, slot in begins.items())]
    start, _ = longest_paths(["", *begins], arcs)
    out = min((start[p.job] + table.length[p.job] for p in lot.parts if p.job not in week.begun), default=opens)
    words = f"by work and shortest rests alone the first of {lot.key} are out at {week.told(out * SLOT)}"
    holds = {hold.resource for hold in lot.holds} | {use.resource for job in lot.jobs for use in job.uses}
    down = [
        f"{name} is out of order from {week.told(a)} to {week.told(b)}" for name, a, b in week.down if name in holds
    ]
    return "; ".join([words, *down])


def _wanted(table: Table, lot: Lot) -> str:
    week = table.week
    parts = [part for part in lot.parts if part.job not in week.begun] or lot.parts
    demand = min((week.demand(p.demand) for p in parts), key=lambda d: d.moment)
    pieces = sum(part.pieces for part in parts)
    out = f"out of the freezer by {week.told(demand.moment - demand.at_least)}"
    return f"{pieces} {lot.dessert} ({lot.key}) are wanted from {week.told(demand.moment)} on, {out}"


def _limit(table: Table, lots: Sequence[Lot], name: str, placement: Mapping[str, Placed] | None) -> str:
    week = table.week
    if name == "now":
        return f"nothing can begin before {week.told(table.first * SLOT)}"
    if name == "hands":
        return _hands(table, lots, placement)
    if name.startswith("lag "):
        lag = next(one for lot in lots for one in lot.lags if f"lag {one.why}" == name and one.at_most is not None)
        return (
            f"between “{_does(table, lag.before)}” and “{_does(table, lag.after)}” no more than {_hours(lag.at_most)}"
        )
    return _short(table, lots, name, placement)


def _does(table: Table, job: str) -> str:
    does = table.week.job(job).does
    return does[:1].lower() + does[1:]


def _nobody(table: Table, lots: Sequence[Lot]) -> list[tuple[str, str, str]]:
    """Takings-out for which nobody is at work in the hours for it: the order, and those hours in words."""
    week = table.week
    found = []
    for lot in lots:
        for part in lot.parts:
            if part.job in week.begun:
                continue
            demand, job = week.demand(part.demand), week.job(part.job)
            length = table.length[part.job]
            a = max((demand.moment - demand.at_most) // SLOT - length, table.first)
            b = max((demand.moment - demand.at_least) // SLOT - length, a)
            there = [
                table.working(crew, extra, length)[a : b + 1].any()
                for crew, people in enumerate(table.crews)
                if table.may_do(people, job)
                for extra in (False, True)
            ]
            if not any(there):
                found.append((demand.order, week.told(a * SLOT), week.told((b + length) * SLOT)))
    return found


def _hands(table: Table, lots: Sequence[Lot], placement: Mapping[str, Placed] | None) -> str:
    week = table.week
    nobody = _nobody(table, lots)
    if nobody:
        return "; ".join(
            f"nobody is at work between {a} and {b} to take the pieces for {order} out" for order, a, b in nobody
        )
    opens, closes = _window(table, lots)
    needed = sum(job.seconds for lot in lots for job in lot.jobs) / 3600
    keys = {lot.key for lot in lots}
    _, busy = table.taken({k: p for k, p in (placement or {}).items() if table.lot_of[k] not in keys})
    free = 0.0
    for crew, people in enumerate(table.crews):
        there = people.regular | people.extra
        free += max(int((there[opens:closes] * people.size).sum() - busy[crew][opens:closes].sum()), 0) * SLOT / 3600
    span = f"between {week.told(opens * SLOT)} and {week.told(closes * SLOT)}"
    told = f"{_they(lots)} {needed:.1f} h of hands {span}, where {free:.1f} h are {'free' if placement else 'there'}"
    if needed <= free:
        told += ", but not in one piece at the hours when they must be"
    skills = sorted({job.skill for lot in lots for job in lot.jobs if job.skill})
    for skill in skills:
        who = [name for people in table.crews if skill in people.skills for name in people.names]
        told += f"; only {listed(who)} may {skill}"
    return told


def _they(lots: Sequence[Lot]) -> str:
    return f"{lots[0].key} needs" if len(lots) == 1 else f"{listed([lot.key for lot in lots])} need"


def _short(table: Table, lots: Sequence[Lot], name: str, placement: Mapping[str, Placed] | None) -> str:
    week = table.week
    resource = week.resource(name)
    asks: dict[str, tuple[int, int, int, int]] = {}  # lot: amount, least slots, earliest, latest
    for lot in lots:
        early, late = _earliest(table, lot), _latest(table, lot)
        found = []
        for hold in lot.holds:
            if hold.resource != name:
                continue
            a = table.length[hold.first] if hold.begins == "end" else 0
            if hold.last:
                b = early[hold.last] + (table.length[hold.last] if hold.ends == "end" else 0)
                least = max(b - early[hold.first] - a, 1)
            else:
                least = 1
            found.append((hold.amount, least, early[hold.first] + a, late[hold.first] + a))
        for job in lot.jobs:
            found += [
                (use.amount, use.seconds // SLOT, early[job.key], late[job.key])
                for use in job.uses
                if use.resource == name
            ]
        if found:
            asks[lot.key] = max(found)
    most = max(amount for amount, *_ in asks.values())
    own = "you own" if resource.kind == "mould" else "there are" if resource.amount > resource.per else "there is"
    have = f"{own} {_number(resource.amount, resource.per)}"
    if len(asks) == 1:
        ((key, (amount, least, _, last)),) = asks.items()
        when = f"from {week.told(last * SLOT)} at the latest, for {_hours(least * SLOT)} or more"
        words = f"{key} needs {_count(amount, resource.per, _called(resource.counted, name))} {when}; {have}"
    else:
        amounts = {amount for amount, *_ in asks.values()}
        need = (
            f"each need {_count(most, resource.per, _called(resource.counted, name))}"
            if len(amounts) == 1
            else f"need {listed([_number(a, resource.per) for a, *_ in asks.values()])} "
            f"{_called(resource.counted, name, many=True)}"
        )
        least = min(ask[1] for ask in asks.values())
        begins = min(ask[2] for ask in asks.values())
        ends = max(late + span for _, span, _, late in asks.values())
        words = (
            f"{listed(list(asks))} {need}, for {_hours(least * SLOT)} or more, between {week.told(begins * SLOT)} "
            f"and {week.told(ends * SLOT)}; {have}"
        )
    if placement is not None:
        others = _takers(table, placement, lots, name)
        words += f", and {listed(others)} {'is' if len(others) == 1 else 'are'} in the way" if others else ""
    return words


def _called(counted: str, name: str, *, many: bool = False) -> str:
    """What one is called: "tray of quince 110 ml", "level of the refrigerator", "spray gun"."""
    if counted in ("tray", "level"):
        of = name if counted == "tray" else f"the {name}"
        return f"{counted}{'s' if many else ''} of {of}"
    return f"{name}{'s' if many else ''}"


def _takers(table: Table, placement: Mapping[str, Placed], lots: Sequence[Lot], name: str) -> list[str]:
    """Other lots that hold some of it within the window."""
    opens, closes = _window(table, lots)
    mine = {lot.key for lot in lots}
    found = []
    for other in table.week.lots:
        if other.key in mine or not other.jobs or other.jobs[0].key not in placement:
            continue
        held = [table.held(hold, placement) for hold in other.holds if hold.resource == name]
        used = [
            (placement[job.key].slot, placement[job.key].slot + use.seconds // SLOT)
            for job in other.jobs
            for use in job.uses
            if use.resource == name
        ]
        if any(a < closes and opens < b for a, b in [*held, *used]):
            found.append(other.key)
    return found


# ---- hours between which something can be


def _window(table: Table, lots: Sequence[Lot]) -> tuple[int, int]:
    """Slots between which the lots' work lies, from the first possible start to the last moment to be out."""
    opens = min(min(_earliest(table, lot).values()) for lot in lots)
    closes = max(
        (table.week.demand(part.demand).moment - table.week.demand(part.demand).at_least) // SLOT
        for lot in lots
        for part in lot.parts
        if part.job not in table.week.begun or len(lot.parts) == 1
    )
    return opens, max(closes, opens)


def _arcs(table: Table, lot: Lot) -> list[Arc]:
    return [
        (lag.before, lag.after, table.length[lag.before] + lag.at_least // SLOT)
        for lag in lot.lags
        if lag.before in table.length and lag.after in table.length
    ]


def _earliest(table: Table, lot: Lot) -> dict[str, int]:
    """First slot of each job by the shortest rests alone."""
    start, _ = longest_paths([job.key for job in lot.jobs], _arcs(table, lot))
    opens = max(table.first, table.due[lot.key] - WINDOW)
    return {key: _at_work(table, key, slot + opens, 1) for key, slot in start.items()}


def _at_work(table: Table, job: str, slot: int, step: int) -> int:
    """The next slot, or with a step of −1 the last one, at which somebody could begin a job; else the slot itself."""
    there = np.zeros(table.slots, dtype=np.bool_)
    for crew, people in enumerate(table.crews):
        if table.may_do(people, table.week.job(job)):
            for extra in (False, True):
                there |= table.working(crew, extra, table.length[job])
    found = np.flatnonzero(there)
    found = found[found >= slot] if step > 0 else found[found <= slot]
    return int(found[0 if step > 0 else -1]) if len(found) else slot


def _latest(table: Table, lot: Lot) -> dict[str, int]:
    """Last slot of each job from which the pieces can still be out in time, by the shortest rests alone."""
    back = [(after, before, least) for before, after, least in _arcs(table, lot)]
    tail, _ = longest_paths([job.key for job in lot.jobs], back)
    week = table.week
    out = {
        part.job: (week.demand(part.demand).moment - week.demand(part.demand).at_least) // SLOT
        for part in lot.parts
        if part.job not in week.begun
    }
    last = min(out.values(), default=table.slots)
    # The longest way from a job to the end of a taking-out that must be over by `last`.
    ends = {part.job: table.length[part.job] for part in lot.parts}
    shortest = min(ends.values(), default=0)
    return {key: _at_work(table, key, last - shortest - tail[key], -1) for key in tail}


def listed(words: Sequence[str]) -> str:
    """ "a, b and c"."""
    return " and ".join(words) if len(words) < 3 else f"{', '.join(words[:-1])} and {words[-1]}"


def _number(amount: int, per: int) -> str:
    return f"{amount / per:g}"


def _count(amount: int, per: int, called: str) -> str:
    number = amount / per
    if number == 1:
        return f"1 {called}"
    first, _, rest = called.partition(" of ")
    return f"{number:g} {first}s{f' of {rest}' if rest else ''}"


def _hours(seconds: float | None) -> str:
    hours = (seconds or 0) / 3600
    return f"{hours * 60:.0f} min" if hours < 1 else f"{hours:.1f} h".replace(".0 h", " h")


# ---- what to do


def remedies_for(table: Table, lots: Sequence[str], limits: Sequence[str]) -> tuple[str, ...]:
    """What would loosen each fact; each of them is enough for this clash."""
    nobody = _nobody(table, [table.week.lot(key) for key in lots]) if "hands" in limits else []
    found = [f"let somebody come in between {a} and {b}, or serve {order} at another hour." for order, a, b in nobody]
    found += [_remedy(table, name) for name in limits if name != "hands" or not nobody]
    if not set(limits) - {"now"}:
        orders = dict.fromkeys(
            table.week.demand(part.demand).order
            for key in lots
            for part in table.week.lot(key).parts
            if part.job not in table.week.begun
        )
        found.append(f"serve {listed([*orders][:3])} later, or from stock.")
    if len(lots) > 1:
        found.append(f"take {listed([table.week.lot(key).key for key in lots[1:]])} out, or move it by a day.")
    return tuple(dict.fromkeys(found))


def _remedy(table: Table, fact: str) -> str:
    if fact == "hands":
        return "add an hour of hands, or let somebody come earlier."
    if fact == "now":
        return "begin earlier, or serve later."
    if fact.startswith("lag "):
        return f"let {fact[4:]} longer, if the recipe allows it."
    resource = table.week.resource(fact)
    if resource.kind == "mould":
        return f"borrow a tray of “{fact}”."
    if resource.kind == "room":
        return f"make room: one more level of the {fact}."
    return f"borrow one more {fact}."
