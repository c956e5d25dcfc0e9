"""What a rule says of a record: it passes, it fails, or the record does not show it; there is no fourth word."""

from __future__ import annotations

import enum
from collections.abc import Iterable

__all__ = ["Verdict", "worst"]


class Verdict(enum.StrEnum):
    """The outcome of one rule on one record."""

    FAIL = "fail"
    NOT_SHOWN = "not shown"
    PASS = "pass"


_ORDER = {Verdict.FAIL: 0, Verdict.NOT_SHOWN: 1, Verdict.PASS: 2}


def worst(verdicts: Iterable[Verdict]) -> Verdict:
    """The gravest of several verdicts; "not shown" when there is none at all."""
    return min(verdicts, key=_ORDER.__getitem__, default=Verdict.NOT_SHOWN)
