"""People who may sign in: their names, roles and passwords."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sqlalchemy import delete, func, select
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from demoule.errors import BadInput
from demoule.store.attempts import begin_attempt, forget_attempts
from demoule.store.audit import trace
from demoule.store.passwords import checked_password, hashed, is_right
from demoule.store.roles import Role
from demoule.store.tables import PersonRow, SessionRow
from demoule.store.trouble import AlreadyThere, NotSignedIn, NotThere
from demoule.store.values import By

if TYPE_CHECKING:
    from datetime import datetime

    from demoule.store.database import Database

__all__ = ["People", "Person", "folded_name", "person_of_row", "wrong"]

_LONGEST_NAME = 80


@dataclass(frozen=True, slots=True, kw_only=True)
class Person:
    """Somebody who may sign in.

    Parameters
    ----------
    name
        What is typed to sign in; capitals do not count.
    shown
        What others read.
    must_change
        The password was given by somebody else, and must be changed first of all.
    """

    id: int
    name: str
    shown: str
    role: Role
    must_change: bool
    since: datetime
    removed: bool


def folded_name(name: str) -> str:
    """The name as it is compared; signs that no name holds fall away."""
    plain = name.replace("\0", "").encode("utf-8", "ignore").decode()
    return " ".join(plain.casefold().split())


def wrong() -> NotSignedIn:
    """The one answer to a name or a password that is not right."""
    return NotSignedIn("The name or the password is not right.", remedy="type both again; capitals count in it.")


class People:
    """All accounts; a change of one is traced and ends the sessions it should end."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def any(self) -> bool:
        """Whether anybody may sign in."""
        with self._database.read() as session:
            return session.scalar(select(PersonRow.id).where(PersonRow.removed.is_(False)).limit(1)) is not None

    def get(self, name: str) -> Person:
        """The person of a name; raises NotThere."""
        with self._database.read() as session:
            return person_of_row(_found(session, name))

    def list(self, *, removed: bool = False) -> tuple[Person, ...]:
        """Everybody, by name; those removed only when asked."""
        query = select(PersonRow).order_by(PersonRow.folded)
        if not removed:
            query = query.where(PersonRow.removed.is_(False))
        with self._database.read() as session:
            return tuple(person_of_row(row) for row in session.scalars(query))

    def add(
        self, name: str, role: Role, password: str, by: By, *, shown: str = "", must_change: bool = False
    ) -> Person:
        """A new account; a name that was removed is given again.

        Raises
        ------
        AlreadyThere
            When somebody bears the name.
        BadInput
            When the name or the password cannot be used.
        """
        name = _checked_name(name)
        shown = _checked_shown(shown or name)
        password_hash = hashed(checked_password(password, name))
        taken = AlreadyThere(f"There is somebody called “{name}” already.", remedy="choose another name.")
        try:
            with self._database.write() as session:
                row = session.scalars(select(PersonRow).where(PersonRow.folded == folded_name(name))).one_or_none()
                if row is not None and not row.removed:
                    raise taken
                if row is None:
                    row = PersonRow(folded=folded_name(name), since=by.at)
                    session.add(row)
                row.name, row.shown, row.role, row.removed = name, shown, str(role), False
                row.password_hash, row.must_change = password_hash, must_change
                trace(session, by, "added", f"person {name}", {"role": str(role)})
                forget_attempts(session, row.folded)
                session.flush()
                return person_of_row(row)
        except IntegrityError:
            raise taken from None

    def change_role(self, name: str, role: Role, by: By) -> Person:
        """Give a person another role; the last owner stays one."""
        with self._database.write() as session:
            row = _found(session, name)
            if Role(row.role) is Role.OWNER and role is not Role.OWNER:
                _keep_an_owner(session, row)
            before, row.role = row.role, str(role)
            trace(session, by, "changed role", f"person {row.name}", {"from": before, "to": str(role)})
            _end_sessions(session, row)
            return person_of_row(row)

    def remove(self, name: str, by: By) -> None:
        """Let a person sign in no more; what they wrote stays under their name."""
        with self._database.write() as session:
            row = _found(session, name)
            if Role(row.role) is Role.OWNER:
                _keep_an_owner(session, row)
            row.removed = True
            trace(session, by, "removed", f"person {row.name}")
            _end_sessions(session, row)

    def set_password(self, name: str, password: str, by: By, *, must_change: bool = False) -> None:
        """Set a password without knowing the old one: an administrator's act; ends every session and wait."""
        with self._database.read() as session:
            checked_password(password, _found(session, name).name)
        password_hash = hashed(password)
        with self._database.write() as session:
            row = _found(session, name)
            row.password_hash, row.must_change = password_hash, must_change
            trace(session, by, "reset password", f"person {row.name}")
            forget_attempts(session, row.folded)
            _end_sessions(session, row)

    def change_password(self, name: str, old: str, new: str, by: By) -> None:
        """Change one's own password; a wrong old one counts as a failed sign-in.

        Raises
        ------
        NotSignedIn
            When the old one is wrong.
        Waiting
            After too many wrong ones.
        BadInput
            When the new one is weak or the same.
        """
        with self._database.read() as session:
            row = _found(session, name)
            folded, known, shown = row.folded, row.password_hash, row.name
        begin_attempt(self._database, folded, by.at)
        if not is_right(old, known):
            with self._database.write() as session:
                trace(session, by, "wrong password", f"person {shown}")
            raise wrong()
        checked_password(new, shown)
        if is_right(new, known):
            raise BadInput("The new password is the old one.", remedy="take another.")
        password_hash = hashed(new)
        with self._database.write() as session:
            row = _found(session, name)
            row.password_hash, row.must_change = password_hash, False
            trace(session, by, "changed password", f"person {row.name}")
            forget_attempts(session, row.folded)
            _end_sessions(session, row)


def person_of_row(row: PersonRow) -> Person:
    """The value of a row."""
    return Person(
        id=row.id,
        name=row.name,
        shown=row.shown,
        role=Role(row.role),
        must_change=row.must_change,
        since=row.since,
        removed=row.removed,
    )


def _found(session: Session, name: str) -> PersonRow:
    query = select(PersonRow).where(PersonRow.folded == folded_name(name), PersonRow.removed.is_(False))
    row = session.scalars(query).one_or_none()
    if row is None:
        raise NotThere(f"There is nobody called “{name[:100]}”.", remedy="look at the list: demoule people list")
    return row


def _checked_name(name: str) -> str:
    name = " ".join(name.split())
    if not name or len(name) > _LONGEST_NAME or len(folded_name(name)) > _LONGEST_NAME or not name.isprintable():
        raise BadInput(f"A name of 1 to {_LONGEST_NAME} signs is needed.", remedy="give a plain name.")
    return name


def _checked_shown(shown: str) -> str:
    shown = " ".join(shown.split())
    if len(shown) > 200 or not shown.isprintable():
        raise BadInput("The name to show has more than 200 signs, or signs that cannot be shown.")
    return shown


def _keep_an_owner(session: Session, row: PersonRow) -> None:
    # The rows are locked, so that two owners cannot remove each other at the same moment.
    owners = session.scalars(
        select(PersonRow.id)
        .where(PersonRow.role == str(Role.OWNER), PersonRow.removed.is_(False))
        .order_by(PersonRow.id)
        .with_for_update()
    ).all()
    if set(owners) <= {row.id}:
        raise BadInput(f"{row.shown} is the last owner.", remedy="make somebody else an owner first.")


def _end_sessions(session: Session, row: PersonRow) -> int:
    count = session.scalar(select(func.count()).where(SessionRow.person_id == row.id)) or 0
    session.execute(delete(SessionRow).where(SessionRow.person_id == row.id))
    return count
