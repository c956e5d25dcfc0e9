"""Sizes in the words of a kitchen, for errors and findings."""

from __future__ import annotations

import math

from demoule.units import ZERO_CELSIUS, CubicMetre, Kelvin, Kilogram, Metre

__all__ = ["cm2", "degrees", "grams", "ml", "mm", "percent"]


def mm(length: Metre, *, down: bool = False) -> str:
    """A length in millimetres, to the tenth; `down` never rounds it up."""
    value = 1000 * length
    if down:
        value = math.floor(value * 10 + 1e-6) / 10
    return f"{_plain(value, 1)} mm"


def ml(volume: CubicMetre) -> str:
    """A volume in millilitres, to the tenth below 200."""
    value = 1e6 * volume
    return f"{_plain(value, 1 if abs(value) < 200 else 0)} ml"


def grams(mass: Kilogram) -> str:
    """A mass in grams, to the tenth below 100 and the hundredth below 2."""
    value = 1000 * mass
    return f"{_plain(value, 2 if abs(value) < 2 else 1 if abs(value) < 100 else 0)} g"


def cm2(area: float) -> str:
    """A surface in square centimetres."""
    return f"{_plain(1e4 * area, 0)} cm²"


def degrees(temperature: Kelvin) -> str:
    """A temperature in whole degrees Celsius."""
    return f"{_plain(temperature - ZERO_CELSIUS, 0)} °C"


def percent(share: float, digits: int = 0) -> str:
    """A share in per cent."""
    return f"{_plain(100 * share, digits)} %"


def _plain(value: float, digits: int) -> str:
    text = f"{value:.{digits}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return text.replace("-", "−") if text not in ("-0", "0") else "0"
