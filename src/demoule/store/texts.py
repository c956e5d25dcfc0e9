"""Texts that every database can keep sign by sign."""

from __future__ import annotations

from demoule.errors import BadInput

__all__ = ["LARGEST", "checked_key", "checked_text", "line"]

LARGEST = 1_000_000
"""Bytes of one text; what can be read as a file is five times smaller."""


def checked_text(text: str, largest: int = LARGEST) -> str:
    """The text, when it can be kept; raises BadInput."""
    try:
        size = len(text.encode())
    except UnicodeEncodeError:
        raise BadInput("The text holds half a sign.", remedy="take it out, or type it again.") from None
    if size > largest:
        raise BadInput(
            f"The text holds {size / 1e6:.3g} MB; at most {largest / 1e6:g} MB are kept.", remedy="split it."
        )
    if "\0" in text:
        number = text[: text.index("\0")].count("\n") + 1
        raise BadInput(
            "The text holds a sign that no text holds (number 0).", where=f"line {number}", remedy="take it out."
        )
    return text


def line(text: str, what: str, *, most: int = 200, needed: bool = False) -> str:
    """One line without spaces around it; `what` says in messages what it is."""
    text = text.strip()
    if len(text) > most:
        raise BadInput(f"The {what} has {len(text)} signs; at most {most} are kept.", remedy="shorten it.")
    if needed and not text:
        raise BadInput(f"The {what} is missing.", remedy="write it.")
    return checked_text(text)


def checked_key(key: str) -> str | None:
    """The client's key of an act, None when it gave none."""
    return line(key, "key of the save", most=80) or None
