"""A supplier's sheet (CSV or XLSX) to own items, line by line: what is understood, and what is wrong in which line."""

from __future__ import annotations

import csv
import io
import unicodedata
import zipfile
from collections.abc import Iterable, Iterator
from typing import Any

from pydantic import ValidationError

from demoule.errors import BadInput, DemouleError, nearest
from demoule.files.items import ItemEntry, SheetEntry, items_of
from demoule.files.text import text_of
from demoule.larder import standard_larder

__all__ = ["MOST_BYTES", "MOST_ROWS", "sheet_told"]

MOST_BYTES = 2_000_000
MOST_ROWS = 5_000
_UNPACKED = 40_000_000  # bytes of a workbook laid open; a larger one is no supplier's sheet
_WIDEST = 60
_LONGEST = 500

_INSIDE = {info.alias or name for name, info in SheetEntry.model_fields.items()}
_BESIDE = {"name", "price", "density", "pH", "allergens", "group", "label", "like", "E number", "dye", "bloom", "sheet"}
_OTHER_WORDS = {
    "nom": "name", "ingredient": "name", "ingrédient": "name", "article": "name", "produit": "name", "product": "name",
    "prix": "price", "price per kg": "price", "prix au kg": "price", "eau": "water", "matière sèche": "solids",
    "extrait sec": "solids", "lipides": "fat", "matières grasses": "fat", "graisses": "fat", "sucres": "sugars",
    "glucides": "carbohydrate", "carbohydrates": "carbohydrate", "protéines": "protein", "proteins": "protein",
    "fibres": "fibre", "fiber": "fibre", "sel": "salt", "cendres": "ash", "énergie": "energy", "alcool": "alcohol",
    "densité": "density", "ph": "pH", "allergènes": "allergens", "groupe": "group", "acides gras saturés": "saturates",
    "saturated fat": "saturates", "saturés": "saturates", "amidon": "starch", "dont sucres": "sugars",
}  # fmt: skip


def sheet_told(data: bytes, name: str) -> dict[str, Any]:
    """Read a sheet.

    Returns
    -------
    dict
        "entries" (name to what a file would say), "ingredients", "mistakes" (line, says, remedy), "columns" and
        "passed over" (columns that were not understood).

    Raises
    ------
    BadInput
        When the whole of it cannot be read.
    """
    if len(data) > MOST_BYTES:
        raise BadInput(f"The sheet has {len(data) / 1e6:.1f} MB; 2 MB are read.", remedy="send fewer lines at a time.")
    rows = _rows(data, name)
    head = next(rows, None)
    if head is None:
        raise BadInput("The sheet is empty.", remedy="begin with a line of column names, “name” among them.")
    keys = [_key(cell) for cell in head[1]]
    if "name" not in keys:
        raise BadInput(
            "No column is called “name”.",
            where=f"line {head[0]}",
            remedy="name the columns in the first line: name, price, water, fat, sugars, protein, salt …",
        )
    entries: dict[str, dict[str, Any]] = {}
    ingredients: list[Any] = []
    mistakes: list[dict[str, Any]] = []
    larder = standard_larder()
    for count, (line, cells) in enumerate(rows):
        if count >= MOST_ROWS:
            mistakes.append(_mistake(line, f"More than {MOST_ROWS} lines.", "send the rest in another sheet."))
            break
        if not any(cells):
            continue
        told = {key: cell for key, cell in zip(keys, cells, strict=False) if key and cell}
        title = str(told.pop("name", "")).strip()
        if not title:
            mistakes.append(_mistake(line, "The line has no name.", "give every line its name."))
            continue
        if title.casefold() in {one.casefold() for one in entries}:
            mistakes.append(_mistake(line, f"“{title}” comes twice.", "keep one of the two lines."))
            continue
        try:
            entry = _entry(told)
            ingredients += items_of({title: ItemEntry.model_validate(entry)}, larder)
            entries[title] = entry
        except ValidationError as error:
            for wrong in error.errors():
                column = str(wrong["loc"][-1]) if wrong["loc"] else ""
                says = str(wrong.get("ctx", {}).get("says") or wrong["msg"]).removeprefix("Value error, ")
                mistakes.append(
                    _mistake(line, f"{title}, {column}: {says}", str(wrong.get("ctx", {}).get("remedy", "")))
                )
        except DemouleError as error:
            mistakes.append(_mistake(line, f"{title}: {error.says}", error.remedy))
    passed = [str(cell) for cell, key in zip(head[1], keys, strict=False) if not key and cell]
    return {
        "entries": entries,
        "ingredients": ingredients,
        "mistakes": mistakes,
        "columns": [key for key in keys if key],
        "passed_over": passed,
    }


def _mistake(line: int, says: str, remedy: str) -> dict[str, Any]:
    return {"line": line, "says": says[:_LONGEST], "remedy": remedy}


def _entry(told: dict[str, Any]) -> dict[str, Any]:
    """The line as a file would say it."""
    inside = {key: _cell(value) for key, value in told.items() if key in _INSIDE}
    beside: dict[str, Any] = {key: _cell(value) for key, value in told.items() if key not in _INSIDE}
    if "allergens" in beside:
        beside["allergens"] = {"EU": [word.strip() for word in str(beside["allergens"]).split(",") if word.strip()]}
    return {**beside, "per 100 g": inside} if inside else beside


def _cell(value: Any) -> Any:
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return value
    text = str(value).strip()
    try:
        return float(text.replace(",", "."))
    except ValueError:
        return text


def _key(cell: Any) -> str:
    """The key that a heading means, or "" when none is known."""
    words = " ".join(unicodedata.normalize("NFC", str(cell or "")).replace("_", " ").split()).casefold()
    words = words.split("(")[0].split("[")[0].removesuffix(" g").removesuffix(" %").strip()
    known = {key.casefold(): key for key in _INSIDE | _BESIDE}
    found = known.get(words) or _OTHER_WORDS.get(words)
    if found is None and len(words) > 4:
        near = nearest(words, known)
        found = known[near] if near and near[:3] == words[:3] else None
    return found or ""


def _rows(data: bytes, name: str) -> Iterator[tuple[int, list[Any]]]:
    if data[:4] == b"PK\x03\x04":
        yield from enumerate(_workbook(data), 1)
        return
    text = text_of(data, name)
    sample = text[:4000]
    sign = max(";\t,", key=sample.count)
    reader = csv.reader(io.StringIO(text), delimiter=sign)
    try:
        for cells in reader:
            yield reader.line_num, [cell[:_LONGEST] for cell in cells[:_WIDEST]]
    except csv.Error as error:
        raise BadInput(
            f"The sheet cannot be read from line {reader.line_num}: {error}.", remedy="save it again as CSV in UTF-8."
        ) from None


def _workbook(data: bytes) -> Iterable[list[Any]]:
    """The first sheet of a workbook; nothing in it is computed, and no link is followed."""
    import openpyxl

    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            if sum(one.file_size for one in packed.infolist()) > _UNPACKED or len(packed.infolist()) > 500:
                raise BadInput("The workbook is too large.", remedy="keep only the sheet of the ingredients.")
        book = openpyxl.load_workbook(io.BytesIO(data), read_only=True, data_only=True, keep_links=False)
        sheet = book.worksheets[0]
        rows = sheet.iter_rows(max_row=MOST_ROWS + 2, max_col=_WIDEST, values_only=True)
        found = [
            ["" if c is None else c if isinstance(c, (int, float)) else str(c)[:_LONGEST] for c in r] for r in rows
        ]
    except BadInput:
        raise
    except Exception as error:  # the library raises whatever a broken file makes it meet
        raise BadInput("The workbook cannot be opened.", remedy="save it again as XLSX, or as CSV in UTF-8.") from error
    return found
