"""A temperature record of one stage, as a probe wrote it, and the reasons why one cannot teach anything."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

import numpy as np

from demoule.errors import BadInput
from demoule.units import ZERO_CELSIUS, FloatArray, Kelvin, Second

__all__ = ["Record", "checked", "thinned", "within"]

_FEWEST = 12
_SHORTEST: Second = 600.0
_LEAST_SPAN = 2.0  # K
_MOST_POINTS = 400
_COLDEST, _WARMEST = 173.15, 423.15
_LONGEST: Second = 14 * 86400.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Record:
    """Readings of one probe.

    Parameters
    ----------
    time
        Seconds since the first reading, growing, shape (n,).
    temperature
        [K], shape (n,).
    begun
        Moment of the first reading on the logger's clock; None: it has no dates.
    notes
        What was noticed and mended on reading it, in words.
    """

    name: str
    time: FloatArray
    temperature: FloatArray
    begun: datetime.datetime | None = None
    notes: tuple[str, ...] = ()

    @property
    def span(self) -> float:
        """Between the warmest and the coldest reading [K]."""
        return float(np.ptp(self.temperature))


def checked(record: Record, now: datetime.datetime | None = None) -> Record:
    """The record, if something can be learned from its like at all.

    Raises
    ------
    BadInput
        Too few readings, too short, a clock that runs backwards or stands in the future, a temperature that hardly
        changes or that no kitchen has.
    """
    time, temperature = record.time, record.temperature
    n = len(time)
    if n == 0:
        raise BadInput(f"“{record.name}” holds no reading.", remedy="give the record of a probe from the freezer.")
    if not (np.isfinite(time).all() and np.isfinite(temperature).all()):
        raise BadInput(f"“{record.name}” holds readings that are no numbers.", remedy="take them out.")
    if (np.diff(time) < 0).any():
        at = int(np.flatnonzero(np.diff(time) < 0)[0]) + 2
        raise BadInput(
            f"Time runs backwards in “{record.name}”, at reading {at}.",
            remedy="check the clock of the logger; give one record in the order it was made.",
        )
    if n < _FEWEST:
        readings = "one reading" if n == 1 else f"{n} readings"
        raise BadInput(
            f"“{record.name}” holds {readings}; at least {_FEWEST} are needed.",
            remedy="let the logger write every minute or so, from putting in to the end.",
        )
    if not ((temperature > _COLDEST) & (temperature < _WARMEST)).all():
        worst = temperature[np.argmax(np.abs(temperature - ZERO_CELSIUS))] - ZERO_CELSIUS
        raise BadInput(
            f"“{record.name}” tells of {worst:.0f} °C, which no kitchen has.",
            remedy="choose the column of the probe, and say whether it is in °C or °F.",
        )
    if time[-1] - time[0] < _SHORTEST:
        raise BadInput(
            f"“{record.name}” covers {(time[-1] - time[0]) / 60:.1f} min; at least {_SHORTEST / 60:.0f} are needed.",
            remedy="record the whole stage; check the unit of its time column.",
        )
    if time[-1] - time[0] > _LONGEST:
        raise BadInput(
            f"“{record.name}” covers {(time[-1] - time[0]) / 86400:.0f} days.",
            remedy="cut it to the one stage that is to teach; check the unit of its time column.",
        )
    if record.span < _LEAST_SPAN:
        raise BadInput(
            f"The temperature in “{record.name}” stays within {record.span:.1f} K.",
            remedy="give the record of a probe in a piece that cools or warms, or choose its column.",
        )
    if record.begun is not None and now is not None:
        ends = record.begun + datetime.timedelta(seconds=float(time[-1]))
        if ends > now + datetime.timedelta(days=1):
            raise BadInput(
                f"“{record.name}” ends on {ends:%d.%m.%Y %H:%M}, which is yet to come.",
                remedy="set the clock of the logger; check whether day or month comes first in its dates.",
            )
    return record


def within(record: Record, first: Second, last: Second) -> Record:
    """The part of a record between two moments, on the same clock."""
    here = (record.time >= first) & (record.time <= last)
    return Record(
        name=record.name,
        time=record.time[here],
        temperature=record.temperature[here],
        begun=record.begun,
        notes=record.notes,
    )


def thinned(record: Record, most: int = _MOST_POINTS) -> Record:
    """At most so many readings, each the mean of those in its stretch of time."""
    if len(record.time) <= most:
        return record
    edges = np.linspace(record.time[0], record.time[-1], most + 1)
    place = np.clip(np.searchsorted(edges, record.time, side="right") - 1, 0, most - 1)
    count = np.bincount(place, minlength=most)
    held = count > 0
    mean = [
        np.bincount(place, weights=column, minlength=most)[held] / count[held]
        for column in (record.time, record.temperature)
    ]
    return Record(name=record.name, time=mean[0], temperature=mean[1], begun=record.begun, notes=record.notes)


def smoothed(temperature: FloatArray, width: int = 5) -> FloatArray:
    """Running median, so that one odd reading decides nothing."""
    half = width // 2
    padded = np.pad(temperature, half, mode="edge")
    return np.asarray(np.median(np.lib.stride_tricks.sliding_window_view(padded, width), axis=1))


def shown(temperature: Kelvin) -> str:
    """A temperature in words."""
    return f"{temperature - ZERO_CELSIUS:.0f} °C".replace("-", "−")
