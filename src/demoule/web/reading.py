"""Texts of kitchens and desserts as the numerics read them, the last ones remembered."""

from __future__ import annotations

import json
from dataclasses import replace
from functools import lru_cache

from demoule.batch import Kitchen, plain_kitchen
from demoule.errors import BadInput
from demoule.files import desserts_of, kitchen_of
from demoule.files.text import bounded
from demoule.larder import standard_larder
from demoule.worked import Dessert

__all__ = ["dessert_in", "kitchen_in"]

REMEMBERED = 48


@lru_cache(maxsize=8)
def kitchen_in(text: str, prices: str = "") -> Kitchen:
    """The kitchen of a text, or a plain one; prices of the memory win over those of its file."""
    larder = standard_larder()
    kitchen = kitchen_of(text, "kitchen", larder) if text else plain_kitchen(larder)
    told = json.loads(prices) if prices else {}
    return replace(kitchen, larder=kitchen.larder.with_prices(told)) if told else kitchen


@lru_cache(maxsize=REMEMBERED)
def dessert_in(text: str, kitchen: str, prices: str) -> Dessert:
    """The one dessert of a text, read in a kitchen."""
    place = kitchen_in(kitchen, prices)
    desserts = desserts_of(bounded(text, "dessert"), "dessert", place.larder, place)
    if len(desserts) != 1:
        raise BadInput(f"The text holds {len(desserts)} desserts.", remedy="keep one dessert in one text.")
    return desserts[0]
