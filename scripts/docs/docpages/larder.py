"""The page of the larder: what is in it, the names that may be written, tables and versions."""

from __future__ import annotations

from collections import Counter

from demoule.larder import Ingredient, standard_larder
from docpages.text import cell, filled, source_line, table

__all__ = ["page"]


def page() -> str:
    """The whole page."""
    items = sorted(standard_larder(), key=lambda item: (item.group, item.name.casefold()))
    counts = Counter((item.record.source, item.record.table_version) for item in items)
    tables = table(
        ("rows", "read in", "version"),
        ((n, source_line(key), version or "–") for (key, version), n in sorted(counts.items(), key=lambda e: -e[1])),
    )
    groups: dict[str, list[Ingredient]] = {}
    for item in items:
        groups.setdefault(item.group.replace("_", " ") or "other", []).append(item)
    names = (f"**{group}**: {'; '.join(cell(item.name) for item in groups[group])}.\n" for group in sorted(groups))
    return filled("larder.md", count=str(len(items)), tables=tables, names="\n".join(names))
