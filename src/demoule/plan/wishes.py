"""Single changes of a week that may be wished for: one more tray or place, an hour of a person, an order moved."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from demoule.batch import Kitchen, OrderBook
from demoule.batch.orders import Due, Order
from demoule.errors import DemouleError
from demoule.plan.build import demands_of, more_lots
from demoule.plan.calendar import hands_of, moment_of
from demoule.plan.places import with_thawing
from demoule.plan.week import Demand, Hands, Lot, Resource, Span, Week

__all__ = ["HOUR", "Wish", "demand_at", "hour_more", "hours_of", "moved_by_days", "things"]

HOUR = 3600
_DAY = datetime.timedelta(days=1)
_APART = 4 * HOUR  # a longer gap parts two shifts, a shorter one is a break


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """One change, and the ways in which it can be used.

    Parameters
    ----------
    kind
        "tray", "place", "machine", "hour", "day".
    about
        Names of the facts of a clash that it would loosen.
    ways
        Words and the week with the change: of several, whichever helps most counts.
    """

    kind: str
    about: frozenset[str]
    ways: tuple[tuple[str, Week], ...]
    day: int = 0  # of an hour, counted from the first day


# ---- things


def things(week: Week) -> Iterator[Wish]:
    """One more of each tray, place and machine; pans are cheap and left out."""
    for resource in week.resources:
        if resource.kind == "machine" and resource.counted == "pan":
            continue
        words = f"one more {resource.counted}"
        words += f" of {resource.name}" if resource.kind == "mould" else f" in the {resource.name}"
        if resource.kind == "machine":
            words = f"one more {resource.name}" if resource.name != "oven" else "one more level in the oven"
        more = replace(resource, amount=resource.amount + resource.per)
        wider = _with(week, more)
        ways = [(words, wider)]
        if resource.kind == "mould":
            ways += [(f"{words}, and fillings cut to use it", again) for again in _cut_anew(wider, more)]
        kind = {"mould": "tray", "room": "place"}.get(resource.kind, "machine")
        yield Wish(kind=kind, about=frozenset({resource.name}), ways=tuple(ways))


def _with(week: Week, resource: Resource) -> Week:
    return replace(week, resources=tuple(resource if r.name == resource.name else r for r in week.resources))


def _cut_anew(week: Week, mould: Resource) -> Iterator[Week]:
    """The week with fewer, larger fillings of every dessert made in a mould, when none of its lots has begun."""
    begun = {week.job(key).lot for key in week.begun}
    kitchen = _owning(week.kitchen, mould)
    worked = {name: replace(one, kitchen=_owning(one.kitchen, mould)) for name, one in week.worked.items()}
    again = replace(week, kitchen=kitchen, worked=worked)
    changed = False
    for name, one in worked.items():
        moulds = [m.name for m in (one.piece.mould, one.piece.heart_mould) if m is not None]
        old = [lot for lot in again.lots if lot.dessert == name and not lot.stock]
        if mould.name not in moulds or not old or any(lot.key in begun for lot in old):
            continue
        served: dict[str, int] = {}
        for lot in old:
            for part in lot.parts:
                served[part.demand] = served.get(part.demand, 0) + part.pieces
        others = tuple(lot for lot in again.lots if lot not in old)
        try:
            lots = more_lots(
                replace(again, lots=others), name, [(week.demand(key), count) for key, count in served.items()]
            )
        except DemouleError:
            continue
        if len(lots) >= len(old):  # a bowl or a pair of hands may be what keeps fillings small
            continue
        changed = True
        again = replace(again, lots=(*others, *lots))
    if changed:
        yield again


def _owning(kitchen: Kitchen, mould: Resource) -> Kitchen:
    moulds = tuple(replace(m, owned=mould.amount) if m.name == mould.name else m for m in kitchen.moulds)
    return replace(kitchen, moulds=moulds)


# ---- hours


def hour_more(week: Week, names: Sequence[str], day: int | None = None) -> Week:
    """The week in which people come an hour earlier and stay an hour longer, each day or on one.

    Overtime that was there stays there: it begins an hour earlier than the longer shift ends.
    """
    return replace(week, hands=tuple(_longer(one, week, day, 1, 1) if one.name in names else one for one in week.hands))


def hours_of(week: Week, person: Hands, also: Sequence[str]) -> Iterator[Wish]:
    """One hour more of a person on each of the days to come: after the shift, or before it."""
    told = f"{person.name} (or {', '.join(also)})" if also else person.name
    days = sorted({week.clock(a).date() for a, b in person.blocks if b > week.now})
    for date in days:
        day = (date - week.start.date()).days
        ways = []
        for early, late, words in ((0, 1, "stays one hour longer"), (1, 0, "comes one hour earlier")):
            longer = tuple(_longer(p, week, day, early, late) if p.name == person.name else p for p in week.hands)
            if longer != week.hands:
                ways.append((f"{told} {words} on {date:%A}", replace(week, hands=longer)))
        if ways:
            yield Wish(kind="hour", about=frozenset({"hands"}), ways=tuple(ways), day=day)


def _longer(person: Hands, week: Week, day: int | None, early: int, late: int) -> Hands:
    """The day's first block begins, or its last ends, an hour further out; it meets no other block."""
    spans = sorted(person.blocks)
    blocks: list[Span] = []
    extra: list[Span] = list(person.extra)
    for k, (a, b) in enumerate(spans):
        wanted = day is None or (week.clock(a).date() - week.start.date()).days == day
        before = spans[k - 1][1] if k else week.now
        after = spans[k + 1][0] if k + 1 < len(spans) else week.length
        begins, ends = a, b
        if wanted and early and (k == 0 or a - before > _APART):
            begins = min(max(a - HOUR, before, week.now), a)
        if wanted and late and (k + 1 == len(spans) or after - b > _APART):
            ends = max(min(b + HOUR, after), b)
            extra = [(x, min(y + HOUR, after)) if x <= b <= y else (x, y) for x, y in extra]
        blocks.append((begins, ends))
    return replace(person, blocks=tuple(blocks), extra=tuple(extra))


# ---- orders


def moved_by_days(week: Week, order: str, days: int) -> Wish | None:
    """An order some days later, or earlier; None when that lies in the past."""
    mine = [demand for demand in week.demands if demand.order == order]
    if not mine:
        return None
    moments = {d.key: _days_on(week, d.moment, days) for d in mine}
    if min(moments.values()) <= week.now:
        return None
    longer = _reaching(week, max(moments.values()))
    moved = {d.key: demand_at(longer, d, moments[d.key]) for d in mine}
    demands = tuple(moved.get(d.key, d) for d in week.demands)
    by_key = {d.key: d for d in demands}
    rooms = frozenset(r.name for r in week.resources if r.kind == "room")
    lots = tuple(_thawing(longer, lot, by_key, rooms, frozenset(moved)) for lot in week.lots)
    words = f"{order} {'a day' if abs(days) == 1 else f'{abs(days)} days'} {'later' if days > 0 else 'earlier'}"
    return Wish(
        kind="day",
        about=frozenset({lot.key for lot in week.lots if any(p.demand in moved for p in lot.parts)}),
        ways=((words, replace(longer, demands=demands, lots=lots)),),
    )


def _days_on(week: Week, moment: int, days: int) -> int:
    clock = week.clock(moment)
    seconds = clock.hour * 3600 + clock.minute * 60 + clock.second
    return moment_of(week.start, clock.date() + _DAY * days, seconds)


def _reaching(week: Week, moment: int) -> Week:
    """A week long enough for a moment, with the hours of work of the days that come to it."""
    if moment <= week.length:
        return week
    days = (week.clock(moment).date() - week.start.date()).days + 1
    people = {person.name: person for person in week.kitchen.people}
    hands = []
    for one in week.hands:
        whole = hands_of(people[one.name], week.start, days) if one.name in people else one
        more = tuple((max(a, week.length), b) for a, b in whole.blocks if b > week.length)
        extra = tuple((max(a, week.length), b) for a, b in whole.extra if b > week.length)
        hands.append(replace(one, blocks=(*one.blocks, *more), extra=(*one.extra, *extra)))
    return replace(week, hands=tuple(hands), length=moment_of(week.start, week.start.date() + _DAY * days, 0.0))


def demand_at(week: Week, demand: Demand, moment: int) -> Demand:
    """A demand at another moment, with the time in the refrigerator that the hours of work then allow."""
    if demand.dessert not in week.worked:
        return replace(demand, moment=moment)
    clock = week.clock(moment)
    due = Due(date=clock.date(), time=clock.hour * 3600.0 + clock.minute * 60.0, written="")
    order = Order(what=demand.order, due=due, pieces=((demand.dessert, demand.pieces),))
    days = -(-week.length // 86400) + 1
    made = demands_of(OrderBook(orders=(order,)), week.worked, week.start, days, week.now, week.hands)
    return replace(made[0], key=demand.key, order=demand.order)


def _thawing(week: Week, lot: Lot, demands: dict[str, Demand], rooms: frozenset[str], moved: frozenset[str]) -> Lot:
    if not any(part.demand in moved for part in lot.parts):
        return lot
    if lot.dessert in week.worked:
        return with_thawing(lot, week.worked[lot.dessert], demands, rooms)
    by_job = {part.job: demands[part.demand] for part in lot.parts}
    holds = tuple(
        replace(hold, until=by_job[hold.first].moment) if hold.until is not None and hold.first in by_job else hold
        for hold in lot.holds
    )
    return replace(lot, holds=holds)
