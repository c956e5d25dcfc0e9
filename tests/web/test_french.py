"""Complete French: sentences of findings, errors that a screen can meet, names of figures and of what they stand on."""

from __future__ import annotations

import itertools
import re

import pytest
from starlette.testclient import TestClient

from demoule.batch import plain_kitchen
from demoule.dossier import dossier
from demoule.figures import MODELS
from demoule.files import DEMO_FILES, demo_text, desserts_of, kitchen_of
from demoule.larder import standard_larder
from demoule.web.saying import book, is_told, said
from demoule.web.telling import finding_told
from demoule.worked import work_up

from .conftest import typed
from .sentences import HOLE, sentences

FAR = (
    "cold.variants",
    "cold.sensitivity",
    "cold.varying",
    "cold.cubes",
    "cold.workers",
    "piece.mesh",
    "plan",
    "memory",
)
"""What is met at a terminal alone stays English."""


def key(text: str) -> str:
    numbers = itertools.count(1)
    return "".join(f"{{{next(numbers)}}}" if sign == HOLE else sign for sign in text)


def _speaks(text: str) -> bool:
    """Whether a sentence has words of its own."""
    return re.search(r"[a-z]{3}", text.replace(HOLE, "")) is not None


def told() -> dict[str, str]:
    return {english: french for section in book("fr").values() for english, french in section.items()}


def test_every_finding_in_the_source_has_french_sentences() -> None:
    missing = {
        (code, key(text))
        for code, _, text in sentences()
        if code.startswith("finding") and _speaks(text) and not is_told(text.replace(HOLE, "7"), "fr", code)
    }
    assert not missing


def test_every_error_that_a_screen_can_meet_has_french_sentences() -> None:
    missing = {
        (code, key(text))
        for code, _, text in sentences()
        if code.startswith("error")
        and not code.removeprefix("error ").startswith(FAR)
        and _speaks(text)
        and not is_told(text.replace(HOLE, "7"), "fr", code)
    }
    assert not missing


def test_what_stands_in_a_sentence_stands_in_its_translation() -> None:
    holes = re.compile(r"\{\d+\}")
    bad = {en: fr for en, fr in told().items() if set(holes.findall(en)) != set(holes.findall(fr))}
    assert not bad
    assert all(french.strip() for french in told().values())


@pytest.mark.parametrize("model", sorted(MODELS))
def test_every_model_and_its_range_are_named_in_french(model: str) -> None:
    assert is_told(MODELS[model].name, "fr", "basis")
    assert is_told(MODELS[model].valid, "fr", "basis")


@pytest.mark.parametrize("market", ["EU", "US"])
def test_all_that_the_demonstration_says_is_told_in_french(market: str) -> None:
    larder = standard_larder()
    kitchen = kitchen_of(demo_text("kitchen.yaml"), "kitchen", larder)
    missing = set()
    for place, name in itertools.product((kitchen, plain_kitchen(larder)), DEMO_FILES[:3]):
        try:
            dessert = desserts_of(demo_text(name), name, place.larder, place)[0]
        except Exception:  # the plain kitchen has none of its moulds
            continue
        found = dossier(work_up(dessert, place), market)
        for one in found.findings:
            for text in (one.says, one.why, one.remedy):
                if text.strip() and not is_told(text, "fr", f"finding {one.rule}"):
                    missing.add((one.rule, text))
        missing |= {("assumed", text) for text in found.assumptions if not is_told(text, "fr", "assumed")}
        for named in found.figures:
            if not is_told(named.name, "fr", "figure") and f"figures.{named.key}" not in _english():
                missing.add((named.key, named.name))
    assert not missing


def _english() -> set[str]:
    from demoule.web.wording import words_of

    return set(words_of("fr").texts)


def test_values_are_written_as_the_language_writes_them_and_names_stay() -> None:
    assert said("The thaw is at 4.5 °C.", "fr", "finding warm time") == "La décongélation est à 4,5 °C."
    text = "“fig and honey” is eaten, but of which ingredient is not told."
    assert "« fig" in said(text, "fr", "finding decorations")
    assert said("The thaw is at 4.5 °C.", "en") == "The thaw is at 4.5 °C."
    assert said("No such sentence was ever written 1.5", "fr") == "No such sentence was ever written 1,5"


def test_english_is_untouched(client: TestClient) -> None:
    larder = standard_larder()
    kitchen = kitchen_of(demo_text("kitchen.yaml"), "kitchen", larder)
    found = dossier(work_up(desserts_of(demo_text(DEMO_FILES[0]), "d", larder, kitchen)[0], kitchen))
    for one in found.findings:
        assert finding_told(one)["says"] == one.says


def test_the_bench_in_french_says_nothing_in_english(client: TestClient) -> None:
    client.cookies.set("language", "fr")
    page = client.get("/bench/apricot").text
    for words in ("Caution.", "The heart leaves", "local law", " of body is wanted", "likely range"):
        assert words not in page
    assert "la loi locale et votre propre analyse des dangers décident" in page
    form = typed(page)
    form["f:/components/heart/weigh/thyme"] = "a pinch"
    answer = client.post("/bench/apricot/figures", data=form).json()
    wrong = answer["notes"]["/components/heart/weigh/thyme"]
    assert wrong[0] == "wrong"
    assert re.search(r"« a pinch »|écrivez", wrong[1])


def test_errors_come_in_the_language_of_the_reader(client: TestClient) -> None:
    client.cookies.set("language", "fr")
    page = client.get("/quick/conduction?shape=cube").text
    assert "n&#39;est pas une forme pour cette question" in page
    refused = client.get("/quick/nothing")
    assert "question" in refused.text
