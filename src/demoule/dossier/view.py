"""A worked dessert as the checks and figures look at it: components beside their results."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from demoule.cold.run import StageRun
from demoule.dossier.contents import PieceContents, contents_of_piece
from demoule.dossier.energy import Market
from demoule.formula.component import Component, Step
from demoule.formula.cooked import Content, Cooked
from demoule.larder.ingredient import Ingredient
from demoule.piece.built import Layer
from demoule.units import FloatArray, Fraction, Kelvin, Kilogram, Second, kelvin

if TYPE_CHECKING:
    from demoule.worked import Worked

__all__ = ["FROZEN", "Part", "View", "joined", "warmest_of"]

FROZEN: Kelvin = kelvin(-5)
"""Colder than this a component does not age in the sense of the chilled life."""

_DAY = 86400.0
_AFTER_THAW = _DAY  # eaten within 24 h of thawing where nothing else is told (minnesota-date-marking)


@dataclass(frozen=True)
class Part:
    """One component of the dessert: as written, and as cooked.

    Parameters
    ----------
    lines
        Larder ingredients that it weighs itself, by the larder's name, each with the path of its line.
    """

    recipe: Component
    cooked: Cooked
    lines: tuple[tuple[str, str], ...] = ()

    @property
    def name(self) -> str:
        """The component's name."""
        return self.recipe.name

    @property
    def where(self) -> str:
        """Path of the component in the dessert file."""
        return self.recipe.where or f"components.{self.recipe.name}"

    def contents(self, *traits: str) -> tuple[Content, ...]:
        """Contents whose ingredient carries one of the traits."""
        return tuple(c for c in self.cooked.contents if c.ingredient.traits & set(traits))

    def share(self, *traits: str) -> Fraction:
        """Mass of the ingredients that carry one of the traits, at the time of use, per kg of the component."""
        return sum(c.mass for c in self.contents(*traits))

    def steps(self, *kinds: type[Step]) -> tuple[Step, ...]:
        """Its steps of some kinds, in the order of work."""
        return tuple(step for step in self.recipe.steps if isinstance(step, kinds))

    def line(self, name: str) -> str:
        """Path of the line that weighs an ingredient; the component itself when it comes in with another component."""
        return dict(self.lines).get(name, self.where)

    def weighs(self, name: str) -> bool:
        """Whether it weighs an ingredient itself, not inside another component."""
        return name in dict(self.lines)

    @property
    def aqueous(self) -> bool:
        """Whether it holds enough water for what grows, gels or freezes in water to matter."""
        return self.cooked.composition.water > 0.10


@dataclass(frozen=True)
class View:
    """A worked dessert, its market, and the questions that several checks ask of it."""

    worked: Worked
    market: Market

    @cached_property
    def contents(self) -> PieceContents:
        """What one piece is made of."""
        return contents_of_piece(self.worked)

    @cached_property
    def parts(self) -> tuple[Part, ...]:
        """Every component that was cooked, in the order in which the dessert lists them."""
        return tuple(
            Part(
                recipe=component,
                cooked=self.worked.cooked[component.name],
                lines=tuple(
                    (self.worked.larder.find(line.what).name, line.where)
                    for line in component.weighed
                    if line.what not in self.worked.cooked
                ),
            )
            for component in self.worked.dessert.components
            if component.name in self.worked.cooked
        )

    def part(self, name: str) -> Part | None:
        """A component by name."""
        return next((part for part in self.parts if part.name == name), None)

    @cached_property
    def layered(self) -> tuple[tuple[Layer, Part], ...]:
        """The layers of the piece with their components, from the inside outwards."""
        return tuple(
            (layer, part) for layer in self.worked.piece.layers if (part := self.part(layer.component)) is not None
        )

    @cached_property
    def used(self) -> tuple[Part, ...]:
        """Components that end in the piece, as a layer or inside one, in the order of the dessert."""
        names: set[str] = set()
        waiting = [layer.component for layer in self.worked.piece.layers]
        while waiting:
            name = waiting.pop()
            part = self.part(name)
            if name in names or part is None:
                continue
            names.add(name)
            waiting.extend(line.what for line in part.recipe.weighed)
        return tuple(part for part in self.parts if part.name in names)

    def holds(self, part: Part, name: str) -> bool:
        """Whether a component is made with another one, directly or through a third."""
        for line in part.recipe.weighed:
            inner = self.part(line.what)
            if inner is not None and (inner.name == name or self.holds(inner, name)):
                return True
        return False

    def role(self, role: str) -> tuple[Layer, Part] | None:
        """The first layer of a role with its component."""
        return next(((layer, part) for layer, part in self.layered if layer.role == role), None)

    def is_layer(self, part: Part) -> bool:
        """Whether a component is a layer by itself, and not only inside another one."""
        return any(layer.component == part.name for layer in self.worked.piece.layers)

    def ingredients(self) -> Iterator[tuple[Part, Ingredient, Kilogram]]:
        """Every ingredient of every layer, with its mass per piece."""
        for layer, part in self.layered:
            for content in part.cooked.contents:
                yield part, content.ingredient, content.mass * layer.mass

    @property
    def thaw(self) -> StageRun | None:
        """The thaw."""
        return self.worked.cold.stage("thaw")

    @property
    def ready(self) -> tuple[Kelvin, Kelvin]:
        """Range of the core in which the piece is eaten; −1 to 2 °C where nothing is told.

        Where softness is told instead, it is what the core has from the opening of that window to its closing.
        """
        for stage in self.worked.dessert.programme.stages:
            if stage.ready is not None:
                return stage.ready
        thaw = self.thaw
        if thaw is not None and thaw.window is not None and thaw.window.opens is not None:
            closes = float(thaw.curve.time[-1]) if thaw.window.closes is None else thaw.window.closes
            cold, warm = np.interp([thaw.window.opens, closes], thaw.curve.time, thaw.curve.core)
            if cold < warm:
                return float(cold), float(warm)
        return kelvin(-1), kelvin(2)

    @cached_property
    def coldest(self) -> Kelvin:
        """The coldest air the piece meets."""
        airs = [run.room.air for run in self.worked.cold.stages]
        return min(airs, default=kelvin(-20))

    @property
    def kept_at(self) -> Kelvin:
        """Air of the room in which pieces are kept."""
        keep = self.worked.cold.stage("keep")
        if keep is not None:
            return keep.room.air
        for stage in self.worked.dessert.programme.stages:
            if stage.what == "keep":
                room = stage.own_room or self.worked.kitchen.room(stage.room)
                if room is not None:
                    return room.air
        return kelvin(-18)

    def wait_before_freezing(self, part: Part) -> Second:
        """The longest that a component may stand unfrozen before it is built in [s]."""
        waits = sum(
            wait.at_most if wait.at_most is not None else wait.at_least
            for wait in part.cooked.waits
            if wait.temperature > FROZEN
        )
        history = part.cooked.history
        return max(waits, history[-1].time - history[0].time if history else 0.0)

    @cached_property
    def after_thaw(self) -> tuple[Second, bool]:
        """How long a piece stands unfrozen from the start of the thaw until eaten [s], and whether that is told."""
        stages = self.worked.dessert.programme.stages
        stands = sum(stage.duration or 0.0 for stage in stages if stage.what in ("stand", "serve", "table"))
        thaw = next((stage for stage in stages if stage.what == "thaw"), None)
        if thaw is not None and thaw.at_most is not None:
            return thaw.at_most + stands, True
        run = self.thaw
        thawing = (run.time or 0.0) if run is not None else 0.0
        return thawing + stands + _AFTER_THAW, False

    @cached_property
    def life(self) -> Second:
        """Unfrozen life of the piece as it is described: the longest wait before freezing, and after the thaw [s]."""
        return max((self.wait_before_freezing(part) for part in self.used), default=0.0) + self.after_thaw[0]

    def record(self, part: Part) -> tuple[FloatArray, FloatArray]:
        """Time and temperature of a component through its cooking [s], [K]."""
        history = part.cooked.history
        return np.array([m.time for m in history]), np.array([m.temperature for m in history])

    def hardening(self, part: Part) -> StageRun | None:
        """The stage in which a component goes from filled to frozen."""
        roles = {layer.role for layer in self.worked.piece.layers if layer.component == part.name}
        if roles & {"heart", "inner heart"}:
            run = self.worked.cold.stage("harden heart")
            if run is not None:
                return run
        return self.worked.cold.stage("harden piece") if "body" in roles else None


def joined(records: Sequence[tuple[FloatArray, FloatArray]]) -> tuple[FloatArray, FloatArray]:
    """Several records one after the other, each starting where the one before ends, the time always rising."""
    full = [(np.asarray(t, dtype=float), np.asarray(temp, dtype=float)) for t, temp in records if len(t)]
    if not full:
        return np.array([]), np.array([])
    times: list[FloatArray] = []
    for t, _ in full:
        moments = t if not times else t + (times[-1][-1] - t[0])
        # Two readings at one moment are a step between vessels: a second apart keeps the time rising.
        count = np.arange(len(moments), dtype=float)
        first = -np.inf if not times else times[-1][-1] + 1.0
        times.append(np.maximum(np.maximum.accumulate(moments - count), first) + count)
    return np.concatenate(times), np.concatenate([temp for _, temp in full])


def warmest_of(run: StageRun) -> tuple[FloatArray, FloatArray]:
    """Times [s] and warmest temperature [K] of a stage; of one by the clock, no further than the piece is in it."""
    times = np.asarray(run.curve.time)
    warmest = np.maximum(np.asarray(run.curve.core), np.asarray(run.curve.surface))
    if run.stage.duration is None or run.time is None or run.time >= times[-1]:
        return times, warmest
    inside = times < run.time
    return (
        np.append(times[inside], run.time),
        np.append(warmest[inside], np.interp(run.time, times, warmest)),
    )
