"""Wrong passwords in a row make the next try wait, longer each time."""

from __future__ import annotations

import math
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from sqlalchemy import delete
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from demoule.store.tables import AttemptRow
from demoule.store.trouble import Waiting

if TYPE_CHECKING:
    from demoule.store.database import Database

__all__ = ["FREE_TRIES", "begin_attempt", "forget_attempts", "wait_after"]

FREE_TRIES = 5
"""Tries in a row that cost no wait."""

_FIRST, _LONGEST = timedelta(seconds=15), timedelta(minutes=15)
_FORGOTTEN = timedelta(days=1)


def wait_after(failures: int) -> timedelta:
    """How long to wait after so many wrong passwords in a row.

    Examples
    --------
    >>> [int(wait_after(failures).total_seconds()) for failures in (4, 5, 6, 7, 50)]
    [0, 15, 30, 60, 900]
    """
    if failures < FREE_TRIES:
        return timedelta()
    doublings = min(failures - FREE_TRIES, 10)
    return min(_FIRST * (1 << doublings), _LONGEST)


def begin_attempt(database: Database, folded: str, at: datetime) -> None:
    """Count a try before it is looked at, so that many at once are counted too; a right one is forgotten after.

    It counts for any name, whether somebody bears it or not: the wait must not tell which names exist.

    Raises
    ------
    Waiting
        When the wait of earlier tries is not over.
    """
    folded = folded[:80]
    for last in (False, True):
        try:
            with database.write() as session:
                session.execute(delete(AttemptRow).where(AttemptRow.at < at - _FORGOTTEN))
                row = session.get(AttemptRow, folded, with_for_update=True)
                if row is None:
                    row = AttemptRow(folded=folded, failures=0, at=at, wait_until=at)
                    session.add(row)
                if row.wait_until > at:
                    raise Waiting(math.ceil((row.wait_until - at).total_seconds()))
                row.failures += 1
                row.at = at
                row.wait_until = at + wait_after(row.failures)
                session.flush()
            return
        except IntegrityError:  # two first tries at once
            if last:
                raise


def forget_attempts(session: Session, folded: str) -> None:
    """The name starts afresh."""
    session.execute(delete(AttemptRow).where(AttemptRow.folded == folded[:80]))
