"""`demoule larder`: an ingredient, what it is made of, and what is not known of it."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from demoule.errors import UnknownName

if TYPE_CHECKING:
    from demoule.larder import Ingredient
    from demoule.units.showing import System

__all__ = ["look_up"]

_SHOWN_FROM = 0.0005


def look_up(words: str, *, most: int, units: System, as_json: bool) -> int:
    """Print the ingredients that the words name; one alone is shown whole."""
    from demoule.larder import standard_larder

    larder = standard_larder()
    found = list(larder.search(words, most))
    try:
        exact = larder.find(words)
    except UnknownName:
        if not found:
            raise
    else:
        found = [exact, *(item for item in found if item.name != exact.name)][:most]
    if as_json:
        print(json.dumps([_as_json(item) for item in found], ensure_ascii=False))
        return 0
    _print_whole(found[0], units)
    if found[1:]:
        print("\nAlso:")
        for item in found[1:]:
            print(f"  {item.name}  ({item.record.source} {item.record.id})".rstrip())
    return 0


def _as_json(item: Ingredient) -> dict[str, object]:
    from demoule.composition import Constituent
    from demoule.larder.ingredient import NUTRIENTS

    c, n = item.composition, item.nutrients
    return {
        "name": item.name,
        "also": list(item.also),
        "group": item.group,
        "composition": {
            constituent.name.lower(): {
                "share": c.fractions[constituent],
                "known": c.unknown[constituent] == 0,
            }
            for constituent in Constituent
        },
        "nutrients": {
            name: {"share": amount, "known": unknown == 0}
            for name, amount, unknown in zip(NUTRIENTS, n.amounts, n.unknown, strict=True)
        },
        "density_kg_per_m3": item.density,
        "ph": item.ph,
        "edible": item.edible,
        "allergens_eu": sorted(item.allergens_eu),
        "allergens_us": sorted(item.allergens_us),
        "allergens_told": item.allergens_told,
        "additives": [
            {"e_number": a.e_number, "class": a.label_class, "us_name": a.us_name, "share": a.share}
            for a in item.additives
        ],
        "packs": [{"name": p.name, "mass_kg": p.mass, "price": p.price, "pieces": p.pieces} for p in item.packs],
        "keeping_s": {"chilled": item.keeping.chilled, "frozen": item.keeping.frozen, "dry": item.keeping.dry},
        "traits": sorted(item.traits),
        "bloom_strength": item.bloom_strength,
        "record": {
            "source": item.record.source,
            "table_version": item.record.table_version,
            "id": item.record.id,
            "status": str(item.record.status),
        },
        "note": item.note,
    }


def _print_whole(item: Ingredient, units: System) -> None:
    from demoule.composition import Constituent
    from demoule.units import shown

    c = item.composition
    print(item.name + (f"  ({', '.join(item.also)})" if item.also else ""))
    record = item.record
    print(f"  read in {record.source} {record.table_version} {record.id}".rstrip() + f" ({record.status})")
    for constituent in Constituent:
        share, unknown = c.fractions[constituent], c.unknown[constituent]
        name = constituent.name.lower().replace("_", " ")
        if share >= _SHOWN_FROM or unknown > 0:
            value = f"{100 * share:6.2f} %" if unknown < 1 or share > 0 else "      –  "
            print(f"  {name:<16}{value}" + ("  not told" if unknown > 0 else ""))
    if item.density is not None:
        print(f"  {'density':<16}{shown(item.density, 'kg/m3', system=units)}")
    if item.ph is not None:
        print(f"  {'pH':<16}{item.ph:.1f}")
    if item.edible < 1:
        print(f"  {'left after trim':<16}{item.edible:.0%}")
    for market, allergens in (("EU", item.allergens_eu), ("US", item.allergens_us)):
        told = ", ".join(sorted(allergens)) or "none by its nature"
        print(f"  {'allergens ' + market:<16}{told}")
    if not item.allergens_told:
        print("  Only the supplier's sheet can tell all its allergens.")
    if item.note:
        print(f"  {item.note}")
