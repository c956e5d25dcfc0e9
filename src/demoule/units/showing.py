"""Quantities as a person sees them: digits by the error, thin spaces, a real minus, hours as "6 h 50", metric or US."""

from __future__ import annotations

import math
from typing import Literal, TypeAlias

from demoule.units.table import CURRENCIES, Kind, convert, unit

__all__ = ["Language", "System", "both", "decimals_for", "number", "shown", "shown_range"]

System: TypeAlias = Literal["metric", "us"]
Language: TypeAlias = Literal["en", "fr"]

THIN = "\u202f"
"""The narrow space that does not break a line: between a number and its unit, and between thousands."""

MINUS = "\u2212"
DIGITS = 3
"""Significant digits of a value whose error is not told."""


def number(value: float, decimals: int, language: Language = "en") -> str:
    """A number with so many decimals (negative: rounded to tens, hundreds), thousands apart, a real minus.

    Examples
    --------
    >>> number(-1234.56, 1)
    '−1\u202f234.6'
    >>> number(1234.56, -1, "fr")
    '1\u202f230'
    """
    rounded = round(value, decimals)
    if rounded == 0:
        rounded = 0.0  # no minus before a zero
    text = f"{abs(rounded):,.{max(decimals, 0)}f}".replace(",", THIN)
    if language == "fr":
        text = text.replace(".", ",")
    return (MINUS if rounded < 0 else "") + text


def decimals_for(value: float, error: float | None) -> int:
    """How many decimals a value may show.

    The last digit shown has the place of the error's first digit, or one more when that is a 1, so that rounding
    never moves the value by more than half of its error. A value that is not small beside its error shows one
    significant digit at least. Without an
    error up to `DIGITS` significant digits are shown without zeros at the end, and whole numbers are never cut.
    """
    if error is None or not error > 0 or not math.isfinite(error):
        if value == 0 or not math.isfinite(value):
            return 0
        decimals = max(DIGITS - 1 - math.floor(math.log10(abs(value))), 0)
        while decimals and round(value, decimals) == round(value, decimals - 1):
            decimals -= 1  # what was stated as 5 g is not shown as 5.00 g
        return decimals
    place = math.floor(math.log10(error) + 1e-12)
    if error / 10**place < 2 - 1e-9:
        place -= 1
    if math.isfinite(value) and abs(value) >= error / 10:
        place = min(place, math.floor(math.log10(abs(value))))
    return min(-place, 9)


def _error(value: float, low: float | None, high: float | None) -> float | None:
    ends = [abs(end - value) for end in (low, high) if end is not None and math.isfinite(end)]
    return max(ends) if ends and max(ends) > 0 else None


# What each metric unit becomes for a US reader; the differences in K are degrees without an offset.
_US: dict[str, str] = {
    "g": "oz",
    "kg": "lb",
    "ml": "fl oz",
    "l": "quart",
    "mm": "in",
    "cm": "in",
    "m": "ft",
    "cm2": "sq in",
    "m2": "sq ft",
    "°C": "°F",
    "EUR/kg": "EUR/lb",
}
for _code in CURRENCIES:
    _US[f"{_code}/kg"] = f"{_code}/lb"

_PLURALS = {
    "en": {
        "leaf": "leaves",
        "sheet": "sheets",
        "pod": "pods",
        "piece": "pieces",
        "egg": "eggs",
        "yolk": "yolks",
        "sprig": "sprigs",
        "white": "whites",
        "zest": "zests",
        "stick": "sticks",
        "pinch": "pinches",
        "d": "days",
        "month": "months",
        "cup": "cups",
        "quart": "quarts",
        "week": "weeks",
        "year": "years",
    },
    "fr": {
        "leaf": "feuilles",
        "sheet": "feuilles",
        "pod": "gousses",
        "piece": "pièces",
        "egg": "œufs",
        "yolk": "jaunes",
        "sprig": "brins",
        "white": "blancs",
        "zest": "zestes",
        "stick": "bâtons",
        "pinch": "pincées",
        "d": "jours",
        "month": "mois",
        "cup": "cups",
        "quart": "quarts",
        "week": "semaines",
        "year": "ans",
    },
}
_SINGULARS = {
    "en": {"d": "day"},
    "fr": {
        "leaf": "feuille",
        "sheet": "feuille",
        "pod": "gousse",
        "piece": "pièce",
        "egg": "œuf",
        "yolk": "jaune",
        "sprig": "brin",
        "white": "blanc",
        "zest": "zeste",
        "stick": "bâton",
        "pinch": "pincée",
        "d": "jour",
        "month": "mois",
        "week": "semaine",
        "year": "an",
    },
}
_UNKNOWN = {"en": "not known", "fr": "inconnu"}


def shown(
    value: float | None,
    unit_name: str,
    low: float | None = None,
    high: float | None = None,
    *,
    system: System = "metric",
    language: Language = "en",
    step: float | None = None,
) -> str:
    """A value as it is shown, never more precise than its band allows.

    Parameters
    ----------
    value
        In `unit_name`; None is shown as not known.
    unit_name
        A unit of this package; "1" has no sign. "K" is taken as a difference.
    low, high
        Its likely range; either may be missing. Without both, up to three significant digits are shown.
    system
        "us" turns metric units into those of a US kitchen.
    language
        Decimal mark and words.
    step
        What a scale shows (in `unit_name`): the value is rounded to it, whatever the band.

    Examples
    --------
    >>> shown(72.43, "g", 69, 76), shown(6.83, "h", 6.6, 7.1), shown(85, "°C", system="us")
    ('72\u202fg', '6\u202fh\u202f50', '185\u202f°F')
    """
    if value is None or not math.isfinite(value):
        return _UNKNOWN[language]
    if step is not None and system == "metric":
        value = round(value / step) * step
        if unit(unit_name).kind is not Kind.COUNT:
            return _plain(value, unit_name, max(-_place(step), 0), language)
    if unit(unit_name).kind is Kind.COUNT:
        return _counted(value, unit_name, language)
    if unit(unit_name).kind is Kind.TIME:
        return _duration(value, unit_name, _error(value, low, high), language)
    if system == "us":
        value, unit_name, low, high = _for_us(value, unit_name, low, high)
    error = _error(value, low, high)
    if unit(unit_name).kind is Kind.MONEY:
        return _money(value, unit_name, language)
    if unit_name == "oz" and value >= 16 and error is None:
        return _pounds(value, language)
    return _plain(value, unit_name, decimals_for(value, error), language)


def _place(step: float) -> int:
    """The decimal place of a step: 0.5 needs one decimal, 5 none."""
    place = 0
    while place > -9 and abs(step / 10**place - round(step / 10**place)) > 1e-9:
        place -= 1
    return place


def _for_us(
    value: float, unit_name: str, low: float | None, high: float | None
) -> tuple[float, str, float | None, float | None]:
    if unit_name == "K":
        return value * 1.8, "°F", _times(low, 1.8), _times(high, 1.8)
    to = _US.get(unit_name)
    if to is None:
        return value, unit_name, low, high
    if unit_name == "kg" and abs(value) < 0.45359237:
        to = "oz"
    ends = [None if end is None else convert(end, unit_name, to) for end in (low, high)]
    return convert(value, unit_name, to), to, ends[0], ends[1]


def _times(value: float | None, factor: float) -> float | None:
    return None if value is None else value * factor


def _plain(value: float, unit_name: str, decimals: int, language: Language) -> str:
    text = number(value, decimals, language)
    sign = _sign(unit_name, round(value, decimals), language)
    return f"{text}{THIN}{sign}" if sign else text


def _sign(unit_name: str, value: float, language: Language) -> str:
    if unit_name == "1":
        return ""
    many = abs(value) >= 2 if language == "fr" else abs(value) != 1
    words = _PLURALS[language] if many else _SINGULARS[language]
    return words.get(unit_name, unit(unit_name).sign)


_PARTS = {0.25: "¼", 0.5: "½", 0.75: "¾"}


def _counted(value: float, unit_name: str, language: Language) -> str:
    """Leaves, pods and pieces: quarters as fractions, else a decimal."""
    whole, part = divmod(abs(value), 1)
    if part in _PARTS:
        text = (MINUS if value < 0 else "") + (number(whole, 0, language) if whole else "") + _PARTS[part]
    else:
        text = number(value, decimals_for(value, None), language)
    many = abs(value) >= 2 if language == "fr" else abs(value) > 1 or value == 0
    return f"{text}{THIN}{(_PLURALS[language] if many else _SINGULARS[language]).get(unit_name, unit_name)}"


def _money(value: float, code: str, language: Language) -> str:
    text = number(value, 2, language)
    sign = unit(code).sign
    if language == "fr" or len(sign) > 1:
        return f"{text}{THIN}{sign}"
    return f"{MINUS}{sign}{text[1:]}" if text.startswith(MINUS) else f"{sign}{text}"


def _pounds(ounces: float, language: Language) -> str:
    """Pounds and ounces, the ounces to a tenth below four pounds."""
    decimals = 1 if ounces < 64 else 0
    rounded = round(ounces, decimals)
    pounds, rest = divmod(rounded, 16)
    text = f"{number(pounds, 0, language)}{THIN}lb"
    if round(rest, decimals) == 0:
        return text
    return f"{text}{THIN}{number(rest, decimals_for(round(rest, decimals), None), language)}{THIN}oz"


# Steps to which a time is rounded [s]: the greatest that is not above a fifth of the error. A tray is taken out by the
# clock, and 6 h 45 is easier to keep than "7 h, or 6".
_STEPS = (1, 5, 10, 30, 60, 300, 600, 900, 1800, 3600, 7200, 21600, 43200, 86400, 7 * 86400)
_DAY = 86400.0
_LONGEST = 1e12  # s; longer ones are no times that people say
_MONTH = _DAY * 365.25 / 12


def _step_of(seconds: float, error: float | None) -> float:
    if error is not None:
        fine = max((step for step in _STEPS if step <= error / 5 * 1.0001), default=1)
        # Nobody sets a clock to 14 min 10 s or to 1 h 04.
        least = 300 if abs(seconds) >= 3600 and error >= 600 else 60 if abs(seconds) >= 300 and error >= 60 else 1
        return float(max(fine, least))
    for below, step in ((120, 1), (600, 10), (7200, 60), (36000, 300), (172800, 600), (14 * _DAY, 3600)):
        if abs(seconds) < below:
            return step
    return _DAY


def _duration(value: float, unit_name: str, error: float | None, language: Language) -> str:
    """A time as people say it: "90 s", "50 min", "6 h 50", "36 h", "3 days", "3 months"."""
    factor = unit(unit_name).factor
    seconds = value * factor
    if not abs(seconds) < _LONGEST:
        return _plain(value, unit_name, 0, language)
    step = _step_of(seconds, None if error is None else error * factor)
    rounded = round(seconds / step) * step
    if rounded == 0 and seconds != 0:
        rounded = math.copysign(min(step, abs(seconds)), seconds)
        rounded = math.copysign(max(round(abs(rounded)), 1), seconds)
    minus, t = (MINUS if rounded < 0 else ""), abs(rounded)
    return minus + _spoken(t, step, _DAY if factor >= _DAY else 4 * _DAY, language)


def _spoken(t: float, step: float, days_from: float, language: Language) -> str:
    months = round(t / _MONTH)
    if months >= 2 and abs(t - months * _MONTH) <= max(step, _DAY) / 2 + 1:
        return _plain(months, "month", 0, language)
    if t >= days_from:
        days, rest = divmod(t, _DAY)
        if step >= _DAY or rest < step / 2 or step > 43200:
            return _plain(round(t / _DAY), "d", 0, language)
        hours = round(rest / 3600)
        if hours == 24:
            return _plain(days + 1, "d", 0, language)
        text = _plain(days, "d", 0, language)
        return f"{text}{THIN}{hours}{THIN}h" if hours else text
    if t >= 3600:
        minutes = round(t / 60)
        hours, left = divmod(minutes, 60)
        return f"{hours}{THIN}h{THIN}{left:02d}" if left else f"{hours}{THIN}h"
    if t >= 120:
        minutes, seconds = divmod(round(t), 60)
        return f"{minutes}{THIN}min{THIN}{seconds}{THIN}s" if seconds else f"{minutes}{THIN}min"
    if t and t % 60 == 0:
        return f"{round(t / 60)}{THIN}min"
    return f"{round(t)}{THIN}s"


_DASH = "–"
_ENDS = 5.0  # the ends of a band of time are shown as coarsely as the band is wide


def shown_range(
    low: float | None,
    high: float | None,
    unit_name: str,
    *,
    system: System = "metric",
    language: Language = "en",
) -> str:
    """A band as "1.2–1.8 h"; one value when both ends round to the same, "at least" when one end is missing.

    Examples
    --------
    >>> shown_range(85, 90, "°C", system="us")
    '185–194\u202f°F'
    """
    if low is None or high is None:
        if low is None and high is None:
            return _UNKNOWN[language]
        words = {"en": ("at most", "at least"), "fr": ("au plus", "au moins")}[language]
        text = shown(high if low is None else low, unit_name, system=system, language=language)
        return f"{words[0] if low is None else words[1]} {text}"
    half = abs(high - low) / 2 * (_ENDS if unit(unit_name).kind is Kind.TIME else 1.0)
    ends = [
        shown(end, unit_name, end - half, end + half, system=system, language=language)
        if half
        else shown(end, unit_name, system=system, language=language)
        for end in (low, high)
    ]
    if ends[0] == ends[1]:
        return ends[0]
    return _joined(ends[0], ends[1])


def _joined(first: str, second: str) -> str:
    """Two ends with the unit told once, where it is the same and stands behind; a minus keeps off the dash."""
    one, _, sign = first.rpartition(THIN)
    other, _, also = second.rpartition(THIN)
    dash = f"{THIN}{_DASH}{THIN}" if MINUS in first + second else _DASH
    simple = sign == also and not sign[:1].isdigit() and not any(c.isalpha() for c in one + other)
    return f"{one}{dash}{second}" if simple else f"{first}{dash}{second}"


def both(
    value: float | None,
    unit_name: str,
    low: float | None = None,
    high: float | None = None,
    *,
    language: Language = "en",
    first: System = "metric",
) -> str:
    """The value in both systems: "85 °C / 185 °F"; once only where the two agree.

    Examples
    --------
    >>> both(85, "°C")
    '85\u202f°C / 185\u202f°F'
    """
    second: System = "us" if first == "metric" else "metric"
    one = shown(value, unit_name, low, high, system=first, language=language)
    other = shown(value, unit_name, low, high, system=second, language=language)
    return one if one == other else f"{one} / {other}"
