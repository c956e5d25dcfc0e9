"""The week for a calendar: one entry for each job and each service, in the kitchen's time zone (RFC 5545)."""

from __future__ import annotations

import datetime
import hashlib

from icalendar import Calendar, Event, Timezone

from demoule.plan import Plan, Task

__all__ = ["week_calendar"]


def week_calendar(plan: Plan, person: str | None = None) -> bytes:
    """The plan as an iCalendar file.

    Parameters
    ----------
    person
        Whose jobs; None: everybody's.

    Notes
    -----
    Times stand in the zone of the kitchen with its rules for daylight saving, so that a rest across the change of the
    clock keeps its real hours. The same plan gives the same file, and a job keeps its identifier when it moves.
    Source: RFC 5545.
    """
    week = plan.week
    calendar = Calendar()
    calendar.add("prodid", "-//demoule//week//EN")
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    calendar.add("x-wr-calname", f"{week.kitchen.name}{f', {person}' if person else ''}")
    if week.kitchen.zone != "UTC":
        last = week.start.date() + datetime.timedelta(seconds=week.length + 86400 * 2)
        first = week.start.date() - datetime.timedelta(days=400)
        calendar.add_component(Timezone.from_tzinfo(week.zone, week.kitchen.zone, first, last))
    for task in plan.tasks:
        if person is None or task.person == person:
            calendar.add_component(_job(plan, task))
    if person is None:
        for answer in plan.answers:
            event = Event()
            event.add("uid", _identifier(plan, f"service {answer.order}"))
            event.add("dtstamp", _stamp(plan))
            event.add("summary", f"{answer.order}, {answer.pieces} pieces")
            event.add("dtstart", _moment(plan, answer.moment))
            event.add("dtend", _moment(plan, answer.moment + 900))
            calendar.add_component(event)
    return bytes(calendar.to_ical())


def _moment(plan: Plan, moment: int) -> datetime.datetime:
    """On the kitchen's clock; in the hour that comes twice, the second time in UTC.

    A local time that comes twice means its first time (RFC 5545, 3.3.5), so the second cannot be told by the clock.
    """
    clock = plan.week.clock(moment)
    return clock.astimezone(datetime.UTC) if clock.fold else clock


def _stamp(plan: Plan) -> datetime.datetime:
    """The present of the plan: a plan made later replaces what it says of the same job."""
    return plan.week.clock(plan.week.now).astimezone(datetime.UTC)


def _job(plan: Plan, task: Task) -> Event:
    event = Event()
    event.add("uid", _identifier(plan, task.job.key))
    event.add("dtstamp", _stamp(plan))
    event.add("summary", f"{task.job.lot}: {task.job.does}")
    event.add("dtstart", _moment(plan, task.start))
    event.add("dtend", _moment(plan, task.end))
    event.add("categories", [task.person])
    trays = "; ".join(f"{mould}, trays {', '.join(map(str, numbers))}" for mould, numbers in task.trays)
    lines = [task.person, f"{task.job.pieces} pieces" if task.job.pieces else "", trays]
    event.add("description", "\n".join(line for line in lines if line))
    return event


def _identifier(plan: Plan, key: str) -> str:
    """The same for the same job of the same week, whatever its hour."""
    text = f"{plan.week.kitchen.name}|{plan.week.start.date().isoformat()}|{key}"
    return f"{hashlib.sha256(text.encode()).hexdigest()[:24]}@demoule.example"
