"""Errors in a chef's words: what is wrong, where, and what to do."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

__all__ = [
    "BadInput",
    "DemouleError",
    "DoesNotFit",
    "Mistake",
    "Mistakes",
    "OutsideValidity",
    "UnknownName",
    "nearest",
]


class DemouleError(Exception):
    """An error for people; every way out (terminal, page, JSON) shows its three parts in one shape.

    Parameters
    ----------
    says
        What is wrong, one sentence in trade units, with the value met and the value expected.
    where
        The place in the dessert, innermost first ("layer 'heart'"); each layer it passes may add one with `at`.
    remedy
        What to do about it.
    """

    def __init__(self, says: str, *, where: str = "", remedy: str = "") -> None:
        super().__init__(says)
        self.says = says
        self.places: list[str] = [where] if where else []
        self.remedy = remedy

    @property
    def where(self) -> str:
        """All places, from the outermost to the innermost."""
        return ", ".join(reversed(self.places))

    def at(self, place: str) -> DemouleError:
        """Add the place that the error passes on its way out; returns itself, to be raised again."""
        self.places.append(place)
        return self

    def __str__(self) -> str:
        lines = [self.says]
        if self.places:
            lines.append(f"Where: {self.where}.")
        if self.remedy:
            lines.append(f"What to do: {self.remedy}")
        return "\n".join(lines)


class BadInput(DemouleError):
    """Something a person gave that cannot be used as it is."""


class OutsideValidity(DemouleError):
    """A value outside the range in which a model may be used at all."""


class DoesNotFit(DemouleError):
    """Something that has no room where it should go."""


class UnknownName(BadInput):
    """A name that nothing carries; answered with the nearest known one."""

    def __init__(self, kind: str, name: str, known: Iterable[str], *, where: str = "") -> None:
        self.name = name
        names = tuple(known)
        self.hint = nearest(name, names)
        remedy = f"did you mean “{self.hint}”?" if self.hint else f"use the name of a known {kind}."
        if not names:
            remedy = f"no {kind} is known here: describe it in the file, or name the kitchen file that has it."
        super().__init__(f"There is no {kind} called “{name}”.", where=where, remedy=remedy)


@dataclass(frozen=True, slots=True, kw_only=True)
class Mistake:
    """One thing wrong in a file, at the place where a person can mend it; line and column count from 1."""

    file: str
    line: int
    column: int
    says: str
    remedy: str = ""

    def __str__(self) -> str:
        tail = f" ({self.remedy})" if self.remedy else ""
        return f"{self.file}:{self.line}:{self.column}: {self.says}{tail}"


class Mistakes(BadInput):
    """All the mistakes of a file at once."""

    def __init__(self, mistakes: Iterable[Mistake]) -> None:
        self.mistakes = tuple(sorted(mistakes, key=lambda m: (m.file, m.line, m.column)))
        count = len(self.mistakes)
        what = "One thing is" if count == 1 else f"{count} things are"
        super().__init__(f"{what} wrong in the file.", remedy="mend the lines named and try again.")

    def __str__(self) -> str:
        return "\n".join(str(mistake) for mistake in self.mistakes)


def nearest(name: str, known: Iterable[str]) -> str | None:
    """The known name closest in spelling to `name`, or None when nothing comes near."""
    return _nearest(name.casefold(), tuple(known))


@lru_cache(maxsize=256)
def _nearest(folded: str, known: tuple[str, ...]) -> str | None:
    # The same wrong name is met again and again while a dessert is worked on, and a thousand names take their time.
    by_folded = {candidate.casefold(): candidate for candidate in known}
    close = difflib.get_close_matches(folded, by_folded, n=1, cutoff=0.6)
    return by_folded[close[0]] if close else None
