"""What an ingredient is, in one frozen value."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Self

from demoule.composition import Composition
from demoule.figures import Status
from demoule.units import Fraction, Kelvin, Kilogram, KilogramPerCubicMetre, MassFraction, Second

__all__ = ["NUTRIENTS", "Additive", "Ingredient", "Keeping", "Nutrients", "Pack", "Record"]

NUTRIENTS = (
    "saturates",  # kg/kg
    "trans_fat",  # kg/kg
    "cholesterol",  # kg/kg
    "sodium",  # kg/kg, natural sodium and that of salt together
    "protein_n625",  # kg/kg, total nitrogen times 6.25, the protein of the EU label
    "potassium",  # kg/kg
    "calcium",  # kg/kg
    "iron",  # kg/kg
    "vitamin_d",  # kg/kg
    "added_sugars",  # kg/kg, for the US label
)
"""What a label asks for beside the constituents; mass per mass of the ingredient."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Nutrients:
    """Amounts in the order of `NUTRIENTS` [kg/kg], and for each the share of the mass for which it is not known."""

    amounts: tuple[float, ...] = (0.0,) * len(NUTRIENTS)
    unknown: tuple[float, ...] = (1.0,) * len(NUTRIENTS)

    @classmethod
    def of(cls, **known: float) -> Self:
        """Nutrients of an ingredient; whatever is not named stays unknown."""
        wrong = set(known) - set(NUTRIENTS)
        if wrong:
            raise ValueError(f"not nutrients: {sorted(wrong)}")
        return cls(
            amounts=tuple(known.get(name, 0.0) for name in NUTRIENTS),
            unknown=tuple(0.0 if name in known else 1.0 for name in NUTRIENTS),
        )

    def amount(self, name: str) -> float:
        """What is known of one nutrient [kg/kg]."""
        return self.amounts[NUTRIENTS.index(name)]

    def unknown_share(self, name: str) -> float:
        """Share of the mass for which one nutrient is not known."""
        return self.unknown[NUTRIENTS.index(name)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """Where the facts of an ingredient were read."""

    source: str  # key in sources.toml
    table_version: str  # "release 28", "2020", or empty
    id: str  # record in that table
    status: Status


@dataclass(frozen=True, slots=True, kw_only=True)
class Pack:
    """One way in which the ingredient is bought."""

    mass: Kilogram
    name: str  # "1 l carton"
    price: float | None = None  # of the whole pack, in the kitchen's currency
    pieces: int | None = None  # leaves, pods, eggs in the pack


@dataclass(frozen=True, slots=True, kw_only=True)
class Keeping:
    """How long it keeps, by the habit of the trade unless a supplier's sheet says otherwise."""

    chilled: Second | None = None
    frozen: Second | None = None
    dry: Second | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Additive:
    """What the law asks about an additive or a colour."""

    e_number: str  # "E 160a"
    label_class: str  # "colour", "gelling agent", "stabiliser", "acid", "emulsifier", "sweetener"
    us_name: str = ""
    share: MassFraction | None = None  # pure substance in the ingredient; None when the supplier's sheet must say


@dataclass(frozen=True, slots=True, kw_only=True)
class Ingredient:
    """An ingredient of the larder: facts, each with its source, and what is not known left open.

    Parameters
    ----------
    name
        The name a chef writes; `also` holds other spellings (French, US).
    composition, nutrients
        As it goes into the bowl, after trimming.
    edible
        Share of the bought mass that is left after trimming.
    price
        Per kg as bought, in the kitchen's currency; None when not told.
    label_name, contents
        How it stands in an ingredient list; a compound ingredient lists what it is made of with mass shares
        (names are ingredients of the larder or plain words), in which an unknown share is None.
    traits
        Plain words that rules ask for: "proteolytic", "raw egg", "dairy", "alcohol", "gelatine fish", "fat colour",
        "water colour", "metal", "lustre", "not food", "stone kernel", "animal", "nut".
    bloom_strength, leaf_mass
        For gelatine: Bloom strength [g], mass of one leaf.
    """

    name: str
    composition: Composition
    record: Record
    also: tuple[str, ...] = ()
    group: str = ""
    nutrients: Nutrients = field(default_factory=Nutrients)
    density: KilogramPerCubicMetre | None = None
    bulk_density: KilogramPerCubicMetre | None = None  # of a powder as spooned into a cup
    ph: float | None = None
    edible: Fraction = 1.0
    price: float | None = None
    packs: tuple[Pack, ...] = ()
    keeping: Keeping = field(default_factory=Keeping)
    allergens_eu: frozenset[str] = frozenset()
    allergens_us: frozenset[str] = frozenset()
    allergens_told: bool = True  # False: only the supplier's sheet can say
    additives: tuple[Additive, ...] = ()
    label_name: str = ""
    contents: tuple[tuple[str, float | None], ...] = ()
    traits: frozenset[str] = frozenset()
    bloom_strength: float | None = None
    leaf_mass: Kilogram | None = None
    piece_mass: Kilogram | None = None  # of one egg, one pod
    melting: Kelvin | None = None
    note: str = ""

    @property
    def is_water(self) -> bool:
        """Whether it is plain water, from the tap or not; a colour or a scent in water is not."""
        plain = not self.additives and not self.traits and self.group in ("water", "")
        return plain and self.composition.water > 0.995
