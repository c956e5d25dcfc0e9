"""What a row of a food table says of a food: its constituents and nutrients, and what it leaves open."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from demoule.composition import Composition, Constituent
from demoule.larder.ingredient import NUTRIENTS, Nutrients

__all__ = ["TableRow", "composition_of", "nutrients_of"]

_C = Constituent
_KINDS = {
    "sucrose": _C.SUCROSE,
    "glucose": _C.GLUCOSE,
    "fructose": _C.FRUCTOSE,
    "lactose": _C.LACTOSE,
    "maltose": _C.MALTOSE,
    "galactose": _C.GALACTOSE,
}
# Groups of foods by what they hold by nature.
_DAIRY = frozenset(["cream", "milk", "butter", "fresh_dairy"])
_NO_STARCH = _DAIRY | {"egg", "fat", "water", "alcohol", "salt_acid"}
_NO_ACIDS = frozenset(["egg", "fat", "water", "sugar", "butter"])
_ALL_STARCH = frozenset(["flour_starch"])
_PLANT = frozenset(
    [
        "sugar",
        "nut",
        "flour_starch",
        "alcohol",
        "flavour",
        "herb_spice",
        "salt_acid",
        "plant_drink",
        "vegetable",
        "water",
        "preserve",
    ]
)
_LEAVENING = frozenset(["baking_soda", "bicarbonate_of_soda", "baking_powder", "cream_of_tartar"])

# Whole milk powder: 37.5 g lactose, 27.4 g protein, 26.8 g fat (Ciqual 2020, 19021); they tell a chocolate's milk fat.
_MILK_FAT_PER_LACTOSE = 26.8 / 37.5
_MILK_FAT_PER_PROTEIN = 26.8 / 27.4

_ROUNDING = 0.5  # g per 100 g by which the parts of a row may miss 100 through rounding alone
_NAMED = 1.5  # g per 100 g beyond which the row is named
_WATERY = 15.0  # g water per 100 g from which an excess is taken off the water


@dataclass(frozen=True, slots=True, kw_only=True)
class TableRow:
    """One row of a food table per 100 g, as printed; a value that is missing is not in `given`."""

    source: str
    table_version: str
    record: str
    key: str
    group: str
    table_name: str
    given: Mapping[str, float]  # g per 100 g, by plain names
    refuse: float | None = None  # g per 100 g of the food as bought
    notes: tuple[str, ...] = field(default=())

    def get(self, name: str) -> float | None:
        """A value [g per 100 g], or None where the table is silent."""
        return self.given.get(name)


def _sugars(row: TableRow) -> tuple[dict[Constituent, float], set[Constituent]]:
    """Sugars by kind, those of an untold kind, and which are untold."""
    parts = {kind: row.given[name] for name, kind in _KINDS.items() if name in row.given}
    blank = {kind for name, kind in _KINDS.items() if name not in row.given}
    known = sum(parts.values())
    total = row.get("sugars")
    if total is None:
        # Galactose alone is missing from many rows that give the other five: their sum is then the total.
        if blank <= {_C.GALACTOSE}:
            return parts, set()
        return parts, blank | {_C.UNKNOWN_SUGARS}
    left = total - known
    if (left <= max(0.1, 0.02 * total) and known > 0) or total == 0:
        return parts, set()  # the kinds told make up the total, so the others are absent
    missing = blank - {_C.GALACTOSE}
    if len(missing) == 1 and left > known:
        # All kinds but one are told, and that one is most of the total: the rest is that one, as in icing sugar.
        return parts | {missing.pop(): left}, set()
    if left > 0:
        parts[_C.UNKNOWN_SUGARS] = left
    return parts, blank


def _fat(row: TableRow, fat_kind: str) -> tuple[dict[Constituent, float], set[Constituent]]:
    fat = row.get("fat")
    if fat is None:
        return {}, {_C.OTHER_FAT}
    kind = fat_kind or ("milk" if row.group in _DAIRY else "chocolate" if row.group == "chocolate" else "other")
    if kind == "milk":
        return {_C.MILK_FAT: fat}, set()
    if kind == "other":
        return {_C.OTHER_FAT: fat}, set()
    lactose = row.get("lactose")
    if lactose is not None or "dark" in row.key or "cocoa" in row.key or "unsweet" in row.key or "semi" in row.key:
        milk = (lactose or 0.0) * _MILK_FAT_PER_LACTOSE
    else:
        milk = (row.get("protein") or 0.0) * _MILK_FAT_PER_PROTEIN
    milk = min(milk, fat)
    return {_C.MILK_FAT: milk, _C.COCOA_BUTTER: fat - milk}, set()


def _minerals(row: TableRow) -> tuple[dict[Constituent, float], set[Constituent]]:
    ash = row.get("ash")
    sodium = row.get("sodium") or 0.0
    salt = 0.0 if row.key in _LEAVENING else sodium / 0.3934  # sodium chloride is 39.34 % sodium
    if ash is None:
        return {_C.SALT: salt}, {_C.ASH}
    salt = min(salt, ash)
    return {_C.SALT: salt, _C.ASH: ash - salt}, set()


def composition_of(row: TableRow, fat_kind: str = "") -> tuple[Composition, tuple[str, ...]]:
    """Composition of a table row, and what is odd about the row in words.

    Parameters
    ----------
    row
        The row as printed.
    fat_kind
        "milk", "chocolate" or "other"; empty: by the group of the food.

    Notes
    -----
    Carbohydrate that is neither sugar, starch nor polyol is of no told kind and goes to `UNKNOWN_SOLIDS` (in a flour or
    starch it is starch). Where the parts miss 100 g the missing mass is `UNKNOWN_SOLIDS`, or water when the table is
    silent on water; where they exceed it the excess is taken off the water of a moist food and off the carbohydrate of
    no told kind in a dry one, so that the nutrients stay as printed as far as they can.
    """
    notes = list(row.notes)
    unknown: set[Constituent] = set()
    parts: dict[Constituent, float] = {}
    for found, untold in (_sugars(row), _fat(row, fat_kind), _minerals(row)):
        parts |= found
        unknown |= untold
    fruit = row.group.startswith("fruit")

    for name, kind in (("water", _C.WATER), ("protein", _C.PROTEIN), ("fibre", _C.FIBRE)):
        value = row.get(name)
        if value is None:
            unknown.add(kind)
        else:
            parts[kind] = value
    parts[_C.ETHANOL] = row.get("alcohol") or 0.0
    if row.get("alcohol") is None and row.group == "alcohol":
        unknown.add(_C.ETHANOL)
    acids = row.get("acids")
    if acids is None and row.group not in _NO_ACIDS:
        unknown.add(_C.ACIDS)
    parts[_C.ACIDS] = acids or 0.0
    polyols = row.get("polyols")
    if polyols is None and fruit:
        unknown.add(_C.SORBITOL)
    # The polyol of pome and stone fruit is sorbitol; elsewhere the kind is not told.
    parts[_C.SORBITOL if fruit else _C.OTHER_POLYOLS] = polyols or 0.0
    starch = row.get("starch")
    if starch is None and row.group not in _NO_STARCH:
        unknown.add(_C.STARCH)
    parts[_C.STARCH] = starch or 0.0

    sugars = sum(parts.get(kind, 0.0) for kind in (*_KINDS.values(), _C.UNKNOWN_SUGARS))
    available = row.get("available_carbohydrate")
    if available is None:
        unknown.add(_C.UNKNOWN_SOLIDS)
        available = 0.0
    rest = available - sugars - (starch or 0.0) - (polyols or 0.0)
    if rest < -0.1:
        notes.append(
            f"sugars, starch and polyols come to {available - rest:.2f} g where the table finds {available:.2f} g "
            "carbohydrate: the larger is taken"
        )
    if rest > 0:
        if row.group in _ALL_STARCH:
            parts[_C.STARCH] += rest
            unknown.discard(_C.STARCH)
        else:
            parts[_C.UNKNOWN_SOLIDS] = rest

    gap = 100.0 - sum(parts.values())
    if abs(gap) > _NAMED:
        notes.append(f"the parts of the record add up to {100 - gap:.2f} g per 100 g")
    if row.key in _LEAVENING:
        parts[_C.ASH] = parts.get(_C.ASH, 0.0) + max(gap, 0.0)  # what drives off on heating is counted with the mineral
    elif _C.WATER in unknown and gap > 0:
        parts[_C.WATER] = gap
        notes.append("water by difference: the record does not give it")
    elif gap > _ROUNDING:
        parts[_C.UNKNOWN_SOLIDS] = parts.get(_C.UNKNOWN_SOLIDS, 0.0) + gap
    elif gap < -_ROUNDING:
        # Water in a moist food, in a dry one the carbohydrate of no told kind: the table has both by difference.
        giver = _C.WATER if parts.get(_C.WATER, 0.0) >= _WATERY else _C.UNKNOWN_SOLIDS
        parts[giver] = max(parts.get(giver, 0.0) + gap, 0.0)
    return Composition.of(parts, unknown), tuple(notes)


def nutrients_of(row: TableRow, added_sugars: str = "") -> Nutrients:
    """What a label asks for beside the constituents.

    Parameters
    ----------
    row
        The row as printed.
    added_sugars
        "all", "sucrose", "none" or "unknown"; empty: by the group of the food.
    """
    known: dict[str, float] = {}
    for name in NUTRIENTS:
        value = row.get(name)
        if value is not None:
            known[name] = value / 100
    fat = row.get("fat")
    if fat is not None and fat <= 0.05:
        known.setdefault("saturates", 0.0)
        known.setdefault("trans_fat", 0.0)
    plant = (
        row.group in _PLANT or row.group.startswith("fruit") or row.key.startswith(("cocoa_", "oil_", "agar", "pectin"))
    )
    if plant:
        # Only animal foods hold cholesterol to speak of; unhardened plant fats hold no trans fat.
        known.setdefault("cholesterol", 0.0)
        known.setdefault("trans_fat", 0.0)
    rule = added_sugars or {"sugar": "all", "chocolate": "sucrose", "bakery": "unknown"}.get(row.group, "none")
    total = row.get("sugars")
    if total is None and rule == "all":
        total = sum(row.given.get(name, 0.0) for name in _KINDS)
    sucrose = row.get("sucrose")
    if rule == "none":
        known["added_sugars"] = 0.0
    elif rule == "all" and total is not None:
        known["added_sugars"] = total / 100
    elif rule == "sucrose" and sucrose is not None:
        known["added_sugars"] = sucrose / 100
    return Nutrients.of(**known)
