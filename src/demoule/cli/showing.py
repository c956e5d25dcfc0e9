"""Figures, findings and cards as text for a terminal."""

from __future__ import annotations

import sys
import textwrap
from collections.abc import Iterable
from typing import TYPE_CHECKING

from demoule.figures import Figure, Finding
from demoule.units import shown, shown_range
from demoule.units.wording import sentence_in

if TYPE_CHECKING:
    from demoule.dossier import Dossier
    from demoule.units.showing import System

__all__ = ["print_findings", "shown_figure"]

_WIDTH = 96
_WORDS = {"stop": "Stop.", "caution": "Caution.", "note": "Note."}


def shown_figure(figure: Figure, units: System) -> str:
    """A figure with its range in words, or “unknown”."""
    if figure.value is None:
        # Nothing at all is told when not even a part is: "at least 0" would say so in a roundabout way.
        return f"at least {shown(figure.low, figure.unit, system=units)}" if figure.low else "unknown"
    text = shown(figure.value, figure.unit, low=figure.low, high=figure.high, system=units)
    marks = []
    if figure.low is not None and figure.high is not None and figure.high > figure.low:
        span = shown_range(figure.low, figure.high, figure.unit, system=units)
        if span != text:
            marks.append(span)
    if figure.stretched:
        marks.append("outside the range tried")
    if figure.unknown > 0.005:
        marks.append(f"{figure.unknown:.0%} rests on unknowns")
    if figure.measured:
        marks.append(f"measured: {figure.measured}")
    return f"{text}  ({', '.join(marks)})" if marks else text


def print_findings(findings: Iterable[Finding], units: System = "metric") -> None:
    """Findings, the gravest first, each with its reason and remedy."""
    for finding in findings:
        words = _WORDS[str(finding.severity)]
        body = " ".join(_begun(part) for part in (finding.says, finding.why, finding.remedy) if part)
        body = sentence_in(units, body)
        print(textwrap.fill(f"{words} {body}", _WIDTH, initial_indent="  ", subsequent_indent="    "))
    sys.stdout.flush()


def _begun(sentence: str) -> str:
    """The sentence with a capital at its head; "pH" and the like keep their case."""
    return sentence if sentence[1:2].isupper() else sentence[:1].upper() + sentence[1:]


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
_NAMED = 34  # letters before a figure; a longer name keeps one blank


def _row(name: str, says: str) -> str:
    return f"  {name + ' ':<{_NAMED}}{says}"


def _print_loaded(dossier: Dossier, units: System) -> None:
    """Hours with a full load, under those of one piece alone."""
    for what, thing in (("harden heart", "hearts"), ("harden piece", "pieces")):
        run = dossier.worked.cold.stage(what)
        figure = dossier.figure(f"{what.replace(' ', '_')}_loaded_time")
        if run is not None and run.loaded is not None and figure is not None:
            full = run.loaded
            trays = f"all {full.trays} trays" if full.trays > 1 else "a full tray"
            print(_row(f"{thing}, {trays} at once", shown_figure(figure, units)))


def print_card(dossier: Dossier, units: System) -> None:
    """One dessert on half a screen: what it is, its figures, what to mind."""
    worked = dossier.worked
    print(f"── {worked.dessert.name} ".ljust(_WIDTH, "─"))
    if worked.dessert.about:
        print(textwrap.fill(worked.dessert.about, _WIDTH))
    for key, words in _CARD:
        figure = dossier.figure(key)
        if figure is not None:
            print(_row(words, shown_figure(figure, units)))
        if key == "harden_piece_time":
            _print_loaded(dossier, units)
    for role in ("heart", "body"):
        layer = worked.piece.layer(role)
        if layer is None:
            continue
        begins = dossier.figure("freezing_point", layer.component)
        if begins is not None:
            print(_row(layer.component + " begins to freeze", shown_figure(begins, units)))
    for component in dict.fromkeys(layer.component for layer in worked.piece.layers if layer.role == "shell"):
        for key, words in (("thickness", "thickness"), ("whole_shell", "all dips")):
            thick = dossier.figure(key, component)
            if thick is not None:
                print(_row(f"{component}, {words}", shown_figure(thick, units)))
    print(_row("contains", ", ".join(dossier.label.contains) or "nothing on the list that is known"))
    heavy = [finding for finding in dossier.findings if finding.severity != "note"]
    print_findings(heavy[:_FINDINGS_SHOWN], units)
    rest = len(dossier.findings) - len(heavy[:_FINDINGS_SHOWN])
    if rest:
        print(f"  {rest} more findings are in the dossier.")
    print()
