"""Figures, findings and cards as text for a terminal."""

from __future__ import annotations

import sys
import textwrap
from collections.abc import Iterable
from typing import TYPE_CHECKING

from demoule.figures import Figure, Finding
from demoule.units import shown

if TYPE_CHECKING:
    from demoule.dossier import Dossier
    from demoule.units.showing import System

__all__ = ["print_findings", "shown_figure"]

_WIDTH = 96
_WORDS = {"stop": "Stop.", "caution": "Caution.", "note": "Note."}


def shown_figure(figure: Figure, units: System) -> str:
    """A figure with its range in words, or “unknown”."""
    if figure.value is None:
        return "unknown" if figure.low is None else f"at least {shown(figure.low, figure.unit, system=units)}"
    text = shown(figure.value, figure.unit, low=figure.low, high=figure.high, system=units)
    marks = []
    if figure.low is not None and figure.high is not None and figure.high > figure.low:
        low = shown(figure.low, figure.unit, low=figure.low, high=figure.high, system=units)
        high = shown(figure.high, figure.unit, low=figure.low, high=figure.high, system=units)
        if low != high:
            marks.append(f"{low} to {high}")
    if figure.stretched:
        marks.append("outside the range tried")
    if figure.unknown > 0.005:
        marks.append(f"{figure.unknown:.0%} rests on unknowns")
    if figure.measured:
        marks.append(f"measured: {figure.measured}")
    return f"{text}  ({', '.join(marks)})" if marks else text


def print_findings(findings: Iterable[Finding]) -> None:
    """Findings, the gravest first, each with its reason and remedy."""
    for finding in findings:
        words = _WORDS[str(finding.severity)]
        body = " ".join(part for part in (finding.says, finding.why, finding.remedy) if part)
        print(textwrap.fill(f"{words} {body}", _WIDTH, initial_indent="  ", subsequent_indent="    "))
    sys.stdout.flush()


_CARD = (
    ("mass", "one piece"),
    ("smallest_wall", "smallest wall round the heart"),
    ("harden_heart_time", "heart hardens in"),
    ("harden_piece_time", "piece hardens in"),
    ("ready_after", "ready to eat after"),
    ("ready_until", "and until"),
    ("material_cost", "material"),
    ("cost", "all in"),
    ("hands_on", "hands on"),
    ("energy", "energy"),
)
_FINDINGS_SHOWN = 6


def print_card(dossier: Dossier, units: System) -> None:
    """One dessert on half a screen: what it is, its figures, what to mind."""
    worked = dossier.worked
    print(f"── {worked.dessert.name} ".ljust(_WIDTH, "─"))
    if worked.dessert.about:
        print(textwrap.fill(worked.dessert.about, _WIDTH))
    for key, words in _CARD:
        figure = dossier.figure(key)
        if figure is not None:
            print(f"  {words:<32}{shown_figure(figure, units)}")
    for role in ("heart", "body"):
        layer = worked.piece.layer(role)
        if layer is None:
            continue
        begins = dossier.figure("freezing_point", layer.component)
        if begins is not None:
            print(f"  {layer.component + ' begins to freeze':<32}{shown_figure(begins, units)}")
    for layer in worked.piece.layers:
        if layer.role == "shell":
            thick = dossier.figure("thickness", layer.component)
            if thick is not None:
                print(f"  {layer.component + ', thickness':<32}{shown_figure(thick, units)}")
    print(f"  {'contains':<32}{', '.join(dossier.label.contains) or 'nothing on the list that is known'}")
    heavy = [finding for finding in dossier.findings if finding.severity != "note"]
    print_findings(heavy[:_FINDINGS_SHOWN])
    rest = len(dossier.findings) - len(heavy[:_FINDINGS_SHOWN])
    if rest:
        print(f"  {rest} more findings are in the dossier.")
    print()
