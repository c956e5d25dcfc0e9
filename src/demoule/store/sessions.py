"""Who is signed in: random tokens of which only a hash is kept, each with an end."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from sqlalchemy import delete, or_, select, update

from demoule.store.attempts import begin_attempt, forget_attempts
from demoule.store.audit import trace
from demoule.store.passwords import hash_of_token, hashed, is_right, needs_new_hash, never_right
from demoule.store.people import Person, folded_name, person_of_row, wrong
from demoule.store.tables import PersonRow, SessionRow
from demoule.store.values import By, utc

if TYPE_CHECKING:
    from demoule.store.database import Database

__all__ = ["IDLE", "LASTS", "Session", "Sessions", "SignedIn"]

LASTS = timedelta(days=14)
"""How long a sign-in holds at most."""

IDLE = timedelta(hours=24)
"""How long it holds without a request."""

_NOTED_EVERY = timedelta(minutes=5)


@dataclass(frozen=True, slots=True, kw_only=True)
class SignedIn:
    """A person who has just signed in; the token goes into the cookie and nowhere else."""

    person: Person
    token: str
    expires: datetime

    def __repr__(self) -> str:
        return f"SignedIn(person={self.person.name!r}, expires={self.expires!r})"  # never the token in a log


@dataclass(frozen=True, slots=True, kw_only=True)
class Session:
    """One signed-in browser."""

    id: int
    person: str
    begun: datetime
    seen: datetime
    expires: datetime
    about: str


class Sessions:
    """Signing in and out."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def sign_in(self, name: str, password: str, at: datetime, *, about: str = "", lasts: timedelta = LASTS) -> SignedIn:
        """Sign a person in.

        Parameters
        ----------
        about
            What the person signs in with, in words ("tablet").

        Raises
        ------
        NotSignedIn
            When the name or the password is wrong; it does not say which, and takes as long for either.
        Waiting
            After too many wrong ones in a row.
        """
        at = utc(at)
        folded = folded_name(name)[:80]
        begin_attempt(self._database, folded, at)
        with self._database.read() as session:
            query = select(PersonRow).where(PersonRow.folded == folded, PersonRow.removed.is_(False))
            row = session.scalars(query).one_or_none()
            known = None if row is None else row.password_hash
            # Only a name that is borne is written down: people type passwords into the wrong field.
            who = "nobody known" if row is None else row.name
        right = never_right(password) if known is None else is_right(password, known)
        if not right or known is None:
            with self._database.write() as session:
                trace(session, By(who=who, at=at), "sign-in refused", f"person {who}")
            raise wrong()
        new_hash = hashed(password) if needs_new_hash(known) else None
        token = secrets.token_urlsafe(32)
        with self._database.write() as session:
            row = session.scalars(query.with_for_update()).one_or_none()
            if row is None or row.password_hash != known:
                raise wrong()  # removed or reset in this very moment
            if new_hash is not None:
                row.password_hash = new_hash
            forget_attempts(session, folded)
            entry = SessionRow(
                token_hash=hash_of_token(token),
                person_id=row.id,
                begun=at,
                seen=at,
                expires=at + lasts,
                about=_printable(about)[:200],
            )
            session.add(entry)
            trace(session, By(who=row.name, at=at), "signed in", f"person {row.name}", {"with": entry.about})
            return SignedIn(person=person_of_row(row), token=token, expires=entry.expires)

    def person_of(self, token: str, at: datetime) -> Person | None:
        """Whose token it is; None when it is unknown, ended, too old or long unused."""
        at = utc(at)
        query = (
            select(SessionRow, PersonRow)
            .join(PersonRow, SessionRow.person_id == PersonRow.id)
            .where(SessionRow.token_hash == hash_of_token(token), PersonRow.removed.is_(False))
        )
        with self._database.read() as session:
            found = session.execute(query).one_or_none()
            if found is None:
                return None
            entry, row = found
            if entry.expires <= at or entry.seen + IDLE <= at:
                return None
            person, ident, seen = person_of_row(row), entry.id, entry.seen
        if at - seen >= _NOTED_EVERY:
            with self._database.write() as session:
                session.execute(update(SessionRow).where(SessionRow.id == ident, SessionRow.seen < at).values(seen=at))
        return person

    def of(self, name: str, at: datetime) -> tuple[Session, ...]:
        """Where a person is signed in, the latest used first."""
        at = utc(at)
        query = (
            select(SessionRow, PersonRow.name)
            .join(PersonRow, SessionRow.person_id == PersonRow.id)
            .where(PersonRow.folded == folded_name(name), SessionRow.expires > at, SessionRow.seen > at - IDLE)
            .order_by(SessionRow.seen.desc())
        )
        with self._database.read() as session:
            return tuple(
                Session(id=row.id, person=person, begun=row.begun, seen=row.seen, expires=row.expires, about=row.about)
                for row, person in session.execute(query)
            )

    def end(self, token: str, by: By) -> None:
        """Sign out; a token that is not known changes nothing."""
        with self._database.write() as session:
            row = session.scalars(select(SessionRow).where(SessionRow.token_hash == hash_of_token(token))).one_or_none()
            if row is not None:
                session.delete(row)
                trace(session, by, "signed out", f"person {by.who}")

    def end_all(self, name: str, by: By) -> int:
        """Sign a person out everywhere; gives the number of sessions ended."""
        with self._database.write() as session:
            person = session.scalars(select(PersonRow).where(PersonRow.folded == folded_name(name))).one_or_none()
            if person is None:
                return 0
            ended = session.scalars(
                delete(SessionRow).where(SessionRow.person_id == person.id).returning(SessionRow.id)
            ).all()
            trace(session, by, "signed out everywhere", f"person {person.name}", {"sessions": len(ended)})
            return len(ended)

    def tidy(self, at: datetime) -> int:
        """Forget sessions that are over; gives their number."""
        at = utc(at)
        over = or_(SessionRow.expires <= at, SessionRow.seen <= at - IDLE)
        with self._database.write() as session:
            return len(session.scalars(delete(SessionRow).where(over).returning(SessionRow.id)).all())


def _printable(text: str) -> str:
    return "".join(sign if sign.isprintable() else " " for sign in text)
