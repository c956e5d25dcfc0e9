"""Desserts, kitchens and order books, kept as text in versions that are only ever added."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from typing import TYPE_CHECKING

from sqlalchemy import select
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session, aliased
from sqlalchemy.orm.exc import StaleDataError

from demoule.store.audit import trace
from demoule.store.slugs import checked_slug, free_slug, slug_of
from demoule.store.tables import DocumentRow, VersionRow
from demoule.store.texts import checked_key, checked_text, line
from demoule.store.trouble import AlreadyThere, NotThere, Stale
from demoule.store.values import By, Head, Kind, Version

if TYPE_CHECKING:
    from datetime import datetime

    from demoule.store.database import Database

__all__ = ["Documents", "digest_of", "found"]

_TRIES = 5
Check = Callable[[str], object]


def digest_of(text: str) -> str:
    """SHA-256 of a text in UTF-8."""
    return hashlib.sha256(text.encode()).hexdigest()


def _checked_name(name: str) -> str:
    return line(name, "name", needed=True)


def _what(kind: str, slug: str) -> str:
    return f"{kind} {slug}"


class Documents:
    """All documents and their versions.

    Every write is one transaction, and each raises Stale, with both versions, when it began from an older revision
    than the one that stands.
    """

    def __init__(self, database: Database) -> None:
        self._database = database

    # Reading

    def heads(self, kind: Kind | None = None, *, put_away: bool = False) -> tuple[Head, ...]:
        """The documents as they stand, by name; those put away only when asked."""
        origin = aliased(DocumentRow)
        query = (
            select(DocumentRow, VersionRow.at, VersionRow.who, VersionRow.why, origin.slug)
            .join(VersionRow, (VersionRow.document_id == DocumentRow.id) & (VersionRow.n == DocumentRow.n))
            .outerjoin(origin, DocumentRow.branch_of_id == origin.id)
        )
        if kind is not None:
            query = query.where(DocumentRow.kind == str(kind))
        if not put_away:
            query = query.where(DocumentRow.put_away.is_(False))
        with self._database.read() as session:
            heads = [_head(row, at, who, why, slug) for row, at, who, why, slug in session.execute(query)]
        return tuple(sorted(heads, key=lambda head: (head.kind, head.name.casefold(), head.slug)))

    def head(self, kind: Kind, slug: str) -> Head:
        """One document as it stands; raises NotThere."""
        with self._database.read() as session:
            return _head_of(session, found(session, kind, slug))

    def version(self, kind: Kind, slug: str, n: int | None = None) -> Version:
        """One version with its text, the head when no number is given; raises NotThere."""
        with self._database.read() as session:
            row = found(session, kind, slug)
            return _version(row, _numbered(session, row, row.n if n is None else n))

    def history(
        self, kind: Kind, slug: str, *, most: int | None = None, before: int | None = None
    ) -> tuple[Version, ...]:
        """The versions, the newest first; raises NotThere.

        Parameters
        ----------
        most
            No more than so many; None: all of them, with all their texts.
        before
            Number of the last version of the page before.
        """
        with self._database.read() as session:
            row = found(session, kind, slug)
            query = select(VersionRow).where(VersionRow.document_id == row.id).order_by(VersionRow.n.desc())
            if before is not None:
                query = query.where(VersionRow.n < before)
            if most is not None:
                query = query.limit(most)
            return tuple(_version(row, version) for version in session.scalars(query))

    # Writing

    def begin(self, kind: Kind, name: str, text: str, by: By, *, slug: str = "", key: str = "") -> Version:
        """A new document with its first version.

        Parameters
        ----------
        slug
            Its short name; raises AlreadyThere when it is taken. Without one it is made from the name, and made free.
        key
            The client's key of this act; sent again for the same kind, the document already begun is given back.
        """
        return self._begin(kind, _checked_name(name), checked_text(text), by, slug, checked_key(key), act="begun")

    def save(
        self,
        kind: Kind,
        slug: str,
        text: str,
        by: By,
        *,
        rev: int,
        name: str | None = None,
        key: str = "",
        check: Check | None = None,
        act: str = "saved",
    ) -> Version:
        """A new version on top of the revision that the person began from.

        Parameters
        ----------
        rev
            That revision; raises Stale when another stands now.
        name
            The document's name from now on; None leaves it.
        key
            The client's key of this save; sent again, the version already made is given back.
        check
            Called with the text before anything is written; what it raises leaves everything as it was.
        """
        checked_text(text)
        new_name = None if name is None else _checked_name(name)
        sent = checked_key(key)
        if check is not None:
            check(text)
        return self._add(kind, slug, text, by, rev=rev, name=new_name, key=sent, act=act)

    def restore(self, kind: Kind, slug: str, n: int, by: By, *, rev: int, key: str = "") -> Version:
        """A new version with the text of an old one; raises NotThere and Stale."""
        old = self.version(kind, slug, n)
        return self._add(
            kind, slug, old.text, by, rev=rev, name=old.name, key=checked_key(key), act="restored", parent=n
        )

    def branch(
        self, kind: Kind, slug: str, name: str, by: By, *, n: int | None = None, new_slug: str = "", key: str = ""
    ) -> Version:
        """A new document that begins with the text of a version of another, and remembers which."""
        old = self.version(kind, slug, n)
        return self._begin(
            kind, _checked_name(name), old.text, by, new_slug, checked_key(key), act="branched", origin=(slug, old.n)
        )

    def put_away(self, kind: Kind, slug: str, by: By, *, rev: int, away: bool = True) -> Head:
        """Hide a document from the lists, or bring it back; its versions stay readable."""
        try:
            with self._database.write() as session:
                row = found(session, kind, slug)
                self._refuse_stale(session, row, rev, "")
                if row.put_away != away:
                    row.put_away = away
                    trace(session, by, "put away" if away else "brought back", _what(kind, slug), {"n": row.n})
                    session.flush()
                return _head_of(session, row)
        except StaleDataError:
            raise self._stale(kind, slug, rev, "") from None

    # Within

    def _begin(
        self,
        kind: Kind,
        name: str,
        text: str,
        by: By,
        slug: str,
        key: str | None,
        *,
        act: str,
        origin: tuple[str, int] | None = None,
    ) -> Version:
        wanted = checked_slug(slug) if slug else slug_of(name)
        for last in range(_TRIES - 1, -1, -1):
            try:
                with self._database.write() as session:
                    if key is not None and (made := _begun_with(session, kind, key)):
                        return made
                    taken = set(session.scalars(select(DocumentRow.slug).where(DocumentRow.kind == str(kind))))
                    if slug and slug in taken:
                        raise AlreadyThere(
                            f"There is a {kind} called “{slug}” already.", remedy="choose another short name."
                        )
                    begun_from = found(session, kind, origin[0]) if origin else None
                    row = DocumentRow(
                        kind=str(kind),
                        slug=free_slug(wanted, taken),
                        name=name,
                        n=1,
                        put_away=False,
                        branch_of_id=begun_from.id if begun_from else None,
                        branch_of_n=origin[1] if origin else None,
                    )
                    session.add(row)
                    session.flush()
                    version = _row(row, text, by, act=act, key=key, parent=None)
                    session.add(version)
                    details = {"n": 1, "digest": version.digest}
                    if origin:
                        details |= {"of": origin[0], "of_n": origin[1]}
                    trace(session, by, act, _what(kind, row.slug), details)
                    session.flush()
                    return _version(row, version)
            except IntegrityError:
                if not last:  # somebody took every name we chose
                    raise
        raise AssertionError("unreachable")

    def _add(
        self,
        kind: Kind,
        slug: str,
        text: str,
        by: By,
        *,
        rev: int,
        name: str | None,
        key: str | None,
        act: str,
        parent: int | None = None,
    ) -> Version:
        try:
            with self._database.write() as session:
                row = found(session, kind, slug)
                if key is not None and (sent := _keyed(session, row, key)):
                    return _version(row, sent)
                standing = _numbered(session, row, row.n)
                if standing.text == text and name in (None, standing.name):
                    # Nothing to add; and a save that was sent twice has arrived already.
                    return _version(row, standing)
                self._refuse_stale(session, row, rev, text)
                before = row.n
                row.n += 1
                row.name = name or row.name
                session.flush()  # takes the next revision, or finds that somebody else did
                version = _row(row, text, by, act=act, key=key, parent=parent or before)
                session.add(version)
                trace(session, by, act, _what(kind, slug), {"n": row.n, "digest": version.digest})
                session.flush()
                return _version(row, version)
        except (StaleDataError, IntegrityError):
            # Two at once with one key: the other has made the version by now.
            if key is not None:
                with self._database.read() as session:
                    row = found(session, kind, slug)
                    if sent := _keyed(session, row, key):
                        return _version(row, sent)
            raise self._stale(kind, slug, rev, text) from None

    def _refuse_stale(self, session: Session, row: DocumentRow, rev: int, text: str) -> None:
        if row.rev != rev:
            raise _conflict(session, row, rev, text)

    def _stale(self, kind: Kind, slug: str, rev: int, text: str) -> Stale:
        with self._database.read() as session:
            return _conflict(session, found(session, kind, slug), rev, text)


def found(session: Session, kind: Kind, slug: str) -> DocumentRow:
    """The row of a document; raises NotThere."""
    row = None
    if slug.isascii() and "\0" not in slug:
        query = select(DocumentRow).where(DocumentRow.kind == str(kind), DocumentRow.slug == slug)
        row = session.scalars(query).one_or_none()
    if row is None:
        raise NotThere(f"There is no {kind} called “{slug[:100]}”.", remedy="look at the list: demoule keep list")
    return row


def _numbered(session: Session, row: DocumentRow, n: int) -> VersionRow:
    version = None
    if 1 <= n <= row.n:
        query = select(VersionRow).where(VersionRow.document_id == row.id, VersionRow.n == n)
        version = session.scalars(query).one_or_none()
    if version is None:
        raise NotThere(
            f"“{row.name}” has no version {n}; it has 1 to {row.n}.", remedy=f"demoule keep history {row.slug}"
        )
    return version


def _keyed(session: Session, row: DocumentRow, key: str) -> VersionRow | None:
    query = select(VersionRow).where(VersionRow.document_id == row.id, VersionRow.key == key)
    return session.scalars(query).one_or_none()


def _begun_with(session: Session, kind: Kind, key: str) -> Version | None:
    query = (
        select(DocumentRow, VersionRow)
        .join(VersionRow, VersionRow.document_id == DocumentRow.id)
        .where(DocumentRow.kind == str(kind), VersionRow.n == 1, VersionRow.key == key)
    )
    pair = session.execute(query).first()
    return None if pair is None else _version(*pair)


def _conflict(session: Session, row: DocumentRow, rev: int, text: str) -> Stale:
    query = (
        select(VersionRow)
        .where(VersionRow.document_id == row.id, VersionRow.rev <= rev)
        .order_by(VersionRow.rev.desc())
        .limit(1)
    )
    base = session.scalars(query).one_or_none() if rev <= row.rev else None
    theirs = _version(row, _numbered(session, row, row.n))
    return Stale(text, theirs, None if base is None else _version(row, base))


def _row(row: DocumentRow, text: str, by: By, *, act: str, key: str | None, parent: int | None) -> VersionRow:
    return VersionRow(
        document_id=row.id,
        n=row.n,
        rev=row.rev,
        name=row.name,
        text=text,
        digest=digest_of(text),
        parent=parent,
        act=act,
        who=by.who,
        at=by.at,
        why=by.why,
        key=key,
    )


def _version(row: DocumentRow, version: VersionRow) -> Version:
    return Version(
        kind=Kind(row.kind),
        slug=row.slug,
        name=version.name,
        n=version.n,
        # A document that was put away and brought back has gone on from the revision of its head.
        rev=row.rev if version.n == row.n else version.rev,
        text=version.text,
        parent=version.parent,
        act=version.act,
        who=version.who,
        at=version.at,
        why=version.why,
        digest=version.digest,
    )


def _head_of(session: Session, row: DocumentRow) -> Head:
    version = _numbered(session, row, row.n)
    return _head(row, version.at, version.who, version.why, row.branch_of.slug if row.branch_of else None)


def _head(row: DocumentRow, at: datetime, who: str, why: str, origin: str | None) -> Head:
    return Head(
        kind=Kind(row.kind),
        slug=row.slug,
        name=row.name,
        rev=row.rev,
        n=row.n,
        at=at,
        who=who,
        why=why,
        put_away=row.put_away,
        branch_of=origin or "",
        branch_of_n=row.branch_of_n,
    )
