"""Larder, Cold room, quick answers, paper: the main act of each, and the words in two languages."""

from __future__ import annotations

import io
import re
import tomllib
from importlib import resources

import openpyxl
import pytest
from starlette.testclient import TestClient

from demoule.store import Kind, Store
from demoule.web.quick_curves import CURVES, curve_told

from .conftest import token, typed

SHEET = "name;price;water;fat;sugars;protein\nfig pulp;7,80;79;0,2;16,5;0,7\n;1;2;3;4;5\nodd;1;200;0;0;0\n"


def test_search_finds_as_typed(client: TestClient) -> None:
    listed = client.get("/larder/list", params={"words": "crea"}).text
    assert "cream 35 %" in listed
    assert 'fill="url(#of-water)"' in listed
    assert 'class="unseen">water' in listed


def test_what_is_unknown_is_drawn_empty_and_said(client: TestClient) -> None:
    item = client.get("/larder/item", params={"item": "dark chocolate 70 %"}).text
    assert "url(#of-unknown)" in item
    assert "unknown" in item


def test_ingredients_of_one_dessert(client: TestClient) -> None:
    listed = client.get("/larder/list", params={"within": "apricot"}).text
    assert "agar" in listed
    assert "blackcurrant" not in listed


def test_a_sheet_is_looked_at_line_by_line_then_taken(client: TestClient, store: Store) -> None:
    csrf = token(client.get("/larder").text)
    page = client.post("/larder/sheet", data={"csrf": csrf}, files={"sheet": ("figs.csv", SHEET.encode(), "text/csv")})
    assert page.status_code == 200
    assert "fig pulp" in page.text
    assert "line 3" in page.text
    assert "line 4" in page.text
    entries = re.search(r'name="entries"[^>]*>(.*?)</textarea>', page.text, re.DOTALL)
    assert entries is not None
    import html

    client.post("/larder/take", data={"csrf": csrf, "entries": html.unescape(entries[1])})
    assert "fig pulp:" in store.documents.version(Kind.KITCHEN, "the-walled-garden").text
    assert "fig pulp" in client.get("/larder/list", params={"words": "fig pulp"}).text


def test_a_workbook_reads_as_the_same_sheet(client: TestClient) -> None:
    book = openpyxl.Workbook()
    book.active.append(["Nom", "Prix", "Eau", "Lipides", "Sucres"])
    book.active.append(["pulpe de figue", 7.8, 79, 0.2, 16.5])
    data = io.BytesIO()
    book.save(data)
    csrf = token(client.get("/larder").text)
    page = client.post("/larder/sheet", data={"csrf": csrf}, files={"sheet": ("f.xlsx", data.getvalue())})
    assert "pulpe de figue" in page.text


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"\x00\x01",
        b"PK\x03\x04broken",
        b"name\n" + b"a" * 190_000,
        b"name;fat\nx;=1+1\n",
        b"\xff\xfe\x00a",
    ],
)
def test_hostile_sheets_end_in_words(client: TestClient, data: bytes) -> None:
    csrf = token(client.get("/larder").text)
    answer = client.post("/larder/sheet", data={"csrf": csrf}, files={"sheet": ("x.csv", data)})
    assert answer.status_code in (200, 422)


def test_a_price_holds_from_its_day(client: TestClient, store: Store) -> None:
    csrf = token(client.get("/larder").text)
    client.post(
        "/larder/price",
        data={"csrf": csrf, "item": "cream 35 %", "price": "6,10", "from": "2020-01-01", "supplier": "x"},
    )
    (price,) = store.prices.of("cream 35 %")
    assert price.per_kg == pytest.approx(6.10)
    assert "6.10" in client.get("/larder/list", params={"words": "cream 35"}).text


def test_the_cold_room_shows_rooms_curves_and_a_table(client: TestClient) -> None:
    page = client.get("/cold/apricot").text
    assert "ready to eat" in page
    assert "blast freezer" in page
    assert page.count('class="still"') >= 6
    assert "<table" in page


def test_what_if_moves_the_hours_and_keeps_nothing(client: TestClient, store: Store) -> None:
    page = client.get("/cold/apricot").text
    csrf = token(page)
    air = "/rooms/refrigerator/air"
    told = client.post("/cold/apricot/try", data={"csrf": csrf, f"f:{air}": "4 °C", f"b:{air}": "3 °C"}).json()
    assert "was" in told["regions"]["answers"]
    assert len(store.documents.history(Kind.KITCHEN, "the-walled-garden")) == 1


@pytest.mark.parametrize("name", ["cook", "freezing", "gelatine", "shell", "water-activity", "label", "brix", "thaw"])
def test_each_question_is_a_sentence_with_its_answer(client: TestClient, name: str) -> None:
    page = client.get(f"/quick/{name}")
    assert page.status_code == 200
    assert 'class="sentence"' in page.text
    assert "one-answer" in page.text


def test_a_question_answers_what_is_typed(client: TestClient) -> None:
    # Boiling point of water at 1013.25 hPa: 99.97 °C (CRC Handbook, steam table; recalled). At 0 m above the sea.
    answer = client.get("/quick/boiling/answer", params={"mix": "water 100 g", "altitude": "0 m"}).text
    assert "100" in answer
    wrong = client.get("/quick/boiling/answer", params={"mix": "watre 100 g"}).text
    assert "did you mean" in wrong


def test_paper_is_previewed_and_printed(client: TestClient) -> None:
    page = client.get("/paper/apricot").text
    assert 'src="/paper/apricot/1.svg"' in page
    picture = client.get("/paper/apricot/1.svg")
    assert picture.headers["content-type"].startswith("image/svg")
    assert "<svg" in picture.text
    assert "script" not in picture.headers["content-security-policy"]
    assert client.get("/paper/apricot/99.svg").status_code == 404
    assert client.get("/paper/apricot/dossier.pdf").content.startswith(b"%PDF")


def test_both_languages_have_the_same_keys_and_the_same_braces() -> None:
    told = [
        tomllib.loads(resources.files("demoule.web").joinpath("words", f"{one}.toml").read_text(encoding="utf-8"))
        for one in ("en", "fr")
    ]
    english, french = ({f"{a}.{b}": text for a, part in one.items() for b, text in part.items()} for one in told)
    own = ("phrases.", "questions.")  # English asks and draws in its own words
    assert set(english) == {key for key in french if not key.startswith(own)}
    for key, text in english.items():
        assert set(re.findall(r"\{\w+\}", text)) == set(re.findall(r"\{\w+\}", french[key])), key


def test_french_questions_hold_the_fields_of_the_english() -> None:
    from demoule.answers import QUESTIONS
    from demoule.web.wording import words_of

    for name, question in QUESTIONS.items():
        french = words_of("fr")(f"questions.{name}")
        assert set(re.findall(r"\{[\w-]+\}", french)) == set(re.findall(r"\{[\w-]+\}", question.sentence)), name


def test_the_demonstration_is_one_press_away(tmp_path, workers) -> None:
    from demoule.store import open_store
    from demoule.web.app import create_app

    with (
        open_store(tmp_path / "empty.sqlite") as store,
        TestClient(create_app(store, None, workers), base_url="http://127.0.0.1") as client,
    ):
        client.headers["accept"] = "text/html"
        page = client.get("/")
        assert "all invented" in page.text
        assert client.get("/bench", follow_redirects=False).headers["location"] == "/"
        opened = client.post("/demonstration", data={"csrf": token(page.text)})
        assert opened.status_code == 200
        assert typed(opened.text)["f:/name"] == "Apricot"


@pytest.mark.parametrize("name", sorted(CURVES))
def test_a_question_with_a_curve_draws_it_with_its_table(client: TestClient, name: str) -> None:
    page = client.get(f"/quick/{name}").text
    figure = page.split('<figure class="curve">')[1].split("</figure>")[0]
    assert figure.count("<svg") == 2
    rows = re.findall(r"<tr><th scope=\"row\">(.*?)</th><td>(.*?)</td>", figure)
    assert len(rows) >= 8
    assert len({told for _, told in rows}) > 3  # it is a curve, not a line


def test_the_curve_of_ice_ends_where_freezing_begins() -> None:
    # Sucrose of 40 % begins to freeze at −4.5 °C: CRC Handbook of Chemistry and Physics, concentrative properties of
    # aqueous solutions, sucrose 40 %: freezing point depression 4.45 K (recalled).
    told = curve_told("freezing", {"mix": "sucrose 40 g, water 60 g", "at": "-18 °C"})
    assert told is not None
    ice = {
        float(row[0].split()[0].replace("−", "-")): float(row[1].split()[0].replace("−", "-")) for row in told["rows"]
    }
    assert all(share == 0 for at, share in ice.items() if at > -4.3)
    assert all(share > 0 for at, share in ice.items() if at < -4.7)
    shares = [ice[at] for at in sorted(ice)]
    assert shares == sorted(shares, reverse=True)
