"""All ingredients by name, a chef's own items before the tables."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from demoule.larder.ingredient import Ingredient

__all__ = ["Larder", "standard_larder"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Larder:
    """The ingredients that can be weighed; earlier ones win over later ones of the same name."""

    items: tuple[Ingredient, ...]

    def find(self, name: str) -> Ingredient:
        """The ingredient of a name or other spelling; raises UnknownName with the nearest one."""
        raise NotImplementedError

    def search(self, words: str, most: int = 20) -> tuple[Ingredient, ...]:
        """Ingredients in whose names the words occur, best first."""
        raise NotImplementedError

    def names(self) -> tuple[str, ...]:
        """Every name and spelling that `find` accepts."""
        raise NotImplementedError

    def with_items(self, own: Iterable[Ingredient]) -> Larder:
        """A larder in which `own` items come first."""
        return Larder(items=(*own, *self.items))


def standard_larder() -> Larder:
    """The larder that comes with demoule."""
    raise NotImplementedError
