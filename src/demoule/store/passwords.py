"""Passwords: kept as Argon2id hashes, weighed by length, never shown again."""

from __future__ import annotations

import hashlib
import secrets
import unicodedata
from functools import cache

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

from demoule.errors import BadInput

__all__ = [
    "SHORTEST",
    "checked_password",
    "hash_of_token",
    "hashed",
    "is_right",
    "needs_new_hash",
    "never_right",
    "temporary_password",
]

SHORTEST = 12
"""Signs of a password; length counts, kinds of signs do not (NIST SP 800-63B asks for no mixture, recalled)."""

_LONGEST = 256
_FEWEST_DIFFERENT = 5
# Without the letters and digits that are read for one another.
_PLAIN = "abcdefghjkmnpqrstuvwxyz23456789"

# RFC 9106, second recommended choice: 64 MiB, three passes, four lanes (the defaults of the library, read there).
_HASHER = PasswordHasher()


def _same(password: str) -> str:
    """One spelling for what looks the same, so that an é typed on another keyboard is the same é."""
    return unicodedata.normalize("NFKC", password)


def checked_password(password: str, name: str) -> str:
    """The password, when it is long enough to be kept.

    Raises
    ------
    BadInput
        When it is short, endless, holds the name, or repeats a few signs.
    """
    same = _same(password)
    how = f"take {SHORTEST} signs or more: four words that do not belong together are easy to remember."
    if len(same) < SHORTEST:
        raise BadInput(f"The password has fewer than {SHORTEST} signs.", remedy=how)
    if len(same) > _LONGEST:
        raise BadInput(f"The password has more than {_LONGEST} signs.", remedy="take a shorter one.")
    if name and name.casefold() in same.casefold() and len(same) - len(name) < SHORTEST:
        raise BadInput("The password is little more than the name.", remedy=how)
    if len(set(same.casefold())) < _FEWEST_DIFFERENT:
        raise BadInput("The password repeats a few signs only.", remedy=how)
    return password


def hashed(password: str) -> str:
    """The Argon2id hash, with its salt and its cost in it."""
    return _HASHER.hash(_same(password))


def is_right(password: str, password_hash: str) -> bool:
    """Whether a password belongs to a hash."""
    if len(password) > _LONGEST * 4:
        return False
    try:
        return _HASHER.verify(password_hash, _same(password))
    except (VerificationError, InvalidHashError, UnicodeEncodeError):
        return False


@cache
def _nobody() -> str:
    return _HASHER.hash(secrets.token_urlsafe(32))


def never_right(password: str) -> bool:
    """Takes as long as `is_right` and says no, so that the time does not tell whether a name exists."""
    is_right(password, _nobody())
    return False


def needs_new_hash(password_hash: str) -> bool:
    """Whether the hash was made at another cost than today's."""
    return _HASHER.check_needs_rehash(password_hash)


def temporary_password() -> str:
    """A random one for a person who forgot theirs: four groups of five, 99 bits.

    Examples
    --------
    >>> len(temporary_password())
    23
    """
    return "-".join("".join(secrets.choice(_PLAIN) for _ in range(5)) for _ in range(4))


def hash_of_token(token: str) -> str:
    """What is kept of a session's token; the token is random, so a fast hash is enough."""
    return hashlib.sha256(token.encode("utf-8", "replace")).hexdigest()
