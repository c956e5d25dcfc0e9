"""Spirits and liqueurs by their strength in per cent by volume."""

from __future__ import annotations

import re
from dataclasses import replace

from demoule.composition import Composition, Constituent
from demoule.figures import Status
from demoule.larder.ingredient import Ingredient, Keeping, Nutrients, Record
from demoule.larder.naming import word_set
from demoule.larder.rules.asked import Asked
from demoule.larder.shelf import DAY, Shelf
from demoule.larder.spirits import ETHANOL_DENSITY, ethanol_by_mass, spirit_density

__all__ = ["strong_drink"]

_UNITS = word_set("vol volume abv alc proof alcoolique by")
_HEADS = word_set(
    """
    rum rhum kirsch vodka gin whisky whiskey bourbon brandy cognac armagnac calvados tequila mezcal grappa marc aquavit
    pisco cachaça absinthe slivovitz spirit ethanol alcohol alcool eau-de-vie
    """
)
# Strength at which a drink is sold when its name stands alone [% vol] (practice).
_USUAL = dict.fromkeys(
    word_set("gin whisky whiskey bourbon cognac armagnac calvados absinthe pisco"), 40.0
) | dict.fromkeys(word_set("tequila mezcal cachaça slivovitz aquavit grappa marc"), 42.0)
_QUALITIES = word_set(
    """
    white dark aged old amber blanc brun ambré vieux agricole neutral pastry poire pear framboise raspberry prune plum
    cherry cerise apple pomme mirabelle quetsche fruit eau vie
    """
)


def strong_drink(asked: Asked, shelf: Shelf) -> Ingredient | None:
    """ "rum 40 %", "kirsch 45 %", "orange liqueur 40 % vol", "vodka 80 proof", "calvados"."""
    percent = asked.percent
    proof = asked.number(r"(\d+(?:\.\d+)?) proof")
    if percent is None and proof is None:
        percent = asked.number(r"(\d+(?:\.\d+)?) vol")
    strength = percent if percent is not None else proof / 2 if proof is not None else None
    words = asked.without(_UNITS)
    if strength is None:
        named = [word for word in words if word in _USUAL]
        if not named or not (_HEADS | _QUALITIES).issuperset(words):
            return None
        strength = _USUAL[named[0]]
    if words and not _HEADS.isdisjoint(words) and (_HEADS | _QUALITIES).issuperset(words):
        known = shelf.get(" ".join(words))
        called = known.name if known else re.split(r"[ ,]*\d", asked.written, maxsplit=1)[0] or " ".join(words)
        return _spirit(called, strength, shelf)
    base = shelf.get(" ".join(words)) if words else None
    if base is None or "alcohol" not in base.traits:
        return None
    return (
        _spirit(base.name, strength, shelf)
        if base.composition.total_solids < 0.01
        else _sweetened(base, strength, shelf)
    )


def _spirit(called: str, strength: float, shelf: Shelf) -> Ingredient:
    ethanol = ethanol_by_mass(strength / 100)
    return shelf.finished(
        Ingredient(
            name=f"{called} {strength:g} %",
            composition=Composition.of({Constituent.ETHANOL: ethanol, Constituent.WATER: 1 - ethanol}),
            record=Record(source="oiml-r22", table_version="", id=f"{strength:g} % vol", status=Status.RECALLED),
            group="spirit",
            nutrients=Nutrients.of(
                saturates=0.0,
                trans_fat=0.0,
                cholesterol=0.0,
                sodium=0.0,
                protein_n625=0.0,
                added_sugars=0.0,
                potassium=0.0,
                calcium=0.0,
                vitamin_d=0.0,
            ),
            density=spirit_density(strength / 100),
            keeping=Keeping(dry=1825 * DAY),
            packs=shelf.packs_of(("spirit",)),
            traits=frozenset(["alcohol"]),
            label_name=called,
            note=f"{strength:g} % vol is {ethanol:.1%} alcohol by mass; taken as without sugar",
        )
    )


def _sweetened(base: Ingredient, strength: float, shelf: Shelf) -> Ingredient:
    """A liqueur or wine of another strength: its sugars as they are, alcohol in the place of water."""
    x = base.composition.vector
    solids = 1 - float(x[Constituent.WATER]) - float(x[Constituent.ETHANOL])
    # Volumes taken as additive: sugars 1590 kg/m³ in solution. Two passes settle the density to 1 in 1000.
    density = 1000.0
    ethanol = 0.0
    for _ in range(4):
        ethanol = min(strength / 100 * ETHANOL_DENSITY / density, 1 - solids)
        density = 1 / (ethanol / ETHANOL_DENSITY + (1 - solids - ethanol) / 998.2 + solids / 1590.0)
    x[Constituent.ETHANOL], x[Constituent.WATER] = ethanol, 1 - solids - ethanol
    return shelf.finished(
        replace(
            base,
            name=f"{base.name} {strength:g} %",
            also=tuple(f"{spelling} {strength:g} %" for spelling in base.also),
            composition=Composition(fractions=tuple((x / x.sum()).tolist()), unknown=base.composition.unknown),
            density=density,
            note=f"{strength:g} % vol is {ethanol:.1%} alcohol by mass; sugars as in “{base.name}”; {base.note}",
        )
    )
