"""A chef's own item or a supplier's sheet as an ingredient: what it tells holds, what it leaves out stays unknown."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import replace
from functools import lru_cache

import numpy as np

from demoule.composition import COUNT, FATS, POLYOLS, SUGARS, Composition, Constituent
from demoule.errors import BadInput, UnknownName
from demoule.figures import Status
from demoule.larder.allergens import allergen_names, in_other_market
from demoule.larder.ingredient import NUTRIENTS, Additive, Ingredient, Keeping, Nutrients, Pack, Record
from demoule.larder.larder import Larder, standard_larder
from demoule.larder.limits import colour_fact
from demoule.larder.naming import fold
from demoule.larder.spirits import ETHANOL_DENSITY, ethanol_by_mass
from demoule.larder.tables import read_csv
from demoule.units import FloatArray

__all__ = ["PER_100_G", "own_item"]

_C = Constituent
_SINGLE = {
    "water": _C.WATER,
    "milk_fat": _C.MILK_FAT,
    "cocoa_butter": _C.COCOA_BUTTER,
    "other_fat": _C.OTHER_FAT,
    "sucrose": _C.SUCROSE,
    "glucose": _C.GLUCOSE,
    "fructose": _C.FRUCTOSE,
    "galactose": _C.GALACTOSE,
    "lactose": _C.LACTOSE,
    "maltose": _C.MALTOSE,
    "trehalose": _C.TREHALOSE,
    "maltotriose": _C.MALTOTRIOSE,
    "sorbitol": _C.SORBITOL,
    "glycerol": _C.GLYCEROL,
    "erythritol": _C.ERYTHRITOL,
    "starch": _C.STARCH,
    "fibre": _C.FIBRE,
    "protein": _C.PROTEIN,
    "acids": _C.ACIDS,
    "salt": _C.SALT,
    "ash": _C.ASH,
    "alcohol": _C.ETHANOL,
}
_KINDS_OF = {
    "fat": tuple(FATS.tolist()),
    "sugars": (*SUGARS.tolist(), int(_C.UNKNOWN_SUGARS)),
    "polyols": tuple(POLYOLS.tolist()),
}
# Carbohydrate as the EU label counts it, without fibre.
_CARBOHYDRATE = (
    *_KINDS_OF["sugars"],
    *_KINDS_OF["polyols"],
    int(_C.MALTOTRIOSE),
    int(_C.DEXTRINS),
    int(_C.MALTODEXTRINS),
    int(_C.STARCH),
    int(_C.UNKNOWN_SOLIDS),
)
_UNTOLD_KIND = {"fat": _C.OTHER_FAT, "sugars": _C.UNKNOWN_SUGARS, "polyols": _C.OTHER_POLYOLS}
_NUTRIENT_OF = {
    "saturates": ("saturates", 0.01),
    "trans_fat": ("trans_fat", 0.01),
    "added_sugars": ("added_sugars", 0.01),
    "sodium_mg": ("sodium", 1e-5),
    "potassium_mg": ("potassium", 1e-5),
    "calcium_mg": ("calcium", 1e-5),
    "iron_mg": ("iron", 1e-5),
    "cholesterol_mg": ("cholesterol", 1e-5),
}
_ENERGY = ("energy_kj", "energy_kcal")

PER_100_G = (*_SINGLE, *_KINDS_OF, "carbohydrate", "solids", *_NUTRIENT_OF, *_ENERGY)
"""What a sheet may tell of 100 g: grams, or milligrams and kilojoules where the name says so."""

_SALT_SODIUM = 0.4  # the label's salt is sodium times 2.5
_SALT_PURE = 0.3934  # sodium in sodium chloride
_OVER = 101.0  # g that the parts of 100 g may come to through rounding


def own_item(
    name: str,
    *,
    like: str | Ingredient | None = None,
    larder: Larder | None = None,
    also: Iterable[str] = (),
    group: str = "",
    price: float | None = None,
    packs: Iterable[Pack] = (),
    density_kg_per_m3: float | None = None,
    ph: float | None = None,
    edible_percent: float | None = None,
    allergens_eu: Iterable[str] | None = None,
    allergens_us: Iterable[str] | None = None,
    alcohol_percent_vol: float | None = None,
    e_number: str | None = None,
    dye_percent: float | None = None,
    bloom: float | None = None,
    leaf_g: float | None = None,
    label_name: str = "",
    contents: Iterable[tuple[str, float | None]] = (),
    traits: Iterable[str] = (),
    keeping: Keeping | None = None,
    note: str = "",
    **per_100g: float | None,
) -> Ingredient:
    """An ingredient from the values of a supplier's sheet or of the chef's own measuring.

    Parameters
    ----------
    like
        A name of the larder, or an ingredient, that tells whatever is not given here; the result says so.
    larder
        Where `like` is looked up; None: the larder that comes with demoule.
    price
        Per kg as bought, in the kitchen's currency.
    allergens_eu, allergens_us
        Words of the markets' lists; None: not told. One list given alone tells the other as far as it can.
    alcohol_percent_vol
        Strength by volume at 20 °C; wants `density_kg_per_m3` for anything but a plain spirit.
    e_number, dye_percent
        Colour or additive ("E 160a", or several joined by "+"), and the pure substance in 100 g.
    per_100g
        Any of `PER_100_G`; what is not given stays unknown. Water that is not given is what is left when fat,
        carbohydrate and protein are told, and is marked as not told.

    Raises
    ------
    BadInput
        For values that cannot be: below zero, or parts that come to more than 100 g.
    UnknownName
        For a value or an allergen of no known name, or a `like` that is not in the larder.

    Examples
    --------
    >>> cream = own_item("cream of the valley", like="cream 35 %", fat=33, price=4.8)
    >>> round(cream.composition.fat, 3), cream.price
    (0.33, 4.8)
    >>> paste = own_item("fruit paste", water=40, sugars=55)
    >>> round(paste.composition[Constituent.UNKNOWN_SUGARS], 2)
    0.55
    """
    if not name.strip():
        raise BadInput("An own item has no name.", remedy="give it the name you weigh it by.")
    given = {key: float(value) for key, value in per_100g.items() if value is not None}
    for key, value in given.items():
        if key not in PER_100_G:
            raise UnknownName("value of 100 g", key, PER_100_G)
        if not np.isfinite(value) or value < 0 or (key not in _NUTRIENT_OF and key not in _ENERGY and value > 100):
            raise BadInput(f"“{key}” of {name} is {value:g} in 100 g.", remedy="give grams in 100 g, from 0 to 100.")
    base = (larder or standard_larder()).find(like) if isinstance(like, str) else like
    if "solids" in given:
        given.setdefault("water", 100 - given.pop("solids"))
        given.pop("solids", None)
    if alcohol_percent_vol is not None:
        given.setdefault("alcohol", _alcohol(alcohol_percent_vol, density_kg_per_m3, base))
        if base is None and not set(given) - {"alcohol"}:
            given["water"] = 100 - given["alcohol"]
    composition = _composition(name, given, base)
    eu, us, told = _allergens(allergens_eu, allergens_us, base)
    energy = ", ".join(f"{given[key]:g} {key.removeprefix('energy_')}" for key in _ENERGY if key in given)
    if energy:
        energy = f"the sheet gives {energy.replace('kj', 'kJ')} in 100 g"
    rest = f"what is not given is taken from {base.name} ({base.record.id})" if base is not None else ""
    fields = {
        "name": name,
        "also": tuple(also),
        "group": group or (base.group if base is not None else "own"),
        "composition": composition,
        "nutrients": _nutrients(given, composition, base),
        "record": Record(
            source="own-item",
            table_version="",
            id=f"{name}, like {base.record.id}" if base is not None else name,
            status=Status.JUDGED if base is not None else Status.READ,
        ),
        "allergens_eu": eu,
        "allergens_us": us,
        "allergens_told": told,
        "price": price,
        "packs": tuple(packs) or (base.packs if base is not None else ()),
        "traits": frozenset(traits) | (base.traits if base is not None else frozenset()),
        "note": "; ".join(part for part in (note, rest, energy) if part),
        "label_name": label_name or (base.label_name if base is not None else name),
    }
    optional: dict[str, object] = {
        "density": density_kg_per_m3,
        "ph": ph,
        "edible": None if edible_percent is None else edible_percent / 100,
        "bloom_strength": bloom,
        "leaf_mass": None if leaf_g is None else leaf_g / 1000,
        "keeping": keeping,
        "contents": tuple(contents) or None,
        "additives": _additives(e_number, dye_percent) or None,
    }
    _possible(name, density_kg_per_m3, ph, edible_percent, price)
    fields |= {key: value for key, value in optional.items() if value is not None}
    if base is None:
        return Ingredient(**fields)  # type: ignore[arg-type]
    return replace(base, **fields)  # type: ignore[arg-type]


def _possible(name: str, density: float | None, ph: float | None, edible: float | None, price: float | None) -> None:
    for value, low, high, what in (
        (density, 50.0, 25000.0, "density in kg/m³"),
        (ph, 0.0, 14.0, "pH"),
        (edible, 0.1, 100.0, "share that is left after trimming, in %"),
        (price, 0.0, 1e7, "price per kg"),
    ):
        if value is not None and not low <= value <= high:
            raise BadInput(f"The {what} of {name} is {value:g}.", remedy=f"it lies between {low:g} and {high:g}.")


def _alcohol(percent: float, density: float | None, base: Ingredient | None) -> float:
    """Ethanol in 100 g of a drink of a strength by volume."""
    if density is None and base is not None:
        density = base.density
    if density is None:
        return 100 * ethanol_by_mass(percent / 100)
    return percent * ETHANOL_DENSITY / density


def _composition(name: str, given: Mapping[str, float], base: Ingredient | None) -> Composition:
    fixed, untold, assumed = _fixed(name, given, base)
    sum_fixed = sum(fixed.values())
    if sum_fixed > _OVER:
        raise BadInput(
            f"The parts of 100 g of {name} come to {sum_fixed:.1f} g.",
            remedy="check the sheet: sugars are part of carbohydrate, saturates of fat, salt of ash.",
        )
    if base is not None:
        return _completed(fixed, untold, assumed, base)
    x = np.zeros(COUNT)
    u = np.zeros(COUNT)
    for kind, value in fixed.items():
        x[kind] = value
    u[[kind for kind in range(COUNT) if kind not in fixed and kind != _C.UNKNOWN_SOLIDS]] = 1.0
    for kind in untold:
        u[kind] = 1.0
    left = max(100.0 - sum_fixed, 0.0)
    if _C.WATER not in fixed:
        u[_C.WATER] = 1.0
    if left > 0:
        mostly_told = {"protein"} <= set(given) and ("carbohydrate" in given or "sugars" in given)
        fat_told = bool({"fat", "milk_fat", "cocoa_butter", "other_fat"} & set(given))
        if _C.WATER not in fixed and mostly_told and fat_told:
            x[_C.WATER] += left
        else:
            x[_C.UNKNOWN_SOLIDS] += left
            u[_C.UNKNOWN_SOLIDS] = 1.0 if _C.WATER not in fixed else u[_C.UNKNOWN_SOLIDS]
    return Composition(fractions=tuple((x / x.sum()).tolist()), unknown=tuple(u.tolist()))


def _fixed(
    name: str, given: Mapping[str, float], base: Ingredient | None
) -> tuple[dict[int, float], set[int], set[int]]:
    """Constituents that the sheet settles [g per 100 g], kinds it leaves untold, and kinds that `base` divides."""
    fixed: dict[int, float] = {}
    untold: set[int] = set()
    assumed: set[int] = set()
    for key, constituent in _SINGLE.items():
        if key in given:
            value = given[key]
            fixed[int(constituent)] = value * _SALT_SODIUM / _SALT_PURE if key == "salt" else value
    x: FloatArray | None = None if base is None else base.composition.vector
    for total, kinds in _KINDS_OF.items():
        if total not in given:
            continue
        named = [kind for kind in kinds if kind in fixed]
        left = given[total] - sum(fixed[kind] for kind in named)
        if left < -0.5:
            raise BadInput(
                f"{name}: the kinds of {total} come to more than the {given[total]:g} g given for all of them.",
                remedy=f"give {total} as the sum of its kinds, or leave it out.",
            )
        left = max(left, 0.0)
        rest = [kind for kind in kinds if kind not in named]
        weights = x[rest] if x is not None else np.zeros(len(rest))
        if float(weights.sum()) > 0:
            fixed |= {kind: left * float(w) for kind, w in zip(rest, weights / weights.sum(), strict=True)}
            assumed.update(kind for kind in rest if kind != int(_C.UNKNOWN_SUGARS))
        else:
            fixed |= dict.fromkeys(rest, 0.0)
            untold_kind = int(_UNTOLD_KIND[total])
            fixed[untold_kind] = fixed.get(untold_kind, 0.0) + left
            # Which fat it is leaves the mass of fat no less told; a rest within rounding is no sugar of another kind.
            if total != "fat" and left > max(0.1, 0.02 * given[total]):
                untold.update(kind for kind in rest if kind != int(_C.UNKNOWN_SUGARS))
    if "carbohydrate" in given:
        named_sum = sum(fixed.get(kind, 0.0) for kind in _CARBOHYDRATE)
        left = given["carbohydrate"] - named_sum
        if left < -0.5:
            raise BadInput(
                f"{name}: sugars, starch and polyols come to {named_sum:g} g, "
                f"carbohydrate to {given['carbohydrate']:g} g.",
                remedy="carbohydrate includes sugars, starch and polyols: check the sheet.",
            )
        rest = [kind for kind in _CARBOHYDRATE if kind not in fixed]
        weights = x[rest] if x is not None and rest else np.zeros(len(rest))
        if float(weights.sum()) > 0:
            fixed |= {kind: max(left, 0.0) * float(w) for kind, w in zip(rest, weights / weights.sum(), strict=True)}
            assumed.update(rest)
        else:
            fixed[int(_C.UNKNOWN_SOLIDS)] = fixed.get(int(_C.UNKNOWN_SOLIDS), 0.0) + max(left, 0.0)
            untold.update(kind for kind in rest if kind != int(_C.UNKNOWN_SOLIDS))
    return fixed, untold, assumed


def _completed(fixed: Mapping[int, float], untold: set[int], assumed: set[int], base: Ingredient) -> Composition:
    """What is fixed, and the rest in the proportions of the ingredient it is like."""
    x = 100 * base.composition.vector
    u = np.array(base.composition.unknown)
    rest = [kind for kind in range(COUNT) if kind not in fixed]
    for kind, value in fixed.items():
        x[kind] = value
        u[kind] = 1.0 if kind in untold else u[kind] if kind in assumed else 0.0
    left = 100.0 - sum(fixed.values())
    others = float(x[rest].sum())
    if left <= 0:
        x[rest] = 0.0
    elif others > 0:
        x[rest] *= left / others
    else:
        x[_C.UNKNOWN_SOLIDS] += left
        u[_C.UNKNOWN_SOLIDS] = 1.0
    return Composition(fractions=tuple((x / x.sum()).tolist()), unknown=tuple(np.clip(u, 0, 1).tolist()))


def _nutrients(given: Mapping[str, float], composition: Composition, base: Ingredient | None) -> Nutrients:
    amounts = dict.fromkeys(NUTRIENTS, 0.0)
    unknown = dict.fromkeys(NUTRIENTS, 1.0)
    if base is not None:
        amounts |= dict(zip(NUTRIENTS, base.nutrients.amounts, strict=True))
        unknown |= dict(zip(NUTRIENTS, base.nutrients.unknown, strict=True))
        fat = base.composition.fat
        for name, before, after in (
            ("saturates", fat, composition.fat),
            ("trans_fat", fat, composition.fat),
            ("cholesterol", fat, composition.fat),
            ("protein_n625", base.composition[_C.PROTEIN], composition[_C.PROTEIN]),
            ("added_sugars", base.composition.sugars, composition.sugars),
        ):
            amounts[name] *= after / before if before > 0 else 1.0
    told: dict[str, float] = {}
    if "salt" in given:
        told["sodium"] = given["salt"] * _SALT_SODIUM / 100
    if "protein" in given:
        told["protein_n625"] = given["protein"] / 100  # a sheet for a label counts nitrogen times 6.25
    if given.get("fat") == 0:
        told |= {"saturates": 0.0, "trans_fat": 0.0}
    if given.get("sugars") == 0:
        told["added_sugars"] = 0.0
    told |= {name: given[key] * factor for key, (name, factor) in _NUTRIENT_OF.items() if key in given}
    for name, amount in told.items():
        amounts[name], unknown[name] = amount, 0.0
    return Nutrients(amounts=tuple(amounts.values()), unknown=tuple(unknown.values()))


def _allergens(
    eu: Iterable[str] | None, us: Iterable[str] | None, base: Ingredient | None
) -> tuple[frozenset[str], frozenset[str], bool]:
    if eu is None and us is None:
        if base is None:
            return frozenset(), frozenset(), False
        return base.allergens_eu, base.allergens_us, base.allergens_told
    by_eu = allergen_names(eu, "EU") if eu is not None else None
    by_us = allergen_names(us, "US") if us is not None else None
    if by_eu is None:
        assert by_us is not None
        by_eu = in_other_market(by_us, "US")
    if by_us is None:
        by_us = in_other_market(by_eu, "EU")
    return by_eu, by_us, True


def _additives(e_numbers: str | None, dye_percent: float | None) -> tuple[Additive, ...]:
    if not e_numbers:
        return ()
    listed = [part.strip() for part in re.split(r"[+;]", e_numbers) if part.strip()]
    share = dye_percent / 100 if dye_percent is not None and len(listed) == 1 else None
    made = []
    for number in listed:
        try:
            fact = colour_fact(number)
        except UnknownName:
            label_class, us_name = _additive_classes().get(fold(number), ("", ""))
            made.append(Additive(e_number=number, label_class=label_class, us_name=us_name, share=share))
            continue
        made.append(Additive(e_number=fact.e_number, label_class="colour", us_name=fact.us_name, share=share))
    return tuple(made)


@lru_cache(maxsize=1)
def _additive_classes() -> Mapping[str, tuple[str, str]]:
    """Label class and US name of the additives on the shelf, by folded E number."""
    found: dict[str, tuple[str, str]] = {}
    for row in (*read_csv("house.csv"), *read_csv("names.csv")):
        if row["e_number"]:
            found.setdefault(fold(row["e_number"]), (row["additive_class"], row.get("us_name") or row["name"]))
    return found
