import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from demoule.errors import BadInput
from demoule.units import Kind, convert, from_si, to_si, unit
from demoule.units.table import _UNITS

# Exact by definition. Source: nist-hb44, Appendix C, exact values, and nist-sp811, Appendix B. Status: quoted.
EXACT = [
    (1, "lb", "g", 453.59237),
    (1, "oz", "g", 28.349523125),
    (1, "fl oz", "ml", 29.5735295625),
    (1, "pint", "ml", 473.176473),
    (1, "gallon", "ml", 3785.411784),
    (1, "cubic inch", "ml", 16.387064),
    (1, "imperial fl oz", "ml", 28.4130625),
    (1, "imperial gallon", "ml", 4546.09),
    (1, "imperial pint", "ml", 568.26125),
    (1, "cup", "ml", 236.5882365),
    (1, "tbsp", "ml", 14.78676478125),
    (1, "tsp", "ml", 4.92892159375),
    (1, "quart", "ml", 946.352946),
    (1, "in", "mm", 25.4),
    (1, "kcal", "kJ", 4.184),
    (1, "kcal IT", "kJ", 4.1868),
    (1, "bar", "Pa", 100000),
    (1, "atm", "Pa", 101325),
    (1, "Btu", "J", 1055.05585262),
]

# Source: the same factors, worked by hand in exact arithmetic (2.5 x 453.59237 and so on).
CASES = [
    (2.5, "lb", "g", 1133.980925),
    (0.75, "cup", "ml", 177.441177375),
    (6, "fl oz", "ml", 177.441177375),
    (1, "quart", "ml", 946.352946),
    (350, "°F", "°C", 176.66666666666667),
    (41, "°F", "°C", 5),
    (-18, "°C", "°F", -0.4),
    (240, "kcal", "kJ", 1004.16),
    (1, "imperial gallon", "gallon", 1.2009499255),
    (2, "tbsp", "ml", 29.5735295625),
    (500, "g", "oz", 17.63698097),
    (85, "°C", "°F", 185),
    (77, "°F", "°C", 25),
    (0, "K", "°C", -273.15),
]


@pytest.mark.parametrize(("value", "one", "other", "expected"), [*EXACT, *CASES])
def test_factors_are_those_of_the_tables(value, one, other, expected):
    assert convert(value, one, other) == pytest.approx(expected, rel=1e-9)


def test_psi_is_a_pound_force_on_a_square_inch():
    # 6 894.757 Pa. Source: nist-sp811, Appendix B, printed to seven digits. Status: recalled.
    assert convert(1, "psi", "Pa") == pytest.approx(6894.757, abs=5e-4)


def test_a_hundred_grams_of_forty_per_cent_spirit_hold_what_the_alcohol_tables_say():
    # 0.789 24 g/ml of ethanol at 20 °C. Source: OIML alcoholometric tables. Status: recalled.
    assert to_si(100, "ml") * to_si(40, "%") * to_si(0.78924, "g/ml") == pytest.approx(to_si(31.5696, "g"))


@pytest.mark.parametrize(
    "name",
    "g kg mg mg/kg g/m2 ml l mm cm cm2 m2 °C K min h s d % °Bx 1 kg/m3 g/ml mPa s kJ kcal kJ/100 g kWh EUR EUR/kg "
    "EUR/h W/m2K W/mK kJ/kgK J/kg".replace("mPa s", "mPa_s")
    .replace("kJ/100 g", "kJ/100_g")
    .split(),
)
def test_every_unit_of_a_figure_is_known_and_keeps_its_value_there_and_back(name):
    name = name.replace("_", " ")
    assert from_si(to_si(12.5, name), name) == pytest.approx(12.5, rel=1e-12)


@given(st.sampled_from(_UNITS), st.sampled_from(_UNITS), st.floats(-1e6, 1e6))
def test_converting_there_and_back_returns_the_value(one, other, value):
    if unit(one.name) is not one or unit(other.name) is not other or one.dimension != other.dimension:
        return
    there = convert(value, one.name, other.name)
    scale = max(abs(value), abs(one.zero - other.zero) / one.factor)
    assert convert(there, other.name, one.name) == pytest.approx(value, abs=1e-9 * max(scale, 1e-9))


@given(st.floats(-1000, 1000), st.floats(-1000, 1000))
def test_a_difference_of_temperatures_has_no_offset(a, b):
    fahrenheit = convert(a, "°C", "°F") - convert(b, "°C", "°F")
    assert fahrenheit == pytest.approx(1.8 * (a - b), abs=1e-9)


def test_units_of_different_things_do_not_mix():
    with pytest.raises(BadInput, match=r"“g” is a mass and “ml” a volume"):
        convert(1, "g", "ml")
    with pytest.raises(BadInput, match="price"):
        convert(1, "EUR", "USD")


def test_an_unknown_unit_is_answered_with_the_nearest():
    with pytest.raises(BadInput) as caught:
        unit("kg/m4")
    assert "kg/m3" in caught.value.remedy


def test_a_percentage_is_a_fraction_without_rounding_noise():
    assert unit("%").in_si(35) == 0.35
    assert unit("g").in_si(730) == 0.73
    assert math.isclose(unit("°Bx").in_si(56.7), 0.567)
    assert unit("%").kind is Kind.PERCENT
