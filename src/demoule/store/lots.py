"""Lots: what was made when, of what, and where it went; so that one bad carton finds all its pieces."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from typing import TYPE_CHECKING

from sqlalchemy import select
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from demoule.errors import BadInput
from demoule.store.audit import trace
from demoule.store.tables import LotPartRow, LotRow
from demoule.store.texts import checked_text, line
from demoule.store.trouble import AlreadyThere, NotThere
from demoule.store.values import By, utc
from demoule.units import Kilogram

if TYPE_CHECKING:
    from demoule.store.database import Database

__all__ = ["Lot", "Lots"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Lot:
    """One making.

    Parameters
    ----------
    code
        As it stands on the label; unique.
    what
        The dessert or the component.
    document, version
        Short name and version of the dessert it was made by.
    until
        The last day of use.
    made_from
        Codes of lots that went into it: our own, or a supplier's.
    """

    code: str
    what: str
    made: datetime
    who: str
    document: str = ""
    version: int | None = None
    pieces: int | None = None
    mass: Kilogram | None = None
    until: date | None = None
    place: str = ""
    note: str = ""
    made_from: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        for name, most in (("code", 80), ("what", 200), ("who", 200), ("document", 80), ("place", 200)):
            needed = name in ("code", "what", "who")
            object.__setattr__(self, name, line(getattr(self, name), name, most=most, needed=needed))
        checked_text(self.note, 20_000)
        object.__setattr__(self, "made", utc(self.made))
        parts = dict.fromkeys(line(part, "code of a part", most=80, needed=True) for part in self.made_from)
        object.__setattr__(self, "made_from", tuple(parts))
        if self.code in parts:
            raise BadInput("A lot cannot go into itself.", where=self.code, remedy="take it out of its own parts.")
        if self.pieces is not None and not 0 <= self.pieces <= 1_000_000:
            raise BadInput(f"{self.pieces} cannot be a number of pieces.", where=self.code, remedy="count again.")
        if self.mass is not None and not (math.isfinite(self.mass) and 0 <= self.mass < 1e5):
            raise BadInput(f"{self.mass} kg cannot be a weight.", where=self.code, remedy="weigh again.")


class Lots:
    """All lots, and the ways between them."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def add(self, lot: Lot, by: By) -> Lot:
        """Note a lot; the same one sent again is noted once.

        Raises
        ------
        AlreadyThere
            When the code stands for another lot.
        BadInput
            When it would go into itself by way of others.
        """
        for last in (False, True):
            try:
                return self._add(lot, by)
            except IntegrityError:
                if last:
                    raise
        raise AssertionError("unreachable")

    def _add(self, lot: Lot, by: By) -> Lot:
        with self._database.write() as session:
            row = session.scalars(select(LotRow).where(LotRow.code == lot.code)).one_or_none()
            if row is not None:
                if _lot(session, row) != lot:
                    raise AlreadyThere(
                        f"There is another lot “{lot.code}” already.", remedy="give this one a code of its own."
                    )
                return lot
            if lot.code in _reached(lot.made_from, lambda codes: _parts_of(session, codes)):
                raise BadInput(
                    f"Lot “{lot.code}” would go into itself by way of others.", remedy="look at what it is made from."
                )
            row = LotRow(
                code=lot.code,
                what=lot.what,
                made=lot.made,
                who=lot.who,
                document=lot.document,
                version=lot.version,
                pieces=lot.pieces,
                mass=lot.mass,
                until=lot.until,
                place=lot.place,
                note=lot.note,
                written_by=by.who,
                written_at=by.at,
            )
            session.add(row)
            session.flush()
            for part in lot.made_from:
                session.add(LotPartRow(lot_id=row.id, part=part))
                session.flush()  # one after the other, in the order given
            trace(session, by, "made", f"lot {lot.code}", {"what": lot.what, "made_from": list(lot.made_from)})
            return lot

    def get(self, code: str) -> Lot:
        """One lot; raises NotThere."""
        with self._database.read() as session:
            row = session.scalars(select(LotRow).where(LotRow.code == code)).one_or_none()
            if row is None:
                raise NotThere(f"There is no lot “{code[:80]}”.", remedy="read its code again.")
            return _lot(session, row)

    def list(self, *, what: str | None = None, after: date | None = None) -> tuple[Lot, ...]:
        """Lots, the latest made first; `after` leaves out what was made before that day (UTC)."""
        query = select(LotRow).order_by(LotRow.made.desc(), LotRow.id.desc())
        if what is not None:
            query = query.where(LotRow.what == what)
        if after is not None:
            query = query.where(LotRow.made >= datetime.combine(after, time.min, UTC))
        with self._database.read() as session:
            return tuple(_lot(session, row) for row in session.scalars(query).all())

    def went_into(self, code: str) -> tuple[Lot, ...]:
        """Every lot that holds some of this one, or of a supplier's lot; the latest made first."""
        with self._database.read() as session:
            codes = _reached([code], lambda some: _wholes_of(session, some)) - {code}
            rows = session.scalars(select(LotRow).where(LotRow.code.in_(codes)).order_by(LotRow.made.desc())).all()
            return tuple(_lot(session, row) for row in rows)

    def came_from(self, code: str) -> tuple[str, ...]:
        """Codes of everything that went into a lot, our own and suppliers'."""
        with self._database.read() as session:
            return tuple(sorted(_reached([code], lambda some: _parts_of(session, some)) - {code}))


def _reached(codes: Iterable[str], further: Callable[[set[str]], set[str]]) -> set[str]:
    reached: set[str] = set()
    edge = set(codes)
    while edge:
        reached |= edge
        edge = further(edge) - reached
    return reached


def _parts_of(session: Session, codes: set[str]) -> set[str]:
    query = select(LotPartRow.part).join(LotRow, LotPartRow.lot_id == LotRow.id).where(LotRow.code.in_(codes))
    return set(session.scalars(query))


def _wholes_of(session: Session, codes: set[str]) -> set[str]:
    query = select(LotRow.code).join(LotPartRow, LotPartRow.lot_id == LotRow.id).where(LotPartRow.part.in_(codes))
    return set(session.scalars(query))


def _lot(session: Session, row: LotRow) -> Lot:
    parts = session.scalars(select(LotPartRow.part).where(LotPartRow.lot_id == row.id).order_by(LotPartRow.id))
    return Lot(
        code=row.code,
        what=row.what,
        made=row.made,
        who=row.who,
        document=row.document,
        version=row.version,
        pieces=row.pieces,
        mass=row.mass,
        until=row.until,
        place=row.place,
        note=row.note,
        made_from=tuple(parts),
    )
