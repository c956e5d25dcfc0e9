"""A component's steps as sentences for the wall of a kitchen, every temperature in both units."""

from __future__ import annotations

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
from demoule.units import Kelvin, Metre, Second, celsius, convert, shown, shown_range
from demoule.units.showing import System, both
from demoule.units.wording import beside_in

__all__ = ["degrees", "sentence"]

_ROUND = 0.05  # K: nearer than that to a whole degree, a whole degree was meant


def degrees(temperature: Kelvin, system: System = "metric") -> str:
    """A temperature in both units, whole as a kitchen reads them; tenths only where °C or °F were written with them.

    Examples
    --------
    >>> degrees(255.15), degrees(277.038889, "us"), degrees(304.65)
    ('−18\u202f°C / 0\u202f°F', '39\u202f°F / 4\u202f°C', '31.5\u202f°C / 88.7\u202f°F')
    """
    metric = celsius(temperature)
    us = convert(metric, "°C", "°F")
    whole = min(abs(metric - round(metric)), abs(us - round(us))) < _ROUND
    texts = [shown(value, unit, step=1.0 if whole else 0.1) for value, unit in ((metric, "°C"), (us, "°F"))]
    return " / ".join(texts if system == "metric" else reversed(texts))


def sentence(step: Step, system: System = "metric") -> str:
    """One step, told as it is said across the bench; `system` says which unit stands first."""

    def degrees_(temperature: Kelvin) -> str:
        return degrees(temperature, system)

    match step:
        case Hydrate(duration=duration):
            return f"Swell in the cold for {_time(duration)}."
        case Heat(to=to, part=part, duration=duration):
            held = f" and hold for {_time(duration)}" if duration else ""
            return f"Heat {part or 'all of it'} to {degrees_(to)}{held}.{_lid(step.covered)}"
        case Boil():
            return _boil(step, system)
        case Cook(to_temperature=to, to_solids=solids, part=part):
            end = degrees_(to) if to is not None else shown(100 * (solids or 0.0), "°Bx")
            return f"Cook {part + ' ' if part else ''}to {end}."
        case Blanch(duration=duration, times=times, water=water):
            often = f", {times} times in fresh water" if times > 1 else ""
            much = f" in {shown(1000 * water, 'g')} of water" if water else ""
            return f"Blanch{much} for {_time(duration)}{often}; drain."
        case Candy(syrup=syrup, temperature=at, duration=duration, piece=piece, size=size, covered=covered):
            lid = ", covered" if covered else ""
            return (
                f"Keep in the {syrup} at {degrees_(at)} for {_time(duration)}{lid} (pieces: {piece}, {_length(size)})."
            )
        case Drain():
            return "Drain."
        case Blend(part=part, at=at):
            warm = f" at {degrees_(at)}" if at is not None else ""
            return f"Blend{' in ' + part if part else ''}{warm}."
        case Strain():
            return "Strain."
        case Cool(to=to, pan=pan, room=room, duration=duration):
            vessel = f" in a pan {_pan(pan, system)}" if pan else ""
            place = f" in the {room}" if room else ""
            within = f" within {_time(duration)}" if duration else ""
            return f"Cool to {degrees_(to)}{vessel}{place}{within}."
        case SetGel(at=at, duration=duration):
            return f"Leave to set at {degrees_(at)}{' for ' + _time(duration) if duration else ''}."
        case Rest(at=at, at_least=least, at_most=most):
            return f"Rest {_between(least, most)}at {degrees_(at)}."
        case Whip(overrun=overrun, density=density, at=at):
            end = (
                f"to {shown(density / 1000, 'g/ml')}"
                if density is not None
                else f"to an overrun of {shown(100 * overrun, '%')}"
                if overrun is not None
                else "to a soft peak"
            )
            return f"Whip {end}, at {degrees_(at)}."
        case Fold(part=part, at=at, density=density):
            whipped = f", whipped to {shown(density / 1000, 'g/ml')}" if density is not None else ""
            return f"Fold in {part or 'the whipped part'}{whipped}{', at ' + degrees_(at) if at is not None else ''}."
        case Bake(at=at, duration=duration, loses=loses):
            return f"Bake at {degrees_(at)} for {_time(duration)}; {shown(100 * loses, '%')} of the mass goes off."
        case Freeze(to=to, room=room):
            return f"Freeze{' in the ' + room if room else ''} to {degrees_(to)}."
        case Note(text=text):
            told = text[:1].upper() + text[1:]
            return told if told.endswith((".", "!", "?")) else f"{told}."


def _boil(step: Boil, system: System) -> str:
    what = f"Boil {step.part}" if step.part else "Boil"
    how = " gently" if step.strength == "gentle" else ""
    long = f" for {_time(step.duration)}" if step.duration else ""
    pan = f" in a pan {_pan(step.pan, system)}" if step.pan else ""
    until = f" until {shown(1000 * step.evaporates, 'g')} are off" if step.evaporates else ""
    return f"{what}{how}{long}{until}{pan}.{_lid(step.covered)}"


def _lid(covered: bool) -> str:
    return " Lid on." if covered else ""


def _pan(pan: Pan, system: System) -> str:
    return beside_in(system, pan.name)


def _length(size: Metre) -> str:
    return both(1000 * size, "mm")


def _time(duration: Second) -> str:
    return shown(duration / 3600, "h") if duration >= 3600 else shown(duration / 60, "min")


def _between(least: Second | None, most: Second | None) -> str:
    if least is not None and most is not None:
        return f"{shown_range(least / 3600, most / 3600, 'h')} "
    if least is not None:
        return f"at least {_time(least)} "
    if most is not None:
        return f"at most {_time(most)} "
    return ""
