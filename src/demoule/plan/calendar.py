"""Kitchen time: shifts, breaks and services as real seconds, also on the night on which the clock changes."""

from __future__ import annotations

import datetime
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from demoule.batch import Kitchen
from demoule.batch.clock import shifts
from demoule.batch.kitchen import Person
from demoule.batch.orders import Due
from demoule.errors import BadInput
from demoule.figures import Finding, Severity
from demoule.plan.week import SLOT, Hands, Span

__all__ = ["beginning", "clock_changes", "hands_of", "length_of", "moment_of", "moments_of", "without", "zone_of"]

_DAY = datetime.timedelta(days=1)


def zone_of(kitchen: Kitchen) -> ZoneInfo:
    """The time zone of a kitchen; raises BadInput when there is none of that name."""
    try:
        return ZoneInfo(kitchen.zone)
    except (ZoneInfoNotFoundError, ValueError):
        raise BadInput(
            f"“{kitchen.zone}” is no time zone.", where="time zone", remedy="write for example Europe/Vienna."
        ) from None


def beginning(day: datetime.date, zone: ZoneInfo) -> datetime.datetime:
    """Local midnight with which a day begins."""
    return datetime.datetime.combine(day, datetime.time(), zone)


def moment_of(start: datetime.datetime, day: datetime.date, seconds: float) -> int:
    """Real seconds from `start` to a time of day on the kitchen's clock; past 24 h it is the next day.

    A time that the clock leaps over counts as if it did not; one that comes twice is its first.
    """
    zone = start.tzinfo
    day = day + _DAY * int(seconds // 86400)
    clock = datetime.datetime.combine(day, datetime.time(), zone) + datetime.timedelta(seconds=seconds % 86400)
    return round((clock.astimezone(datetime.UTC) - start.astimezone(datetime.UTC)).total_seconds())


def length_of(start: datetime.datetime, days: int) -> int:
    """Real seconds of so many days from `start`."""
    return moment_of(start, start.date() + _DAY * days, 0.0)


def moments_of(due: Due, start: datetime.datetime, days: int, where: str) -> tuple[tuple[int, datetime.date], ...]:
    """Every service of an order within the days planned, on the seconds after `start`, with its day.

    Raises
    ------
    BadInput
        For a time of day that does not exist, or comes twice, on the night on which the clock changes.
    """
    dates = [start.date() + _DAY * k for k in range(days)]
    wanted = [due.date] if due.date is not None else [day for day in dates if day.weekday() in due.days]
    return tuple((_service(start, day, due, where), day) for day in wanted)


def _service(start: datetime.datetime, day: datetime.date, due: Due, where: str) -> int:
    clock = datetime.datetime.combine(day, datetime.time()) + datetime.timedelta(seconds=due.time)
    zone = start.tzinfo
    first, second = clock.replace(tzinfo=zone), clock.replace(tzinfo=zone, fold=1)
    there = first.astimezone(datetime.UTC).astimezone(zone).replace(tzinfo=None)
    if there != clock:
        raise BadInput(
            f"{clock:%A %d %B, %H:%M} does not exist: the clock is put forward over it that night.",
            where=where,
            remedy=f"write {there:%H:%M}, or an hour before the change.",
        )
    if first.utcoffset() != second.utcoffset():
        raise BadInput(
            f"{clock:%A %d %B, %H:%M} comes twice: the clock is put back that night.",
            where=where,
            remedy="write an hour before or after the change.",
        )
    return moment_of(start, day, due.time)


def clock_changes(start: datetime.datetime, days: int) -> tuple[Finding, ...]:
    """A note for each night of the week in which the clock changes."""
    notes = []
    for k in range(days):
        day = start.date() + _DAY * k
        length = moment_of(start, day + _DAY, 0.0) - moment_of(start, day, 0.0)
        if length != 86400:
            notes.append(
                Finding(
                    severity=Severity.NOTE,
                    rule="clock change",
                    where="time zone",
                    says=f"The clock changes on {day:%A %d %B}: the day has {length / 3600:g} hours.",
                    why="Rests and hours in the freezer are counted in real hours.",
                )
            )
    return tuple(notes)


def hands_of(person: Person, start: datetime.datetime, days: int, where: str = "people") -> Hands:
    """A person's blocks of work in the week, breaks and days off taken out, and the overtime that may be asked.

    Raises
    ------
    BadInput
        Without a shift, or with shifts that overlap.
    """
    where = f"{where}.{person.name}"
    if not person.shift.strip():
        raise BadInput(
            f"{person.name} has no shift.", where=where, remedy="write the hours of work, such as Mon–Sat 07:00–15:30."
        )
    try:
        told = shifts(person.shift)
    except BadInput as error:
        raise error.at(where) from None
    blocks: list[Span] = []
    extra: list[Span] = []
    end_of_week = length_of(start, days)
    for k in range(-1, days):
        day = start.date() + _DAY * k
        if day in person.off:
            continue
        for shift_days, begins, ends in told:
            if day.weekday() not in shift_days:
                continue
            cuts = [begins]
            for pause, over in person.breaks:
                for turn in (0.0, 86400.0):  # a shift past midnight has its break then
                    if begins < pause + turn and over + turn < ends:
                        cuts += [pause + turn, over + turn]
            cuts.append(ends)
            clocked = [moment_of(start, day, cut) for cut in cuts]
            for a, b in zip(clocked[::2], clocked[1::2], strict=True):
                _add(blocks, a, b, end_of_week)
            if person.overtime > 0:
                _add(extra, clocked[-1], clocked[-1] + int(person.overtime), end_of_week)
    return Hands(
        name=person.name,
        blocks=tuple(sorted(blocks)),
        extra=_without(tuple(sorted(extra)), blocks),
        skills=person.skills,
        pay=person.pay,
        overtime_factor=person.overtime_factor,
    )


def _add(spans: list[Span], a: int, b: int, end: int) -> None:
    """A block on whole slots: it begins late rather than early, and ends early rather than late."""
    a, b = max(-(-a // SLOT) * SLOT, 0), min(b // SLOT * SLOT, end)
    if b > a:
        spans.append((a, b))


def _without(spans: tuple[Span, ...], taken: list[Span]) -> tuple[Span, ...]:
    """Overtime that runs into the same person's next shift ends where it begins."""
    found = []
    for a, b in spans:
        later = [start for start, end in taken if a <= start < b or (start <= a < end)]
        found.append((a, min([b, *later])))
    return tuple((a, b) for a, b in found if b > a)


def without(spans: tuple[Span, ...], start: int, end: int) -> tuple[Span, ...]:
    """The spans with a stretch of time taken out."""
    found: list[Span] = []
    for a, b in spans:
        found += [(x, y) for x, y in ((a, min(b, start)), (max(a, end), b)) if y > x]
    return tuple(found)
