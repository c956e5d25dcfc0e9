"""What happened at the bench: ticks of the day sheet, weights, temperatures, notes; added only, each once."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields
from datetime import date, datetime
from typing import TYPE_CHECKING

from sqlalchemy import select
from sqlalchemy.exc import IntegrityError

from demoule.errors import BadInput, UnknownName
from demoule.store.audit import trace
from demoule.store.tables import HappeningRow
from demoule.store.texts import checked_text, line
from demoule.store.trouble import AlreadyThere
from demoule.store.values import By, utc
from demoule.units import Kelvin, Kilogram

if TYPE_CHECKING:
    from demoule.store.database import Database

__all__ = ["HAPPENINGS", "MOST_AT_ONCE", "Happening", "Happenings"]

WITHDRAWN = "withdrawn"
HAPPENINGS = ("tick", "start", "end", "weight", "temperature", "pieces", "note", WITHDRAWN)
"""What can be noted; "withdrawn" takes back the one it replaces."""

MOST_AT_ONCE = 500
"""Happenings in one call: a tablet that was away for a day has fewer."""

_HOTTEST = 1000.0  # K; a caramel is below 480


@dataclass(frozen=True, slots=True, kw_only=True)
class Happening:
    """One thing that happened.

    Parameters
    ----------
    key
        Made where it was noted, and the same whenever it is sent again.
    book
        Short name of the planned week, or of the order book, that it belongs to; empty for none.
    day
        The day of the sheet.
    task
        Key of the job in the plan; empty when it belongs to none.
    who, at
        Who did it, and when it was noted there.
    mass, temperature
        In kg and K.
    replaces
        Key of the one that it puts right; that one is kept, but counts no more.
    """

    key: str
    book: str
    day: date
    task: str
    kind: str
    who: str
    at: datetime
    start: datetime | None = None
    end: datetime | None = None
    mass: Kilogram | None = None
    temperature: Kelvin | None = None
    pieces: int | None = None
    lot: str = ""
    note: str = ""
    replaces: str = ""

    def __post_init__(self) -> None:
        if self.kind not in HAPPENINGS:
            raise UnknownName("kind of happening", self.kind[:80], HAPPENINGS)
        for name, most in (("key", 80), ("book", 80), ("task", 200), ("who", 200), ("lot", 80), ("replaces", 80)):
            needed = name in ("key", "who")
            object.__setattr__(self, name, line(getattr(self, name), name, most=most, needed=needed))
        checked_text(self.note, 20_000)
        for name in ("at", "start", "end"):
            moment: datetime | None = getattr(self, name)
            object.__setattr__(self, name, None if moment is None else utc(moment))
        if self.start and self.end and self.end < self.start:
            raise BadInput("The end lies before the start.", where=self.task, remedy="look at both times.")
        if self.mass is not None and not (math.isfinite(self.mass) and 0 <= self.mass < 1e5):
            raise BadInput(f"{self.mass} kg cannot be a weight.", where=self.task, remedy="weigh again.")
        if self.temperature is not None and not (0 < self.temperature < _HOTTEST):
            raise BadInput(f"{self.temperature} K cannot be a temperature.", where=self.task, remedy="read it again.")
        if self.pieces is not None and not 0 <= self.pieces <= 1_000_000:
            raise BadInput(f"{self.pieces} cannot be a number of pieces.", where=self.task, remedy="count again.")
        if self.kind == WITHDRAWN and not self.replaces:
            raise BadInput("It is not said what is withdrawn.", where=self.task, remedy="name it by its key.")


_FIELDS = tuple(field.name for field in fields(Happening))


class Happenings:
    """Everything that happened."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def add(self, happenings: Sequence[Happening], by: By) -> tuple[Happening, ...]:
        """Note what happened, all of it or nothing; what was noted already under its key is left as it is.

        Parameters
        ----------
        by
            Who sent it, and when it arrived.

        Raises
        ------
        AlreadyThere
            When a key stands for something else.
        BadInput
            When there is too much at once.
        """
        if len(happenings) > MOST_AT_ONCE:
            raise BadInput(f"{len(happenings)} happenings at once; at most {MOST_AT_ONCE} are taken.")
        for last in (False, True):
            try:
                return self._add(happenings, by)
            except IntegrityError:  # the same ones sent twice at once: the second look finds them
                if last:
                    raise
        raise AssertionError("unreachable")

    def _add(self, happenings: Sequence[Happening], by: By) -> tuple[Happening, ...]:
        with self._database.write() as session:
            keys = {one.key for one in happenings}
            rows = session.scalars(select(HappeningRow).where(HappeningRow.key.in_(keys)))
            known = {row.key: _happening(row) for row in rows}
            new = []
            for one in happenings:
                standing = known.setdefault(one.key, one)
                if standing is one:
                    new.append(one)
                elif standing != one:
                    raise AlreadyThere(
                        f"The key “{one.key}” stands for something else that happened.",
                        where=one.task,
                        remedy="note it again under a new key; to put right what was noted, let it replace that.",
                    )
            session.add_all(
                HappeningRow(**{name: getattr(one, name) for name in _FIELDS}, written_by=by.who, written_at=by.at)
                for one in new
            )
            if new:
                sheets = sorted({f"{one.book} {one.day.isoformat()}".strip() for one in new})
                trace(session, by, "noted", f"log {sheets[0]}", {"keys": [one.key for one in new], "sheets": sheets})
            session.flush()
            return tuple(known[one.key] for one in happenings)

    def list(
        self,
        book: str | None = None,
        *,
        day: date | None = None,
        task: str | None = None,
        lot: str | None = None,
        whole: bool = False,
    ) -> tuple[Happening, ...]:
        """What happened, the earliest noted first.

        Parameters
        ----------
        whole
            Also what was replaced or withdrawn later.
        """
        query = select(HappeningRow).order_by(HappeningRow.at, HappeningRow.id)
        for column, value in (
            (HappeningRow.book, book),
            (HappeningRow.day, day),
            (HappeningRow.task, task),
            (HappeningRow.lot, lot),
        ):
            if value is not None:
                query = query.where(column == value)
        if not whole:
            gone = select(HappeningRow.replaces).where(HappeningRow.replaces != "")
            query = query.where(HappeningRow.key.not_in(gone), HappeningRow.kind != WITHDRAWN)
        with self._database.read() as session:
            return _all(session.scalars(query))


def _all(rows: Iterable[HappeningRow]) -> tuple[Happening, ...]:
    return tuple(_happening(row) for row in rows)


def _happening(row: HappeningRow) -> Happening:
    return Happening(**{name: getattr(row, name) for name in _FIELDS})
