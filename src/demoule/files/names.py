"""Names in a dessert file that must mean something: ingredients, components, moulds, rooms, lines of a recipe.

This looks at the bare tree, so that it finds its mistakes beside those of form, in one reading.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np

from demoule.batch.kitchen import Kitchen
from demoule.composition import COUNT
from demoule.errors import BadInput, Mistake, UnknownName, nearest
from demoule.files.amount import SHARES, line
from demoule.files.house import HOUSE
from demoule.files.steps import StepEntry
from demoule.files.tree import Path, Tree
from demoule.formula.component import Candy, Cool, Freeze, Step
from demoule.formula.parts import Part, chosen
from demoule.larder import Larder
from demoule.units.number import tidy

__all__ = ["name_mistakes"]


def name_mistakes(tree: Tree, larder: Larder, kitchen: Kitchen | None = None) -> list[Mistake]:
    """Every name in a dessert that nothing carries, and every component that contains itself."""
    return list(_Names(tree, larder, kitchen).mistakes())


class _Names:
    def __init__(self, tree: Tree, larder: Larder, kitchen: Kitchen | None) -> None:
        self.tree = tree
        self.larder = larder
        self.kitchen = kitchen
        self.components = _mapping(tree.at(("components",)))
        self.folded = {name.casefold(): name for name in self.components}
        self.house = {name.casefold() for name in HOUSE}
        own = _mapping(tree.at(("own items",)))
        self.own = {name.casefold() for name in own}
        self.own |= {also.casefold() for item in own.values() for also in _texts(_mapping(item).get("also"))}
        self.contains: dict[str, list[tuple[str, Path]]] = {}

    def mistakes(self) -> Iterator[Mistake]:
        """All of them."""
        for name, component in self.components.items():
            where = ("components", name)
            lines = list(_lines(_mapping(component).get("weigh"), (*where, "weigh")))
            for what, how_much, path in lines:
                yield from self._weighed(name, what, how_much, path)
            yield from self._steps(name, _mapping(component).get("steps"), [what for what, _, _ in lines], where)
        yield from self._circles()
        if self.components:  # without any, that is the one thing to say
            yield from self._piece()
        yield from self._cold()
        for name, item in _mapping(self.tree.at(("own items",))).items():
            like = _mapping(item).get("like")
            if isinstance(like, str):
                yield from self._ingredient(like, ("own items", name, "like"), key=False)

    def _weighed(self, name: str, what: str, how_much: Any, path: Path) -> Iterator[Mistake]:
        other = self.folded.get(what.casefold())
        if other is not None:
            self.contains.setdefault(name, []).append((other, path))
            return
        if isinstance(how_much, str) and tidy(how_much).casefold() in SHARES:
            says = f"“{how_much}” of “{what}”: a share can be taken of another component only."
            yield self.tree.mistake(path, says, "write a mass, such as 730 g.")
        yield from self._ingredient(what, path, key=True)

    def _ingredient(self, what: str, path: Path, *, key: bool) -> Iterator[Mistake]:
        if what.casefold() in self.own:
            return
        try:
            self.larder.find(what)
        except UnknownName as unknown:
            hint = nearest(what, [*self.components, *self.own]) or unknown.hint
            says = f"“{what}” is neither in the larder nor a component of this dessert."
            remedy = f"did you mean “{hint}”?" if hint else "search the larder, or describe it under own items."
            yield self.tree.mistake(path, says, remedy, key=key)
        except BadInput as wrong:
            yield self.tree.mistake(path, wrong.says, wrong.remedy, key=key)

    def _steps(self, name: str, steps: Any, lines: list[str], where: Path) -> Iterator[Mistake]:
        for k, written in enumerate(steps if isinstance(steps, list) else []):
            path: Path = (*where, "steps", k)
            try:
                step: Step = StepEntry.model_validate(written).to_step()
            except ValueError:
                continue  # its form is wrong, and said elsewhere
            if isinstance(step, Candy):
                syrup = self.folded.get(step.syrup.casefold())
                if syrup is None:
                    yield self._no_component(step.syrup, (*path, "candy", "in"))
                else:
                    self.contains.setdefault(name, []).append((syrup, path))
            if isinstance(step, (Cool, Freeze)) and step.room:
                yield from self._room(step.room, (*path, "cool" if isinstance(step, Cool) else "freeze", "in"))
            part = getattr(step, "part", "")
            if part and lines:
                yield from self._part(part, lines, path)

    def _part(self, text: str, lines: list[str], path: Path) -> Iterator[Mistake]:
        """Whether the words of a step ("half the cream") fit the lines of its component."""
        heavy = np.full(COUNT, 1.0)
        parts = [
            Part(
                name=what,
                mass=heavy,
                unknown=np.zeros(COUNT),
                nutrients=np.zeros(1),
                untold=np.zeros(1),
                contents=(),
                temperature=293.15,
            )
            for what in dict.fromkeys(lines)
        ]
        try:
            chosen(text, parts, "")
        except UnknownName as unknown:
            says = f"“{unknown.name}” is none of the lines that are weighed here."
            remedy = f"did you mean “{unknown.hint}”?" if unknown.hint else f"the lines are {', '.join(lines[:8])}."
            yield self.tree.mistake(path, says, remedy)
        except BadInput as wrong:
            yield self.tree.mistake(path, wrong.says, wrong.remedy)

    def _circles(self) -> Iterator[Mistake]:
        """One mistake for each line that closes a circle."""
        done: set[str] = set()

        def visit(name: str, trail: list[str]) -> Iterator[Mistake]:
            for needed, path in self.contains.get(name, []):
                if needed in (*trail, name):
                    whole = [*trail, name]
                    circle = [*whole[whole.index(needed) :], needed]
                    says = f"“{needed}” contains itself: {' contains '.join(f'“{part}”' for part in circle)}."
                    yield self.tree.mistake(path, says, self._apart(needed, name), key=True)
                elif needed not in done:
                    yield from visit(needed, [*trail, name])
            done.add(name)

        for name in self.components:
            if name not in done:
                yield from visit(name, [])

    def _apart(self, needed: str, name: str) -> str:
        """What to do about a circle; a component that has the name of what it weighs is called otherwise."""
        if needed == name:
            try:
                self.larder.find(name)
            except BadInput:
                pass
            else:
                return f"the larder has a “{name}” too: give this component another name, such as “{name} mix”."
        return "take one of them out of the other."

    def _no_component(self, name: str, path: Path) -> Mistake:
        hint = nearest(name, [*self.components, *HOUSE])
        remedy = f"did you mean “{hint}”?" if hint else f"the components are {', '.join(self.components)}."
        return self.tree.mistake(path, f"“{name}” is no component of this dessert.", remedy)

    def _piece(self) -> Iterator[Mistake]:
        piece = _mapping(self.tree.at(("piece",)))
        yield from self._made_of(piece.get("body"), ("piece", "body"))
        yield from self._made_of(piece.get("base"), ("piece", "base"))
        yield from self._mould(piece.get("mould"), ("piece", "mould"))
        heart = piece.get("heart")
        path: Path = ("piece", "heart")
        while isinstance(heart, dict):
            yield from self._made_of(heart, path)
            yield from self._mould(heart.get("mould"), (*path, "mould"))
            heart, path = heart.get("inside"), (*path, "inside")
        skin = piece.get("skin")
        for k, coat in enumerate(skin if isinstance(skin, list) else [skin]):
            for way, details in _mapping(coat).items():
                place: Path = ("piece", "skin", k, way) if isinstance(skin, list) else ("piece", "skin", way)
                yield from self._made_of(details, place)
        garnish = piece.get("garnish")
        for k, one in enumerate(garnish if isinstance(garnish, list) else [garnish]):
            ingredient = _mapping(one).get("ingredient")
            if isinstance(ingredient, str):
                at: Path = ("piece", "garnish", k) if isinstance(garnish, list) else ("piece", "garnish")
                yield from self._ingredient(ingredient, (*at, "ingredient"), key=False)

    def _made_of(self, value: Any, path: Path) -> Iterator[Mistake]:
        name = value.get("component") if isinstance(value, dict) else value
        if isinstance(name, str) and name not in self.components:
            known = name.casefold() in self.folded or name.casefold() in self.house
            if not known:
                yield self._no_component(name, (*path, "component"))

    def _mould(self, value: Any, path: Path) -> Iterator[Mistake]:
        if self.kitchen is None or not isinstance(value, str):
            return
        if self.kitchen.mould(value) is None:
            known = [mould.name for mould in self.kitchen.moulds]
            yield self.tree.mistake(path, f"The kitchen has no mould called “{value}”.", _or_list(value, known))

    def _room(self, name: str, path: Path) -> Iterator[Mistake]:
        if self.kitchen is not None and self.kitchen.room(name) is None:
            known = [room.name for room in self.kitchen.rooms]
            yield self.tree.mistake(path, f"The kitchen has no room called “{name}”.", _or_list(name, known))

    def _cold(self) -> Iterator[Mistake]:
        cold = self.tree.at(("cold",))
        stages: list[tuple[Path, Any]] = []
        if isinstance(cold, dict):
            stages = [(("cold", what), stage) for what, stage in cold.items()]
        elif isinstance(cold, list):
            stages = [(("cold", k, what), s) for k, one in enumerate(cold) for what, s in _mapping(one).items()]
        for path, stage in stages:
            room = stage.get("in") if isinstance(stage, dict) else stage
            if isinstance(room, str):
                yield from self._room(room, (*path, "in"))


def _or_list(name: str, known: list[str]) -> str:
    hint = nearest(name, known)
    if hint:
        return f"did you mean “{hint}”?"
    return f"it has {', '.join(known)}." if known else "describe it in the kitchen file."


def _mapping(value: Any) -> Mapping[str, Any]:
    return value if isinstance(value, dict) else {}


def _texts(value: Any) -> list[str]:
    if isinstance(value, str):
        return [part.strip() for part in value.split(",")]
    return [one for one in value if isinstance(one, str)] if isinstance(value, list) else []


def _lines(weigh: Any, where: Path) -> Iterator[tuple[str, Any, Path]]:
    """What is weighed, how much as it was written, and where, from a mapping or a list."""
    if isinstance(weigh, dict):
        for what, how_much in weigh.items():
            yield what, how_much, (*where, what)
    for k, one in enumerate(weigh if isinstance(weigh, list) else []):
        if isinstance(one, dict):
            for what, how_much in one.items():
                yield what, how_much, (*where, k, what)
        elif isinstance(one, str):
            try:
                what, how_much = line(one)
            except BadInput:
                continue
            yield what, how_much, (*where, k)
