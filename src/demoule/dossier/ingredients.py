"""The ingredient list of a draft label: descending by weight at the time of use, over the whole piece.

Compound ingredients are followed by what they are made of, additives by class and number, and the ingredient that the
piece is named after by its percentage. Water ranks by what of it is left, as the law asks.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from demoule.dossier.allergens import allergens_of, emphasised
from demoule.dossier.amounts import Parts
from demoule.dossier.contents import merged
from demoule.dossier.energy import Market
from demoule.dossier.rounding import to_step
from demoule.larder.ingredient import Ingredient
from demoule.units import Fraction, Kilogram

__all__ = ["Listed", "ingredient_text", "listed_ingredients", "names_of", "percentage"]

_WATER_SHOWN = 0.05  # eu-1169-2011, Annex VII Part A: added water up to 5 % of the finished food need not be listed
_MINOR = 0.02  # 21 CFR 101.4(a)(2), recalled


@dataclass(frozen=True, slots=True, kw_only=True)
class Listed:
    """One entry of an ingredient list.

    Parameters
    ----------
    text
        As printed, allergens in capitals.
    share
        Mass at the time of use over mass of the finished piece; water as what is left of it.
    named
        Whether the piece is named after it or shows it, so that its percentage stands in the list.
    """

    name: str
    text: str
    share: Fraction
    named: bool


def names_of(fruit: str) -> tuple[str, ...]:
    """The words by which an ingredient is known to be of the fruit that a piece is named after.

    Examples
    --------
    >>> names_of("Apricot, thyme")
    ('apricot', 'thyme')
    """
    words = re.split(r"[,;/+&]|\band\b", fruit.casefold())
    return tuple(word.strip() for word in words if word.strip())


def listed_ingredients(
    parts: Parts, finished: Kilogram, market: Market, named: Iterable[str] = ()
) -> tuple[Listed, ...]:
    """The entries of the list, in its order.

    Parameters
    ----------
    parts
        Ingredients with their mass at the time of use in `finished` kg of the finished food.
    named
        Words of the fruit named or shown.

    Notes
    -----
    Source: eu-1169-2011, Art. 18 and Annex VII Part A, read; percentages Annex VIII and ec-quid-2017; us-21cfr101-4,
    recalled.
    """
    every = merged(parts)
    dry = [(ingredient, mass) for ingredient, mass in every if not ingredient.is_water and mass > 0]
    water = [(ingredient, mass) for ingredient, mass in every if ingredient.is_water]
    gone = sum(mass for _, mass in every) - finished
    left = max(sum(mass for _, mass in water) - max(gone, 0.0), 0.0)
    if water and left / finished > (_WATER_SHOWN if market == "EU" else 0.0):
        dry.append((water[0][0], left))
    by_text: dict[str, tuple[Ingredient, float]] = {}
    alike: dict[str, list[tuple[Ingredient, float]]] = {}
    for ingredient, mass in sorted(dry, key=lambda pair: -pair[1]):
        kind = _class_of(ingredient)
        if kind:
            alike.setdefault(kind, []).append((ingredient, mass))
            continue
        text = _entry(ingredient, market)
        known, sofar = by_text.get(text, (ingredient, 0.0))
        by_text[text] = (known, sofar + mass)
    words = tuple(named)
    entries = [
        Listed(
            name=ingredient.name,
            text=text,
            share=mass / finished,
            named=_is_named(ingredient, words),
        )
        for text, (ingredient, mass) in by_text.items()
    ]
    for kind, several in alike.items():
        entries.append(
            Listed(
                name=several[0][0].name,
                text=_together(kind, [ingredient for ingredient, _ in several], market),
                share=sum(mass for _, mass in several) / finished,
                named=False,
            )
        )
    first = {ingredient.name: place for place, (ingredient, _) in reversed(list(enumerate(dry)))}
    return tuple(sorted(entries, key=lambda entry: (-entry.share, first[entry.name])))


def _class_of(ingredient: Ingredient) -> str:
    """The class under which an additive by itself is listed; empty for what is more than additives of one class."""
    numbers = {additive.e_number for additive in ingredient.additives}
    classes = {additive.label_class for additive in ingredient.additives}
    alone = not ingredient.contents or {part for part, _ in ingredient.contents} <= numbers
    return classes.pop() if alone and len(classes) == 1 else ""


def _together(kind: str, several: list[Ingredient], market: Market) -> str:
    """Additives of one class behind its name once, each once: "colours: E 160a, E 160c"."""
    texts = [_entry(ingredient, market) for ingredient in several]
    if len(several) == 1:
        return texts[0]
    if market == "US" and kind != "colour":
        return ", ".join(dict.fromkeys(texts))
    opening = re.compile(r"^color \(|\)$" if market == "US" else r"^[^:]+: ")
    names = list(dict.fromkeys(name for text in texts for name in re.split(r", (?![^(]*\))", opening.sub("", text))))
    if market == "US":
        return f"color ({', '.join(names)})"
    return f"{kind if len(names) == 1 or kind.endswith('s') else f'{kind}s'}: {', '.join(names)}"


def _is_named(ingredient: Ingredient, words: tuple[str, ...]) -> bool:
    names = f"{ingredient.name} {ingredient.label_name}".casefold()
    return any(re.search(rf"\b{re.escape(word.rstrip('s'))}(?:e?s)?\b", names) for word in words)


def _entry(ingredient: Ingredient, market: Market) -> str:
    name = ingredient.label_name or ingredient.name
    numbers = {additive.e_number for additive in ingredient.additives}
    if ingredient.contents and not {part for part, _ in ingredient.contents} <= numbers:
        text = f"{name} ({', '.join(part for part, _ in ingredient.contents)})"
    elif ingredient.additives:
        text = _additives(ingredient, name) if market == "EU" else _us_additives(ingredient, name)
    else:
        text = name
    return emphasised(text, allergens_of(ingredient, market))


def _additives(ingredient: Ingredient, name: str) -> str:
    """Class followed by name and number; colours by number alone."""
    by_class: dict[str, list[str]] = {}
    for additive in ingredient.additives:
        plain = "colour" in name.casefold() or len(ingredient.additives) > 1 or additive.e_number in name
        by_class.setdefault(additive.label_class, []).append(
            additive.e_number if plain else f"{name} ({additive.e_number})"
        )
    return ", ".join(
        f"{kind if len(named) == 1 or kind.endswith('s') else f'{kind}s'}: {', '.join(named)}"
        for kind, named in by_class.items()
    )


def _us_additives(ingredient: Ingredient, name: str) -> str:
    names = [additive.us_name or name for additive in ingredient.additives]
    if any(additive.label_class == "colour" for additive in ingredient.additives):
        return f"color ({', '.join(names)})"
    return ", ".join(dict.fromkeys(names))


def percentage(share: Fraction) -> str:
    """A share as printed beside a named ingredient: whole per cent, one decimal below 5 %, grams per 100 g above 100 %.

    Notes
    -----
    Source: eu-1169-2011, Annex VIII point 3, recalled; rounding by ec-quid-2017, recalled.

    Examples
    --------
    >>> percentage(0.2849), percentage(0.034), percentage(1.2)
    ('28 %', '3.4 %', '120 g per 100 g')
    """
    percent = 100 * share
    if percent > 100:
        return f"{to_step(percent, '1')} g per 100 g"
    return f"{to_step(percent, '1' if percent >= 5 else '0.1')} %"


def ingredient_text(entries: Iterable[Listed], market: Market) -> str:
    """The list as one text with its heading."""
    told = [(f"{e.text} {percentage(e.share)}" if e.named and market == "EU" else e.text, e.share) for e in entries]
    if market == "EU":
        return f"Ingredients: {', '.join(text for text, _ in told)}."
    major = [text for text, share in told if share > _MINOR]
    minor = [text for text, share in told if share <= _MINOR]
    if len(minor) < 2:
        return f"Ingredients: {', '.join(major + minor)}."
    tail = f"contains 2 % or less of: {', '.join(minor)}"
    return f"Ingredients: {', '.join([*major, tail])}."
