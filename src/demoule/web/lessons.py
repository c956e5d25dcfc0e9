"""A probe log dropped on the page: what was read in it, what it teaches of a room, and the kitchen that keeps it."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from typing import Any

import numpy as np

from demoule.batch import Kitchen
from demoule.cold import Room
from demoule.cold.learning import Fitted, Lesson, learn_room
from demoule.cold.life import opening
from demoule.errors import BadInput, UnknownName
from demoule.files.learned import learned_line, with_lesson
from demoule.files.logs import LARGEST, Log, decoded, log_of
from demoule.sheets.learned import lesson_svg
from demoule.sheets.svg import element, number, polyline
from demoule.sheets.tokens import ThemeName, tokens_of
from demoule.units import ZERO_CELSIUS, FloatArray, shown, shown_range
from demoule.units.showing import Language, System
from demoule.web.saying import said
from demoule.web.wording import drawing_in_french
from demoule.worked import Dessert, varied_from, work_up

__all__ = ["PROBES", "kept_lesson", "log_told", "taught"]

PROBES = ("core", "centre", "mean", "surface")
"""Where a probe can have sat."""

_WIDE, _HIGH = 220.0, 46.0
_MOST_COLUMNS = 12
_POINTS = 200


def _log(data: bytes, name: str) -> Log:
    if len(data) > LARGEST:
        raise BadInput(f"“{name}” holds more than {LARGEST / 1e6:.0f} MB.", remedy="cut it to the stage that counts.")
    return log_of(decoded(data, name), name)


def log_told(*, data: bytes, name: str, theme: ThemeName = "day", language: Language = "en") -> dict[str, Any]:
    """What was read in a log: how long, how many readings, and each column as a small curve.

    Raises
    ------
    DemouleError
        When the file is no log, with the line.
    """
    log = _log(data, name)
    columns = []
    for place, (header, values) in enumerate(log.columns[:_MOST_COLUMNS]):
        held = np.isfinite(values)
        try:
            log.record(header)
            scale: str = log.scales[place] or ("F" if _reads_as_fahrenheit(log, header) else "C")
        except BadInput:
            scale = ""  # may be either
        columns.append(
            {
                "name": header,
                "least": f"{float(np.nanmin(values)):.1f}".replace("-", "−"),
                "most": f"{float(np.nanmax(values)):.1f}".replace("-", "−"),
                "readings": int(held.sum()),
                "scale": scale,
                "picture": _small(log.time[held], values[held], header, theme),
            }
        )
    return {
        "name": name,
        "rows": len(log.time),
        "hours": float(log.time[-1] - log.time[0]) / 3600,
        "begun": log.begun.strftime("%Y-%m-%d %H:%M") if log.begun else "",
        "columns": columns,
        "notes": [said(note, language, "assumed") for note in log.notes],
    }


def _reads_as_fahrenheit(log: Log, header: str) -> bool:
    return any("°F" in note for note in log.record(header).notes)


def _small(time: FloatArray, values: FloatArray, name: str, theme: ThemeName) -> str:
    """One column as a curve to know it by."""
    tokens = tokens_of(theme)
    pick = np.unique(np.linspace(0, len(time) - 1, min(_POINTS, len(time))).astype(int))
    low, high = float(values.min()), float(values.max())
    span, length = max(high - low, 1e-9), max(float(time[-1] - time[0]), 1e-9)
    points = [
        (2 + (_WIDE - 4) * float(time[k] - time[0]) / length, 3 + (_HIGH - 6) * (high - float(values[k])) / span)
        for k in pick
    ]
    return element(
        "svg",
        element("title", name.replace("&", "and").replace("<", "under")),
        element("path", d=polyline(points), fill="none", stroke=tokens.ink, stroke_width=1.8),
        viewBox=f"0 0 {number(_WIDE)} {number(_HIGH)}",
        width=number(_WIDE),
        height=number(_HIGH),
        role="img",
    )


def taught(
    dessert: Dessert,
    kitchen: Kitchen,
    *,
    data: bytes,
    name: str,
    stage: str,
    column: str,
    degrees: str,
    place: str,
    now: datetime.datetime,
    theme: ThemeName,
    system: System,
    language: Language,
) -> dict[str, Any]:
    """What a log teaches of the room of a stage, with its limits, the picture, and the line that would be kept.

    Raises
    ------
    DemouleError
        The log cannot tell, with its reason.
    """
    worked = work_up(dessert, kitchen)
    whole = varied_from(worked)
    if stage not in {one.what for one in whole.programme.stages}:
        raise UnknownName("stage", stage, [one.what for one in whole.programme.stages])
    record = _log(data, name).record(column or None, {"C": "C", "F": "F"}.get(degrees))  # type: ignore[arg-type]
    begins = opening(
        worked.piece,
        worked.cooked,
        whole.programme,
        kitchen.rooms,
        stage,
        filled_at=whole.filled_at,
        kitchen_air=kitchen.air,
    )
    lesson = learn_room(begins, record, place=place, now=now)
    return _told(lesson, learned_line(lesson, now.date()), kitchen, theme, system, language)


def _told(
    lesson: Lesson, line: dict[str, str], kitchen: Kitchen, theme: ThemeName, system: System, language: Language
) -> dict[str, Any]:
    def degrees(kelvin: float) -> str:
        return shown(kelvin - ZERO_CELSIUS, "°C", system=system, language=language, step=0.1)

    def limits(found: Fitted, unit: str, shift: float = 0.0) -> str:
        return shown_range(found.low - shift, found.high - shift, unit, system=system, language=language)

    picture = {
        view: lesson_svg(lesson, width=width, theme=theme, system=system)
        for view, width in (("wide", 760.0), ("small", 354.0))
    }
    return {
        "room": lesson.room.name,
        "stage": lesson.stage,
        "takes": shown(lesson.surface.value, "W/m2K", lesson.surface.low, lesson.surface.high, language=language),
        "takes_range": limits(lesson.surface, "W/m2K"),
        "air": degrees(lesson.air.value),
        "air_range": limits(lesson.air, "°C", ZERO_CELSIUS),
        "put_in": lesson.put_in / 60,
        "scatter": f"{lesson.scatter:.2f}".replace(".", "," if language == "fr" else "."),
        "readings": len(lesson.record.time),
        "notes": [said(note, language, "assumed") for note in lesson.notes],
        "so_far": _so_far(lesson.room, degrees),
        "picture": {view: drawing_in_french(svg) if language == "fr" else svg for view, svg in picture.items()},
        "line": line,
        "can_keep": any(room.name == lesson.room.name for room in kitchen.rooms),
    }


def _so_far(room: Room, degrees: Any) -> dict[str, str]:
    return {
        "takes": f"{room.surface:.3g} W/m²K" if room.surface is not None else "",
        "air": degrees(room.air),
        "learned": room.learned,
    }


def kept_lesson(*, kitchen: str, room: str, line: Mapping[str, str]) -> str:
    """A kitchen's text that keeps a lesson.

    Raises
    ------
    DemouleError
        When the room is not there or the line is none.
    """
    wanted = ("from", "measured", "stage", "blows", "give or take", "air")
    return with_lesson(kitchen, room, {key: line[key] for key in wanted if line.get(key)})
