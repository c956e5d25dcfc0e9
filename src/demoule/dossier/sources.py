"""Which sources the answers of a dossier stand on, and for what; whatever was not read is marked."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from functools import cache
from importlib.resources import files

from demoule.dossier.answer import Cost, Label, Named, SourceUsed
from demoule.dossier.view import View
from demoule.figures import MODELS, Basis, Finding, Status

__all__ = ["sources_used"]


@cache
def _known() -> dict[str, tuple[str, Status]]:
    text = files("demoule").joinpath("sources.toml").read_text(encoding="utf-8")
    return {
        key: (_title(entry), Status(str(entry.get("status", "recalled")))) for key, entry in tomllib.loads(text).items()
    }


def _title(entry: dict[str, object]) -> str:
    parts = [entry.get("author"), entry.get("title"), entry.get("year")]
    return ", ".join(str(part) for part in parts if part)


def _of_basis(entries: Iterable[Basis], what: str, used: dict[str, dict[str, None]]) -> None:
    for entry in entries:
        used.setdefault(entry.source, {}).setdefault(what or entry.model)


def sources_used(
    view: View, figures: Iterable[Named], findings: Iterable[Finding], cost: Cost, label: Label
) -> tuple[SourceUsed, ...]:
    """Every source under figures, findings, cost, label and ingredients, in alphabetical order of its key."""
    used: dict[str, dict[str, None]] = {}
    for named in figures:
        _of_basis(named.figure.basis, named.name, used)
    for line in cost.lines:
        _of_basis(line.per_piece.basis, line.kind, used)
    for finding in (*findings, *label.findings):
        if finding.source:
            used.setdefault(finding.source, {}).setdefault(finding.rule)
    for ingredient, _mass in view.contents.parts:
        used.setdefault(ingredient.record.source, {}).setdefault("ingredients")
    known = _known()
    status_of = {model.source: model.status for model in MODELS.values()}
    return tuple(
        SourceUsed(
            key=key,
            title=known[key][0] if key in known else key,
            status=known[key][1] if key in known else status_of.get(key, Status.RECALLED),
            used_for=tuple(what),
        )
        for key, what in sorted(used.items())
    )
