"""From the order book to the week's facts: services, stock used first, lots pooled over orders."""

from __future__ import annotations

import datetime
import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

from demoule.batch import Kitchen, OrderBook
from demoule.batch.orders import InStock
from demoule.errors import BadInput, UnknownName
from demoule.figures import Finding, Severity
from demoule.plan.calendar import beginning, clock_changes, hands_of, length_of, moment_of, moments_of, zone_of
from demoule.plan.lots import Costs, pooled
from demoule.plan.places import rejects_of, resources_of, stock_lot, take_out, thaw_of, weighed, with_thawing
from demoule.plan.week import SLOT, Demand, Hands, Lot, Resource, Span, Week
from demoule.plan.work import lot_of
from demoule.worked import Worked

__all__ = ["build_week", "capacity_of", "demands_of", "more_lots"]

DAYS = 7

_LEAST_THERE = 600  # s that somebody must be there to take something out


def build_week(
    orders: OrderBook,
    worked: Sequence[Worked],
    kitchen: Kitchen,
    *,
    start: datetime.date,
    days: int | None = None,
    now: datetime.datetime | None = None,
) -> Week:
    """All facts of a week: what is to be done, with what, by whom.

    Parameters
    ----------
    start
        The first day; work may begin with it.
    days
        How many days are planned; None: seven, or as many as reach the last dated order.
    now
        Nothing begins before it; None: the beginning of the first day. A naive one is on the kitchen's clock.

    Raises
    ------
    BadInput
        An order in the past, a dessert that is not worked up, a person without a shift, more than the hands can make.
    """
    zone = zone_of(kitchen)
    first = beginning(start, zone)
    length_days = days or _days(orders, start)
    present = 0
    if now is not None:
        moment = now if now.tzinfo else now.replace(tzinfo=zone)
        present = max(round((moment - first).total_seconds()), 0)
    by_name = {one.dessert.name: one for one in worked}
    hands = tuple(hands_of(person, first, length_days) for person in kitchen.people)
    if not hands:
        raise BadInput("Nobody works in this kitchen.", where="people", remedy="name the people and their shifts.")
    demands = demands_of(orders, by_name, first, length_days, present, hands)
    resources = {
        r.name: r for r in resources_of(kitchen, [by_name[name] for name in orders.desserts if name in by_name])
    }
    skills = frozenset().union(*(person.skills for person in kitchen.people))
    rooms = frozenset(name for name, r in resources.items() if r.kind == "room")
    dirty = _dirty([by_name[name] for name in dict.fromkeys(d.dessert for d in demands)], kitchen)
    findings: list[Finding] = list(clock_changes(first, length_days))
    lots: list[Lot] = []
    for dessert in dict.fromkeys(d.dessert for d in demands):
        mine = sorted((d for d in demands if d.dessert == dessert), key=lambda d: (d.moment, d.key))
        served, left = _from_stock(orders, dessert, [d for d in mine if _reached(d, hands)], first, findings)
        left += [(d, d.pieces) for d in mine if not _reached(d, hands)]
        lots += served
        lots += _made(by_name[dessert], left, resources, skills, orders, hands, dirty, findings, first)
    by_key = {d.key: d for d in demands}
    findings += _stretched(demands)
    return Week(
        kitchen=kitchen,
        start=first,
        now=present,
        length=length_of(first, length_days),
        lots=tuple(with_thawing(lot, by_name.get(lot.dessert), by_key, rooms) for lot in lots),
        demands=tuple(demands),
        resources=tuple(resources.values()),
        hands=hands,
        worked=by_name,
        findings=tuple(findings),
    )


def _days(orders: OrderBook, start: datetime.date) -> int:
    dated = [(order.due.date - start).days + 1 for order in orders.orders if order.due.date is not None]
    return max([DAYS, *dated])


def demands_of(
    orders: OrderBook,
    worked: Mapping[str, Worked],
    start: datetime.datetime,
    days: int,
    now: int,
    hands: Sequence[Hands],
) -> tuple[Demand, ...]:
    """Every dessert of every service, with the time it takes to thaw."""
    found: list[Demand] = []
    keys: set[str] = set()
    longest: dict[str, int] = {}
    for order in orders.orders:
        for moment, day in moments_of(order.due, start, days, order.where):
            if moment <= now:
                if order.due.date is None and order.due.recurring:
                    continue  # of a daily order, what is over is over
                raise BadInput(
                    f"“{order.what}” on {day:%A %d %B} lies in the past.",
                    where=order.where,
                    remedy="take it out, or plan from an earlier day.",
                )
            for dessert, pieces in order.pieces:
                if dessert not in worked:
                    raise UnknownName("dessert", dessert, worked, where=order.where)
                if pieces < 1:
                    raise BadInput(
                        f"“{order.what}” asks for {pieces} {dessert}.",
                        where=order.where,
                        remedy="give the number of pieces wanted.",
                    )
                at_least, best, at_most, room = thaw_of(worked[dessert])
                key = base = f"{order.what} {day:%a %d} {dessert}"
                count = 2
                while key in keys:
                    key, count = f"{base} {count}", count + 1
                keys.add(key)
                longest[key] = at_most
                demand = Demand(
                    key=key,
                    order=f"{order.what} {day:%a}",
                    dessert=dessert,
                    pieces=pieces,
                    moment=moment // 300 * 300,
                    at_least=at_least,
                    at_most=best,
                    best=best,
                    room=room,
                )
                found.append(_reachable(demand, at_most, hands, now))
    return tuple(_uncrowded(found, longest, hands, now))


_TAKING_OUT = 600
"""Seconds for which somebody must be there to take pieces out."""


_WAITS = 1800
"""The longest that somebody stays after the shift for it alone, while pieces may come out earlier (practice)."""


def _reached(demand: Demand, hands: Sequence[Hands]) -> bool:
    """Whether somebody is at work in the hours in which its pieces must be taken out."""
    opens, closes = demand.moment - demand.at_most, demand.moment - demand.at_least
    return any(
        _overlap(span, opens - _TAKING_OUT, closes) >= _TAKING_OUT
        for person in hands
        for span in (*person.blocks, *person.extra)
    )


def _reachable(demand: Demand, at_most: int, hands: Sequence[Hands], now: int) -> Demand:
    """The demand with a longer time in the refrigerator, when nobody is there within the best one."""
    # Nobody waits for hours after the shift in order to carry a tray from one room to another.
    spans = [span for person in hands for span in (*person.blocks, *((a, min(b, a + _WAITS)) for a, b in person.extra))]
    opens, closes = demand.moment - demand.best, demand.moment - demand.at_least
    if any(_overlap(span, opens, closes) >= _LEAST_THERE for span in spans):
        return demand
    return _longer(demand, closes, at_most, hands, now, "nobody is there to take it out later")


def _longer(demand: Demand, closes: int, at_most: int, hands: Sequence[Hands], now: int, why: str) -> Demand:
    """The demand as it may be taken out when somebody is last there before a moment; as it was when nobody is."""
    # First within the hours that are paid anyhow; only then by staying on.
    for spans in ([span for one in hands for span in one.blocks], [span for one in hands for span in one.extra]):
        last = max((min(b, closes) for a, b in spans if min(b, closes) - a >= _LEAST_THERE), default=None)
        if last is not None and last - _LEAST_THERE >= max(demand.moment - at_most, now):
            # An hour of room, so that the trays do not all want the same five minutes.
            longest = min(demand.moment - last + 3600 + _LEAST_THERE, at_most)
            return replace(demand, at_most=max(longest, demand.at_most), stretched=why)
    return demand


def _uncrowded(demands: Sequence[Demand], longest: Mapping[str, int], hands: Sequence[Hands], now: int) -> list[Demand]:
    """Demands of which some may be taken out earlier, where all hands cannot take out so many within their windows.

    Room for one taking-out more is kept: pieces of one order may come from two lots.
    """
    found = {demand.key: demand for demand in demands}
    spans = [span for person in hands for span in (*person.blocks, *person.extra)]
    for key in sorted(found, key=lambda key: (found[key].moment - found[key].at_least, key)):
        demand = found[key]
        closes = demand.moment - demand.at_least
        near = [other for other in found.values() if 0 <= closes - (other.moment - other.at_least) <= 12 * 3600]
        for opens in sorted({other.moment - other.at_most for other in near if not demand.stretched}):
            inside = [other for other in near if other.moment - other.at_most >= opens]
            need = sum(take_out("", other, other.pieces).seconds for other in inside)
            there = sum(max(_overlap(span, opens, closes), 0) // SLOT * SLOT for span in spans)
            if demand in inside and need + _LEAST_THERE > there:
                why = "too much is to be taken out in the same minutes"
                found[key] = _longer(demand, demand.moment - demand.at_most, longest[key], hands, now, why)
                break
    return [found[demand.key] for demand in demands]


def _overlap(span: Span, opens: int, closes: int) -> int:
    return min(span[1], closes) - max(span[0], opens)


def capacity_of(
    worked: Worked,
    resources: Mapping[str, Resource],
    block: int = 4 * 3600,
    dirty: Mapping[str, frozenset[str]] | None = None,
) -> int:
    """Good pieces of one lot: a filling of all moulds, hearts and bodies alike, or as much as one pair of hands does.

    Parameters
    ----------
    block
        The longest stretch of work without a break [s]: no job may be longer, nor the filling stand longer in the warm.
    """
    most = _one_filling(worked, resources)
    per_tray = worked.piece.mould.per_tray if worked.piece.mould else 12
    while most > per_tray:
        lot = lot_of(worked, 0, [(_NOBODY, most)], resources, frozenset(), frozenset(), dirty)
        longest = max(job.seconds for job in lot.jobs)
        filling = max((job.seconds for job in lot.jobs if job.kind == "fill"), default=0)
        if longest <= block and filling <= _LONGEST_FILLING:
            break
        most -= max(math.floor(per_tray * (1 - rejects_of(worked))), 1)
    return max(most, 1)


_LONGEST_FILLING = 3 * 3600  # s; the whip is not older than that when the last cavity is closed (judged)
_NOBODY = Demand(key="", order="", dessert="", pieces=0, moment=0, at_least=0, at_most=0, best=0, room="")


def _one_filling(worked: Worked, resources: Mapping[str, Resource]) -> int:
    piece = worked.piece
    cavities = 10**6
    if piece.mould is not None:
        cavities = piece.mould.per_tray * resources[piece.mould.name].amount
    if piece.heart_mould is not None and piece.hearts_per_piece:
        hearts = piece.heart_mould.per_tray * resources[piece.heart_mould.name].amount
        cavities = min(cavities, max(hearts // piece.hearts_per_piece, 1))
    if cavities == 10**6:
        cavities = 60
    share = rejects_of(worked)
    return max(math.floor(cavities * (1 - share) + 1e-9), 1)


def _from_stock(
    orders: OrderBook, dessert: str, demands: Sequence[Demand], start: datetime.datetime, findings: list[Finding]
) -> tuple[list[Lot], list[tuple[Demand, int]]]:
    """Finished pieces go to the earliest services, those that expire first before the others."""
    told = [lot for lot in orders.lots if lot.dessert == dessert and not lot.component and lot.pieces > 0]
    loose = orders.in_stock(dessert) - sum(lot.pieces for lot in told)
    stock: list[InStock] = sorted(told, key=lambda lot: (lot.until or datetime.date.max, lot.label))
    if loose > 0:
        stock.append(InStock(dessert=dessert, pieces=loose))
    left = {d.key: d.pieces for d in demands}
    lots = []
    for number, lot in enumerate(stock, start=1):
        use_by = moment_of(start, lot.until + datetime.timedelta(days=1), 0.0) if lot.until else None
        free = lot.pieces
        served: list[tuple[Demand, int]] = []
        for demand in demands:
            count = min(free, left[demand.key])
            if count > 0 and (use_by is None or demand.moment <= use_by):
                served.append((demand, count))
                left[demand.key] -= count
                free -= count
        if free and use_by is not None:
            findings.append(
                Finding(
                    severity=Severity.CAUTION,
                    rule="expires",
                    where=f"stock.{dessert}",
                    says=f"{free} {dessert} of stock must be eaten by {lot.until:%A %d %B}, and no order takes them.",
                    why="Frozen pieces keep only so long.",
                    remedy="offer them before that day.",
                )
            )
        lots.append(stock_lot(dessert, number if len(stock) > 1 else 0, lot.pieces, use_by, served, lot.label))
    return lots, [(d, left[d.key]) for d in demands if left[d.key] > 0]


def _made(
    worked: Worked,
    left: Sequence[tuple[Demand, int]],
    resources: Mapping[str, Resource],
    skills: frozenset[str],
    orders: OrderBook,
    hands: Sequence[Hands],
    dirty: Mapping[str, frozenset[str]],
    findings: list[Finding],
    start: datetime.datetime,
) -> list[Lot]:
    """Lots for what stock does not serve."""
    if not left:
        return []
    name = worked.dessert.name
    longest = max((b - a for person in hands for a, b in person.blocks), default=0)
    capacity = capacity_of(worked, resources, longest, dirty)
    total = sum(count for _, count in left)
    full = sum(seconds for _, seconds in weighed(worked, capacity).hands_on)
    half = sum(seconds for _, seconds in weighed(worked, max(capacity // 2, 1)).hands_on)
    small = max(2 * half - full, 0.2 * full) if capacity > 1 else full  # work that does not go with the pieces
    lots_needed = math.ceil(total / capacity)
    there = sum(b - a for person in hands for a, b in (*person.blocks, *person.extra))
    if lots_needed * (small if lots_needed == 1 else full * 0.8) > there:
        raise BadInput(
            f"{total} pieces of {name} take {lots_needed * full / 3600:.0f} hours of work in {lots_needed} fillings of "
            f"the moulds; all hands together have {there / 3600:.0f} hours.",
            where="orders",
            remedy="order less, spread it over more days, or add hands.",
        )
    shares = [replace(demand, pieces=count) for demand, count in left]
    # An order for which nobody can take pieces out must not keep others from being made with it.
    makings = [
        making
        for reached in (True, False)
        for making in pooled([d for d in shares if _reached(d, hands) is reached], capacity, Costs(a_lot=small))
    ]
    by_key = {demand.key: demand for demand, _ in left}
    kept = sorted(
        (lot for lot in orders.lots if lot.dessert == name and lot.component and lot.mass > 0),
        key=lambda lot: (lot.until or datetime.date.max, lot.label),
    )
    lots = []
    for number, making in enumerate(makings, start=1):
        served = [(by_key[key], count) for key, count in making]
        made = _components_in_stock(worked, sum(c for _, c in served), served[0][0].moment, kept, start, findings)
        lots.append(lot_of(worked, number, served, resources, skills, made, dirty))
    spare = capacity * len(makings) - total
    if spare < 0.02 * total:
        findings.append(
            Finding(
                severity=Severity.CAUTION,
                rule="no margin",
                where=f"orders.{name}",
                says=f"{name} has {'none' if spare <= 0 else spare} to spare: {total} wanted, "
                f"{capacity * len(makings)} good pieces at most from {len(makings)} fillings of all trays.",
                why="One tray that tears on demoulding is missing on the plate.",
                remedy="add a filling, or borrow a tray.",
            )
        )
    return lots


def _components_in_stock(
    worked: Worked,
    pieces: int,
    due: int,
    kept: list[InStock],
    start: datetime.datetime,
    findings: list[Finding],
) -> frozenset[str]:
    """Components made already that suffice for this lot; what is used is taken off, first what expires first."""
    used = set()
    for need in weighed(worked, pieces).needs:
        for k, lot in enumerate(kept):
            last = moment_of(start, lot.until + datetime.timedelta(days=1), 0.0) if lot.until else None
            if lot.component != need.component or lot.mass < need.used * (1 - 1e-9):
                continue
            if last is not None and last < due:
                continue
            kept[k] = replace(lot, mass=lot.mass - need.used)
            used.add(need.component)
            findings.append(
                Finding(
                    severity=Severity.NOTE,
                    rule="from stock",
                    where=f"made.{need.component}",
                    says=f"{need.used * 1000:.0f} g of {need.component} come from stock.",
                    why="What expires first is used first.",
                )
            )
            break
    return frozenset(used)


def more_lots(week: Week, dessert: str, served: Sequence[tuple[Demand, int]]) -> list[Lot]:
    """Lots that are added to a week under way.

    Raises
    ------
    UnknownName
        A dessert that is not worked up.
    """
    if dessert not in week.worked:
        raise UnknownName("dessert", dessert, week.worked)
    worked = week.worked[dessert]
    resources = {one.name: one for one in week.resources}
    for mould in (worked.piece.mould, worked.piece.heart_mould):
        if mould is not None and mould.name not in resources:
            raise BadInput(
                f"{dessert} was not in the week; its moulds are not planned.", remedy="plan the week anew with it."
            )
    skills = frozenset().union(*(person.skills for person in week.kitchen.people))
    rooms = frozenset(name for name, one in resources.items() if one.kind == "room")
    longest = max((b - a for person in week.hands for a, b in person.blocks), default=0)
    dirty = _dirty([week.worked[name] for name in dict.fromkeys(d.dessert for d in week.demands)], week.kitchen)
    capacity = capacity_of(worked, resources, longest, dirty)
    shares = [replace(demand, pieces=count) for demand, count in sorted(served, key=lambda one: one[0].moment)]
    full = sum(seconds for _, seconds in weighed(worked, capacity).hands_on)
    makings = pooled(shares, capacity, Costs(a_lot=0.4 * full))
    number = max((lot.number for lot in week.lots if lot.dessert == dessert), default=0)
    by_key = {demand.key: demand for demand, _ in served}
    lots = []
    for making in makings:
        number += 1
        parts = [(by_key[key], count) for key, count in making]
        lot = lot_of(worked, number, parts, resources, skills, frozenset(), dirty)
        lots.append(with_thawing(lot, worked, by_key, rooms))
    return lots


def _dirty(worked: Sequence[Worked], kitchen: Kitchen) -> dict[str, frozenset[str]]:
    """For each bowl, the allergens that not all makings bear that may be whipped in it."""
    bears: list[frozenset[str]] = []
    for one in worked:
        for need in weighed(one, one.weighing.pieces).needs:
            found: set[str] = set()
            for content in one.cooked[need.component].contents:
                item = content.ingredient
                found |= item.allergens_eu if kitchen.market == "EU" else item.allergens_us
            if {part.strip() for part in need.vessel.split(", ")} & {mixer.name for mixer in kitchen.mixers}:
                bears.append(frozenset(found))
    shared = frozenset().union(*bears) - frozenset.intersection(*bears) if bears else frozenset()
    return {mixer.name: shared for mixer in kitchen.mixers}


def _stretched(demands: Sequence[Demand]) -> list[Finding]:
    """One caution for each order whose pieces stand thawed for longer than they are at their best."""
    told: dict[str, list[Demand]] = {}
    for demand in demands:
        if demand.stretched:
            told.setdefault(demand.key.rsplit(demand.dessert, 1)[0].split(" ")[0], []).append(demand)
    return [
        Finding(
            severity=Severity.CAUTION,
            rule="stands thawed",
            where="orders",
            says=f"{what}: {', '.join(dict.fromkeys(d.dessert for d in late))} stand in the refrigerator for up to "
            f"{max(d.at_most for d in late) / 3600:.0f} h before service; they are at their best for "
            f"{min(d.best for d in late) / 3600:.0f} h.",
            why=f"{late[0].stretched[0].upper()}{late[0].stretched[1:]}.",
            remedy="serve later, or let somebody come early; cover the trays. Local law may allow less.",
        )
        for what, late in told.items()
    ]
