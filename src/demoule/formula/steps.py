"""What each step does to the making."""

from __future__ import annotations

import math
from functools import singledispatch

from demoule.composition import Constituent
from demoule.errors import BadInput
from demoule.figures import Finding, Severity, basis_of
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
    Pan,
    Rest,
    SetGel,
    Step,
    Strain,
    Whip,
)
from demoule.formula.cooked import Cut
from demoule.formula.evaporation import (
    NONE,
    Band,
    evaporation_ceiling,
    evaporation_flux,
    pan_area,
    pan_for,
)
from demoule.formula.matter import (
    boils_at,
    dissolved_solids,
    is_wet,
    mix_density,
    water_kept_when_boiling_at,
    water_to_brix,
)
from demoule.formula.parts import Part
from demoule.formula.surroundings import Chill
from demoule.formula.warmth import CLOSE, cooling, freezing, heating_time
from demoule.formula.work import HABIT, USUAL, Lost, Work
from demoule.physics.boiling import boiling_point
from demoule.units import CubicMetre, Kelvin, Kilogram, Second

__all__ = ["perform"]

_BAKED_TO = 371.15
"""Warmth inside what is baked, however hot the oven: its water boils near the surface only [K]."""

_WHISKED_NEAR = 10.0
"""So many kelvin from the temperature told, a mix is taken to have it when it is whipped [K]."""

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


# ---- on the hob


def _bare(parts: list[Part]) -> None:
    """Heat, blades and sieves let the air out of a foam."""
    for part in parts:
        part.air = 0.0


def _volume(parts: list[Part], work: Work) -> CubicMetre:
    composition = work.composition(parts)
    return sum(part.total for part in parts) / mix_density(composition)


def _pan(pan: Pan | None, parts: list[Part], work: Work) -> Pan:
    """The pan told, or the smallest of the kitchen's that holds it."""
    if pan is not None:
        return pan
    pan = work.rules.pans.get(work.step) or pan_for(_volume(parts, work), work.around.pans)
    work.pans[work.step] = pan
    return pan


def _rate(
    temperature: Kelvin, boiling: Kelvin, pan: Pan, work: Work, *, covered: bool, strength: str = "rolling"
) -> Band:
    """Water off a pan [kg/s], never more than the hob can pay for."""
    flux = evaporation_flux(temperature, boiling, strength=strength, covered=covered)
    work.stands_on(basis_of(evaporation_flux))
    work.stands_on(basis_of(evaporation_ceiling))
    return flux.times(pan.open_area * work.around.factor("evaporation")).at_most(evaporation_ceiling(work.around.heat))


def _warm(
    parts: list[Part], to: Kelvin, work: Work, *, doing: str, duration: Second | None = None, power: float | None = None
) -> tuple[Second, Kelvin]:
    """Bring parts on the hob to a temperature; returns how long it took and from where."""
    start = parts[0].temperature
    mass = sum(part.total for part in parts)
    heat = work.around.heat if power is None else power * work.around.hob_efficiency * work.around.factor("hob")
    needed = heating_time(mass, work.composition(parts), start, to, heat) if duration is None else duration
    work.stands_on(basis_of(heating_time))
    work.pass_time(parts, to, needed, doing)
    _bare(parts)
    return needed, start


def _off_while_warming(
    start: Kelvin, end: Kelvin, duration: Second, boiling: Kelvin, pan: Pan, work: Work, *, covered: bool
) -> Band:
    """Water that goes off on the way from one temperature to another in a straight line."""
    if duration <= 0 or end <= start:
        return NONE
    steps = 8
    total = NONE
    for k in range(steps):
        temperature = start + (end - start) * (k + 0.5) / steps
        rate = _rate(min(temperature, boiling - 1.0), boiling, pan, work, covered=covered)
        total = total.plus(rate.times(duration / steps))
    return total


@perform.register
def _heat(step: Heat, work: Work) -> None:
    parts = work.put_on_hob(step.part)
    work.pan_wetted = True
    composition = work.composition(parts)
    boiling = boils_at(composition, work.around.altitude)
    to = max(step.to, parts[0].temperature)
    if is_wet(composition) and step.to > boiling:
        work.say(
            Finding(
                severity=Severity.CAUTION,
                rule="hotter than the boil",
                where=work.at,
                says=f"The mix boils at {boiling - 273.15:.1f} °C here and cannot be heated to {to - 273.15:.1f} °C.",
                why="Above its boiling point a mix loses water before it gets hotter.",
                remedy="write a cook step, so that the water going off is counted.",
            )
        )
        to = boiling
    pan = _pan(step.pan, parts, work)
    took, start = _warm(parts, to, work, doing="heat", duration=step.duration)
    if step.evaporates is not None:
        work.evaporate(parts, Band(*([step.evaporates] * 3)), measured=True)
    elif is_wet(composition):
        band = _off_while_warming(start, to, took, boiling, pan, work, covered=step.covered)
        work.evaporate(parts, band, measured=False)


@perform.register
def _boil(step: Boil, work: Work) -> None:
    parts = work.put_on_hob(step.part)
    work.pan_wetted = True
    composition = work.composition(parts)
    _must_be_wet(parts, work)
    boiling = boils_at(composition, work.around.altitude)
    pan = _pan(step.pan, parts, work)
    took, start = _warm(parts, boiling, work, doing="to the boil")
    band = _off_while_warming(start, boiling, took, boiling, pan, work, covered=step.covered)
    rate = _rate(boiling, boiling, pan, work, covered=step.covered, strength=step.strength)
    duration = step.duration
    if duration is None:
        # Nobody says how long: just to the boil, unless the measured loss tells that it went on.
        duration = 0.0 if step.evaporates is None else max(step.evaporates - band.usual, 0.0) / rate.usual
    else:
        band = band.plus(rate.times(duration))
    if step.evaporates is not None:
        work.evaporate(parts, Band(*([step.evaporates] * 3)), measured=True)
    else:
        work.evaporate(parts, band, measured=False, open_ended=step.duration is None)
    ends = boils_at(work.composition(parts), work.around.altitude)
    work.pass_time(parts, ends, duration, "boil")
    work.stands_on(basis_of(boiling_point))


def _must_be_wet(parts: list[Part], work: Work) -> None:
    if not parts or not is_wet(work.composition(parts)):
        raise BadInput(
            "There is no water that could boil.",
            where=work.at,
            remedy="heat it to a temperature instead, or weigh the water.",
        )


@perform.register
def _cook(step: Cook, work: Work) -> None:
    if (step.to_temperature is None) == (step.to_solids is None):
        raise BadInput("Cooking needs one aim: a temperature or a Brix.", where=work.at, remedy="give one of the two.")
    parts = work.put_on_hob(step.part)
    work.pan_wetted = True
    _must_be_wet(parts, work)
    boiling = boils_at(work.composition(parts), work.around.altitude)
    pan = _pan(step.pan, parts, work)
    if step.to_temperature is not None and step.to_temperature < boiling:
        took, start = _warm(parts, step.to_temperature, work, doing="cook", power=step.power)
        band = _off_while_warming(start, step.to_temperature, took, boiling, pan, work, covered=False)
        work.evaporate(parts, band, measured=False)
        return
    off = (
        _off_to_temperature(step, parts, work) if step.to_temperature is not None else _off_to_solids(step, parts, work)
    )
    _warm(parts, boiling, work, doing="to the boil", power=step.power)
    work.evaporate(parts, Band(off, off, off), measured=False)
    heat = work.around.heat if step.power is None else step.power * work.around.hob_efficiency
    ends = boils_at(work.composition(parts), work.around.altitude)
    # The pan's surface may let the steam out more slowly than the hob makes it.
    flux = evaporation_flux(boiling, boiling).high * pan.open_area * work.around.factor("evaporation")
    rate = min(evaporation_ceiling(heat), flux)
    warming = heating_time(sum(p.total for p in parts), work.composition(parts), boiling, ends, heat)
    work.pass_time(parts, ends, off / rate + warming, "cook")
    work.stands_on(basis_of(boiling_point))
    work.stands_on(basis_of(evaporation_ceiling))


def _off_to_temperature(step: Cook, parts: list[Part], work: Work) -> Kilogram:
    """Water to boil off until what is left boils at the temperature; alcohol is gone by then."""
    assert step.to_temperature is not None
    alcohol = sum(float(part.mass[Constituent.ETHANOL]) for part in parts)
    if alcohol > 0:
        for part in parts:
            part.mass = part.mass.copy()
            part.mass[Constituent.ETHANOL] = 0.0
        work.lost.append(Lost(cause="alcohol", mass=alcohol, kind="alcohol"))
    composition = work.composition(parts)
    total = sum(part.total for part in parts)
    kept = water_kept_when_boiling_at(composition, step.to_temperature, work.around.altitude) * total
    if not math.isfinite(kept) or kept > sum(part.water for part in parts):
        return 0.0
    return sum(part.water for part in parts) - kept


def _off_to_solids(step: Cook, parts: list[Part], work: Work) -> Kilogram:
    """Water to boil off until the liquid has the Brix wanted."""
    assert step.to_solids is not None
    if not 0 < step.to_solids < 1:
        raise BadInput(
            f"A Brix of {step.to_solids * 100:.0f} cannot be cooked to.", where=work.at, remedy="give 1 to 99 °Bx."
        )
    composition = work.composition(parts)
    off = water_to_brix(composition, step.to_solids)
    if off < -1e-9:
        raise BadInput(
            f"It has {dissolved_solids(composition) * 100:.1f} °Bx already, more than the "
            f"{step.to_solids * 100:.1f} °Bx wanted; cooking only takes water off.",
            where=work.at,
            remedy="weigh more water, or cook to a higher Brix.",
        )
    return max(off, 0.0) * sum(part.total for part in parts)


# ---- vessels


@perform.register
def _blend(step: Blend, work: Work) -> None:
    work.off_hob()
    if step.part:
        work.take_in(step.part)
    parts = work.gather("blend")
    _bare(parts)
    if step.at is not None and abs(step.at - parts[0].temperature) > CLOSE:
        work.pass_time(parts, step.at, 0.0, "blend")
    _lose(step.loses, "blender", parts, work)


@perform.register
def _strain(step: Strain, work: Work) -> None:
    parts = work.gather("strain")
    _bare(parts)
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


# ---- cold


def _cool_down(
    to: Kelvin, work: Work, *, doing: str, pan: Pan | None = None, room: str = "", duration: Second | None = None
) -> Second:
    """Everything in work cools; returns how long it takes."""
    parts = work.gather(doing)
    start = parts[0].temperature
    if start <= to + 1e-9:
        return 0.0
    chill = work.around.room(room)
    if not room and to > work.around.air + CLOSE:
        chill = Chill(name="kitchen", air=work.around.air, surface=8.0)
    try:
        times, temperatures = cooling(
            sum(part.total for part in parts), work.composition(parts), start, to, chill, pan, duration
        )
    except BadInput as wrong:
        raise wrong.at(work.at) from None
    began = work.clock
    for k in range(1, len(times)):
        work.pass_time(parts, float(temperatures[k]), float(times[k] - times[k - 1]), doing)
    work.stands_on(basis_of(cooling, stretched=pan is None or not room))
    return work.clock - began


@perform.register
def _cool(step: Cool, work: Work) -> None:
    took = _cool_down(step.to, work, doing="cool", pan=step.pan, room=step.room, duration=step.duration)
    work.wait("cool", took, None, step.to)


_SETS = (("agar", 3600.0), ("carrageen", 3600.0), ("pectin", 7200.0))
_SETS_GELATINE, _SETS_OTHER = 14400.0, 7200.0


@perform.register
def _set(step: SetGel, work: Work) -> None:
    duration = step.duration
    if duration is None:
        duration = _setting_time(work)
    took = _cool_down(step.at, work, doing="set") if step.at < work.around.air - CLOSE else 0.0
    parts = work.gather("set")
    work.pass_time(parts, min(parts[0].temperature, step.at), max(duration - took, 0.0), "set")
    work.wait("set", max(duration, took), None, step.at)


def _setting_time(work: Work) -> Second:
    """The shortest time in which a gel of its kind firms up (practice): the slowest of the gels in it."""
    ingredients = [content.ingredient for part in work.parts for content in part.contents]
    times = [_SETS_GELATINE for one in ingredients if one.bloom_strength is not None]
    times += [time for one in ingredients for name, time in _SETS if name in one.name.casefold()]
    return max(times, default=_SETS_OTHER)


@perform.register
def _rest(step: Rest, work: Work) -> None:
    parts = work.gather("rest")
    shortest = step.at_least or 0.0
    took = 0.0
    if parts[0].temperature > step.at + CLOSE:
        took = _cool_down(step.at, work, doing="rest", duration=None if step.at < work.around.air else shortest)
    elif parts[0].temperature < step.at:
        work.pass_time(parts, step.at, 0.0, "rest")
    work.pass_time(parts, step.at, max(shortest - took, 0.0), "rest")
    work.wait("rest", shortest, step.at_most, step.at)


# ---- air


@perform.register
def _whip(step: Whip, work: Work) -> None:
    parts = work.gather("whip")
    # A mix far from that temperature is whipped as warm as it is: egg white, a bombe over hot syrup.
    at = step.at if abs(parts[0].temperature - step.at) <= _WHISKED_NEAR else parts[0].temperature
    work.pass_time(parts, at, 0.0, "whip")
    work.bowl_wetted = True
    volume = _volume(parts, work)
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
        air = mass / step.density - _volume(entering, work)
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
    lost = _AIR_LOST if step.air_lost is None else step.air_lost
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
def _freeze(step: Freeze, work: Work) -> None:
    parts = work.gather("freeze")
    start = parts[0].temperature
    if start <= step.to:
        return
    room = work.around.room(step.room) if step.room else work.around.coldest
    try:
        took = freezing(work.composition(parts), start, step.to, room)
    except BadInput as wrong:
        raise wrong.at(work.at) from None
    work.pass_time(parts, step.to, took, "freeze")
    work.wait("freeze", took, None, step.to)
    work.stands_on(basis_of(freezing, stretched=True))


@perform.register
def _note(step: Note, work: Work) -> None:
    work.noted += 60.0 * (step.minutes or 0.0)
    if step.at is not None:
        parts = work.gather(step.text)
        work.pass_time(parts, step.at, 60.0 * (step.minutes or 0.0), step.text)
