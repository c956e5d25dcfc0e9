"""A back-up is whole or refused, and goes from either database into either."""

import gzip
import hashlib
import json
from datetime import UTC, date, datetime

import pytest
import sqlalchemy

from demoule.errors import BadInput
from demoule.store import (
    AlreadyThere,
    By,
    DamagedBackup,
    Happening,
    Kind,
    Lot,
    NewerDatabase,
    NotSignedIn,
    Role,
    Stale,
    back_up,
    open_store,
    restore,
    verify,
)
from demoule.store.tables import Base

AT = datetime(2026, 5, 9, 22, 0, 0, 123456, tzinfo=UTC)
MACHINE = By(who="the machine", at=AT)
PASSWORD = "four plain words here"
PERSON = ["id", "name", "folded", "shown", "role", "password_hash", "must_change", "since", "removed"]


def fill(store, by):
    """Something in every table."""
    begun = store.documents.begin(Kind.DESSERT, "Pêche ½", "\ufeffa: 1\r\n\u2028😀", by(why="“first”"), key="k")
    store.documents.save(Kind.DESSERT, begun.slug, "a: 2\r", by(), rev=begun.rev)
    store.documents.branch(Kind.DESSERT, begun.slug, "With honey", by(), n=1)
    store.documents.begin(Kind.KITCHEN, "Kitchen", "", by())
    store.drafts.keep(Kind.DESSERT, begun.slug, "Ada", "a: 3", AT, rev=2)
    store.prices.add("sugar", by(), price=0.1 + 0.2, currency="EUR", mass=1 / 3, from_day=date(2026, 5, 1))
    store.happened.add(
        [Happening(key="1", book="w", day=date(2026, 5, 2), task="t", kind="weight", who="B", at=AT, mass=1e-7)], by()
    )
    store.lots.add(Lot(code="L1", what="Pêche", made=AT, who="B", made_from=("S1", "S2"), until=date(2026, 9, 1)), by())
    store.people.add("Ada", Role.OWNER, PASSWORD, by())
    store.sessions.sign_in("Ada", PASSWORD, AT)
    with pytest.raises(NotSignedIn):
        store.sessions.sign_in("Ada", "wrong", AT)


def everything(store):
    with store.database.read() as session:
        return {
            table.name: [tuple(row) for row in session.execute(sqlalchemy.select(table).order_by(*table.primary_key))]
            for table in Base.metadata.sorted_tables
            if table.name not in ("session", "attempt")
        }


@pytest.fixture(params=["sqlite", "postgres"])
def other(request, tmp_path):
    if request.param == "sqlite":
        return str(tmp_path / "other" / "restored.sqlite")
    return request.getfixturevalue("postgres").new()


def test_everything_goes_from_either_database_into_either(store, other, by, tmp_path):
    fill(store, by)
    file = tmp_path / "night.demoule"
    kept = back_up(store, file, at=AT)
    before = everything(store)
    assert kept.rows == {name: len(rows) for name, rows in before.items()}
    assert all(kept.rows.values())
    assert kept.made == AT
    assert file.stat().st_mode & 0o077 == 0
    assert verify(file) == kept
    assert restore(other, file, MACHINE) == kept
    with open_store(other) as restored:
        after = everything(restored)
        *traces, last = after.pop("audit")
        assert traces == before.pop("audit")
        assert last[3] == "restored everything"
        assert after == before
        assert restored.kept()["session"] == restored.kept()["attempt"] == 0
        # It goes on where it stood: numbers do not collide, stale is stale.
        assert restored.sessions.sign_in("Ada", PASSWORD, AT).person.name == "Ada"
        assert restored.documents.save(Kind.DESSERT, "peche-1-2", "new", by(), rev=2).n == 3
        with pytest.raises(Stale):
            restored.documents.save(Kind.DESSERT, "peche-1-2", "late", by(), rev=2)
        restored.documents.begin(Kind.DESSERT, "One more", "x", by())


def test_what_is_there_is_replaced_only_when_asked_and_kept_aside(store, address, by, tmp_path):
    fill(store, by)
    back_up(store, tmp_path / "old.demoule", at=AT)
    store.documents.save(Kind.DESSERT, "peche-1-2", "later", by(), rev=2)
    with pytest.raises(AlreadyThere, match="holds documents"):
        restore(address, tmp_path / "old.demoule", MACHINE)
    restore(address, tmp_path / "old.demoule", MACHINE, replace=True, keep=tmp_path / "aside.demoule")
    assert store.documents.version(Kind.DESSERT, "peche-1-2").text == "a: 2\r"  # seen by who has it open
    assert verify(tmp_path / "aside.demoule").rows["version"] == 5
    restore(address, tmp_path / "aside.demoule", MACHINE, replace=True)
    assert store.documents.version(Kind.DESSERT, "peche-1-2").text == "later"


def test_a_back_up_is_never_written_over_another(store, tmp_path):
    back_up(store, tmp_path / "b.demoule", at=AT)
    with pytest.raises(AlreadyThere):
        back_up(store, tmp_path / "b.demoule", at=AT)
    with pytest.raises(BadInput):
        back_up(store, tmp_path / "b.demoule" / "below.demoule", at=AT)


def test_the_same_moment_gives_the_same_file(store, by, tmp_path):
    fill(store, by)
    back_up(store, tmp_path / "one", at=AT)
    back_up(store, tmp_path / "two", at=AT)
    assert (tmp_path / "one").read_bytes() == (tmp_path / "two").read_bytes()


def lines_of(file):
    return gzip.decompress(file.read_bytes()).splitlines(keepends=True)


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    """A back-up with something in every table."""
    folder = tmp_path_factory.mktemp("whole")
    count = iter(range(1000))

    def by(who="Ada", why=""):
        return By(who=who, at=AT.replace(second=next(count)), why=why)

    with open_store(folder / "memory.sqlite") as store:
        fill(store, by)
        back_up(store, folder / "whole.demoule", at=AT)
    return folder / "whole.demoule"


def test_a_back_up_cut_anywhere_is_refused(whole, tmp_path):
    data = whole.read_bytes()
    for cut in [0, 1, 9, 20, *range(40, len(data) - 1, 97), len(data) - 9, len(data) - 1]:
        (tmp_path / "cut").write_bytes(data[:cut])
        with pytest.raises(DamagedBackup):
            verify(tmp_path / "cut")
    lines = lines_of(whole)
    for number in range(len(lines)):
        (tmp_path / "cut").write_bytes(gzip.compress(b"".join(lines[:number])))
        with pytest.raises(DamagedBackup):
            verify(tmp_path / "cut")


def test_a_back_up_changed_anywhere_is_refused_and_nothing_is_restored(whole, tmp_path):
    lines = lines_of(whole)
    changed = []
    for number, line in enumerate(lines):
        changed += [[*lines[:number], *lines[number + 1 :]], [*lines[:number], line, *lines[number:]]]
        at = len(line) // 2
        other = bytes([line[at] ^ 1])
        changed.append([*lines[:number], line[:at] + other + line[at + 1 :], *lines[number + 1 :]])
    changed.append([*lines, b"{}\n"])
    for some in changed:
        (tmp_path / "changed").write_bytes(gzip.compress(b"".join(some), 1))
        with pytest.raises((DamagedBackup, NewerDatabase)):
            verify(tmp_path / "changed")
    with pytest.raises(DamagedBackup):
        restore(tmp_path / "never.sqlite", tmp_path / "changed", MACHINE)
    assert not (tmp_path / "never.sqlite").exists()


@pytest.mark.parametrize(
    "content",
    [b"", b"not packed", gzip.compress(b""), gzip.compress(b"[1]\n"), gzip.compress(b"{}")],
    ids=["empty", "not packed", "nothing in it", "a list", "no head"],
)
def test_what_is_no_back_up_is_refused(tmp_path, content):
    (tmp_path / "x").write_bytes(content)
    with pytest.raises(DamagedBackup):
        verify(tmp_path / "x")
    with pytest.raises(BadInput):
        verify(tmp_path / "not there")


def test_a_back_up_of_a_newer_release_is_refused(whole, tmp_path):
    lines = lines_of(whole)
    head = json.loads(lines[0])
    (tmp_path / "newer").write_bytes(gzip.compress(json.dumps({**head, "form": "0999"}).encode() + b"\n"))
    with pytest.raises(NewerDatabase, match="0999"):
        verify(tmp_path / "newer")


def test_a_back_up_of_an_older_release_is_migrated_on_the_way(address, tmp_path):
    digest = hashlib.sha256(b"sugar").hexdigest()
    lines = [
        {"demoule": "back-up", "edition": 1, "form": "0001", "made": "2026-01-01T00:00:00+00:00"},
        {
            "table": "document",
            "columns": ["id", "kind", "slug", "name", "n", "rev", "put_away", "branch_of_id", "branch_of_n"],
        },
        [1, "dessert", "apricot", "Apricot", 1, 1, False, None, None],
        {
            "table": "version",
            "columns": ["id", "document_id", "n", "rev", "name", "text", "digest", "parent", "act", "who", "at", "why"],
        },
        [1, 1, 1, 1, "Apricot", "sugar", digest, None, "begun", "Ada", "2026-01-01T00:00:00+00:00", ""],
        {"table": "audit", "columns": ["id", "at", "who", "act", "what", "details"]},
        {"table": "person", "columns": PERSON},
    ]
    body = b"".join(json.dumps(line).encode() + b"\n" for line in lines)
    rows = {"document": 1, "version": 1, "audit": 0, "person": 0}
    end = json.dumps({"rows": rows, "sha256": hashlib.sha256(body).hexdigest()}).encode() + b"\n"
    (tmp_path / "old").write_bytes(gzip.compress(body + end))
    restore(address, tmp_path / "old", MACHINE)
    with open_store(address) as store:
        version = store.documents.version(Kind.DESSERT, "apricot")
        assert (version.text, version.at) == ("sugar", datetime(2026, 1, 1, tzinfo=UTC))
        assert store.documents.save(Kind.DESSERT, "apricot", "more", MACHINE, rev=1, key="k").n == 2
        assert store.kept()["price"] == 0
