"""Mould cycles: how often the moulds owned must be filled for the number wanted."""

from __future__ import annotations

from collections.abc import Iterator

from demoule.dossier.checks.registry import check, finding
from demoule.dossier.view import View
from demoule.figures import Finding, Severity

__all__ = ["mould_cycles"]


@check("mould cycles", looks_at="how often the moulds must be filled for the number wanted")
def mould_cycles(view: View) -> Iterator[Finding]:
    """More than one filling of the moulds, for piece or heart."""
    weighing, piece = view.worked.weighing, view.worked.piece
    if piece.mould is None:
        return
    owned = piece.mould.owned * piece.mould.per_tray
    cycles = len(weighing.makings)
    if owned > 0 and cycles > 1:
        trays = -(-(weighing.started - owned) // piece.mould.per_tray)
        yield finding(
            Severity.NOTE,
            "mould cycles",
            "piece.mould",
            f"{weighing.started} pieces take {cycles} fillings of the {owned} cavities of “{piece.mould.name}”.",
            why="Each filling holds the mould until the core is hard and the piece is out.",
            remedy=f"plan {cycles} cycles, or own {trays} more tray{'s' if trays != 1 else ''}.",
        )
    heart = piece.heart_mould
    if heart is not None and heart.owned > 0 and weighing.heart_makings > 1:
        need = piece.hearts_per_piece * weighing.started
        yield finding(
            Severity.NOTE,
            "mould cycles",
            "piece.heart",
            f"{need} heart cavities take {weighing.heart_makings} fillings of “{heart.name}” "
            f"({heart.owned * heart.per_tray} cavities).",
            why="Hearts must be hard before the bodies are filled.",
            remedy="make hearts on the day before and keep them bagged and flat at −18 °C.",
        )
