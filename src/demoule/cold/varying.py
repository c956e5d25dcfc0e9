"""What can be varied in a dessert, and the dessert with it varied."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from demoule.cold.programme import Programme, Room
from demoule.composition import Constituent
from demoule.errors import BadInput, UnknownName
from demoule.formula import Component, Surroundings
from demoule.larder import Larder
from demoule.physics.dipping import ShellFactors
from demoule.physics.learning import Learned
from demoule.piece import Mould, PieceDesign
from demoule.piece.design import Cavity, Heart
from demoule.units import Kelvin, Metre

__all__ = ["KINDS", "Base", "Factor", "checked", "designed", "reweighed", "roomed", "walled"]

KINDS: Mapping[str, str] = {
    "heart size": "factor",
    "piece size": "factor",
    "wall": "m",
    "fill": "K",
    "sugar": "factor",
    "weight": "factor",
    "air": "K",
    "surface": "W/m2K",
}
"""What can be varied, and in what: a factor on the dessert as it is, or a value of its own."""

MOST_VARIANTS = 200_000
_SWEET = 0.95  # of its solids: sugar by any name


@dataclass(frozen=True, slots=True, kw_only=True)
class Factor:
    """One thing that varies, between two values.

    Parameters
    ----------
    kind
        One of `KINDS`.
    of
        The room; for a weight "component: ingredient"; for sugar a component, or nothing for all.
    low, high
        In the unit of its kind.
    """

    kind: str
    of: str = ""
    low: float
    high: float

    @property
    def name(self) -> str:
        """In words."""
        return f"{self.kind}, {self.of}" if self.of else self.kind

    @property
    def unit(self) -> str:
        """Of its values."""
        return KINDS[self.kind]


@dataclass(frozen=True, slots=True, kw_only=True)
class Base:
    """A dessert as the cold room sees it, before anything is varied."""

    components: tuple[Component, ...]
    larder: Larder
    surroundings: Surroundings
    design: PieceDesign
    moulds: tuple[Mould, ...]
    rooms: tuple[Room, ...]
    programme: Programme
    filled_at: Mapping[str, Kelvin] = field(default_factory=dict)
    shells: Mapping[str, ShellFactors] = field(default_factory=dict)  # what test dips have taught, by component
    guns: Mapping[str, Learned] = field(default_factory=dict)


def checked(base: Base, factors: Sequence[Factor], n: int) -> None:
    """Refuse what cannot be varied."""
    if not factors:
        raise BadInput("Nothing is to be varied.", remedy="name a factor, such as heart size 80–120 %.")
    if not 0 <= n <= MOST_VARIANTS:
        raise BadInput(f"{n} variants are too many.", remedy=f"try up to {MOST_VARIANTS}.")
    if len({factor.name for factor in factors}) < len(factors):
        raise BadInput("One thing is to be varied twice.", remedy="give each factor once.")
    for factor in factors:
        if factor.kind not in KINDS:
            raise UnknownName("thing that can be varied", factor.kind, KINDS)
        if not (np.isfinite([factor.low, factor.high]).all() and factor.low < factor.high):
            raise BadInput(f"“{factor.name}” has no range.", remedy="write the lower value first: 80–120 %.")
        if factor.unit != "K" and not factor.low > 0:
            raise BadInput(f"“{factor.name}” would fall to nothing.", remedy="give values above zero.")
        if factor.unit == "K" and not 100 < factor.low < factor.high < 450:
            raise BadInput(f"“{factor.name}” is no temperature of a kitchen.", remedy="give it in °C or °F.")
        if factor.kind in ("air", "surface"):
            names = [room.name for room in base.rooms]
            if factor.of not in names:
                raise UnknownName("room", factor.of, names)
        if factor.kind == "heart size" and base.design.heart is None:
            raise BadInput("The piece has no heart to be varied.", remedy="vary something else.")
        if factor.kind in ("sugar", "weight") and not any(
            _is_meant(base, one, line.what, factor) for one in base.components for line in one.weighed
        ):
            where = f" in “{factor.of}”" if factor.of else ""
            raise BadInput(
                f"There is no {'sugar' if factor.kind == 'sugar' else 'such line'}{where} to be varied.",
                remedy="name a component and one of its lines: weight jelly: sugar 80–120 %.",
            )


def walled(mould: Mould | None, wall: Metre) -> Mould | None:
    """A mould with another wall."""
    return None if mould is None else replace(mould, wall=wall)


def roomed(rooms: Sequence[Room], pairs: Sequence[tuple[Factor, float]]) -> tuple[Room, ...]:
    """Rooms with another air, or air that takes heat harder."""
    changed = {room.name: room for room in rooms}
    for factor, value in pairs:
        room = changed[factor.of]
        changed[factor.of] = replace(room, air=value) if factor.kind == "air" else replace(room, surface=value)
    return tuple(changed.values())


def reweighed(base: Base, pairs: Sequence[tuple[Factor, float]]) -> tuple[Component, ...]:
    """The components with more or less of some of their lines."""
    components = base.components
    for factor, value in pairs:
        components = tuple(_reweighed(base, one, factor, value) for one in components)
    return components


def designed(base: Base, pairs: Sequence[tuple[Factor, float]]) -> tuple[PieceDesign, dict[str, Mould]]:
    """The piece with a heart or a cavity of another size, and the moulds that go with it."""
    design, moulds = base.design, {mould.name: mould for mould in base.moulds}
    for factor, value in pairs:
        if factor.kind == "heart size" and design.heart is not None:
            design = replace(design, heart=_grown_heart(design.heart, moulds, value))
        if factor.kind == "piece size":
            if design.mould is not None:
                mould = moulds[design.mould]
                moulds[design.mould] = replace(mould, cavity=_grown(mould.cavity, value))
            elif design.cavity is not None:
                design = replace(design, cavity=_grown(design.cavity, value))
    return design, moulds


def _reweighed(base: Base, component: Component, factor: Factor, value: float) -> Component:
    lines = tuple(
        replace(line, amount=_scaled_amount(line.amount, value))
        if _is_meant(base, component, line.what, factor)
        else line
        for line in component.weighed
    )
    if lines == component.weighed:
        return component
    # A measured yield belongs to the recipe as it was weighed; another one gives in proportion.
    before, after = (sum(line.amount.mass or 0.0 for line in one) for one in (component.weighed, lines))
    more = after / before if before else 1.0
    return replace(
        component,
        weighed=lines,
        gives=None if component.gives is None else component.gives * more,
    )


def _scaled_amount(amount: Any, factor: float) -> Any:
    told = {
        name: getattr(amount, name) * factor
        for name in ("mass", "volume", "count", "percent", "share")
        if getattr(amount, name) is not None
    }
    return replace(amount, **told)


def _is_meant(base: Base, component: Component, what: str, factor: Factor) -> bool:
    if factor.kind == "weight":
        name, _, line = factor.of.partition(":")
        return component.name == name.strip() and what == line.strip()
    if factor.of and factor.of != component.name:
        return False
    if any(what == one.name for one in base.components):
        return False
    found = base.larder.find(what).composition
    return float(found.vector[list(Constituent).index(Constituent.SUCROSE)]) > _SWEET


def _grown_heart(heart: Heart, moulds: dict[str, Mould], factor: float) -> Heart:
    if heart.mould is not None and heart.mould in moulds:
        mould = moulds[heart.mould]
        moulds[heart.mould] = replace(mould, cavity=_grown(mould.cavity, factor))
    return replace(
        heart,
        cavity=None if heart.cavity is None else _grown(heart.cavity, factor),
        mass=None if heart.mass is None else heart.mass * factor,
        volume=None if heart.volume is None else heart.volume * factor,
        height=None,
        inside=None if heart.inside is None else _grown_heart(heart.inside, moulds, factor),
    )


def _grown(cavity: Cavity, factor: float) -> Cavity:
    """A cavity of the same shape with so many times the volume."""
    length = factor ** (1 / 3)
    shape = cavity.shape
    sizes: dict[str, Any] = {}
    for name in type(shape).__slots__:
        size = getattr(shape, name)
        if isinstance(size, tuple):
            sizes[name] = tuple((z * length, r * length) for z, r in size)
        else:
            sizes[name] = size * length
    fill = None if cavity.water_fill is None else cavity.water_fill * factor
    return replace(cavity, shape=replace(shape, **sizes), water_fill=fill)
