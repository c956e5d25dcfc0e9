"""A planned week as it is kept: of which orders, kitchen and desserts, what happened since, and each job's hour.

The screens write it, in JSON, which every reader of YAML understands; whatever follows from the texts that it names is
worked out again when it is read.
"""

from __future__ import annotations

import datetime
import json
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from demoule.batch.orders import Order
from demoule.errors import BadInput
from demoule.files.events import EventsEntry, Happened, happened_of
from demoule.plan import Added, Away, Cancelled, Clash, Down, Event, Failed, Kept, Place

__all__ = ["Change", "PlannedWeek", "as_events", "events_told", "planned_week", "week_text"]

_Slug = Annotated[str, Field(max_length=120)]
_Number = Annotated[int, Field(ge=1, le=1_000_000_000)]
_Second = Annotated[int, Field(ge=0, le=400 * 86400)]
_Words = Annotated[str, Field(max_length=4000)]
_Place = tuple[_Second, Annotated[str, Field(max_length=200)]] | tuple[_Second, str, Literal["overtime"]]


class _Entry(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class _Clash(_Entry):
    lot: _Words
    what: _Words
    facts: tuple[_Words, ...]
    remedies: tuple[_Words, ...] = ()
    about: tuple[_Words, ...] = ()


class _Change(_Entry):
    happened: dict[str, Any] | None = None
    places: dict[str, _Place]
    clashes: tuple[_Clash, ...] = ()
    moved: tuple[tuple[_Words, _Words], ...] = ()
    bound: int | None = None
    cancelled: bool = False


class _Week(_Entry):
    demoule: Literal[1]
    week: Annotated[str, Field(min_length=1, max_length=200)]
    start: Annotated[datetime.date, Field(alias="from")]
    days: Annotated[int, Field(ge=1, le=400)] | None = None
    orders: dict[_Slug, _Number]
    kitchen: dict[_Slug, _Number]
    desserts: dict[_Slug, _Number]
    changes: Annotated[tuple[_Change, ...], Field(min_length=1, max_length=400)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """The plan at first, or after something happened.

    Parameters
    ----------
    happened
        As a file of events says it; None for the plan at first.
    """

    kept: Kept
    happened: Mapping[str, Any] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedWeek:
    """A week as it is kept.

    Parameters
    ----------
    orders, kitchen, desserts
        Short names in the memory, and the versions that the plan was made from.
    changes
        The first plan, and one for each time that something happened.
    """

    name: str
    start: datetime.date
    days: int | None
    orders: tuple[str, int]
    kitchen: tuple[str, int]
    desserts: Mapping[str, int]
    changes: tuple[Change, ...] = field(default_factory=tuple)

    def now_kept(self, kept: Kept) -> PlannedWeek:
        """The week with other hours for what was planned last."""
        return replace(self, changes=(*self.changes[:-1], replace(self.changes[-1], kept=kept)))

    def after(self, happened: Mapping[str, Any], kept: Kept) -> PlannedWeek:
        """The week after something happened."""
        return replace(self, changes=(*self.changes, Change(kept=kept, happened=happened)))


def planned_week(text: str) -> PlannedWeek:
    """A week that was kept.

    Raises
    ------
    BadInput
        When it was not written by demoule, or was changed by hand into something else.
    """
    try:
        entry = _Week.model_validate(json.loads(text))
        if len(entry.orders) != 1 or len(entry.kitchen) != 1:
            raise ValueError
        changes = tuple(_change(one) for one in entry.changes)
        if any((change.happened is None) != (place == 0) for place, change in enumerate(changes)):
            raise ValueError
    except (ValidationError, ValueError, RecursionError):
        raise BadInput(
            "This planned week cannot be read.", remedy="plan the week anew, or bring an older version back."
        ) from None
    return PlannedWeek(
        name=entry.week,
        start=entry.start,
        days=entry.days,
        orders=next(iter(entry.orders.items())),
        kitchen=next(iter(entry.kitchen.items())),
        desserts=entry.desserts,
        changes=changes,
    )


def _change(entry: _Change) -> Change:
    return Change(
        happened=entry.happened,
        kept=Kept(
            places={
                job: Place(start=place[0], person=place[1], overtime=len(place) > 2)
                for job, place in entry.places.items()
            },
            clashes=tuple(Clash(**clash.model_dump()) for clash in entry.clashes),
            moved=entry.moved,
            bound=entry.bound,
            cancelled=entry.cancelled,
        ),
    )


def week_text(week: PlannedWeek) -> str:
    """The text of a week to be kept; one line for each job, so that two versions can be laid side by side."""
    told: dict[str, Any] = {
        "demoule": 1,
        "week": week.name,
        "from": week.start.isoformat(),
        "days": week.days,
        "orders": dict([week.orders]),
        "kitchen": dict([week.kitchen]),
        "desserts": dict(week.desserts),
        "changes": [],
    }
    head = json.dumps(told, ensure_ascii=False, indent=1)
    changes = ",\n".join(_written(change) for change in week.changes)
    return head.removesuffix(' "changes": []\n}') + f' "changes": [\n{changes}\n ]\n}}\n'


def _written(change: Change) -> str:
    kept = change.kept
    told: dict[str, Any] = {}
    if change.happened is not None:
        told["happened"] = dict(change.happened)
    if kept.clashes:
        told["clashes"] = [
            {
                "lot": one.lot,
                "what": one.what,
                "facts": list(one.facts),
                "remedies": list(one.remedies),
                "about": list(one.about),
            }
            for one in kept.clashes
        ]
    if kept.moved:
        told["moved"] = [list(pair) for pair in kept.moved]
    if kept.bound is not None:
        told["bound"] = kept.bound
    if kept.cancelled:
        told["cancelled"] = True
    lines = [f"   {_json(key)}: {_json(value)}" for key, value in told.items()]
    places = [
        f"    {_json(job)}: {_json([p.start, p.person, 'overtime'] if p.overtime else [p.start, p.person])}"
        for job, p in sorted(kept.places.items(), key=lambda item: (item[1].start, item[0]))
    ]
    lines.append('   "places": {\n' + ",\n".join(places) + "\n   }")
    return "  {\n" + ",\n".join(lines) + "\n  }"


def _json(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False)


def events_told(happened: Mapping[str, Any]) -> tuple[list[Event], datetime.datetime]:
    """What happened, as the planner takes it, and the moment at which it was told; raises BadInput."""
    try:
        entry = EventsEntry.model_validate({"demoule": 1, **happened})
    except ValidationError as error:
        wrong = error.errors()[0]
        where = ".".join(str(part) for part in wrong["loc"] if isinstance(part, (str, int)))
        raise BadInput("What happened cannot be read.", where=where, remedy="look at the day and the time.") from None
    told = happened_of(entry)
    return as_events(told), told.now


def as_events(told: Happened) -> list[Event]:
    """What happened, event by event, as the planner takes it."""
    events: list[Event] = [Away(person=a, since=b, until=c) for a, b, c in told.away]
    events += [Down(what=a, since=b, until=c) for a, b, c in told.down]
    events += [Cancelled(what=a, day=b) for a, b in told.cancelled]
    events += [Failed(lot=lot) for lot in told.failed]
    added: tuple[Order, ...] = told.added
    events += [Added(order=order) for order in added]
    return events
