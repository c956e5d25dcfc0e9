"""Nobody gets in who should not, and what comes in is bounded and told in one shape."""

from __future__ import annotations

import pytest
from starlette.testclient import TestClient

from demoule.errors import BadInput
from demoule.store import Store, open_store
from demoule.web.app import create_app
from demoule.web.settings import Settings, is_loopback
from demoule.web.workers import Workers

from .conftest import sign_in, token, typed


def test_every_answer_carries_a_strict_policy(client: TestClient) -> None:
    for path in ("/", "/bench/apricot", "/larder", "/nowhere", "/api/nowhere"):
        headers = client.get(path).headers
        policy = headers["content-security-policy"]
        assert "unsafe" not in policy
        assert "default-src 'none'" in policy
        assert headers["x-content-type-options"] == "nosniff"


@pytest.mark.parametrize("path", ["/", "/bench/apricot", "/larder", "/cold/apricot", "/quick/cook", "/paper/apricot"])
def test_no_page_holds_a_script_a_style_or_anything_from_elsewhere(client: TestClient, path: str) -> None:
    page = client.get(path).text
    assert " style=" not in page
    assert "<style" not in page
    assert " onclick=" not in page
    assert "javascript:" not in page
    assert page.count("<script") == 1
    outside = page.replace("http://www.w3.org/2000/svg", "")
    assert "http://" not in outside.replace("http://127.0.0.1", "")
    assert "https://" not in outside


def test_a_form_without_its_token_changes_nothing(client: TestClient, store: Store) -> None:
    fields = typed(client.get("/bench/apricot").text) | {"csrf": "0" * 64}
    assert client.post("/bench/apricot/keep", data=fields).status_code == 403
    assert client.post("/bench/apricot/figures", data=fields).status_code == 403


def test_a_form_of_another_site_changes_nothing(client: TestClient) -> None:
    fields = typed(client.get("/bench/apricot").text)
    for headers in ({"origin": "http://elsewhere.example"}, {"sec-fetch-site": "cross-site"}):
        assert client.post("/bench/apricot/keep", data=fields, headers=headers).status_code == 403


def test_a_foreign_name_for_this_machine_is_refused(store: Store, workers: Workers) -> None:
    settings = Settings(hosts=frozenset({"127.0.0.1", "localhost"}))
    with TestClient(create_app(store, settings, workers), base_url="http://rebound.example") as client:
        assert client.get("/").status_code == 421


def test_accounts_shut_every_page_but_the_door(team: TestClient) -> None:
    for path in ("/", "/bench/apricot", "/larder", "/cold/apricot", "/quick/cook", "/paper/apricot", "/people"):
        answer = team.get(path, follow_redirects=False)
        assert answer.status_code == 303
        assert answer.headers["location"].startswith("/sign-in")
    assert team.get("/api/desserts").status_code == 401


def test_signing_in_sets_a_cookie_that_no_script_reads(team: TestClient) -> None:
    page = team.get("/sign-in")
    answer = team.post(
        "/sign-in",
        data={
            "csrf": token(page.text),
            "name": "ada",
            "password": "plum stones in ada's jar",
            "back": "//evil.example",
        },
        follow_redirects=False,
    )
    cookie = next(v for k, v in answer.headers.multi_items() if k == "set-cookie" and "demoule-session" in v)
    assert "HttpOnly" in cookie
    assert "SameSite=strict" in cookie
    assert answer.headers["location"] == "/"
    assert team.get("/bench/apricot").status_code == 200


def test_a_wrong_password_is_told_in_one_wording_and_locks_out(team: TestClient) -> None:
    page = team.get("/sign-in")
    told = set()
    for name in ("ada", "nobody"):
        answer = team.post("/sign-in", data={"csrf": token(page.text), "name": name, "password": "wrong"})
        assert answer.status_code == 401
        told.add("Name or password is wrong." in answer.text)
    assert told == {True}
    statuses = [
        team.post("/sign-in", data={"csrf": token(page.text), "name": "ada", "password": "wrong"}).status_code
        for _ in range(14)
    ]
    assert 429 in statuses


def test_a_reader_reads_and_changes_nothing(team: TestClient, store: Store) -> None:
    sign_in(team, "cy")
    page = team.get("/bench/apricot")
    assert page.status_code == 200
    assert 'id="keep"' not in page.text
    fields = typed(page.text)
    assert team.post("/bench/apricot/keep", data=fields).status_code == 403
    assert team.post("/desserts", data={"csrf": fields["csrf"], "name": "x"}).status_code == 403
    assert team.get("/people").status_code == 403


def test_an_owner_adds_people_and_sees_the_trail(team: TestClient, store: Store) -> None:
    sign_in(team, "ada")
    page = team.get("/people")
    answer = team.post("/people", data={"csrf": token(page.text), "act": "add", "name": "di", "role": "cook"})
    assert answer.status_code == 200
    assert "di signs in once with" in answer.text
    assert store.people.get("di").must_change


def test_too_much_is_refused_before_it_is_read(client: TestClient) -> None:
    assert client.post("/bench/apricot/figures", content=b"a" * 1_200_000).status_code == 413
    plain = {"content-type": "application/x-www-form-urlencoded"}
    endless = (b"x" * 65536 for _ in range(60))
    assert client.post("/bench/apricot/figures", content=endless, headers=plain).status_code == 413


def test_a_flood_is_held_up(store: Store, workers: Workers) -> None:
    with TestClient(create_app(store, Settings(a_minute=30), workers), base_url="http://127.0.0.1") as client:
        statuses = [client.get("/health").status_code for _ in range(40)]
    assert statuses[0] == 200
    assert statuses[-1] == 429


@pytest.mark.parametrize("name", ["../../etc/passwd", "%2e%2e%2fnames.json", "names.json", "..%5Cnames.json"])
def test_static_files_are_known_by_name_only(client: TestClient, name: str) -> None:
    assert client.get(f"/static/{name}").status_code == 404


@pytest.mark.parametrize("words", ["{{ 7*7 }}", "<script>alert(1)</script>", "{% raw %}", "a\u202eb", "é" * 110])
def test_what_is_typed_stays_text(client: TestClient, words: str) -> None:
    csrf = typed(client.get("/bench/apricot").text)["csrf"]
    page = client.post("/desserts", data={"csrf": csrf, "name": words})
    assert page.status_code < 500
    assert "<script>alert" not in page.text
    assert client.get("/").status_code == 200


@pytest.mark.parametrize("path", ["/bench/none", "/cold/none", "/paper/none", "/quick/none", "/larder/item?item=none"])
def test_what_is_not_there_is_a_page_and_no_fault(client: TestClient, path: str) -> None:
    assert client.get(path).status_code in (200, 404)


def test_another_address_needs_accounts(tmp_path) -> None:
    from demoule.cli.serving import serve

    path = tmp_path / "memory.sqlite"
    open_store(path).close()
    with pytest.raises(BadInput, match="nobody has an account"):
        serve(host="0.0.0.0", port=8999, database=str(path), behind="", workers=1)


@pytest.mark.parametrize(
    ("host", "here"), [("127.0.0.1", True), ("::1", True), ("localhost", True), ("0.0.0.0", False), ("10.0.0.4", False)]
)
def test_this_machine_only(host: str, here: bool) -> None:
    assert is_loopback(host) is here


def test_a_page_that_was_open_goes_on_after_a_restart(store: Store, workers: Workers) -> None:
    with TestClient(create_app(store, Settings(), workers), base_url="http://127.0.0.1") as client:
        fields = typed(client.get("/bench/apricot", headers={"accept": "text/html"}).text)
        cookies = dict(client.cookies)
    with TestClient(create_app(store, Settings(), workers), base_url="http://127.0.0.1", cookies=cookies) as client:
        assert client.post("/bench/apricot/figures", data=fields).status_code == 200
    with TestClient(create_app(store, Settings(), workers), base_url="http://127.0.0.1") as stranger:
        assert stranger.post("/bench/apricot/figures", data=fields).status_code == 403


def test_a_fault_of_ours_is_a_page_for_people_and_keeps_the_policy(store: Store, workers: Workers, monkeypatch) -> None:
    app = create_app(store, Settings(), workers)
    monkeypatch.setattr(store.documents, "heads", lambda *_: 1 / 0)
    with TestClient(app, base_url="http://127.0.0.1", raise_server_exceptions=False) as client:
        page = client.get("/", headers={"accept": "text/html"})
        told = client.get("/api/desserts")
    for answer in (page, told):
        assert answer.status_code == 500
        assert "unsafe" not in answer.headers["content-security-policy"]
        assert "ZeroDivision" not in answer.text
    assert "<h1" in page.text
    assert told.json()["error"]["says"].startswith("Something of ours broke")
