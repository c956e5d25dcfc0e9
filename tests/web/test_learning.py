"""A probe log on the page: what is read, what it teaches within its limits, why it is refused, and what is kept."""

from __future__ import annotations

import html
import re

from starlette.testclient import TestClient

from demoule.files import kitchen_of
from demoule.larder import standard_larder
from demoule.store import Kind, Store

from .conftest import sign_in, token
from .probe_log import TRUE_AIR, TRUE_H, log


def sent(client: TestClient, data: bytes, **fields: str):  # type: ignore[no-untyped-def]
    csrf = token(client.get("/cold/apricot").text)
    return client.post("/cold/apricot/probe", data={"csrf": csrf, **fields}, files={"log": ("tuesday.csv", data)})


def test_a_log_is_looked_at_before_anything_is_learned(client: TestClient) -> None:
    page = sent(client, log(), act="look")
    assert page.status_code == 200
    assert "180 readings over 3.0 h" in page.text
    assert "piece (°C)" in page.text
    assert "door (°C)" in page.text
    assert 'class="lesson"' not in page.text


def test_what_it_teaches_holds_the_truth_and_is_kept_with_its_day(client: TestClient, store: Store) -> None:
    page = sent(client, log(), act="learn", stage="harden piece", column="piece (°C)", degrees="", place="core")
    assert page.status_code == 200, re.sub("<[^>]+>", " ", page.text)[-800:]
    fields = dict(re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)">', page.text.split("lesson")[-1]))
    fields = {html.unescape(key): html.unescape(value) for key, value in fields.items()}
    learned, band = float(fields["blows"].split()[0]), float(fields["give or take"].split()[0]) / 100
    # The room that made the log is the outside world here; its limits must hold it and be worth something.
    assert abs(learned - TRUE_H) <= band * learned
    assert band < 0.2
    assert abs(float(fields["air"].split()[0].replace("−", "-")) + 273.15 - TRUE_AIR) < 1.5
    before = store.documents.version(Kind.KITCHEN, "the-walled-garden")
    answer = client.post("/cold/apricot/learned", data=fields, follow_redirects=False)
    assert answer.status_code == 303
    after = store.documents.version(Kind.KITCHEN, "the-walled-garden")
    assert after.n == before.n + 1
    assert "measured: 2026-11-12" in after.text
    assert "# Apricot fills 126 halves" in after.text  # comments stay
    room = next(r for r in kitchen_of(after.text, "kitchen", standard_larder()).rooms if r.name == "blast freezer")
    assert room.surface == learned
    later = client.get("/cold/apricot").text
    assert "learned from tuesday.csv" in later
    assert "12 November 2026" in later


def test_a_log_that_cannot_tell_is_refused_with_its_reason(client: TestClient, store: Store) -> None:
    short = b"\n".join(log().splitlines()[:9])
    page = sent(client, short, act="learn", stage="harden piece", column="piece (°C)", place="core")
    assert page.status_code == 422
    assert "at least 12 are needed" in page.text
    door = sent(client, log(), act="learn", stage="harden piece", column="door (°C)", place="core")
    assert door.status_code == 422
    assert "stays within" in door.text
    picture = sent(client, b"\x89PNG\x00\x00", act="look")
    assert picture.status_code == 422
    assert "not a text file" in picture.text
    assert store.documents.version(Kind.KITCHEN, "the-walled-garden").n == 1


def test_the_upload_is_bounded(client: TestClient) -> None:
    assert sent(client, b"1;2\n" * 800_000, act="look").status_code == 413


def test_who_may_only_read_may_not_teach(team: TestClient) -> None:
    sign_in(team, "cy")
    assert "log-file" not in team.get("/cold/apricot").text
    assert sent(team, log(), act="look").status_code == 403


def test_a_lever_moves_what_was_learned(client: TestClient) -> None:
    page = client.get("/cold/apricot").text
    fields = {"csrf": token(page), "moving": "1", "view": "wide"}
    fields |= {"f:/rooms/refrigerator/air": "5 °C", "b:/rooms/refrigerator/air": "3 °C"}
    told = client.post("/cold/apricot/try", data=fields).json()
    assert "was 6" in told["regions"]["answers"]
    assert "<svg" in told["regions"]["way-wide"]
    rested = client.post("/cold/apricot/try", data={**fields, "moving": ""}).json()
    hours = [re.findall(r"<b class=\"m-solid\">(.*?)</b>", one["regions"]["answers"]) for one in (told, rested)]
    assert hours[0] == hours[1]  # what is told while moving is what is told at rest
