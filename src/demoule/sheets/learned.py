"""A probe log beside the curve that was fitted to it, and below how far each reading lies from it."""

from __future__ import annotations

import numpy as np

from demoule.cold.learning import Lesson
from demoule.sheets.svg import Face, element, label, number, polyline
from demoule.sheets.tokens import ThemeName, Tokens, tokens_of
from demoule.units import ZERO_CELSIUS, shown
from demoule.units.showing import System

__all__ = ["lesson_svg"]

_LEFT, _RIGHT, _TOP = 62.0, 96.0, 34.0
_CURVE, _STRIP, _GAP, _FOOT = 230.0, 84.0, 30.0, 40.0
_TICKS = (-36, -18, 0, 20, 40, 60)


def lesson_svg(lesson: Lesson, *, width: float = 680, theme: ThemeName = "day", system: System = "metric") -> str:
    """Readings as dots, the computed curve as a line, the learned air as a dotted line; residuals in a strip below."""
    tokens = tokens_of(theme)
    hours = (lesson.record.time - max(lesson.put_in, lesson.record.time[0])) / 3600
    read, curve = lesson.record.temperature - ZERO_CELSIUS, lesson.computed - ZERO_CELSIUS
    air = lesson.air.value - ZERO_CELSIUS
    first, last = float(hours[0]), float(hours[-1])
    low, high = min(float(read.min()), air), max(float(read.max()), air)
    room = 0.08 * max(high - low, 4.0)
    low, high, right, foot = low - room, high + room, width - _RIGHT, _TOP + _CURVE

    def x(hour: float) -> float:
        return _LEFT + (right - _LEFT) * (hour - first) / max(last - first, 1e-9)

    def y(degree: float) -> float:
        return _TOP + _CURVE * (high - degree) / (high - low)

    parts = [_line(_LEFT, right, y(tick), tokens.rule) for tick in _TICKS if low < tick < high]
    parts += [
        label(
            shown(float(tick), "°C", system=system), _LEFT - 8, y(tick) + 4.5, size=13, fill=tokens.ink_2, anchor="end"
        )
        for tick in _TICKS
        if low < tick < high
    ]
    parts.append(_line(_LEFT, right, y(air), tokens.ink_2, dash="1 4"))
    parts += _dots([(x(float(h)), y(float(t))) for h, t in zip(hours, read, strict=True)], tokens)
    drawn = np.linspace(first, last, min(300, max(len(hours), 2)))
    line = [(x(float(h)), y(float(t))) for h, t in zip(drawn, np.interp(drawn, hours, curve), strict=True)]
    parts.append(element("path", d=polyline(line), fill="none", stroke=tokens.ink, stroke_width=1.8))
    at_end, at_air = y(float(curve[-1])) + 4, y(air) + 4
    if abs(at_end - at_air) < 16:
        at_end, at_air = (at_air - 16, at_air) if at_end <= at_air else (at_air + 16, at_air)
    parts.append(_name("computed", right + 6, at_end, tokens.ink))
    parts.append(_name("air, learned", right + 6, at_air, tokens.ink_2))
    parts.append(_name("dots: as read", _LEFT, _TOP - 14, tokens.ink_2))
    parts += _residuals(lesson, [x(float(h)) for h in hours], foot + _GAP, right, tokens)
    base = foot + _GAP + _STRIP
    parts.append(_line(_LEFT, right, base, tokens.ink, weight=1.4))
    step = next(s for s in (0.25, 0.5, 1.0, 2.0, 3.0, 6.0, 12.0, 24.0, 48.0, 1e9) if (last - first) / s <= 7)
    for hour in np.arange(np.ceil(first / step) * step, last + 1e-9, step):
        at = x(float(hour))
        parts.append(element("line", x1=at, x2=at, y1=base, y2=base + 5, stroke=tokens.ink, stroke_width=1.0))
        words = shown(float(hour), "h") if abs(hour) > 1e-9 else "0"
        parts.append(label(words, at, base + 21, size=13, fill=tokens.ink_2, anchor="middle"))
    height = base + _FOOT
    title = (
        f"{lesson.stage} in the {lesson.room.name}: readings, the computed curve, and how far they lie apart; "
        f"{lesson.surface.value:.1f} W/m²K and {air:.1f} °C"
    )
    return element(
        "svg",
        element("title", title.replace("&", "and").replace("<", "under")),
        element("rect", x=0.0, y=0.0, width=width, height=height, fill=tokens.paper),
        *parts,
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {number(width)} {number(height)}",
        width=number(width),
        height=number(height),
        role="img",
    )


def _residuals(lesson: Lesson, at: list[float], top: float, right: float, tokens: Tokens) -> list[str]:
    """Reading less curve, to the same scale up and down."""
    off = lesson.residuals
    most = next(one for one in (0.5, 1.0, 2.0, 5.0, 10.0, 1e9) if np.quantile(np.abs(off), 0.99) <= one)
    middle = top + _STRIP / 2

    def y(kelvin: float) -> float:
        return middle - (_STRIP / 2 - 6) * float(np.clip(kelvin / most, -1.0, 1.0))

    parts = [_line(_LEFT, right, y(level), tokens.rule) for level in (-most, most)]
    parts.append(_line(_LEFT, right, middle, tokens.ink_2))
    for level, words in ((most, f"+{most:g} K"), (0.0, "0"), (-most, f"−{most:g} K")):
        parts.append(label(words, _LEFT - 8, y(level) + 4.5, size=13, fill=tokens.ink_2, anchor="end"))
    parts += _dots([(place, y(float(one))) for place, one in zip(at, off, strict=True)], tokens)
    parts.append(_name("read less", right + 6, middle - 4, tokens.ink))
    parts.append(_name("computed", right + 6, middle + 12, tokens.ink))
    return parts


def _dots(points: list[tuple[float, float]], tokens: Tokens) -> list[str]:
    """Many dots as one path, so that the file stays small."""
    path = "".join(f"M{number(a)} {number(b)}h0" for a, b in points)
    return [element("path", d=path, fill="none", stroke=tokens.ink_2, stroke_width=3.4, stroke_linecap="round")]


def _line(left: float, right: float, y: float, stroke: str, *, dash: str | None = None, weight: float = 1.0) -> str:
    return element(
        "line",
        x1=left,
        x2=right,
        y1=y,
        y2=y,
        stroke=stroke,
        stroke_width=weight,
        stroke_dasharray=dash,
        stroke_linecap="round" if dash else None,
    )


def _name(words: str, x: float, y: float, fill: str) -> str:
    return label(words, x, y, size=14, face=Face.SERIF_ITALIC, fill=fill)
