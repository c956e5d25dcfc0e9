"""How much of one thing is weighed: a mass, a volume, leaves, a percentage, a share of another component."""

from __future__ import annotations

import re
from typing import Annotated, Any

from pydantic import BeforeValidator, WithJsonSchema

from demoule.errors import BadInput
from demoule.files.fields import complaint, complaints
from demoule.formula.component import Amount
from demoule.larder.naming import counted
from demoule.units import Kind, leading, parse
from demoule.units.number import tidy

__all__ = ["SHARES", "AmountField", "amount", "line"]

SHARES: dict[str, float] = {
    "all": 1.0,
    "the rest": 1.0,
    "half": 1 / 2,
    "a half": 1 / 2,
    "½": 1 / 2,
    "a third": 1 / 3,
    "one third": 1 / 3,
    "⅓": 1 / 3,
    "two thirds": 2 / 3,
    "⅔": 2 / 3,
    "a quarter": 1 / 4,
    "one quarter": 1 / 4,
    "¼": 1 / 4,
    "three quarters": 3 / 4,
    "¾": 3 / 4,
}
"""Words for a part of all that another component gives."""

_KINDS = (Kind.MASS, Kind.VOLUME, Kind.COUNT, Kind.PERCENT)
_BARE = re.compile(r"[-+\d\s.,/'eE¼-¾⅐-⅞]+")
_NUMBER = re.compile(r"[-+]?[\d\s.,/'¼-¾⅐-⅞]*[\d¼-¾⅐-⅞]|[-+]?\d[\d.]*e[-+]?\d+", re.IGNORECASE)
_COUNTED = 24  # more than that nobody counts into a bowl
_WORDS = re.compile(r"(?:of\s+)?(?:the\s+|it\s*)?", re.IGNORECASE)


def amount(written: Any) -> Amount:
    """Read an amount; raises BadInput with what to write instead.

    Examples
    --------
    >>> amount("2 leaves").count
    2.0
    >>> amount("half").share
    0.5
    """
    if isinstance(written, (int, float)) and not isinstance(written, bool):
        raise _bare(f"{written}")
    if not isinstance(written, str):
        raise BadInput("An amount is expected here.", remedy="write for example 730 g or 2 leaves.")
    text = tidy(written)
    share = SHARES.get(text.casefold().removesuffix(" of it"))
    if share is not None:
        return Amount(share=share, written=written)
    if text and _BARE.fullmatch(text):
        raise _bare(text)
    quantity = parse(written, _KINDS)
    match quantity.kind:
        case Kind.MASS:
            return Amount(mass=quantity.value, written=written)
        case Kind.VOLUME:
            return Amount(volume=quantity.value, written=written)
        case Kind.COUNT:
            return Amount(count=quantity.value, written=written)
        case _:
            if quantity.value <= 0:
                raise BadInput(f"“{written}” of something is nothing.", remedy="take the line out, or write more.")
            return Amount(percent=quantity.value, written=written)


def _bare(number: str) -> BadInput:
    """What to say of a number without a unit; a small whole one may have meant eggs or leaves."""
    if not _NUMBER.fullmatch(number):
        return BadInput(f"“{number}” is no amount.", remedy="write for example 730 g or 2.5 oz, or 2 leaves.")
    counted = f", or {number} pieces" if number.isdigit() and 1 < int(number) <= _COUNTED else ""
    return BadInput(f"“{number}” has no unit.", remedy=f"write for example {number} g{counted}.")


def line(text: str) -> tuple[str, str]:
    """A line in a list as (what, amount): "700 g cream 35 %", "half the apricot jelly"; raises BadInput."""
    tidied = tidy(text)
    for words in sorted(SHARES, key=len, reverse=True):
        if tidied.casefold().startswith(words + " "):
            return _WORDS.sub("", tidied[len(words) :].strip(), count=1), words
    found = leading(tidied, _KINDS)
    if found:
        quantity, rest = found
        what = counted(quantity.unit, _WORDS.sub("", rest, count=1))
        if what:
            return what, quantity.written
    raise BadInput(f"“{text}” does not begin with an amount.", remedy="write for example 700 g cream, or cream: 700 g.")


def _field(value: Any) -> Amount:
    try:
        return amount(value)
    except BadInput as error:
        raise complaint(error) from None


AmountField = Annotated[
    Amount,
    BeforeValidator(_field),
    WithJsonSchema(
        {
            "type": "string",
            "description": "A mass, a volume, a number of leaves or pieces, a percentage, or a share of a component.",
            "examples": ["730 g", "2.5 oz", "¾ cup", "2 leaves", "35 %", "half", "all"],
        }
    ),
]


def single(value: Any) -> dict[str, Any]:
    """One line of a list as a mapping of one name to its amount."""
    if isinstance(value, str):
        try:
            what, how_much = line(value)
        except BadInput as error:
            raise complaint(error) from None
        return {what: how_much}
    if isinstance(value, dict) and len(value) == 1:
        return value
    raise complaints("A line of a list names one thing and its amount.", "write - cream 35 %: 700 g, one a line.")
