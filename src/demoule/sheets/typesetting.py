"""Setting a template and its data on pages, with the fonts that come with demoule and nothing else of the machine."""

from __future__ import annotations

import atexit
import json
import shutil
import tempfile
from functools import cache
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING, Any

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
    return [page.decode() for page in (pages if isinstance(pages, list) else [pages])]


def _inputs(model: dict[str, Any]) -> dict[str, str]:
    return {"model": json.dumps(model, ensure_ascii=False)}


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
