"""The screens as a real process with the demonstration in a fresh memory, for benchmarks that ask how fast they are."""

from __future__ import annotations

import http.client
import os
import re
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from datetime import UTC, datetime
from html.parser import HTMLParser
from pathlib import Path

from demoule.files import DEMO_FILES, demo_text
from demoule.store import By, Kind, open_store

TICK = os.sysconf("SC_CLK_TCK")
PAGE = os.sysconf("SC_PAGE_SIZE")


def stretched(seconds: float = 0.3) -> float:
    """How much longer the clock on the wall runs than the processor works: 1.0 where nobody else is at work."""
    wall, busy = time.perf_counter(), time.process_time()
    while time.process_time() - busy < seconds:
        sum(range(2000))
    return (time.perf_counter() - wall) / (time.process_time() - busy)


def load() -> str:
    """What else the machine does, as the system tells it."""
    return f"load {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores, clock stretched {stretched():.2f} times"


class Served:
    """One `demoule serve`, its memory and its processes."""

    def __init__(self, folder: Path, *, copies: int = 0) -> None:
        self.database = folder / "memory.sqlite"
        self.environment = os.environ | {"DEMOULE_CACHE": str(folder / "cache")}
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port: int = free.getsockname()[1]
        by = By(who="chef", at=datetime(2026, 11, 23, 8, tzinfo=UTC))
        with open_store(self.database) as store:
            for name in DEMO_FILES[:3]:
                store.documents.begin(Kind.DESSERT, name.removesuffix(".yaml").title(), demo_text(name), by)
            store.documents.begin(Kind.KITCHEN, "The Walled Garden", demo_text("kitchen.yaml"), by)
            store.documents.begin(Kind.ORDERS, "Saturday", demo_text("orders.yaml"), by)
            for k in range(copies):
                source = DEMO_FILES[k % 3]
                title = source.removesuffix(".yaml").title()
                text = re.sub(rf"(?m)^name: {title}$", f"name: {title} {k}", demo_text(source))
                store.documents.begin(Kind.DESSERT, f"{title} {k}", text, by)
        self.process: subprocess.Popen[bytes] | None = None

    @property
    def address(self) -> str:
        """Where it is served."""
        return f"http://127.0.0.1:{self.port}"

    def start(self, workers: int | None = None) -> float:
        """Start, and wait for the first page; returns the seconds it took on the wall."""
        options = ["--port", str(self.port), "--database", str(self.database)]
        options += ["--workers", str(workers)] if workers else []
        began = time.perf_counter()
        self.process = subprocess.Popen(
            [sys.executable, "-m", "demoule", "serve", *options], env=self.environment, stderr=subprocess.DEVNULL
        )
        while True:
            with suppress(OSError):
                self.get("/")
                return time.perf_counter() - began
            assert self.process.poll() is None, "the screens did not start"
            time.sleep(0.01)

    def stop(self) -> None:
        """End it."""
        if self.process is not None:
            self.process.terminate()
            self.process.wait(20)
            self.process = None

    def get(self, path: str, **headers: str) -> bytes:
        """A page, as a client that keeps nothing gets it."""
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=120)
        try:
            connection.request("GET", path, headers={"accept": "text/html"} | headers)
            answer = connection.getresponse()
            found = answer.read()
            assert answer.status == 200, (path, answer.status)
            return found
        finally:
            connection.close()

    def processes(self) -> dict[int, str]:
        """The numbers of all its processes, and what each does."""
        assert self.process is not None
        parents: dict[int, int] = {}
        for entry in Path("/proc").iterdir():
            if entry.name.isdigit():
                with suppress(OSError, IndexError):
                    parents[int(entry.name)] = int((entry / "stat").read_text().rsplit(")", 1)[1].split()[1])
        mine = {self.process.pid: "pages"}
        grown = True
        while grown:
            grown = False
            for child, parent in parents.items():
                if parent in mine and child not in mine:
                    mine[child] = "numerics"
                    grown = True
        return mine

    def busy(self) -> dict[str, float]:
        """Seconds of the processor so far: of the process that serves pages, and of those that compute."""
        found = {"pages": 0.0, "numerics": 0.0}
        for number, what in self.processes().items():
            with suppress(OSError):
                fields = (Path("/proc") / str(number) / "stat").read_text().rsplit(")", 1)[1].split()
                found[what] += (int(fields[11]) + int(fields[12])) / TICK
        return found

    def memory(self) -> dict[str, float]:
        """Bytes in memory, shared pages counted once: of the process that serves pages, and of those that compute."""
        found = {"pages": 0.0, "numerics": 0.0}
        for number, what in self.processes().items():
            with suppress(OSError):
                told = (Path("/proc") / str(number) / "smaps_rollup").read_text()
                pss = re.search(r"(?m)^Pss:\s+(\d+) kB", told)
                found[what] += 1024 * int(pss[1]) if pss else 0
        return found


@contextmanager
def served(*, copies: int = 0) -> Iterator[Served]:
    """A memory that is gone afterwards; not started."""
    with tempfile.TemporaryDirectory(prefix="demoule-") as folder:
        found = Served(Path(folder), copies=copies)
        try:
            yield found
        finally:
            found.stop()


class _Form(HTMLParser):
    """The fields of the dessert's form, as a browser would post them."""

    def __init__(self) -> None:
        super().__init__()
        self.fields: dict[str, str] = {}
        self._inside = self._area = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = dict(attrs)
        if tag == "form":
            self._inside = told.get("id") == "recipe"
        if self._inside and tag == "input" and told.get("name"):
            self.fields[str(told["name"])] = told.get("value") or ""
        if self._inside and tag == "textarea" and told.get("name") == "text":
            self._area = True
            self.fields["text"] = ""

    def handle_endtag(self, tag: str) -> None:
        if tag == "textarea":
            self._area = False
        if tag == "form":
            self._inside = False

    def handle_data(self, data: str) -> None:
        if self._area:
            self.fields["text"] += data


def fields_of(page: str) -> dict[str, str]:
    """The fields of a dessert's page."""
    form = _Form()
    form.feed(page)
    form.fields["text"] = form.fields["text"].removeprefix("\n")
    return form.fields
