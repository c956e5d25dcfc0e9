"""What a label declares of a food, unrounded, for one market's definitions, with the room left by what is not told."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from demoule.composition import FATS, POLYOLS, SACCHARIDES, SUGARS, Composition, Constituent
from demoule.dossier.energy import Market, declared_energy
from demoule.larder.ingredient import Ingredient, Nutrients
from demoule.units import Fraction, Kilogram

_C = Constituent

__all__ = ["Amounts", "Declared", "Parts", "declared_amounts", "mixed_nutrients"]

Parts = Sequence[tuple[Ingredient, Kilogram]]
"""Ingredients with the mass of each at the time of use."""

_TRACE = 0.02  # of the mass: less than that, untold, moves no mineral by a step of its daily value (judged)
_SODIUM_IN_SALT = 22.990 / 58.443
_SALT_PER_SODIUM = 2.5  # eu-1169-2011, Annex I
_AVAILABLE = np.array([*SACCHARIDES, _C.UNKNOWN_SUGARS, _C.STARCH])
_BY_DIFFERENCE = np.array([*_AVAILABLE, *POLYOLS, _C.FIBRE, _C.ACIDS])
_Group = Sequence[int] | npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Declared:
    """One declared quantity per gram of food: [g/g], energy in [kcal/g] or [kJ/g].

    Parameters
    ----------
    value
        From what is told.
    low, high
        The range that remains; `high` is None where no ceiling can be given.
    unknown
        Share of the mass for which it is not told and could matter, 0 to 1.
    """

    value: float
    low: float
    high: float | None
    unknown: Fraction = 0.0
    note: str = ""


Amounts = dict[str, Declared]
"""Declared quantities by key, in the order in which a label lists them."""


def mixed_nutrients(parts: Parts) -> Nutrients:
    """The label nutrients of a plain mixture, by mass."""
    masses = np.array([mass for _, mass in parts], dtype=float)
    share = masses / masses.sum()
    amounts = share @ np.array([ingredient.nutrients.amounts for ingredient, _ in parts])
    unknown = share @ np.array([ingredient.nutrients.unknown for ingredient, _ in parts])
    return Nutrients(amounts=tuple(amounts.tolist()), unknown=tuple(np.clip(unknown, 0, 1).tolist()))


def declared_amounts(
    composition: Composition, nutrients: Nutrients, parts: Parts, mass: Kilogram, market: Market
) -> Amounts:
    """Everything one market's declaration asks for.

    Parameters
    ----------
    composition, nutrients
        Of the finished food.
    parts
        What went into `mass` kg of it, for the ceilings of what is not told.
    mass
        Of the finished food that holds the parts [kg].
    """
    return _eu(composition, nutrients, parts, mass) if market == "EU" else _us(composition, nutrients, parts, mass)


def _eu(composition: Composition, nutrients: Nutrients, parts: Parts, mass: Kilogram) -> Amounts:
    protein = _label_protein(composition, nutrients, parts, mass)
    energy = declared_energy(composition, "EU", protein.value, fat_untold=_untold(parts, mass, FATS))
    x = composition.vector
    sodium = _nutrient("sodium", nutrients, parts, mass, _most_sodium)
    polyols = _group(composition, parts, mass, POLYOLS)
    carbohydrate = _with_untold(composition, float(x[_AVAILABLE].sum()) + polyols.value)
    amounts = {
        "energy_kj": _energy(energy.kj or 0.0, energy.kj_low or 0.0, energy.kj_high or 0.0, composition),
        "energy_kcal": _energy(energy.kcal, energy.kcal_low, energy.kcal_high, composition),
        "fat": _group(composition, parts, mass, FATS),
        "saturates": _nutrient("saturates", nutrients, parts, mass, _most_fat),
        "carbohydrate": carbohydrate,
        "sugars": _sugars(composition, parts, mass),
        "polyols": polyols,
        "fibre": _group(composition, parts, mass, [_C.FIBRE]),
        "protein": protein,
        "salt": Declared(
            value=_SALT_PER_SODIUM * sodium.value,
            low=_SALT_PER_SODIUM * sodium.low,
            high=None if sodium.high is None else _SALT_PER_SODIUM * sodium.high,
            unknown=sodium.unknown,
        ),
    }
    return _consistent(amounts, ("saturates", "fat"), ("sugars", "carbohydrate"))


def _us(composition: Composition, nutrients: Nutrients, parts: Parts, mass: Kilogram) -> Amounts:
    energy = declared_energy(composition, "US", fat_untold=_untold(parts, mass, FATS))
    x = composition.vector

    def of(name: str, ceiling: Callable[[Ingredient], float] | None) -> Declared:
        return _nutrient(name, nutrients, parts, mass, ceiling)

    amounts = {
        "calories": _energy(energy.kcal, energy.kcal_low, energy.kcal_high, composition),
        "total_fat": _group(composition, parts, mass, FATS),
        "saturated_fat": of("saturates", _most_fat),
        "trans_fat": of("trans_fat", _most_fat),
        "cholesterol": _nutrient("cholesterol", nutrients, parts, mass, None, holds=_of_animal),
        "sodium": of("sodium", _most_sodium),
        "total_carbohydrate": _with_untold(composition, float(x[_BY_DIFFERENCE].sum())),
        "fibre": _group(composition, parts, mass, [_C.FIBRE]),
        "total_sugars": _sugars(composition, parts, mass),
        "added_sugars": of("added_sugars", _most_sugars),
        "sugar_alcohol": _group(composition, parts, mass, POLYOLS),
        "protein": _group(composition, parts, mass, [_C.PROTEIN]),
        "vitamin_d": of("vitamin_d", None),
        "calcium": of("calcium", None),
        "iron": of("iron", None),
        "potassium": of("potassium", None),
    }
    return _consistent(amounts, ("saturated_fat", "total_fat"), ("total_sugars", "total_carbohydrate"))


def _untold(parts: Parts, mass: Kilogram, asked: _Group) -> float:
    """Untold solids [g/g] of those parts for which one of the constituents asked for is not told.

    Whatever a table leaves open lies in a part's untold solids: they are the ceiling of what it may hold besides.
    """
    return sum(
        part / mass * ingredient.composition[_C.UNKNOWN_SOLIDS]
        for ingredient, part in parts
        if max(ingredient.composition.unknown[i] for i in asked) > 0
    )


def _group(composition: Composition, parts: Parts, mass: Kilogram, asked: _Group) -> Declared:
    known = float(composition.vector[asked].sum())
    untold = _untold(parts, mass, asked)
    share = max(composition.unknown[i] for i in asked) if untold > 0 else 0.0
    return Declared(value=known, low=known, high=known + untold, unknown=share)


def _with_untold(composition: Composition, told: float) -> Declared:
    # Solids of which nothing is told count as carbohydrate: that is carbohydrate by difference.
    untold = composition[_C.UNKNOWN_SOLIDS]
    return Declared(value=told + untold, low=told, high=told + untold, unknown=untold)


def _sugars(composition: Composition, parts: Parts, mass: Kilogram) -> Declared:
    known = composition.sugars
    untold = _untold(parts, mass, [_C.UNKNOWN_SUGARS])
    share = composition.unknown[_C.UNKNOWN_SUGARS] if untold > 0 else 0.0
    return Declared(value=known, low=known, high=known + untold, unknown=share)


def _energy(value: float, low: float, high: float, composition: Composition) -> Declared:
    return Declared(value=value, low=low, high=high, unknown=composition[_C.UNKNOWN_SOLIDS])


def _label_protein(composition: Composition, nutrients: Nutrients, parts: Parts, mass: Kilogram) -> Declared:
    """Total nitrogen times 6.25; where it is not told, the protein by the food's own factor stands in for it."""
    known, untold = nutrients.amount("protein_n625"), nutrients.unknown_share("protein_n625")
    own = _group(composition, parts, mass, [_C.PROTEIN])
    if untold <= 0:
        return Declared(value=known, low=known, high=known)
    value = max(known, own.value)
    # Food-specific nitrogen factors run from 5.18 (almond) to 6.38 (milk).
    return Declared(
        value=value,
        low=max(known, own.low * 6.25 / 6.38),
        high=None if own.high is None else max(value, own.high * 6.25 / 5.18),
        unknown=untold if own.value > 0 or own.unknown > 0 else 0.0,
        note="protein by the food's own nitrogen factor where total nitrogen is not told",
    )


def _most_fat(ingredient: Ingredient) -> float:
    return _ceiling(ingredient.composition, FATS)


def _most_sugars(ingredient: Ingredient) -> float:
    composition = ingredient.composition
    untold = composition[_C.UNKNOWN_SOLIDS] if composition.unknown[_C.UNKNOWN_SUGARS] > 0 else 0.0
    return float(composition.vector[SUGARS].sum()) + composition[_C.UNKNOWN_SUGARS] + untold


def _most_sodium(ingredient: Ingredient) -> float:
    return _SODIUM_IN_SALT * _ceiling(ingredient.composition, [_C.SALT, _C.ASH])


def _ceiling(composition: Composition, group: _Group) -> float:
    untold = composition[_C.UNKNOWN_SOLIDS] if max(composition.unknown[i] for i in group) > 0 else 0.0
    return float(composition.vector[group].sum()) + untold


def _could_hold(ingredient: Ingredient) -> bool:
    """Whether an ingredient could hold vitamins, minerals or cholesterol at all: water and pure compounds cannot."""
    x = ingredient.composition.vector
    return float(x[[*FATS, _C.PROTEIN, _C.ASH, _C.FIBRE, _C.UNKNOWN_SOLIDS]].sum()) > 1e-6


def _of_animal(ingredient: Ingredient) -> bool:
    """Whether an ingredient may hold cholesterol: plants, sugars and salts do not."""
    animal = ingredient.traits & {"animal", "dairy", "raw egg", "gelatine fish"}
    told = ingredient.allergens_eu & {"milk", "eggs", "fish", "crustaceans", "molluscs"}
    return bool(animal or told) or (not ingredient.allergens_told and not ingredient.additives)


def _nutrient(
    name: str,
    nutrients: Nutrients,
    parts: Parts,
    mass: Kilogram,
    ceiling: Callable[[Ingredient], float] | None,
    holds: Callable[[Ingredient], bool] | None = None,
) -> Declared:
    known = nutrients.amount(name)
    if nutrients.unknown_share(name) <= 0:
        return Declared(value=known, low=known, high=known)
    most, untold = 0.0, 0.0
    for ingredient, part in parts:
        share = ingredient.nutrients.unknown_share(name) * part / mass
        # Common salt tells its own sodium, whatever else is left open.
        floor = _SODIUM_IN_SALT * ingredient.composition[_C.SALT] if name == "sodium" else 0.0
        limit = (ceiling(ingredient) if ceiling else float((holds or _could_hold)(ingredient))) - floor
        known += share * floor
        most += share * max(limit, 0.0)
        untold += share if limit > 1e-9 else 0.0
    if untold <= 0:
        return Declared(value=known, low=known, high=known)
    if ceiling is None and untold <= _TRACE:
        return Declared(value=known, low=known, high=known, unknown=untold)
    return Declared(value=known, low=known, high=known + most if ceiling else None, unknown=min(untold, 1.0))


def _consistent(amounts: Amounts, *pairs: tuple[str, str]) -> Amounts:
    """Make no part larger than its whole: the larger figure is taken for the whole, with a note that says so.

    It happens with real tables, where sugars are analysed and carbohydrate is found by difference.
    """
    for part, whole in pairs:
        inner, outer = amounts[part], amounts[whole]
        if inner.value > outer.value * (1 + 1e-9) + 1e-9:
            high = None if outer.high is None else max(outer.high, inner.value)
            note = f"{whole.replace('_', ' ')} raised to {part.replace('_', ' ')}, which the tables give as the larger"
            amounts[whole] = Declared(value=inner.value, low=outer.low, high=high, unknown=outer.unknown, note=note)
    return amounts
