"""What the number wanted asks of moulds, and what its cost rests on."""

from __future__ import annotations

from collections.abc import Iterator

from demoule.dossier.checks.registry import check, finding
from demoule.dossier.view import View
from demoule.dossier.words import listed
from demoule.figures import Finding, Severity

__all__ = ["mould_cycles", "prices"]


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


@check("prices", looks_at="whether every price that the cost needs is told")
def prices(view: View) -> Iterator[Finding]:
    """Ingredients without a price, and hands without pay: the cost is then not shown."""
    kitchen = view.worked.kitchen
    missing = [
        buying.ingredient.name
        for buying in view.worked.weighing.buying
        if buying.cost_used is None and not buying.ingredient.is_water
    ]
    if not kitchen.people:
        missing.append("an hour of work")
    if missing:
        yield finding(
            Severity.NOTE,
            "prices",
            "cost",
            f"No price is told of {listed(missing)}.",
            why="What is not told is not taken for nothing: the cost of a piece is not shown.",
            remedy="give a kitchen file with prices per kg and the pay of its people.",
        )
