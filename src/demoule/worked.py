"""The whole chain of one dessert in one call, each stage computed once for the same inputs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from demoule.batch.kitchen import Kitchen
    from demoule.batch.weighing import Weighing
    from demoule.cold.programme import Programme
    from demoule.cold.run import ColdRun
    from demoule.figures import Finding
    from demoule.formula.component import Component
    from demoule.formula.cooked import Cooked
    from demoule.larder.ingredient import Ingredient
    from demoule.piece.built import Piece
    from demoule.piece.design import PieceDesign

__all__ = ["Dessert", "Worked", "work_up"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Dessert:
    """One dessert as a chef describes it; frozen, compared by value."""

    name: str
    components: tuple[Component, ...]
    piece: PieceDesign
    programme: Programme
    about: str = ""
    own_items: tuple[Ingredient, ...] = ()  # win over the larder's rows
    names_fruit: str = ""  # the fruit the piece is named after or looks like
    rejects: float | None = None
    pieces: int | None = None  # usual number, for one making


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Worked:
    """Every stage's result for one dessert."""

    dessert: Dessert
    kitchen: Kitchen
    cooked: Mapping[str, Cooked]
    piece: Piece
    cold: ColdRun
    weighing: Weighing
    findings: tuple[Finding, ...]


def work_up(dessert: Dessert, kitchen: Kitchen, pieces: int | None = None) -> Worked:
    """Compute composition, piece, cold and batch of `pieces` good pieces of a dessert in a kitchen."""
    raise NotImplementedError
