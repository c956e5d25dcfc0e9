"""Back-ups: everything in one file that fits SQLite and PostgreSQL alike, written whole and proved by reading it back.

The file is text, packed with gzip. Each line is JSON:

- the first: ``{"demoule": "back-up", "edition": 1, "form": "0002", "made": "2026-05-02T19:30:00+00:00"}``,
  `form` being the form of the database;
- for each table ``{"table": "document", "columns": ["id", ...]}``, and after it one list of values for each row:
  moments and days as ISO 8601, moments in UTC;
- the last: ``{"rows": {"document": 3, ...}, "sha256": "..."}``, of all lines before it.

Sessions and waits are left out: a restored back-up must not sign anybody in again.
"""

from __future__ import annotations

import gzip
import hashlib
import json
import os
import zlib
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sqlalchemy import Date, DateTime, MetaData, Table, inspect, select, text
from sqlalchemy.engine import Connection
from sqlalchemy.orm import Session

from demoule.errors import BadInput
from demoule.store.address import address_of, url_of
from demoule.store.audit import trace
from demoule.store.database import Database
from demoule.store.migrations import HEAD, REVISIONS
from demoule.store.tables import Base
from demoule.store.trouble import AlreadyThere, DamagedBackup, NewerDatabase, NotOurs
from demoule.store.upgrading import form_of, locked, move_to
from demoule.store.values import By, utc

if TYPE_CHECKING:
    from demoule.store.store import Store

__all__ = ["EDITION", "Kept", "back_up", "restore", "verify"]

EDITION = 1
"""Of the file's build."""

LEFT_OUT = ("session", "attempt")
"""Tables that no back-up holds."""

_AT_ONCE = 500
_STREAMED: dict[str, Any] = {"yield_per": _AT_ONCE}
_LONGEST_LINE = 64_000_000  # a text of the largest size, every sign of it escaped, is a tenth of this


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """What a back-up holds, as it was read back.

    Parameters
    ----------
    rows
        Number of rows of each table.
    digest
        SHA-256 of its lines.
    form
        Of the database it was made from.
    """

    rows: dict[str, int]
    digest: str
    form: str
    made: datetime


def back_up(store: Store, path: str | Path, *, at: datetime) -> Kept:
    """Write everything of one moment into a file, read it back, and only then give it its name.

    Raises
    ------
    AlreadyThere
        When there is such a file: a back-up is never written over.
    BadInput
        When it cannot be written.
    DamagedBackup
        When what was read back is not what was written.
    """
    file = Path(path)
    if file.exists():
        raise AlreadyThere(f"{file} is there already.", remedy="name a new file for every back-up.")
    with store.database.read() as session:
        return _written(session.connection(), file, utc(at))


def _written(connection: Connection, file: Path, at: datetime) -> Kept:
    part = file.with_name(f"{file.name}.part")
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        with suppress(FileNotFoundError):
            part.unlink()
        # Nobody else may read it: hashes of passwords lie in it.
        with os.fdopen(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as raw:
            with gzip.GzipFile(fileobj=raw, mode="wb", filename="", mtime=0) as packed:
                digest = hashlib.sha256()
                rows: dict[str, int] = {}
                for line in _lines(connection, at, rows):
                    digest.update(line)
                    packed.write(line)
                packed.write(_line({"rows": rows, "sha256": digest.hexdigest()}))
            raw.flush()
            os.fsync(raw.fileno())
        kept = verify(part)
        if kept.rows != rows or kept.digest != digest.hexdigest():
            raise DamagedBackup(
                "What was read back is not what was written.", where=str(part), remedy="try another disk."
            )
        part.replace(file)
    except OSError as error:
        raise BadInput(f"{file} cannot be written: {error.strerror}.", remedy="name a place with room.") from None
    return kept


def _line(value: object) -> bytes:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"), sort_keys=True).encode() + b"\n"


def _lines(connection: Connection, at: datetime, rows: dict[str, int]) -> Iterator[bytes]:
    yield _line({"demoule": "back-up", "edition": EDITION, "form": HEAD, "made": at.isoformat()})
    for table in Base.metadata.sorted_tables:
        if table.name in LEFT_OUT:
            continue
        rows[table.name] = 0
        yield _line({"table": table.name, "columns": [column.name for column in table.columns]})
        query = select(table).order_by(*table.primary_key.columns)
        for row in connection.execute(query, execution_options=_STREAMED):
            rows[table.name] += 1
            yield _line([_out(value) for value in row])


def _out(value: Any) -> Any:
    return value.isoformat() if isinstance(value, date) else value  # a moment is a day too


def verify(path: str | Path) -> Kept:
    """Read a back-up from end to end: its digest, its counts, and the digest of every version in it.

    Raises
    ------
    DamagedBackup
        When anything is missing or changed.
    NewerDatabase
        When a later release made it.
    """
    kept = None
    for found in _read(Path(path)):
        if isinstance(found, Kept):
            kept = found
    if kept is None:
        raise _damaged(Path(path), "its end is missing")
    return kept


def _damaged(file: Path, why: str) -> DamagedBackup:
    return DamagedBackup(f"{file} is not a whole back-up: {why}.", remedy="use another back-up.")


def _read(file: Path) -> Iterator[tuple[str, dict[str, Any]] | Kept]:
    """The rows of a back-up, each with its table, and at last what it holds; raises DamagedBackup on the way."""
    try:
        with gzip.open(file, "rb") as packed:
            yield from _parsed(packed, file)
    except FileNotFoundError:
        raise BadInput(f"There is no file {file}.", remedy="check its name and folder.") from None
    except (OSError, EOFError, zlib.error) as error:
        raise _damaged(file, str(error) or "its end is missing") from None
    except (ValueError, KeyError, TypeError, AttributeError):
        raise _damaged(file, "a line in it cannot be read") from None


def _parsed(packed: Any, file: Path) -> Iterator[tuple[str, dict[str, Any]] | Kept]:
    digest = hashlib.sha256()
    first = packed.readline(_LONGEST_LINE)
    head = json.loads(first)
    if not isinstance(head, dict) or head.get("demoule") != "back-up":
        raise _damaged(file, "it does not begin like one")
    if head["edition"] != EDITION or head["form"] not in REVISIONS:
        raise NewerDatabase(
            f"A newer demoule made this back-up (form {head['form']}); this release knows up to {HEAD}.",
            where=str(file),
            remedy="install the newer release.",
        )
    digest.update(first)
    table = ""
    columns: list[str] = []
    rows: dict[str, int] = {}
    while line := packed.readline(_LONGEST_LINE):
        value = json.loads(line)
        if isinstance(value, list):
            row = dict(zip(columns, value, strict=True))
            if table == "version" and hashlib.sha256(row["text"].encode()).hexdigest() != row["digest"]:
                raise _damaged(file, f"version {row['n']} of document {row['document_id']} was changed")
            rows[table] += 1
            yield table, row
        elif "table" in value:
            table, columns = value["table"], value["columns"]
            rows[table] = 0
        else:
            if value["rows"] != rows or value["sha256"] != digest.hexdigest():
                raise _damaged(file, "it does not hold what its last line says")
            if packed.read(1):
                raise _damaged(file, "something was added after its end")
            made = datetime.fromisoformat(head["made"])
            yield Kept(rows=rows, digest=digest.hexdigest(), form=head["form"], made=made)
            return
        digest.update(line)
    raise _damaged(file, "its end is missing")


def restore(
    address: str | Path | None,
    path: str | Path,
    by: By,
    *,
    replace: bool = False,
    keep: str | Path | None = None,
) -> Kept:
    """Bring a back-up into a database: all of it in one transaction, compared row by row before it counts.

    A back-up of an older release is migrated on the way.

    Parameters
    ----------
    address
        As for `open_store`; of either database, whichever the back-up was made from.
    replace
        Take the place of what is there; without it only an empty database is filled.
    keep
        Where what is there is backed up first when it is replaced.
    by
        Who restores, and when; the trail says so afterwards.

    Raises
    ------
    AlreadyThere
        When the database holds something and `replace` is not given.
    DamagedBackup
        When the back-up is not whole, or cannot be found again in the database; nothing is changed then.
    """
    file = Path(path)
    kept = verify(file)
    database = Database(url_of(address_of(address)))
    try:
        with locked(database) as connection:
            form = form_of(connection)
            if form is not None and _holds_something(connection):
                if not replace:
                    raise AlreadyThere(
                        f"{database.shown} holds documents or people already.",
                        remedy="restore into a new database, or say --replace.",
                    )
                if keep is not None and form == HEAD:
                    if Path(keep).exists():
                        raise AlreadyThere(f"{keep} is there already.", remedy="move it away.")
                    _written(connection, Path(keep), by.at)
            if form is not None:
                _drop_everything(connection)
            move_to(connection, kept.form)
            _fill(connection, file)
            _compare(connection, file)
            if kept.form != HEAD:
                move_to(connection, HEAD)
            if database.is_sqlite and connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall():
                raise _damaged(file, "it contradicts itself")
            with Session(connection, join_transaction_mode="rollback_only") as session:
                trace(session, by, "restored everything", f"back-up {file.name}", {"digest": kept.digest})
                session.flush()
    finally:
        database.close()
    return kept


def _holds_something(connection: Connection) -> bool:
    names = set(inspect(connection).get_table_names()) & {table.name for table in Base.metadata.sorted_tables}
    return any(connection.execute(text(f"SELECT 1 FROM {name} LIMIT 1")).first() for name in sorted(names))


def _drop_everything(connection: Connection) -> None:
    there = MetaData()
    there.reflect(connection)
    if "version" not in there.tables:
        raise NotOurs("The database holds tables that are not demoule's.", remedy="name another one.")
    there.drop_all(connection)


def _tables(connection: Connection) -> dict[str, Table]:
    """The tables in the form that they have at this step, which may be older than today's."""
    there = MetaData()
    there.reflect(connection)
    return dict(there.tables)


def _fill(connection: Connection, file: Path) -> None:
    tables = _tables(connection)
    waiting: list[dict[str, Any]] = []
    now = ""

    def insert() -> None:
        if waiting:
            connection.execute(tables[now].insert(), waiting)
            waiting.clear()

    for found in _read(file):
        if isinstance(found, Kept):
            continue
        name, row = found
        if name not in tables or name in LEFT_OUT or set(row) != set(tables[name].columns.keys()):
            raise _damaged(file, f"its table “{name}” is not of the form it names")
        if name != now or len(waiting) >= _AT_ONCE:
            insert()
            now = name
        waiting.append({column: _in(value, tables[name], column, connection) for column, value in row.items()})
    insert()
    if connection.dialect.name == "postgresql":
        for name, table in tables.items():
            if "id" in table.columns:
                top = f"(SELECT COALESCE(MAX(id), 0) + 1 FROM {name})"
                connection.execute(text(f"SELECT setval(pg_get_serial_sequence('{name}', 'id'), {top}, false)"))


def _in(value: Any, table: Table, column: str, connection: Connection) -> Any:
    kind = table.columns[column].type
    if value is None or not isinstance(value, str):
        return value
    if isinstance(kind, DateTime):
        moment = datetime.fromisoformat(value).astimezone(UTC)
        return moment.replace(tzinfo=None) if connection.dialect.name == "sqlite" else moment
    if isinstance(kind, Date):
        return date.fromisoformat(value)
    return value


def _compare(connection: Connection, file: Path) -> None:
    """Every row of the back-up is found again in the database, and no other."""
    tables = _tables(connection)
    now, there = "", None
    for found in _read(file):
        if isinstance(found, Kept):
            counts = {name: connection.execute(text(f"SELECT COUNT(*) FROM {name}")).scalar() for name in found.rows}
            if counts != found.rows:
                raise _damaged(file, "the database did not take all of its rows")
            continue
        name, row = found
        if name != now or there is None:
            if there is not None:
                there.close()
            now = name
            query = select(tables[name]).order_by(*tables[name].primary_key.columns)
            there = connection.execute(query, execution_options=_STREAMED).mappings()
        same = there.fetchone()
        if same is None or any(_again(same[column]) != value for column, value in row.items()):
            raise _damaged(file, f"a row of “{name}” came out otherwise than it went in")
    if there is not None:
        there.close()  # PostgreSQL changes no table that is still being read


def _again(value: Any) -> Any:
    if isinstance(value, datetime):
        value = value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)
    return _out(value)
