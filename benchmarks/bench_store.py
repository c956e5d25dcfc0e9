"""How fast the memory saves and reads, and what happens when many save one dessert; every answer is checked.

Run with `python benchmarks/bench_store.py` for SQLite in a temporary folder, and with the address of an empty
PostgreSQL database as an argument for that one: `python benchmarks/bench_store.py postgresql://me@/empty`.
"""

from __future__ import annotations

import os
import platform
import sys
import tempfile
import threading
import time
from datetime import UTC, datetime
from pathlib import Path

from demoule.files import demo_text
from demoule.store import By, Kind, Stale, Store, back_up, open_store, verify

SAVES, WORKERS, EACH = 300, 8, 20
AT = datetime(2026, 5, 2, tzinfo=UTC)
BY = By(who="bench", at=AT)


def timed(what: str, count: int, seconds: float) -> None:
    print(f"  {what:<42}{count / seconds:>9.0f} /s{1000 * seconds / count:>10.2f} ms each")


def save_and_read(store: Store, label: str, slug: str) -> None:
    text = demo_text("apricot.yaml")
    rev = store.documents.begin(Kind.DESSERT, slug, text, BY, slug=slug).rev
    begun = time.perf_counter()
    for number in range(SAVES):
        rev = store.documents.save(Kind.DESSERT, slug, f"{text}# {number}\n", BY, rev=rev).rev
    timed(f"saves of {len(text) // 1000} kB, {label}", SAVES, time.perf_counter() - begun)
    begun = time.perf_counter()
    for number in range(SAVES):
        assert store.documents.version(Kind.DESSERT, slug, number + 2).text.endswith(f"# {number}\n")
    timed("reads of one version", SAVES, time.perf_counter() - begun)


def contend(store: Store) -> None:
    store.documents.begin(Kind.DESSERT, "contended", "first", BY, slug="contended")
    accepted: list[tuple[int, str]] = []
    refused: list[Stale] = []
    waits: list[float] = []
    start = threading.Barrier(WORKERS)

    def work(worker: int) -> None:
        start.wait()
        for number in range(EACH):
            begun = time.perf_counter()
            rev = store.documents.head(Kind.DESSERT, "contended").rev
            text = f"{worker} {number}"
            try:
                accepted.append((store.documents.save(Kind.DESSERT, "contended", text, BY, rev=rev).n, text))
            except Stale as stale:
                refused.append(stale)
            waits.append(time.perf_counter() - begun)

    threads = [threading.Thread(target=work, args=(worker,)) for worker in range(WORKERS)]
    begun = time.perf_counter()
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    seconds = time.perf_counter() - begun
    history = {version.n: version.text for version in store.documents.history(Kind.DESSERT, "contended")}
    lost = sum(history.get(n) != text for n, text in accepted)
    assert len(accepted) + len(refused) == WORKERS * EACH
    assert len(history) == len(accepted) + 1
    print(
        f"  {WORKERS * EACH} contended saves: {len(accepted)} accepted, {len(refused)} told as stale, {lost} lost,"
        f" {seconds:.2f} s; slowest {1000 * max(waits):.0f} ms"
    )
    assert not lost


def carry(store: Store, folder: Path) -> None:
    begun = time.perf_counter()
    kept = back_up(store, folder / "bench.demoule", at=AT)
    seconds = time.perf_counter() - begun
    assert verify(folder / "bench.demoule") == kept
    size = (folder / "bench.demoule").stat().st_size
    print(f"  back-up of {sum(kept.rows.values())} rows, read back: {seconds:.2f} s, {size / 1000:.0f} kB")


def main() -> None:
    load = os.getloadavg()[0]
    print(f"Python {platform.python_version()}, {os.cpu_count()} cores, {platform.machine()}, load {load:.1f}")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        address = sys.argv[1] if len(sys.argv) > 1 else str(folder / "memory.sqlite")
        begun = time.perf_counter()
        open_store(address).close()
        print(f"  a new database, tables and all: {time.perf_counter() - begun:.2f} s")
        begun = time.perf_counter()
        with open_store(address) as store:
            print(f"  opened again: {1000 * (time.perf_counter() - begun):.0f} ms")
            if store.database.is_sqlite:
                save_and_read(store, "on the disk at once (FULL)", "full")
                from sqlalchemy import event

                event.listen(
                    store.database.engine, "connect", lambda c, _: c.execute("PRAGMA synchronous=NORMAL").close()
                )
                store.database.engine.dispose()
                save_and_read(store, "not at once (NORMAL)", "normal")
            else:
                save_and_read(store, "PostgreSQL", "full")
            contend(store)
            carry(store, folder)


if __name__ == "__main__":
    main()
