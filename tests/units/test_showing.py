import math
import re

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from demoule.units import (
    Kind,
    both,
    convert,
    decimals_for,
    household,
    number,
    parse,
    shown,
    shown_range,
    to_si,
    unit,
)

N = "\u202f"

SHOWN = [
    ((72.43, "g", 69, 76), "72 g"),
    ((72.43, "g", 72.2, 72.6), "72.4 g"),
    ((72.43, "g", 72.3, 72.5), "72.43 g"),
    ((1234.5, "g", 1190, 1280), "1 230 g"),
    ((1110, "g"), "1 110 g"),
    ((5.0, "g"), "5 g"),
    ((-18, "°C"), "−18 °C"),
    ((-2.345, "°C", -2.6, -2.1), "−2.3 °C"),
    ((0.6, "mm", 0.45, 0.75), "0.60 mm"),
    ((0.853, "1", 0.84, 0.866), "0.853"),
    ((53.4, "%", 49, 58), "53 %"),
    ((1083.2, "kg/m3", 1080, 1086), "1 083 kg/m³"),
    ((0, "g"), "0 g"),
    ((-0.0004, "g", -0.5, 0.5), "0.0 g"),
    ((0.6923, "EUR"), "€0.69"),
    ((12.5, "CHF"), "12.50 CHF"),
    ((2, "leaf"), "2 leaves"),
    ((1, "leaf"), "1 leaf"),
    ((0.5, "leaf"), "½ leaf"),
    ((6.75, "leaf"), "6¾ leaves"),
    ((18, "W/m2K"), "18 W/m²K"),
    ((None, "g"), "not known"),
    ((float("nan"), "g"), "not known"),
]


@pytest.mark.parametrize(("given_", "text"), SHOWN)
def test_a_value_shows_the_digits_that_its_band_allows(given_, text):
    assert shown(*given_).replace(N, " ") == text


TIMES = [
    ((6.83, "h", 6.6, 7.1), "6 h 50"),
    ((6.83, "h", 5.6, 8.6), "6 h 45"),
    ((1.837, "h", 1.5, 2.2), "1 h 50"),
    ((2.0, "h"), "2 h"),
    ((1.5, "h"), "1 h 30"),
    ((1 + 5 / 60, "h"), "1 h 05"),
    ((0.4, "h"), "24 min"),
    ((90, "s"), "90 s"),
    ((150, "s"), "2 min 30 s"),
    ((20, "min"), "20 min"),
    ((2, "min", 1.5, 2.5), "2 min"),
    ((36, "h"), "36 h"),
    ((3, "d"), "3 days"),
    ((1, "d"), "1 day"),
    ((3 * 30.4375, "d"), "3 months"),
    ((60, "min"), "1 h"),
]


@pytest.mark.parametrize(("given_", "text"), TIMES)
def test_a_time_is_shown_as_people_say_it(given_, text):
    assert shown(*given_).replace(N, " ") == text


US = [
    ((85, "°C"), "185 °F"),
    ((25, "°C"), "77 °F"),
    ((-18, "°C"), "−0.4 °F"),
    ((5, "K"), "9 °F"),
    ((28.349523125, "g"), "1 oz"),
    ((30, "g"), "1.06 oz"),
    ((1133.980925, "g"), "2 lb 8 oz"),
    ((1, "kg"), "2.2 lb"),
    ((240, "ml"), "8.12 fl oz"),
    ((38.1, "mm"), "1.5 in"),
    ((1, "EUR/kg"), "€/lb"),
    ((20, "min"), "20 min"),
    ((2, "leaf"), "2 leaves"),
]


@pytest.mark.parametrize(("given_", "text"), US)
def test_a_us_reader_sees_us_units(given_, text):
    assert text in shown(*given_, system="us").replace(N, " ")


def test_french_has_a_comma_and_its_own_words():
    assert shown(1234.5, "g", 1234.2, 1234.8, language="fr") == f"1{N}234,5{N}g"
    assert shown(0.6923, "EUR", language="fr") == f"0,69{N}€"
    assert shown(2, "leaf", language="fr") == f"2{N}feuilles"
    assert shown(1.5, "leaf", language="fr") == f"1½{N}feuille"
    assert shown(3, "d", language="fr") == f"3{N}jours"
    assert shown(None, "g", language="fr") == "inconnu"


def test_a_scale_shows_its_own_steps():
    assert shown(1234.4, "g", step=1) == f"1{N}234{N}g"
    assert shown(1.26, "g", step=0.1) == f"1.3{N}g"
    assert shown(1.26, "g", step=0.5) == f"1.5{N}g"
    assert shown(13.4, "g", step=5) == f"15{N}g"
    assert shown(6.6, "leaf", step=0.5) == f"6½{N}leaves"


RANGES = [
    ((1.2, 1.8, "h"), "1 h 15–1 h 45"),
    ((6.1, 10.2, "h"), "6–10 h"),
    ((12, 48, "h"), "12–48 h"),
    ((-2.6, -2.1, "°C"), "−2.6 – −2.1 °C"),
    ((85, 90, "°C"), "85–90 °C"),
    ((0.45, 0.75, "mm"), "0.45–0.75 mm"),
    ((0.6, 0.9, "EUR"), "€0.60–€0.90"),
    ((5, 5, "g"), "5 g"),
    ((3, None, "d"), "at least 3 days"),
    ((None, 3, "d"), "at most 3 days"),
    ((None, None, "d"), "not known"),
]


@pytest.mark.parametrize(("given_", "text"), RANGES)
def test_a_band_shows_its_ends(given_, text):
    assert shown_range(*given_).replace(N, " ") == text


def test_both_systems_stand_beside_each_other():
    assert both(85, "°C") == f"85{N}°C / 185{N}°F"
    assert both(25, "°C", first="us") == f"77{N}°F / 25{N}°C"
    assert both(20, "min") == f"20{N}min"  # the same in both


# Facts of the trade, common practice, no source: what rounding does to the printed pairs.
def test_the_pair_of_85_to_90_celsius_is_185_to_194_fahrenheit_and_no_195():
    assert shown_range(85, 90, "°C", system="us") == f"185–194{N}°F"
    assert shown(convert(195, "°F", "°C"), "°C") == f"90.6{N}°C"


def test_thirty_grams_in_household_measures_are_an_ounce_and_say_what_is_lost():
    measure = household(30, "g")
    assert measure.text == f"1{N}oz"
    assert measure.value == pytest.approx(0.028349523125)
    assert measure.difference == pytest.approx(-0.055, abs=0.001)


HOUSEHOLD = [
    (177.441177375, "ml", "¾ cup"),
    (80, "ml", "⅓ cup"),
    (240, "ml", "1 cup"),
    (250, "ml", "1 cup + 1 tbsp"),
    (480, "ml", "2 cups"),
    (15, "ml", "1 tbsp"),
    (30, "ml", "2 tbsp"),
    (2.5, "ml", "½ tsp"),
    (56, "g", "2 oz"),
    (14, "g", "½ oz"),
    (453.6, "g", "1 lb"),
    (600, "g", "1 lb 5 oz"),
]


@pytest.mark.parametrize(("value", "name", "text"), HOUSEHOLD)
def test_household_measures_are_natural(value, name, text):
    assert household(value, name).text.replace(N, " ") == text


@given(st.floats(0.5, 20000), st.sampled_from(["g", "ml"]))
def test_a_household_measure_reads_back_to_what_it_says(value, name):
    measure = household(value, name)
    kind = Kind.MASS if name == "g" else Kind.VOLUME
    assert parse(measure.text, kind).value == pytest.approx(measure.value, rel=1e-9)
    if value >= 15:
        # Half a step: a quarter of a tablespoon in one and a quarter is the worst from 15 ml on.
        assert abs(measure.difference) <= 0.20
    if value >= 60:
        assert abs(measure.difference) <= 0.07  # a quarter of a tablespoon in four
    assert measure.difference == pytest.approx((measure.value - to_si(value, name)) / to_si(value, name))


@given(st.floats(-1e6, 1e6).filter(lambda v: abs(v) > 1e-3), st.floats(1e-4, 0.5))
def test_rounding_never_moves_a_value_by_more_than_half_its_error(value, relative):
    error = abs(value) * relative
    assert abs(round(value, decimals_for(value, error)) - value) <= 0.5 * error * (1 + 1e-9) + 1e-9


@given(st.floats(-1e5, 1e5), st.integers(0, 3))
def test_a_number_reads_back(value, decimals):
    text = number(value, decimals)
    read = parse(text, Kind.NUMBER).value
    assert read == pytest.approx(round(value, decimals), abs=1e-9)


@given(
    st.sampled_from(["g", "ml", "°C", "mm", "%", "°Bx", "kg/m3", "kJ", "W/m2K", "cm2"]),
    st.floats(0.01, 0.2),
    st.floats(1, 400),
    st.sampled_from(["en", "fr"]),
)
def test_what_is_shown_reads_back_within_its_band(name, relative, value, language):
    if name == "°Bx":
        value = value / 5
    text = shown(value, name, value * (1 - relative), value * (1 + relative), language=language)
    u = unit(name)
    assume(not re.match(r"\d,\d{3}\D", text))  # "1,234" in French can mean both
    read = parse(text, u.kind, zero=True)
    assert u.from_si(read.value) == pytest.approx(value, abs=value * relative)


@given(st.floats(1, 400 * 3600), st.floats(0.02, 0.3))
def test_a_time_shown_lies_within_its_band(seconds, relative):
    text = shown(seconds, "s", seconds * (1 - relative), seconds * (1 + relative))
    assert parse(text, Kind.TIME).value == pytest.approx(seconds, abs=max(seconds * relative, 1.0))


@given(st.floats(allow_nan=True, allow_infinity=True), st.sampled_from(["g", "h", "EUR", "leaf", "°C", "1"]))
def test_anything_can_be_shown(value, name):
    for system in ("metric", "us"):
        assert shown(value, name, system=system)
    if not math.isfinite(value):
        assert shown(value, name) == "not known"
