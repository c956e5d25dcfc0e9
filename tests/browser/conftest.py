"""The screens as they are served, in a real browser: the system's Chromium."""

from __future__ import annotations

import os
import shutil
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

from demoule.files import DEMO_FILES, demo_text
from demoule.store import By, Kind, Store, open_store

ARGS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
]  # fmt: skip
PATIENCE = 120_000  # ms; the numerics load while the first page stands


def chromium() -> str | None:
    return shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    where = chromium()
    if where is None:
        words = "No Chromium on this machine: install it with “apt-get install -y chromium”."
        if os.environ.get("CI"):
            pytest.fail(words, pytrace=False)
        pytest.skip(words)
    with sync_playwright() as play:
        found = play.chromium.launch(executable_path=where, args=ARGS)
        yield found
        found.close()


class Kitchen:
    """A served memory that can be killed and started again."""

    def __init__(self, path: Path, cache: Path) -> None:
        self.path, self.cache = path, cache
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        self.process: subprocess.Popen[bytes] | None = None

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def start(self) -> None:
        environment = os.environ | {"DEMOULE_CACHE": str(self.cache)}
        options = ["--port", str(self.port), "--database", str(self.path), "--workers", "1"]
        self.process = subprocess.Popen(
            [sys.executable, "-m", "demoule", "serve", *options],
            env=environment,
        )  # fmt: skip
        for _ in range(1800):
            try:
                with urllib.request.urlopen(f"{self.address}/health", timeout=2):
                    return
            except OSError:
                if self.process.poll() is not None:
                    raise AssertionError("the screens did not start") from None
                time.sleep(0.1)
        raise AssertionError("the screens did not answer within three minutes")

    def kill(self) -> None:
        assert self.process is not None
        self.process.send_signal(signal.SIGKILL)
        self.process.wait()

    def stop(self) -> None:
        if self.process is not None and self.process.poll() is None:
            self.process.terminate()
            try:
                self.process.wait(10)
            except subprocess.TimeoutExpired:
                self.process.kill()

    def memory(self) -> Store:
        return open_store(self.path)


def until(page: Page, script: str) -> None:
    """Wait until a script says yes; asked from outside, for the page's policy lets no text run in it."""
    end = time.monotonic() + PATIENCE / 1000
    while not page.evaluate(script):
        assert time.monotonic() < end, script
        page.wait_for_timeout(100)


@pytest.fixture(scope="session")
def dressed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("cache")


@pytest.fixture(scope="module")
def kitchen(tmp_path_factory: pytest.TempPathFactory, dressed: Path) -> Iterator[Kitchen]:
    path = tmp_path_factory.mktemp("memory") / "memory.sqlite"
    with open_store(path) as store:
        by = By(who="chef", at=datetime(2026, 11, 23, 8, tzinfo=UTC))
        for name in DEMO_FILES[:3]:
            store.documents.begin(Kind.DESSERT, name.removesuffix(".yaml").title(), demo_text(name), by)
        store.documents.begin(Kind.KITCHEN, "The Walled Garden", demo_text("kitchen.yaml"), by)
    found = Kitchen(path, dressed)
    found.start()
    yield found
    found.stop()


@pytest.fixture
def page(browser: Browser, kitchen: Kitchen) -> Iterator[Page]:
    context = browser.new_context(viewport={"width": 1280, "height": 940}, locale="en-GB")
    context.set_default_timeout(PATIENCE)
    found = context.new_page()
    broken: list[str] = []
    found.on("pageerror", lambda error: broken.append(str(error)))
    found.on("dialog", lambda dialog: dialog.accept())
    yield found
    context.close()
    assert broken == [], broken
