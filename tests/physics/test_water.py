from __future__ import annotations

import warnings

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI

from demoule.composition import Composition, Constituent
from demoule.physics import (
    boiling_point,
    boiling_stretched,
    freezing_point,
    freezing_stretched,
    glass_onset,
    ice_fraction,
    ice_share,
    latent_heat_of_ice,
    pressure_at_altitude,
    solids_at_boiling_point,
    steam_pressure,
    water_activity,
    water_activity_over_ice,
    water_activity_stretched,
    water_held,
    water_left_at_boiling_point,
    water_lost_to_solids,
    water_phase,
)
from demoule.physics.published import rows
from demoule.units import FloatArray

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    from iapws import IAPWS95
    from iapws._iapws import _Ice


def mix(**grams: float) -> FloatArray:
    return Composition.of({Constituent[name.upper()]: mass for name, mass in grams.items()}).vector


@pytest.mark.parametrize("percent", [10, 40, 65, 80, 90])
@pytest.mark.parametrize("celsius", [-10, 25, 110])
def test_sucrose_follows_the_published_equation_to_the_letter(percent, celsius):
    # Source: starzak-peacock, abstract; constants read from the data, the equation written out once more here.
    constant = {r["quantity"]: float(r["value"]) for r in rows("starzak_peacock")}
    moles, water, T = percent / 342.297, (100 - percent) / 18.015, celsius + 273.15
    x = moles / (moles + water)
    exponent = constant["Q"] / (8.314462618 * T) * x**2 * (1 + constant["a"] * x + constant["b"] * x**2)
    expected = (1 - x) * np.exp(exponent)
    assert water_activity(mix(sucrose=percent, water=100 - percent), T) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("celsius", [0, -2, -5, -10, -15, -20, -30])
def test_ice_agrees_with_the_reference_formulation(celsius):
    # Source: iapws-06, evaluated by a library that is not ours.
    T = celsius + 273.15
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        liquid, ice = IAPWS95(T=T, P=0.101325), _Ice(T, 0.101325)
    assert latent_heat_of_ice(T) == pytest.approx(1e3 * (liquid.h - ice["h"]), abs=500)
    # The reference itself is 2e-5 off at 0 °C.
    assert water_activity_over_ice(T) == pytest.approx(np.exp((ice["g"] - liquid.g) / (0.461518 * T)), abs=6e-5)


@pytest.mark.parametrize(
    ("fluid", "solute", "percents", "tolerance"),
    [
        ("MNA", "salt", (2, 5, 8, 10, 15, 20), 0.06),
        ("MGL", "glycerol", (20, 25, 30, 36, 40), 0.2),
        ("MEA2", "ethanol", (11, 20, 30, 40, 50, 60), 0.15),
    ],
)
def test_freezing_points_agree_with_a_library_of_coolants(fluid, solute, percents, tolerance):
    # CoolProp, incompressible solutions after Melinder (2010).
    for percent in percents:
        library = PropsSI("T_FREEZE", "T", 293.15, "P", 101325, f"INCOMP::{fluid}[{percent / 100}]")
        ours = freezing_point(mix(**{solute: percent, "water": 100 - percent}))
        assert ours == pytest.approx(library, abs=tolerance)


@pytest.mark.parametrize("celsius", [1, 20, 60, 100, 120])
def test_steam_pressure_agrees_with_a_library(celsius):
    T = celsius + 273.15
    assert steam_pressure(T) == pytest.approx(PropsSI("P", "T", T, "Q", 0, "Water"), rel=2e-4)


def test_pure_water_boils_and_freezes_where_water_does():
    water = mix(water=1)
    assert boiling_point(water) == pytest.approx(373.124, abs=0.002)  # 1 atm, IAPWS
    assert freezing_point(water) == 273.15
    assert ice_share(water, 272.15) == 1.0
    assert water_activity(water, 300.0) == 1.0


def test_the_sucrose_eutectic_is_met():
    # About 62.4 % and -13.9 °C (handbooks, recalled): ice line and solubility cross there.
    assert freezing_point(mix(sucrose=62.4, water=37.6)) - 273.15 == pytest.approx(-13.9, abs=0.4)


@pytest.mark.parametrize("minerals", [{"ash": 0.70}, {"ash": 0.59, "salt": 0.11}])
def test_milk(minerals):
    # Cow milk freezes at -0.55 °C (leighton-1927, read) or between -0.52 and -0.55 °C (dairy practice, no source),
    # however its minerals are written down.
    milk = mix(water=87.7, lactose=4.9, protein=3.3, milk_fat=3.4, **minerals)
    assert freezing_point(milk) - 273.15 == pytest.approx(-0.54, abs=0.035)
    assert 373.12 < boiling_point(milk) < 374.0


def test_the_swollen_solids_keep_some_water_from_freezing():
    # Of fish, about a tenth of the water stays liquid at -30 °C and below (refrigeration texts, recalled).
    fish = mix(water=80, protein=18, other_fat=0.8, ash=1.2)
    assert 0.04 < 1 - ice_share(fish, 233.15) < 0.12


def test_flour_and_sponge_have_the_activity_that_bakers_know():
    # Flour of 14 % moisture about 0.70; a moist sponge 0.80 to 0.90 (recalled).
    flour = mix(water=14, starch=71, protein=11, fibre=3, ash=0.6, sucrose=0.4)
    sponge = mix(water=25, sucrose=27, starch=18, protein=9, other_fat=18, ash=1, glucose=1)
    assert water_activity(flour, 298.15) == pytest.approx(0.70, abs=0.06)
    assert 0.80 < water_activity(sponge, 298.15) < 0.90
    assert water_activity_stretched(flour)


def test_invert_lowers_activity_and_freezing_more_than_the_sucrose_it_came_from():
    before = mix(sucrose=60, water=40)
    after = mix(glucose=31.58, fructose=31.58, water=36.84)  # the water of inversion taken up
    assert water_activity(after, 298.15) < water_activity(before, 298.15) - 0.02
    assert freezing_point(after) < freezing_point(before) - 3


def test_a_glucose_syrup_acts_by_the_length_of_its_saccharides():
    # The same dry mass: the lower the DE, the less it depresses.
    low = mix(glucose=1, maltose=5, maltotriose=6, dextrins=88, water=300)
    high = mix(glucose=36, maltose=20, maltotriose=13, dextrins=31, water=300)
    sucrose = mix(sucrose=100, water=300)
    assert freezing_point(low) > freezing_point(sucrose) > freezing_point(high)


def test_unknown_parts_are_read_between_their_bounds():
    fruit = Composition.of(
        {Constituent.WATER: 85, Constituent.UNKNOWN_SUGARS: 10, Constituent.UNKNOWN_SOLIDS: 3, Constituent.FIBRE: 2}
    )
    low, middle, high = freezing_point(fruit.readings())
    assert low > middle > high
    # A bare vector is read as the middle row.
    assert freezing_point(fruit.vector) == pytest.approx(middle, abs=1e-9)
    least, mid, most = water_activity(fruit.readings(), 298.15)
    assert least > mid > most


def test_ice_ends_where_the_glass_begins():
    sorbet = mix(sucrose=25, glucose=5, water=70)
    end = glass_onset(sorbet)
    assert 228 < end < 243
    assert ice_fraction(sorbet, end - 15) == ice_fraction(sorbet, end)
    assert ice_fraction(sorbet, end + 3) < ice_fraction(sorbet, end)
    # Strawberry -33 to -41, banana -35, apple -42 °C: belitz-2009, table 0.8, read. Compositions: usda-sr28.
    strawberry = mix(water=91, sucrose=0.47, glucose=1.99, fructose=2.44, acids=0.8, ash=0.4, protein=0.67, fibre=2)
    apple = mix(water=85.6, sucrose=2.07, glucose=2.43, fructose=5.9, acids=0.4, ash=0.19, protein=0.26, fibre=2.4)
    assert glass_onset(strawberry) - 273.15 == pytest.approx(-41, abs=4)
    assert glass_onset(apple) - 273.15 == pytest.approx(-42, abs=4)


def test_an_ice_cream_mix_freezes_as_the_books_tell():
    # 12 fat, 11 milk solids, 15 sugar: about half of the water at -5, 72 to 80 % at -15 °C (dairy texts, recalled);
    # a published figure has 30 to 45 % at -5 and 60 to 75 % at -16 °C for mixes of untold composition.
    ice_cream = mix(water=61.7, sucrose=15, lactose=6, protein=4.1, ash=0.9, milk_fat=12, fibre=0.3)
    share = ice_share(ice_cream, 273.15 - np.array([5.0, 10.0, 16.0, 18.0]))
    assert share == pytest.approx([0.45, 0.69, 0.78, 0.80], abs=0.03)


@pytest.mark.parametrize(
    ("percent", "elevation"), [(60, 2.9), (65, 3.8), (70, 5.0), (75, 6.7), (80, 9.5), (85, 14.0), (90, 22.4)]
)
def test_boiling_elevations(percent, elevation):
    # From the equation of starzak-peacock and the steam tables, worked once apart from this code.
    syrup = mix(sucrose=percent, water=100 - percent)
    assert boiling_point(syrup) - 373.124 == pytest.approx(elevation, abs=0.06)
    assert solids_at_boiling_point(mix(sucrose=1, water=1), boiling_point(syrup)) == pytest.approx(percent / 100)


def test_other_sugars_and_altitude_change_the_cook():
    sucrose, invert = mix(sucrose=75, water=25), mix(glucose=37.5, fructose=37.5, water=25)
    assert boiling_point(invert) > boiling_point(sucrose) + 2
    # At 640 m water boils at 97.8 °C, and 118 °C means more sugar than at the sea.
    here = pressure_at_altitude(640.0)
    assert boiling_point(mix(water=1), here) - 273.15 == pytest.approx(97.85, abs=0.05)
    assert solids_at_boiling_point(sucrose, 391.15, here) > solids_at_boiling_point(sucrose, 391.15) + 0.008


def test_water_left_tells_when_there_is_nothing_to_cook():
    syrup = mix(sucrose=80, water=20)
    assert water_left_at_boiling_point(syrup, 376.15) > 0.20  # boils hotter than 103 °C already
    assert water_left_at_boiling_point(syrup, 372.0) == np.inf
    assert water_lost_to_solids(mix(sucrose=50, water=50), 0.8) == pytest.approx(0.375)


@pytest.mark.parametrize(("percent", "celsius"), [(5, 95.0), (10, 91.5), (20, 87.5), (40, 83.5)])
def test_spirit_boils_below_water(percent, celsius):
    # Boiling points of ethanol in water at one atmosphere, from distillation tables (recalled), 0.7 K.
    assert boiling_point(mix(ethanol=percent, water=100 - percent)) - 273.15 == pytest.approx(celsius, abs=0.7)
    assert boiling_stretched(mix(ethanol=percent, water=100 - percent)) == (percent > 5)


def test_water_held_undoes_the_activity():
    for x in (mix(sucrose=3, glycerol=1, salt=0.1, water=5), mix(sucrose=2, protein=2, starch=1, ash=0.1, water=5)):
        phase = water_phase(x)
        for T in (258.15, 298.15, 373.15):
            assert water_held(phase, T, np.log(water_activity(x, T))) == pytest.approx(x[0], rel=1e-6)


def test_stretched_inputs_are_told():
    assert not freezing_stretched(mix(sucrose=30, water=70))
    assert freezing_stretched(mix(glucose=70, water=30))
    assert not water_activity_stretched(mix(sucrose=60, water=40))
    assert water_activity_stretched(mix(sucrose=95, water=5))
    assert water_activity_stretched(mix(ethanol=70, water=30))
    assert water_activity_stretched(mix(salt=26, water=74))
    assert boiling_stretched(mix(sucrose=60, water=40), 420.0)
    assert not boiling_stretched(mix(sucrose=60, water=40), 390.0)
