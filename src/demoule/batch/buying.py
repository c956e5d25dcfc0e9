"""What must be bought, in whole packs, and what it costs."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from demoule.batch.weighing import Buying
from demoule.larder.ingredient import Ingredient, Pack
from demoule.units import Fraction, Kilogram

__all__ = ["buying_of", "packs_for"]

IN_PACK: Fraction = 0.008
"""Share of what is bought that stays in cartons, tubs and on the scale (practice)."""


def buying_of(ingredient: Ingredient, weighed: Kilogram, consumed: Kilogram, on_shelf: Kilogram = 0.0) -> Buying:
    """One line of the shopping list.

    Parameters
    ----------
    weighed
        Weighed for all makings [kg].
    consumed
        Of that, what does not come back from baths, guns and sheets [kg]; its cost is the cost of the pieces.
    on_shelf
        In the pantry [kg, as bought].
    """
    gross = _as_bought(ingredient, weighed)
    price = price_per_kilogram(ingredient)
    packs = packs_for(ingredient.packs, max(gross - on_shelf, 0.0))
    priced = all(pack.price is not None for pack, _ in packs)
    by_pack = sum((pack.price or 0.0) * number for pack, number in packs)
    if not packs or not priced:
        pack_cost = None if price is None else price * max(gross - on_shelf, sum(p.mass * n for p, n in packs))
    else:
        pack_cost = by_pack
    return Buying(
        ingredient=ingredient,
        need=gross,
        packs=packs,
        cost_used=None if price is None else price * _as_bought(ingredient, consumed),
        cost_packs=pack_cost,
    )


def _as_bought(ingredient: Ingredient, mass: Kilogram) -> Kilogram:
    """Mass to buy so that, trimmed and scraped out of its pack, `mass` is left [kg]; tap water has no pack."""
    if _free(ingredient):
        return mass
    return mass / (ingredient.edible * (1 - IN_PACK))


def _free(ingredient: Ingredient) -> bool:
    return ingredient.is_water and not ingredient.packs


def price_per_kilogram(ingredient: Ingredient) -> float | None:
    """Price of a kilogram as bought: as told, else of the cheapest pack by weight; tap water is free; else unknown."""
    if ingredient.price is not None:
        return ingredient.price
    prices = [pack.price / pack.mass for pack in ingredient.packs if pack.price is not None]
    if prices:
        return min(prices)
    return 0.0 if _free(ingredient) else None


def packs_for(packs: Sequence[Pack], need: Kilogram) -> tuple[tuple[Pack, int], ...]:
    """The packs that cover a need: the cheapest set, or without prices the one that leaves least over.

    Examples
    --------
    >>> tub, box = Pack(mass=1.0, name="1 kg tub", price=9.0), Pack(mass=5.0, name="5 kg box", price=40.0)
    >>> [(pack.name, number) for pack, number in packs_for([tub, box], 6.2)]
    [('5 kg box', 1), ('1 kg tub', 2)]
    """
    if not packs or need <= 0:
        return ()
    sizes = sorted(packs, key=lambda pack: -pack.mass)
    priced = all(pack.price is not None for pack in sizes)

    def worth(choice: Mapping[int, int]) -> tuple[float, float, int]:
        cost = sum((sizes[k].price or 0.0) * number for k, number in choice.items()) if priced else 0.0
        mass = sum(sizes[k].mass * number for k, number in choice.items())
        return round(cost, 9), round(mass, 9), sum(choice.values())

    best: dict[int, int] | None = None

    def choose(k: int, left: Kilogram, chosen: dict[int, int]) -> None:
        nonlocal best
        if left <= 1e-9 or k == len(sizes) - 1:
            done = chosen if left <= 1e-9 else {**chosen, k: math.ceil(left / sizes[k].mass - 1e-9)}
            if best is None or worth(done) < worth(best):
                best = done
            return
        most = math.ceil(left / sizes[k].mass - 1e-9)
        # Few of the bigger packs less than fill the need are worth a look; a hundred less are not.
        for number in range(max(most - 6, 0), most + 1):
            choose(k + 1, left - number * sizes[k].mass, {**chosen, k: number} if number else chosen)

    choose(0, need, {})
    assert best is not None  # the smallest pack always covers what is left
    return tuple((sizes[k], number) for k, number in best.items() if number)
