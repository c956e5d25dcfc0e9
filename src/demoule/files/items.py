"""A chef's own items: the supplier's sheet as it is written, to an ingredient that wins over the tables."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any

from pydantic import BeforeValidator, Discriminator, Field, Tag, WithJsonSchema

from demoule.errors import BadInput, Mistake
from demoule.files.fields import (
    PH,
    Count,
    Density,
    Duration,
    Entry,
    Mass,
    Money,
    Name,
    Prose,
    Whole,
    complaint,
    complaints,
)
from demoule.files.tree import Tree
from demoule.larder import Ingredient, Keeping, Larder, Pack, own_item
from demoule.units import Kind, Quantity, parse

__all__ = ["ItemEntry", "PackEntry", "item_mistakes", "items_of"]


def _content(value: Any) -> float:
    """Grams in 100 g, from a mass ("36 g", "40 mg"), a percentage, or a bare number of grams."""
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        value = f"{value} g"
    try:
        quantity = parse("" if value is None else value, (Kind.MASS, Kind.PERCENT), zero=True)
    except BadInput as error:
        raise complaint(error) from None
    grams = quantity.value * (1000 if quantity.kind is Kind.MASS else 100)
    if grams > 100:
        raise complaints(f"“{value}” is more than 100 g in 100 g.", "write grams in 100 g.")
    return grams


Content = Annotated[
    float,
    BeforeValidator(_content),
    WithJsonSchema({"type": ["string", "number"], "description": "In 100 g.", "examples": ["36 g", "40 mg", "36 %"]}),
]


def _energy(value: Any) -> Quantity:
    try:
        return parse("" if value is None else value, Kind.ENERGY, zero=True)
    except BadInput as error:
        raise complaint(error) from None


Energy = Annotated[
    Quantity, BeforeValidator(_energy), WithJsonSchema({"type": "string", "examples": ["2300 kJ", "550 kcal"]})
]


class SheetEntry(Entry):
    """What 100 g hold, as a supplier's sheet tells it; what is not told stays unknown."""

    water: Content | None = None
    solids: Content | None = None
    fat: Content | None = None
    milk_fat: Content | None = Field(None, alias="milk fat")
    cocoa_butter: Content | None = Field(None, alias="cocoa butter")
    other_fat: Content | None = Field(None, alias="other fat")
    saturates: Content | None = None
    trans_fat: Content | None = Field(None, alias="trans fat")
    cholesterol: Content | None = None
    carbohydrate: Content | None = None
    sugars: Content | None = None
    sucrose: Content | None = None
    glucose: Content | None = None
    fructose: Content | None = None
    galactose: Content | None = None
    lactose: Content | None = None
    maltose: Content | None = None
    trehalose: Content | None = None
    maltotriose: Content | None = None
    polyols: Content | None = None
    sorbitol: Content | None = None
    glycerol: Content | None = None
    erythritol: Content | None = None
    starch: Content | None = None
    fibre: Content | None = None
    protein: Content | None = None
    acids: Content | None = None
    salt: Content | None = None
    ash: Content | None = None
    alcohol: Content | None = None
    sodium: Content | None = None
    potassium: Content | None = None
    calcium: Content | None = None
    iron: Content | None = None
    added_sugars: Content | None = Field(None, alias="added sugars")
    energy: Energy | None = None

    def grams(self) -> dict[str, float]:
        """What is told, under the names and in the units that the larder asks for."""
        told: dict[str, float] = {}
        if self.water is not None and self.solids is not None:
            raise BadInput("Water and solids are both told.", remedy="keep one of them.")
        for name in type(self).model_fields:
            value = getattr(self, name)
            if value is None:
                continue
            if name == "energy":
                in_kcal = str(value.unit).startswith("kcal")
                told["energy_kcal" if in_kcal else "energy_kj"] = value.value / (4184.0 if in_kcal else 1000.0)
            elif name in ("sodium", "potassium", "calcium", "iron", "cholesterol"):
                told[f"{name}_mg"] = value * 1000
            else:
                told[name] = value
        return told


class PackEntry(Entry):
    """One way in which it is bought."""

    name: Name
    holds: Mass
    price: Money | None = None
    pieces: Count | None = None

    def to_pack(self) -> Pack:
        """The pack."""
        return Pack(
            mass=self.holds,
            name=self.name,
            price=self.price.value if self.price else None,
            pieces=self.pieces,
        )


class KeepsEntry(Entry):
    """How long it keeps."""

    chilled: Duration | None = None
    frozen: Duration | None = None
    dry: Duration | None = None


def _price(value: Any) -> float:
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        if not 0 <= value < 1e6:
            raise complaints(f"“{value}” cannot be a price.", "write for example 9 EUR/kg.")
        return float(value)
    try:
        return parse("" if value is None else value, Kind.PRICE).value
    except BadInput as error:
        raise complaint(error) from None


PricePerKg = Annotated[
    float,
    BeforeValidator(_price),
    WithJsonSchema({"type": ["number", "string"], "description": "Per kg.", "examples": [5.2, "5.20 EUR/kg"]}),
]


def _words(value: Any) -> Any:
    return [part.strip() for part in value.split(",")] if isinstance(value, str) else value


Words = Annotated[list[Name], BeforeValidator(_words)]
_Shares = dict[Name, Annotated[Whole | None, Field()]]


def _branch(value: Any) -> str:
    return "<mapping>" if isinstance(value, dict) else "<list>"


Contents = Annotated[
    Annotated[_Shares, Tag("<mapping>")] | Annotated[Words, Tag("<list>")],
    Discriminator(_branch),
]


class AllergensEntry(Entry):
    """Allergens by the lists of each market, in the words of those lists."""

    eu: Words | None = Field(None, alias="EU")
    us: Words | None = Field(None, alias="US")


class ItemEntry(Entry):
    """An item of a chef's own, from its supplier's sheet or from a row of the larder that it is like."""

    like: Name | None = None
    per_100_g: SheetEntry = Field(default_factory=SheetEntry, alias="per 100 g")
    also: Words = Field(default_factory=list)
    group: Name = ""
    price: PricePerKg | None = None
    packs: list[PackEntry] = Field(default_factory=list)
    density: Density | None = None
    ph: PH | None = Field(None, alias="pH")
    edible: Whole | None = None
    allergens: AllergensEntry = Field(default_factory=AllergensEntry)
    alcohol: Whole | None = Field(None, alias="alcohol by volume")
    e_number: Name | None = Field(None, alias="E number")
    dye: Whole | None = None
    bloom: Annotated[float, Field(ge=30, le=400)] | None = None
    leaf: Mass | None = None
    label: Name = ""
    contains: Contents = Field(default_factory=list)
    traits: Words = Field(default_factory=list)
    keeps: KeepsEntry | None = None
    sheet: Prose = ""

    def to_ingredient(self, name: str, larder: Larder) -> Ingredient:
        """The ingredient."""
        contents = self.contains.items() if isinstance(self.contains, dict) else ((n, None) for n in self.contains)
        keeps = self.keeps
        return own_item(
            name,
            like=self.like,
            larder=larder,
            also=tuple(self.also),
            group=self.group,
            price=self.price,
            packs=tuple(pack.to_pack() for pack in self.packs),
            density_kg_per_m3=self.density,
            ph=self.ph,
            edible_percent=None if self.edible is None else self.edible * 100,
            allergens_eu=self.allergens.eu,
            allergens_us=self.allergens.us,
            alcohol_percent_vol=None if self.alcohol is None else self.alcohol * 100,
            e_number=self.e_number,
            dye_percent=None if self.dye is None else self.dye * 100,
            bloom=self.bloom,
            leaf_g=None if self.leaf is None else self.leaf * 1000,
            label_name=self.label,
            contents=tuple(contents),
            traits=tuple(self.traits),
            keeping=Keeping(chilled=keeps.chilled, frozen=keeps.frozen, dry=keeps.dry) if keeps else None,
            note=self.sheet,
            **self.per_100_g.grams(),
        )


def items_of(entries: Mapping[str, ItemEntry], larder: Larder) -> tuple[Ingredient, ...]:
    """The ingredients of a part `own items`; the error of an item says which."""
    made = []
    for name, entry in entries.items():
        try:
            made.append(entry.to_ingredient(name, larder))
        except BadInput as error:
            error.at(f"own items.{name}")
            raise
    return tuple(made)


def item_mistakes(entries: Mapping[str, ItemEntry], larder: Larder, tree: Tree) -> list[Mistake]:
    """What is wrong with the sheets, one mistake an item; names that nothing carries are told elsewhere."""
    found = []
    for name, entry in entries.items():
        try:
            if entry.like:
                larder.find(entry.like)
        except BadInput:
            continue
        try:
            entry.to_ingredient(name, larder)
        except BadInput as error:
            found.append(tree.mistake(("own items", name), error.says, error.remedy, key=True))
    return found
