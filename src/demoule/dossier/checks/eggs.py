"""Raw egg: whether every egg that is not bought pasteurised is cooked through by a listed time and temperature."""

from __future__ import annotations

from collections.abc import Iterator

from demoule.dossier.checks.registry import check, finding
from demoule.dossier.hygiene import time_between
from demoule.dossier.pasteurisation import HeatVerdict, heat_steps, pasteurised
from demoule.dossier.verdict import Verdict
from demoule.dossier.view import Part, View
from demoule.dossier.words import degrees, opened
from demoule.figures import Finding, Severity
from demoule.formula.cooked import Content
from demoule.units import Kelvin, kelvin

__all__ = ["egg_product", "raw_egg"]

# Egg mixed into a sweet mix needs more heat than plain egg: the step of sugared yolk, or of frozen dessert mix.
_MIXED = "frozen dessert mix, eggnog"
_ORDER = [Verdict.FAIL, Verdict.NOT_SHOWN, Verdict.PASS]
_RAW: Kelvin = kelvin(60)  # below it no egg is pasteurised in the minutes of a kitchen
_NO_LIMIT: Kelvin = 1000.0
_ROUNDING = 0.01  # K


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


def _judged(part: Part, content: Content) -> HeatVerdict:
    """The best that the listed pairs say of the path of temperature an egg has gone through."""
    if part.contents("dairy"):
        product = _MIXED
    else:
        product = egg_product(content.ingredient.name, sugared=part.cooked.composition.sugars > 0.02)
    times = [moment.time for moment in part.cooked.history]
    temperatures = [moment.temperature for moment in part.cooked.history]
    pairs = [s for s in heat_steps() if (s.jurisdiction, s.product) == ("US", product)]
    levels = [s.temperature for s in pairs if s.temperature <= content.heated_to] or [content.heated_to]
    tried = [
        pasteurised("US", product, level, time_between(times, temperatures, level - _ROUNDING, _NO_LIMIT))
        for level in levels
    ]
    return max(tried, key=lambda verdict: _ORDER.index(verdict.verdict))


@check("raw egg", looks_at="whether egg that is not bought pasteurised is cooked through", source="fda-food-code")
def raw_egg(view: View) -> Iterator[Finding]:
    """Judge the heat that each raw egg has seen by the pasteurisation steps of its product."""
    best: dict[str, tuple[HeatVerdict, Content, str]] = {}
    for part in view.used:
        for content in part.contents("raw egg"):
            judged = _judged(part, content)
            name = content.ingredient.name
            held = best.get(name)
            if held is None or _ORDER.index(judged.verdict) > _ORDER.index(held[0].verdict):
                best[name] = (judged, content, part.line(name))
    for name, (judged, content, where) in best.items():
        seen = degrees(content.heated_to)
        if judged.verdict == Verdict.PASS:
            yield finding(
                Severity.NOTE,
                "raw egg",
                where,
                f"{opened(name)} reaches {seen} by the steps written: {judged.why[0].lower()}{judged.why[1:]}",
                why="The rule asks for heat proved in the coldest part of the mix, and a recipe proves nothing.",
                remedy="log the mix with a probe and keep the record.",
                source=judged.source,
            )
        elif content.heated_to < _RAW:
            yield finding(
                Severity.STOP,
                "raw egg",
                where,
                f"{opened(name)} is used raw: it reaches {seen} only.",
                why="Salmonella lives through freezing, and egg in what is not cooked through must be pasteurised.",
                remedy="use pasteurised egg, or heat the mix to 83 °C, keep it there for 15 s and log it.",
            )
        else:
            yield finding(
                Severity.CAUTION,
                "raw egg",
                where,
                f"Whether {name} is cooked through is not shown: it reaches {seen}, too short or for an untold time.",
                why=judged.why,
                remedy="write how long it is kept hot: 83 °C for 15 s, and log it; or use pasteurised egg.",
                source=judged.source,
            )
