"""The curve of a small question: one of its values runs, the answer follows, and what was asked stands on it."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from demoule.answers import QUESTIONS as SMALL
from demoule.errors import DemouleError
from demoule.figures import Figure
from demoule.larder import standard_larder
from demoule.sheets.svg import Face, element, fragment, label, number, polyline
from demoule.sheets.tokens import ThemeName, Tokens, tokens_of
from demoule.units import Kind, parse, shown, shown_range
from demoule.units.showing import Language, System
from demoule.web.wording import words_of

__all__ = ["CURVES", "curve_told"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """What of a question is drawn.

    Parameters
    ----------
    vary
        The parameter that runs, of `kind`, written in `unit`.
    ends
        First and last value in `unit`, from the value that was asked and all that was given.
    figures
        Names of the answers that are drawn; the first carries the point.
    upright
        Whether the value that runs stands upright and the answer lies along: temperatures over hours.
    steep
        Powers of ten apart instead of even steps.
    """

    vary: str
    kind: Kind
    unit: str
    ends: Callable[[float, Mapping[str, str]], tuple[float, float]]
    figures: tuple[str, ...]
    upright: bool = False
    steep: bool = False
    points: int = 17


def _fixed(low: float, high: float) -> Callable[[float, Mapping[str, str]], tuple[float, float]]:
    return lambda at, _: (min(low, at), max(high, at))


def _around(low: float, high: float) -> Callable[[float, Mapping[str, str]], tuple[float, float]]:
    return lambda at, _: (low * at, high * at)


def _celsius(words: str) -> float:
    """The degrees in words such as "core −18 °C"."""
    found = re.search(r"[-−+]?\d.*", words)
    text = found[0] if found else words
    text = f"{text} °C" if re.fullmatch(r"[-−+]?[\d.,]+", text.strip()) else text
    return parse(text, Kind.TEMPERATURE).value - 273.15


def _on_the_way(at: float, given: Mapping[str, str]) -> tuple[float, float]:
    """From a little after the start to what was asked, and somewhat further."""
    start = _celsius(given["from"])
    return start + 0.06 * (at - start), at + 0.04 * (at - start)


def _cooked(at: float, given: Mapping[str, str]) -> tuple[float, float]:
    plain = {key: given[key] for key in ("mix", "altitude") if given.get(key)}
    boils = SMALL["boiling"].ask(plain, standard_larder()).figures["boiling_point"].value
    return (boils or 100.0) + 0.3, max(at, 118.0)


CURVES: Mapping[str, Curve] = {
    "density": Curve(vary="at", kind=Kind.TEMPERATURE, unit="°C", ends=_fixed(0, 80), figures=("density",)),
    "viscosity": Curve(
        vary="at", kind=Kind.TEMPERATURE, unit="°C", ends=_fixed(0, 80), figures=("viscosity",), steep=True
    ),
    "freezing": Curve(
        vary="at", kind=Kind.TEMPERATURE, unit="°C", ends=_fixed(-30, -0.5), figures=("ice_share",), points=41
    ),
    "boiling": Curve(vary="altitude", kind=Kind.LENGTH, unit="m", ends=_fixed(0, 2500), figures=("boiling_point",)),
    "cook": Curve(vary="to", kind=Kind.TEMPERATURE, unit="°C", ends=_cooked, figures=("solids",), points=29),
    "solubility": Curve(vary="at", kind=Kind.TEMPERATURE, unit="°C", ends=_fixed(0, 90), figures=("saturation",)),
    "gelatine": Curve(vary="to-bloom", kind=Kind.NUMBER, unit="", ends=_fixed(120, 280), figures=("mass",)),
    "candy": Curve(
        vary="for", kind=Kind.TIME, unit="h", ends=_around(0.02, 2), figures=("fruit_solids", "syrup_solids"), points=13
    ),
    "shell": Curve(vary="for", kind=Kind.TIME, unit="s", ends=_around(0.25, 3), figures=("thickness",), points=11),
    "growth": Curve(
        vary="at", kind=Kind.TEMPERATURE, unit="°C", ends=_fixed(0, 25), figures=("log_increase",), points=26
    ),
    "conduction": Curve(
        vary="for", kind=Kind.TIME, unit="min", ends=_around(0.02, 2), figures=("centre", "surface"), points=25
    ),
    "freeze": Curve(
        vary="until", kind=Kind.TEMPERATURE, unit="°C", ends=_on_the_way, figures=("time",), upright=True, points=13
    ),
    "thaw": Curve(
        vary="until", kind=Kind.TEMPERATURE, unit="°C", ends=_on_the_way, figures=("time",), upright=True, points=13
    ),
    "cool": Curve(
        vary="to", kind=Kind.TEMPERATURE, unit="°C", ends=_on_the_way, figures=("time",), upright=True, points=13
    ),
}
"""The questions that have a curve."""

_Point = tuple[float, Figure]
_LEFT, _RIGHT, _TOP, _FOOT = 76.0, 26.0, 34.0, 44.0


def curve_told(
    name: str,
    given: Mapping[str, str],
    *,
    theme: ThemeName = "day",
    system: System = "metric",
    language: Language = "en",
) -> dict[str, Any] | None:
    """The curve of a question as two drawings and a table; None when it has none for what was asked."""
    spec = CURVES.get(name)
    if spec is None:
        return None
    given = {key: value for key, value in given.items() if value.strip()}
    try:
        asked = _asked(spec, given)
        first, last = spec.ends(asked, given)
    except DemouleError:
        return None
    runs = sorted({*(first + (last - first) * k / (spec.points - 1) for k in range(spec.points)), asked})
    lines: dict[str, list[_Point]] = {key: [] for key in spec.figures}
    for value in runs:
        told = f"{value:.6g} {spec.unit}".strip()
        told = f"core {told}" if name in ("freeze", "thaw") else told
        try:
            answer = SMALL[name].ask({**given, spec.vary: told}, standard_larder())
        except DemouleError:
            continue  # outside what can be answered: the curve ends here
        for key in spec.figures:
            figure = answer.figures.get(key)
            if figure is not None and figure.value is not None:
                lines[key].append((value, figure))
    lines = {key: points for key, points in lines.items() if len(points) > 2}
    if spec.figures[0] not in lines:
        return None
    ask = _Shower(name, spec, asked, system, language)
    return {
        "wide": _drawn(lines, ask, 800.0, 330.0, theme),
        "small": _drawn(lines, ask, 354.0, 280.0, theme),
        "heads": [ask.head, *(ask.named(key) for key in lines)],
        "rows": _rows(lines, ask),
    }


def _asked(spec: Curve, given: Mapping[str, str]) -> float:
    """The value that was asked, in the unit of the curve."""
    words = given.get(spec.vary, "")
    if not words:  # an optional value that was not given: the curve still is worth seeing
        return -18.0
    if spec.kind is Kind.TEMPERATURE:
        return _celsius(words)
    text = f"{words} {spec.unit}".strip() if re.fullmatch(r"[-−+]?[\d.,]+", words.strip()) else words
    value = parse(text, spec.kind, zero=True).value
    return value / {"h": 3600.0, "min": 60.0}.get(spec.unit, 1.0)


@dataclass(frozen=True, slots=True)
class _Shower:
    """How values of a curve are written."""

    name: str
    spec: Curve
    asked: float
    system: System
    language: Language

    @property
    def head(self) -> str:
        """What runs."""
        says = SMALL[self.name].parameter(self.spec.vary).says
        return words_of(self.language).maybe(f"needs.{self.spec.vary}", says)

    def named(self, key: str) -> str:
        """An answer's name; along the hours the core's temperature is what the curve shows."""
        words = words_of(self.language)
        return words.maybe(f"answers.{key}", key.replace("_", " "))

    def run(self, value: float) -> str:
        """A value that runs."""
        if self.spec.unit == "":
            return f"{value:.0f}"
        step = 0.1 if abs(value) < 10 else 1.0
        if self.spec.kind is Kind.TIME:
            return shown(value, self.spec.unit, language=self.language)
        return shown(value, self.spec.unit, system=self.system, language=self.language, step=step)

    def answer(self, figure: Figure) -> str:
        """An answer."""
        return shown(figure.value, figure.unit, figure.low, figure.high, system=self.system, language=self.language)

    def at(self, value: float, unit: str, step: float) -> str:
        """A value of an axis."""
        if unit in ("h", "min", "s"):
            return shown(value, unit, language=self.language) if value else "0"
        return shown(value, unit, system=self.system, language=self.language, step=step) if unit else f"{value:g}"


def _rows(lines: Mapping[str, Sequence[_Point]], ask: _Shower) -> list[list[str]]:
    """About a dozen rows, the one that was asked among them."""
    first = lines[ask.spec.figures[0]]
    every = max(1, len(first) // 12)
    kept = [k for k in range(len(first)) if k % every == 0 or first[k][0] == ask.asked]
    rows = []
    for k in kept:
        value, figure = first[k]
        cells = [ask.run(value), ask.answer(figure)]
        span = (
            shown_range(figure.low, figure.high, figure.unit, system=ask.system, language=ask.language)
            if figure.low is not None and figure.high is not None and figure.low != figure.high
            else ""
        )
        others = [dict(points).get(value) for key, points in lines.items() if key != ask.spec.figures[0]]
        rows.append([*cells, *(ask.answer(one) if one else "" for one in others), span])
    return rows


@dataclass(frozen=True, slots=True)
class _Axis:
    """Values on a stretch of the drawing."""

    low: float
    high: float
    start: float
    end: float
    steep: bool = False

    def __call__(self, value: float) -> float:
        low, high, value = (
            (math.log(one) for one in (self.low, self.high, max(value, 1e-12)))
            if self.steep
            else (self.low, self.high, value)
        )
        return self.start + (self.end - self.start) * (value - low) / (high - low or 1.0)

    def ticks(self, most: int) -> tuple[list[float], float]:
        """Round values on it, and the step between them."""
        if self.steep:
            powers = range(math.floor(math.log10(self.low)), math.ceil(math.log10(self.high)) + 1)
            many = [m * 10.0**p for p in powers for m in (1, 2, 5) if self.low <= m * 10.0**p <= self.high]
            return (many if len(many) <= most + 2 else many[:: math.ceil(len(many) / most)]), 0.0
        span = self.high - self.low
        rough = span / most
        power = 10.0 ** math.floor(math.log10(rough)) if rough > 0 else 1.0
        step = next(m * power for m in (1, 2, 5, 10) if m * power >= rough)
        first = math.ceil(self.low / step - 1e-9)
        return [k * step for k in range(first, math.floor(self.high / step + 1e-9) + 1)], step


def _clocked(axis: _Axis, unit: str, most: int) -> tuple[list[float], float]:
    """Ticks of hours where people have clocks: quarters, halves, whole ones."""
    per_hour = {"h": 1.0, "min": 60.0, "s": 3600.0}[unit]
    if unit == "s":
        return axis.ticks(most)
    span = (axis.high - axis.low) / per_hour
    step = next(s for s in (1 / 12, 0.25, 0.5, 1, 2, 3, 6, 12, 24, 48, 96, 1e9) if span / s <= most) * per_hour
    first = math.ceil(axis.low / step - 1e-9)
    return [k * step for k in range(first, math.floor(axis.high / step + 1e-9) + 1)], step


def _drawn(lines: Mapping[str, Sequence[_Point]], ask: _Shower, width: float, height: float, theme: ThemeName) -> str:
    tokens, spec = tokens_of(theme), ask.spec
    small = width < 500
    main = lines[spec.figures[0]]
    unit = main[0][1].unit
    ends = [
        end
        for points in lines.values()
        for _, figure in points
        for end in (figure.low, figure.value, figure.high)
        if end is not None and math.isfinite(end)
    ]
    runs = [value for points in lines.values() for value, _ in points]
    room = 0.0 if spec.steep else 0.06 * (max(ends) - min(ends) or 1.0)
    low = min(ends) - room
    answers = (max(low, 0.0) if min(ends) >= 0 else low, max(ends) + room)
    left, right = (_LEFT - (18.0 if small else 0.0)), width - _RIGHT
    foot = height - _FOOT
    if spec.upright:
        span = 0.06 * (max(runs) - min(runs))
        across = _Axis(0.0, answers[1], left, right)
        up = _Axis(min(runs) - span, max(runs) + span, foot, _TOP)
    else:
        across = _Axis(min(runs), max(runs), left, right)
        up = _Axis(*answers, foot, _TOP, steep=spec.steep)

    def place(value: float, answer: float) -> tuple[float, float]:
        return (across(answer), up(value)) if spec.upright else (across(value), up(answer))

    units = (unit, spec.unit) if spec.upright else (spec.unit, unit)
    parts = _axes(across, up, units, ask, tokens, (left, right, foot), small)
    for order, (key, points) in enumerate(lines.items()):
        parts += _line(points, place, tokens, order)
        if len(lines) > 1:
            x, y = place(points[-1][0], float(points[-1][1].value or 0))
            parts.append(
                label(
                    ask.named(key), x, y - 10 if order else y + 24, size=16, face=Face.SERIF_ITALIC,
                    fill=(tokens.ink, tokens.skin)[min(order, 1)], anchor="end",
                )
            )  # fmt: skip
    parts += _point(main, place, ask, tokens, (left, right, foot))
    title = f"{ask.named(spec.figures[0])}: {ask.head}"
    return element(
        "svg",
        element("title", title.replace("&", "and").replace("<", "under")),
        fragment(*parts),
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {number(width)} {number(height)}",
        width=number(width),
        height=number(height),
        role="img",
    )


def _axes(
    across: _Axis,
    up: _Axis,
    units: tuple[str, str],
    ask: _Shower,
    tokens: Tokens,
    box: tuple[float, float, float],
    small: bool,
) -> list[str]:
    left, right, foot = box
    parts = []
    ticks, step = up.ticks(5)
    for tick in ticks:
        y = up(tick)
        parts.append(element("line", x1=left, x2=right, y1=y, y2=y, stroke=tokens.rule, stroke_width=1.0))
        told = ask.at(tick, units[1], step or tick)
        parts.append(label(told, left - 8, y + 5, size=14, fill=tokens.ink_2, anchor="end"))
    most = 4 if small else 7
    timed = units[0] in ("h", "min", "s")
    ticks, step = _clocked(across, units[0], most) if timed else across.ticks(most)
    for tick in ticks:
        x = across(tick)
        parts.append(element("line", x1=x, x2=x, y1=foot, y2=foot + 6, stroke=tokens.edge, stroke_width=1.0))
        at = "end" if x > right - 16 else "middle"
        parts.append(label(ask.at(tick, units[0], step), x, foot + 24, size=14, fill=tokens.ink_2, anchor=at))
    parts.append(element("line", x1=left, x2=right, y1=foot, y2=foot, stroke=tokens.edge, stroke_width=1.5))
    return parts


def _line(
    points: Sequence[_Point], place: Callable[[float, float], tuple[float, float]], tokens: Tokens, order: int
) -> list[str]:
    """A curve with its band; the second of two is broken."""
    parts = []
    held = [(value, figure) for value, figure in points if figure.low is not None and figure.high is not None]
    if len(held) > 2 and order == 0:
        edge = [place(value, float(figure.low or 0)) for value, figure in held]
        back = [place(value, float(figure.high or 0)) for value, figure in reversed(held)]
        parts.append(
            element("path", d=polyline(edge + back, closed=True), fill=tokens.ink, fill_opacity=0.16, stroke="none")
        )
    line = [place(value, float(figure.value or 0)) for value, figure in points]
    stroke, weight, dash = (tokens.ink, 3.0, None) if order == 0 else (tokens.skin, 2.0, "7 5")
    parts.append(
        element("path", d=polyline(line), fill="none", stroke=stroke, stroke_width=weight, stroke_dasharray=dash)
    )
    return parts


def _point(
    points: Sequence[_Point],
    place: Callable[[float, float], tuple[float, float]],
    ask: _Shower,
    tokens: Tokens,
    box: tuple[float, float, float],
) -> list[str]:
    """What was asked: a dot on the curve, a dotted line to the foot, and its value hung beside it."""
    found = next((figure for value, figure in points if value == ask.asked), None)
    if found is None or found.value is None:
        return []
    left, right, foot = box
    x, y = place(ask.asked, found.value)
    leans = x > (left + right) / 2
    side, anchor = (x - 16, "end") if leans else (x + 16, "start")
    level = y - 18 if y > _TOP + 44 else y + 40
    return [
        element(
            "line", x1=x, x2=x, y1=y, y2=foot, stroke=tokens.damson, stroke_width=1.4, stroke_dasharray="1 5",
            stroke_linecap="round",
        ),
        element("circle", cx=x, cy=y, r=7.0, fill=tokens.damson),
        label(
            ask.answer(found), side, level, size=20, face=Face.SANS_SEMIBOLD, fill=tokens.ink, anchor=anchor,
            stroke=tokens.paper, stroke_width=5.0, stroke_linejoin="round", paint_order="stroke",
        ),
    ]  # fmt: skip
