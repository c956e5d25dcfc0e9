"""Which allergens are in a piece, from which ingredient, by the list of one market; and who must still say."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from demoule.dossier.amounts import Parts
from demoule.dossier.energy import Market
from demoule.larder.ingredient import Ingredient

__all__ = [
    "Allergen",
    "allergens_of",
    "contains_lines",
    "declared_allergens",
    "emphasised",
    "unclaimed_allergens",
    "untold_allergens",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Allergen:
    """One allergen group, its kinds where the law wants them named, and the ingredients that bring it."""

    group: str  # "milk", "nuts"
    kinds: tuple[str, ...]  # "almond", "hazelnut"
    brought_by: tuple[str, ...]


def allergens_of(ingredient: Ingredient, market: Market) -> frozenset[str]:
    """Allergens of one ingredient as the larder tells them: "milk", "nuts: almond"."""
    return ingredient.allergens_eu if market == "EU" else ingredient.allergens_us


def declared_allergens(parts: Parts, market: Market) -> tuple[Allergen, ...]:
    """Every allergen group of a mixture, in alphabetical order; traces are not ours to tell."""
    kinds: dict[str, set[str]] = {}
    by: dict[str, list[str]] = {}
    for ingredient, mass in parts:
        if mass <= 0:
            continue
        for told in allergens_of(ingredient, market):
            group, _, kind = told.partition(": ")
            kinds.setdefault(group, set()).update({kind} if kind else ())
            names = by.setdefault(group, [])
            if ingredient.name not in names:
                names.append(ingredient.name)
    return tuple(
        Allergen(group=group, kinds=tuple(sorted(kinds[group])), brought_by=tuple(by[group])) for group in sorted(kinds)
    )


def untold_allergens(parts: Parts) -> tuple[str, ...]:
    """Ingredients whose allergens only the supplier's sheet can tell."""
    return tuple(dict.fromkeys(i.name for i, mass in parts if mass > 0 and not i.allergens_told))


def contains_lines(allergens: Iterable[Allergen]) -> tuple[str, ...]:
    """Each allergen as a label states it: "milk", "nuts (almond, hazelnut)"."""
    return tuple(f"{a.group} ({', '.join(a.kinds)})" if a.kinds else a.group for a in allergens)


# Words of an ingredient's name by which a reader knows the allergen; the first is printed where none stands there.
_WORDS: dict[str, tuple[str, ...]] = {
    "milk": ("milk", "cream", "butter", "whey", "lactose", "yoghurt", "cheese", "fromage"),
    "eggs": ("egg", "eggs", "yolk", "albumen"),
    "egg": ("egg", "eggs", "yolk", "albumen"),
    "soybeans": ("soya", "soy", "soybean"),
    "crustaceans": ("crustaceans",),
    "crustacean shellfish": ("crustaceans",),
    "sulphites": ("sulphites", "sulphite", "sulphur dioxide"),
    "peanuts": ("peanuts", "peanut"),
    "sesame": ("sesame", "tahini"),
}
_BUTTERS_WITHOUT_MILK = re.compile(r"\b(?:cocoa|nut|almond|hazelnut|peanut|coconut|shea)\s+(?:butter|milk|cream)", re.I)


def emphasised(text: str, allergens: Iterable[str]) -> str:
    """The text of one ingredient with its allergens in capitals, so that they stand out in plain type.

    Examples
    --------
    >>> emphasised("whole milk powder", ["milk"])
    'whole MILK powder'
    >>> emphasised("praline paste (almonds, sugar)", ["nuts: almond"])
    'praline paste (ALMONDS, sugar)'
    >>> emphasised("nougat", ["eggs"])
    'nougat (EGG)'
    """
    missing = []
    # "cocoa butter" is no milk: keep such words out of reach while the allergens are marked.
    kept = _BUTTERS_WITHOUT_MILK.findall(text)
    marked = _BUTTERS_WITHOUT_MILK.sub("\0", text)
    nutty = {"almond", "hazelnut", "peanut"}
    for told in sorted(allergens):
        group, _, kind = told.partition(": ")
        words = (kind, *_plurals(kind)) if kind else _WORDS.get(group, (group,))
        pattern = re.compile(rf"\b(?:{'|'.join(re.escape(w) for w in sorted(words, key=len, reverse=True))})\b", re.I)
        found = pattern.search(marked)
        marked = pattern.sub(lambda m: m.group(0).upper(), marked)
        if kind in nutty:
            kept = [re.sub(rf"\b{kind}\b", kind.upper(), piece, flags=re.I) for piece in kept]
            found = found or next((m for m in (re.search(kind, p, re.I) for p in kept) if m), None)
        if not found:
            missing.append(words[0].upper())
    for piece in kept:
        marked = marked.replace("\0", piece, 1)
    return f"{marked} ({', '.join(missing)})" if missing else marked


# Kinds that stand by their own names in a list of what an ingredient is made of.
_KINDS: dict[Market, dict[str, str]] = {
    "EU": {
        **{nut: f"nuts: {nut}" for nut in ("almond", "hazelnut", "walnut", "cashew", "pecan", "pistachio")},
        **{grain: f"gluten cereals: {grain}" for grain in ("wheat", "rye", "barley", "oats")},
    },
    "US": {
        **{nut: f"tree nuts: {nut}" for nut in ("almond", "hazelnut", "walnut", "cashew", "pecan", "pistachio")},
        "wheat": "wheat",
    },
}
_GROUPS: dict[Market, tuple[str, ...]] = {
    "EU": ("milk", "eggs", "soybeans", "peanuts", "sesame"),
    "US": ("milk", "egg", "soybeans", "peanuts", "sesame"),
}


def unclaimed_allergens(ingredient: Ingredient, market: Market) -> tuple[str, ...]:
    """Allergens that an ingredient's own list of contents names and its allergens do not."""
    text = _BUTTERS_WITHOUT_MILK.sub("", ", ".join(part for part, _ in ingredient.contents))
    told = {allergen.partition(": ")[0] for allergen in allergens_of(ingredient, market)}
    found = [
        group
        for group in _GROUPS[market]
        if group not in told and re.search(rf"\b(?:{'|'.join(map(re.escape, _WORDS[group]))})\b", text, re.I)
    ]
    for kind, allergen in _KINDS[market].items():
        if allergen.partition(": ")[0] not in told and re.search(rf"\b{kind}s?\b", text, re.I):
            found.append(kind)
    return tuple(found)


def _plurals(word: str) -> tuple[str, ...]:
    return (word + "s", word[:-1] + "ies") if word.endswith("y") else (word + "s",)
