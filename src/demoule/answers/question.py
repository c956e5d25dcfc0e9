"""A small question and its answer, as data."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from demoule.figures import Basis, Figure, Finding

__all__ = ["Answer"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """The answer to one question: named figures, what they stand on, and what to mind."""

    question: str
    figures: Mapping[str, Figure]
    basis: tuple[Basis, ...]
    findings: tuple[Finding, ...]
