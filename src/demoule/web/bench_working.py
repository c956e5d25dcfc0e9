"""The questions that the Bench puts to the numerics: the form of a dessert, and its figures in two parts.

First what does not hang on the cold, for somebody waits for it with a finger on the next key; then the whole answer.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from typing import Any

from demoule.dossier import Dossier, dossier
from demoule.dossier.answer import Named
from demoule.dossier.first import first_answer
from demoule.errors import BadInput, Mistakes
from demoule.memory import Memory
from demoule.piece import Piece
from demoule.sheets import ghost_svg
from demoule.sheets.cut import keys_of
from demoule.sheets.hung import Hung
from demoule.sheets.looks import Look, looks
from demoule.sheets.section import plate
from demoule.sheets.section_figures import section_figures
from demoule.sheets.tokens import ThemeName
from demoule.units import shown
from demoule.units.showing import Language, System
from demoule.web import form
from demoule.web.reading import dessert_in, kitchen_in
from demoule.web.saying import said
from demoule.web.telling import cost_told, finding_told, mistake_told, named_told
from demoule.web.wording import in_french
from demoule.worked import Worked, work_up

__all__ = ["BENCH_QUESTIONS", "dossier_in"]

_REMEMBERED = 48
_MEMORY = Memory()


@lru_cache(maxsize=_REMEMBERED)
def dossier_in(text: str, kitchen: str, prices: str, pieces: int | None, market: str = "") -> Dossier:
    """The answer for the one dessert of a text."""
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
        "text", "form", "mistakes" (placed beside fields), "later" (whether more is to come) and, when there are no
        mistakes, "answer".
    """

    def whole(text: str) -> dict[str, Any]:
        found = dossier_in(text, kitchen, prices, pieces)
        answer = _built(found.worked, found.figures, system, language)
        answer |= {
            "findings": [finding_told(one, language) for one in found.findings],
            "cost": cost_told(found, system, language),
            "contains": [said(one, language) for one in found.label.contains],
            "ingredients": found.label.ingredients,
            "sources": [{"key": s.key, "title": s.title, "status": str(s.status)} for s in found.sources],
            "assumptions": [said(one, language, "assumed") for one in found.assumptions],
        }
        if pictures:
            answer |= _pictures(found.worked, chosen, theme, system, language, view)
        return answer

    return _after_typing(text, fields, units, act, whole, language)


def bench_first(
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
    view: str = "",
) -> dict[str, Any]:
    """As `bench`, at once: form, picture and the figures that do not hang on the cold, without findings and cost."""

    def first(text: str) -> dict[str, Any]:
        found = first_answer(
            dessert_in(text, kitchen, prices), kitchen_in(kitchen, prices), pieces, memory=_MEMORY
        )  # fmt: skip
        return _built(found.worked, found.figures, system, language) | _pictures(
            found.worked, chosen, theme, system, language, view
        )

    told = _after_typing(text, fields, units, act, first, language)
    return told | {"later": told["answer"] is not None}


def _after_typing(
    text: str,
    fields: Mapping[str, str] | None,
    units: Mapping[str, str] | None,
    act: Mapping[str, str] | None,
    answered: Callable[[str], dict[str, Any]],
    language: Language,
) -> dict[str, Any]:
    """The text with what was typed into it, its form, and the answer to it, or what is wrong with it and where."""
    wrong = ""
    try:
        if fields:
            text = form.applied(text, fields, units)
        if act:
            text = form.reshaped(text, act)
    except BadInput as error:
        wrong = f"{said(error.says, language)} {said(error.remedy, language)}".strip()
    told: dict[str, Any] = {
        "text": text, "form": None, "mistakes": [], "answer": None, "wrong": wrong, "later": False,
    }  # fmt: skip
    try:
        told["form"] = form.form_of(text)
        told["answer"] = answered(text)
    except Mistakes as error:
        told["mistakes"] = [mistake_told(one, language) for one in form.placed(text, error.mistakes)]
    except BadInput as error:
        place = next((one for one in error.places if one.startswith(("components.", "piece"))), "")
        says = said(error.says, language)
        told["mistakes"] = [
            {
                "at": "", "line": 0, "column": 0, "says": f"{says} ({place})" if place else says,
                "remedy": said(error.remedy, language),
            }
        ]  # fmt: skip
    return told


def _built(worked: Worked, figures: Sequence[Named], system: System, language: Language) -> dict[str, Any]:
    """What is weighed and built, with some figures of it."""
    piece = worked.piece
    return {
        "name": worked.dessert.name,
        "figures": [named_told(one, system, language) for one in figures],
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
            for key, layer in reversed(list(zip(keys_of(piece), piece.layers, strict=True)))
        ],
        "weigh": _weigh(worked, system, language),
        "pieces": worked.weighing.pieces,
        "started": worked.weighing.started,
        "makings": len(worked.weighing.makings),
        "plates": {},
        "marks": {},
    }


def _pictures(
    worked: Worked, chosen: str, theme: ThemeName, system: System, language: Language, view: str
) -> dict[str, Any]:
    styles = looks(worked.dessert.components, worked.cooked, dessert=worked.dessert.name)
    chosen = _chosen(worked.piece, keys_of(worked.piece), chosen)
    return {
        "plates": _plates(worked, styles, chosen, theme, system, language, view),
        "marks": _marks(worked, styles, theme),
    }


def _chosen(piece: Piece, keys: Sequence[str], asked: str) -> str:
    """Key of the layer that a key or a component's name means; without either the heart."""
    if asked in keys:
        return asked
    layers = list(zip(keys, piece.layers, strict=True))
    named = next((key for key, layer in layers if layer.component == asked), "")
    return named or ("" if asked else next((key for key, layer in layers if layer.role == "heart"), ""))


def _plates(
    worked: Worked,
    styles: Mapping[str, Look],
    chosen: str,
    theme: ThemeName,
    system: System,
    language: Language,
    view: str,
) -> dict[str, str]:
    """The section for a wide and for a small screen; only one of them when `view` names it."""
    piece, name, cooked = worked.piece, worked.dessert.name, worked.cooked
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


_MARKS = Memory(most=_REMEMBERED)


def _marks(worked: Worked, styles: Mapping[str, Look], theme: ThemeName) -> dict[str, str]:
    """The piece with one layer inked, by component; half millimetres do not count in so small a picture."""
    piece, name = worked.piece, worked.dessert.name
    seen = tuple(
        (
            one.component,
            tuple((round(2000 * r), round(2000 * z)) for r, z in one.outline[:: len(one.outline) // 6 or 1]),
        )
        for one in piece.layers
    )

    def drawn() -> dict[str, str]:
        return {
            layer.component: ghost_svg(
                piece, key, name=name, size=40, theme=theme, looks=styles, cooked=worked.cooked,
                ident=f"mark-{place}-{theme}",
            )
            for place, (key, layer) in enumerate(zip(keys_of(piece), piece.layers, strict=True))
        }  # fmt: skip

    return _MARKS.recall(_marks, (name, theme, seen), drawn)


def _roughly(outline: Sequence[tuple[float, float]]) -> Iterator[tuple[int, int]]:
    return ((round(2000 * r), round(2000 * z)) for r, z in outline[:: len(outline) // 6 or 1])


def _weigh(worked: Worked, system: System, language: Language) -> dict[str, Any]:
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
        for need in worked.weighing.needs
    }


BENCH_QUESTIONS: dict[str, Callable[..., Any]] = {function.__name__: function for function in (bench, bench_first)}
"""What the Bench asks, by name."""
