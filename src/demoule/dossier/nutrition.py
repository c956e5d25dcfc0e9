"""The nutrition declaration of a draft label, per 100 g and per piece: rounded once, at the end."""

from __future__ import annotations

from dataclasses import dataclass

from demoule.dossier.amounts import Amounts, Declared
from demoule.dossier.answer import LabelLine
from demoule.dossier.energy import Market
from demoule.dossier.rounding import printed_daily_value, printed_eu, printed_us
from demoule.units import Kilogram

__all__ = ["DAILY_VALUES", "EU_LINES", "NOT_TOLD", "US_LINES", "declaration", "tolerance"]

NOT_TOLD = "not told"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Line:
    key: str
    name: str
    unit: str
    per_gram: float  # from g/g to `unit` per 100 g
    only_when_present: bool = False


EU_LINES: tuple[_Line, ...] = (
    _Line(key="energy_kj", name="energy", unit="kJ", per_gram=100),
    _Line(key="energy_kcal", name="energy", unit="kcal", per_gram=100),
    _Line(key="fat", name="fat", unit="g", per_gram=100),
    _Line(key="saturates", name="of which saturates", unit="g", per_gram=100),
    _Line(key="carbohydrate", name="carbohydrate", unit="g", per_gram=100),
    _Line(key="sugars", name="of which sugars", unit="g", per_gram=100),
    _Line(key="polyols", name="of which polyols", unit="g", per_gram=100, only_when_present=True),
    _Line(key="fibre", name="fibre", unit="g", per_gram=100),
    _Line(key="protein", name="protein", unit="g", per_gram=100),
    _Line(key="salt", name="salt", unit="g", per_gram=100),
)
"""Order of Annex XV of Regulation (EU) No 1169/2011, recalled; fibre and polyols are optional lines."""

US_LINES: tuple[_Line, ...] = (
    _Line(key="calories", name="calories", unit="kcal", per_gram=100),
    _Line(key="total_fat", name="total fat", unit="g", per_gram=100),
    _Line(key="saturated_fat", name="saturated fat", unit="g", per_gram=100),
    _Line(key="trans_fat", name="trans fat", unit="g", per_gram=100),
    _Line(key="cholesterol", name="cholesterol", unit="mg", per_gram=1e5),
    _Line(key="sodium", name="sodium", unit="mg", per_gram=1e5),
    _Line(key="total_carbohydrate", name="total carbohydrate", unit="g", per_gram=100),
    _Line(key="fibre", name="dietary fiber", unit="g", per_gram=100),
    _Line(key="total_sugars", name="total sugars", unit="g", per_gram=100),
    _Line(key="added_sugars", name="includes added sugars", unit="g", per_gram=100),
    _Line(key="sugar_alcohol", name="sugar alcohol", unit="g", per_gram=100, only_when_present=True),
    _Line(key="protein", name="protein", unit="g", per_gram=100),
    _Line(key="vitamin_d", name="vitamin D", unit="µg", per_gram=1e8),
    _Line(key="calcium", name="calcium", unit="mg", per_gram=1e5),
    _Line(key="iron", name="iron", unit="mg", per_gram=1e5),
    _Line(key="potassium", name="potassium", unit="mg", per_gram=1e5),
)
"""Order of the panel of 21 CFR 101.9(c), recalled."""

DAILY_VALUES: dict[str, float] = {
    "total_fat": 78.0,
    "saturated_fat": 20.0,
    "cholesterol": 300.0,
    "sodium": 2300.0,
    "total_carbohydrate": 275.0,
    "fibre": 28.0,
    "added_sugars": 50.0,
    "vitamin_d": 20.0,
    "calcium": 1300.0,
    "iron": 18.0,
    "potassium": 4700.0,
}
"""Daily values in the unit of the line, 21 CFR 101.9(c)(8)(iv) and (9), 2016 text. Status: recalled."""

_MINERALS = {"vitamin_d", "calcium", "iron", "potassium"}
_PRESENT = 0.005  # g/g: an optional line is shown from 0.5 g per 100 g


def declaration(amounts: Amounts, piece: Kilogram, market: Market) -> tuple[LabelLine, ...]:
    """The lines of one market's declaration.

    Parameters
    ----------
    amounts
        Unrounded, per gram.
    piece
        Mass of one piece, or of one serving [kg].

    Returns
    -------
    tuple of LabelLine
        A line for which something is not told that could change what is printed shows the range that remains, or
        "not told" where there is no ceiling; the unrounded figure is then what is told.
    """
    lines = EU_LINES if market == "EU" else US_LINES
    return tuple(
        _line(line, amounts[line.key], piece, market)
        for line in lines
        if not line.only_when_present or amounts[line.key].value >= _PRESENT
    )


def _line(line: _Line, declared: Declared, piece: Kilogram, market: Market) -> LabelLine:
    per_100g = declared.value * line.per_gram
    per_piece = per_100g * piece / 0.1
    told = declared.high is not None
    daily = ""
    if market == "US" and line.key in DAILY_VALUES and told:
        share = per_piece / DAILY_VALUES[line.key]
        daily = f"{printed_daily_value(share, mineral=line.key in _MINERALS)} %"
    note = declared.note
    if declared.unknown > 0:
        share_text = f"not told for {declared.unknown:.0%} of the mass" if declared.unknown >= 0.005 else ""
        note = "; ".join(part for part in (share_text, note) if part)
    return LabelLine(
        name=line.name,
        unit=line.unit,
        per_100g=per_100g if told else None,
        per_piece=per_piece if told else None,
        printed_100g=_printed(line, declared, 0.1, market),
        printed_piece=_printed(line, declared, piece, market),
        unknown=declared.unknown,
        daily_value=daily,
        note=note,
    )


def _printed(line: _Line, declared: Declared, mass: Kilogram, market: Market) -> str:
    if declared.high is None:
        return NOT_TOLD
    printer = printed_eu if market == "EU" else printed_us
    scale = line.per_gram * mass / 0.1
    value = printer(line.key, declared.value * scale)
    low, high = printer(line.key, declared.low * scale), printer(line.key, declared.high * scale)
    if low == high or _negligible(line.key, declared, market):
        return value
    return f"{low}–{high}"


def _negligible(key: str, declared: Declared, market: Market) -> bool:
    """Whether what is not told could move the amount by less than half of what an analysis may differ from it."""
    if declared.high is None:
        return False
    limit = 0.5 * tolerance(key, declared.value) if market == "EU" else 0.1 * declared.value
    return max(declared.high - declared.value, declared.value - declared.low) <= limit


def tolerance(key: str, value: float) -> float:
    """How far an authority's analysis may lie from a declared value [g/g]; not room to shade a figure.

    Parameters
    ----------
    key
        A key of the EU declaration; energy has none of its own and takes that of its parts (20 %, judged).
    value
        Declared amount [g/g]; energy in [kcal/g] or [kJ/g].

    Notes
    -----
    Source: ec-tolerances-2012, table 1. Status: recalled.

    Examples
    --------
    >>> round(100 * tolerance("fat", 0.25), 3), round(100 * tolerance("salt", 0.01), 3)
    (5.0, 0.375)
    """
    grams = 100 * value
    if key.startswith("energy"):
        return 0.2 * value
    if key == "salt":
        allowed = 0.375 if grams < 1.25 else 0.2 * grams
    elif key == "saturates":
        allowed = 0.8 if grams < 4 else 0.2 * grams
    else:
        small = 1.5 if key == "fat" else 2.0
        allowed = small if grams < 10 else 0.2 * grams if grams <= 40 else 8.0
    return allowed / 100
