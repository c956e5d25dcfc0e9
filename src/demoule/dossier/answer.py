"""The answer sheet of one dessert as data."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from demoule.figures import Figure, Finding, Status

if TYPE_CHECKING:
    from demoule.worked import Worked

__all__ = ["Cost", "CostLine", "Dossier", "Label", "LabelLine", "Named", "SourceUsed"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Named:
    """A figure under its name, hung on a place of the dessert ("piece", "heart", "whipped ganache")."""

    key: str  # stable, for JSON: "freezing_point"
    name: str  # "begins to freeze"
    of: str  # "piece", or a component or layer
    figure: Figure


@dataclass(frozen=True, slots=True, kw_only=True)
class CostLine:
    """One line of the cost of one piece."""

    what: str
    kind: str  # "material", "labour", "packaging", "energy"
    per_piece: Figure


@dataclass(frozen=True, slots=True, kw_only=True)
class Cost:
    """What one good piece costs, and what it should sell for."""

    lines: tuple[CostLine, ...]
    material: Figure
    labour: Figure
    packaging: Figure
    energy: Figure
    total: Figure
    order_total: Figure
    price: Figure  # at the kitchen's margin
    unpriced: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelLine:
    """One nutrient of the declaration: unrounded, and as printed."""

    name: str
    unit: str
    per_100g: float | None
    per_piece: float | None
    printed_100g: str
    printed_piece: str
    unknown: float  # share of the mass for which it is not told
    daily_value: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """A draft label for one market."""

    market: str
    name: str
    ingredients: str  # the list as one text
    contains: tuple[str, ...]
    allergens_untold: tuple[str, ...]  # ingredients whose supplier must say
    nutrition: tuple[LabelLine, ...]
    serving: str
    net_quantity: str
    storage: str
    cautions: tuple[str, ...]
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SourceUsed:
    """One source that the answers stand on."""

    key: str
    title: str
    status: Status
    used_for: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Dossier:
    """Everything there is to say about one dessert, with the basis of every figure."""

    worked: Worked
    figures: tuple[Named, ...]
    findings: tuple[Finding, ...]
    cost: Cost
    label: Label
    sources: tuple[SourceUsed, ...]
    assumptions: tuple[str, ...]

    def figure(self, key: str, of: str = "piece") -> Figure | None:
        """A figure by key and place."""
        return next((n.figure for n in self.figures if n.key == key and n.of == of), None)
