"""Heating, boiling and cooking: what the hob does to what stands on it."""

from __future__ import annotations

import math

import numpy as np

from demoule.composition import Composition, Constituent
from demoule.errors import BadInput
from demoule.figures import Figure, Finding, Severity, basis_of
from demoule.formula.component import Boil, Cook, Heat, Pan
from demoule.formula.evaporation import (
    NONE,
    Band,
    evaporation_ceiling,
    evaporation_flux,
    flux_below_boiling,
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
from demoule.formula.warmth import heating_time
from demoule.formula.work import Lost, Work
from demoule.physics.boiling import boiling_point
from demoule.physics.cooking import RATE_BAND, TIME_BAND, boiling_band
from demoule.units import CubicMetre, Kelvin, Kilogram, Second

_BOILINGS = 8  # steps in which a cooking is followed
_WATER = Composition.of({Constituent.WATER: 1.0})

__all__ = ["boil", "cook", "heat", "let_air_out", "volume_of"]


def let_air_out(parts: list[Part]) -> None:
    """Heat, blades and sieves let the air out of a foam."""
    for part in parts:
        part.air = 0.0


def volume_of(parts: list[Part], work: Work) -> CubicMetre:
    """Volume of parts mixed, without air [m3]."""
    composition = work.composition(parts)
    return sum(part.total for part in parts) / mix_density(composition)


def _pan(pan: Pan | None, parts: list[Part], work: Work) -> Pan:
    """The pan told, or the smallest of the kitchen's that holds it."""
    if pan is not None:
        return pan
    pan = work.rules.pans.get(work.step) or pan_for(volume_of(parts, work), work.around.pans)
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
    let_air_out(parts)
    return needed, start


def _off_while_warming(
    start: Kelvin, end: Kelvin, duration: Second, boiling: Kelvin, pan: Pan, work: Work, *, covered: bool
) -> Band:
    """Water that goes off on the way from one temperature to another in a straight line."""
    if duration <= 0 or end <= start:
        return NONE
    steps = 8
    temperatures = start + (end - start) * (np.arange(steps) + 0.5) / steps
    flux = flux_below_boiling(np.minimum(temperatures, boiling - 1.0), boiling, covered=covered)
    work.stands_on(basis_of(evaporation_flux))
    work.stands_on(basis_of(evaporation_ceiling))
    most = evaporation_ceiling(work.around.heat)
    off = np.minimum(flux * pan.open_area * work.around.factor("evaporation"), most).sum(axis=0) * duration / steps
    return Band(*off.tolist())


def heat(step: Heat, work: Work) -> None:
    """Warm what is meant; what is hotter already stays so, and nothing wet gets hotter than its boil."""
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


def boil(step: Boil, work: Work) -> None:
    """Bring what is meant to the boil and keep it there; water goes off on the way and by the minute."""
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
        _must_last(parts, band, duration, work)
        work.evaporate(parts, band, measured=False, open_ended=step.duration is None)
    ends = boils_at(work.composition(parts), work.around.altitude)
    work.pass_time(parts, ends, duration, "boil")
    work.stands_on(basis_of(boiling_point))


def _must_last(parts: list[Part], band: Band, duration: Second, work: Work) -> None:
    """A pot that has boiled dry long before its time is a slip of the pen; the least that goes off decides."""
    there = sum(part.water for part in parts)
    if duration > 0 and band.low > there:
        minutes = duration / 60 * there / band.usual
        raise BadInput(
            f"It boils dry: {there * 1000:.0f} g of water are there, and about {minutes:.0f} of the "
            f"{duration / 60:.0f} min take them off.",
            where=work.at,
            remedy="check the minutes, take a smaller pan, cover it, or tell what goes off.",
        )


def _must_be_wet(parts: list[Part], work: Work) -> None:
    if not parts or not is_wet(work.composition(parts)):
        raise BadInput(
            "There is no water that could boil.",
            where=work.at,
            remedy="heat it to a temperature instead, or weigh the water.",
        )


def cook(step: Cook, work: Work) -> None:
    """Boil water off until the aim is met; an aim below the boil, and what is dry, is only warmed to it."""
    if (step.to_temperature is None) == (step.to_solids is None):
        raise BadInput("Cooking needs one aim: a temperature or a Brix.", where=work.at, remedy="give one of the two.")
    parts = work.put_on_hob(step.part)
    work.pan_wetted = True
    if step.to_temperature is not None and parts and not is_wet(work.composition(parts)):
        _warm(parts, max(step.to_temperature, parts[0].temperature), work, doing="cook", power=step.power)
        return  # dry sugar to a caramel: nothing boils off
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
    ends = step.to_temperature or boils_at(work.composition(parts), work.around.altitude)
    # The pan's surface may let the steam out more slowly than the hob makes it.
    flux = evaporation_flux(boiling, boiling).high * pan.open_area * work.around.factor("evaporation")
    rate = min(evaporation_ceiling(heat), flux) if step.rate is None else step.rate
    warming = heating_time(sum(p.total for p in parts), work.composition(parts), boiling, ends, heat)
    _boil_down(parts, off, ends, off / rate + warming, work)
    work.stands_on(basis_of(boiling_point))
    work.stands_on(basis_of(evaporation_ceiling))
    _tell_cooking(step, parts, ends, off / rate + warming, work)


def _boil_down(parts: list[Part], off: Kilogram, ends: Kelvin, duration: Second, work: Work) -> None:
    """Time at the boil while water goes off evenly: what thickens boils hotter, most of all at the end."""
    left = work.composition(parts)
    mass = sum(part.total for part in parts)
    for k in range(_BOILINGS):
        still = off * (1 - (k + 0.5) / _BOILINGS) / mass
        at = min(boils_at(left.with_water_changed(still), work.around.altitude), ends) if still > 1e-6 else ends
        work.pass_time(parts, at, duration / _BOILINGS, "cook")
    work.pass_time(parts, ends, 0.0, "cook")


def _tell_cooking(step: Cook, parts: list[Part], ends: Kelvin, duration: Second, work: Work) -> None:
    """Minutes at the boil, and the solids that a temperature means, as far as printed tables agree on it."""
    spread = TIME_BAND if step.rate is None else RATE_BAND
    work.tells(
        "cook_time",
        "minutes at the boil",
        Figure(
            value=duration / 60,
            unit="min",
            low=duration / 60 * (1 - spread),
            high=duration / 60 * (1 + spread),
            basis=(basis_of(evaporation_ceiling),),
            measured="" if step.rate is None else f"{step.rate * 60000:.0f} g a minute weighed",
            note=f"to {ends - 273.15:.1f} °C",
        ),
    )
    composition = work.composition(parts)
    solids = composition.total_solids
    water = boils_at(_WATER, work.around.altitude)
    below, above = boiling_band(solids, max(ends - water, 0.0))
    spread_of = []
    for at in (ends - below, ends + above):
        kept = water_kept_when_boiling_at(composition, max(at, water + 0.05), work.around.altitude)
        dry = 1 - composition.water
        spread_of.append(100 * dry / (dry + kept) if math.isfinite(kept) else None)
    exact = step.to_solids is not None
    work.tells(
        "cooked_solids",
        "solids when it is done",
        Figure(
            value=100 * solids,
            unit="%",
            low=None if exact else spread_of[0],
            high=None if exact else spread_of[1],
            basis=(basis_of(boiling_point),),
            note="weighed out by its water" if exact else "printed tables of boiling points disagree by so much",
        ),
    )
    work.tells(
        "done_at",
        "thermometer when it is done",
        Figure(
            value=ends - 273.15,
            unit="°C",
            low=ends - 273.15 - below if exact else None,
            high=ends - 273.15 + above if exact else None,
            basis=(basis_of(boiling_point),),
            note=f"{work.around.altitude:.0f} m above the sea",
        ),
    )


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
