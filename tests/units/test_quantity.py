import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from demoule.errors import BadInput
from demoule.units import Kind, leading, parse
from demoule.units.bounds import EXAMPLES

OUNCE, POUND, CUP = 0.028349523125, 0.45359237, 236.5882365e-6  # exact: nist-hb44, Appendix C

READ = [
    ("730 g", Kind.MASS, 0.73),
    ("730g", Kind.MASS, 0.73),
    ("1 110 g", Kind.MASS, 1.11),
    ("1\u202f110 g", Kind.MASS, 1.11),
    ("1\u2009110\u00a0g", Kind.MASS, 1.11),
    ("12,5 g", Kind.MASS, 0.0125),
    ("12.5 g", Kind.MASS, 0.0125),
    ("0,125 kg", Kind.MASS, 0.125),
    ("1.250 kg", Kind.MASS, 1.25),
    ("1,110.5 g", Kind.MASS, 1.1105),
    ("1.110,5 g", Kind.MASS, 1.1105),
    ("1'110 g", Kind.MASS, 1.11),
    ("1 kg 250 g", Kind.MASS, 1.25),
    ("2.5 oz", Kind.MASS, 2.5 * OUNCE),
    ("1 lb 4 oz", Kind.MASS, POUND + 4 * OUNCE),
    ("½ lb", Kind.MASS, POUND / 2),
    ("¾ cup", Kind.VOLUME, 0.75 * CUP),
    ("1½ cups", Kind.VOLUME, 1.5 * CUP),
    ("1 ½ cups", Kind.VOLUME, 1.5 * CUP),
    ("1 1/2 cups", Kind.VOLUME, 1.5 * CUP),
    ("1-1/2 cups", Kind.VOLUME, 1.5 * CUP),
    ("2 tbsp", Kind.VOLUME, CUP / 8),
    ("3 fl oz", Kind.VOLUME, 3 * CUP / 8),
    ("1 cup + 2 tbsp", Kind.VOLUME, 1.125 * CUP),
    ("250 mL", Kind.VOLUME, 250e-6),
    ("2 leaves", Kind.COUNT, 2),
    ("½ leaf", Kind.COUNT, 0.5),
    ("3", Kind.COUNT, 3),
    (3, Kind.COUNT, 3),
    ("85 °C", Kind.TEMPERATURE, 358.15),
    ("85 C", Kind.TEMPERATURE, 358.15),
    ("85 ℃", Kind.TEMPERATURE, 358.15),
    ("185 °F", Kind.TEMPERATURE, 358.15),
    ("−18 °C", Kind.TEMPERATURE, 255.15),
    ("–18 °C", Kind.TEMPERATURE, 255.15),
    ("300 K", Kind.TEMPERATURE, 300),
    ("5 °C", Kind.TEMPERATURE_DIFFERENCE, 5),
    ("9 °F", Kind.TEMPERATURE_DIFFERENCE, 5),
    ("90 min", Kind.TIME, 5400),
    ("1 h 30", Kind.TIME, 5400),
    ("1h30", Kind.TIME, 5400),
    ("1 h 05", Kind.TIME, 3900),
    ("6 h 50 min", Kind.TIME, 24600),
    ("2 min 30", Kind.TIME, 150),
    ("2 days", Kind.TIME, 172800),
    ("1 day 12 h", Kind.TIME, 129600),
    ("3 months", Kind.TIME, 7889400),
    ("3 mois", Kind.TIME, 7889400),
    ("24 cm", Kind.LENGTH, 0.24),
    ("1.5 in", Kind.LENGTH, 0.0381),
    ("¾″", Kind.LENGTH, 0.01905),
    ("5 ft 3 in", Kind.LENGTH, 1.6002),
    ("60 %", Kind.PERCENT, 0.6),
    ("60%", Kind.PERCENT, 0.6),
    ("0 %", Kind.PERCENT, 0.0),
    ("56.7 °Bx", Kind.BRIX, 0.567),
    ("56,7 Brix", Kind.BRIX, 0.567),
    ("0.50 g/ml", Kind.DENSITY, 500),
    ("1.12", Kind.DENSITY, 1120),
    (1.12, Kind.DENSITY, 1120),
    ("1,125", Kind.DENSITY, 1125),
    ("1120 kg/m³", Kind.DENSITY, 1120),
    ("3.5 kW", Kind.POWER, 3500),
    ("18 W/m²K", Kind.SURFACE_COEFFICIENT, 18),
    ("18 W/(m² K)", Kind.SURFACE_COEFFICIENT, 18),
    ("2 m/s", Kind.SPEED, 2),
    ("24 EUR/h", Kind.PAY, 24 / 3600),
    ("€24/h", Kind.PAY, 24 / 3600),
    ("5.20 EUR/kg", Kind.PRICE, 5.2),
    ("$1/lb", Kind.PRICE, 1 / POUND),
    ("0.28 EUR/kWh", Kind.ENERGY_PRICE, 0.28 / 3.6e6),
    ("180 g/m²", Kind.MASS_PER_AREA, 0.18),
    ("1.8 g per 100 cm²", Kind.MASS_PER_AREA, 0.18),
    ("1.8 g/100 cm2", Kind.MASS_PER_AREA, 0.18),
    ("0.5 oz/sq ft", Kind.MASS_PER_AREA, 0.5 * OUNCE / 0.3048**2),
    ("5.20 EUR per 100 g", Kind.PRICE, 52),
    ("1 zest", Kind.COUNT, 1),
    ("3 whites", Kind.COUNT, 3),
    ("4 jaunes", Kind.COUNT, 4),
    ("1 stick", Kind.COUNT, 1),
    ("2 pinches", Kind.VOLUME, CUP / 384),
    ("150 mg/kg", Kind.CONTENT, 150e-6),
    ("1e3 g", Kind.MASS, 1.0),
    (0.8, Kind.NUMBER, 0.8),
]


@pytest.mark.parametrize(("text", "kind", "value"), READ)
def test_quantities_are_read_as_people_write_them(text, kind, value):
    read = parse(text, kind)
    assert read.value == pytest.approx(value, rel=1e-12)
    assert read.kind is kind
    assert not read.is_range


RANGES = [
    ("12–48 h", Kind.TIME, 43200, 172800),
    ("12-48 h", Kind.TIME, 43200, 172800),
    ("12 to 72 h", Kind.TIME, 43200, 259200),
    ("12 h – 2 days", Kind.TIME, 43200, 172800),
    ("30 min – 1 h 30", Kind.TIME, 1800, 5400),
    ("-1 to 2 °C", Kind.TEMPERATURE, 272.15, 275.15),
    ("−1 to 2 °C", Kind.TEMPERATURE, 272.15, 275.15),
    ("−20 … −18 °C", Kind.TEMPERATURE, 253.15, 255.15),
    ("-20–-18 °C", Kind.TEMPERATURE, 253.15, 255.15),
    ("85–90 °C", Kind.TEMPERATURE, 358.15, 363.15),
    ("500 g – 1 kg", Kind.MASS, 0.5, 1.0),
    ("0.8–3.8 l", Kind.VOLUME, 0.8e-3, 3.8e-3),
]


@pytest.mark.parametrize(("text", "kind", "low", "high"), RANGES)
def test_ranges_are_read_where_they_are_welcome(text, kind, low, high):
    read = parse(text, kind, span=True)
    assert (read.low, read.high) == (pytest.approx(low), pytest.approx(high))
    assert read.is_range
    with pytest.raises(BadInput, match="range"):
        parse(text, kind)


REFUSED = [
    ("", Kind.MASS, "Nothing is written"),
    ("   ", Kind.MASS, "Nothing is written"),
    ("some", Kind.MASS, "is text where a mass belongs"),
    ("730", Kind.MASS, "has no unit"),
    (730, Kind.MASS, "has no unit"),
    ("1,110 g", Kind.MASS, "can mean 1.11 or 1110"),
    ("0 g", Kind.MASS, "is zero"),
    ("0,0 g", Kind.MASS, "is zero"),
    ("-3 g", Kind.MASS, "is negative"),
    ("−3 g", Kind.MASS, "is negative"),
    ("1e9 g", Kind.MASS, "too much"),
    ("1e999 g", Kind.MASS, "not a number that can be used"),
    ("nan g", Kind.MASS, "not a number"),
    ("inf g", Kind.MASS, "not a number"),
    (".inf", Kind.MASS, "not a number"),
    (float("nan"), Kind.MASS, "not a number"),
    (float("inf"), Kind.MASS, "not a number"),
    (True, Kind.MASS, "stands where"),
    ("730 ml", Kind.MASS, "is a volume"),
    ("730 grms", Kind.MASS, "is not known"),
    ("730 g of it", Kind.MASS, "cannot be read after"),
    ("730 g g", Kind.MASS, "do not add up|cannot be read"),
    ("1 oz 2 lb", Kind.MASS, "do not add up"),
    ("10-5 g", Kind.MASS, "backwards"),
    ("1/0 g", Kind.MASS, "not a number that can be used"),
    ("1 h 75", Kind.TIME, "no unit"),
    ("1:30", Kind.TIME, "hours and minutes or minutes and seconds"),
    ("-300 °C", Kind.TEMPERATURE, "too little"),
    ("1000 °C", Kind.TEMPERATURE, "too much"),
    ("85", Kind.TEMPERATURE, "has no unit"),
    ("1120", Kind.DENSITY, "has no unit"),
    ("130 °Bx", Kind.BRIX, "too much"),
    ("-5 %", Kind.PERCENT, "negative"),
    ("1.2.3 g", Kind.MASS, "text|cannot"),
    ("9" * 400 + " g", Kind.MASS, "too long"),
    (10**400, Kind.MASS, "too great"),
    ("g", Kind.MASS, "is text"),
    ("5 EUR", Kind.PRICE, "is a price"),
]


@pytest.mark.parametrize(("text", "kind", "says"), REFUSED)
def test_what_cannot_be_meant_is_refused_with_what_to_write(text, kind, says):
    with pytest.raises(BadInput, match=says) as caught:
        parse(text, kind, span=True)
    assert caught.value.remedy


def test_a_misspelt_unit_is_answered_with_the_nearest():
    with pytest.raises(BadInput) as caught:
        parse("730 grms", Kind.MASS)
    assert caught.value.remedy == "did you mean “grams”?"


def test_zero_and_own_bounds_are_allowed_where_asked():
    assert parse("0 g", Kind.MASS, zero=True).value == 0
    with pytest.raises(BadInput, match="at most 50 %"):
        parse("60 %", Kind.PERCENT, most=0.5)
    with pytest.raises(BadInput, match="at least 10 %"):
        parse("5 %", Kind.PERCENT, least=0.1)


def test_the_unit_decides_between_kinds():
    kinds = (Kind.TEMPERATURE, Kind.BRIX)
    assert parse("118 °C", kinds).kind is Kind.TEMPERATURE
    assert parse("60 °Bx", kinds).kind is Kind.BRIX
    assert parse("60 %", kinds).kind is Kind.BRIX


def test_the_currency_is_told():
    assert parse("5.20 EUR/kg", Kind.PRICE).currency == "EUR"
    assert parse("$4", Kind.MONEY).currency == "USD"
    assert parse("5 g", Kind.MASS).currency == ""


def test_the_examples_of_every_kind_can_be_read():
    for kind, examples in EXAMPLES.items():
        for example in examples.replace(" or ", ", ").split(", "):
            assert parse(example, kind).kind is kind


@pytest.mark.parametrize(
    ("text", "written", "rest"),
    [
        ("12–72 h at 4 °C", "12–72 h", "at 4 °C"),
        ("170 °C 12 min", "170 °C", "12 min"),
        ("700 g cream 35 %", "700 g", "cream 35 %"),
        ("1 lb 4 oz peach purée", "1 lb 4 oz", "peach purée"),
    ],
)
def test_a_quantity_can_lead_a_phrase(text, written, rest):
    found = leading(text, tuple(Kind))
    assert found is not None
    assert (found[0].written, found[1]) == (written, rest)


@pytest.mark.parametrize("text", ["half the cream", "12", "", "to 5 °C"])
def test_a_phrase_without_a_leading_quantity_has_none(text):
    assert leading(text, tuple(Kind)) is None


# Facts of the trade, common practice, no source: what rounding to handy numbers does.
def test_a_heart_of_thirty_grams_is_sold_as_one_ounce():
    ounce = parse("1 oz", Kind.MASS).value
    assert ounce == pytest.approx(0.02835, abs=5e-6)
    assert (ounce - 0.030) / 0.030 == pytest.approx(-0.055, abs=0.001)  # 5.5 % less than it weighs


def test_a_hundred_and_ninety_five_fahrenheit_names_the_top_of_85_to_90_celsius():
    named = parse("195 °F", Kind.TEMPERATURE).value
    exact = parse("85–90 °C", Kind.TEMPERATURE, span=True)
    assert named - exact.high == pytest.approx(5 / 9)  # 194 °F exactly, rounded up to a multiple of five
    assert math.isclose(parse("77 °F", Kind.TEMPERATURE).value, parse("25 °C", Kind.TEMPERATURE).value)


@given(st.decimals(min_value="0.001", max_value="9999", places=3), st.sampled_from([".", ","]), st.booleans())
def test_any_decimal_is_read_the_same_with_point_and_comma(value, mark, spaced):
    plain = f"{value:f}".rstrip("0")
    whole, _, part = plain.partition(".")
    if mark == "," and len(part) == 3 and 1 <= len(whole) <= 3 and whole != "0":
        part += "0"  # three digits after a comma could be thousands; a fourth makes it plain
    if spaced and len(whole) > 3:
        whole = f"{whole[:-3]} {whole[-3:]}"
    text = f"{whole}{mark}{part or '0'} g"
    assert parse(text, Kind.MASS).value == pytest.approx(float(value) / 1000)


@given(st.integers(1, 500), st.integers(0, 59))
def test_hours_and_minutes_add_up(hours, minutes):
    assert parse(f"{hours} h {minutes:02d}", Kind.TIME).value == pytest.approx(hours * 3600 + minutes * 60)


@given(st.integers(0, 20), st.integers(1, 7))
def test_eighths_are_read_as_fractions(whole, eighths):
    text = f"{whole} {eighths}/8 oz" if whole else f"{eighths}/8 oz"
    assert parse(text, Kind.MASS).value == pytest.approx((whole + eighths / 8) * OUNCE)


def value_or_zero(text, kind):
    """The value of a text, or zero when it is refused for people; any other error comes through."""
    try:
        return parse(text, kind, span=True).value
    except BadInput:
        return 0.0


@given(st.text(max_size=80))
def test_any_text_is_read_or_refused_for_people(text):
    for kind in (Kind.MASS, Kind.TIME, Kind.TEMPERATURE):
        assert math.isfinite(value_or_zero(text, kind))


@given(st.text(alphabet="0123456789.,-–/ ½¾eE%°CFgklbozhmin:'\"€$", max_size=20))
def test_any_text_made_of_signs_of_quantities_is_read_or_refused_for_people(text):
    assert math.isfinite(value_or_zero(text, tuple(Kind)))
