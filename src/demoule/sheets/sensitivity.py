"""What matters most: for one answer, how far each factor moves it, as bars from the dessert as it is."""

from __future__ import annotations

from demoule.cold.sensitivity import ANSWERS, Effect, Exploration
from demoule.sheets.svg import Face, element, label, number, text_width, wrapped
from demoule.sheets.tokens import ThemeName, Tokens, tokens_of
from demoule.units import ZERO_CELSIUS, shown
from demoule.units.showing import System

__all__ = ["effects_svg", "value_of", "words_of"]

_ROW, _BAR, _TOP, _FOOT = 54.0, 15.0, 74.0, 40.0
_RIGHT = 92.0


def effects_svg(
    exploration: Exploration, answer: str, *, width: float = 720, theme: ThemeName = "day", system: System = "metric"
) -> str:
    """Bars of what matters most for an answer, the strongest first.

    A bar goes from the answer at the low end of the factor (hollow dot) to that at its high end (filled dot); the
    upright line is the dessert as it is. An end that is not reached fades out to the right.
    """
    tokens = tokens_of(theme)
    effects = exploration.effects(answer)
    base = exploration.base.answers[answer]
    assert base is not None
    names = [effect.factor.name for effect in effects]
    left = min(max(text_width(name, 16, Face.SERIF) for name in names) + 24, 0.42 * width)
    right = width - _RIGHT
    ends = [value for effect in effects for value in (effect.low, effect.high) if value is not None]
    low, high = min([base, *ends]), max([base, *ends])
    room = 0.06 * max(high - low, 1e-3 * abs(base))
    low, high = low - room, high + room

    def x(value: float) -> float:
        return left + (right - left) * (value - low) / (high - low)

    what, unit = ANSWERS[answer]
    foot = _TOP + _ROW * len(effects)
    parts = [
        element("rect", x=0.0, y=0.0, width=width, height=foot + _FOOT, fill=tokens.paper),
        label(f"What moves the time {what}" if unit == "s" else f"What moves the {what}", 0, 22, size=19,
              face=Face.SERIF_SEMIBOLD, fill=tokens.ink),
        element("line", x1=x(base), x2=x(base), y1=_TOP - 18, y2=foot - 8, stroke=tokens.ink, stroke_width=1.4),
        label(f"as it is: {words_of(base, unit, system)}", min(max(x(base), left + 60), right - 40), _TOP - 26, size=14,
              face=Face.SERIF_ITALIC, fill=tokens.ink, anchor="middle"),
    ]  # fmt: skip
    for place, effect in enumerate(effects):
        parts += _row(effect, _TOP + _ROW * place, x, left, right, base, unit, tokens, system)
    parts.append(
        label("hollow: the low end of the range; filled: its high end", left, foot + 14, size=13, fill=tokens.ink_2)
    )
    height = foot + _FOOT
    title = f"{what}: " + "; ".join(
        f"{effect.factor.name} {_span(effect, system)}: {_ends(effect, unit, system)}" for effect in effects
    )
    return element(
        "svg",
        element("title", title.replace("&", "and").replace("<", "under")),
        *parts,
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {number(width)} {number(height)}",
        width=number(width),
        height=number(height),
        role="img",
    )


def _row(
    effect: Effect,
    top: float,
    x: object,
    left: float,
    right: float,
    base: float,
    unit: str,
    tokens: Tokens,
    system: System,
) -> list[str]:
    at = x  # a place on the axis
    assert callable(at)
    middle = top + _BAR / 2
    lines = wrapped(effect.factor.name, 16, Face.SERIF, left - 16)[:2]
    parts = [
        label(line, left - 14, middle + 5 + 18 * k - 9 * (len(lines) - 1), size=16, face=Face.SERIF, fill=tokens.ink,
              anchor="end")
        for k, line in enumerate(lines)
    ]  # fmt: skip
    start = at(base if effect.low is None else effect.low)
    end = at(base if effect.high is None else effect.high)
    a, b = min(start, end), max(start, end)
    parts.append(
        element("rect", x=a, y=top, width=max(b - a, 1.5), height=_BAR, fill=tokens.ink_2, fill_opacity=0.32, rx=2.0)
    )
    for value, place, filled, words in (
        (effect.low, start, False, value_of(effect.factor.low, effect.factor.unit, system)),
        (effect.high, end, True, value_of(effect.factor.high, effect.factor.unit, system)),
    ):
        if value is None:
            parts.append(
                element("line", x1=at(base), x2=right, y1=middle, y2=middle, stroke=tokens.ink_2, stroke_width=2.0,
                        stroke_dasharray="6 4")
            )  # fmt: skip
            parts.append(label(f"{words}: not reached", right, middle + 24, size=13, fill=tokens.ink_2, anchor="end"))
            continue
        parts.append(
            element("circle", cx=place, cy=middle, r=5.0, fill=tokens.ink if filled else tokens.paper,
                    stroke=tokens.ink, stroke_width=1.6)
        )  # fmt: skip
    if effect.low is not None and effect.high is not None:
        apart = abs(end - start)
        low_words = value_of(effect.factor.low, effect.factor.unit, system)
        high_words = value_of(effect.factor.high, effect.factor.unit, system)
        if apart > 110:
            first, last = ("middle", "middle")
            parts.append(label(low_words, start, middle + 24, size=13, fill=tokens.ink_2, anchor=first))
            parts.append(label(high_words, end, middle + 24, size=13, fill=tokens.ink_2, anchor=last))
        else:
            both = f"{low_words} … {high_words}"
            parts.append(label(both, (start + end) / 2, middle + 24, size=13, fill=tokens.ink_2, anchor="middle"))
        swing = words_of(abs(effect.swing), unit, system)
        parts.append(label(swing, right + 12, middle + 5, size=15, face=Face.SANS_SEMIBOLD, fill=tokens.ink))
    if effect.share is not None and effect.share > 0.005:
        parts.append(label(f"{effect.share:.0%} of all", right + 12, middle + 22, size=12, fill=tokens.ink_2))
    return parts


def words_of(value: float, unit: str, system: System = "metric") -> str:
    """An answer in words."""
    return shown(value / 3600, "h", system=system) if unit == "s" else shown(1000 * value, "g", system=system)


def value_of(value: float, unit: str, system: System) -> str:
    """A value of a factor in words."""
    match unit:
        case "factor":
            return f"{value:.0%}"
        case "K":
            return shown(value - ZERO_CELSIUS, "°C", system=system)
        case "m":
            return f"{1000 * value:.1f} mm"
        case _:
            return f"{value:.3g} W/m²K"


def _span(effect: Effect, system: System) -> str:
    factor = effect.factor
    return f"{value_of(factor.low, factor.unit, system)} to {value_of(factor.high, factor.unit, system)}"


def _ends(effect: Effect, unit: str, system: System) -> str:
    low, high = ("not reached" if v is None else words_of(v, unit, system) for v in (effect.low, effect.high))
    return f"{low} to {high}"
