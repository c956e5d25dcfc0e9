"""Growth as laboratory models draw it over the described life of the body: to compare schedules, never for a date."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from demoule.dossier.answer import Named
from demoule.dossier.checks.registry import check, finding
from demoule.dossier.view import Part, View, joined
from demoule.dossier.words import duration, rounded
from demoule.figures import Figure, Finding, Severity
from demoule.physics import water_activity
from demoule.physics.growth import Growth, growth
from demoule.units import FloatArray, kelvin

__all__ = ["growth_figures", "growth_of_body", "growth_shown", "whole_life"]

_ORGANISM = "listeria in vanilla cream"
_IN_MILK = (_ORGANISM, "staphylococcus in milk", "bacillus in milk")
_STEP = 0.1  # K
_MILKY = 0.1  # share of milk and cream from which models made in them are shown
_UNCERTAIN = 2.0  # factor between a laboratory model and another food (judged)


def whole_life(view: View, part: Part) -> tuple[FloatArray, FloatArray]:
    """Described temperatures of a component from its first step until it is eaten [s], [K].

    Its own record, its rest drawn out to the longest told, the hardening at its slowest place, then at its warmest
    the thaw and what follows; in the store nothing grows, and it is left out.
    """
    records: list[tuple[FloatArray, FloatArray]] = []
    times, temperatures = view.record(part)
    if len(times) > 1:
        records.append((times, temperatures))
    chilled = [wait for wait in part.cooked.waits if kelvin(0) <= wait.temperature <= kelvin(15)]
    drawn_out = max(chilled, key=lambda wait: wait.at_most or wait.at_least, default=None)
    longer = view.wait_before_freezing(part) - (float(times[-1] - times[0]) if len(times) > 1 else 0.0)
    if longer > 0:
        resting = kelvin(4) if drawn_out is None else drawn_out.temperature
        records.append((np.array([0.0, longer]), np.array([resting, resting])))
    run = view.hardening(part)
    if run is not None and len(run.curve.time) > 1:
        records.append((np.asarray(run.curve.time), np.asarray(run.curve.core)))
    run = view.thaw
    if run is not None and len(run.curve.time) > 1:
        warmest = np.maximum(np.asarray(run.curve.core), np.asarray(run.curve.surface))
        records.append((np.asarray(run.curve.time), warmest))
        left = view.after_thaw[0] - float(run.curve.time[-1])
        if left > 0:
            records.append((np.array([0.0, left]), np.array([run.room.air, run.room.air])))
    return joined(records)


def _growths(view: View, organisms: tuple[str, ...]) -> Iterator[tuple[str, Growth]]:
    body = view.role("body")
    if body is None or body[1].share("dairy") < _MILKY:
        return
    times, temperatures = whole_life(view, body[1])
    if len(times) < 2:
        return
    kept = _telling(temperatures)
    aw = float(water_activity(body[1].cooked.composition.vector, kelvin(25)))
    for organism in organisms:
        yield organism, growth(organism, times[kept], temperatures[kept], ph=body[1].recipe.ph, aw=aw)


def _telling(temperatures: FloatArray) -> npt.NDArray[np.intp]:
    """Moments that tell the course to 0.1 K: one a step, and the last before each, so that what holds still is kept."""
    steps = np.floor(np.concatenate([[0.0], np.cumsum(np.abs(np.diff(temperatures)))]) / _STEP)
    first = np.flatnonzero(np.diff(steps) > 0) + 1
    return np.unique(np.concatenate([[0], first - 1, first, [len(temperatures) - 1]]))


def growth_of_body(view: View) -> Growth | None:
    """Growth over the whole described life of a milky body; None where the model does not speak of it."""
    return next((found for _, found in _growths(view, (_ORGANISM,))), None)


def growth_figures(view: View) -> Iterator[Named]:
    """What each model made in milk or cream draws over the life of the body."""
    body = view.role("body")
    if body is None:
        return
    for organism, found in _growths(view, _IN_MILK):
        untold = f"; {duration(found.not_shown)} outside its range are not counted" if found.not_shown > 60 else ""
        yield Named(
            key="growth_" + organism.replace(" ", "_"),
            name=f"{found.model.organism}, powers of ten",
            of=body[1].name,
            figure=Figure(
                value=found.log_increase,
                unit="1",
                low=found.log_increase / _UNCERTAIN,
                high=found.log_increase * _UNCERTAIN,
                basis=found.basis,
                note=f"as in {found.model.medium}, over {duration(found.counted)} within its range{untold}. "
                + found.wording,
            ),
        )


@check("growth model", looks_at="growth that a laboratory model draws over the described life", source="panagou-nychas")
def growth_shown(view: View) -> Iterator[Finding]:
    """The figure with its wording; the classes and the hours are judged by other checks."""
    found = growth_of_body(view)
    if found is None:
        return
    untold = (
        f" {duration(found.not_shown)} lie outside the range of the model and are not in it."
        if found.not_shown > 60
        else ""
    )
    yield finding(
        Severity.NOTE,
        "growth model",
        "piece.body",
        f"{found.model.organism} as in {found.model.medium} would grow by {rounded(found.log_increase, 2)} powers of "
        f"ten over an unfrozen life of {duration(view.life)}, its making, hardening and thaw as computed.",
        why=found.wording + untold,
        remedy="use it to compare schedules: each hour less at 4 °C, and each degree, counts.",
    )
