"""Pictures of a model beside its points: the points on our curve, and below them how far each is off."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from demoule.answers import ModelReport
from demoule.figures import Evidence, Status
from demoule.sheets.svg import Face, element, label, number, polyline, wrapped
from demoule.sheets.tokens import DAY
from docpages.text import short

__all__ = ["drawable", "picture"]

_WIDTH, _HEIGHT, _COLUMNS = 292, 274, 3
_LEFT, _RIGHT = 52, 282
_TOP, _BOTTOM = 46, 168
_STRIP_TOP, _STRIP_BOTTOM = 184, 232
_SMALL, _FEWEST = 10.0, 3
_MANY = 12  # ends of a logarithmic scale lie further apart than this
_READ = (Status.READ, Status.QUOTED)
_FAR = 200  # a quantity that varies by more along the points is drawn by powers of ten
_NUMBERED = ("row of the table", "quantity", "amount", "record", "food", "treatment")
_BAND = "#EAD5DC"  # damson on paper, soft

Scale = Callable[[float], float]


def drawable(one: Evidence) -> bool:
    """Whether there is something to draw: some points that are quantities, not verdicts."""
    verdicts = ", " in one.unit or one.unit == "as printed"
    return len(one.published) >= _FEWEST and not verdicts


def picture(report: ModelReport) -> str | None:
    """All comparisons of a model, one panel each, as one SVG; None when there is nothing to draw."""
    shown = [one for one in report.evidence if drawable(one)]
    if not shown:
        return None
    columns = min(_COLUMNS, len(shown))
    rows = -(-len(shown) // columns)
    panels = [
        element("g", _panel(one), transform=f"translate({_WIDTH * (i % columns)} {_HEIGHT * (i // columns)})")
        for i, one in enumerate(shown)
    ]
    width, height = _WIDTH * columns, _HEIGHT * rows
    drawn = element(
        "svg",
        element("title", f"{report.model.name}: computed against published"),
        element("rect", width=width, height=height, fill=DAY.leaf),
        *panels,
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {width} {height}",
        width=width,
        height=height,
        role="img",
    )
    return drawn.replace("</g>", "</g>\n").replace("<g ", "\n<g ") + "\n"


def _panel(one: Evidence) -> str:
    """One comparison: our curve with its allowed band and the points on it, or computed over published."""
    along = not _repeated(one)
    order = sorted(range(len(one.published)), key=lambda i: (one.at if along else one.published)[i])
    xs = [(one.at if along else one.published)[i] for i in order]
    published = [one.published[i] for i in order]
    computed = [one.computed[i] for i in order]
    errors = [one.errors[i] for i in order]
    room = [one.tolerance * abs(value) if one.relative else one.tolerance for value in published]
    straight = along and max(xs) < _FAR * max(min(xs), 1e-12)  # a log axis along percentages only hides them
    x = _scale(xs, _LEFT + 6, _RIGHT - 6, straight=straight)
    reach = [p - r for p, r in zip(published, room, strict=True)] + [
        p + r for p, r in zip(published, room, strict=True)
    ]
    y = _scale(published if _logarithmic(published) else reach, _BOTTOM - 6, _TOP + 6)
    middle = computed if along else xs
    upper = [(x(a), y(m + r)) for a, m, r in zip(xs, middle, room, strict=True)]
    log = _logarithmic(published)
    lower = [(x(a), y(max(m - r, 1e-3 * m) if log else m - r)) for a, m, r in zip(xs, middle, room, strict=True)]
    parts = [
        *_title(one),
        element("path", d=polyline([*_inside(upper), *_inside(lower)[::-1]], closed=True), fill=_BAND),
        element(
            "path",
            d=polyline(_inside([(x(a), y(m)) for a, m in zip(xs, middle, strict=True)])),
            fill="none",
            stroke=DAY.damson,
            stroke_width="1.4",
        ),
        *(_dot(x(a), y(v), one.status) for a, v in zip(xs, published if along else computed, strict=True)),
        _frame(_TOP, _BOTTOM),
        *_up_ticks(published if _logarithmic(published) else reach, y),
        *_strip(xs, errors, one, x),
        *_along_ticks(xs, x, straight),
        label(
            one.at_name if along else f"published, {_unit(one)}",
            (_LEFT + _RIGHT) / 2,
            _HEIGHT - 10,
            size=_SMALL,
            fill=DAY.ink_2,
            anchor="middle",
        ),
    ]
    return "".join(parts)


def _repeated(one: Evidence) -> bool:
    """Whether what varies is no axis: places that come twice, or only a number in a row."""
    n = len(one.at)
    rows = [[float(first + i) for i in range(n)] for first in (0, 1)]
    return len(set(one.at)) < n or list(one.at) in rows or one.at_name in _NUMBERED


def _unit(one: Evidence) -> str:
    return "no unit" if one.unit == "1" else one.unit


def _title(one: Evidence) -> list[str]:
    lines = wrapped(one.title, 11.5, Face.SERIF_SEMIBOLD, _RIGHT - 8)[:2]
    heads = [
        label(line, 8, 16 + 13 * i, size=11.5, face=Face.SERIF_SEMIBOLD, fill=DAY.ink) for i, line in enumerate(lines)
    ]
    return [*heads, label(_unit(one), 8, 42, size=_SMALL, fill=DAY.ink_2)]


def _logarithmic(values: Sequence[float]) -> bool:
    return min(values) > 0 and max(values) / min(values) > _MANY


def _scale(values: Sequence[float], start: float, end: float, *, straight: bool = False) -> Scale:
    """From values to drawing units; logarithmic where they span powers of ten."""
    if _logarithmic(values) and not straight:
        low, high = math.log(min(values)), math.log(max(values))
        return lambda v: start + (end - start) * (math.log(max(v, 1e-300)) - low) / (high - low)
    low, high = min(values), max(values)
    span = (high - low) or 1.0
    return lambda v: start + (end - start) * (v - low) / span


def _inside(points: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    return [(a, min(max(b, _TOP), _BOTTOM)) for a, b in points]


def _dot(x: float, y: float, status: Status) -> str:
    full = status in _READ
    return element(
        "circle",
        cx=number(x),
        cy=number(min(max(y, _TOP), _BOTTOM)),
        r="2.4",
        fill=DAY.ink if full else DAY.leaf,
        stroke=DAY.ink,
        stroke_width="1",
    )


def _frame(top: float, bottom: float) -> str:
    return element("path", d=f"M{_LEFT} {top}V{bottom}H{_RIGHT}", fill="none", stroke=DAY.edge, stroke_width="1")


def _ticks(values: Sequence[float], straight: bool = False) -> list[float]:
    """A few round values inside a range."""
    low, high = min(values), max(values)
    if _logarithmic(values) and not straight:
        powers = range(math.floor(math.log10(low)), math.ceil(math.log10(high)) + 1)
        inside = [m * 10.0**p for p in powers for m in (1, 2, 5) if low * 0.999 <= m * 10.0**p <= high * 1.001]
        tens = [v for v in inside if abs(math.log10(v) - round(math.log10(v))) < 1e-9]
        return inside if len(inside) <= 5 else tens[:: -(-len(tens) // 5)]
    if high == low:
        return [low]
    raw = (high - low) / 4
    size = 10.0 ** math.floor(math.log10(raw))
    step = next(m * size for m in (1, 2, 5, 10) if m * size >= raw * 0.999)
    first = math.ceil(low / step - 1e-9)
    return [i * step for i in range(first, math.floor(high / step + 1e-9) + 1)]


def _shown(value: float) -> str:
    """A round value as short as it can be written."""
    if value != 0 and not 1e-4 <= abs(value) < 1e5:
        return short(value, 1)
    return number(value, 6).replace("-", "−")


def _up_ticks(values: Sequence[float], y: Scale) -> list[str]:
    return [label(_shown(v), _LEFT - 5, y(v) + 3.5, size=_SMALL, fill=DAY.ink_2, anchor="end") for v in _ticks(values)]


def _along_ticks(xs: Sequence[float], x: Scale, straight: bool) -> list[str]:
    return [
        label(_shown(v), x(v), _STRIP_BOTTOM + 13, size=_SMALL, fill=DAY.ink_2, anchor="middle")
        for v in _ticks(xs, straight)
    ]


def _strip(xs: Sequence[float], errors: Sequence[float], one: Evidence, x: Scale) -> list[str]:
    """How far each point is off, inside the band that the tests allow."""
    middle, half = (_STRIP_TOP + _STRIP_BOTTOM) / 2, (_STRIP_BOTTOM - _STRIP_TOP) / 2 - 4
    allowed = one.tolerance or 1.0
    bound = f"{short(100 * one.tolerance)} %" if one.relative else short(one.tolerance)
    return [
        element("rect", x=_LEFT, y=number(middle - half), width=_RIGHT - _LEFT, height=number(2 * half), fill=_BAND),
        element("path", d=f"M{_LEFT} {number(middle)}H{_RIGHT}", stroke=DAY.damson, stroke_width="1", fill="none"),
        *(
            _strip_dot(x(a), middle - half * min(max(e / allowed, -1.1), 1.1), one.status)
            for a, e in zip(xs, errors, strict=True)
        ),
        label("+" + bound, _LEFT - 5, middle - half + 6, size=9, fill=DAY.ink_2, anchor="end"),
        label("−" + bound, _LEFT - 5, middle + half + 1, size=9, fill=DAY.ink_2, anchor="end"),
    ]


def _strip_dot(x: float, y: float, status: Status) -> str:
    return element(
        "circle",
        cx=number(x),
        cy=number(y),
        r="2",
        fill=DAY.ink if status in _READ else DAY.leaf,
        stroke=DAY.ink,
        stroke_width="0.9",
    )
