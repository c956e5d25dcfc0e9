"""The form of a plan as JSON, as types from which its schema is made; moments are ISO 8601 with their offset."""

from __future__ import annotations

from typing import Literal

from pydantic import ConfigDict, with_config
from typing_extensions import TypedDict

__all__ = ["WeekDocument"]

_CLOSED = ConfigDict(extra="forbid")


@with_config(_CLOSED)
class CostDocument(TypedDict):
    """How good the week is; `bound` is an aim below which no plan of these lots can come."""

    unserved_pieces: int
    late_min: int
    overtime_min: int
    aim: int
    bound: int | None
    gap: float | None


@with_config(_CLOSED)
class OutDocument(TypedDict):
    """When taking pieces out of the freezer begins, and between when it may."""

    dessert: str
    at: str
    not_before: str
    not_after: str


@with_config(_CLOSED)
class AnswerDocument(TypedDict):
    """What a chef asks first about one service."""

    order: str
    service: str
    pieces: int
    ready: bool
    begins: str | None
    begins_with: str
    could_begin_later_min: float | None
    first_heart: str | None
    out_of_the_freezer: list[OutDocument]
    spare: dict[str, int]


@with_config(_CLOSED)
class TaskDocument(TypedDict):
    """A piece of work in its hour; `trays` are numbers from 1 by mould."""

    job: str
    lot: str
    kind: str
    does: str
    person: str
    start: str
    end: str
    overtime: bool
    pieces: int
    batch_g: float | None
    trays: dict[str, list[int]]


StayDocument = TypedDict(
    "StayDocument",
    {"in": str, "places": list[int], "from": str, "to": str, "lot": str, "why": str},
)
StayDocument.__doc__ = "Something in its place: trays of a mould, or half levels of a room, numbered from 1."


@with_config(_CLOSED)
class PartDocument(TypedDict):
    """Pieces of a lot that go to one demand."""

    demand: str
    pieces: int


LotDocument = TypedDict(
    "LotDocument",
    {
        "lot": str,
        "dessert": str,
        "pieces": int,
        "started": int,
        "spare": int,
        "stock": bool,
        "made": bool,
        "for": list[PartDocument],
    },
)
LotDocument.__doc__ = "Pieces made together, or lying finished in the freezer."


@with_config(_CLOSED)
class StayingDocument(TypedDict):
    """A person who stays after the shift, and how much work that is for."""

    person: str
    until: str | None
    after_the_shift_min: float
    work_min: float


@with_config(_CLOSED)
class LateDocument(TypedDict):
    """By how much a demand is late."""

    demand: str
    min: float


@with_config(_CLOSED)
class ClashDocument(TypedDict):
    """Why a lot is not made, or late: facts that cannot hold together, in words and (`about`) by name.

    With `around`, they clash only while all other lots stay where they lie.
    """

    lot: str
    what: Literal["not made", "late"]
    facts: list[str]
    remedies: list[str]
    about: list[str]
    around: bool


@with_config(_CLOSED)
class FindingDocument(TypedDict):
    """What there is to mind."""

    severity: Literal["stop", "caution", "note"]
    rule: str
    where: str
    says: str
    why: str
    remedy: str


@with_config(_CLOSED)
class MoveDocument(TypedDict):
    """What moved against the plan before, and why."""

    what: str
    why: str


@with_config(_CLOSED)
class HelpDocument(TypedDict):
    """One change that was tried, and what it was found to bring."""

    change: str
    kind: Literal["tray", "place", "machine", "hour", "day"]
    more_pieces: int
    less_late_min: float
    less_overtime_min: float
    aim: int
    serves: list[str]


@with_config(_CLOSED)
class HelpsDocument(TypedDict):
    """Changes that were tried, the most helpful first, and those for which there was no time."""

    tried: list[HelpDocument]
    untried: list[str]


@with_config(_CLOSED)
class WeekDocument(TypedDict):
    """A planned week."""

    demoule: int
    kitchen: str
    zone: str
    start: str
    works: bool
    cancelled: bool
    cost: CostDocument
    answers: list[AnswerDocument]
    tasks: list[TaskDocument]
    stays: list[StayDocument]
    lots: list[LotDocument]
    staying: list[StayingDocument]
    late: list[LateDocument]
    clashes: list[ClashDocument]
    findings: list[FindingDocument]
    moved: list[MoveDocument]
    would_help: HelpsDocument | None
    checked: list[str]
