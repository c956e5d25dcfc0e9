"""The questions that the kitchen's page puts to the numerics."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from demoule.batch import Kitchen, learned_here
from demoule.batch.clock import shifts
from demoule.errors import BadInput, DemouleError, Mistakes
from demoule.files import dump
from demoule.piece.shapes import cavity_outline
from demoule.sheets.svg import element, label, number, polyline
from demoule.sheets.tokens import ThemeName, tokens_of
from demoule.units.showing import Language
from demoule.web import form
from demoule.web.kitchen_form import kitchen_form, kitchen_reshaped
from demoule.web.reading import kitchen_in
from demoule.web.saying import said
from demoule.web.telling import mistake_told

__all__ = ["KITCHEN_QUESTIONS"]

_MARK = 44.0
_DAY = 24 * 3600.0
_NAMES: Mapping[Language, tuple[str, ...]] = {
    "en": ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"),
    "fr": ("lun", "mar", "mer", "jeu", "ven", "sam", "dim"),
}


def kitchen_bench(
    *,
    text: str,
    fields: Mapping[str, str] | None = None,
    units: Mapping[str, str] | None = None,
    act: Mapping[str, str] | None = None,
    day: str = "",
    theme: ThemeName = "day",
    language: Language = "en",
) -> dict[str, Any]:
    """A kitchen's form after what was typed.

    Returns
    -------
    dict
        "text", "form", "mistakes" (placed beside fields), "wrong" of the act, and when all is well "good", the outlines
        of the moulds, the week of shifts and what calibrations teach.
    """
    wrong = ""
    try:
        if fields:
            text = form.applied(text, fields, units)
        if act:
            text = kitchen_reshaped(text, act, day=day)
    except BadInput as error:
        wrong = f"{said(error.says, language)} {said(error.remedy, language)}".strip()
    told: dict[str, Any] = {"text": text, "form": None, "mistakes": [], "wrong": wrong, "good": False}
    told |= {"marks": {}, "shifts": "", "teaches": []}
    try:
        told["form"] = kitchen_form(text)
        kitchen = kitchen_in(text)
    except Mistakes as error:
        told["mistakes"] = [mistake_told(one, language) for one in form.placed(text, error.mistakes)]
        return told
    except BadInput as error:
        wrong_one = {"at": "", "line": 0, "column": 0, "says": error.says, "remedy": error.remedy}
        told["mistakes"] = [mistake_told(wrong_one, language)]
        return told
    told |= {"good": True, "marks": _marks(kitchen, theme), "shifts": _shifts(kitchen, theme, language)}
    try:
        told["teaches"] = [
            {"what": said(row.what, language), "factor": f"{row.factor:.3g}", "from": said(row.learned_from, language)}
            for row in learned_here(kitchen).rows
        ]
    except DemouleError as error:
        told["wrong"] = f"{said(error.says, language)} {said(error.remedy, language)}".strip()
    return told


def _marks(kitchen: Kitchen, theme: ThemeName) -> dict[str, str]:
    """Every mould as the outline of one of its cavities, all to one scale."""
    tokens = tokens_of(theme)
    outlines = {}
    for mould in kitchen.moulds:
        try:
            outlines[mould.name] = cavity_outline(mould.cavity)[0]
        except DemouleError:
            continue
    most = max((max(2 * r, z) for line in outlines.values() for r, z in line), default=0.0) or 1.0
    scale = (_MARK - 4) / most
    marks = {}
    for name, line in outlines.items():
        right = [(_MARK / 2 + scale * r, _MARK - 2 - scale * z) for r, z in line]
        left = [(_MARK - x, y) for x, y in reversed(right)]
        marks[name] = element(
            "svg",
            element("path", d=polyline(right + left, closed=True), fill="none", stroke=tokens.ink, stroke_width=1.2),
            viewBox=f"0 0 {number(_MARK)} {number(_MARK)}",
            width=number(_MARK),
            height=number(_MARK),
            aria_hidden="true",
        )
    return marks


def _shifts(kitchen: Kitchen, theme: ThemeName, language: Language) -> str:
    """Who is here when: a bed for each shift, one row a person, Monday to Sunday."""
    if not kitchen.people:
        return ""
    tokens = tokens_of(theme)
    width, row, top, left = 420.0, 34.0, 26.0, 76.0
    day = (width - left) / 7
    parts = []
    for place, name in enumerate(_NAMES[language]):
        parts.append(label(name, left + day * place + 4, 16, size=14, fill=tokens.ink_2))
        x = left + day * place
        foot = top + row * len(kitchen.people)
        parts.append(element("line", x1=x, x2=x, y1=4.0, y2=foot, stroke=tokens.rule, stroke_width=1.0))
    for place, person in enumerate(kitchen.people):
        y = top + row * place
        parts.append(label(person.name, 0, y + 22, size=16, fill=tokens.ink))
        for days, start, end in shifts(person.shift):
            for one in days:
                x = left + day * (one + start / _DAY)
                wide = day * (end - start) / _DAY
                parts.append(
                    element(
                        "rect", x=x, y=y + 6, width=wide, height=row - 12, fill=tokens.field, stroke=tokens.edge,
                        stroke_width=1.0,
                    )
                )  # fmt: skip
        parts.append(element("line", x1=0.0, x2=width, y1=y + row, y2=y + row, stroke=tokens.rule, stroke_width=1.0))
    title = "Qui est là quand" if language == "fr" else "Who is here when"
    height = top + row * len(kitchen.people) + 2
    return element(
        "svg",
        element("title", title),
        *parts,
        viewBox=f"0 0 {number(width)} {number(height)}",
        width=number(width),
        height=number(height),
        role="img",
    )


def kitchen_begun(*, name: str) -> str:
    """The text of a kitchen that has just been begun: the rooms that every cold chain needs."""
    return dump(
        {
            "demoule": 1,
            "kitchen": name,
            "rooms": {
                "blast freezer": {"air": "-35 °C", "blows": "18 W/m²K"},
                "store freezer": {"air": "-20 °C", "blows": "9 W/m²K"},
                "refrigerator": {"air": "4 °C", "blows": "10 W/m²K"},
                "bench": {"air": "20 °C", "humidity": "50 %"},
            },
        }
    )


KITCHEN_QUESTIONS = {function.__name__: function for function in (kitchen_bench, kitchen_begun)}
"""What a worker can be asked of the kitchen, by name."""
