"""The house recipes: three plain components that a piece may name without writing them out.

A chef who names a coating, a velvet or an almond disc and gives no recipe means the usual one; it is used, and said so.
"""

from __future__ import annotations

from demoule.files.component import ComponentEntry
from demoule.formula.component import Component
from demoule.piece.design import PieceDesign

__all__ = ["HOUSE", "HOUSE_NAMES", "house_components", "is_house"]

HOUSE: dict[str, dict[str, object]] = {
    "coating": {
        "weigh": {"white chocolate": "60 %", "cocoa butter": "40 %"},
        "to make": "1.5 kg",
        "steps": ["melt to 45 °C", "strain, loses 1 %"],
    },
    "velvet": {
        "weigh": {"cocoa butter": "60 %", "white chocolate": "40 %"},
        "to make": "250 g",
        "steps": ["melt to 45 °C", "strain, loses 1 %"],
    },
    "almond disc": {
        "weigh": {
            "egg white": "110 g",
            "sugar": "40 g",
            "icing sugar": "60 g",
            "almond powder": "75 g",
            "flour": "15 g",
        },
        "steps": [
            "note whip the egg white with the sugar, fold in the powders, spread 300×400",
            {"bake": {"at": "170 °C", "for": "12 min", "loses": "15 %"}},
        ],
    },
}
"""Common practice, no source: a dip of 60:40, a velvet of 40:60, and a nut meringue sheet."""

HOUSE_NAMES: dict[str, str] = {name.casefold(): name for name in HOUSE}

_WHERE = "house."


def house_components(design: PieceDesign, written: set[str]) -> tuple[Component, ...]:
    """The house recipes that a piece names and its file does not write; `written` holds folded names."""
    named = [design.body.component, *(skin.component for skin in design.skins)]
    named += [design.base.component] if design.base else []
    heart = design.heart
    while heart is not None:
        named.append(heart.component)
        heart = heart.inside
    wanted = dict.fromkeys(name.casefold() for name in named)
    return tuple(_component(HOUSE_NAMES[name]) for name in wanted if name in HOUSE_NAMES and name not in written)


def _component(name: str) -> Component:
    return ComponentEntry.model_validate(HOUSE[name]).to_component(name, where=f"{_WHERE}{name}")


def is_house(component: Component) -> bool:
    """Whether a component is a house recipe and not the chef's own."""
    return component.where.startswith(_WHERE)
