"""Where the memory lies: one file of this machine, or a PostgreSQL database that a team shares."""

from __future__ import annotations

import os
import sys
from pathlib import Path

from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError

from demoule.store.trouble import NotReached

__all__ = ["SETTING", "address_of", "url_of"]

SETTING = "DEMOULE_DATABASE"
"""The one setting, in the environment: a file's path or a postgresql:// address."""

_FILE = "memory.sqlite"
_HOW = f"give a file's path, or postgresql://user@host/database, in {SETTING} or with --database."


def _usual_file() -> Path:
    if sys.platform == "win32":
        folder = os.environ.get("LOCALAPPDATA") or str(Path.home() / "AppData" / "Local")
    else:
        folder = os.environ.get("XDG_DATA_HOME") or str(Path.home() / ".local" / "share")
    return Path(folder) / "demoule" / _FILE


def address_of(setting: str | Path | None = None) -> str:
    """The address to open: what is given, else the setting in the environment, else a file in the user's folder."""
    given = str(setting) if setting is not None else os.environ.get(SETTING, "")
    return given.strip() or str(_usual_file())


def url_of(address: str) -> URL:
    """An address as an engine reads it.

    Raises
    ------
    NotReached
        When it names neither a file nor PostgreSQL.
    """
    if "://" not in address:
        return URL.create("sqlite+pysqlite", database=str(Path(address).expanduser().absolute()))
    try:
        url = make_url(address)
    except (ArgumentError, ValueError):
        raise NotReached("The address of the database cannot be read.", remedy=_HOW) from None
    if url.drivername in ("postgresql", "postgres", "postgresql+psycopg"):
        return url.set(drivername="postgresql+psycopg")
    if url.drivername in ("sqlite", "sqlite+pysqlite") and url.database and url.database != ":memory:":
        return url_of(url.database)
    raise NotReached(f"“{url.drivername}” is not a database that can be used.", remedy=_HOW)
