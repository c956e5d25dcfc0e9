"""How often each component is made, how large one making is, and in which vessel."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from demoule.batch.kitchen import Kitchen, Mixer
from demoule.errors import BadInput
from demoule.figures import Finding, Severity
from demoule.formula import Boil, Component, Cook, Cooked, Fold, Heat, Whip
from demoule.formula.component import Pan
from demoule.formula.evaporation import pan_area, pan_holds
from demoule.piece.design import Mould
from demoule.units import CubicMetre, Fraction, Metre

__all__ = ["Filling", "fillings", "pan_makings", "whipping"]

BOWL_FULL: Fraction = 0.70
"""Share of a bowl's volume that the whipped mix may take (practice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Filling:
    """The fillings of a mould: how often, how many cavities at most in one, and cavities it has in all."""

    times: int
    cavities: tuple[int, ...]
    capacity: int


def fillings(mould: Mould | None, cavities: int, where: str) -> Filling:
    """Fillings of a mould that a number of cavities takes, as even as they can be.

    Raises
    ------
    BadInput
        When the kitchen owns no tray of the mould.
    """
    if mould is None or cavities == 0:
        return Filling(times=1 if cavities else 0, cavities=(cavities,) if cavities else (), capacity=cavities)
    capacity = mould.per_tray * mould.owned
    if capacity < 1:
        raise BadInput(
            f"The kitchen owns no tray of “{mould.name}”.", where=where, remedy="give the number of trays it owns."
        )
    times = math.ceil(cavities / capacity)
    small, more = divmod(cavities, times)
    return Filling(times=times, cavities=tuple(small + (k < more) for k in range(times)), capacity=capacity)


# ---- pans


def pan_makings(component: Component, cooked: Cooked, scale: float, pans: Sequence[Metre]) -> tuple[int, str]:
    """Makings that the pan asks for when the whole need is `scale` times the recipe, and the pan's name.

    A pan that the steps name is kept to, since the evaporation goes by it; else it is the smallest that holds one
    making, and the largest of the kitchen says how many makings there are.
    """
    hot = [step for step in component.steps if isinstance(step, Heat | Boil | Cook)]
    if not hot or not pans:
        return 1, ""
    volume = cooked.entered * scale / cooked.mix_density
    if any(isinstance(step, Heat) and step.part for step in hot) and not any(
        isinstance(step, Boil | Cook) and not step.part for step in hot
    ):
        volume /= 2  # only a part of it is on the hob
    named = [step.pan for step in hot if step.pan is not None]
    fitting = named or [Pan(name=f"{d * 100:.0f} cm pan", open_area=pan_area(d)) for d in sorted(pans)]
    holds = [pan_holds(pan) for pan in fitting]
    makings = max(math.ceil(volume / max(holds) - 1e-9), 1)
    fits = next(pan for pan, held in zip(fitting, holds, strict=True) if held >= volume / makings - 1e-12)
    return makings, fits.name


# ---- mixers


def whipping(component: Component, cooked: Cooked, kitchen: Kitchen) -> tuple[str, tuple[Finding, ...]]:
    """The bowl for one making, and what is wrong with its size.

    The limit of a bowl is the liquid that is whipped in it: the whole mix, or the part that is whipped and folded in.
    """
    liquid = _whipped_liquid(component, cooked)
    if liquid is None or not kitchen.mixers:
        return "", ()
    foam = liquid if cooked.air <= 0 else liquid / max(1 - cooked.air, 0.2)
    mixers = sorted(kitchen.mixers, key=lambda mixer: mixer.cream_most)
    where = component.where or f"components.{component.name}"
    for mixer in mixers:
        if mixer.cream_least <= liquid <= _most(mixer, foam / liquid):
            return f"{mixer.name}, one bowl", ()
    smallest = min(mixers, key=lambda mixer: mixer.cream_least)
    largest = mixers[-1]
    most = _most(largest, foam / liquid)
    if liquid < smallest.cream_least:
        finding = Finding(
            severity=Severity.CAUTION,
            rule="bowl too large",
            where=where,
            says=f"{liquid * 1000:.2f} l are whipped, and the smallest bowl ({smallest.name}) "
            f"needs {smallest.cream_least * 1000:.2f} l.",
            why="The whisk does not reach so little.",
            remedy="make more at once, or whip it by hand.",
        )
        return f"{smallest.name}, one bowl", (finding,)
    for mixer in sorted(mixers, key=lambda one: _bowls(liquid, one, foam / liquid)):
        bowls = _bowls(liquid, mixer, foam / liquid)
        if mixer.cream_least <= liquid / bowls:
            break
    else:
        mixer, bowls = largest, math.ceil(liquid / most)
    finding = Finding(
        severity=Severity.NOTE,
        rule="bowls",
        where=where,
        says=f"{liquid * 1000:.2f} l are whipped for one making: {bowls} bowls of {mixer.name}.",
        why=f"One bowl takes {_most(mixer, foam / liquid) * 1000:.2f} l.",
        remedy="whip the second bowl when the first is filled.",
    )
    return f"{mixer.name}, {bowls} bowls", (finding,)


def _most(mixer: Mixer, growth: float) -> CubicMetre:
    """Liquid that a bowl takes: by its maker's figure, and by the foam it must hold."""
    return min(mixer.cream_most, BOWL_FULL * mixer.bowl / growth)


def _bowls(liquid: CubicMetre, mixer: Mixer, growth: float) -> int:
    return math.ceil(liquid / _most(mixer, growth) - 1e-9)


def _whipped_liquid(component: Component, cooked: Cooked) -> CubicMetre | None:
    if any(isinstance(step, Whip) for step in component.steps):
        return cooked.entered / cooked.mix_density
    folded = [step.part for step in component.steps if isinstance(step, Fold) and step.part]
    if not folded:
        return None
    mass = sum(mass for name, mass in cooked.weighed if any(_meant(name, part) for part in folded))
    return mass / 1000.0 if mass else None


def _meant(name: str, part: str) -> bool:
    words = part.casefold().replace(",", " ").split()
    return name.casefold() in part.casefold() or any(word in words for word in name.casefold().split() if len(word) > 3)
