"""What comes of several ingredients put together as a new one."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from demoule.composition import Composition
from demoule.larder.ingredient import Ingredient, Nutrients

__all__ = ["Mixed", "mix"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Mixed:
    """Composition, nutrients, allergens and traits of a mixture."""

    composition: Composition
    nutrients: Nutrients
    allergens_eu: frozenset[str]
    allergens_us: frozenset[str]
    allergens_told: bool
    traits: frozenset[str]


def mix(parts: Iterable[tuple[float, Ingredient]]) -> Mixed:
    """The mixture of masses of ingredients, in any unit of mass; allergens and traits are those of any part."""
    listed = [(mass, item) for mass, item in parts if mass > 0]
    masses = np.array([mass for mass, _ in listed])
    share = masses / masses.sum()
    amounts = share @ np.array([item.nutrients.amounts for _, item in listed])
    unknown = share @ np.array([item.nutrients.unknown for _, item in listed])
    return Mixed(
        composition=Composition.mixed((mass, item.composition) for mass, item in listed),
        nutrients=Nutrients(amounts=tuple(amounts.tolist()), unknown=tuple(np.clip(unknown, 0, 1).tolist())),
        allergens_eu=frozenset[str]().union(*(item.allergens_eu for _, item in listed)),
        allergens_us=frozenset[str]().union(*(item.allergens_us for _, item in listed)),
        allergens_told=all(item.allergens_told for _, item in listed),
        traits=frozenset[str]().union(*(item.traits for _, item in listed)),
    )
