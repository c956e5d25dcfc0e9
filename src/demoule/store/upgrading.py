"""A database of an older release is brought to the form of this one; a newer one is refused."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import inspect, text
from sqlalchemy.engine import Connection

from demoule.store.migrations import HEAD, REVISIONS
from demoule.store.trouble import NewerDatabase, NotOurs, NotReached

if TYPE_CHECKING:
    from demoule.store.database import Database

__all__ = ["bring_up", "copy_beside", "form_of", "integrity", "locked", "move_to"]

_LOCK = 0x64656D6F  # one number that every demoule takes in PostgreSQL while it migrates
_FORMS = "alembic_version"


def form_of(connection: Connection) -> str | None:
    """The form in which a database is written; None when it is empty.

    Raises
    ------
    NotOurs
        When it holds tables of something else.
    """
    tables = set(inspect(connection).get_table_names())
    if _FORMS not in tables:
        if tables:
            raise NotOurs(
                "The database holds tables that are not demoule's.", remedy="give demoule a database of its own."
            )
        return None
    found = connection.execute(text(f"SELECT version_num FROM {_FORMS}")).scalars().all()
    if len(found) == 1 and {"document", "version"} <= tables:
        return str(found[0])
    if not found and tables == {_FORMS}:
        return None
    raise NotOurs("The database holds tables that are not demoule's.", remedy="give demoule a database of its own.")


def bring_up(database: Database) -> None:
    """Make the tables when there are none, migrate an older form, refuse a newer one.

    Several processes may do this at once: one migrates, the others wait and find it done.
    """
    with database.read() as session:
        if _checked(form_of(session.connection()), database.shown) == HEAD:
            return
    with locked(database) as bare:
        form = _checked(form_of(bare), database.shown)
        if form == HEAD:
            return
        if database.file is not None and form is not None:
            copy_beside(database.file, form)
        move_to(bare, HEAD)
        if database.is_sqlite and bare.exec_driver_sql("PRAGMA foreign_key_check").fetchall():
            raise NotOurs("The migrated database contradicts itself; nothing was changed.")


@contextmanager
def locked(database: Database) -> Iterator[Connection]:
    """A transaction that nobody else writes beside, for changing the tables themselves; all of it or nothing."""
    with database.told(), database.engine.connect() as bare:
        try:
            if database.is_sqlite:
                # Steps that rebuild a table need it; it cannot be changed within a transaction.
                bare.exec_driver_sql("COMMIT")
                bare.exec_driver_sql("PRAGMA foreign_keys=OFF")
                bare.exec_driver_sql("BEGIN IMMEDIATE")
            else:
                bare.execute(text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": _LOCK})
            yield bare
            bare.commit()
        finally:
            bare.invalidate()  # never handed on with foreign keys off


def _checked(form: str | None, shown: str) -> str | None:
    if form is None or form in REVISIONS:
        return form
    raise NewerDatabase(
        f"A newer demoule wrote this database: its form is {form}, this release knows up to {HEAD}.",
        where=shown,
        remedy="install the newer release, or restore a back-up made with this one into another database.",
    )


def move_to(connection: Connection, form: str) -> None:
    """Run the steps up to a form, in the transaction of the connection."""
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent / "migrations").replace("%", "%%"))
    config.attributes["connection"] = connection
    command.upgrade(config, form)


def copy_beside(file: Path, form: str) -> Path:
    """A whole copy of a SQLite database beside it, named after its form, and proved readable."""
    copy = file.with_name(f"{file.name}.form-{form}")
    number = 1
    while copy.exists():
        number += 1
        copy = file.with_name(f"{file.name}.form-{form}-{number}")
    try:
        copy.touch(mode=0o600)
        with closing(sqlite3.connect(file)) as source, closing(sqlite3.connect(copy)) as target:
            source.backup(target)
            target.execute("PRAGMA journal_mode=DELETE")
            found = integrity(target)
    except (OSError, sqlite3.Error) as error:
        raise NotReached(
            f"The older database cannot be copied before it is migrated: {error}.", remedy="make room on the disk."
        ) from None
    if found != "ok":
        raise NotOurs(f"The older database is damaged: {found}.", remedy="restore the latest back-up.")
    return copy


def integrity(connection: sqlite3.Connection) -> str:
    """What SQLite says of a whole database: "ok", or what is wrong."""
    return "; ".join(str(row[0]) for row in connection.execute("PRAGMA integrity_check"))
