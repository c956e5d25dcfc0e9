"""The shelf that comes with demoule: every name on it, and each ingredient made when it is first asked for.

Where both food tables have a thing, one of them is preferred by name (`prefer` in names.csv): the one that tells the
five sugars by kind, since they drive freezing and water activity; where both or neither do, the one whose parts add up.
The other row stays within reach as "apricot, Ciqual" or "apricot, USDA". No two rows are ever averaged.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import lru_cache

from demoule.composition import Composition, Constituent
from demoule.figures import Status
from demoule.larder.ingredient import Additive, Ingredient, Keeping, Nutrients, Pack, Record
from demoule.larder.mixing import mix
from demoule.larder.naming import fold, folded_words, loose, word_set
from demoule.larder.rows import composition_of, nutrients_of
from demoule.larder.tables import TABLES, read_csv, table

__all__ = ["DAY", "Shelf", "best_lead", "parse_parts", "split_list", "standard_shelf"]

DAY = 86400.0

# Words after which a thing is no longer the one named before: a price of "apricot" says nothing of "apricot juice".
OTHER_THING = word_set(
    """
    juice purée paste powder butter oil syrup cream flour starch jam jelly cheese liqueur spirit wine white yolk
    chocolate sugar milk vinegar zest peel extract drink sauce spread compote coulis kernel leaf stem glaze gum mass
    nibs concentrate jus huile beurre farine poudre praline marzipan twig cracker sheet cake pastry
    """
)


def split_list(text: str) -> tuple[str, ...]:
    """The parts of a cell that lists several things."""
    return tuple(part.strip() for part in text.split(";") if part.strip())


def parse_parts(text: str) -> tuple[tuple[float, str], ...]:
    """Amounts and names of a cell such as "water 10; sucrose 90"."""
    pairs = (part.rsplit(" ", 1) for part in split_list(text))
    return tuple((float(amount), name) for name, amount in pairs)


def best_lead(keys: Mapping[str, str], names: tuple[str, ...]) -> str | None:
    """The key whose words open one of the names, the longest one; None when what follows makes it another thing."""
    best: tuple[int, str] | None = None
    for name in names:
        words = folded_words(name)
        for end in range(len(words), 0, -1):
            if best is not None and end <= best[0]:
                break
            key = keys.get(" ".join(words[:end]))
            if key is not None and OTHER_THING.isdisjoint(words[end:]):
                best = (end, key)
                break
    return best[1] if best else None


@dataclass(frozen=True, slots=True)
class _Entry:
    name: str
    also: tuple[str, ...]
    make: Callable[[], Ingredient]


def _days(cell: str) -> float | None:
    return float(cell) * DAY if cell else None


@dataclass(slots=True, eq=False, repr=False)
class Shelf:
    """All named ingredients; compared by identity, since there is one of it."""

    _entries: list[_Entry] = field(default_factory=list)
    _exact: dict[str, int] = field(default_factory=dict)
    _loose: dict[str, int] = field(default_factory=dict)
    _made: dict[int, Ingredient] = field(default_factory=dict)
    _groups: dict[str, dict[str, str]] = field(default_factory=dict)
    _facts: dict[str, list[dict[str, str]]] = field(default_factory=dict)
    _packs: dict[str, list[dict[str, str]]] = field(default_factory=dict)
    _pack_keys: dict[str, str] = field(default_factory=dict)
    rows: dict[str, dict[str, str]] = field(default_factory=dict)  # rows of names.csv by folded name

    def __repr__(self) -> str:
        return f"<the shelf: {len(self)} ingredients>"

    def __reduce__(self) -> tuple[Callable[[], Shelf], tuple[()]]:
        return standard_shelf, ()

    def put(self, name: str, also: tuple[str, ...], make: Callable[[], Ingredient]) -> None:
        """Put one ingredient on the shelf; what stood there first keeps a spelling that both claim."""
        index = len(self._entries)
        self._entries.append(_Entry(name, also, make))
        for spelling in (name, *also):
            self._exact.setdefault(fold(spelling), index)

    def __len__(self) -> int:
        return len(self._entries)

    def __iter__(self) -> Iterator[Ingredient]:
        return (self._at(index) for index in range(len(self._entries)))

    def spellings(self) -> Iterator[tuple[str, tuple[str, ...]]]:
        """Every main name with its other spellings, in the order of the shelf."""
        return ((entry.name, entry.also) for entry in self._entries)

    def get(self, name: str) -> Ingredient | None:
        """The ingredient of a name or other spelling, in any order of its words."""
        index = self._exact.get(fold(name))
        if index is None:
            index = self._in_any_order().get(loose(name))
        return None if index is None else self._at(index)

    def _in_any_order(self) -> dict[str, int]:
        """The index by words in any order, made when a name is first not met as it is written."""
        if not self._loose:
            for index, entry in enumerate(self._entries):
                for spelling in (entry.name, *entry.also):
                    if loosely := loose(spelling):
                        self._loose.setdefault(loosely, index)
        return self._loose

    def _at(self, index: int) -> Ingredient:
        if index not in self._made:
            self._made[index] = self._entries[index].make()
        return self._made[index]

    def row_of(self, name: str, which: str) -> Ingredient | None:
        """An ingredient as one table has it, whichever table the larder prefers."""
        found = self.get(name)
        row = self.rows.get(fold(found.name)) if found else None
        if row is None or not row[which.casefold()]:
            return None
        return self._from_table(row, which, f"{row['name']}, {which}")

    def record(self, which: str, record: str) -> Ingredient | None:
        """The ingredient of a record number of a table."""
        for row in self.rows.values():
            key = row[which.casefold()]
            if key and table(which)[key].record == record:
                return self._from_table(row, which, f"{row['name']}, {which}")
        return None

    # ------------------------------------------------------------------ how each kind is made

    def _from_table(self, names: Mapping[str, str], which: str, name: str) -> Ingredient:
        row = table(which)[names[which.casefold()]]
        composition, notes = composition_of(row, names["fat"])
        group = self._groups["milk powder" if row.key.startswith(("milk_powder", "whey")) else row.group]
        untold = names["told"] == "no"
        other = next((t for t in TABLES if t != which and names[t.casefold()]), None)
        words = [names["note"]] if names["note"] else []
        words.extend(notes)
        if other:
            words.append(f"the other table's row is “{names['name']}, {other}”")
        edible = float(names["edible_percent"]) / 100 if names["edible_percent"] else 1 - (_refuse(names) or 0.0) / 100
        return self.finished(
            Ingredient(
                name=name,
                also=split_list(names["also"]) if name == names["name"] else (),
                composition=composition,
                record=Record(source=row.source, table_version=row.table_version, id=row.record, status=Status.READ),
                group=row.group,
                nutrients=nutrients_of(row, names["added_sugars"]),
                edible=edible,
                keeping=Keeping(
                    chilled=_days(group["keeps_chilled_days"]),
                    frozen=_days(group["keeps_frozen_days"]),
                    dry=_days(group["keeps_dry_days"]),
                ),
                allergens_eu=frozenset(split_list(names["eu"] or group["eu"])),
                allergens_us=frozenset(split_list(names["us"] or group["us"])),
                allergens_told=not untold,
                additives=_additives(names["e_number"], names["additive_class"], names["name"]),
                traits=frozenset(split_list(names["traits"])) | frozenset(split_list(group["traits"])),
                label_name=names["label_name"] or names["name"],
                contents=tuple((part, None) for part in split_list(names["contents"])),
                note="; ".join(words),
            ),
            names["name"],
        )

    def _from_house(self, row: Mapping[str, str]) -> Ingredient:
        if row["made"]:
            listed = [(mass, self.find_part(part)) for mass, part in parse_parts(row["made"])]
            mixed = mix(listed)
            composition, nutrients = mixed.composition, mixed.nutrients
            contents = split_list(row["contents"])
            eu, us, traits = mixed.allergens_eu, mixed.allergens_us, mixed.traits - {"raw egg"}
        else:
            parts = {Constituent[name.upper().replace(" ", "_")]: mass for mass, name in parse_parts(row["parts"])}
            composition = Composition.of(parts, unknown_of(parts))
            nutrients = plain_nutrients(parts, sweet=row["group"] in _SWEET)
            contents = split_list(row["contents"])
            eu, us, traits = frozenset[str](), frozenset[str](), frozenset[str]()
        status = Status(row["status"])
        return self.finished(
            Ingredient(
                name=row["name"],
                also=split_list(row["also"]),
                composition=composition,
                record=Record(source=row["source"], table_version="", id=row["name"], status=status),
                group=row["group"],
                nutrients=nutrients,
                keeping=Keeping(chilled=_days(row["keeps_chilled_days"]), dry=_days(row["keeps_dry_days"])),
                allergens_eu=eu | frozenset(split_list(row["eu"])),
                allergens_us=us | frozenset(split_list(row["us"])),
                allergens_told=row["told"] != "no",
                additives=_additives(row["e_number"], row["additive_class"], row["us_name"] or row["name"]),
                label_name=row["label_name"] or row["name"],
                contents=tuple((part, None) for part in contents),
                traits=traits | frozenset(split_list(row["traits"])),
                piece_mass=float(row["piece_g"]) / 1000 if row["piece_g"] else None,
                note=row["note"],
            ),
            row["name"],
        )

    def _colour(self, row: Mapping[str, str]) -> Ingredient:
        """A colour as a powder or leaf of its own; how pure it is only the sheet tells."""
        mineral = row["carrier"] in {"metal", "pigment"}
        kind = Constituent.ASH if mineral else Constituent.UNKNOWN_SOLIDS
        carrier = {"fat": {"fat colour"}, "water": {"water colour"}}.get(row["carrier"], set())
        return self.finished(
            Ingredient(
                name=row["name"],
                also=(row["e_number"], *split_list(row["also"])),
                composition=Composition.of({kind: 1.0}, {kind}),
                record=Record(source="practice", table_version="", id=row["e_number"], status=Status.PRACTICE),
                group="colour",
                nutrients=Nutrients.of(
                    cholesterol=0.0, protein_n625=0.0, added_sugars=0.0, saturates=0.0, trans_fat=0.0
                ),
                keeping=Keeping(dry=540 * DAY),
                allergens_told=row["carrier"] == "metal",
                additives=(Additive(e_number=row["e_number"], label_class="colour", us_name=row["us_name"]),),
                label_name=f"colour: {row['name']}",
                traits=frozenset(["colour", *split_list(row["traits"])]) | carrier,
                note="only products sold as food with an ingredient list; purity by the sheet"
                + (f"; {row['note']}" if row["note"] else ""),
            )
        )

    def find_part(self, name: str) -> Ingredient:
        """A part of a made-up ingredient, by name or by rule."""
        from demoule.larder.rules import by_rule  # the rules look things up on the shelf in turn

        found = self.get(name) or by_rule(name, self)
        if found is None:
            raise LookupError(f"the larder's own tables name {name!r}, which nothing carries")
        return found

    def finished(self, item: Ingredient, facts_of: str = "") -> Ingredient:
        """The ingredient with its density, pH, melting point, mass of a piece and packs, where any is known."""
        changes: dict[str, object] = {}
        notes = [item.note] if item.note else []
        for fact in self._facts.get(fold(facts_of or item.name), ()):
            low, high = float(fact["low"]), float(fact["high"])
            middle = (low + high) / 2
            match fact["quantity"]:
                case "ph":
                    changes["ph"] = round(middle, 2)
                    notes.append(f"pH {low:g} to {high:g}, {fact['status']} ({fact['source']})")
                case "density":
                    changes["density"] = middle
                case "bulk density":
                    changes["bulk_density"] = middle
                case "melting":
                    changes["melting"] = middle + 273.15
                case "piece mass":
                    changes["piece_mass"] = middle / 1000
        if not item.packs:
            changes["packs"] = self.packs_of((item.name, facts_of) if facts_of else (item.name,))
        return replace(item, note="; ".join(notes), **changes)  # type: ignore[arg-type]

    def packs_of(self, names: tuple[str, ...]) -> tuple[Pack, ...]:
        """Usual packs of a thing by the habit of the trade."""
        key = best_lead(self._pack_keys, names)
        return tuple(
            Pack(mass=float(row["mass_kg"]), name=row["pack"], pieces=int(row["pieces"]) if row["pieces"] else None)
            for row in self._packs.get(key or "", ())
        )

    def group(self, name: str) -> Mapping[str, str]:
        """Habits of a group of foods."""
        return self._groups[name]

    # ------------------------------------------------------------------ filling it

    def fill(self) -> Shelf:
        """Read the larder's files."""
        self._groups.update((row["group"], row) for row in read_csv("groups.csv"))
        for fact in read_csv("measured.csv"):
            self._facts.setdefault(fold(fact["name"]), []).append(fact)
        for pack in read_csv("packs.csv"):
            self._packs.setdefault(pack["name"], []).append(pack)
            self._pack_keys.setdefault(" ".join(folded_words(pack["name"])), pack["name"])
        for row in read_csv("names.csv"):
            self.rows[fold(row["name"])] = row
            which = "USDA" if row["prefer"] == "usda" else "Ciqual"
            self.put(
                row["name"],
                split_list(row["also"]),
                lambda row=row, which=which: self._from_table(row, which, row["name"]),  # type: ignore[misc]
            )
        for row in read_csv("colours.csv"):
            self.put(
                row["name"],
                (row["e_number"], *split_list(row["also"])),
                lambda row=row: self._colour(row),  # type: ignore[misc]
            )
        for row in read_csv("house.csv"):
            self.put(
                row["name"],
                split_list(row["also"]),
                lambda row=row: self._from_house(row),  # type: ignore[misc]
            )
        return self


_SWEET = frozenset(["pure sugar", "sugar", "syrup", "glaze", "icing", "bakery", "spirit", "chocolate"])
_SUGAR_KINDS = (
    Constituent.SUCROSE,
    Constituent.GLUCOSE,
    Constituent.FRUCTOSE,
    Constituent.GALACTOSE,
    Constituent.LACTOSE,
    Constituent.MALTOSE,
    Constituent.TREHALOSE,
    Constituent.UNKNOWN_SUGARS,
)


def _refuse(names: Mapping[str, str]) -> float | None:
    """Share thrown away of the item as bought, which only one of the tables prints."""
    return table("USDA")[names["usda"]].refuse if names["usda"] else None


def _additives(e_number: str, label_class: str, us_name: str) -> tuple[Additive, ...]:
    return (Additive(e_number=e_number, label_class=label_class, us_name=us_name),) if e_number else ()


def unknown_of(parts: Mapping[Constituent, float]) -> set[Constituent]:
    """What a make-up given by constituents leaves open: the kinds behind sugars or solids that are not told."""
    unknown: set[Constituent] = set()
    if parts.get(Constituent.UNKNOWN_SUGARS):
        unknown.update(kind for kind in _SUGAR_KINDS if kind not in parts)
    if parts.get(Constituent.UNKNOWN_SOLIDS):
        unknown.update(
            kind
            for kind in (Constituent.STARCH, Constituent.FIBRE, Constituent.PROTEIN, Constituent.ACIDS)
            if kind not in parts
        )
    return unknown


def plain_nutrients(parts: Mapping[Constituent, float], *, sweet: bool) -> Nutrients:
    """Nutrients that follow from a make-up by constituents alone; `sweet`: its sugars are added sugars."""
    total = sum(parts.values())
    known: dict[str, float] = {}
    fats = sum(parts.get(kind, 0.0) for kind in (Constituent.MILK_FAT, Constituent.COCOA_BUTTER, Constituent.OTHER_FAT))
    if not fats:
        known |= {"saturates": 0.0, "trans_fat": 0.0, "cholesterol": 0.0}
    if not parts.get(Constituent.ASH) and not parts.get(Constituent.UNKNOWN_SOLIDS):
        known["sodium"] = parts.get(Constituent.SALT, 0.0) * 0.3934 / total
        known |= {"potassium": 0.0, "calcium": 0.0, "iron": 0.0, "vitamin_d": 0.0}
    if not parts.get(Constituent.UNKNOWN_SOLIDS):
        known["protein_n625"] = parts.get(Constituent.PROTEIN, 0.0) / total
    sugars = sum(parts.get(kind, 0.0) for kind in _SUGAR_KINDS) / total
    known["added_sugars"] = sugars if sweet else 0.0
    return Nutrients.of(**known)


@lru_cache(maxsize=1)
def standard_shelf() -> Shelf:
    """The shelf that comes with demoule, filled once."""
    return Shelf().fill()
