"""What one probe log tells of a room: how hard its air takes heat, how cold it is, and how sure that is."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from demoule.cold.fit import LEAST_H, MOST_H, Fit, degrees_hint, scatter_of
from demoule.cold.programme import Room
from demoule.cold.records import Record, checked, shown, smoothed, thinned
from demoule.cold.stages import Opening
from demoule.errors import BadInput
from demoule.figures import Basis, Status, basis_of, published
from demoule.units import FloatArray, Fraction, Kelvin, Second

if TYPE_CHECKING:
    pass

__all__ = ["Fitted", "Lesson", "learn_room"]

PLACES = ("core", "centre", "mean", "surface")
"""Where a probe can sit: in the place slowest to follow the room, in the middle on the axis, or at the surface."""

_WORST_FIT = 1.2  # K
_WORST_SHARE = 0.02  # of the span of the log
_VAGUE = 0.5  # a coefficient known no better than this is not known
_OTHER_ROOM = 12.0  # K
_FAR = 0.4  # of the logarithm: a coefficient so far from the stated one is worth a look


@dataclass(frozen=True, slots=True, kw_only=True)
class Fitted:
    """A value that a log taught, with its limits at 95 %."""

    value: float
    low: float
    high: float

    def holds(self, truth: float) -> bool:
        """Whether a value lies within the limits."""
        return self.low <= truth <= self.high


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lesson:
    """What a log taught of a room.

    Parameters
    ----------
    surface, air
        Surface coefficient [W/(m2 K)] and temperature [K].
    body
        Factor on the conductivity of all mixes; None: it was not asked for, and its uncertainty is in the other limits.
    put_in
        When the piece was put in, from the first reading [s]; negative: before.
    scatter
        Of the readings about the computed curve, as a standard deviation [K].
    record, computed
        The readings used, and the temperatures computed at their times [K].
    notes
        What was assumed, cut off or mended, in words.
    """

    room: Room
    stage: str
    place: str
    surface: Fitted
    air: Fitted
    body: Fitted | None
    put_in: Second
    scatter: float
    record: Record
    computed: FloatArray
    notes: tuple[str, ...]
    basis: tuple[Basis, ...]
    runs: int

    @property
    def residuals(self) -> FloatArray:
        """Reading less curve [K]."""
        return np.asarray(self.record.temperature - self.computed)

    @property
    def band(self) -> Fraction:
        """Half the width of the limits of the surface coefficient, as a share of it."""
        return (self.surface.high - self.surface.low) / 2 / self.surface.value


@published(
    gives="surface coefficient and air of a room from a probe log",
    source="beck-arnold-1977",
    valid="one piece of known shape, mix and start; a room that stays as it is",
    error="stated with each log, 95 %; a wrong place of the probe is not in it",
    status=Status.RECALLED,
)
def learn_room(
    opening: Opening,
    record: Record,
    *,
    place: str = "core",
    body: bool = False,
    now: datetime.datetime | None = None,
) -> Lesson:
    """Fit surface coefficient and air of a room to what a probe wrote during one stage.

    Parameters
    ----------
    opening
        The stage about to begin; its room is what is learned.
    record
        Readings, with or without the time before the piece was put in.
    place
        Where the probe sat: "core", "centre", "mean" or "surface".
    body
        Learn the conductivity of the mixes too.
    now
        Against which a record from the future is refused; None: not looked at.

    Raises
    ------
    BadInput
        The log cannot tell, with the reason: too short, nothing that cools, another piece or another room.

    Notes
    -----
    Least squares with what is known beforehand as further readings: the start within 1.5 K, the air within 6 K of the
    file, the conductivity within its band. What is not asked for is fitted too, so its uncertainty is in the limits.
    Limits: the coefficient is moved away from the best one and everything else fitted again, until the log contradicts
    at 95 %; scatter in which neighbouring residuals hang together counts for more.
    """
    if place not in PLACES:
        raise BadInput(f"A probe cannot sit at “{place}”.", remedy=f"write one of {', '.join(PLACES)}.")
    checked(record, now)
    fit = Fit(opening, place, body)
    used, notes = fit.part_of(record)
    used = thinned(used)
    rough = sorted((fit.solve(used, fit.guess(used, h)) for h in fit.first_guesses()), key=lambda found: found.cost)
    way = fit.along(used, rough[0])
    fit.refine()
    polished = [fit.solve(used, one) for one in (rough[0].values, way.best)]
    best = min(polished, key=lambda found: found.cost)
    computed = fit.curve(used.time, best.values)
    residuals = used.temperature - computed
    scatter = scatter_of(residuals)
    _refuse_misfit(opening, used, residuals, best.values, fit.start)
    low, high = way.limits(best.values)
    surface = _fitted(best.values, low, high, 0, logarithm=True)
    lesson = Lesson(
        room=opening.room,
        stage=opening.stage.what,
        place=place,
        surface=surface,
        air=_fitted(best.values, low, high, 1),
        body=_fitted(best.values, low, high, 2, logarithm=True) if body else None,
        put_in=float(best.values[4]),
        scatter=scatter,
        record=used,
        computed=computed,
        notes=(*record.notes, *notes, *fit.assumed(), *_notes_on(opening.room, surface)),
        basis=(basis_of(learn_room), *opening.basis),
        runs=fit.runs,
    )
    _refuse_vague(lesson, opening)
    return lesson


def _fitted(value: FloatArray, low: FloatArray, high: FloatArray, at: int, *, logarithm: bool = False) -> Fitted:
    told = [float(np.exp(one[at]) if logarithm else one[at]) for one in (value, low, high)]
    return Fitted(value=told[0], low=told[1], high=told[2])


def _notes_on(room: Room, surface: Fitted) -> tuple[str, ...]:
    """What to look at when a log says something else than the kitchen file."""
    stated = room.surface
    if stated is None or abs(np.log(surface.value / stated)) < _FAR:
        return ()
    more = "more" if surface.value > stated else "less"
    return (
        f"this is far {more} than the {stated:.3g} W/m²K of the kitchen file: a clock that runs wrong or a probe in "
        "another place would say the same, and no log can tell",
    )


def _refuse_misfit(opening: Opening, record: Record, residuals: FloatArray, x: FloatArray, start: Kelvin) -> None:
    stage, room, name = opening.stage.what, opening.room, record.name
    off = float(np.sqrt(np.mean(smoothed(residuals) ** 2)))
    most = max(_WORST_FIT, _WORST_SHARE * record.span)
    if off > most:
        raise BadInput(
            f"“{name}” does not look like {stage} of this piece: the nearest curve lies {off:.1f} K from it.",
            remedy=degrees_hint(record, start)
            or "check that it is the log of this dessert and stage, where the probe sat, and the time column.",
        )
    h, air = float(np.exp(x[0])), float(x[1])
    if abs(air - room.air) > _OTHER_ROOM:
        raise BadInput(
            f"“{name}” tells of air of {shown(air)}; “{room.name}” has {shown(room.air)} in the kitchen file.",
            remedy="name the stage in whose room the log was made, or put the air of the room right.",
        )
    if not 1.05 * LEAST_H < h < 0.95 * MOST_H:
        raise BadInput(
            f"To explain “{name}” the air of “{room.name}” would have to take {h:.0f} W/m²K.",
            remedy="check that it is the log of this piece in this room, and the unit of its time column.",
        )


def _refuse_vague(lesson: Lesson, opening: Opening) -> None:
    if lesson.band > _VAGUE:
        raise BadInput(
            f"“{lesson.record.name}” cannot tell how hard “{opening.room.name}” takes heat: anything from "
            f"{lesson.surface.low:.0f} to {lesson.surface.high:.0f} W/m²K would do.",
            remedy="record the whole stage, from putting in until the piece has the temperature of the room.",
        )
    if lesson.body is not None and (lesson.body.high - lesson.body.low) / 2 / lesson.body.value > _VAGUE:
        raise BadInput(
            f"“{lesson.record.name}” cannot tell the conductivity of the mixes apart from the surface coefficient.",
            remedy="learn without the body, or put the probe nearer to the middle of a larger piece.",
        )
