"""What happened during a week: who is away, what is out of order, what failed, what was ordered or taken back."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any

from pydantic import BeforeValidator, Field, ValidationError, WithJsonSchema

from demoule.batch.orders import Order
from demoule.errors import BadInput, Mistakes
from demoule.files.dessert import VersionField
from demoule.files.fields import Day, Entry, Name, complaints
from demoule.files.mistakes import mistakes_of
from demoule.files.orders import OrderEntry
from demoule.files.text import read_text
from demoule.files.tree import read_trees

__all__ = ["EventsEntry", "Happened", "events_of", "happened_of", "read_events"]


def _moment(value: Any) -> datetime.datetime:
    if isinstance(value, datetime.datetime):
        return value.replace(tzinfo=None)
    try:
        return datetime.datetime.fromisoformat(str(value).strip()).replace(tzinfo=None)
    except ValueError:
        raise complaints(f"“{value}” is no moment.", "write the day and the time, such as 2026-04-30 10:00.") from None


Moment = Annotated[
    datetime.datetime, BeforeValidator(_moment), WithJsonSchema({"type": "string", "examples": ["2026-04-30 10:00"]})
]


class AwayEntry(Entry):
    """A person is not there."""

    person: Name
    since: Moment
    until: Moment


class DownEntry(Entry):
    """A room or a machine is out of order."""

    what: Name
    since: Moment
    until: Moment


class CancelledEntry(Entry):
    """An order is taken back, on one day or altogether."""

    what: Name
    day: Day | None = None


class EventsEntry(Entry):
    """What happened, and when it is now."""

    demoule: VersionField
    now: Moment
    away: list[AwayEntry] = Field(default_factory=list)
    down: list[DownEntry] = Field(default_factory=list)
    failed: list[Name] = Field(default_factory=list)
    added: list[OrderEntry] = Field(default_factory=list)
    cancelled: list[CancelledEntry] = Field(default_factory=list)


@dataclass(frozen=True, slots=True, kw_only=True)
class Happened:
    """What a file of events says, in the order in which it is to be taken.

    Parameters
    ----------
    now
        On the kitchen's clock.
    away, down
        Name, since, until.
    failed
        Lots.
    cancelled
        Order, and the day on which it is taken back; None: all its days.
    """

    now: datetime.datetime
    away: tuple[tuple[str, datetime.datetime, datetime.datetime], ...] = ()
    down: tuple[tuple[str, datetime.datetime, datetime.datetime], ...] = ()
    failed: tuple[str, ...] = ()
    added: tuple[Order, ...] = ()
    cancelled: tuple[tuple[str, datetime.date | None], ...] = ()


def read_events(path: str | Path) -> Happened:
    """What a file of events says. Raises Mistakes, all of them at once."""
    return events_of(read_text(path), str(path))


def events_of(text: str, name: str) -> Happened:
    """What a text says happened; `name` is what the file is called in messages. Raises Mistakes."""
    tree = read_trees(text, name)[0]
    if not isinstance(tree.value, Mapping) or "now" not in tree.value:
        raise BadInput(f"{name} tells no events.", remedy="begin with “demoule: 1” and “now:”, the present moment.")
    try:
        entry = EventsEntry.model_validate(tree.value)
    except ValidationError as error:
        raise Mistakes(mistakes_of(error, EventsEntry, tree)) from None
    mistakes = [
        tree.mistake(
            (kind, k, "until"),
            f"It ends {one.until:%Y-%m-%d %H:%M} and begins {one.since:%Y-%m-%d %H:%M}.",
            "write a moment after the beginning.",
        )
        for kind, told in (("away", entry.away), ("down", entry.down))
        for k, one in enumerate[AwayEntry | DownEntry](told)
        if one.until <= one.since
    ]
    if mistakes:
        raise Mistakes(mistakes)
    return happened_of(entry)


def happened_of(entry: EventsEntry) -> Happened:
    """What an entry says happened."""
    return Happened(
        now=entry.now,
        away=tuple((one.person, one.since, one.until) for one in entry.away),
        down=tuple((one.what, one.since, one.until) for one in entry.down),
        failed=tuple(entry.failed),
        added=tuple(
            Order(what=one.what, due=one.when, pieces=one.pieces, where=f"added.{k}")
            for k, one in enumerate(entry.added)
        ),
        cancelled=tuple((one.what, one.day) for one in entry.cancelled),
    )
