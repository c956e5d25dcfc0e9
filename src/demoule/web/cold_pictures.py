"""A dessert's way through the cold as one picture: rooms, the piece at moments, curves, and the hours it is good."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

from demoule.cold import StageRun, Still
from demoule.piece import Piece
from demoule.sheets.curves import still_svg, temperature_scale_svg
from demoule.sheets.frost import still_at
from demoule.sheets.svg import Face, element, fragment, label, number, polyline
from demoule.sheets.tokens import TEMPERATURES, ThemeName, Tokens, tokens_of
from demoule.units import ZERO_CELSIUS, shown, shown_range
from demoule.units.showing import Language, System
from demoule.web.saying import said
from demoule.web.telling import finding_told
from demoule.web.wording import drawing_in_french, in_french, words_of
from demoule.worked import Worked

__all__ = ["cold_told", "moved_told"]

_LEFT, _RIGHT = 50.0, 6.0
_BAND, _FILM, _TOP, _CURVES = 52.0, 92.0, 176.0, 290.0
_KEEP = 46.0  # px of a stay that is only waited through
_FRAMES = 18
_THAWING = 9  # pictures of the hours in which the piece becomes ready
_TICKS = (-36, -18, -10, 0, 10, 20)
_HATCH = {"blast": "1 3", "store": "1 8", "refrigerator": "6 5", "bench": ""}


def cold_told(worked: Worked, *, theme: ThemeName, system: System, language: Language) -> dict[str, Any]:
    """Stages in words and figures, the whole picture, and a still for each moment that is kept."""
    stages = worked.cold.stages
    told = moved_told(stages, worked.piece, theme=theme, system=system, language=language, film=True)
    stills = [
        [
            still_svg(still, worked.piece, size=300, theme=theme, ident=f"s{place}-{k}")
            for k, still in enumerate(_moments(run))
        ]
        for place, run in enumerate(_drawn(stages))
    ]
    words = drawing_in_french if language == "fr" else str
    return {
        **told,
        "name": worked.dessert.name,
        "stills": [[words(one) for one in stage] for stage in stills],
        "scale": words(temperature_scale_svg(width=354, theme=theme, system=system)),
        "findings": [finding_told(one, language) for one in worked.cold.findings],
        "learned": list(dict.fromkeys((run.room.name, run.room.learned) for run in stages if run.room.learned)),
    }


def moved_told(
    stages: Sequence[StageRun],
    piece: Piece,
    *,
    theme: ThemeName,
    system: System,
    language: Language,
    film: bool = False,
    view: str = "",
) -> dict[str, Any]:
    """What moves with the hours: each stage in words and figures, and the curves for a wide and a small screen.

    Parameters
    ----------
    film
        Whether small pictures of the piece stand above the curves; they cost more than all the rest.
    view
        "wide" or "small" for one of the two drawings; empty for both.
    """
    runs, tokens = _drawn(stages), tokens_of(theme)
    words = in_french if language == "fr" else str
    told = [
        {
            "what": run.stage.what,
            "room": words(run.room.name),
            "air": shown(run.room.air - ZERO_CELSIUS, "°C", system=system, language=language),
            "time": _time(run, language),
            "range": shown_range(_hours(run.low), _hours(run.high), "h", language=language)
            if run.low is not None and run.high is not None and run.low != run.high
            else "",
            "ready": _ready(run, language),
            "learned": said(run.room.learned, language),
            "table": _table(run, system, language),
        }
        for run in stages
    ]
    wide, frames = _picture(runs, piece, tokens, theme, system, language, 800.0, film) if view != "small" else ("", [])
    narrow, slim = _picture(runs, piece, tokens, theme, system, language, 354.0, film) if view != "wide" else ("", [])
    return {
        "stages": told,
        "wide": wide,
        "narrow": narrow,
        "frames": frames or slim,
        "start": _start(runs, frames or slim),
        "slim": [frame["x"] for frame in slim],
    }


def _moments(run: StageRun) -> Sequence[Still]:
    """The fields that are drawn: those that were kept, and more of the hours in which a piece becomes ready."""
    if run.window is None or run.window.opens is None or len(run.stills) < 2:
        return run.stills
    return [still_at(run, float(at)) for at in np.linspace(0, run.stills[-1].time, _THAWING)]


def _drawn(stages: Sequence[StageRun]) -> list[StageRun]:
    """The stages of the whole piece; hearts alone are told, not drawn."""
    return [run for run in stages if run.stage.what != "harden heart"] or list(stages)


def _start(runs: list[StageRun], frames: list[dict[str, Any]]) -> int:
    """The moment that is shown first: somewhat before the piece is ready, when there still is a front of ice."""
    for place, run in enumerate(runs):
        if run.window is not None and run.window.opens is not None:
            here = [k for k, frame in enumerate(frames) if frame["stage"] == place]
            return here[len(here) // 2]
    return 0


def _hours(seconds: float | None) -> float | None:
    return None if seconds is None else seconds / 3600


def _time(run: StageRun, language: Language) -> str:
    return shown(_hours(run.time), "h", _hours(run.low), _hours(run.high), language=language)


def _ready(run: StageRun, language: Language) -> dict[str, str] | None:
    window = run.window
    if window is None or window.opens is None:
        return None
    told = {
        "opens": shown(
            _hours(window.opens), "h", _hours(window.opens_low), _hours(window.opens_high), language=language
        ),
        "opens_range": shown_range(_hours(window.opens_low), _hours(window.opens_high), "h", language=language),
        "closes": "",
        "closes_range": "",
    }
    if window.closes is not None:
        told["closes"] = shown(
            _hours(window.closes), "h", _hours(window.closes_low), _hours(window.closes_high), language=language
        )
        told["closes_range"] = shown_range(
            _hours(window.closes_low), _hours(window.closes_high), "h", language=language
        )
    return told


def _length(run: StageRun) -> float:
    """Hours of a stage that are worth drawing."""
    window, last = run.window, float(run.curve.time[-1]) / 3600
    if window is not None and window.opens is not None:
        ends = [window.closes_high, window.closes, window.opens_high, window.opens]
        end = next(e for e in ends if e is not None) / 3600
        return min(1.12 * end, last)
    if run.time is not None:
        return max(run.time / 3600, 0.05)
    return min(last, 24.0)


def _is_wait(run: StageRun) -> bool:
    return run.stage.what == "keep" or (run.stage.until is None and run.window is None and _length(run) > 20)


def _table(run: StageRun, system: System, language: Language) -> list[list[str]]:
    """Some rows of the curves for readers by ear."""
    length = _length(run)
    rows = []
    for hour in np.linspace(0, length, 6):
        at = hour * 3600
        values = [np.interp(at, run.curve.time, row) for row in (run.curve.core, run.curve.surface)]
        rows.append(
            [
                shown(float(hour), "h", language=language) if hour else "0",
                *(shown(float(v) - ZERO_CELSIUS, "°C", system=system, language=language, step=0.1) for v in values),
            ]
        )
    return rows


def _picture(
    runs: list[StageRun],
    piece: Piece,
    tokens: Tokens,
    theme: ThemeName,
    system: System,
    language: Language,
    width: float,
    film: bool,
) -> tuple[str, list[dict[str, Any]]]:
    small = width < 500
    words = in_french if language == "fr" else str
    foot = _TOP + _CURVES
    waits = sum(_is_wait(run) for run in runs)
    gap = 4.0
    room = width - _LEFT - _RIGHT - waits * _KEEP - gap * (len(runs) - 1)
    # Short stays keep a width in which their curve can be read.
    lengths = [0.0 if _is_wait(run) else _length(run) ** 0.35 for run in runs]
    total = sum(lengths) or 1.0
    low, high = _span(runs)

    def y(degree: float) -> float:
        return _TOP + _CURVES * (high - degree) / (high - low)

    parts: list[str] = []
    for tick in _TICKS:
        if low < tick < high:
            parts.append(
                element("line", x1=_LEFT - 4, x2=_LEFT, y1=y(tick), y2=y(tick), stroke=tokens.edge, stroke_width=1.0)
            )
            told = shown(float(tick), "°C", system=system, language=language)
            parts.append(label(told, _LEFT - 8, y(tick) + 5, size=14, fill=tokens.ink_2, anchor="end"))
    parts.append(element("line", x1=_LEFT, x2=_LEFT, y1=_TOP, y2=foot, stroke=tokens.edge, stroke_width=1.0))
    parts += _wanted(runs, y, width, tokens, system, language)
    frames: list[dict[str, Any]] = []
    x0 = _LEFT
    size = 56.0 if small else 78.0
    for place, (run, share) in enumerate(zip(runs, lengths, strict=True)):
        wait = _is_wait(run)
        wide = _KEEP if wait else room * share / total
        parts.append(_room(run, x0, wide, system, language, words))
        if not wait:
            parts += _stage(run, x0, wide, y, foot, tokens, language, words, small, place)
            if film and wide > size:
                at = f"translate({number(x0 + wide / 2 - size / 2)} {number(_FILM)})"
                still = run.stills[len(run.stills) // 2]
                inside = still_svg(still, piece, size=size, theme=theme, ident=f"f{int(width)}-{place}", bare=True)
                inside = drawing_in_french(inside) if language == "fr" else inside
                parts.append(element("g", inside, transform=at))
            frames += _frames(run, x0, wide, place, system, language, words)
        x0 += wide + gap
    title = words("The way through the cold: rooms, core and skin over the hours")
    svg = element(
        "svg",
        element("title", title),
        *parts,
        element(
            "path", d=f"M0 {number(_BAND)}V{number(foot + 8)}", stroke=tokens.damson, stroke_width="2.5",
            transform=f"translate({number(frames[_start(runs, frames)]['x'] if frames else _LEFT)} 0)", class_="cursor",
        ),
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {number(width)} {number(foot + 34)}",
        width=number(width),
        height=number(foot + 34),
        role="img",
    )  # fmt: skip
    return svg, frames


def _span(runs: list[StageRun]) -> tuple[float, float]:
    values = [float(np.min(run.curve.surface)) for run in runs] + [run.room.air for run in runs]
    warm = [float(np.max(run.curve.core[: len(run.curve.core)])) for run in runs]
    return min(values) - ZERO_CELSIUS - 3, min(max([*warm, ZERO_CELSIUS + 8]) - ZERO_CELSIUS, 40.0) + 4


def _wanted(
    runs: list[StageRun],
    y: Callable[[float], float],
    width: float,
    tokens: Tokens,
    system: System,
    language: Language,
) -> list[str]:
    """Lanes of what is wanted, named where they begin: ready to eat, and hard."""
    parts = []
    words = words_of(language)

    def told(degree: float) -> str:
        return shown(degree, "°C", system=system, language=language)

    def named(text: str, height: float) -> str:
        return label(text, width - _RIGHT - 2, height, size=14, fill=tokens.ink_2, anchor="end")

    roomy = width > 500

    ready = next((run.stage.ready for run in runs if run.stage.ready is not None), None)
    if ready is not None:
        cold, warm = (t - ZERO_CELSIUS for t in ready)
        parts.append(
            element(
                "rect", x=_LEFT, y=y(warm), width=width - _LEFT - _RIGHT, height=max(y(cold) - y(warm), 3.0),
                fill="#EFC489", fill_opacity=0.35,
            )
        )  # fmt: skip
        if roomy:
            text = words("cold.lane_ready", low=told(cold), high=told(warm))
            parts.append(label(text, _LEFT + 0.3 * width, y(warm) - 6, size=14, fill=tokens.ink_2))
    until = next((run.stage.until for run in runs if run.stage.until is not None), None)
    if until is not None:
        at = until.temperature - ZERO_CELSIUS
        parts.append(
            element(
                "line", x1=_LEFT, x2=width - _RIGHT, y1=y(at), y2=y(at), stroke=tokens.ink_2, stroke_width=1.2,
                stroke_dasharray="1 4", stroke_linecap="round",
            )
        )  # fmt: skip
        parts.append(named(words("cold.lane_hard", at=told(at)), y(at) - 6))
    return parts


def _room(
    run: StageRun,
    x: float,
    wide: float,
    system: System,
    language: Language,
    words: Callable[[str], str],
) -> str:
    """The room as a block in the colour of its air, with its name and its degrees."""
    air = run.room.air - ZERO_CELSIUS
    colour = min(TEMPERATURES, key=lambda pair: abs(pair[0] - air))[1]
    dark = air < -14
    ink = "#FFFFFF" if air < -28 else "#FFFFFF" if dark else "#2A211D"
    name = words(run.room.name)
    degrees = shown(air, "°C", system=system, language=language)
    parts = [element("rect", x=x, y=4.0, width=wide, height=_BAND - 4, fill=colour)]
    dash = next((d for key, d in _HATCH.items() if key in run.room.name.casefold()), "2 6")
    for k in range(2):
        if dash:
            parts.append(
                element(
                    "path", d=f"M{number(x)} {number(_BAND - 3 - 4 * k)}h{number(wide)}", stroke=ink, stroke_width=0.8,
                    stroke_opacity=0.55, stroke_dasharray=None if dash.startswith("1") else dash,
                )
            )  # fmt: skip
    if wide > 6.4 * len(name) + 12:
        parts.append(label(name, x + 7, 22, size=14 if wide < 130 else 17, face=Face.SERIF_ITALIC, fill=ink))
        parts.append(label(degrees, x + 7, 40, size=14, fill=ink))
    elif wide > 44:
        parts.append(label(degrees, x + 5, 22, size=13, fill=ink))
    return fragment(element("g", element("title", f"{name}, {degrees}"), *parts))


def _stage(
    run: StageRun,
    x: float,
    wide: float,
    y: Callable[[float], float],
    foot: float,
    tokens: Tokens,
    language: Language,
    words: Callable[[str], str],
    small: bool,
    place: int,
) -> list[str]:
    length = _length(run)
    hours = np.linspace(0, length, 120)
    core, skin = (
        np.interp(hours * 3600, run.curve.time, v) - ZERO_CELSIUS for v in (run.curve.core, run.curve.surface)
    )

    def at(hour: float) -> float:
        return x + wide * min(hour, length) / length

    parts = []
    window = run.window
    if window is not None and window.opens is not None:
        opens, closes = window.opens / 3600, (window.closes or run.curve.time[-1]) / 3600
        soft = (window.opens_low or window.opens) / 3600, (window.closes_high or closes * 3600) / 3600
        ident = f"good-{int(wide)}-{place}"
        stops = [(0.0, 0.0), (0.5, 0.28), (1.0, 0.0)]
        parts.append(
            element(
                "linearGradient",
                *(
                    element("stop", offset=number(o, 2), stop_color=tokens.damson, stop_opacity=number(a, 2))
                    for o, a in stops
                ),
                id=ident,
            )
        )
        parts.append(
            element(
                "rect", x=at(soft[0]), y=_TOP, width=max(at(soft[1]) - at(soft[0]), 2.0), height=_CURVES,
                fill=f"url(#{ident})",
            )
        )  # fmt: skip
        parts.append(
            element(
                "path", d=f"M{number(at(opens))} {number(foot - 8)}v8H{number(at(closes))}v-8", fill="none",
                stroke=tokens.damson, stroke_width=1.5,
            )
        )  # fmt: skip
    if run.low is not None and run.high is not None and run.time:
        spread = run.high / run.time - 1
        late = np.interp(hours / (1 + spread) * 3600, run.curve.time, run.curve.core) - ZERO_CELSIUS
        early = np.interp(hours / (run.low / run.time) * 3600, run.curve.time, run.curve.core) - ZERO_CELSIUS
        edge = [(at(h), y(t)) for h, t in zip(hours, early, strict=True)]
        back = [(at(h), y(t)) for h, t in zip(hours[::-1], late[::-1], strict=True)]
        parts.append(
            element("path", d=polyline(edge + back, closed=True), fill=tokens.ink, fill_opacity=0.16, stroke="none")
        )
    for row, stroke, weight, dash in ((skin, tokens.skin, 2.0, "7 5"), (core, tokens.ink, 3.0, None)):
        points = [(at(h), y(t)) for h, t in zip(hours, row, strict=True)]
        parts.append(
            element("path", d=polyline(points), fill="none", stroke=stroke, stroke_width=weight, stroke_dasharray=dash)
        )
    if wide > 200 or (small and wide > 120):
        third = len(hours) // 3
        parts.append(
            label(
                words("core"),
                at(hours[third]) + 6,
                y(core[third]) + 20,
                size=17,
                face=Face.SERIF_ITALIC,
                fill=tokens.ink,
            )
        )
        parts.append(
            label(
                words("skin"),
                at(hours[third]) - 40,
                y(skin[third]) - 12,
                size=17,
                face=Face.SERIF_ITALIC,
                fill=tokens.skin,
            )
        )
    ends = [(0.0, "start"), (length, "end")] if wide > 90 else [(0.0, "start")]
    if wide > 280:
        ends.insert(1, (length / 2, "middle"))
    for hour, anchor in ends:
        told = shown(hour, "h", language=language) if hour else "0"
        parts.append(label(told, at(hour), foot + 22, size=14, fill=tokens.ink_2, anchor=anchor))
    parts.append(element("line", x1=x, x2=x + wide, y1=foot, y2=foot, stroke=tokens.rule, stroke_width=1.0))
    return parts


def _frames(
    run: StageRun,
    x: float,
    wide: float,
    place: int,
    system: System,
    language: Language,
    words: Callable[[str], str],
) -> list[dict[str, Any]]:
    """Moments that the cursor can stand on: where it stands, what it says, and the still nearest to it."""
    length = _length(run)
    count = _FRAMES if wide > 150 else 8
    moments = [one.time for one in _moments(run)]
    found = []
    for hour in np.linspace(0, length, count):
        at = float(hour) * 3600
        still = int(np.argmin([abs(moment - at) for moment in moments]))
        core, skin = (
            shown(
                float(np.interp(at, run.curve.time, v)) - ZERO_CELSIUS, "°C", system=system, language=language, step=0.1
            )
            for v in (run.curve.core, run.curve.surface)
        )
        found.append(
            {
                "x": round(x + wide * float(hour) / length, 1),
                "stage": place,
                "still": still,
                "time": shown(float(hour), "h", language=language) if hour else words("at the start"),
                "room": words(run.room.name),
                "core": core,
                "skin": skin,
            }
        )
    return found
