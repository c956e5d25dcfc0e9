"""What goes into the memory and comes out of it, as frozen values: who wrote, heads, versions."""

from __future__ import annotations

import enum
from dataclasses import dataclass
from datetime import UTC, datetime

from demoule.errors import BadInput

__all__ = ["By", "Draft", "Head", "Kind", "Version", "utc"]


def utc(moment: datetime) -> datetime:
    """The moment in UTC; one without a time zone is refused, since it could be anything."""
    if moment.tzinfo is None or moment.utcoffset() is None:
        raise ValueError("a moment needs its time zone")
    return moment.astimezone(UTC)


class Kind(enum.StrEnum):
    """What a document describes."""

    DESSERT = "dessert"
    KITCHEN = "kitchen"
    ORDERS = "orders"
    WEEK = "week"


@dataclass(frozen=True, slots=True, kw_only=True)
class By:
    """Who writes, when, and why; the caller's clock and the caller's words.

    Raises
    ------
    BadInput
        When nobody is named or a text is too long.
    """

    who: str
    at: datetime
    why: str = ""

    def __post_init__(self) -> None:
        object.__setattr__(self, "at", utc(self.at))
        if not self.who.strip():
            raise BadInput("Nobody is named as the one who writes.", remedy="sign in, or say who you are.")
        for text, what, most in ((self.who, "name", 200), (self.why, "reason", 2000)):
            if len(text) > most:
                raise BadInput(f"The {what} has {len(text)} signs; at most {most} are kept.", remedy="shorten it.")
            if "\0" in text or any("\ud800" <= sign <= "\udfff" for sign in text):
                raise BadInput(f"The {what} holds a sign that no text holds.", remedy="take the sign out.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Head:
    """A document as it stands now, without its text.

    Parameters
    ----------
    rev
        Rises with every change; give it back with a save.
    n
        Number of the version that stands.
    at, who, why
        Of that version.
    put_away
        Hidden from the lists; nothing is ever deleted.
    branch_of, branch_of_n
        The document and version it began from, for a branch.
    """

    kind: Kind
    slug: str
    name: str
    rev: int
    n: int
    at: datetime
    who: str
    why: str
    put_away: bool
    branch_of: str = ""
    branch_of_n: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Version:
    """One version of a document; it never changes.

    Parameters
    ----------
    text
        Exactly as it was typed, to the last line end.
    rev
        The revision that the document took with it.
    parent
        Number of the version it was made from; None for the first.
    act
        "begun", "saved", "restored", "branched" or "taken in".
    digest
        SHA-256 of the text in UTF-8.
    """

    kind: Kind
    slug: str
    name: str
    n: int
    rev: int
    text: str
    parent: int | None
    act: str
    who: str
    at: datetime
    why: str
    digest: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """What a person has typed into a document and not saved yet.

    Parameters
    ----------
    rev
        The revision that the person began from.
    """

    kind: Kind
    slug: str
    who: str
    text: str
    at: datetime
    rev: int
