"""One database and its transactions: a read sees one moment, a write is whole or not there."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager, nullcontext
from pathlib import Path
from threading import Lock
from typing import Any

from sqlalchemy import Engine, create_engine, event
from sqlalchemy.engine import URL, Connection
from sqlalchemy.exc import DatabaseError, OperationalError
from sqlalchemy.orm import Session

from demoule.store.trouble import NotOurs, NotReached

__all__ = ["Database"]

_WAIT_MS = 10_000
_WRITES = "demoule_writes"


class Database:
    """An engine with the settings that the memory asks for.

    Parameters
    ----------
    url
        Of SQLite with a file, or of PostgreSQL.
    """

    def __init__(self, url: URL) -> None:
        self.url = url
        self.is_sqlite = url.get_backend_name() == "sqlite"
        if self.is_sqlite:
            self._prepare_folder()
            self.engine = create_engine(url, connect_args={"timeout": _WAIT_MS / 1000}, pool_size=8, max_overflow=32)
            event.listen(self.engine, "connect", _set_pragmas)
            event.listen(self.engine, "begin", _begin)
        else:
            self.engine = create_engine(
                url,
                pool_size=8,
                max_overflow=32,
                pool_pre_ping=True,
                connect_args={"connect_timeout": 10, "application_name": "demoule"},
            )
        self._turns = Lock()
        self._writer: Engine = self.engine.execution_options(**{_WRITES: True})
        self._reader: Engine = (
            self.engine if self.is_sqlite else self.engine.execution_options(isolation_level="REPEATABLE READ")
        )

    @property
    def file(self) -> Path | None:
        """The file, for SQLite."""
        return Path(self.url.database) if self.is_sqlite and self.url.database else None

    @property
    def shown(self) -> str:
        """The address without its password."""
        return str(self.file) if self.file else self.url.render_as_string(hide_password=True)

    def _prepare_folder(self) -> None:
        file = self.file
        assert file is not None  # `url_of` gives no SQLite without a file
        try:
            file.parent.mkdir(parents=True, exist_ok=True)
            if not file.exists():
                file.touch(mode=0o600)  # hashes of passwords lie in it
        except OSError as error:
            raise NotReached(
                f"The database {file} cannot be made: {error.strerror}.", remedy="name a folder that you may write in."
            ) from None

    @contextmanager
    def read(self) -> Iterator[Session]:
        """A transaction that sees one moment of the database."""
        with self.told(), Session(self._reader, expire_on_commit=False) as session, session.begin():
            yield session

    @contextmanager
    def write(self) -> Iterator[Session]:
        """A transaction that is written whole when the block ends, and not at all when it raises."""
        with self._turn(), self.told(), Session(self._writer, expire_on_commit=False) as session, session.begin():
            yield session

    def _turn(self) -> AbstractContextManager[object]:
        # SQLite writes one after the other, and who waits for it sleeps and may miss the turn again and again. Threads
        # of one process stand in line here instead; other processes still wait in SQLite.
        return self._turns if self.is_sqlite else nullcontext()

    @contextmanager
    def connection(self) -> Iterator[Connection]:
        """A bare connection in a write transaction."""
        with self._turn(), self.told(), self._writer.begin() as connection:
            yield connection

    @contextmanager
    def told(self) -> Iterator[None]:
        """Tell a database that does not answer, or is none, in a person's words."""
        try:
            yield
        except (OperationalError, DatabaseError) as error:
            raise self._in_words(error) or error from None

    def _in_words(self, error: DatabaseError) -> Exception | None:
        if getattr(error, "orig", None) is None or type(error) not in (OperationalError, DatabaseError):
            return None
        reason = str(error.orig).strip().partition("\n")[0]
        if "not a database" in reason:
            return NotOurs(
                f"{self.shown} is not a database of demoule.", remedy="name another file, or restore a back-up."
            )
        if "malformed" in reason:
            return NotOurs(f"The database {self.shown} is damaged.", remedy="restore the latest back-up.")
        if isinstance(error, OperationalError):
            return NotReached(
                f"The database {self.shown} does not answer: {reason}.",
                remedy="see that it runs, that the address is right and that there is room on the disk.",
            )
        return None

    def close(self) -> None:
        """Give the connections back."""
        self.engine.dispose()


def _set_pragmas(connection: sqlite3.Connection, _record: Any) -> None:
    # The driver must not begin transactions by itself: `_begin` does, and says whether it will write.
    connection.isolation_level = None
    cursor = connection.cursor()
    for pragma in (
        f"busy_timeout={_WAIT_MS}",
        "journal_mode=WAL",
        # FULL: what was said to be saved is on the disk even when the power goes.
        "synchronous=FULL",
        "foreign_keys=ON",
    ):
        cursor.execute(f"PRAGMA {pragma}")
    cursor.close()


def _begin(connection: Connection) -> None:
    # A write takes its lock at once: a read that turned into a write could only be refused.
    writes = connection.get_execution_options().get(_WRITES, False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")
