"""The register of checks: each a small function with one rule key that looks at a dessert and speaks or is silent."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import TypeAlias

from demoule.dossier.view import View
from demoule.figures import Finding, Offer, Severity, by_severity

__all__ = ["CHECKS", "LAW", "Check", "Rule", "check", "finding", "run_checks"]

Check: TypeAlias = Callable[[View], Iterable[Finding]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """One registered check."""

    key: str
    looks_at: str  # what it asks, in words
    source: str  # key in sources.toml
    function: Check


LAW = "local law and your own hazard analysis decide."
"""How every caution about harm ends."""

CHECKS: dict[str, Rule] = {}
"""Every check by its rule key, in the order in which they are run."""


def check(key: str, *, looks_at: str, source: str = "practice") -> Callable[[Check], Check]:
    """Enter a check into the register."""

    def enter(function: Check) -> Check:
        if key in CHECKS:
            raise ValueError(f"two checks are called {key!r}")
        CHECKS[key] = Rule(key=key, looks_at=looks_at, source=source, function=function)
        return function

    return enter


def run_checks(view: View) -> tuple[Finding, ...]:
    """Everything the registered checks say of a dessert, the gravest first."""

    def spoken() -> Iterator[Finding]:
        for rule in CHECKS.values():
            yield from rule.function(view)

    return by_severity(spoken())


def finding(
    severity: Severity,
    rule: str,
    where: str,
    says: str,
    *,
    why: str = "",
    remedy: str = "",
    source: str = "",
    offers: tuple[Offer, ...] = (),
) -> Finding:
    """A finding of a registered rule, its source that of the rule unless another is named."""
    told = source or (CHECKS[rule].source if rule in CHECKS else "")
    return Finding(
        severity=severity,
        rule=rule,
        where=where,
        says=says,
        why=why,
        remedy=remedy,
        source="" if told == "practice" else told,
        offers=offers,
    )
