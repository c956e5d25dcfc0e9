"""The order of work among components: what goes into another is made before it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from demoule.errors import BadInput
from demoule.formula.component import Candy, Component

__all__ = ["in_order", "place", "used_by"]


def place(component: Component) -> str:
    """Where a component stands in the dessert file."""
    return component.where or f"components.{component.name}"


def used_by(component: Component, names: Iterable[str]) -> tuple[str, ...]:
    """The components among `names` that a component needs, weighed in or as a syrup to lie in; each once."""
    by_folded = {name.casefold(): name for name in names}
    wanted = [line.what for line in component.weighed]
    wanted += [step.syrup for step in component.steps if isinstance(step, Candy)]
    found = (by_folded.get(what.casefold()) for what in wanted)
    return tuple(dict.fromkeys(name for name in found if name is not None))


def in_order(components: Sequence[Component]) -> tuple[Component, ...]:
    """Components so that each stands after those it needs; otherwise as they were given.

    Raises
    ------
    BadInput
        When a component contains itself, by however many steps, or two have one name.
    """
    by_name = {component.name: component for component in components}
    if len(by_name) < len(components):
        names = [component.name for component in components]
        twice = next(name for name in names if names.count(name) > 1)
        raise BadInput(
            f"Two components are called “{twice}”.", where=place(by_name[twice]), remedy="give one another name."
        )
    done: dict[str, Component] = {}
    path: list[str] = []

    def visit(name: str) -> None:
        if name in done:
            return
        if name in path:
            circle = [*path[path.index(name) :], name]
            raise BadInput(
                f"“{name}” contains itself: " + " contains ".join(f"“{part}”" for part in circle) + ".",
                where=place(by_name[name]),
                remedy="take one of them out of the other, or give the ingredient another name than the component.",
            )
        path.append(name)
        for needed in used_by(by_name[name], by_name):
            visit(needed)
        path.pop()
        done[name] = by_name[name]

    for component in components:
        visit(component.name)
    return tuple(done.values())
