"""JSON Schemas of the three files, generated from the entries that read them."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from demoule.files.dessert import DessertEntry
from demoule.files.fields import Entry
from demoule.files.kitchen import KitchenEntry
from demoule.files.orders import OrdersEntry

__all__ = ["schemas", "write_schemas", "written_schemas"]

_ENTRIES: dict[str, tuple[type[Entry], str]] = {
    "dessert": (DessertEntry, "A dessert file of demoule"),
    "kitchen": (KitchenEntry, "A kitchen file of demoule"),
    "orders": (OrdersEntry, "An order file of demoule"),
}


def schemas() -> dict[str, dict[str, Any]]:
    """The schemas by the name of their file; a document of several desserts is checked one by one.

    They hold for the values that YAML 1.2 reads: quantities are texts ("730 g"), yes and no are words.
    """
    made = {}
    for name, (entry, title) in _ENTRIES.items():
        schema = entry.model_json_schema(by_alias=True)
        schema["title"] = title
        made[name] = {"$schema": "https://json-schema.org/draft/2020-12/schema", **_bare(schema)}
    return made


def _bare(schema: Any) -> Any:
    """Without defaults, which are numbers in SI where a file holds texts, and without titles made from names."""
    if isinstance(schema, list):
        return [_bare(part) for part in schema]
    if not isinstance(schema, dict):
        return schema
    kept = {}
    for key, part in schema.items():
        if key == "default":
            continue
        if key == "properties":
            kept[key] = {name: _untitled(_bare(one)) for name, one in part.items()}
        else:
            kept[key] = _bare(part)
    return kept


def _untitled(schema: Any) -> Any:
    return {key: part for key, part in schema.items() if key != "title"} if isinstance(schema, dict) else schema


def written_schemas() -> dict[str, str]:
    """The schemas as the texts of their files."""
    return {
        f"{name}.json": json.dumps(schema, ensure_ascii=False, indent=2, sort_keys=True) + "\n"
        for name, schema in schemas().items()
    }


def write_schemas(folder: str | Path) -> None:
    """Write the schemas into a folder, one file each."""
    for file, text in written_schemas().items():
        Path(folder, file).write_text(text, encoding="utf-8")
