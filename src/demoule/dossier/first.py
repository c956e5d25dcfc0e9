"""What can be said of a dessert before its way through the cold is computed: mixes, masses, the price of what is in it.

Whatever asks for the cold here stops at once, so that no figure told first can rest on hours that are not computed yet.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, TypeVar, cast

from demoule.cold import ColdRun, StageRun, run_programme
from demoule.dossier.answer import Named
from demoule.dossier.cost import material_of
from demoule.dossier.figures import core_when_eaten, drawn_density, layer_figures, piece_figures, serving_temperature
from demoule.dossier.label import market_of
from demoule.dossier.mixture_figures import mixture_figures
from demoule.dossier.view import View
from demoule.memory import Memory
from demoule.worked import work_up

if TYPE_CHECKING:
    from demoule.batch import Kitchen
    from demoule.worked import Dessert, Worked

__all__ = ["First", "NotYet", "first_answer"]

T = TypeVar("T")


class NotYet(Exception):
    """Something asked for the cold, which is not computed yet."""


class _Awaited(ColdRun):
    """A way through the cold that nobody can ask anything yet."""

    __slots__ = ()

    def __init__(self) -> None:
        object.__setattr__(self, "findings", ())

    @property
    def stages(self) -> tuple[StageRun, ...]:
        """Never told."""
        raise NotYet


class _BeforeTheCold(Memory):
    """A memory that passes over the way through the cold unless it is remembered."""

    def __init__(self, kept: Memory) -> None:
        super().__init__(most=0)
        self._kept = kept

    def recall(self, stage: Callable[..., object], inputs: Hashable, compute: Callable[[], T]) -> T:
        """As the memory behind it; the cold as it is known there, or as awaited."""
        if stage is run_programme:
            known = self._kept.known(stage, inputs)
            return cast(T, _Awaited() if known is None else known)
        return self._kept.recall(stage, inputs, compute)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class First:
    """The first part of an answer.

    Parameters
    ----------
    worked
        With every result but the cold's: asking for its stages raises NotYet, unless they were remembered.
    figures
        Those of the piece, its layers and mixes that do not hang on the cold, as the whole answer will tell them.
    """

    worked: Worked
    figures: tuple[Named, ...]


def first_answer(
    dessert: Dessert, kitchen: Kitchen, pieces: int | None = None, market: str | None = None, *, memory: Memory
) -> First:
    """Work up a dessert without its way through the cold.

    Raises
    ------
    DemouleError
        As `work_up` does, for all but the cold.
    """
    worked = work_up(dessert, kitchen, pieces, _BeforeTheCold(memory))
    view = View(worked, market_of(market or kitchen.market))
    return First(worked=worked, figures=tuple(_figures(view)))


def _figures(view: View) -> Iterator[Named]:
    yield from _as_far(lambda: piece_figures(view))
    yield Named(key="material_cost", name="material", of="piece", figure=material_of(view.worked)[0])
    told: set[str] = set()
    for layer, part in view.layered:
        if part.name not in told:
            told.add(part.name)
            serving = partial(serving_temperature, view, layer.role)
            yield from _as_far(partial(layer_figures, view, layer, part))
            yield from _as_far(partial(mixture_figures, part, serving, drawn_density(layer)))
    for part in view.used:
        if part.name not in told:
            yield from _as_far(partial(mixture_figures, part, partial(core_when_eaten, view)))


def _as_far(source: Callable[[], Iterable[Named]]) -> Iterator[Named]:
    """The figures of a source up to the first that asks for the cold."""
    with suppress(NotYet):
        yield from source()
