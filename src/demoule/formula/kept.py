"""Cooking that remembers: a component whose recipe, parts and place did not change is not cooked again."""

from __future__ import annotations

from collections.abc import Mapping

from demoule.formula.component import Candy, Component
from demoule.formula.cook import cook
from demoule.formula.cooked import Cooked
from demoule.formula.surroundings import Surroundings
from demoule.larder.larder import Larder
from demoule.memory import Memory

__all__ = ["cook_kept"]


def cook_kept(
    component: Component, larder: Larder, made: Mapping[str, Cooked], around: Surroundings, memory: Memory
) -> Cooked:
    """`cook`, or what it gave for the same component out of the same things in the same place."""
    by_name = {name.casefold(): cooked for name, cooked in made.items()}
    wanted = [line.what for line in component.weighed]
    wanted += [step.syrup for step in component.steps if isinstance(step, Candy)]
    names = dict.fromkeys(name.casefold() for name in wanted)
    used = tuple(by_name[name] for name in names if name in by_name)
    items = tuple(larder.find(name) for name in dict.fromkeys(wanted) if name.casefold() not in by_name)
    return memory.recall(cook, (component, used, items, around), lambda: cook(component, larder, made, around))
