"""A component in another size: what grows with it and what does not."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

from demoule.errors import BadInput
from demoule.formula.amounts import Line
from demoule.formula.component import Amount, Bake, Blanch, Boil, Candy, Component, Heat, Step
from demoule.formula.cooked import Cooked
from demoule.formula.order import place
from demoule.units import Kilogram

__all__ = ["evaporation_share", "factor_for", "grown", "in_masses", "scaled", "with_ratios"]


def scaled(component: Component, factor: float) -> Component:
    """The component in another size: every amount times a factor.

    Percentages stay as they are written, and `to_make` takes the factor; a share of another component takes it too.

    Minutes and named pans stay as they are: water goes off by surface and time, not by mass. So does a measured
    evaporation when the making grows; a smaller one is thought into a smaller pan of the same shape, whose surface
    shrinks with the power 2/3. A measured yield moves with the amounts, less the evaporation that does not; without a
    measured evaporation its share of what is put in stays.

    Raises
    ------
    BadInput
        For a factor that is not above zero, or so small that everything would evaporate.
    """
    if not factor > 0:
        raise BadInput(f"A making cannot be {factor:g} times as large.", remedy="give a factor above zero.")
    if component.to_make is not None and component.gives is None:
        return replace(component, to_make=component.to_make * factor)
    lines = tuple(replace(line, amount=_amount_times(line.amount, factor)) for line in component.weighed)
    gives = component.gives
    if gives is not None:
        missed = _missed(component)
        gives = factor * (gives + missed) - evaporation_share(factor) * missed
        if gives <= 0:
            raise BadInput(
                f"At {factor:g} times its size nothing would be left of “{component.name}”: "
                "the measured evaporation would take it all.",
                where=place(component),
                remedy="make more at once, or measure the evaporation of a small making.",
            )
    return replace(grown(component, factor), weighed=lines, gives=gives)


def evaporation_share(factor: float) -> float:
    """What a measured evaporation becomes in a making of another size, over what it was."""
    return min(math.pow(factor, 2 / 3), 1.0)


def factor_for(component: Component, wanted: Kilogram) -> float:
    """The factor at which a component with a measured yield gives the mass wanted."""
    assert component.gives is not None  # asked only then
    missed = _missed(component)
    whole = component.gives + missed
    factor = (wanted + missed) / whole
    if factor >= 1 or missed == 0:
        return factor
    from scipy.optimize import brentq  # loads slowly, and most never ask

    # Between nothing missed and all of it missed lies the factor at which the two agree.
    root: float = brentq(lambda f: f * whole - evaporation_share(f) * missed - wanted, wanted / whole, 1.0, rtol=1e-15)
    return root


def _missed(component: Component) -> Kilogram:
    """The measured evaporation as it is missed at the end, after the losses told."""
    passes = 1.0
    for _, share in component.losses:
        passes *= 1 - share
    return (component.evaporation or 0.0) * passes


def grown(component: Component, factor: float) -> Component:
    """What was measured of a making, for one of another size; its amounts and its yield are left to the caller.

    Candied fruit, the water to scald it and sheets grow with the making, evaporation as `evaporation_share` says.
    """

    share = evaporation_share(factor)

    def times(step: Step) -> Step:
        if isinstance(step, Boil | Heat) and step.evaporates is not None:
            return replace(step, evaporates=step.evaporates * share)
        if isinstance(step, Candy) and step.gives is not None:
            return replace(step, gives=step.gives * factor)
        if isinstance(step, Blanch) and step.water is not None:
            return replace(step, water=step.water * factor)
        if isinstance(step, Bake) and step.per_sheet is not None:
            sheet = None if step.sheet is None else (step.sheet[0], step.sheet[1] * factor)
            return replace(step, per_sheet=step.per_sheet * factor, sheet=sheet)
        return step

    evaporation = None if component.evaporation is None else component.evaporation * share
    return replace(component, steps=tuple(times(step) for step in component.steps), evaporation=evaporation)


def with_ratios(component: Component, lines: Sequence[Line], made: Mapping[str, Cooked]) -> tuple[Step, ...]:
    """Steps in which a candying that takes all the syrup there is takes it in the proportion of the recipe."""
    entered = sum(line.mass for line in lines)

    def held(step: Step) -> Step:
        if not isinstance(step, Candy) or step.ratio is not None:
            return step
        syrup = next(cooked for name, cooked in made.items() if name.casefold() == step.syrup.casefold())
        return replace(step, ratio=syrup.mass / entered)

    return tuple(held(step) for step in component.steps)


def in_masses(component: Component, cooked: Cooked, made: Mapping[str, Cooked]) -> Component:
    """The component as it was cooked, every line a mass, so that it can be made in any size."""
    lines = tuple(
        replace(line, amount=Amount(mass=mass, written=line.amount.written))
        for line, (_, mass) in zip(component.weighed, cooked.weighed, strict=True)
    )
    ratios = tuple(
        replace(step, ratio=_ratio(step, cooked, made)) if isinstance(step, Candy) and step.ratio is None else step
        for step in component.steps
    )
    return replace(
        component,
        weighed=lines,
        base="",
        to_make=None,
        gives=None if component.gives is None else cooked.mass,
        steps=ratios,
    )


def _ratio(step: Candy, cooked: Cooked, made: Mapping[str, Cooked]) -> float:
    syrup = next(one for name, one in made.items() if name.casefold() == step.syrup.casefold())
    return syrup.mass / cooked.entered


def _amount_times(amount: Amount, factor: float) -> Amount:
    def times(value: float | None) -> float | None:
        return None if value is None else value * factor

    if amount.percent is not None:
        return amount
    return Amount(
        mass=times(amount.mass), volume=times(amount.volume), count=times(amount.count), share=times(amount.share)
    )
