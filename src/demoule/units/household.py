"""The nearest measure that a home kitchen has (¾ cup, 1 oz, 2 tbsp), with the difference that it makes."""

from __future__ import annotations

from dataclasses import dataclass

from demoule.errors import BadInput
from demoule.units.showing import THIN
from demoule.units.table import Kind, to_si, unit

__all__ = ["Household", "household"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Household:
    """A household measure: as it is written, what it really is in SI, and the share by which it differs."""

    text: str
    value: float
    difference: float


_FRACTIONS = {0.125: "⅛", 0.25: "¼", 1 / 3: "⅓", 0.375: "⅜", 0.5: "½", 0.625: "⅝", 2 / 3: "⅔", 0.75: "¾", 0.875: "⅞"}
_EIGHTHS = tuple(k / 8 for k in range(1, 8))
_CUP = (0.25, 1 / 3, 0.5, 2 / 3, 0.75)
_QUARTERS = (0.25, 0.5, 0.75)

# Unit, fractions that its measures have, and the range in which it is natural (in itself).
_MEASURES: dict[Kind, tuple[tuple[str, tuple[float, ...], float, float], ...]] = {
    Kind.VOLUME: (
        ("tsp", (0.125, *_QUARTERS), 0.1, 3.0),
        ("tbsp", (0.5,), 1.0, 6.0),
        ("cup", _CUP, 0.25, 16.0),
        ("quart", _QUARTERS, 4.0, 1e6),
    ),
    Kind.MASS: (
        ("oz", _EIGHTHS, 0.1, 4.0),
        ("oz", _QUARTERS, 4.0, 16.0),
        ("lb", tuple(k / 16 for k in range(1, 16)), 0.97, 1e6),
    ),
}


def household(value: float, unit_name: str) -> Household:
    """The natural household measure that comes nearest.

    Parameters
    ----------
    value
        A mass or a volume above zero, in `unit_name`.

    Returns
    -------
    Household
        Of the measures whose natural range it falls in, the nearest; its difference is (measure − value) / value.

    Examples
    --------
    >>> household(177.4, "ml").text
    '¾\u202fcup'
    >>> round(household(30, "g").difference, 3)
    -0.055
    """
    kind = unit(unit_name).kind
    wanted = to_si(value, unit_name)
    if kind not in _MEASURES or not wanted > 0:
        raise BadInput(f"“{value} {unit_name}” has no household measure.", remedy="give a mass or a volume above zero.")
    found = [
        _nearest(wanted, name, fractions)
        for name, fractions, least, most in reversed(_MEASURES[kind])  # the greater of two that are as near
        if least <= wanted / unit(name).factor <= most
    ]
    if not found:
        name, fractions, _, _ = _MEASURES[kind][0]  # less than the least measure there is
        found = [_nearest(wanted, name, fractions)]
    best = min(found, key=lambda one: abs(one[1] - wanted))
    if kind is Kind.VOLUME and abs(best[1] - wanted) > COARSE * wanted:
        best = min((best, *_with_spoons(wanted)), key=lambda one: abs(one[1] - wanted))
    return Household(text=best[0], value=best[1], difference=(best[1] - wanted) / wanted)


COARSE = 0.04
"""Above this difference a cup gets spoons beside it: "⅓ cup + 1 tbsp"."""


def _with_spoons(wanted: float) -> list[tuple[str, float]]:
    """Cups and one to three tablespoons."""
    cup, spoon = unit("cup").factor, unit("tbsp").factor
    found = []
    for part in (0.0, *_CUP):
        cups = int((wanted - part * cup) / cup) + part if wanted >= part * cup else 0.0
        spoons = round((wanted - cups * cup) / spoon)
        if cups > 0 and 1 <= spoons <= 3:
            text, value = _nearest(cups * cup, "cup", _CUP)
            found.append((f"{text} + {spoons}{THIN}tbsp", value + spoons * spoon))
    return found


def _nearest(wanted: float, name: str, fractions: tuple[float, ...]) -> tuple[str, float]:
    factor = unit(name).factor
    amount = wanted / factor
    whole = int(amount)
    part = min((0.0, *fractions, 1.0), key=lambda one: abs(amount - whole - one))
    if part == 1.0:
        whole, part = whole + 1, 0.0
    if whole == 0 and part == 0.0:
        part = min(fractions)
    if name == "lb":
        pounds = f"{whole}{THIN}lb" if whole else ""
        ounces = f"{round(part * 16)}{THIN}oz" if part else ""
        return THIN.join(text for text in (pounds, ounces) if text), (whole + part) * factor
    number = f"{whole if whole else ''}{_FRACTIONS[part] if part else ''}"
    plural = name in ("cup", "quart") and whole + part > 1
    return f"{number}{THIN}{name}{'s' if plural else ''}", (whole + part) * factor
