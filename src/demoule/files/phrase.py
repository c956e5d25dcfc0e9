"""A step in one line, as a chef says it: "boil 2 min in 24 cm", "rest 12–48 h at 4 °C", "half the cream to 85 °C"."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field

from demoule.errors import BadInput
from demoule.units import Kind, leading
from demoule.units.number import tidy

__all__ = ["Grammar", "read_phrase"]

_PREPOSITION = re.compile(r"(to|at|for|in|into|with|by)\s+", re.IGNORECASE)
_NEXT = re.compile(r"\s+(?=(?:to|at|for|in|into|with|by)\s)|\s*,\s*(?!\d)|$", re.IGNORECASE)
_PAN = re.compile(
    r"(?:a\s+)?(?:(?:GN|hotel pan|gastronorm)\s*\d/\d(?:\s+\d+(?:[.,]\d+)?\s*(?:mm|cm|in\b|\"))?"
    r"|\d+(?:[.,]\d+)?\s*(?:mm|cm|in)?\s*[×x]\s*\d+(?:[.,]\d+)?\s*(?:mm|cm|in\b)?"
    r"|\d+(?:[.,]\d+)?\s*(?:cm|mm|in\b|\"))(?:\s*pan)?",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Grammar:
    """Which words of a phrase go to which field of a step.

    Parameters
    ----------
    slots
        (preposition, kind of quantity) to field; an empty preposition stands for any other.
    words
        Preposition to the field that takes plain words after it; an empty one takes words without a preposition.
    flags
        A word or two to (field, value).
    pan
        Whether a vessel may be named.
    """

    slots: Mapping[tuple[str, Kind], str] = field(default_factory=dict)
    words: Mapping[str, str] = field(default_factory=dict)
    flags: Mapping[str, tuple[str, str]] = field(default_factory=dict)
    pan: bool = False
    example: str = ""


def read_phrase(text: str, grammar: Grammar) -> dict[str, str]:
    """The fields that a phrase fills, each as it was written; raises BadInput at what cannot be understood."""
    filled: dict[str, str] = {}
    rest = tidy(text)
    while rest:
        rest, put = _one(rest, text, grammar)
        if put is None or not put[0]:
            continue  # a word that only helps to read, such as "overrun"
        name, value = put
        if name == "what" and name in filled:
            filled[name] += f", {value}"  # milk, egg yolk, sugar
            continue
        if name in filled:
            raise BadInput(
                f"“{text}” says twice what “{name}” is: {filled[name]} and {value}.", remedy=_example(grammar)
            )
        filled[name] = value
    return filled


def _one(rest: str, text: str, grammar: Grammar) -> tuple[str, tuple[str, str] | None]:
    rest = rest.lstrip(" ,;")
    for flag, put in sorted(grammar.flags.items(), key=lambda item: -len(item[0])):
        if re.match(rf"{re.escape(flag)}\b", rest, re.IGNORECASE):
            return rest[len(flag) :].strip(), put
    match = _PREPOSITION.match(rest)
    word = match[1].lower().replace("into", "in") if match else ""
    after = rest[match.end() :] if match else rest
    vessel = _PAN.match(after) if grammar.pan and word in ("in", "") else None
    if vessel:
        return after[vessel.end() :].strip(), ("pan", re.sub(r"\s*pan$|^a\s+", "", vessel[0]))
    kinds = {kind for _, kind in grammar.slots}
    found = leading(after, tuple(kinds)) if kinds else None
    if found:
        quantity, left = found
        name = grammar.slots.get((word, quantity.kind)) or grammar.slots.get(("", quantity.kind))
        if name:
            return left, (name, quantity.written)
    name = grammar.words.get(word)
    if name and after:
        end = _NEXT.search(after)
        assert end is not None  # it matches the end at the latest
        return after[end.end() :].strip(), (name, after[: end.start()].strip())
    if not rest:
        return "", None
    raise BadInput(f"“{rest}” cannot be understood in “{text}”.", remedy=_example(grammar))


def _example(grammar: Grammar) -> str:
    return f"write for example {grammar.example}." if grammar.example else "write it as name: value."
