"""The audit trail: every write and every sign-in, in the transaction that does it; never a secret."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import TYPE_CHECKING, Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from demoule.store.tables import AuditRow
from demoule.store.values import By, utc

if TYPE_CHECKING:
    from demoule.store.database import Database

__all__ = ["Audit", "Trace", "trace"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Trace:
    """One act: who did what to what, and when."""

    id: int
    at: datetime
    who: str
    act: str
    what: str
    details: Mapping[str, object] = field(default_factory=dict)


def trace(session: Session, by: By, act: str, what: str, details: Mapping[str, Any] | None = None) -> None:
    """Leave a trace in a transaction that is open."""
    told = dict(details or {})
    if by.why:
        told.setdefault("why", by.why)
    session.add(AuditRow(at=by.at, who=by.who, act=act, what=what[:300], details=told))


class Audit:
    """Reading the trail, and noting what the screens do themselves."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def note(self, by: By, act: str, what: str, details: Mapping[str, Any] | None = None) -> None:
        """Leave a trace of an act that writes nothing else."""
        with self._database.write() as session:
            trace(session, by, act, what, details)

    def list(
        self,
        *,
        who: str | None = None,
        what: str | None = None,
        since: datetime | None = None,
        before: int | None = None,
        most: int = 200,
    ) -> tuple[Trace, ...]:
        """Traces, the newest first.

        Parameters
        ----------
        what
            Exactly as it was noted: "dessert apricot", "person Ada".
        before
            Id of the last trace of the page before.
        """
        query = select(AuditRow).order_by(AuditRow.id.desc()).limit(most)
        if who is not None:
            query = query.where(AuditRow.who == who)
        if what is not None:
            query = query.where(AuditRow.what == what)
        if since is not None:
            query = query.where(AuditRow.at >= utc(since))
        if before is not None:
            query = query.where(AuditRow.id < before)
        with self._database.read() as session:
            return tuple(
                Trace(id=row.id, at=row.at, who=row.who, act=row.act, what=row.what, details=row.details)
                for row in session.scalars(query)
            )
