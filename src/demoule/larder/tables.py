"""The open food tables, row by row as printed, read once when first asked for."""

from __future__ import annotations

import csv
from collections.abc import Iterator, Mapping
from functools import lru_cache
from importlib.resources import files

from demoule.larder.rows import TableRow

__all__ = ["TABLES", "read_csv", "table"]

TABLES = {"USDA": "usda-sr28", "Ciqual": "ciqual-2020"}
"""How a chef names a table, and its key among the sources."""

_FILES = {"USDA": "usda_sr28.csv", "Ciqual": "ciqual_2020.csv"}

# Column of the file (without its unit) to the plain name used inside.
_NAMES = {
    "sugars_total": "sugars",
    "trans": "trans_fat",
    "organic_acids": "acids",
    "protein_jones": "protein",
}
_DAIRY_FACTOR = 6.38  # nitrogen to protein for milk, where a dairy row leaves it blank as its neighbours print it
_GENERAL_FACTOR = 6.25


def read_csv(name: str, folder: str = "tables") -> Iterator[dict[str, str]]:
    """The rows of one data file of the larder, by column."""
    text = files("demoule.larder").joinpath(folder, name).read_text(encoding="utf-8")
    yield from csv.DictReader(text.splitlines())


def _plain(column: str) -> tuple[str, float] | None:
    """Plain name and the factor to g per 100 g of a column, or None for a column that holds no amount."""
    for ending, factor in (("_g_per_100g", 1.0), ("_mg_per_100g", 0.001)):
        if column.endswith(ending):
            stem = column.removesuffix(ending)
            return _NAMES.get(stem, stem), factor
    return None


def _below_limit(listed: str) -> Iterator[str]:
    """Plain names of what was looked for and not found, or found in traces only."""
    for part in listed.split(";"):
        column = part.split("<")[0].strip()
        if column:
            stem = column.removesuffix("_g").removesuffix("_mg")
            yield _NAMES.get(stem, stem)


def _usda(row: Mapping[str, str], given: dict[str, float]) -> None:
    by_difference = given.pop("carbohydrate_by_difference", None)
    if by_difference is not None:
        given["available_carbohydrate"] = max(0.0, by_difference - given.get("fibre", 0.0))
    factor = float(row["nitrogen_factor"] or 0.0)
    if not factor:
        factor = _DAIRY_FACTOR if row["group"] in {"cream", "milk", "butter", "fresh_dairy"} else _GENERAL_FACTOR
    if "protein" in given:
        given["protein_n625"] = given["protein"] * _GENERAL_FACTOR / factor


def _ciqual(row: Mapping[str, str], given: dict[str, float]) -> None:
    for name in (*_below_limit(row["below_limit"]), *_below_limit(row["traces"])):
        given.setdefault(name, 0.0)
    if "sodium" not in given and "salt" in given:
        given["sodium"] = given["salt"] / 2.5


@lru_cache(maxsize=2)
def table(which: str) -> Mapping[str, TableRow]:
    """All rows of a table by their key; `which` is "USDA" or "Ciqual"."""
    finish = _usda if which == "USDA" else _ciqual
    rows: dict[str, TableRow] = {}
    columns: list[tuple[str, str, float]] | None = None
    for row in read_csv(_FILES[which]):
        if columns is None:
            columns = [(column, *plain) for column in row if (plain := _plain(column))]
        given = {name: float(row[column]) * factor for column, name, factor in columns if row[column]}
        finish(row, given)
        refuse = row.get("refuse_percent")
        rows[row["key"]] = TableRow(
            source=TABLES[which],
            table_version=row["table_version"],
            record=row["record"],
            key=row["key"],
            group=row["group"],
            table_name=row["table_name"],
            given=given,
            refuse=float(refuse) if refuse else None,
        )
    return rows
