"""Names that are made rather than listed: "glucose syrup 42 DE", "cream 35 %", "apricot purée 10 % sugar"."""

from __future__ import annotations

from demoule.larder.ingredient import Ingredient
from demoule.larder.rules.asked import Asked, Rule
from demoule.larder.rules.chocolate import chocolate
from demoule.larder.rules.colours import colour
from demoule.larder.rules.dairy import dairy
from demoule.larder.rules.forms import cut_form, table_row
from demoule.larder.rules.fruit import candied, fruit
from demoule.larder.rules.gelatine import gelatine
from demoule.larder.rules.nuts import nut
from demoule.larder.rules.starch_sugars import starch_sugar
from demoule.larder.rules.strong_drink import strong_drink
from demoule.larder.shelf import Shelf

__all__ = ["EXAMPLES", "RULES", "Asked", "Rule", "by_rule"]

RULES: tuple[Rule, ...] = (
    table_row,
    starch_sugar,
    gelatine,
    colour,
    chocolate,
    dairy,
    strong_drink,
    nut,
    candied,
    fruit,
    cut_form,
)
"""Every rule, in the order in which they are asked; the first that knows the name makes the ingredient."""

EXAMPLES = (
    "glucose syrup 42 DE",
    "glucose syrup 60 DE enzymatic",
    "glucose powder 38 DE",
    "maltodextrin 18 DE",
    "gelatine 200 bloom",
    "gelatine powder 220 bloom",
    "gelatine leaf gold",
    "fish gelatine 200 bloom",
    "gelatine mass 200 bloom",
    "dark chocolate 66 %",
    "milk chocolate 38 %",
    "white chocolate 30 %",
    "cream 35 %",
    "cream 40 %",
    "milk 3.5 %",
    "butter 84 %",
    "rum 40 %",
    "kirsch 45 %",
    "apricot purée",
    "raspberry purée 10 % sugar",
    "apricot juice",
    "apricot pitted",
    "apricot diced",
    "freeze-dried strawberry",
    "candied ginger",
    "almond powder",
    "hazelnut paste",
    "hazelnut praline 60 %",
    "oil colour E 160a",
    "water colour E 120",
    "coloured cocoa butter E 160a",
    "pearl lustre",
)
"""One name of each kind that the rules make, for lists of names."""


def by_rule(name: str, shelf: Shelf) -> Ingredient | None:
    """The ingredient that a rule makes of a name, or None; raises BadInput for a number no such thing can have."""
    asked = Asked.of(name)
    for rule in RULES:
        found = rule(asked, shelf)
        if found is not None:
            return found
    return None
