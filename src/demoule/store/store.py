"""The memory of one kitchen, opened: documents, what happened, people, and the trail of every write."""

from __future__ import annotations

from pathlib import Path
from types import TracebackType
from typing import Self

from sqlalchemy import func, select

from demoule.store.address import address_of, url_of
from demoule.store.audit import Audit
from demoule.store.database import Database
from demoule.store.documents import Documents
from demoule.store.drafts import Drafts
from demoule.store.happened import Happenings
from demoule.store.lots import Lots
from demoule.store.people import People
from demoule.store.prices import Prices
from demoule.store.sessions import Sessions
from demoule.store.tables import Base
from demoule.store.upgrading import bring_up

__all__ = ["Store", "open_store"]


class Store:
    """Everything that is kept, part by part; may be used by many threads at once."""

    def __init__(self, database: Database) -> None:
        self.database = database
        self.documents = Documents(database)
        self.drafts = Drafts(database)
        self.prices = Prices(database)
        self.happened = Happenings(database)
        self.lots = Lots(database)
        self.people = People(database)
        self.sessions = Sessions(database)
        self.audit = Audit(database)

    @property
    def address(self) -> str:
        """Where it lies, without the password."""
        return self.database.shown

    def kept(self) -> dict[str, int]:
        """How many rows each table holds."""
        with self.database.read() as session:
            return {
                table.name: session.scalar(select(func.count()).select_from(table)) or 0
                for table in Base.metadata.sorted_tables
            }

    def close(self) -> None:
        """Give the database back."""
        self.database.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, traceback: TracebackType | None
    ) -> None:
        self.close()


def open_store(address: str | Path | None = None) -> Store:
    """Open the memory; one that is new is made, one of an older release is migrated.

    Parameters
    ----------
    address
        A file, or postgresql://user@host/database; None: the setting DEMOULE_DATABASE, else a file of the user.

    Raises
    ------
    NewerDatabase
        When a later release wrote it.
    NotOurs
        When it holds something else, or is damaged.
    NotReached
        When it does not answer.
    """
    database = Database(url_of(address_of(address)))
    try:
        bring_up(database)
    except BaseException:
        database.close()
        raise
    return Store(database)
