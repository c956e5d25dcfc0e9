"""Rounding of declared amounts, once and at the end, by the guidance of the EU and the rules of the US.

Ties go up (half up), decided here because neither text says; the amount is first cleaned to ten significant digits, so
that 2.25 is a tie whatever its binary form. The band of an amount is chosen before it is rounded: 9.96 g of fat, below
10 g, is printed "10.0".
"""

from __future__ import annotations

from collections.abc import Callable
from decimal import ROUND_HALF_UP, Decimal

from demoule.errors import BadInput
from demoule.figures import Status, published

__all__ = ["printed_daily_value", "printed_eu", "printed_us", "to_step"]


def to_step(amount: float, step: str) -> Decimal:
    """The multiple of `step` (a decimal numeral: "0.1", "5") nearest to an amount, halves up.

    Examples
    --------
    >>> to_step(2.25, "0.1"), to_step(47.5, "5")
    (Decimal('2.3'), Decimal('50'))
    """
    unit = Decimal(step)
    return (_clean(amount) / unit).quantize(Decimal(1), ROUND_HALF_UP) * unit


def _clean(amount: float) -> Decimal:
    if amount < 0:
        raise BadInput(f"An amount of {amount:g} cannot stand on a label.", remedy="give an amount of zero or more.")
    return Decimal(f"{amount:.10g}")


def _text(number: Decimal) -> str:
    return f"{number:f}"


def _eu_energy(amount: float) -> str:
    return _text(to_step(amount, "1"))


def _eu_gram(least: str, shown: str, amount: float) -> str:
    clean = _clean(amount)
    if clean == 0:
        return "0"
    if clean <= Decimal(least):
        return f"<{shown}"
    return _text(to_step(amount, "1" if clean >= 10 else "0.1"))


def _eu_salt(amount: float) -> str:
    clean = _clean(amount)
    if clean == 0:
        return "0"
    if clean <= Decimal("0.0125"):
        return "<0.01"
    return _text(to_step(amount, "0.1" if clean >= 1 else "0.01"))


_EU: dict[str, Callable[[float], str]] = {
    "energy_kj": _eu_energy,
    "energy_kcal": _eu_energy,
    **{
        key: lambda amount: _eu_gram("0.5", "0.5", amount)
        for key in ("fat", "carbohydrate", "sugars", "polyols", "starch", "fibre", "protein")
    },
    **{
        key: lambda amount: _eu_gram("0.1", "0.1", amount)
        for key in ("saturates", "monounsaturates", "polyunsaturates")
    },
    "salt": _eu_salt,
}


@published(
    gives="a declared amount as printed in the EU",
    source="ec-tolerances-2012",
    valid="amounts per 100 g or per portion",
    error="exact; ties go up, which the guidance leaves open",
    status=Status.QUOTED,
    name="EU label rounding",
)
def printed_eu(key: str, amount: float) -> str:
    """One amount per 100 g as the guidance of the European Commission has it printed.

    Parameters
    ----------
    key
        "energy_kj", "energy_kcal", "fat", "saturates", "carbohydrate", "sugars", "polyols", "fibre", "protein", "salt".
    amount
        [g per 100 g], energy in [kJ] or [kcal].

    Notes
    -----
    Source: ec-tolerances-2012, table on rounding. Status: quoted.

    Examples
    --------
    >>> printed_eu("fat", 0.54), printed_eu("salt", 0.996), printed_eu("saturates", 0.06)
    ('0.5', '1.00', '<0.1')
    """
    return _EU[key](amount)


def _us_calories(amount: float) -> str:
    clean = _clean(amount)
    return "0" if clean < 5 else _text(to_step(amount, "5" if clean <= 50 else "10"))


def _us_fat(amount: float) -> str:
    clean = _clean(amount)
    if clean < Decimal("0.5"):
        return "0"
    return _text(to_step(amount, "0.5" if clean < 5 else "1").normalize() + 0)


def _us_cholesterol(amount: float) -> str:
    clean = _clean(amount)
    if clean < 2:
        return "0"
    return "less than 5" if clean <= 5 else _text(to_step(amount, "5"))


def _us_sodium(amount: float) -> str:
    clean = _clean(amount)
    return "0" if clean < 5 else _text(to_step(amount, "5" if clean <= 140 else "10"))


def _us_gram(amount: float) -> str:
    clean = _clean(amount)
    if clean < Decimal("0.5"):
        return "0"
    return "less than 1" if clean < 1 else _text(to_step(amount, "1"))


_US: dict[str, Callable[[float], str]] = {
    "calories": _us_calories,
    **dict.fromkeys(("total_fat", "saturated_fat", "trans_fat"), _us_fat),
    "cholesterol": _us_cholesterol,
    "sodium": _us_sodium,
    **dict.fromkeys(
        ("total_carbohydrate", "fibre", "total_sugars", "added_sugars", "sugar_alcohol", "protein"), _us_gram
    ),
    "vitamin_d": lambda amount: _text(to_step(amount, "0.1")),
    "calcium": lambda amount: _text(to_step(amount, "10")),
    "iron": lambda amount: _text(to_step(amount, "0.1")),
    "potassium": lambda amount: _text(to_step(amount, "10")),
}


@published(
    gives="a declared amount as printed in the US",
    source="fda-labeling-guide",
    valid="amounts per serving",
    error="exact; ties go up, which the rule leaves open",
    status=Status.READ,
    name="US label rounding",
)
def printed_us(key: str, amount: float) -> str:
    """One amount per serving as the US rule has it printed.

    Parameters
    ----------
    key
        "calories", "total_fat", "saturated_fat", "trans_fat", "cholesterol", "sodium", "total_carbohydrate", "fibre",
        "total_sugars", "added_sugars", "sugar_alcohol", "protein", "vitamin_d", "calcium", "iron", "potassium".
    amount
        Calories in [kcal]; fats, carbohydrates, protein in [g]; vitamin D in [µg]; the rest in [mg].

    Notes
    -----
    Source: fda-labeling-guide, Appendix H, us-21cfr101-9 (c). Status: read; steps of vitamins, minerals recalled.

    Examples
    --------
    >>> printed_us("calories", 54), printed_us("total_fat", 2.3), printed_us("cholesterol", 3.1)
    ('50', '2.5', 'less than 5')
    """
    return _US[key](amount)


def printed_daily_value(share: float, *, mineral: bool = False) -> str:
    """A share of the daily value in per cent: to 1 %; vitamins and minerals to 2 % up to 10, 5 % up to 50, then 10 %.

    Notes
    -----
    Source: us-21cfr101-9, (d)(7)(ii) read, (c)(8)(iii) recalled. The rule allows the unrounded amount.
    """
    percent = 100 * share
    if not mineral:
        return _text(to_step(percent, "1"))
    if _clean(percent) < 2:
        return "0"
    return _text(to_step(percent, "2" if percent <= 10 else "5" if percent <= 50 else "10"))
