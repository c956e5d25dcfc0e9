"""Figures, findings and layers of a dossier as plain words for a page: value and unit apart, band, basis."""

from __future__ import annotations

from typing import Any

from demoule.dossier import Dossier, Named
from demoule.figures import Basis, Figure, Finding
from demoule.sheets.marks import basis_mark
from demoule.units import shown, shown_range, unit
from demoule.units.showing import THIN, Language, System
from demoule.units.table import Kind
from demoule.web.form import pointer
from demoule.web.saying import said

__all__ = [
    "apart", "band_of", "basis_told", "cost_told", "figure_told", "finding_told", "mistake_told", "named_told",
]  # fmt: skip


def apart(text: str, unit_name: str) -> tuple[str, str]:
    """A shown value in two: the number, and its unit; times and money stay whole."""
    kind = unit(unit_name).kind
    if kind in (Kind.TIME, Kind.MONEY):
        return text, ""
    head, space, tail = text.rpartition(THIN)
    if space and not tail[:1].isdigit():
        return head, tail
    return text, ""


def figure_told(figure: Figure, system: System, language: Language) -> dict[str, Any]:
    """One figure: what a page or a reader of the page needs of it."""
    text = shown(figure.value, figure.unit, figure.low, figure.high, system=system, language=language)
    number, sign = apart(text, figure.unit) if figure.value is not None else ("", unit(figure.unit).sign)
    has_band = figure.value is not None and figure.low is not None and figure.high is not None
    return {
        "value": number,
        "unit": sign,
        "text": text,
        "range": shown_range(figure.low, figure.high, figure.unit, system=system, language=language)
        if has_band and figure.high != figure.low
        else "",
        "band": band_of(figure),
        "mark": basis_mark(figure),
        "unknown": figure.unknown,
        "measured": said(figure.measured, language, "measured"),
        "note": said(figure.note, language, "note"),
        "raw": figure.value,
        "basis": [basis_told(b, language) for b in dict.fromkeys(figure.basis)],
    }


def band_of(figure: Figure) -> dict[str, float] | None:
    """The likely range on a line of 0 to 150; None when there is none worth drawing."""
    if figure.value is None or figure.low is None or figure.high is None or not figure.high > figure.low:
        return None
    span = figure.high - figure.low
    least, width = figure.low - span, 3 * span
    at = [150 * (x - least) / width for x in (figure.low, figure.high, figure.value)]
    return {"low": round(at[0], 1), "width": round(at[1] - at[0], 1), "tick": round(min(max(at[2], 1), 149), 1)}


def named_told(named: Named, system: System, language: Language) -> dict[str, Any]:
    """A named figure."""
    name = said(named.name, language, "figure")
    return {"key": named.key, "name": name, "of": named.of, **figure_told(named.figure, system, language)}


def basis_told(basis: Basis, language: Language) -> dict[str, Any]:
    """What a figure stands on."""
    return {
        "model": said(basis.model, language, "basis"),
        "source": basis.source,
        "valid": said(basis.valid, language, "basis"),
        "stretched": basis.stretched,
    }


def finding_told(finding: Finding, language: Language = "en") -> dict[str, Any]:
    """A finding, its sentences looked up under its rule."""
    code = f"finding {finding.rule}"
    return {
        "severity": str(finding.severity),
        "rule": finding.rule,
        "where": finding.where,
        "says": said(finding.says, language, code),
        "why": said(finding.why, language, code),
        "remedy": said(finding.remedy, language, code),
        "source": finding.source,
        "offers": [
            {
                "changes": [[pointer(path), value] for path, value in one.changes],
                "says": [[path[-1], value] for path, value in one.changes],
            }
            for one in finding.offers
        ],
    }


def mistake_told(mistake: dict[str, Any], language: str) -> dict[str, Any]:
    """A mistake that stands beside a field."""
    return {**mistake, "says": said(mistake["says"], language), "remedy": said(mistake["remedy"] or "", language)}


def cost_told(dossier: Dossier, system: System, language: Language) -> list[dict[str, Any]]:
    """The lines of the cost of one piece."""
    return [
        {"what": said(line.what, language, "cost"), "kind": line.kind, **figure_told(line.per_piece, system, language)}
        for line in dossier.cost.lines
    ]
