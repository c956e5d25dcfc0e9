"""Things on or near the piece that are not food, or poison: metals, lustre, decorations, leaves, kernels of stones."""

from __future__ import annotations

import re
from collections.abc import Iterator

from demoule.dossier.checks.registry import LAW, check, finding
from demoule.dossier.view import View
from demoule.dossier.words import degrees, grams, opened
from demoule.errors import UnknownName
from demoule.figures import Finding, Severity
from demoule.piece.design import Garnish

__all__ = ["FOLIAGE", "decorations", "kernels", "metals_and_lustre", "poisons"]

# Foliage taken for harmless: warnings of plant libraries and newspapers; cherry laurel has passed for bay.
FOLIAGE: dict[str, str] = {
    "laurel": "cherry laurel releases cyanide and has been taken for bay",
    "oleander": "oleander poisons by touching the food",
    "foxglove": "foxglove stops the heart",
    "daffodil": "daffodil poisons",
    "narcissus": "narcissus poisons",
    "lily of the valley": "lily of the valley stops the heart",
    "rhododendron": "rhododendron poisons",
    "azalea": "azalea poisons",
    "buttercup": "buttercups blister and poison",
    "hydrangea": "hydrangea releases cyanide",
    "yew": "yew stops the heart",
    "ivy": "ivy irritates and poisons",
    "holly": "holly berries poison",
    "mistletoe": "mistletoe poisons",
    "wisteria": "wisteria poisons",
    "lily": "many lilies poison",
    "hellebore": "hellebore poisons",
    "delphinium": "delphinium poisons",
    "monkshood": "monkshood stops the heart",
    "tomato leaf": "leaves of tomato and potato poison",
    "prunus": "leaves and stones of cherry, plum and apricot trees release cyanide",
}
_PLANT = re.compile(r"\b(?:leaf|leaves|stem|stalk|twig|flower|blossom|petal|branch|foliage|sprig)\w*\b", re.I)
_MADE = re.compile(r"chocolate|marzipan|wafer|sugar|pastillage|almond paste|candied|vanilla", re.I)
_STONE_TREE = re.compile(r"\b(?:cherry|plum|apricot|peach|almond|prunus|sloe|laurel)\b.*\b(?:leaf|leaves|twig)", re.I)
_INEDIBLE = re.compile(
    r"\b(?:wire|wired|metal|steel|wood|wooden|paper|plastic|ribbon|pick|toothpick|skewer|foil|glitter)\b", re.I
)
_METAL = re.compile(r"\b(?:gold|golden|silver|pearl|lustre|luster|copper|bronze)\b", re.I)


_METAL_LAW = {
    True: "The EU lists gold (E 175) and silver (E 174) on the outside of sweets, on chocolates and in liqueurs.",
    False: "Neither gold nor silver is listed as a colour for food.",
}
_ASK = f"ask your authority in writing before it goes on a dessert; {LAW}"


def _unlisted(what: str, *, eu: bool) -> str:
    return (
        f"{opened(what)} has no listed use on a dessert or an ice {'in the EU' if eu else 'in the US'} that we know of."
    )


@check("metals and lustre", looks_at="gold, silver, pearl and dust: whether they are sold as food and listed for it")
def metals_and_lustre(view: View) -> Iterator[Finding]:
    """Metals and lustre among what is eaten."""
    seen: set[str] = set()
    for part, ingredient, _mass in view.ingredients():
        if ingredient.name in seen:
            continue
        if "not food" in ingredient.traits:
            seen.add(ingredient.name)
            yield finding(
                Severity.STOP,
                "metals and lustre",
                part.line(ingredient.name),
                f"{opened(ingredient.name)} is not food.",
                why="“Non-toxic” and “decorative only” mean that it must not be eaten; such dusts have caused metal "
                "poisoning.",
                remedy=f"use a product sold as food, with an ingredient list; {LAW}",
                source="mmwr-70-43",
            )
        elif "metal" in ingredient.traits:
            seen.add(ingredient.name)
            eu = view.market == "EU"
            yield finding(
                Severity.CAUTION,
                "metals and lustre",
                part.line(ingredient.name),
                _unlisted(ingredient.name, eu=eu),
                why=_METAL_LAW[eu],
                remedy=_ASK,
                source="eu-1333-2008" if eu else "",
            )
        elif "lustre" in ingredient.traits:
            seen.add(ingredient.name)
            yield finding(
                Severity.CAUTION,
                "metals and lustre",
                part.line(ingredient.name),
                f"{opened(ingredient.name)}: whether it is sold as food is for its sheet to say.",
                why="Dusts without an ingredient list have caused copper and lead poisoning.",
                remedy=f"keep the sheet that calls it food, with its E numbers; {LAW}",
                source="mmwr-70-43",
            )


def _is_foliage(what: str, traits: frozenset[str]) -> str:
    if traits & {"toxic leaf", "toxic"}:
        return "it is poisonous"
    folded = what.casefold()
    for name, why in FOLIAGE.items():
        if re.search(rf"\b{re.escape(name)}\b", folded):
            return why
    return FOLIAGE["prunus"] if _STONE_TREE.search(what) else ""


@check("decorations", looks_at="stems, leaves and other parts: food, harmless, or to be taken off")
def decorations(view: View) -> Iterator[Finding]:
    """Every garnish of the piece."""
    for garnish in view.worked.piece.garnishes:
        yield from _of_garnish(garnish, view)


def _of_garnish(garnish: Garnish, view: View) -> Iterator[Finding]:
    what = garnish.what
    traits = _traits(what, view)
    poison = "" if _MADE.search(what) else _is_foliage(what, traits)
    if poison:
        yield finding(
            Severity.STOP,
            "decorations",
            garnish.where,
            f"“{what}” must not touch the piece: {poison}.",
            why="Some plants poison by contact, eaten or not.",
            remedy=f"make the part of chocolate, marzipan or a sliver of vanilla pod; {LAW}",
        )
        return
    metal = "metal" in traits or bool(_METAL.search(what))
    if metal and garnish.eaten:
        eu = view.market == "EU"
        yield finding(
            Severity.CAUTION,
            "metals and lustre",
            garnish.where,
            _unlisted(f"“{what}”", eu=eu),
            why=f"{_METAL_LAW[eu]} What is sold as decoration only must not be eaten.",
            remedy=_ASK,
            source="eu-1333-2008" if eu else "",
        )
    # A stem of wire and a leaf of gold grow on no plant.
    grown = bool(_PLANT.search(what)) and not metal and not _INEDIBLE.search(what)
    plant = (grown or "unproven leaf" in traits) and not _MADE.search(what)
    if plant and garnish.ingredient is None:
        yield finding(
            Severity.CAUTION,
            "decorations",
            garnish.where,
            f"“{what}”: unknown foliage is poison until it is shown to be food.",
            why="Look-alikes are common, and florists' and garden leaves may have been sprayed.",
            remedy=f"buy it as food under its botanical name, or make it of chocolate or marzipan; {LAW}",
        )
    if garnish.eaten and _INEDIBLE.search(what):
        yield finding(
            Severity.STOP,
            "decorations",
            garnish.where,
            f"“{what}” is written as eaten.",
            why="Wire, wood and paper hurt mouths and throats.",
            remedy=f"write “eaten: no”, or make it of food; {LAW}",
        )
    elif not garnish.eaten:
        yield finding(
            Severity.NOTE,
            "decorations",
            garnish.where,
            f"“{what}” is not eaten: {garnish.count} on each piece, to be taken off before eating.",
            why="A part that is not food has to be large, in sight, counted and told to the guest.",
            remedy=f"count {garnish.count * view.worked.weighing.pieces} out and back; {LAW}",
        )
    elif garnish.ingredient is None:
        yield finding(
            Severity.NOTE,
            "decorations",
            garnish.where,
            f"“{what}” is eaten, but of which ingredient is not told.",
            why="It is missing from the label, the allergens and the cost.",
            remedy="write its ingredient and its weight.",
        )


def _traits(what: str, view: View) -> frozenset[str]:
    """What the larder says of a decoration it knows by name."""
    try:
        return view.worked.larder.find(what).traits
    except UnknownName:
        return frozenset()


@check("poisons", looks_at="toxic leaves and other things that must not be eaten among what is weighed")
def poisons(view: View) -> Iterator[Finding]:
    """Weighed things that the larder knows as poison, and those that some markets restrict."""
    told: set[str] = set()
    for part in view.parts:
        for content in part.contents("toxic", "toxic leaf", "unproven leaf", "ask the law"):
            ingredient = content.ingredient
            if ingredient.name in told or "stone kernel" in ingredient.traits:
                continue
            told.add(ingredient.name)
            grave = bool(ingredient.traits & {"toxic", "toxic leaf", "unproven leaf"})
            verdict = "not food" if grave else "restricted in some markets"
            yield finding(
                Severity.STOP if grave else Severity.CAUTION,
                "poisons",
                part.line(ingredient.name),
                f"{opened(ingredient.name)} in {part.name} is {verdict}.",
                why=ingredient.note or "Leaves and barks are poison until they are shown to be food.",
                remedy=f"leave it out, or ask your authority in writing; {LAW}",
            )


@check("stone kernels", looks_at="raw kernels of stone fruit", source="efsa-4424")
def kernels(view: View) -> Iterator[Finding]:
    """Raw kernels of apricot, peach or plum release cyanide, infused ones too."""
    for part in view.parts:
        for content in part.contents("stone kernel"):
            heated = degrees(content.heated_to)
            yield finding(
                Severity.STOP,
                "stone kernels",
                part.line(content.ingredient.name),
                f"{opened(content.ingredient.name)}: {grams(content.mass * part.cooked.mass)} in {part.name} "
                f"(heated to {heated}).",
                why="Raw kernels release cyanide, into an infusion too: 0.37 g of apricot kernel is the most at once "
                "for an adult, 0.06 g for a toddler.",
                remedy=f"leave the kernels out and use bitter-almond flavouring sold as food; {LAW}",
            )
