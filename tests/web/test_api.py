"""The same acts as JSON, one shape of error, and a description of it all."""

from __future__ import annotations

import pytest
from starlette.testclient import TestClient

from demoule.files import demo_text


@pytest.fixture
def api(client: TestClient) -> TestClient:
    client.headers["accept"] = "application/json"
    return client


def test_a_dessert_is_read_tried_kept_and_brought_back(api: TestClient) -> None:
    heads = api.get("/api/desserts").json()
    assert {one["slug"] for one in heads} == {"apricot", "quince", "chestnut"}
    read = api.get("/api/desserts/apricot").json()
    assert read["text"] == demo_text("apricot.yaml")
    change = {"/components/heart/weigh/thyme": "7 g"}
    tried = api.post("/api/answers", json={"text": read["text"], "changes": change}).json()
    assert "thyme: 7 g" in tried["text"]
    assert tried["mistakes"] == []
    kept = api.put("/api/desserts/apricot", json={"text": tried["text"], "rev": read["rev"], "why": "more"})
    assert kept.json()["n"] == 2
    stale = api.put("/api/desserts/apricot", json={"text": read["text"] + "\n", "rev": read["rev"]})
    assert stale.status_code == 409
    assert stale.json()["theirs"]["n"] == 2
    assert stale.json()["mine"].startswith("#")
    back = api.post("/api/desserts/apricot/restore", json={"n": 1, "rev": kept.json()["rev"]})
    assert back.json()["text"] == read["text"]


def test_the_answer_sheet_is_the_published_form(api: TestClient) -> None:
    import jsonschema

    from demoule.dossier import schema

    told = api.get("/api/desserts/apricot/answers", params={"pieces": 96}).json()
    jsonschema.validate(told, schema())


def test_larder_questions_and_prices(api: TestClient) -> None:
    assert api.get("/api/larder", params={"words": "agar"}).json()[0]["name"] == "agar"
    assert api.get("/api/larder/cream 35 %").json()["parts"][0]["name"] == "water"
    answer = api.post("/api/questions/brix", json={"mix": "sucrose 40 g, water 60 g"}).json()["answer"]
    assert answer["soluble_solids"]["value"] == pytest.approx(40.0, abs=0.5)
    price = {"item": "honey", "price": 12.0, "from_day": "2026-01-01"}
    assert api.post("/api/prices", json=price).json()["per_kg"] == 12.0


@pytest.mark.parametrize(
    ("method", "path", "status"),
    [
        ("get", "/api/none", 404),
        ("delete", "/api/desserts", 405),
        ("get", "/api/desserts/none", 404),
        ("get", "/api/desserts/NOT A SLUG", 422),
        ("post", "/api/questions/none", 422),
        ("get", "/api/larder/zzzz", 422),
    ],
)
def test_every_error_has_one_shape(api: TestClient, method: str, path: str, status: int) -> None:
    answer = api.request(method, path, json={} if method == "post" else None)
    assert answer.status_code == status
    error = answer.json()["error"]
    assert set(error) >= {"says", "where", "remedy"}
    assert error["says"]


def test_a_405_names_what_may_be_done(api: TestClient) -> None:
    assert "GET" in api.delete("/api/desserts").headers["allow"]


def test_a_program_signs_in_with_a_bearer_token(team: TestClient) -> None:
    team.headers["accept"] = "application/json"
    wrong = team.post("/api/session", json={"name": "bo", "password": "no"})
    assert wrong.status_code == 401
    assert wrong.json()["error"]["says"]
    token = team.post("/api/session", json={"name": "bo", "password": "plum stones in bo's jar"}).json()["token"]
    headers = {"authorization": f"Bearer {token}"}
    assert team.get("/api/me", headers=headers).json()["role"] == "chef"
    assert team.post("/api/desserts", json={"name": "Plum"}, headers=headers).status_code == 201
    assert team.post("/api/desserts", json={"name": "Plum"}).status_code == 401


def test_a_browser_session_needs_the_form_token(api: TestClient) -> None:
    api.get("/", headers={"accept": "text/html"})
    blocked = api.post("/api/desserts", json={"name": "Plum"})
    assert blocked.status_code == 403
    token = api.get("/api/me").json()["form_token"]
    assert api.post("/api/desserts", json={"name": "Plum"}, headers={"x-form-token": token}).status_code == 201


def test_it_is_described(api: TestClient) -> None:
    told = api.get("/api/openapi.json").json()
    assert "/api/desserts/{slug}" in told["paths"]
    assert all(path.startswith("/api/") for path in told["paths"])
    for way in told["paths"]["/api/desserts/{slug}"].values():
        assert "404" in way["responses"]


@pytest.mark.parametrize(
    "text", ["\u0000", "a: [", "- 1\n- 2", "demoule: 1\nname: X\n", "x: " + "[" * 5000, "🍑" * 1000]
)
def test_hostile_texts_end_in_words(api: TestClient, text: str) -> None:
    answer = api.post("/api/answers", json={"text": text})
    assert answer.status_code in (200, 422)
    if answer.status_code == 200:
        assert answer.json()["mistakes"]
