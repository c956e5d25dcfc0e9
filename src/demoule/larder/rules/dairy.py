"""Creams, milks and butters by the grams of fat in 100 g, as the carton says."""

from __future__ import annotations

from dataclasses import replace

from demoule.composition import Composition, Constituent
from demoule.errors import BadInput
from demoule.figures import Status
from demoule.larder.ingredient import NUTRIENTS, Ingredient, Nutrients, Record
from demoule.larder.naming import word_set
from demoule.larder.rules.asked import Asked
from demoule.larder.shelf import Shelf

__all__ = ["dairy"]

_FAT_WORDS = word_set("fat mg matiere grasse")
_CREAM = word_set(
    """
    cream creme liquid liquide fleurette whipping heavy double single uht pasteurised pasteurise pasteurisee
    entiere thick epaisse fresh fraiche sterilised dairy
    """
)
_MILK = word_set("milk lait whole entier fresh pasteurised pasteurise uht frai")
_BUTTER = word_set("butter beurre dry sec fin lamination tourage unsalted doux sweet sheet fresh extra")
_SPAN = {"cream": (8.0, 60.0), "milk": (0.0, 8.0), "butter": (39.0, 99.8)}
# The rows whose proportions are taken, each from a content of fat on.
_BASE = {
    "cream": ((25.0, "heavy cream 36 %"), (15.0, "coffee cream 19 %"), (0.0, "half and half")),
    "milk": ((2.6, "whole milk"), (1.0, "semi-skimmed milk"), (0.0, "skimmed milk")),
    "butter": ((0.0, "butter"),),
}
_FRENCH = {"cream": "crème", "milk": "lait", "butter": "beurre"}
_USES = frozenset(["saturates", "trans_fat", "cholesterol"])  # those go with the fat, all others with the rest


def dairy(asked: Asked, shelf: Shelf) -> Ingredient | None:
    """ "cream 35 %", "milk 3.5 %", "butter 84 %"; "35 %" is grams of fat in 100 g."""
    fat = asked.percent
    if fat is None:
        return None
    for kind, words, head in (
        ("cream", _CREAM, ("cream", "creme")),
        ("milk", _MILK, ("milk", "lait")),
        ("butter", _BUTTER, ("butter", "beurre")),
    ):
        if asked.has(*head) and not asked.without(words | _FAT_WORDS):
            return _by_fat(kind, fat, shelf)
    return None


def _by_fat(kind: str, fat: float, shelf: Shelf) -> Ingredient:
    low, high = _SPAN[kind]
    if not low <= fat <= high:
        raise BadInput(
            f"A {kind} of {fat:g} % fat is outside {low:g} to {high:g} %.",
            remedy="give the grams of fat in 100 g, as the carton says.",
        )
    base = shelf.get(next(row for least, row in _BASE[kind] if fat >= least))
    assert base is not None
    x = base.composition.vector
    milk_fat = float(x[Constituent.MILK_FAT])
    thin, fatty = (1 - fat / 100) / (1 - milk_fat), fat / 100 / milk_fat
    made = x * thin
    made[Constituent.MILK_FAT] = fat / 100
    amounts = tuple(
        amount * (fatty if name in _USES else thin)
        for name, amount in zip(NUTRIENTS, base.nutrients.amounts, strict=True)
    )
    name = f"{kind} {fat:g} %"
    return shelf.finished(
        replace(
            base,
            name=name,
            also=(f"{_FRENCH[kind]} {fat:g} %",),
            composition=Composition(fractions=tuple((made / made.sum()).tolist()), unknown=base.composition.unknown),
            nutrients=Nutrients(amounts=amounts, unknown=base.nutrients.unknown),
            record=Record(
                source=base.record.source,
                table_version=base.record.table_version,
                id=base.record.id,
                status=Status.JUDGED,
            ),
            label_name=kind,
            note=f"{fat:g} g fat in 100 g, the rest as in {base.name} ({base.record.id}); the carton wins"
            + (f"; {base.note}" if base.note else ""),
        )
    )
