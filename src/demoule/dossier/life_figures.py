"""The life of a piece in the cold as figures: when it may be touched, how long it stands, what settles on it."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from demoule.cold.film import settled
from demoule.cold.loading import load
from demoule.cold.run import Film, Mark, StageRun
from demoule.dossier.answer import Named
from demoule.dossier.hygiene import time_between
from demoule.dossier.view import View, warmest_of
from demoule.figures import Basis, Figure, basis_of
from demoule.physics.frost import FROST_MARKS
from demoule.units import Second, kelvin

__all__ = ["LIMITS", "SKIN_LIMIT", "life_figures", "peak", "skin_spoiled", "time_above"]

LIMITS = (-12, 5, 8)
"""Temperatures [°C] above which the time of a life is summed: frozen hard, chilled, and the warmest chilled cabinet."""
SKIN_LIMIT = FROST_MARKS["velvet may hold badly"]
"""Frost or dew [kg/m2] from which a velvet skin is taken as spoiled (judged; a chef's own trial decides)."""
_HABIT = Basis(model="habit of the trade", source="practice", valid="small pieces with a coat of cocoa butter")
_LIFE = ("harden piece", "even out", "dip and spray", "stand", "keep", "thaw", "table")


def _of_piece(key: str, name: str, figure: Figure) -> Named:
    return Named(key=key, name=name, of="piece", figure=figure)


def _timed(mark: Mark, run: StageRun, unit: str, *, after: Second = 0.0, note: str = "") -> Figure:
    per = {"h": 3600.0, "min": 60.0}[unit]

    def shown(time: Second | None) -> float | None:
        return None if time is None else (time + after) / per

    weak = f"widest for {mark.weakest}" if mark.weakest else ""
    return Figure(
        value=shown(mark.time),
        unit=unit,
        low=shown(mark.low) if mark.time is not None else None,
        high=shown(mark.high) if mark.time is not None else None,
        basis=(*run.basis, _HABIT),
        note="; ".join(part for part in (note, weak) if part),
    )


def life_figures(view: View) -> Iterator[Named]:
    """Hours and minutes of the life in the cold beside those of its stages, with what settles on the skin."""
    yield from _hardening(view)
    yield from _kept(view)
    yield from _bench(view)
    yield from _skin(view)
    yield from _table(view)
    yield from _warm(view)


def _hardening(view: View) -> Iterator[Named]:
    cold = view.worked.cold
    for what, thing in (("harden heart", "heart"), ("harden piece", "piece")):
        run = cold.stage(what)
        if run is None:
            continue
        mark = run.marks.get("demouldable")
        if mark is not None:
            yield _of_piece(
                "demouldable_after" if thing == "piece" else "heart_demouldable_after",
                f"{thing} leaves its mould after",
                _timed(mark, run, "h", note="core at −12 °C"),
            )
        if run.loaded is not None:
            full = run.loaded
            yield _of_piece(
                f"{what.replace(' ', '_')}_loaded_time",
                f"{thing} hardens, all {full.trays} trays in at once, in",
                Figure(
                    value=None if full.time is None else full.time / 3600,
                    unit="h",
                    low=None if full.low is None else full.low / 3600,
                    high=None if full.high is None else full.high / 3600,
                    basis=(*run.basis, basis_of(load)),
                    note=f"its air warms to {full.warmest - 273.15:.0f} °C; {full.assumed[0]}".replace(" -", " −"),
                ),
            )
    harden, even = cold.stage("harden piece"), cold.stage("even out")
    if harden is None or not view.worked.dessert.piece.skins:
        return
    found, run, after = harden.marks.get("dippable"), harden, 0.0
    if (found is None or found.time is None) and even is not None and harden.time is not None:
        found, run, after = even.marks.get("dippable"), even, harden.time
    if found is not None:
        note = "the outer 10 mm at −22 to −18 °C"
        if run is even:
            note += f", the last of it in “{run.room.name}”"
        figure = _timed(found, run, "h", after=after, note=note)
        if run is even and found.time is not None and harden.low is not None and harden.high is not None:
            # The hardening before it may end sooner or later too.
            low = harden.low + (found.time if found.low is None else found.low)
            high = harden.high + (found.time if found.high is None else found.high)
            figure = Figure(
                value=figure.value,
                unit="h",
                low=low / 3600,
                high=high / 3600,
                basis=figure.basis,
                note=figure.note,
            )
        yield _of_piece("dippable_after", "piece may be dipped after", figure)


def _kept(view: View) -> Iterator[Named]:
    run = view.worked.cold.stage("keep")
    if run is None or run.swing is None:
        return
    swing, cold = run.swing, run.room.air
    stirred = [
        f"{count:.0f} {what} a day"
        for count, what in ((swing.openings, "openings of the door"), (swing.defrosts, "defrosts"))
        if count
    ]
    for key, where, (low, high) in (
        ("kept_swing", "at its surface", swing.surface),
        ("kept_swing_inside", "on the whole", swing.mean),
    ):
        yield _of_piece(
            key,
            f"kept pieces warm by up to, {where}",
            Figure(
                value=high - cold,
                unit="K",
                low=0.5 * (high - cold),
                high=1.5 * (high - cold),
                basis=(*run.basis, _HABIT),
                note=f"with {' and '.join(stirred)} the air of “{run.room.name}” goes up to "
                f"{swing.air[1] - 273.15:.0f} °C; it swings by {high - low:.1f} K".replace(" -", " −"),
            ),
        )


def _bench(view: View) -> Iterator[Named]:
    run = view.worked.cold.stage("dip and spray") or view.worked.cold.stage("stand")
    mark = None if run is None else run.marks.get("too soft to dip")
    if run is not None and mark is not None:
        yield _of_piece(
            "stands_before_soft",
            f"stands in “{run.room.name}” until it is too soft to dip",
            _timed(mark, run, "min", note="its surface at −12 °C"),
        )


def peak(run: StageRun, film: Film) -> tuple[float, float, float]:
    """The most that lies on the skin in a stage: likely, least and most [kg/m2]."""
    end = film.time[-1] if run.time is None else run.time
    here = film.time <= max(float(end), float(film.time[1]))
    return float(film.mass[here].max()), float(film.low[here].max()), float(film.high[here].max())


def skin_spoiled(run: StageRun, limit: float = SKIN_LIMIT) -> Mark | None:
    """When so much frost or dew lies on the skin [s]; None where nothing settles in the open."""
    from demoule.cold.film import reaches

    if run.film is None:
        return None
    likely, soonest, latest = reaches(run.film, limit)
    told = "the humidity of the room" if run.film.taken else "how moist air settles"
    return Mark(time=likely, low=soonest, high=latest, weakest=told)


def _air(run: StageRun) -> str:
    assert run.film is not None
    taken = ", taken" if run.film.taken else ""
    return f"“{run.room.name}”, {run.room.air - 273.15:.0f} °C and {100 * run.film.humidity:.0f} %{taken}"


def _skin(view: View) -> Iterator[Named]:
    skinned = bool(view.worked.dessert.piece.skins)
    for what, key, name in (
        ("thaw", "dew_on_skin", "frost and dew on the skin in the thaw, at most"),
        ("table", "dew_on_table", "dew on the skin on the table, at most"),
    ):
        run = view.worked.cold.stage(what)
        if run is None:
            continue
        if run.film is None:
            if run.stage.covered:
                figure = Figure(value=0.0, unit="g/m2", low=0.0, high=0.5, basis=(_HABIT,), note="under a lid")
                yield _of_piece(key, name, figure)
            continue
        likely, least, most = (1000 * mass for mass in peak(run, run.film))
        yield _of_piece(
            key,
            name,
            Figure(value=likely, unit="g/m2", low=least, high=most, basis=(basis_of(settled),), note=_air(run)),
        )
        mark = skin_spoiled(run)
        if what == "thaw" and skinned and mark is not None:
            note = f"{1000 * SKIN_LIMIT:.0f} g/m² in {_air(run)}; a lid keeps it off"
            yield _of_piece("skin_spoiled_after", "a velvet skin is wet after", _timed(mark, run, "min", note=note))


def _table(view: View) -> Iterator[Named]:
    run = view.worked.cold.stage("table")
    if run is None:
        return
    for mark, key, name, note in (
        ("past its best", "table_until", "leaves its window on the table after", "from the moment it is ready"),
        ("slumps", "slumps_after", "the body goes soft on the table after", "its mean at 8 °C or what is stated"),
    ):
        if mark in run.marks:
            told = f"{note}, in air of {run.room.air - 273.15:.0f} °C"
            yield _of_piece(key, name, _timed(run.marks[mark], run, "min", note=told))


def time_above(view: View, limit: float) -> tuple[Second, Second, Second]:
    """Time in the life of a built piece above a temperature [°C]: likely, least, most [s], from filling on."""
    likely = least = most = 0.0
    for run in view.worked.cold.stages:
        if run.stage.what not in _LIFE:
            continue
        times, warmest = warmest_of(run)
        if run.time is not None and run.time < times[-1]:
            inside = times < run.time
            end = np.interp(run.time, times, warmest)
            times, warmest = np.append(times[inside], run.time), np.append(warmest[inside], end)
        above = time_between(times, warmest, low=kelvin(limit), high=kelvin(150))
        likely += above
        # Hours of a stage with a band stretch with it; of one by the clock no more than the clock allows.
        length = float(times[-1])
        if run.low is not None and run.time:
            least += above * run.low / run.time
            most += above * (run.high if run.high is not None else 2 * run.time) / run.time
        else:
            least += 0.8 * above if above < length else above
            most += min(1.2 * above, length)
    return likely, least, most


def _warm(view: View) -> Iterator[Named]:
    runs = [run for run in view.worked.cold.stages if run.stage.what in _LIFE]
    if not runs:
        return
    basis = tuple(dict.fromkeys(entry for run in runs for entry in run.basis))
    for limit in LIMITS:
        likely, least, most = time_above(view, limit)
        told = f"minus_{-limit}" if limit < 0 else f"{limit}"
        yield _of_piece(
            f"time_above_{told}",
            f"in its life above {limit} °C".replace("-", "−"),
            Figure(
                value=likely / 3600,
                unit="h",
                low=least / 3600,
                high=most / 3600,
                basis=basis,
                note="its warmest place, from filling to the end of the table; the rest of its parts is not in it",
            ),
        )
