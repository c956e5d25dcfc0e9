"""A name as a rule reads it: folded, in words, with its numbers."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Protocol, Self

from demoule.larder.ingredient import Ingredient
from demoule.larder.naming import fold, folded_words
from demoule.larder.shelf import Shelf

__all__ = ["Asked", "Rule"]

_NUMBER = re.compile(r"\d+(?:\.\d+)?")


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What was asked for."""

    written: str
    text: str
    words: tuple[str, ...]

    @classmethod
    def of(cls, name: str) -> Self:
        """The reading of a name."""
        return cls(written=" ".join(name.split()), text=fold(name), words=folded_words(name))

    def has(self, *any_of: str) -> bool:
        """Whether one of some words (in the singular) is among those written."""
        return not frozenset(any_of).isdisjoint(self.words)

    def number(self, pattern: str) -> float | None:
        """The first number that a pattern finds in the folded text, in its first group that matched."""
        found = re.search(pattern, self.text)
        return float(next(group for group in found.groups() if group is not None)) if found else None

    @property
    def percent(self) -> float | None:
        """The first number before a per cent sign."""
        return self.number(r"(\d+(?:\.\d+)?) ?%")

    def without(self, drop: frozenset[str], *, numbers: bool = True) -> tuple[str, ...]:
        """The words that are left when some are taken away, and numbers with their per cent sign."""
        return tuple(
            word
            for word in self.words
            if word not in drop and not (numbers and (word in {"%", "+"} or _NUMBER.fullmatch(word)))
        )


class Rule(Protocol):
    """Makes an ingredient of a name it knows, or None."""

    def __call__(self, asked: Asked, shelf: Shelf, /) -> Ingredient | None:
        """The ingredient, or None when the name is not of this kind."""
