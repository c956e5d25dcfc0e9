from __future__ import annotations

import math

import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st

from demoule.cold.programme import Room
from demoule.cold.surface import (
    _air,
    forced_convection,
    in_series,
    moisture_heating,
    moisture_table,
    radiation,
    surface_coefficient,
)
from demoule.errors import BadInput
from demoule.physics.frost import dew_point


@pytest.mark.parametrize("temperature", [233.15, 253.15, 273.15, 293.15, 313.15])
def test_air_agrees_with_a_reference_library(temperature):
    # Source: CoolProp 7, air as a mixture, 1 atm. 1.5 %: the error of Sutherland's law in this range.
    k, nu, prandtl = _air(temperature)
    density = PropsSI("D", "T", temperature, "P", 101325, "Air")
    assert k == pytest.approx(PropsSI("L", "T", temperature, "P", 101325, "Air"), rel=0.015)
    assert nu == pytest.approx(PropsSI("V", "T", temperature, "P", 101325, "Air") / density, rel=0.015)
    assert prandtl == pytest.approx(PropsSI("Prandtl", "T", temperature, "P", 101325, "Air"), rel=0.02)


def test_without_wind_pure_conduction_is_left():
    # Nu = 2 round a sphere in still, weightless air (law).
    k, *_ = _air(263.15)
    assert forced_convection(263.15, 0.0, 0.05) == pytest.approx(2 * k / 0.05)


@given(st.floats(0.1, 15.0), st.floats(1.05, 3.0), st.floats(0.01, 0.2))
def test_more_wind_takes_more_heat_and_a_larger_piece_less_per_area(speed, more, diameter):
    h = forced_convection(253.15, speed, diameter)
    assert forced_convection(253.15, speed * more, diameter) > h
    assert forced_convection(253.15, speed, diameter * more) < h


@given(st.floats(200.0, 330.0), st.floats(200.0, 330.0))
def test_radiation_is_the_exact_exchange(surface, walls):
    exact = 0.9 * 5.670374419e-8 * (surface**4 - walls**4)
    assert radiation(surface, walls) * (surface - walls) == pytest.approx(exact, rel=1e-9, abs=1e-9)


def test_moisture_brings_what_the_analogy_of_heat_and_mass_says():
    # q = h [(L/cp) Le^(-2/3) (w_air − w_surface)]: humidity ratios of air at 20 °C, 60 % (8.73 g/kg) and saturated at
    # 5 °C (5.40 g/kg), ASHRAE Fundamentals 2017 ch. 1 by PsychroLib; Le 0.87.
    expected = 2.5e6 / 1006 * 0.87 ** (-2 / 3) * (8.73e-3 - 5.40e-3)
    assert moisture_heating(278.15, 293.15, 0.6) == pytest.approx(expected, rel=0.01)


def test_frost_brings_the_heat_of_freezing_too():
    # Saturated over ice at −10 °C: 1.606 g/kg (ASHRAE Fundamentals 2017 ch. 1); 2.50 and 0.3336 MJ/kg.
    expected = 2.8336e6 / 1006 * 0.87 ** (-2 / 3) * (8.73e-3 - 1.606e-3)
    assert moisture_heating(263.15, 293.15, 0.6) == pytest.approx(expected, rel=0.003)


def test_nothing_settles_above_the_dew_point():
    dew = dew_point(293.15, 0.5)
    assert moisture_heating(dew + 0.1, 293.15, 0.5) == 0.0
    assert moisture_heating(dew - 2.0, 293.15, 0.5) > 0.0
    low, extra = moisture_table(293.15, 0.5)
    assert low < 230
    assert extra[0] > extra[-1] == 0.0


@pytest.mark.parametrize(
    ("room", "low", "high"),
    [
        # Usual ranges of handbooks for a small piece (common practice, no source).
        (Room(name="store", air=253.15), 5.0, 13.0),
        (Room(name="bench", air=293.15), 7.0, 13.0),
        (Room(name="blast", air=238.15, air_speed=3.0), 20.0, 40.0),
        (Room(name="refrigerator", air=277.15, air_speed=0.5), 10.0, 20.0),
    ],
)
def test_rooms_take_heat_as_handbooks_have_it(room, low, high):
    found = surface_coefficient(room, 0.053, 268.15)
    assert low < found.coefficient < high
    assert 0 < found.convective < 1
    assert found.assumed
    assert found.basis


def test_a_stated_coefficient_wins_and_a_learned_one_is_surer():
    stated = surface_coefficient(Room(name="mine", air=253.15, surface=12.0), 0.05, 263.15)
    learned = surface_coefficient(Room(name="mine", air=253.15, surface=12.0, learned="3 May, probe"), 0.05, 263.15)
    assert stated.coefficient == learned.coefficient == 12.0
    assert learned.band < stated.band == 0.30  # ±30 % from measured cooling curves (ashrae-4707, quoted)
    assert stated.assumed
    assert "learned here" in learned.assumed[0]
    assert "3 May, probe" in learned.assumed[0]


def test_resistances_add():
    assert in_series(20.0, 30.0) == pytest.approx(12.0)


@pytest.mark.parametrize(
    "room",
    [
        Room(name="x", air=-5.0),
        Room(name="x", air=math.nan),
        Room(name="x", air=253.15, surface=0.0),
        Room(name="x", air=253.15, surface=-8.0),
        Room(name="x", air=253.15, air_speed=-1.0),
        Room(name="x", air=293.15, humidity=1.3),
    ],
)
def test_impossible_rooms_are_refused(room):
    with pytest.raises(BadInput, match="“x”"):
        surface_coefficient(room, 0.05, 263.15)
