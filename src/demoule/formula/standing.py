"""Cooling, setting, resting and freezing: what time does to a mix that stands."""

from __future__ import annotations

import itertools

import numpy as np

from demoule.errors import BadInput
from demoule.figures import basis_of
from demoule.formula.component import Cool, Freeze, Pan, Rest, SetGel
from demoule.formula.surroundings import Chill
from demoule.formula.warmth import CLOSE, cooling, freezing
from demoule.formula.work import Work
from demoule.units import Kelvin, Second

__all__ = ["cool", "freeze", "rest", "set_gel"]


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


def cool(step: Cool, work: Work) -> None:
    """Cool everything in work to a temperature."""
    took = _cool_down(step.to, work, doing="cool", pan=step.pan, room=step.room, duration=step.duration)
    work.wait("cool", took, None, step.to)


_SETS = (("agar", 3600.0), ("carrageen", 3600.0), ("pectin", 7200.0))
_SETS_GELATINE, _SETS_OTHER = 14400.0, 7200.0


def set_gel(step: SetGel, work: Work) -> None:
    """Leave everything in work to set; cooling counts as setting time."""
    duration = _setting_time(work) if step.duration is None else step.duration
    _stand(step.at, duration, work, doing="set")
    work.wait("set", duration, None, step.at)


def _stand(at: Kelvin, duration: Second | None, work: Work, *, doing: str) -> Second:
    """Everything in work stands at a temperature and comes towards it; None: until it is there. Returns how long."""
    parts = work.gather(doing)
    start = parts[0].temperature
    if start < at:
        work.pass_time(parts, at, 0.0, doing)
    took = 0.0
    if start > at + CLOSE:
        room = Chill(name=doing, air=at, surface=work.around.room("").surface)
        mass = sum(part.total for part in parts)
        times, temperatures = cooling(mass, work.composition(parts), start, at + CLOSE, room)
        work.stands_on(basis_of(cooling, stretched=True))
        took = float(times[-1]) if duration is None else min(float(times[-1]), duration)
        moments = np.linspace(0.0, took, len(times))
        for before, now in itertools.pairwise(moments):
            work.pass_time(parts, float(np.interp(now, times, temperatures)), float(now - before), doing)
    if duration is None or duration > took:
        work.pass_time(parts, at, max((duration or 0.0) - took, 0.0), doing)
    return took if duration is None else duration


def _setting_time(work: Work) -> Second:
    """The shortest time in which a gel of its kind firms up (practice): the slowest of the gels in it."""
    ingredients = [content.ingredient for part in work.parts for content in part.contents]
    times = [_SETS_GELATINE for one in ingredients if one.bloom_strength is not None]
    times += [time for one in ingredients for name, time in _SETS if name in one.name.casefold()]
    return max(times, default=_SETS_OTHER)


def rest(step: Rest, work: Work) -> None:
    """Leave everything in work alone; a warm mix cools meanwhile."""
    took = _stand(step.at, step.at_least, work, doing="rest")
    work.wait("rest", took, step.at_most, step.at)


def freeze(step: Freeze, work: Work) -> None:
    """Freeze everything in work, in the room told or in the coldest."""
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
