"""Reading a quantity as people write it: "2.5 oz", "1 h 30", "12,5 g", "¾ cup", "-1 to 2 °C"."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable
from dataclasses import dataclass

from demoule.errors import BadInput, nearest
from demoule.units.bounds import EXAMPLES, Bounds, such_as, wanted
from demoule.units.number import Written, read_number, tidy
from demoule.units.table import CURRENCIES, Kind, Unit, spellings, unit, units_spelt

__all__ = ["EXAMPLES", "Quantity", "leading", "parse"]

_LONGEST = 60  # signs; nobody writes a longer quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """A quantity as it was read: one value, or a range when `low` and `high` differ.

    Parameters
    ----------
    kind
        What it measures.
    low, high
        In SI; fractions of one for percentages and degrees Brix; pieces for counts; for money per hour and per kWh
        also SI (per second, per joule).
    unit
        Name of the unit in which it was written.
    written
        As the person wrote it.
    """

    kind: Kind
    low: float
    high: float
    unit: str
    written: str

    @property
    def value(self) -> float:
        """The value in SI; the middle of a range."""
        return self.low if self.low == self.high else (self.low + self.high) / 2

    @property
    def is_range(self) -> bool:
        """Whether two values were written."""
        return self.low != self.high

    @property
    def currency(self) -> str:
        """Code of the currency of a price, or empty."""
        code = self.unit.split("/")[0]
        return code if code in CURRENCIES else ""


# The longest spelling that no letter and no stroke follows; "h" may be followed by a digit ("1h30").
_UNIT_TEXT = re.compile(
    f"(?:{'|'.join(re.escape(s) for s in sorted(map(tidy, spellings()), key=len, reverse=True) if s != '1')})"
    r"(?![^\W\d_]|/)",
    re.IGNORECASE,
)
_SEPARATOR = re.compile(r"\s*(?:–|-|…|\.{2,3}|(?<![^\W\d_])(?:to|à)(?![^\W\d_]))\s*", re.IGNORECASE)
_WORD = re.compile(r"[^\s\d]+")
_NOT_A_NUMBER = re.compile(r"[-+]?\s?\.?(?:nan|inf|infinity)\b", re.IGNORECASE)
_CLOCK = re.compile(r"(\d{1,2}):(\d{2})$")
_TIME_BELOW = {"week": "d", "d": "h", "h": "min", "min": "s"}
_SIXTIETHS = {"min": 60, "s": 60, "h": 24, "d": 7}


@dataclass(frozen=True, slots=True)
class _Term:
    number: Written
    unit: Unit | None


def parse(
    text: str | float,
    kind: Kind | Collection[Kind],
    *,
    span: bool = False,
    zero: bool = False,
    least: float | None = None,
    most: float | None = None,
) -> Quantity:
    """Read one quantity.

    Parameters
    ----------
    text
        What a person wrote, or a bare number where the kind has no unit.
    kind
        What is expected; with several, the unit decides.
    span
        Whether a range ("12–48 h") is welcome.
    zero
        Whether zero is, for kinds in which it is senseless by habit.
    least, most
        Bounds in SI, both allowed themselves, instead of those of the kind.

    Returns
    -------
    Quantity
        In SI.

    Raises
    ------
    BadInput
        Saying what was read, what is expected, and how to write it.

    Examples
    --------
    >>> round(parse("1 lb 4 oz", Kind.MASS).value, 6)
    0.56699
    >>> parse("1 h 30", Kind.TIME).value
    5400.0
    >>> q = parse("-1 to 2 °C", Kind.TEMPERATURE, span=True)
    >>> q.low, q.high
    (272.15, 275.15)
    """
    kinds = (kind,) if isinstance(kind, Kind) else tuple(kind)
    written = _as_text(text, kinds)
    tidied = tidy(written)
    if not tidied:
        raise BadInput(f"Nothing is written where {wanted(kinds)} belongs.", remedy=such_as(kinds))
    found = _read(tidied, 0, kinds, written)
    if found is None:
        raise _unreadable(tidied, written, kinds)
    sides, end = found
    if end < len(tidied):
        raise _left_over(tidied, end, sides, written, kinds)
    quantity = _weigh_up(sides, kinds, written, Bounds(zero=zero, least=least, most=most))
    if quantity.is_range and not span:
        raise BadInput(f"“{written}” is a range; one value is expected.", remedy=such_as(kinds))
    return quantity


def leading(text: str, kind: Kind | Collection[Kind]) -> tuple[Quantity, str] | None:
    """The quantity with a unit with which a text begins, and the tidied rest; None when it begins with none."""
    kinds = (kind,) if isinstance(kind, Kind) else tuple(kind)
    tidied = tidy(text)
    try:
        found = _read(tidied, 0, kinds, text)
    except BadInput:
        return None
    if found is None or all(term.unit is None for side in found[0] for term in side):
        return None
    sides, end = found
    return _weigh_up(sides, kinds, tidied[:end].strip(), Bounds()), tidied[end:].strip()


def _as_text(text: str | float, kinds: tuple[Kind, ...]) -> str:
    if isinstance(text, bool):
        raise BadInput(f"“{'yes' if text else 'no'}” stands where {wanted(kinds)} belongs.", remedy=such_as(kinds))
    if isinstance(text, str):
        if len(text) > _LONGEST:
            raise BadInput(f"“{text[:30]}…” is too long for {wanted(kinds)}.", remedy=such_as(kinds))
        return text.strip()
    if isinstance(text, int) and abs(text) > 10**20:
        raise BadInput("The number is too great.", remedy=such_as(kinds))
    return repr(text)


def _read(text: str, start: int, kinds: tuple[Kind, ...], written: str) -> tuple[list[list[_Term]], int] | None:
    first = _side(text, start, kinds, written)
    if first is None:
        return None
    terms, end = first
    separator = _SEPARATOR.match(text, end)
    if separator:
        second = _side(text, separator.end(), kinds, written)
        if second is not None:
            return [terms, second[0]], second[1]
    return [terms], end


def _side(text: str, start: int, kinds: tuple[Kind, ...], written: str) -> tuple[list[_Term], int] | None:
    """Terms that are added up: "1 h 30", "1 lb 4 oz", "5.20 EUR", "€ 5.20"."""
    terms: list[_Term] = []
    position = start
    prefix, position = _currency_before(text, position)
    while True:
        if terms and not re.match(r"\s?\+?\s?[\d¼-¾⅐-⅞]", text[position:]):
            break
        step = position + (len(text[position:]) - len(text[position:].lstrip(" +"))) if terms else position
        number = read_number(text, step)
        if number is None:
            break
        unit_read, after = _unit_after(text, number.end, kinds, written)
        if prefix and not terms:
            unit_read, after = _prefixed(prefix, text, number.end, kinds, written)
        if terms and not _goes_on(terms[-1].unit, unit_read):
            break
        terms.append(_Term(number, unit_read))
        position = after
        if unit_read is None:
            break
    return (terms, position) if terms else None


def _goes_on(before: Unit | None, after: Unit | None) -> bool:
    """Whether a second number belongs to the first ("1 lb 4 oz", "1 h 30") and is not something else."""
    if before is None or before.kind is Kind.TEMPERATURE:
        return False
    return before.kind is Kind.TIME if after is None else after.dimension == before.dimension


def _currency_before(text: str, position: int) -> tuple[str, int]:
    for code, sign in CURRENCIES.items():
        for name in (code, sign):
            if text.startswith(name, position):
                return code, position + len(name) + (text[position + len(name) : position + len(name) + 1] == " ")
    return "", position


def _prefixed(code: str, text: str, end: int, kinds: tuple[Kind, ...], written: str) -> tuple[Unit, int]:
    per = re.compile(r"\s?(?:/|per )\s?").match(text, end)
    if per is None:
        return unit(code), end
    return _known(f"{code}/{text[per.end() :]}", kinds, written), len(text)


_PER = re.compile(r"([^\s\d/]+)\s?(?:/|per )\s?(\d+ [A-Za-z]+[23²³]?|[A-Za-z0-9]\S*)")


def _unit_after(text: str, end: int, kinds: tuple[Kind, ...], written: str) -> tuple[Unit | None, int]:
    start = end + (text[end : end + 1] == " ")
    per = _PER.match(text, start)
    joined = f"{per[1]}/{per[2]}" if per else ""
    if per and joined != per[0] and units_spelt(joined):  # "24 EUR per h", "5 EUR / kg"
        return _known(joined, kinds, written), per.end()
    match = _UNIT_TEXT.match(text, start)
    if match:
        return _known(match[0], kinds, written), match.end()
    return None, end


def _known(spelling: str, kinds: tuple[Kind, ...], written: str) -> Unit:
    found = units_spelt(spelling)
    if not found:
        hint = nearest(spelling, spellings(kinds))
        raise BadInput(
            f"“{written}”: the unit “{spelling}” is not known.",
            remedy=f"did you mean “{hint}”?" if hint else such_as(kinds),
        )
    for candidate in found:
        if candidate.kind in kinds:
            return candidate
    raise BadInput(
        f"“{written}” is a {found[0].kind.value}; {wanted(kinds)} is expected.",
        remedy=such_as(kinds),
    )


def _unreadable(tidied: str, written: str, kinds: tuple[Kind, ...]) -> BadInput:
    if _NOT_A_NUMBER.match(tidied):
        return BadInput(f"“{written}” is not a number that can be weighed or measured.", remedy=such_as(kinds))
    return BadInput(f"“{written}” is text where {wanted(kinds)} belongs.", remedy=such_as(kinds))


def _left_over(tidied: str, end: int, sides: list[list[_Term]], written: str, kinds: tuple[Kind, ...]) -> BadInput:
    if _CLOCK.match(tidied):
        hours, minutes = tidied.split(":")
        return BadInput(
            f"“{written}” can mean hours and minutes or minutes and seconds.",
            remedy=f"write {hours} h {minutes} or {hours} min {minutes}.",
        )
    word = _WORD.match(tidied[end:].strip())
    if word and sides[-1][-1].unit is None:
        _known(word[0], kinds, written)  # says that the unit is not known, with the nearest
    return BadInput(
        f"“{written}”: “{tidied[end:].strip()}” cannot be read after “{tidied[:end].strip()}”.", remedy=such_as(kinds)
    )


def _weigh_up(sides: list[list[_Term]], kinds: tuple[Kind, ...], written: str, bounds: Bounds) -> Quantity:
    units = [next((t.unit for t in side if t.unit), None) for side in sides]
    shared = units[-1] or units[0]
    if shared is None:
        shared = _unit_of_bare(sides, kinds, written)
    ends = [_sum(side, shared, kinds, written, bounds) for side in sides]
    for side_unit in units:
        if side_unit is not None and side_unit.dimension != shared.dimension:
            raise BadInput(
                f"“{written}” mixes a {side_unit.kind.value} and a {shared.kind.value}.", remedy=such_as(kinds)
            )
    low, high = ends[0], ends[-1]
    if high < low:
        raise BadInput(f"“{written}”: the range runs backwards.", remedy="write the smaller value first.")
    return Quantity(kind=shared.kind, low=low, high=high, unit=shared.name, written=written)


def _unit_of_bare(sides: Iterable[list[_Term]], kinds: tuple[Kind, ...], written: str) -> Unit:
    """The unit of a number without one, where the kind leaves no doubt."""
    value = max(min(abs(v) for v in t.number.values) for side in sides for t in side)
    if Kind.COUNT in kinds:
        return unit("piece")
    if Kind.NUMBER in kinds:
        return unit("1")
    if Kind.DENSITY in kinds and 0.02 <= value <= 3:  # relative to water: nothing in a kitchen is outside
        return unit("g/ml")
    raise BadInput(f"“{written}” has no unit; {wanted(kinds)} is expected.", remedy=such_as(kinds))


def _sum(terms: list[_Term], shared: Unit, kinds: tuple[Kind, ...], written: str, bounds: Bounds) -> float:
    if len(terms) == 1:
        of = terms[0].unit or shared
        candidates = [of.in_si(value) for value in terms[0].number.values]
        complaints = [bounds.complaint(si, of, written) for si in candidates]
        fitting = [si for si, complaint in zip(candidates, complaints, strict=True) if complaint is None]
        if len(fitting) > 1:
            first, second = (f"{v:.10g}" for v in terms[0].number.values)
            raise BadInput(
                f"“{written}” can mean {first} or {second} {of.sign}.",
                remedy=f"write {first} (a point) or {_spaced(second)} (a space).",
            )
        if not fitting:
            complaint = complaints[0]
            assert complaint is not None
            raise complaint
        return fitting[0]
    return _chain(terms, kinds, written, bounds)


def _spaced(number: str) -> str:
    return f"{int(float(number)):,}".replace(",", " ")


def _chain(terms: list[_Term], kinds: tuple[Kind, ...], written: str, bounds: Bounds) -> float:
    """Add up "1 h 30" or "1 lb 4 oz": units of one kind, each smaller than the one before."""
    total = 0.0
    before: Unit | None = None
    for term in terms:
        value, of = term.number.values[0], term.unit
        if of is None:
            below = _TIME_BELOW.get(before.name) if before else None
            if below is None or value >= _SIXTIETHS[below]:
                raise BadInput(f"“{written}”: the last number has no unit.", remedy=such_as(kinds))
            of = unit(below)
        if before is not None and (of.dimension != before.dimension or of.factor >= before.factor or of.zero):
            raise BadInput(f"“{written}”: “{before.sign}” and “{of.sign}” do not add up.", remedy=such_as(kinds))
        total += of.in_si(value)
        before = of
    assert before is not None
    complaint = bounds.complaint(total, before, written)
    if complaint is not None:
        raise complaint
    return total
