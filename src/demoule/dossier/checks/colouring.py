"""Colours: over a limit, refused, without a limit that we know, or with a warning to print."""

from __future__ import annotations

from collections.abc import Iterator

from demoule.dossier.checks.registry import LAW, check, finding
from demoule.dossier.colours import Dose, colour_doses, colour_verdicts
from demoule.dossier.view import View
from demoule.dossier.words import rounded
from demoule.figures import Finding, Severity
from demoule.larder import CATEGORIES, Verdict, warning_phrase

__all__ = ["colours", "warning"]


@check(
    "colours",
    looks_at="each colour against the market's limit, on the layer and on the whole piece",
    source="eu-1333-2008",
)
def colours(view: View) -> Iterator[Finding]:
    """Judge the colours layer by layer."""
    doses = colour_doses(view.worked)
    for dose, verdict in colour_verdicts(doses, view.market):
        part = view.part(dose.component)
        where = part.line(dose.ingredient) if part else "piece.skin"
        food = CATEGORIES.get(verdict.category, verdict.category)
        if verdict.outcome in ("over", "refused"):
            yield finding(
                Severity.STOP,
                "colours",
                where,
                f"{verdict.colour} in {dose.component}: " + _refused(dose, verdict, food),
                why=f"Judged as {food}; limits differ by country and by the category a person picks.",
                remedy=_less(verdict),
                source=verdict.source,
            )
        elif verdict.outcome == "ask":
            yield finding(
                Severity.CAUTION,
                "colours",
                where,
                f"{verdict.colour} in {dose.component}: {verdict.says}.",
                why=f"Dose: {_met(dose, verdict)}. Without a number nothing is shown.",
                remedy=f"take dye content and limit from the supplier's sheet and the consolidated text; {LAW}",
                source=verdict.source,
            )
        else:
            yield finding(
                Severity.NOTE,
                "colours",
                where,
                f"{verdict.colour} in {dose.component}: {_met(dose, verdict)}"
                + (
                    f", limit {verdict.limit:g} mg/kg as {food}." if verdict.limit is not None else f"; {verdict.says}."
                ),
                why=f"Judged as {food}; a limit differs by country and by the category a person picks.",
                remedy=f"keep the supplier's sheet with its dye content; {LAW}",
                source=verdict.source,
            )


def _refused(dose: Dose, verdict: Verdict, food: str) -> str:
    if verdict.limit == 0:
        return f"{verdict.says}."
    if verdict.limit is None:
        return f"{_met(dose, verdict)}, {verdict.says}."
    return f"{_met(dose, verdict)}, limit {verdict.limit:g} mg/kg as {food}."


def _met(dose: Dose, verdict: Verdict) -> str:
    if verdict.met is None:
        return "strength of the preparation not told"
    told = f"{rounded(verdict.met, 3)} mg/kg of the layer"
    if dose.in_piece is not None and dose.in_layer:
        told += f" ({rounded(verdict.met * dose.in_piece / dose.in_layer, 2)} mg/kg of the piece)"
    return told


def _less(verdict: Verdict) -> str:
    if verdict.limit is not None and verdict.met:
        share = verdict.limit / verdict.met
        return (
            f"use at most {rounded(100 * share, 2)} % of the dose, or a colour that is listed without a number; {LAW}"
        )
    return f"take another colour; {LAW}"


@check("colour warning", looks_at="colours beside which the EU wants a warning printed", source="eu-1333-2008")
def warning(view: View) -> Iterator[Finding]:
    """Six colours with a phrase of their own."""
    numbers = sorted({dose.e_number for dose in colour_doses(view.worked)})
    phrase = warning_phrase(numbers) if view.market == "EU" and numbers else ""
    if phrase:
        yield finding(
            Severity.CAUTION,
            "colour warning",
            "piece.skin",
            f"The label must carry: “{phrase}”.",
            why="The EU asks for it on prepacked food with one of six colours.",
            remedy="print it, or use a colour without it.",
        )
