"""Colours as they are bought, in oil, water, cocoa butter or as lustre; how strong, only the supplier's sheet tells."""

from __future__ import annotations

import re

from demoule.composition import Composition, Constituent
from demoule.figures import Status
from demoule.larder.ingredient import Additive, Ingredient, Keeping, Nutrients, Record
from demoule.larder.limits import ColourFact, colour_fact
from demoule.larder.naming import word_set
from demoule.larder.rules.asked import Asked
from demoule.larder.shelf import DAY, Shelf

__all__ = ["colour"]

_C = Constituent
_NUMBER = re.compile(r"\be(\d{3,4}[a-h]?)\b")
_OIL = word_set("oil fat huile liposoluble gra grasse")
_WATER = word_set("water hydrosoluble eau gel liquid liquide")
_LUSTRE = word_set("lustre luster pearl pearlescent nacre nacree shimmer")
_HEAD = word_set("colour colouring colourant colorant coloured colore couleur dye pigment lake laque")


def colour(asked: Asked, shelf: Shelf) -> Ingredient | None:
    """ "oil colour E 160a + E 160c", "water colour E 120 2 %", "coloured cocoa butter E 141", "pearl lustre"."""
    lustre = asked.has(*_LUSTRE)
    numbers = _NUMBER.findall(asked.text)
    if len(numbers) == 1 and asked.percent is None:  # "gold E 175": the colour by itself, with its number beside it
        alone = shelf.get(" ".join(word for word in asked.words if not _NUMBER.fullmatch(word)))
        if alone is not None and any(one.e_number == f"E {numbers[0]}" for one in alone.additives):
            return alone
    if not (asked.has(*_HEAD) or lustre):
        return None
    facts = tuple(colour_fact(f"E {number}") for number in dict.fromkeys(numbers))
    butter = asked.has("butter", "beurre") and asked.has("cocoa", "cacao")
    if lustre:
        kind = "lustre"
    elif butter:
        kind = "coloured cocoa butter"
    elif asked.has(*_OIL):
        kind = "oil colour"
    elif asked.has("powder", "poudre", "lake", "laque", "pigment"):
        kind = "powder colour"
    elif asked.has(*_WATER):
        kind = "water colour"
    elif facts:
        kind = "oil colour" if all(fact.carrier == "fat" for fact in facts) else "water colour"
    else:
        return None
    if not facts and not lustre and len(asked.words) > 4:
        return None
    percent = asked.percent
    share = percent / 100 if percent is not None and len(facts) == 1 else None
    return _preparation(kind, facts, share, asked, shelf)


def _made_of(kind: str, share: float | None) -> Composition:
    """The carrier, with the dye where its share is told."""
    carrier = {
        "oil colour": _C.OTHER_FAT,
        "coloured cocoa butter": _C.COCOA_BUTTER,
        "water colour": _C.WATER,
        "lustre": _C.ASH,
        "powder colour": _C.UNKNOWN_SOLIDS,
    }[kind]
    if share is None:
        return Composition.of({carrier: 1.0}, {carrier, _C.UNKNOWN_SOLIDS})
    parts = {carrier: 1 - share}
    parts[_C.UNKNOWN_SOLIDS] = parts.get(_C.UNKNOWN_SOLIDS, 0.0) + share
    return Composition.of(parts)


def _preparation(
    kind: str, facts: tuple[ColourFact, ...], share: float | None, asked: Asked, shelf: Shelf
) -> Ingredient:
    numbers = " + ".join(fact.e_number for fact in facts)
    percent = f" {share * 100:g} %" if share is not None else ""
    name = f"{kind} {numbers}{percent}" if facts else asked.written
    french = {
        "oil colour": "colorant liposoluble",
        "water colour": "colorant hydrosoluble",
        "coloured cocoa butter": "beurre de cacao coloré",
        "powder colour": "colorant en poudre",
        "lustre": "poudre nacrée",
    }[kind]
    fatty = kind in {"oil colour", "coloured cocoa butter"}
    wrong = [
        fact.e_number
        for fact in facts
        if (fatty and fact.carrier == "water") or (kind == "water colour" and fact.carrier == "fat")
    ]
    notes = ["only products sold as food with an ingredient list"]
    if share is None:
        notes.append("how much pure colour it holds is the supplier's to tell; the carrier is taken as all of it")
    if not facts:
        notes.append("which colours it holds is not told")
    if wrong:
        notes.append(f"{', '.join(wrong)} needs a lake or a special preparation to colour this carrier")
    notes.extend(fact.note for fact in facts if fact.note)
    traits = {"lustre" if kind == "lustre" else "fat colour" if fatty else "water colour"}
    traits |= {"colour"}.union(*(fact.traits for fact in facts))
    return shelf.finished(
        Ingredient(
            name=name,
            also=(kind, f"{french} {numbers}".strip()),
            composition=_made_of(kind, share),
            record=Record(source="practice", table_version="", id=numbers or kind, status=Status.PRACTICE),
            group="colour",
            nutrients=Nutrients.of(cholesterol=0.0, protein_n625=0.0, added_sugars=0.0),
            keeping=Keeping(dry=540 * DAY),
            allergens_told=False,
            additives=tuple(
                Additive(e_number=fact.e_number, label_class="colour", us_name=fact.us_name, share=share)
                for fact in facts
            ),
            packs=shelf.packs_of((kind,)),
            label_name=f"{'colours' if len(facts) > 1 else 'colour'}: {numbers}" if facts else "colour",
            contents=tuple((fact.e_number, share) for fact in facts),
            traits=frozenset(traits),
            note="; ".join(notes),
        )
    )
