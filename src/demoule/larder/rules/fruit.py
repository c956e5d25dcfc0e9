"""What is made of a fruit of the larder: purée, juice, powder, candied pieces."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np

from demoule.composition import COUNT, Composition, Constituent
from demoule.errors import BadInput
from demoule.figures import Status
from demoule.larder.ingredient import Ingredient, Keeping, Nutrients, Record
from demoule.larder.mixing import mix
from demoule.larder.naming import fold, word_set
from demoule.larder.rules.asked import Asked
from demoule.larder.rules.forms import CUTS, FROZEN
from demoule.larder.shelf import DAY, Shelf

__all__ = ["candied", "fruit"]

_C = Constituent
_PUREE = word_set("puree pulp pulpe coulis")
_JUICE = frozenset(["juice", "ju", "jus"])
_DRIED = word_set("freeze dried lyophilised lyophilise lyophilisee powder poudre")
_SUGARED = word_set(
    """
    sugar sucre sugared sucree added ajoute ajoutee no san sans without 10 seedless sweetened
    """
)
_CANDIED = word_set("candied confit confite glace crystallised")
_PULP = (_C.FIBRE, _C.STARCH, _C.OTHER_FAT)  # stays in the press, with what little fat there is
_DRY_WATER = 0.04  # freeze-dried powder (practice)
# Candied pieces, drained (practice): 78 % solids, of which a fifth is syrup sugars that hinder crystals.
_CANDIED_PARTS = {
    _C.WATER: 22.0,
    _C.SUCROSE: 55.0,
    _C.GLUCOSE: 10.0,
    _C.FRUCTOSE: 7.0,
    _C.MALTOSE: 2.0,
    _C.FIBRE: 2.0,
    _C.UNKNOWN_SOLIDS: 2.0,
}


def _base(words: tuple[str, ...], shelf: Shelf) -> Ingredient | None:
    """The raw fruit of some words."""
    found = shelf.get(" ".join(words)) if words else None
    if found is None:
        return None
    row = shelf.rows.get(fold(found.name))
    if row is not None:
        return found if row["form"] == "fruit" else None
    fresh = found.group in ("fruit", "vegetable") and found.keeping.chilled is not None
    return found if fresh and found.name != "coconut purée" else None


def _from_fruit(base: Ingredient, name: str, composition: Composition, note: str, **changes: object) -> Ingredient:
    return replace(
        base,
        name=name,
        composition=composition,
        edible=1.0,
        packs=(),
        keeping=Keeping(chilled=5 * DAY, frozen=540 * DAY),
        traits=base.traits - {"stone fruit"},
        label_name=re.sub(r" \d.*", "", name),
        note="; ".join(part for part in (note, base.note) if part),
        **changes,  # type: ignore[arg-type]
    )


def fruit(asked: Asked, shelf: Shelf) -> Ingredient | None:
    """ "apricot purée 10 % sugar", "apricot juice", "freeze-dried raspberry"."""
    puree, juice, dried = asked.has(*_PUREE), asked.has(*_JUICE), asked.has(*_DRIED)
    if not (puree or juice or dried):
        return None
    words = asked.without(_PUREE | _JUICE | _DRIED | _SUGARED | CUTS | FROZEN)
    base = _base(words, shelf) or _base(asked.without(_PUREE | _JUICE | _DRIED | _SUGARED | FROZEN), shelf)
    if base is None:
        return None
    cooked = asked.has("cooked", "poached", "stewed")
    if puree:
        made = _puree(base, asked, shelf)
    elif juice:
        made = _juice(base)
    elif asked.has("freeze", "lyophilised", "lyophilise", "lyophilisee", "powder", "poudre"):
        made = _powder(base)
    else:
        return None
    if cooked:
        made = replace(made, note=f"cooking took or gave water that is not known: give the measured one; {made.note}")
    kind = "purée" if puree else "juice" if juice else "powder"
    return shelf.finished(replace(made, packs=shelf.packs_of((kind,))), made.name)


def _puree(base: Ingredient, asked: Asked, shelf: Shelf) -> Ingredient:
    fruit_name = base.name
    name = f"{fruit_name} purée"
    french = tuple(f"purée de {spelling}" for spelling in base.also[:6])
    note = "the fruit passed through a sieve, practice; a supplier's sheet wins"
    sugar = asked.percent
    if sugar is None or asked.has("unsweetened", "no", "san", "without") or sugar == 100:
        return _from_fruit(base, name, base.composition, note, also=french)
    if not 0 <= sugar <= 60:
        raise BadInput(
            f"A fruit purée with {sugar:g} % sugar is not sold.", remedy="give the added sugar, usually 10 %."
        )
    base = shelf.get(name) or base  # a table's own purée before one made of the raw fruit
    mixed = mix([(100 - sugar, base), (sugar, shelf.find_part("sugar"))])
    return _from_fruit(
        base,
        f"{name} {sugar:g} % sugar",
        mixed.composition,
        f"{sugar:g} g sugar in 100 g; {note}",
        also=(name, *french),
        nutrients=mixed.nutrients,
        contents=((fruit_name, 1 - sugar / 100), ("sugar", sugar / 100)),
    )


def _juice(base: Ingredient) -> Ingredient:
    x = base.composition.vector
    x[list(_PULP)] = 0.0
    kept = float(x.sum())
    amounts = tuple(amount / kept for amount in base.nutrients.amounts)
    return _from_fruit(
        base,
        f"{base.name} juice",
        Composition(fractions=tuple((x / kept).tolist()), unknown=base.composition.unknown),
        "the fruit without fibre, starch and fat, practice; a supplier's sheet wins",
        also=tuple(f"jus de {spelling}" for spelling in base.also[:6]),
        nutrients=Nutrients(amounts=amounts, unknown=base.nutrients.unknown),
    )


def _powder(base: Ingredient) -> Ingredient:
    x = base.composition.vector
    x[_C.WATER] = 0.0
    dry = float(x.sum())
    x = x / dry * (1 - _DRY_WATER)
    x[_C.WATER] = _DRY_WATER
    factor = (1 - _DRY_WATER) / dry
    unknown = np.array(base.composition.unknown)
    assert unknown.shape == (COUNT,)
    made = _from_fruit(
        base,
        f"freeze-dried {base.name}",
        Composition(fractions=tuple((x / x.sum()).tolist()), unknown=base.composition.unknown),
        "the fruit dried to 4 % water, practice",
        also=(f"{base.name} powder freeze-dried", f"{base.name} powder"),
        nutrients=Nutrients(
            amounts=tuple(amount * factor for amount in base.nutrients.amounts), unknown=base.nutrients.unknown
        ),
    )
    return replace(made, keeping=Keeping(dry=365 * DAY), ph=None)


def candied(asked: Asked, shelf: Shelf) -> Ingredient | None:
    """ "candied ginger", "candied apricot", "orange peel confit"."""
    if not asked.has(*_CANDIED):
        return None
    words = asked.without(_CANDIED)
    base = shelf.get(" ".join(words)) if words else None
    if base is None or not base.group.startswith(("fruit", "herb", "vegetable")):
        return None
    plain = "ginger" if base.name == "fresh ginger" else base.name
    sugars = sum(_CANDIED_PARTS[kind] for kind in (_C.SUCROSE, _C.GLUCOSE, _C.FRUCTOSE, _C.MALTOSE)) / 100
    return shelf.finished(
        Ingredient(
            name=f"candied {plain}",
            also=tuple(f"{spelling} confit" for spelling in base.also[:4]),
            composition=Composition.of(_CANDIED_PARTS, (_C.SUCROSE, _C.GLUCOSE, _C.FRUCTOSE, _C.MALTOSE, _C.FIBRE)),
            record=Record(source="practice", table_version="", id=f"candied {plain}", status=Status.PRACTICE),
            group="candied",
            nutrients=Nutrients.of(
                saturates=0.0, trans_fat=0.0, cholesterol=0.0, protein_n625=0.0, added_sugars=sugars, vitamin_d=0.0
            ),
            keeping=Keeping(dry=365 * DAY),
            allergens_eu=base.allergens_eu,
            allergens_us=base.allergens_us,
            allergens_told=False,
            traits=frozenset(["sulphites"]) | (base.traits & {"nut"}),
            label_name=f"candied {plain}",
            contents=((plain, None), ("sugar", None), ("glucose syrup", None)),
            note="drained pieces of 78 % solids, practice: which sugars it holds is not known; sulphites by the sheet",
        )
    )
