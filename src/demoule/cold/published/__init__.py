"""Published and converged points that the cold stage is held against, one table a file."""

from __future__ import annotations

import csv
from importlib.resources import files

__all__ = ["rows"]


def rows(table: str) -> list[dict[str, str]]:
    """The rows of one table of this package."""
    text = files(__name__).joinpath(f"{table}.csv").read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))
