"""What a plan is made of: lots, jobs, lags between them, what they hold, and the places and hands there are."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from types import MappingProxyType
from zoneinfo import ZoneInfo

from demoule.batch import Kitchen, Weighing
from demoule.figures import Finding
from demoule.units import Second
from demoule.worked import Worked

__all__ = [
    "SLOT",
    "Demand",
    "Hands",
    "Hold",
    "Job",
    "Lag",
    "Lot",
    "Part",
    "Resource",
    "Span",
    "Use",
    "Week",
    "seconds_down",
    "seconds_up",
]

SLOT: int = 300
"""Seconds of one step of time in a plan; minutes of work are rounded up to it."""

Span = tuple[int, int]
"""From (included) to (excluded), in seconds after the beginning of the week."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Resource:
    """Something of which there are only so many at once.

    Parameters
    ----------
    kind
        "mould", "room", "machine".
    amount
        How much there is, in units; `per` units are one thing that a person counts (a tray, a level).
    counted
        What a person calls one of it.
    """

    name: str
    kind: str
    amount: int
    per: int = 1
    counted: str = "tray"
    air: float | None = None  # of a room [K]


@dataclass(frozen=True, slots=True, kw_only=True)
class Use:
    """A machine that a job needs from its beginning for some seconds; `clean` of them are the clean-down."""

    resource: str
    amount: int
    seconds: int
    clean: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """A piece of work that needs one person's hands, without a break in it.

    Parameters
    ----------
    key
        Unique in the week: "Apricot 1 fill".
    kind
        "cook", "visit", "fill hearts", "unmould hearts", "fill", "demould", "dip", "spray", "finish", "take out".
    does
        What is done, in a chef's words.
    seconds
        Hands-on, rounded up to whole slots.
    skill
        What a person must be able to do; empty: anyone.
    component, batch
        What is made, and how much of it [kg].
    trays
        Moulds handled: name and number.
    order
        The demand that it serves, for "take out".
    warm
        Seconds of it for which one piece is outside the cold.
    """

    key: str
    lot: str
    kind: str
    does: str
    seconds: int
    skill: str = ""
    component: str = ""
    batch: float | None = None
    trays: tuple[tuple[str, int], ...] = ()
    pieces: int = 0
    uses: tuple[Use, ...] = ()
    order: str = ""
    warm: int = 0
    allergens: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True, kw_only=True)
class Lag:
    """From the end of one job to the start of another: the shortest and the longest time between."""

    before: str
    after: str
    at_least: int
    at_most: int | None
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Hold:
    """Places taken from a moment of one job to a moment of another, or to the service.

    `begins` and `ends` say which moment: "start" or "end" of the job. Nobody is there at night to empty a tray: it is
    held until the second job really begins.
    """

    resource: str
    amount: int
    first: str
    begins: str
    last: str  # job, or empty: until `until`
    ends: str
    why: str
    until: int | None = None
    pieces: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """Pieces of a lot that go to one demand, and the job that takes them out."""

    demand: str
    pieces: int
    job: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Demand:
    """Pieces of one dessert at one service.

    Parameters
    ----------
    moment
        Of service, seconds after the beginning of the week.
    at_least, at_most
        Between taking out and service [s].
    stretched
        Why the longest time is longer than the window in which the piece is at its best; empty: it is not.
    best
        The longest time while the piece is at its best [s].
    """

    key: str
    order: str
    dessert: str
    pieces: int
    moment: int
    at_least: int
    at_most: int
    best: int
    room: str
    stretched: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lot:
    """Pieces made together in one filling of the moulds; or pieces that lie finished in the freezer.

    Parameters
    ----------
    jobs
        In the order of work.
    use_by
        For pieces in stock, the moment by which they must have been eaten.
    weighing
        What is weighed for it; None for stock.
    """

    key: str
    dessert: str
    number: int
    pieces: int
    started: int
    jobs: tuple[Job, ...]
    lags: tuple[Lag, ...]
    holds: tuple[Hold, ...]
    parts: tuple[Part, ...]
    spare: int = 0
    stock: bool = False
    use_by: int | None = None
    weighing: Weighing | None = field(default=None, compare=False, repr=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Hands:
    """One person's hours in the week: blocks of work, and what may be added at a price.

    Parameters
    ----------
    blocks
        Parts of shifts between breaks.
    extra
        Overtime that may be asked for, after the shifts.
    pay, overtime_factor
        Per hour, and what an hour of overtime costs more.
    """

    name: str
    blocks: tuple[Span, ...]
    extra: tuple[Span, ...]
    skills: frozenset[str]
    pay: float
    overtime_factor: float = 1.5


@dataclass(frozen=True, kw_only=True, eq=False)  # no slots: it remembers its indexes
class Week:
    """All facts of a week, from which it is planned; frozen.

    Parameters
    ----------
    start
        Local midnight of the first day.
    now
        Nothing may begin before it, seconds after `start`.
    length
        Seconds until the last day has ended; real seconds, so a day on which the clock changes has 23 or 25 hours.
    down
        Rooms and machines out of order: name, from, to.
    begun
        Jobs that have begun: start and person; they stay where they are.
    """

    kitchen: Kitchen
    start: datetime.datetime
    now: int
    length: int
    lots: tuple[Lot, ...]
    demands: tuple[Demand, ...]
    resources: tuple[Resource, ...]
    hands: tuple[Hands, ...]
    worked: Mapping[str, Worked] = field(default_factory=lambda: MappingProxyType({}))
    findings: tuple[Finding, ...] = ()
    down: tuple[tuple[str, int, int], ...] = ()
    begun: Mapping[str, tuple[int, str]] = field(default_factory=lambda: MappingProxyType({}))

    @property
    def zone(self) -> ZoneInfo:
        """The time zone of the kitchen."""
        return ZoneInfo(self.kitchen.zone)

    def clock(self, moment: float) -> datetime.datetime:
        """The time on the kitchen's clock."""
        return (self.start.astimezone(datetime.UTC) + datetime.timedelta(seconds=moment)).astimezone(self.zone)

    def told(self, moment: float) -> str:
        """A moment in words: "Thu 18:00"; with the date when the week is longer than seven days."""
        clock = self.clock(moment)
        return f"{clock:%a %d %b %H:%M}" if self.length > 8 * 86400 else f"{clock:%a %H:%M}"

    def resource(self, name: str) -> Resource:
        """A resource by name."""
        return self._by_name[name]

    def lot(self, key: str) -> Lot:
        """A lot by key."""
        return self._lots[key]

    def demand(self, key: str) -> Demand:
        """A demand by key."""
        return self._demands[key]

    def job(self, key: str) -> Job:
        """A job by key."""
        return self._jobs[key]

    @cached_property
    def _by_name(self) -> dict[str, Resource]:
        return {one.name: one for one in self.resources}

    @cached_property
    def _lots(self) -> dict[str, Lot]:
        return {one.key: one for one in self.lots}

    @cached_property
    def _demands(self) -> dict[str, Demand]:
        return {one.key: one for one in self.demands}

    @cached_property
    def _jobs(self) -> dict[str, Job]:
        return {job.key: job for lot in self.lots for job in lot.jobs}


def seconds_up(seconds: Second) -> int:
    """Whole slots, rounded up, in seconds."""
    return -(-round(seconds) // SLOT) * SLOT


def seconds_down(seconds: Second) -> int:
    """Whole slots, rounded down, in seconds."""
    return int(seconds) // SLOT * SLOT
