"""What a chef should know of a file that is right in form: recipes nothing uses, and recipes it does not write."""

from __future__ import annotations

from demoule.figures import Finding, Severity
from demoule.files.house import is_house
from demoule.formula.order import used_by
from demoule.piece import Heart
from demoule.worked import Dessert

__all__ = ["notes"]


def notes(dessert: Dessert) -> tuple[Finding, ...]:
    """Notes on the components of a dessert, in their order."""
    used = _used(dessert)
    found = []
    for component in dessert.components:
        if is_house(component):
            found.append(
                Finding(
                    severity=Severity.NOTE,
                    rule="house recipe",
                    where="components",
                    says=f"No recipe of “{component.name}” is written; the house recipe is used.",
                    why="Its fat and sugar decide how thick it lands, what it costs and what stands on the label.",
                    remedy=f"write your own under components, as {component.name}:.",
                )
            )
        elif component.name.casefold() not in used:
            found.append(
                Finding(
                    severity=Severity.NOTE,
                    rule="component not used",
                    where=component.where,
                    says=f"“{component.name}” goes into no other component and into no part of the piece.",
                    why="It is neither weighed, nor priced, nor listed on the label.",
                    remedy="name it where it belongs, or take it out.",
                )
            )
    return tuple(found)


def _used(dessert: Dessert) -> set[str]:
    """Folded names of the components that the piece needs, through all that they are made of."""
    by_name = {component.name.casefold(): component for component in dessert.components}
    piece = dessert.piece
    waiting = [piece.body.component, *(skin.component for skin in piece.skins)]
    waiting += [piece.base.component] if piece.base else []
    heart: Heart | None = piece.heart
    while heart is not None:
        waiting.append(heart.component)
        heart = heart.inside
    used: set[str] = set()
    while waiting:
        name = waiting.pop().casefold()
        if name in used or name not in by_name:
            continue
        used.add(name)
        waiting += used_by(by_name[name], by_name)
    return used
