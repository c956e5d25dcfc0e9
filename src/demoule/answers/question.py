"""What a small question asks for, and its answer, as data."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, field
from typing import Any

from demoule.errors import BadInput, UnknownName
from demoule.figures import Basis, Figure, Finding
from demoule.larder import Larder
from demoule.piece import Mould
from demoule.units import Kind, Quantity, parse

__all__ = ["Answer", "Parameter", "Question", "Values"]

_BARE = re.compile(r"[+\-−]?\d+(?:[.,]\d+)?(?:[eE][+-]?\d+)?")


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """The answer to one question: named figures, what they stand on, and what to mind."""

    question: str
    figures: Mapping[str, Figure]
    basis: tuple[Basis, ...]
    findings: tuple[Finding, ...] = ()
    words: Mapping[str, str] = field(default_factory=dict)  # answers that are texts, not figures


@dataclass(frozen=True, slots=True, kw_only=True)
class Parameter:
    """One thing that a question needs.

    Parameters
    ----------
    kind
        What a quantity measures, a list of kinds, or None for words.
    bare
        The unit that a bare number is read in, or empty when a unit must be written.
    default
        What is taken when nothing is given; None: it must be given unless `optional`.
    """

    name: str
    says: str
    kind: Kind | Collection[Kind] | None = None
    bare: str = ""
    default: str | None = None
    optional: bool = False
    choices: tuple[str, ...] = ()
    span: bool = False
    zero: bool = False
    example: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Values:
    """What was given for one question, read on demand; every reading names the parameter when it fails."""

    question: Question
    given: Mapping[str, str]
    larder: Larder
    cavities: Callable[[str], Mould] | None = None

    def has(self, name: str) -> bool:
        """Whether the parameter was given or has a default."""
        return name in self.given or self.question.parameter(name).default is not None

    def words(self, name: str) -> str:
        """The parameter as written."""
        parameter = self.question.parameter(name)
        text = self.given.get(name, parameter.default)
        if text is None or not text.strip():
            raise BadInput(
                f"“{name}” is missing: {parameter.says}.",
                where=f"question “{self.question.name}”",
                remedy=f"write for example {name}={_quoted(parameter.example)}",
            )
        text = text.strip()
        if parameter.choices and text.casefold() not in parameter.choices:
            raise UnknownName(name, text, parameter.choices, where=f"question “{self.question.name}”")
        return text.casefold() if parameter.choices else text

    def quantity(self, name: str) -> Quantity:
        """The parameter as a quantity in SI."""
        parameter = self.question.parameter(name)
        assert parameter.kind is not None
        text = self.words(name)
        if parameter.bare and _BARE.fullmatch(text):
            text = f"{text} {parameter.bare}"
        try:
            return parse(text, parameter.kind, span=parameter.span, zero=parameter.zero)
        except BadInput as error:
            raise error.at(f"“{name}” of question “{self.question.name}”") from None

    def number(self, name: str) -> float:
        """The parameter's value in SI."""
        return self.quantity(name).value

    def cavity(self, name: str) -> Mould:
        """A cavity of a file, when the caller can read files."""
        if self.cavities is None or ":" not in name:
            raise BadInput(
                f"“{name}” is neither slab, cylinder nor sphere, nor a cavity of a file.",
                where="“shape”",
                remedy="write slab, cylinder, sphere, or FILE:NAME with a kitchen file and a mould in it.",
            )
        return self.cavities(name)

    def maybe(self, name: str) -> float | None:
        """The parameter's value in SI, or None when it was not given and has no default."""
        return self.number(name) if self.has(name) else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """One question: its name, the sentence it is, what it needs, and the function that answers."""

    name: str
    sentence: str  # with {parameter} where a field stands: "How dense is {mix} at {at}?"
    parameters: tuple[Parameter, ...]
    answer: Callable[[Values], Any]

    def parameter(self, name: str) -> Parameter:
        """One parameter by name."""
        return next(p for p in self.parameters if p.name == name)

    def ask(self, given: Mapping[str, str], larder: Larder, cavities: Callable[[str], Mould] | None = None) -> Answer:
        """Answer it; a parameter that it does not know is an error. `cavities` finds a mould by FILE:NAME."""
        known = [p.name for p in self.parameters]
        for name in given:
            if name not in known:
                raise UnknownName(f"value of question “{self.name}”", name, known)
        answer = self.answer(Values(question=self, given=given, larder=larder, cavities=cavities))
        assert isinstance(answer, Answer)
        return answer


def _quoted(text: str) -> str:
    return f'"{text}"' if " " in text else text
