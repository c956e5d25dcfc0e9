"""Nothing that was said to be saved is lost: not to a killed process, not to eight people at one dessert."""

import itertools
import os
import signal
import sqlite3
import subprocess
import sys
import threading
from contextlib import closing
from datetime import UTC, datetime

import pytest

from demoule.store import By, Kind, Stale, open_store

SAVING = """
import itertools, sys
from datetime import UTC, datetime
from demoule.store import By, Kind, open_store
store = open_store(sys.argv[1])
rev = store.documents.head(Kind.DESSERT, "apricot").rev
for number in itertools.count():
    text = f"{sys.argv[2]} {number} " + "x" * 20_000
    version = store.documents.save(
        Kind.DESSERT, "apricot", text, By(who="Ada", at=datetime(2026, 5, 2, tzinfo=UTC)), rev=rev
    )
    rev = version.rev
    print(version.n, version.digest, flush=True)
"""


@pytest.mark.parametrize("said", [3, 17])
def test_a_process_killed_in_the_middle_of_a_save_loses_nothing(address, by, said):
    with open_store(address) as store:
        store.documents.begin(Kind.DESSERT, "Apricot", "first", by())
    child = subprocess.Popen(
        [sys.executable, "-c", SAVING, address, f"round {said}"], stdout=subprocess.PIPE, text=True
    )
    lines = list(itertools.islice(child.stdout, said))
    os.kill(child.pid, signal.SIGKILL)  # wherever it is: most of the time is spent in the commit
    rest = child.stdout.read()
    child.wait()
    assert child.returncode == -signal.SIGKILL
    told = [line.split() for line in (*lines, *rest.splitlines()) if len(line.split()) == 2 and len(line) > 64]
    assert len(told) >= said
    with open_store(address) as store:
        history = {version.n: version for version in store.documents.history(Kind.DESSERT, "apricot")}
        for n, digest in told:
            assert history[int(n)].digest == digest
        # One more may have been written without having been told; never half of one.
        assert len(history) in (len(told) + 1, len(told) + 2)
        assert store.documents.head(Kind.DESSERT, "apricot").n == max(history)
        assert store.kept()["audit"] == len(history)
    if "://" not in address:
        with closing(sqlite3.connect(address)) as connection:
            assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)


def test_160_contended_saves_lose_nothing(store, by):
    store.documents.begin(Kind.DESSERT, "Apricot", "first", by())
    accepted, refused, other = [], [], []
    start = threading.Barrier(8)

    def save(worker):
        start.wait()
        for number in range(20):
            rev = store.documents.head(Kind.DESSERT, "apricot").rev
            text = f"worker {worker}, save {number}"
            try:
                made = store.documents.save(
                    Kind.DESSERT,
                    "apricot",
                    text,
                    By(who=f"cook {worker}", at=datetime(2026, 5, 2, tzinfo=UTC)),
                    rev=rev,
                )
                accepted.append((made.n, text))
            except Stale as stale:
                refused.append(stale)
            except Exception as error:
                other.append(error)

    threads = [threading.Thread(target=save, args=(worker,)) for worker in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert other == []
    assert len(accepted) + len(refused) == 160
    assert refused  # otherwise nothing was contended
    assert all(stale.mine and stale.theirs.text and stale.base is not None for stale in refused)
    history = {version.n: version.text for version in store.documents.history(Kind.DESSERT, "apricot")}
    assert history == {1: "first", **dict(accepted)}
    assert sorted(history) == list(range(1, len(accepted) + 2))


CONTENDING = """
import sys
from datetime import UTC, datetime
from demoule.store import By, Kind, Stale, open_store
store = open_store(sys.argv[1])
print("ready", flush=True)
sys.stdin.readline()
for number in range(20):
    rev = store.documents.head(Kind.DESSERT, "apricot").rev
    text = f"process {sys.argv[2]}, save {number}"
    try:
        made = store.documents.save(
            Kind.DESSERT, "apricot", text, By(who="Ada", at=datetime(2026, 5, 2, tzinfo=UTC)), rev=rev
        )
        print(made.n, text, sep="\\t", flush=True)
    except Stale as stale:
        assert stale.mine == text
        print("stale", flush=True)
"""


def test_processes_that_contend_lose_nothing(address, by):
    with open_store(address) as store:
        store.documents.begin(Kind.DESSERT, "Apricot", "first", by())
    children = [
        subprocess.Popen(
            [sys.executable, "-c", CONTENDING, address, str(number)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        for number in range(3)
    ]
    for child in children:
        assert child.stdout.readline() == "ready\n"
    for child in children:
        child.stdin.write("go\n")
        child.stdin.flush()
    lines = [line for child in children for line in child.communicate()[0].splitlines()]
    assert [child.returncode for child in children] == [0, 0, 0]
    assert len(lines) == 60
    accepted = dict(line.split("\t") for line in lines if line != "stale")
    with open_store(address) as store:
        history = {str(version.n): version.text for version in store.documents.history(Kind.DESSERT, "apricot")}
    assert history == {"1": "first", **accepted}


def test_one_save_sent_eight_times_at_once_is_written_once(store, by):
    base = store.documents.begin(Kind.DESSERT, "Apricot", "first", by())
    start, made, troubles = threading.Barrier(8), [], []

    def send():
        start.wait()
        try:
            at = datetime(2026, 5, 2, tzinfo=UTC)
            made.append(
                store.documents.save(
                    Kind.DESSERT, "apricot", "second", By(who="Ada", at=at), rev=base.rev, key="one save"
                )
            )
        except Exception as error:
            troubles.append(error)

    threads = [threading.Thread(target=send) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert troubles == []
    assert {version.n for version in made} == {2}
    assert len(store.documents.history(Kind.DESSERT, "apricot")) == 2


def test_first_drafts_sent_at_once_leave_the_latest(store, by):
    store.documents.begin(Kind.DESSERT, "Apricot", "first", by())
    start, troubles = threading.Barrier(8), []

    def keep(second):
        start.wait()
        try:
            at = datetime(2026, 5, 2, 8, 0, second, tzinfo=UTC)
            store.drafts.keep(Kind.DESSERT, "apricot", "Ada", f"typed {second}", at, rev=1)
        except Exception as error:
            troubles.append(error)

    threads = [threading.Thread(target=keep, args=(second,)) for second in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert troubles == []
    assert store.drafts.of(Kind.DESSERT, "apricot", "Ada").text == "typed 7"
