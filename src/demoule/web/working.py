"""The questions that pages put to the numerics; everything in and out is plain, so that it can travel to a process."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from demoule.answers import QUESTIONS as SMALL
from demoule.dossier import as_json as dossier_as_json
from demoule.errors import Mistakes, UnknownName
from demoule.files import check_text, demo_text, described, edited
from demoule.larder import standard_larder
from demoule.sheets import dossier_pages, dossier_pdf
from demoule.sheets.tokens import ThemeName
from demoule.units.showing import Language, System
from demoule.web import form, larder_pictures
from demoule.web.bench_working import BENCH_QUESTIONS, dossier_in
from demoule.web.cold_working import COLD_QUESTIONS
from demoule.web.kitchen_working import KITCHEN_QUESTIONS
from demoule.web.preview import light
from demoule.web.quick_curves import curve_told
from demoule.web.reading import dessert_in, kitchen_in
from demoule.web.saying import said
from demoule.web.sheet_import import sheet_told
from demoule.web.telling import basis_told, figure_told, finding_told
from demoule.web.week_working import WEEK_QUESTIONS

__all__ = ["QUESTIONS"]


def larder(
    *, words: str, kitchen: str = "", prices: str = "", most: int = 24, dessert: str = ""
) -> list[dict[str, Any]]:
    """Ingredients that some words name, with what each is made of; those of one dessert when `dessert` is its text."""
    shelf = kitchen_in(kitchen, prices).larder
    if dessert and not words.strip():
        found: list[Any] = []
        for component in dessert_in(dessert, kitchen, prices).components:
            for line in component.weighed:
                try:
                    found.append(shelf.find(line.what))
                except UnknownName:
                    continue  # a component of the dessert
        items = sorted({item.name: item for item in found}.values(), key=lambda item: item.name.casefold())
        return [larder_pictures.row(item) for item in items[:most]]
    if not words.strip():
        return [larder_pictures.row(shelf.find(name)) for name in larder_pictures.EVERYDAY]
    return [larder_pictures.row(item) for item in shelf.search(words[:120], most)]


def ingredient(*, name: str, kitchen: str = "", prices: str = "") -> dict[str, Any]:
    """One ingredient whole."""
    return larder_pictures.whole(kitchen_in(kitchen, prices).larder.find(name))


def supplier_sheet(*, data: bytes, name: str) -> dict[str, Any]:
    """A supplier's sheet read line by line: what is understood, and what is wrong in which line."""
    found = sheet_told(data, name)
    return {key: value for key, value in found.items() if key != "ingredients"} | {
        "rows": [larder_pictures.row(item) for item in found["ingredients"]]
    }


def questions() -> list[dict[str, Any]]:
    """The small questions with their sentences and fields."""
    return [
        {
            "name": one.name,
            "sentence": one.sentence,
            "parameters": [
                {
                    "name": p.name,
                    "says": p.says,
                    "default": p.default or "",
                    "optional": p.optional,
                    "choices": list(p.choices),
                    "example": p.example,
                    "bare": p.bare,
                }
                for p in one.parameters
            ],
        }
        for one in SMALL.values()
    ]


def ask(*, name: str, given: Mapping[str, str], system: System = "metric", language: Language = "en") -> dict[str, Any]:
    """The answer to one small question."""
    if name not in SMALL:
        raise UnknownName("question", name, SMALL)
    answer = SMALL[name].ask({k: v for k, v in given.items() if v.strip()}, standard_larder())
    return {
        "figures": {key: figure_told(figure, system, language) for key, figure in answer.figures.items()},
        "raw": {
            key: {"value": f.value, "unit": f.unit, "low": f.low, "high": f.high} for key, f in answer.figures.items()
        },
        "words": {key: said(text, language) for key, text in answer.words.items()},
        "basis": [basis_told(b, language) for b in dict.fromkeys(answer.basis)],
        "findings": [finding_told(one, language) for one in answer.findings],
    }


def curve(
    *,
    name: str,
    given: Mapping[str, str],
    theme: ThemeName = "day",
    system: System = "metric",
    language: Language = "en",
) -> dict[str, Any] | None:
    """The curve of a small question with its table; None when it has none."""
    return curve_told(name, given, theme=theme, system=system, language=language)


def pages(
    *,
    text: str,
    kitchen: str = "",
    prices: str = "",
    pieces: int | None = None,
    market: str = "",
    paper: str = "a4",
    system: System = "metric",
    made: str = "",
) -> list[str]:
    """The dossier's pages as pictures."""
    found = dossier_in(text, kitchen, prices, pieces, market)
    drawn = dossier_pages(found, paper="letter" if paper == "letter" else "a4", system=system, made=made)
    return [light(page) for page in drawn]


def pdf(
    *,
    text: str,
    kitchen: str = "",
    prices: str = "",
    pieces: int | None = None,
    market: str = "",
    paper: str = "a4",
    system: System = "metric",
    made: str = "",
) -> bytes:
    """The dossier on paper."""
    found = dossier_in(text, kitchen, prices, pieces, market)
    return dossier_pdf(found, paper="letter" if paper == "letter" else "a4", system=system, made=made)


def dossier_json(
    *, text: str, kitchen: str = "", prices: str = "", pieces: int | None = None, market: str = ""
) -> dict[str, Any]:
    """The answer sheet in its published form."""
    return dict(dossier_as_json(dossier_in(text, kitchen, prices, pieces, market)))


def check(*, text: str, kitchen: str = "") -> list[dict[str, Any]]:
    """Everything that is wrong in a dessert's text."""
    place = kitchen_in(kitchen)
    return form.placed(text, check_text(text, "dessert", place.larder, place))


def with_items(*, kitchen: str, entries: Mapping[str, Any]) -> str:
    """A kitchen's text with own items added to it."""
    if not form.has(kitchen, "own items"):
        kitchen = edited(kitchen, {("own items",): dict(entries)})
    else:
        kitchen = edited(kitchen, {("own items", name): dict(entry) for name, entry in entries.items()})
    kitchen_in(kitchen)
    return kitchen


def check_kitchen(*, text: str) -> str:
    """The name of the kitchen of a text; raises Mistakes."""
    return kitchen_in(text).name


def kitchen_names(*, kitchen: str) -> dict[str, list[str]]:
    """Names that fields may hold: moulds and rooms of the kitchen."""
    place = kitchen_in(kitchen)
    return {"moulds": [mould.name for mould in place.moulds], "rooms": [room.name for room in place.rooms]}


def begin(*, name: str, mould: str, kitchen: str = "") -> str:
    """The text of a new dessert."""
    place = kitchen_in(kitchen)
    if mould and place.mould(mould) is None:
        raise UnknownName("mould", mould, [one.name for one in place.moulds])
    if not mould and place.moulds:
        mould = place.moulds[0].name
    return form.begun(name, mould, {"half sphere": {"radius": "30 mm"}})


def differences(*, mine: str, theirs: str) -> list[dict[str, str]]:
    """Values in which two texts differ."""
    return form.differences(mine, theirs)


def merged(*, theirs: str, choices: Mapping[str, str]) -> str:
    """Their text with the values of mine that were chosen."""
    return form.applied(theirs, choices)


def name_of(*, text: str) -> str:
    """The name of the dessert of a text that may have mistakes; empty when it cannot be told."""
    try:
        return str(form.form_of(text)["name"])
    except Mistakes:
        return ""


def demonstration(*, name: str) -> str:
    """One file of the demonstration."""
    return demo_text(name)


def patterns() -> str:
    """The textures of what ingredients are made of."""
    return larder_pictures.patterns_svg()


def ready() -> str:
    """A word that the numerics are loaded, with everything that the first page needs."""
    return "ready"


QUESTIONS: dict[str, Callable[..., Any]] = {
    function.__name__: function
    for function in (
        larder, ingredient, supplier_sheet, questions, ask, curve, pages, pdf, dossier_json, check,
        check_kitchen, described, kitchen_names, begin, differences, merged, name_of, demonstration, ready, with_items,
        patterns,
    )
} | BENCH_QUESTIONS | COLD_QUESTIONS | KITCHEN_QUESTIONS  # fmt: skip
"""What a worker can be asked, by name."""

QUESTIONS |= WEEK_QUESTIONS
