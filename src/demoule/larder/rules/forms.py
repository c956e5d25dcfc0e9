"""The same thing cut, ground, frozen or taken from one named table."""

from __future__ import annotations

from dataclasses import replace

from demoule.larder.ingredient import Ingredient
from demoule.larder.naming import word_set
from demoule.larder.rules.asked import Asked
from demoule.larder.shelf import Shelf

__all__ = ["CUTS", "FROZEN", "SHAPES", "bare", "cut_form", "table_row"]

SHAPES = word_set(
    """
    diced dice cubed cube brunoise pitted stoned dénoyauté dénoyautée peeled épluché épluchée skinned chopped haché
    hachée grated râpé râpée sliced slice crushed halved half quartered quarter julienne fine finely coarse coarsely
    wedge stick whole entier trimmed cored seeded segment flesh piece morceau washed fresh frais fraîche organic bio
    minced shredded mm cm ripe hulled kept flaked slivered nibbed bâtonnet
    """
)
"""Words that change the shape of a thing and neither what it is made of nor what it costs to buy."""

CUTS = SHAPES | word_set("zested ground sifted cooked poached stewed sieved strained unsweetened raw")
"""Words after which the larder still takes a thing as what it was."""

FROZEN = word_set("frozen surgelé surgelée iqf congelé congelée")
_CHANGES = frozenset(["cooked", "poached", "stewed"])


def table_row(asked: Asked, shelf: Shelf) -> Ingredient | None:
    """ "apricot, Ciqual", "USDA 09021": the row of one table, whichever the larder prefers."""
    for which in ("USDA", "Ciqual"):
        word = which.casefold()
        if word in asked.words:
            rest = [part for part in asked.text.split() if part != word]
            if len(rest) == 1 and rest[0].isdigit():
                return shelf.record(which, rest[0])
            return shelf.row_of(" ".join(rest), which)
    return None


def cut_form(asked: Asked, shelf: Shelf) -> Ingredient | None:
    """ "apricot diced", "fresh ginger grated", "raspberry frozen": the larder's thing in another shape."""
    for drop in (FROZEN, CUTS | FROZEN):
        words = asked.without(drop)
        if not words or len(words) == len(asked.words):
            continue
        base = shelf.get(" ".join(words))
        if base is None:
            from demoule.larder.rules import by_rule  # "candied ginger 5 mm" is a cut of what a rule makes

            base = by_rule(" ".join(words), shelf)
        if base is None:
            continue
        frozen = asked.has(*FROZEN)
        notes = [f"taken as {base.name}", base.note]
        if asked.has(*_CHANGES):
            notes.insert(1, "cooking took or gave water that is not known: give the measured one")
        return replace(
            base,
            name=asked.written,
            also=(base.name, *base.also),
            edible=1.0 if frozen else base.edible,
            note="; ".join(note for note in notes if note),
        )
    return None


def bare(name: str) -> str:
    """A name without words of shape, in any order of the rest: what is bought for "apricot pitted" and "apricot diced".

    Examples
    --------
    >>> bare("apricot pitted") == bare("diced apricots")
    True
    """
    asked = Asked.of(name)
    words = tuple(word for word in asked.words if word not in SHAPES)
    return " ".join(sorted(words or asked.words))
