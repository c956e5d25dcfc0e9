"""The kitchen as a form: nothing that is not typed changes, comments and order stay, and nothing typed is lost."""

from __future__ import annotations

import difflib
import html
import re

import pytest
from starlette.testclient import TestClient

from demoule.files import demo_text, kitchen_of
from demoule.larder import standard_larder
from demoule.store import Kind, Store
from demoule.web.kitchen_form import KINDS
from demoule.web.kitchen_working import kitchen_begun, kitchen_bench

from .conftest import sign_in, token, typed

PLACE = "the-walled-garden"
FIGURES, KEEP = f"/kitchen/{PLACE}/figures", f"/kitchen/{PLACE}/keep"


def fields(client: TestClient) -> dict[str, str]:
    return typed(client.get("/kitchen").text)


def moved(before: str, after: str) -> list[str]:
    lines = difflib.unified_diff(before.splitlines(), after.splitlines(), lineterm="", n=0)
    return [line for line in lines if line[:1] in "+-" and not line.startswith(("+++", "---"))]


def test_what_is_posted_unchanged_changes_nothing(client: TestClient, store: Store) -> None:
    answer = client.post(FIGURES, data=fields(client)).json()
    assert answer["text"] == demo_text("kitchen.yaml")
    assert answer["changed"] == 0
    assert answer["later"] == []


def test_one_field_moves_one_line_and_comments_stay(client: TestClient, store: Store) -> None:
    form = fields(client)
    form["f:/rooms/blast freezer/air"] = "-38"
    form["f:/moulds/quince 110 ml/own"] = "6"
    form["f:/people/cook/shift"] = "Mon–Fri 05:00–13:00"
    form["why"] = "the freezer was serviced"
    kept = client.post(KEEP, data=form, headers={"accept": "application/json"}).json()
    assert kept["kept"] == 2
    version = store.documents.version(Kind.KITCHEN, PLACE)
    lines = moved(demo_text("kitchen.yaml"), version.text)
    assert len(lines) == 6
    assert "# Apricot fills 126 halves, Chestnut 47: the two cannot share a making." in version.text
    assert version.why == "the freezer was serviced"
    kitchen = kitchen_of(version.text, "kitchen", standard_larder())
    assert kitchen.rooms[0].air == pytest.approx(273.15 - 38)
    assert "−38" in client.get("/cold/apricot").text


def test_a_value_that_cannot_be_stays_as_typed_and_is_not_kept(client: TestClient, store: Store) -> None:
    form = fields(client)
    form["f:/people/chef/shift"] = "Mon to Sat, early"
    answer = client.post(FIGURES, data=form).json()
    assert not answer["good"]
    assert answer["notes"]["/people/chef/shift"][0] == "wrong"
    refused = client.post(KEEP, data=form, headers={"accept": "application/json"})
    assert refused.status_code == 422
    assert store.documents.version(Kind.KITCHEN, PLACE).n == 1
    assert "Mon to Sat, early" in html.unescape(client.get("/kitchen").text)  # as a draft


@pytest.mark.parametrize(("part", "kind"), [(part, kind) for part, kinds in KINDS.items() for kind in kinds])
def test_every_kind_of_thing_begins_valid(part: str, kind: str) -> None:
    act = {"act": "add thing", "at": f"/{part}/{kind}", "words": f"new {kind} 3"}
    told = kitchen_bench(text=demo_text("kitchen.yaml"), act=act, day="2026-11-30")
    assert told["good"], told["mistakes"]
    assert f"new {kind} 3" in told["text"]
    if part == "calibrations":
        assert "measured: 2026-11-30" in told["text"]
    lines = moved(demo_text("kitchen.yaml"), told["text"])
    assert all(line.startswith("+") for line in lines)


def test_things_are_renamed_and_taken_out() -> None:
    text = demo_text("kitchen.yaml")
    renamed = kitchen_bench(text=text, act={"act": "rename", "at": "/rooms/bench", "words": "cool bench 2"})
    assert "cool bench 2:" in renamed["text"]
    gone = kitchen_bench(text=text, act={"act": "remove", "at": "/people/junior"})
    assert gone["good"]
    assert moved(text, gone["text"]) == [
        '-  junior: {shift: "Wed–Sat 12:30–20:30", pay: 16 EUR/h, breaks: 16:30–17:00, overtime: 2 h}'
    ]
    price = kitchen_bench(text=text, act={"act": "add pair", "at": "/prices per kg", "what": "fig", "amount": "7.50"})
    assert "  fig: 7.5" in price["text"]


def test_two_people_meet_side_by_side(client: TestClient, store: Store) -> None:
    mine, theirs = fields(client), fields(client)
    theirs["f:/rooms/refrigerator/air"] = "4"
    mine["f:/rooms/bench/air"] = "16"
    asks = {"accept": "application/json"}
    assert client.post(KEEP, data=theirs, headers=asks).json()["kept"] == 2
    met = client.post(KEEP, data=mine, headers=asks)
    assert met.status_code == 409
    panel = met.json()["conflict"]
    assert f"/kitchen/{PLACE}/settle" in panel
    choices = dict.fromkeys(map(html.unescape, re.findall(r'type="radio" name="([^"]+)"', panel)), "mine")
    choices["c:/rooms/refrigerator/air"] = "theirs"
    sent = {"csrf": mine["csrf"], "rev": str(met.json()["rev"]), "mine": demo_text("kitchen.yaml"), **choices}
    sent |= {"m:/rooms/bench/air": "16 °C", "m:/rooms/refrigerator/air": "3 °C"}
    assert client.post(f"/kitchen/{PLACE}/settle", data=sent, follow_redirects=False).status_code == 303
    text = store.documents.version(Kind.KITCHEN, PLACE).text
    assert "bench: {air: 16 °C" in text
    assert "refrigerator: {air: 4 °C" in text


def test_a_learned_room_shows_its_log_and_can_be_forgotten(client: TestClient, store: Store) -> None:
    line = {"from": "tuesday.csv", "measured": "2026-11-12", "blows": "26 W/m²K", "give or take": "8 %"}
    data = {"csrf": token(client.get("/kitchen").text), "room": "blast freezer", **line}
    client.post("/cold/apricot/learned", data=data)
    page = client.get("/kitchen").text
    assert "tuesday.csv" in page
    form = typed(page) | {"act": "remove", "at": "/rooms/blast freezer/learned"}
    assert client.post(FIGURES, data=form).json()["text"] == demo_text("kitchen.yaml")


def test_a_kitchen_is_begun_and_only_read_by_who_only_reads(team: TestClient) -> None:
    assert kitchen_bench(text=kitchen_begun(name="New"))["good"]
    sign_in(team, "cy")
    page = team.get("/kitchen").text
    assert "readonly" in page
    assert 'id="keep"' not in page
    form = typed(page)
    form["f:/rooms/bench/air"] = "10"
    assert team.post(KEEP, data=form, headers={"accept": "application/json"}).status_code == 403
