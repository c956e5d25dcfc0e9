"""One piece as a list of what went into it, through every layer and every component inside a component."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from demoule.composition import Composition
from demoule.dossier.amounts import Parts
from demoule.larder.ingredient import Ingredient, Nutrients
from demoule.units import Kilogram

if TYPE_CHECKING:
    from demoule.worked import Worked

__all__ = ["PieceContents", "Use", "contents_of_layer", "contents_of_piece", "merged"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Use:
    """One ingredient in one layer of a piece, at the time of use [kg per piece]."""

    ingredient: Ingredient
    layer: str  # the layer's component
    mass: Kilogram


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PieceContents:
    """What one piece is made of, garnish that is eaten among it.

    Parameters
    ----------
    mass
        Of the finished piece, eaten garnish of known weight included [kg].
    unweighed
        Eaten garnish whose mass or ingredient is not told.
    """

    mass: Kilogram
    composition: Composition
    nutrients: Nutrients
    uses: tuple[Use, ...]
    unweighed: tuple[str, ...]

    @property
    def parts(self) -> Parts:
        """Every ingredient once, with its mass per piece at the time of use, the heaviest first."""
        return merged([(use.ingredient, use.mass) for use in self.uses])


def merged(parts: Parts) -> Parts:
    """Every ingredient once, the heaviest first; ingredients are told apart by name."""
    by_name: dict[str, tuple[Ingredient, float]] = {}
    for ingredient, mass in parts:
        known, sofar = by_name.get(ingredient.name, (ingredient, 0.0))
        by_name[ingredient.name] = (known, sofar + mass)
    return sorted(by_name.values(), key=lambda entry: -entry[1])


def contents_of_layer(worked: Worked, component: str, mass: Kilogram) -> tuple[Use, ...]:
    """What went into a mass of a component [kg]."""
    return tuple(
        Use(ingredient=content.ingredient, layer=component, mass=content.mass * mass)
        for content in worked.cooked[component].contents
    )


def contents_of_piece(worked: Worked) -> PieceContents:
    """What one finished piece is made of."""
    uses: list[Use] = []
    unweighed: list[str] = []
    masses: list[Kilogram] = []
    compositions: list[Composition] = []
    nutrients: list[Nutrients] = []
    for layer in worked.piece.layers:
        uses.extend(contents_of_layer(worked, layer.component, layer.mass))
        masses.append(layer.mass)
        compositions.append(layer.composition)
        nutrients.append(worked.cooked[layer.component].nutrients)
    for garnish in worked.piece.garnishes:
        if not garnish.eaten:
            continue
        ingredient = worked.larder.find(garnish.ingredient) if garnish.ingredient is not None else None
        each = garnish.mass or (ingredient.piece_mass if ingredient is not None else None)
        if ingredient is None or each is None:
            unweighed.append(garnish.what)
            continue
        mass = each * garnish.count
        uses.append(Use(ingredient=ingredient, layer=garnish.what, mass=mass))
        masses.append(mass)
        compositions.append(ingredient.composition)
        nutrients.append(ingredient.nutrients)
    weights = np.array(masses)
    share = weights / weights.sum()
    return PieceContents(
        mass=float(weights.sum()),
        composition=Composition.mixed(zip(masses, compositions, strict=True)),
        nutrients=Nutrients(
            amounts=tuple((share @ np.array([n.amounts for n in nutrients])).tolist()),
            unknown=tuple(np.clip(share @ np.array([n.unknown for n in nutrients]), 0, 1).tolist()),
        ),
        uses=tuple(uses),
        unweighed=tuple(unweighed),
    )
