"""Couvertures by the cocoa they hold, and by fat or sugar where the bag tells it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from demoule.composition import Composition, Constituent
from demoule.errors import BadInput
from demoule.figures import Status
from demoule.larder.ingredient import Additive, Ingredient, Record
from demoule.larder.mixing import mix
from demoule.larder.naming import word_set
from demoule.larder.rules.asked import Asked
from demoule.larder.shelf import Shelf

__all__ = ["chocolate"]

_WORDS = word_set(
    """
    chocolate chocolat couverture dark noir noire black bittersweet plain milk lait lactee white blanc blanche
    ivory ivoire cocoa cacao fat mg matiere grasse sugar sucre min minimum drop callet pistole pistol chip bar
    extra bitter amer solid of fondant coating
    """
)
_RANGE = {"dark": (30.0, 99.0), "milk": (20.0, 60.0), "white": (20.0, 45.0)}
_NAMED_AFTER = {"dark": "cocoa", "milk": "cocoa", "white": "cocoa butter"}
_SMALL = 0.5  # kg lecithin and vanilla in 100 kg (practice)

# Fat of dark chocolate at the middle of the cocoa class of three USDA rows (19902, 19903, 19904) [kg/100 kg].
_DARK_COCOA, _DARK_FAT = (52.0, 64.5, 77.5), (31.28, 38.31, 42.63)
_LIQUOR_FAT = 0.5231  # USDA 19078, cocoa mass
# Sugar and whole milk powder in 100 kg of the Ciqual chocolates, by sucrose and lactose (powder: 37.5 % lactose).
_MILK_SUGAR, _MILK_POWDER = 42.3, 10.8 / 0.375  # 31004
_MILK_BUTTER_OF_COCOA = 0.566  # added cocoa butter in the cocoa of 31004, so that its fat comes to 30.8
_WHITE_SUGAR, _WHITE_POWDER = 43.4, 10.7 / 0.375  # 31010


def _split(kind: str, cocoa: float, fat: float | None, sugar: float | None) -> list[tuple[float, str]]:
    """What 100 kg are made of."""
    rest = 100 - _SMALL - cocoa
    if kind == "dark":
        sugar = rest if sugar is None else min(sugar, rest)
        if fat is None:
            if cocoa < _DARK_COCOA[0]:
                fat = _DARK_FAT[0] * cocoa / _DARK_COCOA[0]
            else:
                fat = float(np.interp(cocoa, _DARK_COCOA, _DARK_FAT))
            fat = max(fat, _LIQUOR_FAT * cocoa + _SMALL)
        butter = (fat - _SMALL - _LIQUOR_FAT * cocoa) / (1 - _LIQUOR_FAT)  # lecithin counts as fat
        if not -1.0 <= butter <= cocoa:
            raise BadInput(
                f"Dark chocolate of {cocoa:g} % cocoa cannot hold {fat:g} % fat.",
                remedy=f"its fat lies between {_LIQUOR_FAT * cocoa:.0f} and {cocoa:g} %.",
            )
        return [(max(cocoa - butter, 0.0), "cocoa mass"), (sugar, "sugar"), (max(butter, 0.0), "cocoa butter")]
    if kind == "milk":
        share = _MILK_SUGAR / (_MILK_SUGAR + _MILK_POWDER)
        sugar = rest * share if sugar is None else min(sugar, rest)
        powder = rest - sugar
        butter = cocoa * _MILK_BUTTER_OF_COCOA
        if fat is not None:
            butter = (fat - _SMALL - 0.268 * powder - _LIQUOR_FAT * cocoa) / (1 - _LIQUOR_FAT)
            if not 0 <= butter <= cocoa:
                raise BadInput(
                    f"Milk chocolate of {cocoa:g} % cocoa cannot hold {fat:g} % fat.",
                    remedy="check both numbers on the bag.",
                )
        return [
            (sugar, "sugar"),
            (butter, "cocoa butter"),
            (powder, "whole milk powder"),
            (cocoa - butter, "cocoa mass"),
        ]
    share = _WHITE_SUGAR / (_WHITE_SUGAR + _WHITE_POWDER)
    sugar = rest * share if sugar is None else min(sugar, rest)
    return [(sugar, "sugar"), (cocoa, "cocoa butter"), (rest - sugar, "whole milk powder")]


def chocolate(asked: Asked, shelf: Shelf) -> Ingredient | None:
    """ "dark chocolate 66 %", "milk chocolate 38 %", "white chocolate 30 %", "dark chocolate 55 % 37 % fat"."""
    if not asked.has("chocolate", "chocolat", "couverture") or asked.without(_WORDS):
        return None
    fat = asked.number(r"(?:fat|mg|grasse) (\d+(?:\.\d+)?) ?%|(\d+(?:\.\d+)?) ?% (?:fat|mg|matiere grasse)")
    sugar = asked.number(r"(?:sugar|sucre) (\d+(?:\.\d+)?) ?%|(\d+(?:\.\d+)?) ?% (?:sugar|sucre)")
    cocoa = asked.percent
    if cocoa is None:
        return None
    if asked.has("white", "blanc", "blanche", "ivory", "ivoire"):
        kind = "white"
    elif asked.has("milk", "lait", "lactee"):
        kind = "milk"
    else:
        kind = "dark"
    low, high = _RANGE[kind]
    if not low <= cocoa <= high:
        raise BadInput(
            f"{kind.capitalize()} chocolate of {cocoa:g} % {_NAMED_AFTER[kind]} is outside {low:g} to {high:g} %.",
            remedy=f"give the {_NAMED_AFTER[kind]} printed on the bag.",
        )
    parts = [(mass, name) for mass, name in _split(kind, cocoa, fat, sugar) if mass > 0]
    listed = [(mass, shelf.find_part(name)) for mass, name in parts]
    listed.append((_SMALL, shelf.find_part("soya lecithin")))
    mixed = mix(listed)
    base = shelf.get(f"{kind} chocolate")
    assert base is not None
    ranked = [name for _, name in sorted(parts, key=lambda pair: -pair[0])]
    sugars = sum(mass for mass, name in parts if name == "sugar") / 100
    fixed = replace(
        mixed.nutrients,
        amounts=(*mixed.nutrients.amounts[:-1], sugars),
        unknown=(*mixed.nutrients.unknown[:-1], 0.0),
    )
    name = f"{kind} chocolate {cocoa:g} %" + (f" {fat:g} % fat" if fat is not None else "")
    solids = () if kind == "white" else (f"cocoa solids: {cocoa:g} % minimum",)
    french = {"dark": "chocolat noir", "milk": "chocolat au lait", "white": "chocolat blanc"}[kind]
    milk = frozenset() if kind == "dark" else frozenset(["milk"])
    composition: Composition = mixed.composition
    return shelf.finished(
        replace(
            base,
            name=name,
            also=(f"{french} {cocoa:g} %", f"{kind} couverture {cocoa:g} %"),
            composition=composition,
            nutrients=fixed,
            record=Record(
                source="judged",
                table_version="",
                id=f"made of cocoa mass, cocoa butter, sugar{'' if kind == 'dark' else ' and whole milk powder'}",
                status=Status.JUDGED,
            ),
            allergens_eu=frozenset(["soybeans"]) | milk,
            allergens_us=frozenset(["soybeans"]) | milk,
            allergens_told=False,
            additives=(Additive(e_number="E 322", label_class="emulsifier", us_name="soy lecithin"),),
            label_name=f"{kind} chocolate",
            contents=tuple((part, None) for part in (*ranked, "emulsifier: soya lecithin", "vanilla", *solids)),
            note=_note(kind, cocoa, composition),
        )
    )


def _note(kind: str, cocoa: float, made: Composition) -> str:
    fat = f"fat {made.fat:.1%}, sugars {made.sugars:.1%} by the proportions of the tables"
    if kind == "white":
        return f"cocoa butter {cocoa:g} %; {fat}; the bag wins"
    milk = "; may hold milk: ask" if kind == "dark" else ""
    dry = 100 * (made[Constituent.COCOA_BUTTER])
    return f"cocoa solids {cocoa:g} % minimum; {fat} (cocoa butter {dry:.0f} %); the bag wins{milk}"
