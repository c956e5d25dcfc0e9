"""Every list of a dossier as CSV: weigh-up, shopping, cost, figures, nutrition, findings, sources."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

from demoule.dossier import Dossier

__all__ = ["as_csv", "csv_lists"]


def csv_lists(dossier: Dossier) -> dict[str, str]:
    """The lists by file name; figures in the metric units that stand in the headings, empty where unknown."""
    return {
        "weigh-up.csv": as_csv(
            ("component", "making", "of", "what", "mass_g", "exact_g", "count", "counted_as"), _weighing(dossier)
        ),
        "shopping.csv": as_csv(
            ("ingredient", "need_g", "pack", "packs", "cost_used", "cost_packs", "currency"), _shopping(dossier)
        ),
        "cost.csv": as_csv(
            ("what", "kind", "per_piece", "low", "high", "currency"),
            (
                (
                    line.what,
                    line.kind,
                    line.per_piece.value,
                    line.per_piece.low,
                    line.per_piece.high,
                    line.per_piece.unit,
                )
                for line in dossier.cost.lines
            ),
        ),
        "figures.csv": as_csv(
            ("of", "figure", "value", "unit", "low", "high", "unknown_share", "models"),
            (
                (
                    named.of,
                    named.name,
                    named.figure.value,
                    named.figure.unit,
                    named.figure.low,
                    named.figure.high,
                    named.figure.unknown or "",
                    "; ".join(dict.fromkeys(entry.model for entry in named.figure.basis)),
                )
                for named in dossier.figures
            ),
        ),
        "nutrition.csv": as_csv(
            ("nutrient", "unit", "per_100_g", "per_piece", "printed_per_100_g", "printed_per_piece", "unknown_share"),
            (
                (
                    line.name,
                    line.unit,
                    line.per_100g,
                    line.per_piece,
                    line.printed_100g,
                    line.printed_piece,
                    line.unknown or "",
                )
                for line in dossier.label.nutrition
            ),
        ),
        "findings.csv": as_csv(
            ("severity", "rule", "where", "says", "why", "remedy", "source"),
            ((f.severity, f.rule, f.where, f.says, f.why, f.remedy, f.source) for f in dossier.findings),
        ),
        "sources.csv": as_csv(
            ("key", "title", "status", "used_for"),
            ((s.key, s.title, s.status, "; ".join(s.used_for)) for s in dossier.sources),
        ),
    }


def _weighing(dossier: Dossier) -> Iterable[Sequence[object]]:
    for need in dossier.worked.weighing.needs:
        for making in range(1, need.makings + 1):
            for line in need.lines:
                yield (
                    need.component,
                    making,
                    need.makings,
                    line.what,
                    f"{1000 * line.mass:.10g}",
                    1000 * line.exact,
                    line.leaves,
                    line.leaves_called,
                )


def _shopping(dossier: Dossier) -> Iterable[Sequence[object]]:
    currency = dossier.worked.kitchen.currency
    for line in dossier.worked.weighing.buying:
        for pack, count in line.packs or ((None, ""),):
            yield (
                line.ingredient.name,
                1000 * line.need,
                pack.name if pack else "",
                count,
                line.cost_used,
                line.cost_packs,
                currency,
            )


def as_csv(head: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """Rows under a heading, as RFC 4180 has it."""
    written = io.StringIO()
    writer = csv.writer(written, lineterminator="\r\n")  # RFC 4180
    writer.writerow(head)
    for row in rows:
        writer.writerow([_cell(value) for value in row])
    return written.getvalue()


def _cell(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, float):
        return f"{value:.6g}"
    text = str(value)
    # A table program would run a cell that begins like a formula.
    return f"'{text}" if text and text[0] in "=+-@\t\r" and not text[1:2].isdigit() else text
