"""Where the work itself can hurt: hot sugar, cold metal, spray mist, dust, and cold gases."""

from __future__ import annotations

from collections.abc import Iterator

from demoule.dossier.checks.registry import LAW, check, finding
from demoule.dossier.view import View
from demoule.dossier.words import degrees, listed, opened
from demoule.figures import Finding, Severity
from demoule.formula.component import Note
from demoule.units import kelvin

__all__ = ["cold_burns", "cold_gases", "dust", "hot_sugar", "spray_mist"]


@check("hot sugar", looks_at="syrups and caramels above 100 °C")
def hot_sugar(view: View) -> Iterator[Finding]:
    """Components that are taken hotter than boiling water with sugar in them."""
    # Of what is in it: the mean of a hot syrup and the cold cream that waits beside it burns nobody.
    hot = [
        (part, max(content.heated_to for content in part.cooked.contents))
        for part in view.parts
        if part.cooked.contents and part.cooked.composition.sugars > 0.2
    ]
    hottest = [(part, top) for part, top in hot if top > kelvin(103)]
    if hottest:
        part, top = max(hottest, key=lambda pair: pair[1])
        yield finding(
            Severity.NOTE,
            "hot sugar",
            part.where,
            f"{opened(listed([p.name for p, _ in hottest]))} reach{'es' if len(hottest) == 1 else ''} "
            f"{degrees(top)}: hot sugar sticks and burns deeply.",
            why="Steam bursts out when cream or purée goes in.",
            remedy=f"long sleeves, a deep pan, cold water at hand, nobody called away; {LAW}",
        )


@check("cold burns", looks_at="metal and pieces colder than −25 °C")
def cold_burns(view: View) -> Iterator[Finding]:
    """Rooms cold enough to burn skin."""
    if view.coldest < kelvin(-25):
        yield finding(
            Severity.NOTE,
            "cold burns",
            "cold",
            f"Metal and pieces at {degrees(view.coldest)} burn skin.",
            why="Bare hands freeze to trays, and a room that shuts from outside is a trap.",
            remedy=f"gloves, short turns, and nobody alone in a cold room that cannot be opened from within; {LAW}",
        )


@check("spray mist", looks_at="fat and pigment in the air")
def spray_mist(view: View) -> Iterator[Finding]:
    """Any layer that is sprayed."""
    sprays = [layer for layer, _ in view.layered if layer.role == "spray"]
    if sprays:
        yield finding(
            Severity.NOTE,
            "spray mist",
            sprays[0].where or "piece.skin",
            "The mist of fat and pigment is breathed in, burns, and makes the floor slippery.",
            why="It also carries allergens to everything near.",
            remedy=f"booth with extraction, mask, no open flame, wiped floor; {LAW}",
        )


@check("dust", looks_at="flour and ground nuts in the air")
def dust(view: View) -> Iterator[Finding]:
    """Flour and nut powders sensitise the airways of those who weigh them."""
    dusty = [
        i.name
        for _part, i, _mass in view.ingredients()
        if {"flour", "powder"} & set(i.name.casefold().split()) and ("nut" in i.traits or "flour" in i.name.casefold())
    ]
    if dusty:
        yield finding(
            Severity.NOTE,
            "dust",
            "components",
            f"Dust of {listed(list(dict.fromkeys(dusty)))} sensitises the airways of those who weigh it.",
            why="Bakers' asthma and nut allergy begin with what is breathed in at work.",
            remedy=f"pour low, sieve under cover, wipe wet; {LAW}",
        )


@check("cold gases", looks_at="dry ice and liquid nitrogen", source="fda-food-code")
def cold_gases(view: View) -> Iterator[Finding]:
    """Dry ice or liquid nitrogen among the steps or ingredients."""
    words = ("dry ice", "liquid nitrogen", "carbonic snow")
    for part in view.parts:
        texts = [step.text for step in part.recipe.steps if isinstance(step, Note)]
        found = [word for word in words if any(word in text.casefold() for text in texts)]
        found += [c.ingredient.name for c in part.contents("hazard cold")]
        if found:
            yield finding(
                Severity.CAUTION,
                "cold gases",
                part.where,
                f"{opened(part.name)} is made with {listed(found)}.",
                why="It suffocates in small rooms, bursts closed boxes, burns skin, and must never be swallowed.",
                remedy=f"food grade, an aired room, an open vessel, and all of it gone before serving; {LAW}",
            )
