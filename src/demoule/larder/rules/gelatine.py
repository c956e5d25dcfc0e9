"""Gelatine by its Bloom strength, as powder or leaf, from beef, pork or fish."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

from demoule.composition import Composition
from demoule.errors import BadInput
from demoule.larder.ingredient import Ingredient
from demoule.larder.mixing import mix
from demoule.larder.rules.asked import Asked
from demoule.larder.shelf import Shelf
from demoule.larder.tables import read_csv

__all__ = ["LeafGrade", "gelatine", "leaf_grades"]

_LEAST_BLOOM, _MOST_BLOOM = 30, 320
_ORIGINS = {
    "beef": ("beef", "bovine", "boeuf", "bovin"),
    "pork": ("pork", "porcine", "porc", "pig"),
    "fish": ("fish", "poisson"),
}
_GRADES = {
    "gold": ("gold", "or"),
    "silver": ("silver", "argent"),
    "bronze": ("bronze",),
    "platinum": ("platinum", "platine"),
}
_LEAF = ("leaf", "sheet", "feuille")
_POWDER = ("powder", "poudre", "granule", "granulated")
_WORDS = frozenset(
    [
        "gelatine",
        "bloom",
        "g",
        "grade",
        "mass",
        "masse",
        "alimentaire",
        "extra",
        "hydrated",
        "1:5",
        "1:6",
        *_LEAF,
        *_POWDER,
        *(word for words in (*_ORIGINS.values(), *_GRADES.values()) for word in words),
    ]
)
_MASS_WATER = 5.0  # kg water to 1 kg gelatine in a gelatine mass (practice)


@dataclass(frozen=True, slots=True, kw_only=True)
class LeafGrade:
    """One grade of leaf: the Bloom strengths sold under its name, the usual one, and the mass of a leaf [kg]."""

    name: str
    least: float
    most: float
    usual: float
    leaf_mass: float


@lru_cache(maxsize=1)
def leaf_grades() -> tuple[LeafGrade, ...]:
    """The grades of gelatine leaf, weakest first."""
    return tuple(
        LeafGrade(
            name=row["grade"],
            least=float(row["bloom_least_g"]),
            most=float(row["bloom_most_g"]),
            usual=float(row["bloom_usual_g"]),
            leaf_mass=float(row["leaf_mass_g"]) / 1000,
        )
        for row in read_csv("gelatine_leaf.csv")
    )


def _grade(asked: Asked, bloom: float | None) -> LeafGrade | None:
    for grade in leaf_grades():
        if asked.has(*_GRADES[grade.name]):
            return grade
        if bloom is not None and grade.least <= bloom <= grade.most:
            return grade
    return None


def gelatine(asked: Asked, shelf: Shelf) -> Ingredient | None:
    """ "gelatine 200 bloom", "gelatine powder 220 bloom", "gold leaf gelatine", "fish gelatine 240 bloom"."""
    if not asked.has("gelatine") or asked.without(_WORDS):
        return None
    bloom = asked.number(r"(\d+(?:\.\d+)?) (?:g )?bloom|bloom (\d+(?:\.\d+)?)|\b(\d{2,3})\b(?! ?%)")
    if bloom is not None and not _LEAST_BLOOM <= bloom <= _MOST_BLOOM:
        raise BadInput(
            f"A Bloom strength of {bloom:g} is outside {_LEAST_BLOOM} to {_MOST_BLOOM}.",
            remedy="read it from the box: most gelatine for pastry has 140 to 260 g Bloom.",
        )
    leaf, powder = asked.has(*_LEAF), asked.has(*_POWDER)
    grade = None if powder else _grade(asked, bloom)
    if bloom is None and grade is not None:
        bloom = grade.usual
    origin = next((name for name, words in _ORIGINS.items() if asked.has(*words)), None)

    base = shelf.get("gelatine powder")
    assert base is not None
    shape = " leaf" if leaf else " powder" if powder else ""
    name = (f"{origin} " if origin else "") + "gelatine" + shape + (f" {bloom:g} bloom" if bloom else "")
    fish = frozenset(["fish"]) if origin == "fish" else frozenset[str]()
    notes = []
    if bloom is None:
        notes.append("its Bloom strength is not told, so gels cannot be computed")
    if origin is None:
        notes.append("beef, pork or fish is not told: ask, for allergens, faith and choice")
    if grade is not None and not powder:
        notes.append(f"as leaf: grade {grade.name}, {grade.leaf_mass * 1000:g} g a leaf")
    made = replace(
        base,
        name=name,
        also=("gélatine" + (f" {bloom:g} bloom" if bloom else ""),),
        group="gelling",
        allergens_eu=fish,
        allergens_us=fish,
        allergens_told=origin is not None,
        traits=frozenset(["gelatine", "animal", "gelling"]) | ({f"gelatine {origin}"} if origin else frozenset()),
        label_name=f"{origin} gelatine" if origin else "gelatine",
        bloom_strength=bloom,
        leaf_mass=grade.leaf_mass if grade is not None else None,
        packs=shelf.packs_of(("gelatine powder" if powder or grade is None else "gelatine leaf",)),
        note="; ".join(notes),
    )
    if asked.has("mass", "masse", "hydrated"):
        return _mass(made, shelf, _MASS_WATER)
    return made


def _mass(dry: Ingredient, shelf: Shelf, water: float) -> Ingredient:
    """Gelatine already swollen in its water."""
    drink = shelf.get("water")
    assert drink is not None
    mixed = mix([(1.0, dry), (water, drink)])
    composition: Composition = mixed.composition
    return replace(
        dry,
        name=dry.name.replace("gelatine", "gelatine mass"),
        also=("masse gélatine",),
        composition=composition,
        nutrients=mixed.nutrients,
        contents=((dry.name, 1 / (1 + water)), ("water", water / (1 + water))),
        leaf_mass=None,
        packs=(),
        note=f"1 part gelatine and {water:g} parts water; " + dry.note,
    )
