"""What each step does to the making."""

from __future__ import annotations

from functools import singledispatch

from demoule.errors import BadInput
from demoule.figures import Finding, Severity
from demoule.formula import hob, standing
from demoule.formula.candied import blanched, candied, liquid_of
from demoule.formula.component import (
    Bake,
    Blanch,
    Blend,
    Boil,
    Candy,
    Cook,
    Cool,
    Drain,
    Fold,
    Freeze,
    Heat,
    Hydrate,
    Note,
    Rest,
    SetGel,
    Step,
    Strain,
    Whip,
)
from demoule.formula.cooked import Cut
from demoule.formula.evaporation import Band, pan_area
from demoule.formula.hob import let_air_out, volume_of
from demoule.formula.parts import Part
from demoule.formula.warmth import CLOSE
from demoule.formula.work import HABIT, USUAL, Lost, Work
from demoule.units import CubicMetre

__all__ = ["perform"]

_BAKED_TO = 371.15
"""Warmth inside what is baked, however hot the oven: its water boils near the surface only [K]."""

_WHISKED_NEAR = 10.0
"""So many kelvin from the temperature told, a mix is taken to have it when it is whipped [K]."""

_OVERRUN_MOST = 10.0
_OVERRUN, _AIR_LOST = 0.60, 0.15
"""Of a whipped ganache, and of the air when a foam is folded in (practice)."""


@singledispatch
def perform(step: Step, work: Work) -> None:
    """Do one step to the making."""
    raise TypeError(f"no way is known to do {step!r} ({work.where})")


@perform.register
def _hydrate(step: Hydrate, work: Work) -> None:
    work.wait("hydrate", step.duration, None, work.temperature_of(work.parts))
    work.clock += step.duration


@perform.register
def _heat(step: Heat, work: Work) -> None:
    hob.heat(step, work)


@perform.register
def _boil(step: Boil, work: Work) -> None:
    hob.boil(step, work)


@perform.register
def _cook(step: Cook, work: Work) -> None:
    hob.cook(step, work)


@perform.register
def _cool(step: Cool, work: Work) -> None:
    standing.cool(step, work)


@perform.register
def _set(step: SetGel, work: Work) -> None:
    standing.set_gel(step, work)


@perform.register
def _rest(step: Rest, work: Work) -> None:
    standing.rest(step, work)


@perform.register
def _freeze(step: Freeze, work: Work) -> None:
    standing.freeze(step, work)


# ---- vessels


@perform.register
def _blend(step: Blend, work: Work) -> None:
    work.off_hob()
    if step.part:
        work.take_in(step.part)
    parts = work.gather("blend")
    let_air_out(parts)
    if step.at is not None and abs(step.at - parts[0].temperature) > CLOSE:
        work.pass_time(parts, step.at, 0.0, "blend")
    _lose(step.loses, "blender", parts, work)


@perform.register
def _strain(step: Strain, work: Work) -> None:
    parts = work.gather("strain")
    let_air_out(parts)
    _lose(step.loses, "sieve", parts, work)


def _lose(told: float | None, cause: str, parts: list[Part], work: Work) -> None:
    if told is None:
        # One jug and one sieve for all turns: what sticks is left behind once, at the last.
        here = work.component.steps[work.step]
        if not any(type(later) is type(here) for later in work.component.steps[work.step + 1 :]):
            work.stands_on(HABIT)
            work.lose(cause, USUAL[cause], parts, usual=True)
    else:
        work.lose(cause, told, parts, measured=True)


@perform.register
def _drain(step: Drain, work: Work) -> None:
    parts = work.gather("drain")
    liquid = [liquid_of(part.mass) for part in parts]
    there = sum(float(mass.sum()) for mass in liquid)
    runs_off = step.loses * sum(part.total for part in parts)
    if runs_off > there * (1 + 1e-12):
        raise BadInput(
            f"{runs_off * 1000:.0f} g run off, and only {there * 1000:.0f} g are liquid.",
            where=work.at,
            remedy="give a smaller share.",
        )
    if runs_off <= 0:
        return
    share = runs_off / there
    for part, mass in zip(parts, liquid, strict=True):
        gone = float(mass.sum()) * share / part.total
        kept = part.mass - mass * share
        part.lose(gone)
        part.mass = kept
    work.lost.append(Lost(cause="drained", mass=runs_off, measured=True))


# ---- air


@perform.register
def _whip(step: Whip, work: Work) -> None:
    parts = work.gather("whip")
    # A mix far from that temperature is whipped as warm as it is: egg white, a bombe over hot syrup.
    at = step.at if abs(parts[0].temperature - step.at) <= _WHISKED_NEAR else parts[0].temperature
    work.pass_time(parts, at, 0.0, "whip")
    work.bowl_wetted = True
    volume = volume_of(parts, work)
    mass = sum(part.total for part in parts)
    if step.density is not None:
        air = mass / step.density - volume
        if air < 0:
            raise BadInput(
                f"A foam of {step.density / 1000:.2f} g/ml would be denser than the mix without air, "
                f"{mass / volume / 1000:.2f} g/ml.",
                where=work.at,
                remedy="weigh a level cup of the foam and of water, and divide.",
            )
    elif step.overrun is not None:
        if not 0 <= step.overrun <= _OVERRUN_MOST:
            raise BadInput(
                f"An overrun of {step.overrun:.0%} is not possible.", where=work.at, remedy="give 0 to 1000 %."
            )
        air = step.overrun * volume
    else:
        air = _OVERRUN * volume
        if work.component.density is None:
            work.say(
                Finding(
                    severity=Severity.CAUTION,
                    rule="overrun not told",
                    where=work.at,
                    says=f"Nothing tells how much air is beaten in; an overrun of {_OVERRUN:.0%} is taken.",
                    why="The mass that fills a cavity hangs on it.",
                    remedy="weigh one cup of the mix before and after whipping.",
                )
            )
    _share_air(parts, air)


def _share_air(parts: list[Part], air: CubicMetre) -> None:
    total = sum(part.total for part in parts)
    for part in parts:
        part.air = air * part.total / total


@perform.register
def _fold(step: Fold, work: Work) -> None:
    work.off_hob()
    entering = work.take_in(step.part)
    if step.density is not None and entering:
        mass = sum(part.total for part in entering)
        air = mass / step.density - volume_of(entering, work)
        if air < 0:
            raise BadInput(
                f"What is folded in at {step.density / 1000:.2f} g/ml would be denser than without air.",
                where=work.at,
                remedy="give the density of the whipped part, 0.4 to 0.9 g/ml.",
            )
        _share_air(entering, air)
    parts = work.gather("fold")
    if step.at is not None:
        work.pass_time(parts, step.at, 0.0, "fold")
    work.bowl_wetted = True
    usual = _AIR_LOST if work.around.folding is None else work.around.folding
    lost = usual if step.air_lost is None else step.air_lost
    if not 0 <= lost <= 1:
        raise BadInput(f"{lost:.0%} of the air cannot be lost.", where=work.at, remedy="give 0 to 100 %.")
    for part in parts:
        part.air *= 1 - lost


# ---- oven and the rest


@perform.register
def _bake(step: Bake, work: Work) -> None:
    parts = work.gather("bake")
    mass = sum(part.total for part in parts)
    if step.offcuts:
        work.lose("offcuts", step.offcuts, parts, measured=True)
    left = sum(part.total for part in parts)
    off = step.loses * left
    work.evaporate(parts, Band(off, off, off), measured=True, cause="baking")
    inside = min(step.at, _BAKED_TO)
    work.pass_time(parts, inside, step.duration, "bake")
    work.wait("bake", step.duration, None, step.at)
    work.pass_time(parts, work.around.air, 1800.0, "cool")
    work.wait("cool", 1800.0, None, work.around.air)
    for part in parts:
        part.air = 0.0
    if step.per_sheet and mass > 0:
        work.cut = _cut(step, work)


def _cut(step: Bake, work: Work) -> Cut:
    """Discs out of one sheet, and what is left between them."""
    assert step.per_sheet is not None
    if step.sheet is None or step.cut is None:
        return Cut(count=step.per_sheet, each=None, offcuts=None)
    covered = step.per_sheet * pan_area(step.cut) / (step.sheet[0] * step.sheet[1])
    if covered > 1:
        raise BadInput(
            f"{step.per_sheet:g} discs of {step.cut * 1000:.0f} mm cover {covered:.0%} of the sheet.",
            where=work.at,
            remedy="cut fewer or smaller discs, or give the sheet's sides.",
        )
    return Cut(count=step.per_sheet, each=None, offcuts=1 - covered)


@perform.register
def _blanch(step: Blanch, work: Work) -> None:
    blanched(step, work)


@perform.register
def _candy(step: Candy, work: Work) -> None:
    candied(step, work)


@perform.register
def _note(step: Note, work: Work) -> None:
    work.noted += 60.0 * (step.minutes or 0.0)
    if step.at is not None:
        parts = work.gather(step.text)
        work.pass_time(parts, step.at, 60.0 * (step.minutes or 0.0), step.text)
