"""What is typed and not saved yet, so that it outlives the tablet it was typed on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy import select
from sqlalchemy.exc import IntegrityError

from demoule.store.documents import found
from demoule.store.tables import DocumentRow, DraftRow
from demoule.store.texts import checked_text
from demoule.store.values import By, Draft, Kind, utc

if TYPE_CHECKING:
    from datetime import datetime

    from demoule.store.database import Database

__all__ = ["Drafts"]


class Drafts:
    """What is typed and not saved, one draft for each person and document."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def keep(self, kind: Kind, slug: str, who: str, text: str, at: datetime, *, rev: int) -> Draft:
        """Keep what is typed; one that was typed earlier never replaces a later one."""
        by = By(who=who, at=at)
        checked_text(text)
        for last in (False, True):
            try:
                with self._database.write() as session:
                    document = found(session, kind, slug)
                    row = session.get(DraftRow, (document.id, who), with_for_update=True)
                    if row is None:
                        row = DraftRow(document_id=document.id, who=who, text=text, at=by.at, rev=rev)
                        session.add(row)
                    elif row.at <= by.at:
                        row.text, row.at, row.rev = text, by.at, rev
                    session.flush()
                    return _draft(document, row)
            except IntegrityError:  # two first drafts at once
                if last:
                    raise
        raise AssertionError("unreachable")

    def of(self, kind: Kind, slug: str, who: str) -> Draft | None:
        """The draft of a person in a document."""
        with self._database.read() as session:
            document = found(session, kind, slug)
            row = session.get(DraftRow, (document.id, who))
            return None if row is None else _draft(document, row)

    def all_of(self, who: str) -> tuple[Draft, ...]:
        """Every draft of a person, the newest first."""
        query = (
            select(DocumentRow, DraftRow)
            .join(DraftRow, DraftRow.document_id == DocumentRow.id)
            .where(DraftRow.who == who)
            .order_by(DraftRow.at.desc())
        )
        with self._database.read() as session:
            return tuple(_draft(document, row) for document, row in session.execute(query))

    def drop(self, kind: Kind, slug: str, who: str, *, until: datetime | None = None) -> None:
        """Forget a draft, once it is saved or thrown away; one typed after `until` stays."""
        with self._database.write() as session:
            row = session.get(DraftRow, (found(session, kind, slug).id, who))
            if row is not None and (until is None or row.at <= utc(until)):
                session.delete(row)


def _draft(document: DocumentRow, row: DraftRow) -> Draft:
    return Draft(kind=Kind(document.kind), slug=document.slug, who=row.who, text=row.text, at=row.at, rev=row.rev)
