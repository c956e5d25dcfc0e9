"""Growth as a laboratory model draws it over the described life of the body: to compare schedules, never for a date."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from demoule.dossier.checks.registry import check, finding
from demoule.dossier.view import Part, View, joined
from demoule.dossier.words import duration, rounded
from demoule.figures import Finding, Severity
from demoule.physics.growth import Growth, growth
from demoule.units import FloatArray, kelvin

__all__ = ["growth_of_body", "growth_shown", "unfrozen_life"]

_ORGANISM = "listeria in vanilla cream"


def unfrozen_life(view: View, part: Part) -> tuple[FloatArray, FloatArray]:
    """Warmest described life of a component out of the freezer: longest rest, thaw, and until it is eaten [s], [K]."""
    rest = [wait.temperature for wait in part.cooked.waits if kelvin(0) <= wait.temperature <= kelvin(15)]
    resting = max(rest, default=kelvin(4))
    records: list[tuple[FloatArray, FloatArray]] = []
    before = view.wait_before_freezing(part)
    if before > 0:
        records.append((np.array([0.0, before]), np.array([resting, resting])))
    run = view.thaw
    if run is not None and len(run.curve.time) > 1:
        warmest = np.maximum(np.asarray(run.curve.core), np.asarray(run.curve.surface))
        records.append((np.asarray(run.curve.time), warmest))
        left = view.after_thaw[0] - float(run.curve.time[-1])
        if left > 0:
            records.append((np.array([0.0, left]), np.array([run.room.air, run.room.air])))
    return joined(records)


def growth_of_body(view: View) -> Growth | None:
    """Growth over the unfrozen life of a milky body; None where the model does not speak of it."""
    body = view.role("body")
    if body is None or body[1].share("dairy") < 0.1:
        return None
    times, temperatures = unfrozen_life(view, body[1])
    if len(times) < 2 or float(temperatures.max()) > kelvin(15):
        return None
    return growth(_ORGANISM, times, temperatures)


@check("growth model", looks_at="growth that a laboratory model draws over the described life", source="panagou-nychas")
def growth_shown(view: View) -> Iterator[Finding]:
    """The figure with its wording; the classes and the hours are judged by other checks."""
    found = growth_of_body(view)
    if found is None:
        return
    yield finding(
        Severity.NOTE,
        "growth model",
        "piece.body",
        f"{found.model.organism} as in {found.model.medium} would grow by {rounded(found.log_increase, 2)} powers of "
        f"ten over an unfrozen life of {duration(view.life)}.",
        why=found.wording,
        remedy="use it to compare schedules: each hour less at 4 °C, and each degree, counts.",
    )
