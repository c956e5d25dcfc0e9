"""How much pure colour stands in each layer and in the whole piece, and what the market says to it on each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from demoule.dossier.energy import Market
from demoule.larder import Verdict, check_colours
from demoule.larder.ingredient import Additive, Ingredient

if TYPE_CHECKING:
    from demoule.worked import Worked

__all__ = ["Dose", "category_of", "colour_doses", "colour_verdicts"]

_CATEGORIES = {
    "shell": "05.4",
    "spray": "05.4",
    "base": "07.2",
}
_US_FOODS = {"shell": "coating", "spray": "coating", "base": "cake"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Dose:
    """Pure colour in one layer [mg/kg]; None where no sheet tells the strength of the preparation."""

    e_number: str
    component: str
    role: str
    ingredient: str
    in_layer: float | None
    in_piece: float | None


def _colours(ingredient: Ingredient) -> tuple[Additive, ...]:
    return tuple(a for a in ingredient.additives if a.label_class == "colour")


def colour_doses(worked: Worked) -> tuple[Dose, ...]:
    """Every colour of every layer."""
    whole = worked.piece.mass
    doses: list[Dose] = []
    for layer in worked.piece.layers:
        for content in worked.cooked[layer.component].contents:
            for additive in _colours(content.ingredient):
                share = None if additive.share is None else 1e6 * additive.share * content.mass
                doses.append(
                    Dose(
                        e_number=additive.e_number,
                        component=layer.component,
                        role=layer.role,
                        ingredient=content.ingredient.name,
                        in_layer=share,
                        in_piece=None if share is None else share * layer.mass / whole,
                    )
                )
    return tuple(doses)


def category_of(role: str, market: Market) -> str:
    """The food on which a limit is judged for a layer of a role; a person may see it otherwise."""
    if market == "US":
        return _US_FOODS.get(role, "gelatin dessert")
    return _CATEGORIES.get(role, "16")


def colour_verdicts(doses: Sequence[Dose], market: Market) -> tuple[tuple[Dose, Verdict], ...]:
    """What the market says to the colours of each layer, alone and together, judged on that layer."""
    judged: list[tuple[Dose, Verdict]] = []
    for component in dict.fromkeys((dose.component, dose.role) for dose in doses):
        here = [dose for dose in doses if (dose.component, dose.role) == component]
        summed: dict[str, float | None] = {}
        for dose in here:
            before = summed.get(dose.e_number, 0.0)
            summed[dose.e_number] = None if before is None or dose.in_layer is None else before + dose.in_layer
        for verdict in check_colours(summed, market, category_of(component[1], market)):
            inside = verdict.colour.split(" + ")  # several where a limit holds for their sum
            first = next((dose for dose in here if dose.e_number in inside), here[0])
            judged.append((first, verdict))
    return tuple(judged)
