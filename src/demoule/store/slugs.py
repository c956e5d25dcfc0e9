"""Short names that can stand in an address and in a file's name."""

from __future__ import annotations

import re
import unicodedata

from demoule.errors import BadInput

__all__ = ["LONGEST", "checked_slug", "free_slug", "slug_of"]

LONGEST = 80
"""Signs of a short name."""

_SLUG = re.compile(r"[a-z0-9](?:[a-z0-9-]{0,78}[a-z0-9])?")
# Letters that have no accent to take off.
_LETTERS = str.maketrans({"œ": "oe", "æ": "ae", "ß": "ss", "ø": "o", "đ": "d", "ł": "l", "þ": "th", "ð": "d", "ı": "i"})


def slug_of(name: str) -> str:
    """A short name made from a name.

    Examples
    --------
    >>> slug_of("Pêche & Verveine, été")
    'peche-verveine-ete'
    """
    plain = unicodedata.normalize("NFKD", name.casefold().translate(_LETTERS))
    plain = "".join(sign for sign in plain if not unicodedata.combining(sign))
    # Room is left for the number of a second one of the same name.
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[: LONGEST - 10].strip("-") or "untitled"


def checked_slug(slug: str) -> str:
    """The short name, when it is one; it may be used in a path and in an address as it is."""
    if not _SLUG.fullmatch(slug):
        raise BadInput(
            f"“{slug[:LONGEST]}” cannot be a short name.",
            remedy=f"use up to {LONGEST} of the letters a to z, digits and hyphens, such as “{slug_of(slug)}”.",
        )
    return slug


def free_slug(wanted: str, taken: set[str]) -> str:
    """The short name, or the first free one of its kind: "apricot", "apricot-2", …"""
    if wanted not in taken:
        return wanted
    number = 2
    while f"{wanted}-{number}" in taken:
        number += 1
    return f"{wanted}-{number}"
