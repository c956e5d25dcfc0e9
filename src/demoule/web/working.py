"""The questions that pages put to the numerics; everything in and out is plain, so that it can travel to a process."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from typing import Any

from demoule.answers import QUESTIONS as SMALL
from demoule.dossier import Dossier, dossier
from demoule.dossier import as_json as dossier_as_json
from demoule.errors import BadInput, Mistakes, UnknownName
from demoule.files import check_text, demo_text, edited
from demoule.larder import standard_larder
from demoule.piece import Piece
from demoule.sheets import dossier_pages, dossier_pdf, ghost_svg
from demoule.sheets.cut import keys_of
from demoule.sheets.hung import Hung
from demoule.sheets.looks import looks
from demoule.sheets.section import plate
from demoule.sheets.section_figures import section_figures
from demoule.sheets.tokens import ThemeName
from demoule.units import shown
from demoule.units.showing import Language, System
from demoule.web import form, larder_pictures
from demoule.web.cold_working import COLD_QUESTIONS
from demoule.web.quick_curves import curve_told
from demoule.web.reading import dessert_in, kitchen_in
from demoule.web.sheet_import import sheet_told
from demoule.web.telling import cost_told, figure_told, finding_told, named_told
from demoule.web.wording import in_french
from demoule.worked import work_up
from demoule.web.week_working import WEEK_QUESTIONS

__all__ = ["QUESTIONS"]

_REMEMBERED = 48


@lru_cache(maxsize=_REMEMBERED)
def _dossier(text: str, kitchen: str, prices: str, pieces: int | None, market: str = "") -> Dossier:
    place = kitchen_in(kitchen, prices)
    return dossier(work_up(dessert_in(text, kitchen, prices), place, pieces), market or None)


def bench(
    *,
    text: str,
    fields: Mapping[str, str] | None = None,
    units: Mapping[str, str] | None = None,
    act: Mapping[str, str] | None = None,
    kitchen: str = "",
    prices: str = "",
    pieces: int | None = None,
    chosen: str = "",
    theme: ThemeName = "day",
    system: System = "metric",
    language: Language = "en",
    pictures: bool = True,
    view: str = "",
) -> dict[str, Any]:
    """A dessert's form and figures after what was typed.

    Returns
    -------
    dict
        "text", "form", "mistakes" (placed beside fields) and, when there are none, "answer".
    """
    wrong = ""
    try:
        if fields:
            text = form.applied(text, fields, units)
        if act:
            text = form.reshaped(text, act)
    except BadInput as error:
        wrong = f"{error.says} {error.remedy}".strip()
    told: dict[str, Any] = {"text": text, "form": None, "mistakes": [], "answer": None, "wrong": wrong}
    try:
        told["form"] = form.form_of(text)
    except Mistakes as error:
        told["mistakes"] = form.placed(text, error.mistakes)
        return told
    try:
        found = _dossier(text, kitchen, prices, pieces)
    except Mistakes as error:
        told["mistakes"] = form.placed(text, error.mistakes)
        return told
    except BadInput as error:
        place = next((one for one in error.places if one.startswith(("components.", "piece"))), "")
        says = f"{error.says} ({place})" if place else error.says
        told["mistakes"] = [{"at": "", "line": 0, "column": 0, "says": says, "remedy": error.remedy}]
        return told
    told["answer"] = _told(found, chosen, theme, system, language, pictures, view)
    return told


def _told(
    found: Dossier, chosen: str, theme: ThemeName, system: System, language: Language, pictures: bool, view: str
) -> dict[str, Any]:
    worked = found.worked
    piece, name = worked.piece, worked.dessert.name
    keys = keys_of(piece)
    chosen = _chosen(piece, keys, chosen)
    answer: dict[str, Any] = {
        "name": name,
        "figures": [named_told(one, system, language) for one in found.figures],
        "findings": [finding_told(one) for one in found.findings],
        "layers": [
            {
                "key": key,
                "role": layer.role,
                "component": layer.component,
                "mass": shown(layer.mass * 1000, "g", system=system, language=language, step=0.1),
                "thickness": shown(layer.thickness * 1000, "mm", system=system, language=language, step=0.1)
                if layer.role == "shell" and layer.thickness is not None
                else "",
            }
            for key, layer in reversed(list(zip(keys, piece.layers, strict=True)))
        ],
        "weigh": _weigh(found, system, language),
        "pieces": worked.weighing.pieces,
        "started": worked.weighing.started,
        "makings": len(worked.weighing.makings),
        "cost": cost_told(found, system, language),
        "contains": list(found.label.contains),
        "ingredients": found.label.ingredients,
        "sources": [{"key": s.key, "title": s.title, "status": str(s.status)} for s in found.sources],
        "assumptions": list(found.assumptions),
        "plates": {},
        "marks": {},
    }
    if pictures:
        answer["plates"] = _plates(piece, found, chosen, theme, system, language, view)
        answer["marks"] = _marks(text_key(found), found, theme)
    return answer


def _chosen(piece: Piece, keys: Sequence[str], asked: str) -> str:
    """Key of the layer that a key or a component's name means; without either the heart."""
    if asked in keys:
        return asked
    layers = list(zip(keys, piece.layers, strict=True))
    named = next((key for key, layer in layers if layer.component == asked), "")
    return named or ("" if asked else next((key for key, layer in layers if layer.role == "heart"), ""))


def _plates(
    piece: Piece, found: Dossier, chosen: str, theme: ThemeName, system: System, language: Language, view: str
) -> dict[str, str]:
    """The section for a wide and for a small screen; only one of them when `view` names it."""
    name, cooked = found.worked.dessert.name, found.worked.cooked
    styles = looks(found.worked.dessert.components, cooked, dessert=name)
    labels = section_figures(piece, name=name, system=system)
    if language == "fr":
        labels = tuple(
            replace(
                one,
                # A layer is called as the chef called it.
                name=in_french(one.name) if one.at == "piece" or one.at.startswith("wall") else one.name,
                value=in_french(one.value),
                says=in_french(one.says),
                unit=in_french(one.unit),
            )
            for one in labels
        )

    def link(key: str) -> str:
        return f"?layer={key}"

    def drawn(
        width: float, height: float, hung: Sequence[Hung], called: str, *, linked: bool, whole: bool | None
    ) -> str:
        svg = plate(
            piece,
            name=name,
            width=width,
            height=height,
            labels=hung,
            cooked=cooked,
            looks=styles,
            theme=theme,
            chosen=chosen or None,
            whole=whole,
            link=link if linked else None,
            system=system,
            ident=f"{called}-{theme}",
        ).svg
        return _titles_in_french(svg) if language == "fr" else svg

    plates = {"wide": "", "small": ""}
    if view != "small":
        plates["wide"] = drawn(800, 560, labels, "wide", linked=True, whole=None)
    if view != "wide":
        plates["small"] = drawn(354, 372, (), "small", linked=False, whole=True)
    return plates


def _titles_in_french(svg: str) -> str:
    """What a drawing says of itself, and its two measures; names of layers stay as the chef wrote them."""
    svg = re.sub(r"(<(?:title|desc)[^>]*>)([^<]*)<", lambda found: f"{found[1]}{in_french(found[2])}<", svg)
    return re.sub(r">([\d.]+\W(?:mm|in) (?:high|across))<", lambda found: f">{in_french(found[1])}<", svg)


def text_key(found: Dossier) -> str:
    """A word for the look of a piece as a small picture shows it: half millimetres do not count."""
    layers = [
        (one.component, [(round(2000 * r), round(2000 * z)) for r, z in one.outline[:: max(1, len(one.outline) // 6)]])
        for one in found.worked.piece.layers
    ]
    return f"{found.worked.dessert.name}-{layers}"


_MARKS: dict[tuple[str, str], dict[str, str]] = {}


def _marks(key: str, found: Dossier, theme: ThemeName) -> dict[str, str]:
    if (key, theme) not in _MARKS:
        if len(_MARKS) > _REMEMBERED:
            _MARKS.clear()
        worked = found.worked
        styles = looks(worked.dessert.components, worked.cooked, dessert=worked.dessert.name)
        _MARKS[key, theme] = {
            layer.component: ghost_svg(
                worked.piece,
                one,
                name=worked.dessert.name,
                size=40,
                theme=theme,
                looks=styles,
                cooked=worked.cooked,
                ident=f"mark-{place}-{theme}",
            )
            for place, (one, layer) in enumerate(zip(keys_of(worked.piece), worked.piece.layers, strict=True))
        }
    return _MARKS[key, theme]


def _weigh(found: Dossier, system: System, language: Language) -> dict[str, Any]:
    weighing = found.worked.weighing
    return {
        need.component: {
            "makings": need.makings,
            "vessel": need.vessel,
            "gives": shown(need.gives * 1000, "g", system=system, language=language, step=1),
            "lines": {
                line.what: shown(line.mass * 1000, "g", system=system, language=language, step=0.1)
                if line.mass < 0.1
                else shown(line.mass * 1000, "g", system=system, language=language, step=1)
                for line in need.lines
            },
        }
        for need in weighing.needs
    }


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
        "words": dict(answer.words),
        "basis": [
            {"model": b.model, "source": b.source, "valid": b.valid, "stretched": b.stretched}
            for b in dict.fromkeys(answer.basis)
        ],
        "findings": [finding_told(one) for one in answer.findings],
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
    found = _dossier(text, kitchen, prices, pieces, market)
    return dossier_pages(found, paper="letter" if paper == "letter" else "a4", system=system, made=made)


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
    found = _dossier(text, kitchen, prices, pieces, market)
    return dossier_pdf(found, paper="letter" if paper == "letter" else "a4", system=system, made=made)


def dossier_json(
    *, text: str, kitchen: str = "", prices: str = "", pieces: int | None = None, market: str = ""
) -> dict[str, Any]:
    """The answer sheet in its published form."""
    return dict(dossier_as_json(_dossier(text, kitchen, prices, pieces, market)))


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
        bench, larder, ingredient, supplier_sheet, questions, ask, curve, pages, pdf, dossier_json, check,
        check_kitchen, kitchen_names, begin, differences, merged, name_of, demonstration, ready, with_items,
        patterns,
    )
} | COLD_QUESTIONS  # fmt: skip
"""What a worker can be asked, by name."""

QUESTIONS |= WEEK_QUESTIONS
