"""The dossier of one dessert on paper, for a kitchen wall."""

from __future__ import annotations

from typing import Any, Literal

from demoule.dossier import Dossier
from demoule.sheets.pages import page_model
from demoule.sheets.typesetting import set_pdf, set_svg_pages
from demoule.units.showing import System

__all__ = ["PaperSize", "dossier_pages", "dossier_pdf"]

PaperSize = Literal["a4", "letter"]


def dossier_pdf(dossier: Dossier, *, paper: PaperSize = "a4", system: System = "metric", made: str = "") -> bytes:
    """The dossier as a tagged PDF.

    Parameters
    ----------
    paper
        A4 or US Letter.
    system
        Units in front; temperatures of the method stand in both.
    made
        A line for the head of the first page (version and date), when there is one.
    """
    return set_pdf("paper.typ", _model(dossier, paper, system, made))


def dossier_pages(dossier: Dossier, *, paper: PaperSize = "a4", system: System = "metric", made: str = "") -> list[str]:
    """The same pages as SVG, for a preview on a screen."""
    return set_svg_pages("paper.typ", _model(dossier, paper, system, made))


def _model(dossier: Dossier, paper: PaperSize, system: System, made: str) -> dict[str, Any]:
    return {**page_model(dossier, system=system, made=made), "paper": {"a4": "a4", "letter": "us-letter"}[paper]}
