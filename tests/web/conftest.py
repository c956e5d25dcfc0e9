"""A served application with the demonstration in a fresh memory, asked over its own transport."""

from __future__ import annotations

import asyncio
import re
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from demoule.files import DEMO_FILES, demo_text
from demoule.store import By, Kind, Role, Store, open_store
from demoule.web.app import create_app
from demoule.web.settings import Settings
from demoule.web.workers import Workers


@pytest.fixture(scope="session", autouse=True)
def made_once(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    patch = pytest.MonkeyPatch()
    patch.setenv("DEMOULE_CACHE", str(tmp_path_factory.mktemp("cache")))
    yield
    patch.undo()


class HereAndNow(Workers):
    """The numerics in this process: tests of pages need no others."""

    def start(self) -> None:
        pass

    def stop(self) -> None:
        pass

    async def ask(self, question, /, *, turn=None, near=None, remember=True, **given):  # type: ignore[no-untyped-def]
        from demoule.web import working

        await asyncio.sleep(0)
        return working.QUESTIONS[question](**given)


@pytest.fixture(scope="session")
def workers() -> Workers:
    return HereAndNow(1)


def filled(path: Path) -> Store:
    store = open_store(path)
    by = By(who="chef", at=datetime(2026, 11, 23, 8, tzinfo=UTC))
    for name in DEMO_FILES[:3]:
        store.documents.begin(Kind.DESSERT, name.removesuffix(".yaml").title(), demo_text(name), by)
    store.documents.begin(Kind.KITCHEN, "The Walled Garden", demo_text("kitchen.yaml"), by)
    return store


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with filled(tmp_path / "memory.sqlite") as found:
        yield found


@pytest.fixture
def client(store: Store, workers: Workers) -> Iterator[TestClient]:
    with TestClient(create_app(store, Settings(), workers), base_url="http://127.0.0.1") as found:
        found.headers["accept"] = "text/html"
        yield found


@pytest.fixture
def team(store: Store, workers: Workers) -> Iterator[TestClient]:
    by = By(who="owner", at=datetime(2026, 11, 23, 8, tzinfo=UTC))
    for name, role in (("ada", Role.OWNER), ("bo", Role.CHEF), ("cy", Role.READER)):
        store.people.add(name, role, f"plum stones in {name}'s jar", by)
    with TestClient(create_app(store, Settings(accounts=True), workers), base_url="http://127.0.0.1") as found:
        found.headers["accept"] = "text/html"
        yield found


def token(html: str) -> str:
    found = re.search(r'name="csrf" value="(\w+)"', html)
    assert found is not None
    return found[1]


def typed(html: str) -> dict[str, str]:
    """The fields of the dessert's form as a browser would post them."""
    from html.parser import HTMLParser

    class Reader(HTMLParser):
        def __init__(self) -> None:
            super().__init__()
            self.fields: dict[str, str] = {}
            self.text = ""
            self.inside = self.area = False

        def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
            told = dict(attrs)
            if tag == "form":
                self.inside = told.get("id") == "recipe"
            if self.inside and tag == "input" and told.get("name"):
                self.fields[str(told["name"])] = told.get("value") or ""
            if self.inside and tag == "textarea" and told.get("name") == "text":
                self.area = True

        def handle_endtag(self, tag: str) -> None:
            if tag == "textarea" and self.area:
                self.fields["text"] = self.text.removeprefix("\n")
                self.area = False
            if tag == "form":
                self.inside = False

        def handle_data(self, data: str) -> None:
            if self.area:
                self.text += data

    reader = Reader()
    reader.feed(html)
    return reader.fields


def sign_in(client: TestClient, name: str) -> None:
    page = client.get("/sign-in")
    answer = client.post(
        "/sign-in",
        data={"csrf": token(page.text), "name": name, "password": f"plum stones in {name}'s jar", "back": "/"},
        follow_redirects=False,
    )
    assert answer.status_code == 303
