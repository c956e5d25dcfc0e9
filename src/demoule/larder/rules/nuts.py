"""What is made of a nut of the larder: powder, pure paste, praline, pieces."""

from __future__ import annotations

from dataclasses import replace

from demoule.errors import BadInput
from demoule.figures import Status
from demoule.larder.ingredient import Ingredient, Record
from demoule.larder.mixing import mix
from demoule.larder.naming import word_set
from demoule.larder.rules.asked import Asked
from demoule.larder.shelf import Shelf

__all__ = ["nut"]

_POWDER = word_set("powder poudre flour farine meal ground")
_PASTE = word_set("paste pate butter beurre puree pure purée")
_PRALINE = frozenset(["praline", "pralin"])
_PRALINE_OF = ("almond", "hazelnut")
_CUT = word_set(
    """
    chopped hachee hache flaked effile effilee slivered nibbed batonnet whole entier piece half crushed concasse
    roasted toasted grille torrefie torrefiee raw brut pur pure fine
    """
)
# Powder is usually ground from the blanched nut, paste and praline from the roasted one (practice).
_GROUND_FROM = {"almond": "blanched almond"}
_ROASTED = {"hazelnut": "roasted hazelnut", "pistachio": "roasted pistachio", "almond": "blanched almond"}


def _nuts(words: tuple[str, ...], shelf: Shelf) -> tuple[Ingredient, ...]:
    """The nuts that some words name, one or several."""
    whole = shelf.get(" ".join(words)) if words else None
    found = [whole] if whole is not None else [shelf.get(word) for word in words]
    known = tuple(item for item in found if item is not None and "nut" in item.traits)
    return known if known and len(known) == len(found) else ()


def nut(asked: Asked, shelf: Shelf) -> Ingredient | None:
    """ "almond powder", "hazelnut paste", "hazelnut praline 60 %", "chopped pistachio"."""
    powder, paste, praline = asked.has(*_POWDER), asked.has(*_PASTE), asked.has(*_PRALINE)
    if not (powder or paste or praline or asked.has(*_CUT)):
        return None
    words = asked.without(_POWDER | _PASTE | _PRALINE | _CUT)
    if praline and not words:
        words = _PRALINE_OF  # by itself, half almonds and half hazelnuts (practice)
    nuts = _nuts(words, shelf)
    if not nuts:
        return None
    if praline:
        return _praline(nuts, asked, shelf)
    if len(nuts) > 1:
        return None
    base = nuts[0]
    if powder:
        source = shelf.get(_GROUND_FROM.get(base.name, base.name)) or base
        return _form(source, base, f"{base.name} powder", "ground, taken as", shelf)
    if paste:
        source = shelf.get(_ROASTED.get(base.name, base.name)) or base
        return _form(source, base, f"{base.name} paste", "milled without sugar, taken as", shelf)
    roasted = asked.has("roasted", "toasted", "grille", "torrefie", "torrefiee")
    source = (shelf.get(_ROASTED.get(base.name, base.name)) or base) if roasted else base
    return _form(source, base, asked.written, "cut, taken as", shelf)


def _form(source: Ingredient, base: Ingredient, name: str, how: str, shelf: Shelf) -> Ingredient:
    french = {"powder": "poudre de", "paste": "pâte de"}.get(name.rsplit(" ", 1)[-1])
    return replace(
        source,
        name=name,
        also=tuple(f"{french} {spelling}" for spelling in base.also[:6]) if french else (),
        edible=1.0,
        packs=shelf.packs_of((name, base.name)),
        label_name=f"{base.name}s" if name.endswith("powder") else name if name.endswith("paste") else f"{base.name}s",
        note="; ".join(part for part in (f"{how} {source.name} ({source.record.id})", source.note) if part),
    )


def _praline(nuts: tuple[Ingredient, ...], asked: Asked, shelf: Shelf) -> Ingredient:
    share = 50.0 if asked.percent is None else asked.percent
    if not 20 <= share <= 90:
        raise BadInput(f"A praline with {share:g} % nuts is not sold.", remedy="give the share of nuts, 33 to 70 %.")
    roasted = [shelf.get(_ROASTED.get(item.name, item.name)) or item for item in nuts]
    sugar = shelf.find_part("sugar")
    mixed = mix([*((share / len(nuts), item) for item in roasted), (100 - share, sugar)])
    called = " and ".join(item.name for item in nuts)
    return shelf.finished(
        Ingredient(
            name=f"{called} praline {share:g} %",
            also=tuple(f"praliné {spelling} {share:g} %" for spelling in nuts[0].also[:6]),
            composition=mixed.composition,
            record=Record(
                source="practice", table_version="", id=f"{share:g} parts nuts, rest sugar", status=Status.PRACTICE
            ),
            group="nut",
            nutrients=mixed.nutrients,
            keeping=nuts[0].keeping,
            allergens_eu=mixed.allergens_eu,
            allergens_us=mixed.allergens_us,
            traits=mixed.traits,
            label_name=f"{called} praline",
            packs=shelf.packs_of(("praline",)),
            contents=(*((f"{item.name}s", share / 100 / len(nuts)) for item in nuts), ("sugar", 1 - share / 100)),
            note=f"{share:g} % roasted nuts, the rest caramelised sugar taken as sugar, practice",
        )
    )
