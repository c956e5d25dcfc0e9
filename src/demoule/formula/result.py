"""What has become of a making, put together from its last state."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from demoule.composition import FATS, SACCHARIDES, Constituent
from demoule.figures import Finding, Severity, basis_of
from demoule.formula.amounts import Line
from demoule.formula.component import Bake, Component, Fold, Whip
from demoule.formula.cooked import Cooked, Cut, Loss
from demoule.formula.hands import hands_on
from demoule.formula.matter import mix_density
from demoule.formula.order import place
from demoule.formula.parts import composition_of, contents_of, nutrients_of
from demoule.formula.splitting import split_by_acid
from demoule.formula.work import Work
from demoule.physics.density import density_of_mix
from demoule.units import Kilogram, KilogramPerCubicMetre

__all__ = ["cooked_of"]


def cooked_of(component: Component, lines: Sequence[Line], work: Work, findings: Sequence[Finding]) -> Cooked:
    """The result of a making whose steps are done."""
    ph = _ph(component, lines)
    composition, split, told = split_by_acid(composition_of(work.parts), work.moments, ph)
    if split is not None:
        for entry in split.basis:
            work.stands_on(entry)
    mass = sum(part.total for part in work.parts)
    dense = mix_density(composition)
    air_volume = sum(part.air for part in work.parts)
    density = mass / (mass / dense + air_volume)
    if component.density is not None:
        density = component.density
        dense = max(dense, density)
    elif any(isinstance(step, Bake) for step in component.steps):
        crumb, said = _crumb(component, work)
        density = min(crumb, dense)
        if work.cut is None:  # where discs are counted out of a sheet, their mass is known
            findings = (*findings, said)
    basis = [*work.basis.values(), basis_of(density_of_mix)]
    return Cooked(
        name=component.name,
        weighed=tuple((line.what, line.mass) for line in lines),
        entered=sum(line.mass for line in lines),
        mass=mass,
        composition=composition,
        nutrients=nutrients_of(work.parts),
        contents=contents_of(work.parts),
        losses=_losses(work),
        density=density,
        mix_density=dense,
        air=max(1.0 - density / dense, 0.0),
        density_measured=component.density is not None,
        history=tuple(work.moments),
        waits=tuple(work.waits),
        hands_on=hands_on(component, work.noted),
        ph=ph,
        basis=tuple(basis),
        findings=(*findings, *work.findings.values()),
        exchanged=work.exchanged,
        cut=_cut(work.cut, mass),
        left_over=tuple(work.left_over),
        water_lost_band=_band(work),
        readings=(*work.readings.values(), *([told] if told is not None else [])),
    )


def _losses(work: Work) -> tuple[Loss, ...]:
    """Losses by cause, in the order in which the causes first came."""
    merged: dict[tuple[str, str], Loss] = {}

    def enter(cause: str, mass: Kilogram, kind: str, measured: bool) -> None:
        old = merged.get((cause, kind))
        if old is None:
            merged[cause, kind] = Loss(cause=cause, mass=mass, kind=kind, measured=measured)
        else:
            merged[cause, kind] = replace(old, mass=old.mass + mass, measured=old.measured and measured)

    for off in work.water:
        if off.mass > 0:
            enter(off.cause, off.mass, "water", off.measured)
    for lost in work.lost:
        if lost.mass != 0:
            enter(lost.cause, lost.mass, lost.kind, lost.measured)
    return tuple(merged.values())


def _band(work: Work) -> tuple[Kilogram, Kilogram] | None:
    """Likely range of the water that went off, when any of it was only computed."""
    if all(off.measured for off in work.water):
        return None
    low = sum(off.mass if off.measured else min(off.band.low, off.mass) for off in work.water)
    high = sum(off.mass if off.measured else max(off.band.high, off.mass) for off in work.water)
    return low, high


def _cut(cut: Cut | None, mass: Kilogram) -> Cut | None:
    """A sheet's cut with the mass of one disc, where the geometry tells it."""
    if cut is None or cut.offcuts is None:
        return cut
    return replace(cut, each=mass * (1 - cut.offcuts) / cut.count)


_SWEET = [*SACCHARIDES.tolist(), Constituent.UNKNOWN_SUGARS]
_NEUTRAL = 0.8
_DOMINANT = 0.6


# What baked goods weigh by volume [kg/m3], usual values (practice): dacquoise 350 to 550, short doughs 600 to 800.
_FOAMED, _SHORT = 450.0, 700.0
_WHITES = 0.2  # share of egg white from which a mix is taken for a whipped one


def _crumb(component: Component, work: Work) -> tuple[KilogramPerCubicMetre, Finding]:
    """Density of a crumb that nobody weighed, by whether it was whipped; and what is said of it."""
    whites = sum(c.mass for c in contents_of(work.parts) if "white" in c.ingredient.name and "egg" in c.ingredient.name)
    whipped = any(isinstance(step, (Whip, Fold)) for step in component.steps) or whites > _WHITES
    density = _FOAMED if whipped else _SHORT
    what = "a whipped biscuit" if whipped else "a short dough"
    return density, Finding(
        severity=Severity.NOTE,
        rule="crumb not weighed",
        where=place(component),
        says=f"How light {component.name} bakes is not told; {density / 1000:.2f} g/ml is taken, as usual for {what}.",
        why="The mass of a disc and its share of the cost hang on it.",
        remedy="weigh ten discs and give the mass of one, or the density.",
    )


def _ph(component: Component, lines: Sequence[Line]) -> float | None:
    """Measured, or that of the one part that rules the mix; None when it cannot be told.

    Water, sugars and fats have no acid and hold none back, so that they are left aside; of what remains one line must
    make up three fifths by mass.
    """
    if component.ph is not None:
        return component.ph
    weights: list[tuple[Kilogram, float | None]] = []
    for line in lines:
        composition = line.ingredient.composition if line.ingredient else None
        ph = line.ingredient.ph if line.ingredient else None
        if line.cooked is not None:
            composition, ph = line.cooked.composition, line.cooked.ph
        assert composition is not None
        x = composition.vector
        pure_water = composition.water > 0.995
        if pure_water or x[_SWEET].sum() > _NEUTRAL or x[FATS].sum() > _NEUTRAL:
            continue
        weights.append((line.mass, ph))
    total = sum(mass for mass, _ in weights)
    if not total:
        return None
    mass, ph = max(weights, key=lambda one: one[0])
    return ph if mass >= _DOMINANT * total else None
