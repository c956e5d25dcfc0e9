"""What can go wrong between a person and the memory, in a chef's words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from demoule.errors import BadInput, DemouleError

if TYPE_CHECKING:
    from demoule.store.values import Version

__all__ = [
    "AlreadyThere",
    "DamagedBackup",
    "NewerDatabase",
    "NotAllowed",
    "NotOurs",
    "NotReached",
    "NotSignedIn",
    "NotThere",
    "Stale",
    "Waiting",
]


class NotThere(BadInput):
    """Something asked for that the memory does not hold."""


class AlreadyThere(BadInput):
    """Something that would have to be written over something else."""


class Stale(DemouleError):
    """A save that began from an older version than the one that stands now; nothing is written, nothing is lost.

    Parameters
    ----------
    mine
        The text that was not written, exactly as it was given.
    theirs
        The version that stands now.
    base
        The version that the person began from; None when it cannot be told.
    """

    def __init__(self, mine: str, theirs: Version, base: Version | None) -> None:
        self.mine, self.theirs, self.base = mine, theirs, base
        super().__init__(
            f"“{theirs.name}” was changed meanwhile: {theirs.who} saved version {theirs.n}.",
            where=f"{theirs.kind} “{theirs.slug}”",
            remedy="look at both versions, then save yours again on top of theirs, or as a branch.",
        )


class NewerDatabase(DemouleError):
    """A database that a later release wrote."""


class NotOurs(DemouleError):
    """A database that holds something else."""


class NotReached(DemouleError):
    """A database that does not answer, or an address that cannot be one."""


class DamagedBackup(DemouleError):
    """A back-up that is not whole."""


class NotAllowed(DemouleError):
    """An act that the person's role does not include."""


class NotSignedIn(DemouleError):
    """A name or a password that is not right; it never says which."""


class Waiting(DemouleError):
    """Too many wrong passwords: the next try counts only after a wait.

    Parameters
    ----------
    seconds
        Until the next try, rounded up.
    """

    def __init__(self, seconds: int) -> None:
        self.seconds = seconds
        minutes = -(-seconds // 60)
        wait = f"{seconds} s" if seconds < 120 else f"{minutes} min"
        super().__init__(
            "Too many wrong passwords for this name.",
            remedy=f"wait {wait}, or have the password reset on the machine: demoule people reset NAME",
        )
