"""The Bench: what is typed reaches the text, the figures and the memory, and nothing of it is lost."""

from __future__ import annotations

import asyncio
import re
from datetime import UTC, datetime
from html import unescape

import pytest
from starlette.testclient import TestClient

from demoule.files import demo_text
from demoule.store import By, Kind, Store
from demoule.web.app import create_app
from demoule.web.bench_parts import STRIP
from demoule.web.settings import Settings
from demoule.web.workers import Workers

from .conftest import HereAndNow, typed

JELLY = "f:/components/heart/weigh/apricot jelly"


def test_opens_with_section_recipe_and_figures(client: TestClient) -> None:
    page = client.get("/bench/apricot")
    assert page.status_code == 200
    assert ">Section of Apricot</title>" in page.text
    assert 'value="1110"' in page.text
    assert "begins to freeze" in page.text
    assert "Caution." in page.text


def test_untouched_form_gives_the_text_back_to_the_letter(client: TestClient) -> None:
    fields = typed(client.get("/bench/apricot").text)
    answer = client.post("/bench/apricot/figures", data=fields).json()
    assert answer["text"] == demo_text("apricot.yaml")
    assert answer["changed"] == 0


def test_a_change_moves_figures_text_and_draft_and_shows_what_was(client: TestClient, store: Store) -> None:
    fields = typed(client.get("/bench/apricot").text)
    fields[JELLY] = "1400"
    answer = client.post("/bench/apricot/figures", data=fields).json()
    assert "apricot jelly: 1400 g" in answer["text"]
    assert answer["text"].replace("apricot jelly: 1400 g", "apricot jelly: 1110 g") == demo_text("apricot.yaml")
    assert answer["notes"]["/components/heart/weigh/apricot jelly"] == ["was", "was 1110 g"]
    heart = next(part for key, part in answer["regions"].items() if key.startswith("part-") and "was 24.7" in part)
    assert "soluble solids" in heart
    draft = store.drafts.of(Kind.DESSERT, "apricot", "chef")
    assert draft is not None
    assert draft.text == answer["text"]
    again = client.get("/bench/apricot")
    assert 'value="1400"' in again.text, "a draft outlives the page"


@pytest.mark.parametrize(("words", "written"), [("1,5 kg", "1,5 kg"), ("40 oz", "40 oz"), ("1111,5", "1111,5 g")])
def test_units_and_a_decimal_comma_are_taken_as_typed(client: TestClient, words: str, written: str) -> None:
    fields = typed(client.get("/bench/apricot").text)
    fields[JELLY] = words
    answer = client.post("/bench/apricot/figures", data=fields).json()
    assert answer["good"], answer["regions"]["state"]
    assert written in answer["text"]


def test_a_mistake_stands_beside_its_field_and_the_text_stays_as_typed(client: TestClient) -> None:
    fields = typed(client.get("/bench/apricot").text)
    fields[JELLY] = "much"
    answer = client.post("/bench/apricot/figures", data=fields).json()
    assert not answer["good"]
    assert answer["notes"]["/components/heart/weigh/apricot jelly"][0] == "wrong"
    assert "apricot jelly: much" in answer["text"]


def test_keep_makes_a_version_and_the_same_key_makes_no_second(client: TestClient, store: Store) -> None:
    fields = typed(client.get("/bench/apricot").text) | {JELLY: "1200", "why": "runnier", "key": "a-1"}
    headers = {"accept": "application/json"}
    first = client.post("/bench/apricot/keep", data=fields, headers=headers)
    again = client.post("/bench/apricot/keep", data=fields, headers=headers)
    assert first.json()["kept"] == again.json()["kept"] == 2
    assert [v.n for v in store.documents.history(Kind.DESSERT, "apricot")] == [2, 1]
    assert store.documents.version(Kind.DESSERT, "apricot").why == "runnier"
    assert store.drafts.of(Kind.DESSERT, "apricot", "chef") is None


def test_two_people_on_one_dessert_see_both_versions_and_lose_none(client: TestClient, store: Store) -> None:
    fields = typed(client.get("/bench/apricot").text)
    headers = {"accept": "application/json"}
    assert client.post("/bench/apricot/keep", data=fields | {JELLY: "1200"}, headers=headers).status_code == 200
    mine = fields | {"f:/components/heart/weigh/thyme": "9"}
    late = client.post("/bench/apricot/keep", data=mine, headers=headers)
    assert late.status_code == 409
    panel = late.json()["conflict"]
    assert "1200 g" in panel
    assert "9 g" in panel
    draft = store.drafts.of(Kind.DESSERT, "apricot", "chef")
    assert draft is not None
    assert "thyme: 9 g" in draft.text
    thyme = "/components/heart/weigh/thyme"
    settled = client.post(
        "/bench/apricot/settle",
        data={
            "csrf": fields["csrf"], "rev": late.json()["rev"], "mine": draft.text,
            f"c:{thyme}": "mine", f"m:{thyme}": "9 g",
            "c:/components/heart/weigh/apricot jelly": "theirs",
        },
        follow_redirects=False,
    )  # fmt: skip
    assert settled.status_code == 303
    text = store.documents.version(Kind.DESSERT, "apricot").text
    assert "thyme: 9 g" in text
    assert "apricot jelly: 1200 g" in text


@pytest.mark.parametrize(
    ("act", "found"),
    [
        ({"act": "add line", "at": "/components/heart/weigh", "what": "honey", "amount": "20"}, "honey: 20 g"),
        ({"act": "add step", "at": "/components/heart", "words": "strain"}, "[mix, strain]"),
        ({"act": "add component", "at": "", "what": "crumble"}, "crumble:"),
        ({"act": "paste", "at": "/components/heart/weigh", "words": "12 g basil\nrum\t30\n"}, "rum: 30 g"),
    ],
)
def test_acts_change_the_text_where_they_say(client: TestClient, act: dict[str, str], found: str) -> None:
    fields = typed(client.get("/bench/apricot").text)
    answer = client.post("/bench/apricot/figures", data=fields | act).json()
    assert found in answer["text"], answer["wrong"]
    assert "form" in answer


def test_taking_a_line_out_leaves_comments_alone(client: TestClient) -> None:
    fields = typed(client.get("/bench/apricot").text)
    act = {"act": "remove", "at": "/components/heart/weigh/thyme"}
    text = client.post("/bench/apricot/figures", data=fields | act).json()["text"]
    assert "thyme" not in text
    assert "# weighed twice this spring" in text


def test_number_of_pieces_scales_what_is_weighed(client: TestClient) -> None:
    fields = typed(client.get("/bench/apricot").text)
    few = client.post("/bench/apricot/figures", data=fields | {"wanted": "20"}).json()
    many = client.post("/bench/apricot/figures", data=fields | {"wanted": "200"}).json()
    key = "w:/components/heart/weigh/thyme"
    assert few["notes"][key] != many["notes"][key]


def test_us_units_and_french_by_one_setting(client: TestClient) -> None:
    page = client.get("/bench/apricot")
    csrf = typed(page.text)["csrf"]
    client.post("/set", data={"csrf": csrf, "units": "us", "back": "/"})
    client.post("/set", data={"csrf": csrf, "language": "fr", "back": "/"})
    page = client.get("/bench/apricot")
    assert "°F" in page.text
    assert '<html lang="fr"' in page.text
    assert "commence à geler" in page.text


def test_versions_compare_restore_and_branch(client: TestClient, store: Store) -> None:
    fields = typed(client.get("/bench/apricot").text)
    client.post("/bench/apricot/keep", data=fields | {JELLY: "1300"}, headers={"accept": "application/json"})
    compared = client.get("/bench/apricot/versions/1")
    assert "apricot jelly: 1300 g" in compared.text
    assert "soluble solids" in compared.text
    client.post("/bench/apricot/restore", data={"csrf": fields["csrf"], "n": "1"})
    assert store.documents.version(Kind.DESSERT, "apricot").text == demo_text("apricot.yaml")
    client.post("/bench/apricot/branch", data={"csrf": fields["csrf"], "name": "Apricot with honey"})
    made = store.documents.version(Kind.DESSERT, "apricot-with-honey")
    assert "name: Apricot with honey" in made.text


@pytest.mark.parametrize("name", ["quince", "chestnut"])
def test_the_other_desserts_open_too(client: TestClient, name: str) -> None:
    page = client.get(f"/bench/{name}")
    assert page.status_code == 200
    fields = typed(page.text)
    assert client.post(f"/bench/{name}/figures", data=fields).json()["text"] == demo_text(f"{name}.yaml")


def test_a_new_dessert_has_figures_at_once(client: TestClient) -> None:
    csrf = typed(client.get("/bench/apricot").text)["csrf"]
    page = client.post("/desserts", data={"csrf": csrf, "name": "Plum"})
    assert page.status_code == 200
    assert "one piece" in page.text


def test_an_edit_is_answered_in_two_parts_and_nothing_stale_is_shown_as_current(client: TestClient) -> None:
    fields = typed(client.get("/bench/apricot").text)
    fields[JELLY] = "1400"
    first = client.post("/bench/apricot/figures", data=fields).json()
    assert set(first["later"]) >= {"stops", "findings", "sold"}
    assert not set(first["later"]) & set(first["regions"])
    strip = figures_in(first["regions"]["strip"])
    assert [key for key, one in strip.items() if one["later"]] == [
        "piece/harden_piece_time", "piece/ready_after", "piece/cost",
    ]  # fmt: skip
    fields["rest"] = "1"
    whole = client.post("/bench/apricot/figures", data=fields).json()
    assert whole["later"] == []
    assert set(first["later"]) <= set(whole["regions"])
    assert "plate" not in whole["regions"], "the picture was sent with the first part"
    for name, html in whole["regions"].items():
        told = figures_in(html)
        assert not any(one["later"] for one in told.values())
        for key, one in figures_in(first["regions"].get(name, "")).items():
            assert one["later"] or one == told[key], "what was told first stays"


def test_what_is_still_to_come_keeps_its_place_when_nothing_is_known_of_it(store: Store, workers: Workers) -> None:
    with TestClient(create_app(store, Settings(), workers), base_url="http://127.0.0.1") as before:
        fields = typed(before.get("/bench/apricot", headers={"accept": "text/html"}).text)
        cookies = dict(before.cookies)
    with TestClient(create_app(store, Settings(), workers), base_url="http://127.0.0.1", cookies=cookies) as after:
        fields[JELLY] = "1400"
        first = after.post("/bench/apricot/figures", data=fields).json()
    strip = figures_in(first["regions"]["strip"])
    assert list(strip) == [f"piece/{key}" for key in STRIP]
    assert strip["piece/ready_after"]["later"]


class Unhurried(HereAndNow):
    """Takes its time over whole answers."""

    async def ask(self, question, /, *, turn=None, near=None, remember=True, **given):  # type: ignore[no-untyped-def]
        await asyncio.sleep(0.2 if question == "bench" else 0.0)
        return await super().ask(question, **given)


def test_a_page_that_would_wait_too_long_comes_with_the_first_part(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    with TestClient(create_app(store, Settings(), Unhurried(1)), base_url="http://127.0.0.1") as client:
        client.headers["accept"] = "text/html"
        whole = client.get("/bench/quince").text
        assert "data-awaits" not in whole
        monkeypatch.setattr("demoule.web.rooms.bench._SOON", 0.05)
        page = client.get("/bench/quince").text
    assert 'data-awaits="stops findings sold said-0' in page
    assert ">Section of Quince</title>" in page
    strip = figures_in(page[page.index('id="strip"') : page.index('id="form"')])
    assert list(strip) == list(figures_in(whole[whole.index('id="strip"') : whole.index('id="form"')]))
    assert strip["piece/ready_after"]["later"]
    assert not strip["piece/mass"]["later"]


def figures_in(html: str) -> dict[str, dict[str, object]]:
    """Figures of a part of the page by the thing and the key they speak of."""
    found: dict[str, dict[str, object]] = {}
    for part in re.split(r'(?=<div class="figure)', html)[1:]:
        head = part[: part.index(">")]
        place = re.search(r'data-f="([^"]+)"', head)
        value = re.search(r"<b class=[^>]*>([^<]*)</b>", part)
        if place is not None:
            found[place[1]] = {"later": " later" in head, "value": value[1] if value else ""}
    return found


def test_a_remedy_with_a_computed_amount_is_pressed_and_the_finding_goes(client: TestClient) -> None:
    form = typed(client.get("/bench/apricot").text)
    form["text"] = re.sub(r"\n    gives: 1110 g", "", form["text"])
    form.pop("f:/components/apricot jelly/gives", None)
    form["f:/components/apricot jelly/weigh/sugar"] = "1900"
    before = client.post("/bench/apricot/figures", data={**form, "rest": "1"}).json()
    assert "stays dissolved" in before["regions"]["findings"]
    offers = re.findall(r'data-act="try" data-changes="([^"]+)"', before["regions"]["findings"])
    changes = next(found for found in map(unescape, map(unescape, offers)) if "glucose syrup 60 DE" in found)
    press = {"csrf": form["csrf"], "rev": form["rev"], "text": before["text"], "act": "try", "at": "", "words": changes}
    after = client.post("/bench/apricot/figures", data=press).json()
    assert "glucose syrup 60 DE: 344 g" in after["text"]
    rest = client.post("/bench/apricot/figures", data={**press, "text": after["text"], "act": "", "rest": "1"}).json()
    assert "stays dissolved" not in rest["regions"]["findings"]
    wild = client.post("/bench/apricot/figures", data={**press, "words": "[[1]]"}).json()
    assert wild["wrong"]
    assert wild["text"] == before["text"]


def test_what_a_component_lacks_can_be_told(client: TestClient) -> None:
    form = typed(client.get("/bench/apricot").text)
    assert "f:/components/whipped ganache/to make" in form
    form["f:/components/whipped ganache/to make"] = "2 kg"
    told = client.post("/bench/apricot/figures", data=form).json()
    assert "to make: 2 kg" in told["text"]


def test_a_thin_wall_is_mended_by_the_disc_that_its_finding_names(client: TestClient) -> None:
    form = typed(client.get("/bench/apricot").text)
    before = client.post("/bench/apricot/figures", data={**form, "rest": "1"}).json()["regions"]["findings"]
    assert "leaves 3.6 mm" in before
    changes = next(
        found
        for found in map(unescape, map(unescape, re.findall(r'data-changes="([^"]+)"', before)))
        if "/piece/base/thickness" in found
    )
    press = {"csrf": form["csrf"], "rev": form["rev"], "text": form["text"], "act": "try", "at": "", "words": changes}
    text = client.post("/bench/apricot/figures", data=press).json()["text"]
    assert "thickness: 3.5 mm" in text
    rest = {"csrf": form["csrf"], "rev": form["rev"], "text": text, "rest": "1"}
    assert "leaves 3.6 mm" not in client.post("/bench/apricot/figures", data=rest).json()["regions"]["findings"]


@pytest.mark.parametrize("digits", ["²", "٣", "9" * 5000, "-1", ""])
@pytest.mark.parametrize("way", ["/bench/apricot", "/orders/orders", "/kitchen/the-walled-garden"])
def test_a_number_that_is_none_is_no_fault_of_ours(client: TestClient, store: Store, way: str, digits: str) -> None:
    by = By(who="chef", at=datetime(2026, 11, 23, 8, tzinfo=UTC))
    store.documents.begin(Kind.ORDERS, "Orders", demo_text("orders.yaml"), by, slug="orders")
    fields = typed(client.get("/kitchen" if way.startswith("/kitchen") else way).text)
    said = {"csrf": fields["csrf"], "n": digits}
    assert client.post(f"{way}/restore", data=said).status_code == 422
    assert client.post(f"{way}/figures", data=fields | {"rev": digits, "wanted": digits}).status_code == 200
    assert client.post(f"{way}/keep", data=fields | {"rev": digits}).status_code in (200, 409)
