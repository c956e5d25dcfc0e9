"""The pictures of the Log: a difference as a bar from a centre line, and what was measured on the computed band."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Sequence
from typing import Any
from xml.sax.saxutils import escape

import numpy as np

from demoule.cold import StageRun
from demoule.sheets.svg import element, number, polyline
from demoule.units import ZERO_CELSIUS, shown
from demoule.units.showing import Language, System

__all__ = ["bar", "probe"]


def bar(value: float, most: float, says: str) -> str:
    """A difference from what was planned, to the left of a centre line when it is less; `most` is half the width."""
    share = max(min(value / most, 1.0), -1.0) if most > 0 else 0.0
    width = 50 * abs(share)
    x = 50.0 if share >= 0 else 50.0 - width
    return element(
        "svg",
        element("line", x1="0", x2="100%", y1="13", y2="13", class_="ground-line"),
        element("rect", x=f"{number(x, 2)}%", y="7", width=f"{number(max(width, 0.3), 2)}%", height="12"),
        element("line", x1="50%", x2="50%", y1="1", y2="25", class_="centre"),
        class_="off-bar",
        width="100%",
        height="26",
        role="img",
        aria_label=says,
    )


_WIDTH, _HEIGHT = 800.0, 320.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 58.0, 16.0, 22.0, 44.0


def probe(
    run: StageRun,
    points: Sequence[tuple[float, float]],
    begun: datetime.datetime,
    name: str,
    words: Callable[..., str],
    system: System,
    language: Language,
) -> dict[str, Any]:
    """The core in the freezer: the computed curve with its band, a line where it counts as hard, and the readings.

    Parameters
    ----------
    points
        Seconds after filling, and kelvin.
    begun
        When the pieces went in, on the kitchen's clock.
    """
    assert run.time is not None  # asked for only then
    end = max([run.high or run.time, *(seconds for seconds, _ in points)]) * 1.08
    time = np.asarray(run.curve.time, dtype=float)
    core = np.asarray(run.curve.core, dtype=float) - ZERO_CELSIUS
    quick, slow = (run.low or run.time) / run.time, (run.high or run.time) / run.time
    values = [value - ZERO_CELSIUS for _, value in points]
    low = min(float(core.min()), *values) - 3
    high = max(float(core.max()), *values) + 3

    def x(seconds: float) -> float:
        return _LEFT + (_WIDTH - _LEFT - _RIGHT) * max(seconds, 0.0) / end

    def y(degrees: float) -> float:
        return _TOP + (_HEIGHT - _TOP - _BOTTOM) * (high - degrees) / (high - low)

    shown_part = time <= end
    early = [(x(t * quick), y(c)) for t, c in zip(time, core, strict=True) if t * quick <= end]
    late = [(x(min(t * slow, end)), y(c)) for t, c in zip(time, core, strict=True) if t * slow <= end]
    parts = [
        element("path", d=polyline([*early, *reversed(late)], closed=True), class_="band-area"),
        element(
            "path",
            d=polyline(list(zip(map(x, time[shown_part]), map(y, core[shown_part]), strict=True))),
            class_="core-line",
        ),
    ]
    hard = run.stage.until.temperature - ZERO_CELSIUS if run.stage.until is not None else run.room.air - ZERO_CELSIUS
    ticks = []
    for degrees in (20.0, 0.0, hard):
        if low <= degrees <= high:
            told = shown(degrees, "°C", system=system, language=language, step=1)
            line = "wanted-line" if degrees == hard else "axis-line"
            ticks.append(
                element(
                    "line",
                    x1=number(_LEFT),
                    x2=number(_WIDTH - _RIGHT),
                    y1=number(y(degrees)),
                    y2=number(y(degrees)),
                    class_=line,
                )
            )
            ticks.append(
                element("text", escape(told), x=number(_LEFT - 8), y=number(y(degrees) + 5), text_anchor="end")
            )
    hours = end / 3600
    step = next(one for one in (0.5, 1, 2, 4, 6, 12, 24, 48) if hours / one <= 7)
    moment = 0.0
    while moment <= hours:
        clock = begun + datetime.timedelta(hours=moment)
        ticks.append(
            element("text", f"{clock:%H:%M}", x=number(x(moment * 3600)), y=number(_HEIGHT - 14), text_anchor="middle")
        )
        moment += step
    dots = []
    table = []
    for seconds, value in points:
        told = shown(value - ZERO_CELSIUS, "°C", system=system, language=language, step=0.1)
        at = f"{begun + datetime.timedelta(seconds=seconds):%H:%M}"
        dots.append(
            element(
                "circle",
                element("title", escape(f"{at}: {told}")),
                cx=number(x(seconds)),
                cy=number(y(value - ZERO_CELSIUS)),
                r="6",
                class_="measured",
            )
        )
        expected = float(np.interp(seconds, time, core))
        table.append(
            {"at": at, "really": told, "planned": shown(expected, "°C", system=system, language=language, step=0.1)}
        )
    names = [
        element(
            "text",
            escape(words("log.band")),
            x=number(x(run.time * 0.35) + 10),
            y=number(y(float(np.interp(run.time * 0.35, time, core))) - 10),
            class_="name-of",
        ),
    ]
    return {
        "svg": element(
            "svg",
            element("title", escape(name)),
            *ticks,
            *parts,
            *names,
            *dots,
            class_="probe",
            viewBox=f"0 0 {number(_WIDTH)} {number(_HEIGHT)}",
            role="img",
        ),
        "table": table,
    }
