"""A database of an older release is migrated with all it holds; a newer one, or another's, is refused."""

import sqlite3
import subprocess
import sys
from contextlib import closing

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import inspect, text

from demoule.store import Kind, NewerDatabase, NotOurs, NotReached, address_of, open_store
from demoule.store import migrations as forms
from demoule.store.address import url_of
from demoule.store.database import Database
from demoule.store.tables import APPEND_ONLY, Base
from demoule.store.upgrading import locked, move_to

# What the first form held, written by hand: never through today's code, which would write today's form.
FIRST = """
INSERT INTO document (id, kind, slug, name, n, rev, put_away) VALUES (1, 'dessert', 'apricot', 'Apricot', 2, 2, false);
INSERT INTO version (id, document_id, n, rev, name, text, digest, parent, act, who, at, why) VALUES
 (1, 1, 1, 1, 'Apricot', 'sugar: 130 g', 'd1', NULL, 'begun', 'Ada', '2026-05-02 06:00:00', 'first'),
 (2, 1, 2, 2, 'Apricot', 'sugar: 135 g', 'd2', 1, 'saved', 'Bela', '2026-05-03 06:00:00', '');
INSERT INTO person (id, name, folded, shown, role, password_hash, must_change, since, removed) VALUES
 (1, 'Ada', 'ada', 'Ada', 'owner', '$argon2id$x', false, '2026-05-01 06:00:00', false);
INSERT INTO audit (id, at, who, act, what, details) VALUES (1, '2026-05-02 06:00:00', 'Ada', 'begun', 'x', '{"n": 1}');
"""


def first_form(address):
    database = Database(url_of(address))
    with locked(database) as connection:
        move_to(connection, "0001")
        for statement in FIRST.split(";\n"):
            if statement.strip():
                connection.exec_driver_sql(statement)
    database.close()


def test_the_first_form_is_migrated_with_all_it_holds(address, by, tmp_path):
    first_form(address)
    with open_store(address) as store:
        history = store.documents.history(Kind.DESSERT, "apricot")
        assert [(v.n, v.text, v.who, v.parent) for v in history] == [
            (2, "sugar: 135 g", "Bela", 1),
            (1, "sugar: 130 g", "Ada", None),
        ]
        assert [person.name for person in store.people.list()] == ["Ada"]
        assert store.audit.list()[0].details == {"n": 1}
        assert store.documents.heads()[0].at.isoformat() == "2026-05-02T06:00:00+00:00".replace("02T", "03T")
        if "://" in address:
            with store.database.engine.begin() as connection:
                connection.execute(text("SELECT setval('version_id_seq', 2), setval('audit_id_seq', 1)"))
        store.documents.save(Kind.DESSERT, "apricot", "sugar: 140 g", by(), rev=2, key="k")
        assert store.documents.head(Kind.DESSERT, "apricot").n == 3
    if "://" not in address:
        copy = tmp_path / "memory.sqlite.form-0001"
        with closing(sqlite3.connect(copy)) as old:
            assert old.execute("SELECT version_num FROM alembic_version").fetchall() == [("0001",)]
            assert old.execute("SELECT COUNT(*) FROM version").fetchone() == (2,)
        assert copy.stat().st_mode & 0o077 == 0
    with open_store(address) as again:  # nothing is migrated twice
        assert again.kept()["version"] == 3


def test_a_migration_that_fails_changes_nothing(address, monkeypatch):
    first_form(address)

    def broken(connection, form):
        move_to(connection, form)
        raise RuntimeError("the power went")

    monkeypatch.setattr("demoule.store.upgrading.move_to", broken)
    with pytest.raises(RuntimeError):
        open_store(address)
    monkeypatch.undo()
    database = Database(url_of(address))
    with database.read() as session:
        assert session.execute(text("SELECT version_num FROM alembic_version")).scalar() == "0001"
        assert "price" not in inspect(session.connection()).get_table_names()
    database.close()
    with open_store(address) as store:
        assert store.kept()["version"] == 2


def test_a_newer_database_is_refused_and_left_alone(address):
    open_store(address).close()
    database = Database(url_of(address))
    with database.connection() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '0999'"))
    with pytest.raises(NewerDatabase, match="0999") as refused:
        open_store(address)
    assert "newer release" in refused.value.remedy
    with database.read() as session:
        assert session.execute(text("SELECT version_num FROM alembic_version")).scalar() == "0999"
    database.close()


def test_a_database_of_something_else_is_refused(address):
    database = Database(url_of(address))
    with database.connection() as connection:
        connection.execute(text("CREATE TABLE birds (name TEXT)"))
    database.close()
    with pytest.raises(NotOurs, match="not demoule's"):
        open_store(address)


@pytest.mark.parametrize(
    "content", [b"this is a letter, not a database\n" * 100, b"SQLite format 3\0" + b"\xff" * 5000]
)
def test_a_file_that_is_no_database_is_refused(tmp_path, content):
    file = tmp_path / "letter.txt"
    file.write_bytes(content)
    with pytest.raises(NotOurs):
        open_store(file)
    assert file.read_bytes() == content


@pytest.mark.parametrize(
    "address", ["mysql://x/y", "sqlite://", "postgresql://ada:geheim@/nowhere?host=/nonexistent", "://", "a://b:c:d/e"]
)
def test_an_address_that_leads_nowhere_is_told_without_its_password(address):
    with pytest.raises(NotReached) as refused:
        open_store(address)
    assert refused.value.remedy
    assert "geheim" not in str(refused.value)


def test_the_setting_names_the_database(monkeypatch, tmp_path):
    monkeypatch.setenv("DEMOULE_DATABASE", "postgresql://kitchen@pantry/demoule")
    assert address_of() == "postgresql://kitchen@pantry/demoule"
    assert address_of(tmp_path / "x.sqlite") == str(tmp_path / "x.sqlite")
    monkeypatch.delenv("DEMOULE_DATABASE")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    assert address_of() == str(tmp_path / "demoule" / "memory.sqlite")


def test_the_steps_make_the_tables_that_the_code_reads(store):
    with store.database.connection() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, Base.metadata) == []
    steps = ScriptDirectory(str(next(iter(forms.__path__))))
    assert [step.revision for step in steps.walk_revisions()][::-1] == list(forms.REVISIONS)
    assert steps.get_heads() == [forms.HEAD]
    assert set(APPEND_ONLY) <= set(Base.metadata.tables)


def test_every_table_that_only_grows_is_guarded(store):
    with store.database.read() as session:
        if store.database.is_sqlite:
            found = session.execute(text("SELECT tbl_name FROM sqlite_master WHERE type = 'trigger'")).scalars().all()
            assert sorted(found) == sorted([*APPEND_ONLY, *APPEND_ONLY])
        else:
            found = session.execute(text("SELECT tgrelid::regclass::text FROM pg_trigger WHERE NOT tgisinternal"))
            assert sorted(found.scalars()) == sorted(APPEND_ONLY)


def test_many_processes_may_open_a_new_database_at_once(address):
    opening = "import sys; from demoule.store import open_store; print(open_store(sys.argv[1]).kept()['version'])"
    children = [
        subprocess.Popen(
            [sys.executable, "-c", opening, address], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
        )
        for _ in range(3)
    ]
    told = [child.communicate() for child in children]
    assert [out for out, _ in told] == ["0\n"] * 3, told


def test_the_settings_of_sqlite_are_those_we_count_on(tmp_path):
    with open_store(tmp_path / "memory.sqlite") as store, store.database.read() as session:
        values = {
            name: session.execute(text(f"PRAGMA {name}")).scalar()
            for name in ("journal_mode", "synchronous", "foreign_keys", "busy_timeout")
        }
    assert values == {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1, "busy_timeout": 10_000}
    assert (tmp_path / "memory.sqlite").stat().st_mode & 0o077 == 0
