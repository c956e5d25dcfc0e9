"""A figure with its band and basis, a finding, and the register of published models with what they are held against."""

from __future__ import annotations

import enum
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from typing import TypeVar

import numpy as np

__all__ = [
    "MODELS",
    "Basis",
    "Evidence",
    "Figure",
    "Finding",
    "Model",
    "Offer",
    "Severity",
    "Status",
    "basis_of",
    "published",
]


class Status(enum.StrEnum):
    """How sure we are of a source."""

    READ = "read"  # we had the source open
    QUOTED = "quoted"  # through another named work
    RECALLED = "recalled"  # from memory, still to check
    PRACTICE = "practice"  # a habit of the trade, no source
    JUDGED = "judged"  # our own estimate, said so


@dataclass(frozen=True, slots=True, kw_only=True)
class Model:
    """One published equation as we use it: where it comes from, where it holds, how far off it may be."""

    name: str
    gives: str  # the quantity, in words
    source: str  # key in sources.toml
    valid: str  # the range, in words
    error: str  # the stated or measured error, in words
    status: Status


MODELS: dict[str, Model] = {}
"""Every model function that is loaded, by name."""

F = TypeVar("F", bound=Callable[..., object])


def published(
    *, gives: str, source: str, valid: str, error: str, status: Status, name: str | None = None
) -> Callable[[F], F]:
    """Enter a model function into the register, so that figures, docs and tests can say where it comes from."""

    def enter(function: F) -> F:
        key = name or function.__name__.replace("_", " ")
        if key in MODELS:
            raise ValueError(f"two models are called {key!r}")
        model = Model(name=key, gives=gives, source=source, valid=valid, error=error, status=status)
        MODELS[key] = model
        function.model = model  # type: ignore[attr-defined]
        return function

    return enter


@dataclass(frozen=True, slots=True, kw_only=True)
class Basis:
    """What a figure stands on: one model or one stated fact."""

    model: str
    source: str
    valid: str
    stretched: bool = False  # used outside the range in which it was tried


def basis_of(function: Callable[..., object], *, stretched: bool = False) -> Basis:
    """The basis entry of a registered model function."""
    model: Model = function.model  # type: ignore[attr-defined]
    return Basis(model=model.name, source=model.source, valid=model.valid, stretched=stretched)


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A figure as a person sees it.

    Parameters
    ----------
    value
        In `unit`; None when it is unknown, never zero instead.
    unit
        A unit that `demoule.units` knows ("g", "°C", "h", "%", "mm", "EUR").
    low, high
        The likely range, in `unit`; None when no band can be told.
    basis
        The models and facts it stands on.
    unknown
        Share of the result that rests on something unknown, 0 to 1.
    measured
        What was measured in this kitchen (lot, hour, instrument), or empty.
    """

    value: float | None
    unit: str
    low: float | None = None
    high: float | None = None
    basis: tuple[Basis, ...] = ()
    unknown: float = 0.0
    measured: str = ""
    note: str = ""

    @property
    def stretched(self) -> bool:
        """Whether any model under it is used outside the range in which it was tried."""
        return any(entry.stretched for entry in self.basis)

    def with_basis(self, *entries: Basis) -> Figure:
        """The same figure standing on more."""
        return replace(self, basis=self.basis + entries)


class Severity(enum.StrEnum):
    """How much a finding matters."""

    STOP = "stop"
    CAUTION = "caution"
    NOTE = "note"


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """A remedy that is a change of the dessert file, so that a screen can offer it as one press.

    Parameters
    ----------
    changes
        Each a path into the file, key by key, and what stands there then.
    """

    changes: tuple[tuple[tuple[str, ...], str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """Something a chef must know about the dessert; data only, screens and sheets show it.

    Parameters
    ----------
    rule
        A short key of the check that spoke, the same for every dessert ("heart fits").
    where
        Path into the dessert file ("components.heart.weigh.agar"), so that a screen can stand it beside the thing.
    says, why, remedy
        One sentence each: what is the matter, why it matters, what to do.
    source
        Key of the source of the rule, or empty for a habit of the trade.
    offers
        Remedies whose amount was computed.
    """

    severity: Severity
    rule: str
    where: str
    says: str
    why: str = ""
    remedy: str = ""
    source: str = ""
    offers: tuple[Offer, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """Published points beside what our model gives for them; the same object feeds tests, docs and `demoule models`."""

    model: str  # name in MODELS
    title: str  # what was compared, in words
    source: str  # key in sources.toml
    status: Status
    unit: str
    at_name: str  # what varies along the points
    at: tuple[float, ...] = field(default=())
    published: tuple[float, ...] = field(default=())
    computed: tuple[float, ...] = field(default=())
    tolerance: float = 0.0  # greatest difference allowed, in `unit` or as a fraction when `relative`
    relative: bool = False

    @property
    def errors(self) -> tuple[float, ...]:
        """Computed minus published, point by point; fractions of the published value when `relative`."""
        pairs = zip(self.computed, self.published, strict=True)
        return tuple((c - p) / abs(p) if self.relative else c - p for c, p in pairs)

    @property
    def worst(self) -> float:
        """The greatest absolute error."""
        return max((abs(e) for e in self.errors), default=float("nan"))

    @property
    def typical(self) -> float:
        """The root of the mean square error."""
        return float(np.sqrt(np.mean(np.square(self.errors)))) if self.errors else float("nan")


def by_severity(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Findings with the gravest first; within one severity in the order given."""
    order = {Severity.STOP: 0, Severity.CAUTION: 1, Severity.NOTE: 2}
    return tuple(sorted(findings, key=lambda finding: order[finding.severity]))
