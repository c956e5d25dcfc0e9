"""Raw egg: whether every egg that is not bought pasteurised is cooked through by a listed time and temperature."""

from __future__ import annotations

from collections.abc import Iterator

from demoule.dossier.checks.registry import check, finding
from demoule.dossier.pasteurisation import HeatVerdict, pasteurised
from demoule.dossier.verdict import Verdict
from demoule.dossier.view import View
from demoule.dossier.words import degrees, duration
from demoule.figures import Finding, Severity
from demoule.formula.cooked import Content

__all__ = ["egg_product", "raw_egg"]

# Egg mixed into a sweet mix needs more heat than plain egg: the step of sugared yolk, or of frozen dessert mix.
_MIXED = "frozen dessert mix, eggnog"


def egg_product(name: str, *, sugared: bool) -> str:
    """The product of the table of 9 CFR 590.570 that an egg ingredient comes under.

    Examples
    --------
    >>> egg_product("egg yolk", sugared=True), egg_product("egg white", sugared=False)
    ('sugared yolk, 2 % sugar or more', 'egg white')
    """
    folded = name.casefold()
    if "white" in folded or "albumen" in folded:
        return "egg white"
    if "yolk" in folded:
        return "sugared yolk, 2 % sugar or more" if sugared else "plain yolk"
    return "sugared whole egg, 2-12 % sugar" if sugared else "whole egg"


def _judged(content: Content, sugared: bool, dairy: bool) -> HeatVerdict:
    if dairy:
        return pasteurised("US", _MIXED, content.heated_to, content.held)
    return pasteurised("US", egg_product(content.ingredient.name, sugared=sugared), content.heated_to, content.held)


@check("raw egg", looks_at="whether egg that is not bought pasteurised is cooked through", source="fda-food-code")
def raw_egg(view: View) -> Iterator[Finding]:
    """Judge the hottest that each raw egg has seen by the pasteurisation steps of its product."""
    best: dict[str, tuple[HeatVerdict, Content, str]] = {}
    for part in view.used:
        sweet = part.cooked.composition.sugars > 0.02
        for content in part.contents("raw egg"):
            judged = _judged(content, sweet, bool(part.contents("dairy")))
            name = content.ingredient.name
            order = [Verdict.FAIL, Verdict.NOT_SHOWN, Verdict.PASS]
            held = best.get(name)
            if held is None or order.index(judged.verdict) > order.index(held[0].verdict):
                best[name] = (judged, content, part.line(name))
    for name, (judged, content, where) in best.items():
        seen = f"{degrees(content.heated_to)} for {duration(content.held)}"
        if judged.verdict == Verdict.PASS:
            yield finding(
                Severity.NOTE,
                "raw egg",
                where,
                f"{name.capitalize()} reaches {seen} by the steps written: {judged.why[0].lower()}{judged.why[1:]}",
                why="The rule asks for heat proved in the coldest part of the mix, and a recipe proves nothing.",
                remedy="log the mix with a probe and keep the record.",
                source=judged.source,
            )
            continue
        fails = judged.verdict == Verdict.FAIL
        yield finding(
            Severity.STOP if fails else Severity.CAUTION,
            "raw egg",
            where,
            f"{name.capitalize()} is used raw and reaches {seen} only."
            if fails
            else f"Whether {name} is cooked through is not shown: {seen}.",
            why=f"Freezing does not kill Salmonella. {judged.why}",
            remedy="use pasteurised egg, or heat the mix to 83 °C for 15 s and log it.",
            source="fda-food-code" if fails else judged.source,
        )
