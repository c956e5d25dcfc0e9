"""Amounts as findings and labels write them: grams, hours, degrees and shares in plain words, never falsely precise."""

from __future__ import annotations

import math

from demoule.units import Fraction, Kelvin, Kilogram, Second, celsius

__all__ = ["degrees", "duration", "grams", "listed", "opened", "percent", "rounded"]

_MINUTE, _HOUR, _DAY, _MONTH = 60.0, 3600.0, 86400.0, 30 * 86400.0


def rounded(value: float, digits: int = 2) -> str:
    """A number to so many significant digits, without an exponent.

    Examples
    --------
    >>> rounded(0.01234), rounded(1234.5), rounded(9.96)
    ('0.012', '1200', '10')
    """
    if value == 0 or not math.isfinite(value):
        return "0" if value == 0 else str(value)
    place = digits - 1 - math.floor(math.log10(abs(value)))
    number = round(value, place)
    text = f"{number:.{max(place, 0)}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return text.replace("-", "−")


def grams(mass: Kilogram) -> str:
    """A mass as a scale shows it: to 0.1 g below 20 g, to 1 g below 1 kg, then in kilograms.

    Examples
    --------
    >>> grams(0.00434), grams(0.0724), grams(1.234)
    ('4.3 g', '72 g', '1.23 kg')
    """
    g = 1000 * mass
    if g >= 1000:
        return f"{rounded(mass, 3)} kg"
    return f"{g:.0f} g" if g >= 20 else f"{rounded(round(g, 1), 3)} g" if g >= 0.05 else f"{rounded(g, 1)} g"


def duration(time: Second) -> str:
    """A time in words: minutes, quarters of an hour, hours, days or months.

    Examples
    --------
    >>> duration(600), duration(5400), duration(36000), duration(259200), duration(7776000)
    ('10 min', '1 h 30', '10 h', '3 days', '3 months')
    """
    if time < _HOUR:
        return f"{max(round(time / _MINUTE), 1 if time > 0 else 0)} min"
    if time < 10 * _HOUR:
        quarters = round(time / (15 * _MINUTE))
        hours, rest = divmod(quarters, 4)
        return f"{hours} h {15 * rest}" if rest else f"{hours} h"
    if time < 3 * _DAY:
        return f"{time / _HOUR:.0f} h"
    if time < 2 * _MONTH:
        return f"{time / _DAY:.0f} days"
    return f"{time / _MONTH:.0f} months"


def degrees(temperature: Kelvin, *, us: bool = False) -> str:
    """A temperature in °C, or in °F with the °C behind it.

    Examples
    --------
    >>> degrees(255.15), degrees(255.15, us=True)
    ('−18 °C', '0 °F (−18 °C)')
    """
    c = celsius(temperature)
    text = f"{rounded(round(c, 1), 3)} °C" if abs(c) < 10 and abs(c - round(c)) > 0.05 else f"{_whole(c)} °C"
    return f"{_whole(c * 1.8 + 32)} °F ({text})" if us else text


def _whole(value: float) -> str:
    return (
        f"{value:.0f}".replace("-0", "0", 1).replace("-", "−")
        if round(value) == 0
        else f"{value:.0f}".replace("-", "−")
    )


def percent(share: Fraction) -> str:
    """A share in per cent to two significant digits.

    Examples
    --------
    >>> percent(0.123), percent(0.0042)
    ('12 %', '0.42 %')
    """
    return f"{rounded(100 * share, 2)} %"


def listed(names: tuple[str, ...] | list[str], most: int = 4) -> str:
    """Names in a sentence: "a, b and c", and how many more.

    Examples
    --------
    >>> listed(["milk", "eggs", "nuts"]), listed(["a", "b", "c"], most=2)
    ('milk, eggs and nuts', 'a, b and 1 more')
    """
    shown = list(names[:most])
    if len(names) > most:
        shown.append(f"{len(names) - most} more")
    return shown[0] if len(shown) == 1 else f"{', '.join(shown[:-1])} and {shown[-1]}" if shown else ""


def opened(text: str) -> str:
    """A text as it opens a sentence: its first letter large, all others as they are.

    Examples
    --------
    >>> opened("glucose syrup 60 DE")
    'Glucose syrup 60 DE'
    """
    return text[:1].upper() + text[1:]
