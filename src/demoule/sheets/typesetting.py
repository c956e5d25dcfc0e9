"""Setting a template and its data on pages, with the fonts that come with demoule and nothing else of the machine."""

from __future__ import annotations

import atexit
import json
import shutil
import tempfile
import unicodedata
from functools import cache
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING, Any

from demoule.sheets.outlines import outlined_within

if TYPE_CHECKING:
    import typst

__all__ = ["set_pdf", "set_svg_pages"]


def set_pdf(template: str, model: dict[str, Any]) -> bytes:
    """Pages as a tagged PDF that follows PDF/UA-1; `template` is a file of this package, `model` its data."""
    pdf = _compiler().compile(_template(template), format="pdf", sys_inputs=_inputs(model), pdf_standards="ua-1")
    assert isinstance(pdf, bytes)
    return pdf


def set_svg_pages(template: str, model: dict[str, Any]) -> list[str]:
    """The same pages as SVG, for a preview on a screen."""
    pages = _compiler().compile(_template(template), format="svg", sys_inputs=_inputs(model))
    assert pages is not None
    return [outlined_within(page.decode()) for page in (pages if isinstance(pages, list) else [pages])]


_MISSING = "\u25a0"
"""What stands for a sign that the faces do not have: names come in any script, and PDF/UA wants every sign."""


def _inputs(model: dict[str, Any]) -> dict[str, str]:
    text = json.dumps(model, ensure_ascii=False)
    strange = {sign for sign in set(text) if ord(sign) > _PLAIN and not sign.isspace() and ord(sign) not in _signs()}
    if not strange:
        return {"model": text}
    text = json.dumps({**model, "unprinted": True}, ensure_ascii=False)
    # What changes the look of the sign before it (an emoji's colour, a joiner) leaves nothing behind.
    return {"model": text.translate({ord(s): "" if unicodedata.category(s) in _SILENT else _MISSING for s in strange})}


_PLAIN = 0x17F  # every face has the letters of Latin up to here
_SILENT = frozenset(["Cf", "Mn", "Me", "Co", "Cs"])


@cache
def _signs() -> frozenset[int]:
    """Signs that one of the faces in use has; where one lacks a sign, another stands in."""
    from fontTools.ttLib import TTFont

    found = [frozenset(TTFont(file, lazy=True).getBestCmap()) for file in sorted(_faces().glob("*.ttf"))]
    return frozenset().union(*found)


@cache
def _template(name: str) -> bytes:
    return resources.files("demoule.sheets").joinpath(name).read_bytes()


@cache
def _compiler() -> typst.Compiler:
    import typst

    fonts = typst.Fonts(include_system_fonts=False, include_embedded_fonts=False, font_paths=[_faces()])
    return typst.Compiler(font_paths=fonts, ignore_system_fonts=True)


@cache
def _faces() -> Path:
    """A folder with the faces in use alone: reading all that the font packages hold takes longer than setting pages."""
    import font_source_sans_pro
    import font_source_serif_pro

    folder = Path(tempfile.mkdtemp(prefix="demoule-faces-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    for package in (font_source_sans_pro, font_source_serif_pro):
        for face in ("Regular", "It", "Semibold", "SemiboldIt", "Bold"):
            for file in (Path(package.__file__).parent / "files").glob(f"*-{face}.ttf"):
                shutil.copy(file, folder)
    return folder
