"""What each line of a recipe weighs, however its amount was written."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from demoule.errors import BadInput, UnknownName
from demoule.figures import Finding, Severity
from demoule.formula.component import Amount, Component, Weighed
from demoule.formula.cooked import Cooked
from demoule.formula.order import place
from demoule.larder.ingredient import Ingredient
from demoule.larder.larder import Larder
from demoule.physics.density import density_of_mix
from demoule.units import Kilogram

__all__ = ["Line", "lines_of", "weighed_masses"]

ROOM = 293.15
"""Temperature at which a volume is measured [K]."""

MOST: Kilogram = 10_000.0
"""Above this a line is taken for a slip of the pen [kg]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line of a recipe with what it stands for: an ingredient, or another component as it was made."""

    what: str
    mass: Kilogram
    ingredient: Ingredient | None
    cooked: Cooked | None
    where: str


def weighed_masses(
    component: Component, larder: Larder, made: Mapping[str, Cooked]
) -> tuple[tuple[str, Kilogram], ...]:
    """Each line's name and mass [kg], before `to_make` scales them."""
    lines, _ = lines_of(component, larder, made)
    return tuple((line.what, line.mass) for line in lines)


def lines_of(
    component: Component, larder: Larder, made: Mapping[str, Cooked]
) -> tuple[tuple[Line, ...], tuple[Finding, ...]]:
    """The lines of a component with their masses, and what was noticed in weighing them.

    Parameters
    ----------
    component
        Its amounts may be masses, volumes, counts, percentages and shares of other components.
    larder
        Where ingredients are found.
    made
        Other components that stand before it, by name; they win over ingredients of the same name.

    Raises
    ------
    UnknownName
        For a name that neither a component nor the larder carries.
    BadInput
        For an amount that is not positive, cannot be turned into a mass, or hangs on nothing.

    Notes
    -----
    Percentages count of the base line when the component names one. Otherwise they count of the whole: the lines
    given as amounts make up what the percentages leave. When nothing but percentages is given, the whole is 1 kg,
    for `to_make` to scale.
    """
    where = place(component)
    if not component.weighed:
        raise BadInput("Nothing is weighed.", where=where, remedy="write what goes in, with an amount for each.")
    findings: list[Finding] = []
    things = [_thing(line, larder, made) for line in component.weighed]
    absolute = [
        _absolute(line, ingredient, cooked, findings)
        for line, (ingredient, cooked) in zip(component.weighed, things, strict=True)
    ]
    masses = _with_percentages(component, absolute, where)
    for line, mass in zip(component.weighed, masses, strict=True):
        if not 0 < mass <= MOST:
            raise BadInput(
                f"{line.amount.written or f'{mass * 1000:g} g'} of “{line.what}” cannot be weighed.",
                where=line.where or where,
                remedy="give an amount above zero and below ten tonnes, or take the line out.",
            )
    lines = tuple(
        Line(what=line.what, mass=mass, ingredient=ingredient, cooked=cooked, where=line.where or where)
        for line, mass, (ingredient, cooked) in zip(component.weighed, masses, things, strict=True)
    )
    return lines, tuple(findings)


def _thing(line: Weighed, larder: Larder, made: Mapping[str, Cooked]) -> tuple[Ingredient | None, Cooked | None]:
    for name, cooked in made.items():
        if name.casefold() == line.what.casefold():
            return None, cooked
    try:
        return larder.find(line.what), None
    except UnknownName as unknown:
        if not unknown.places:
            unknown.at(line.where or "weigh")
        raise


def _absolute(
    line: Weighed, ingredient: Ingredient | None, cooked: Cooked | None, findings: list[Finding]
) -> Kilogram | None:
    """The mass of a line on its own [kg]; None for a percentage."""
    amount = line.amount
    if _given(amount) != 1:
        raise BadInput(
            f"“{line.what}” needs one amount, not {_given(amount)}.",
            where=line.where,
            remedy="write a mass, a volume, a number of leaves or pieces, a percentage or a share.",
        )
    if amount.mass is not None:
        return amount.mass
    if amount.volume is not None:
        return amount.volume * _density_of(line, ingredient, cooked, findings)
    if amount.count is not None:
        return amount.count * _mass_of_one(line, ingredient)
    if amount.share is not None:
        if cooked is None:
            raise BadInput(
                f"“{line.what}” is an ingredient, so a share of it ({amount.share:.0%}) has no size.",
                where=line.where,
                remedy="give its mass; shares are for other components.",
            )
        if amount.share > 1:
            raise BadInput(
                f"{amount.share:.0%} of “{line.what}” is more than there is.",
                where=line.where,
                remedy="give a share up to 100 %.",
            )
        return amount.share * cooked.mass
    return None


def _given(amount: Amount) -> int:
    given = (amount.mass, amount.volume, amount.count, amount.percent, amount.share)
    return sum(value is not None for value in given)


def _density_of(line: Weighed, ingredient: Ingredient | None, cooked: Cooked | None, findings: list[Finding]) -> float:
    if cooked is not None:
        return cooked.density
    assert ingredient is not None  # a line is one or the other
    told = ingredient.bulk_density or ingredient.density
    if told is not None:
        return told
    computed = float(density_of_mix(ingredient.composition.vector, ROOM))
    findings.append(
        Finding(
            severity=Severity.NOTE,
            rule="density assumed",
            where=line.where,
            says=f"No density is known of {ingredient.name}: {computed:.0f} g/l was computed from its composition.",
            why="Powders and pieces hold air between them, so that a volume of them weighs less.",
            remedy="weigh it once and write grams.",
        )
    )
    return computed


def _mass_of_one(line: Weighed, ingredient: Ingredient | None) -> Kilogram:
    if ingredient is not None:
        if ingredient.leaf_mass is not None:
            return ingredient.leaf_mass
        if ingredient.piece_mass is not None:
            return ingredient.piece_mass
        for pack in ingredient.packs:
            if pack.pieces:
                return pack.mass / pack.pieces
    raise BadInput(
        f"Nothing tells what one “{line.what}” weighs.", where=line.where, remedy="write grams instead of a number."
    )


def _with_percentages(component: Component, absolute: list[Kilogram | None], where: str) -> list[Kilogram]:
    percents = [line.amount.percent or 0.0 for line in component.weighed]
    if all(mass is not None for mass in absolute):
        return [mass for mass in absolute if mass is not None]
    if component.base:
        base = _base_mass(component, absolute, where)
        return [base * share if mass is None else mass for mass, share in zip(absolute, percents, strict=True)]
    told = sum(mass for mass in absolute if mass is not None)
    shares = sum(share for mass, share in zip(absolute, percents, strict=True) if mass is None)
    if told == 0:
        if component.to_make is None:
            raise BadInput(
                "There are only percentages, and nothing says of how much.",
                where=where,
                remedy="add how much to make, or give one line as a mass.",
            )
        return [share / shares for share in percents] if shares > 0 else percents
    if shares >= 1:
        raise BadInput(
            f"The percentages add up to {shares:.0%} of the whole and leave no room for the lines given by mass.",
            where=where,
            remedy="bring the percentages below 100 %, or name the line that counts as 100 %.",
        )
    whole = told / (1 - shares)
    return [whole * share if mass is None else mass for mass, share in zip(absolute, percents, strict=True)]


def _base_mass(component: Component, absolute: list[Kilogram | None], where: str) -> Kilogram:
    for line, mass in zip(component.weighed, absolute, strict=True):
        if line.what.casefold() == component.base.casefold():
            if mass is not None:
                return mass
            if component.to_make is not None and line.amount.percent:
                return 1.0  # of the 100 %; `to_make` scales it
            raise BadInput(
                f"The base “{component.base}” has no mass, so its percentages have none either.",
                where=line.where or where,
                remedy="give the base as a mass, or say how much to make.",
            )
    raise UnknownName("line", component.base, [line.what for line in component.weighed], where=where)
