from __future__ import annotations

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI

from demoule.composition import Composition, Constituent
from demoule.physics import (
    conductivity,
    conductivity_with_air,
    conductivity_with_ice,
    enthalpy,
    fat_heat,
    freezing_point,
    heat_stretched,
    ice_fraction,
    specific_heat,
    thermal_table,
)
from demoule.units import FloatArray


def mix(**grams: float) -> FloatArray:
    return Composition.of({Constituent[name.upper()]: mass for name, mass in grams.items()}).vector


MOUSSE = mix(water=52, sucrose=14, lactose=4, glucose=2, milk_fat=17, cocoa_butter=6, protein=4, ash=1)


@pytest.mark.parametrize("celsius", [5, 20, 60, 90])
def test_water_agrees_with_a_library(celsius):
    # Choi and Okos against reference properties of water: specific heat 0.8 %, conductivity 2.5 %.
    T = celsius + 273.15
    assert specific_heat(mix(water=1), T) == pytest.approx(PropsSI("C", "T", T, "P", 101325, "Water"), rel=0.008)
    assert conductivity(mix(water=1), T) == pytest.approx(PropsSI("L", "T", T, "P", 101325, "Water"), rel=0.025)


@pytest.mark.parametrize(
    ("component", "celsius", "heat", "conducts"),
    # Choi and Okos by component, coefficients as a refrigeration handbook tabulates them, worked apart from this code.
    [
        ("protein", 40, 2054.4554, 0.222294),
        ("sucrose", 40, 1617.7962, 0.249976),
        ("other_fat", 40, 2035.4507, 0.169384),
        ("fibre", 40, 1911.6826, 0.228229),
        ("ash", 40, 1162.2933, 0.381013),
        ("water", 80, 4203.9587, 0.669187),
        ("protein", -30, 1970.7514, 0.140490),
        ("sucrose", -30, 1484.5791, 0.155890),
        ("other_fat", -30, 1935.6803, 0.188831),
        ("fibre", -30, 1786.7962, 0.142968),
        ("ash", -30, 1032.5985, 0.284971),
    ],
)
def test_components_are_transcribed(component, celsius, heat, conducts):
    T = celsius + 273.15
    ice = np.array(0.0)
    assert specific_heat(mix(**{component: 1}), T) == pytest.approx(heat, rel=1e-5)
    assert conductivity(mix(**{component: 1}), T, ice) == pytest.approx(conducts, rel=2e-5)


def test_ice_conducts_as_ice():
    # 2.22 W/(m K) at 0 °C rising to 2.4 at -20 °C (Choi and Okos; handbooks of ice agree within 3 %).
    ice = mix(water=1)
    assert conductivity(ice, 273.14, np.array(1.0)) == pytest.approx(2.22, abs=0.01)
    assert conductivity(ice, 253.15, np.array(1.0)) == pytest.approx(2.385, abs=0.01)


def test_levy_has_its_limits_and_its_published_form():
    # No ice and all ice give the two alone; levy-1981 lies under parallel, over series and over Maxwell.
    k1, k2 = 2.3, 0.5
    assert conductivity_with_ice(np.array(k2), np.array(k1), np.array(0.0)) == pytest.approx(k2)
    assert conductivity_with_ice(np.array(k2), np.array(k1), np.array(1.0)) == pytest.approx(k1)
    for share in (0.2, 0.5, 0.8):
        got = float(conductivity_with_ice(np.array(k2), np.array(k1), np.array(share)))
        parallel, series = share * k1 + (1 - share) * k2, 1 / (share / k1 + (1 - share) / k2)
        dispersed = k2 * (2 * k2 + k1 - 2 * share * (k2 - k1)) / (2 * k2 + k1 + share * (k2 - k1))
        assert series < dispersed < got < parallel
    # Levy at half and half, worked apart from it.
    assert conductivity_with_ice(np.array(k2), np.array(k1), np.array(0.5)) == pytest.approx(1.160491, abs=1e-5)


def test_a_foam_conducts_by_maxwell_and_eucken():
    assert conductivity_with_air(np.array(0.4), 0.0) == 0.4
    assert conductivity_with_air(np.array(0.4), 1.0) == pytest.approx(0.024)
    assert conductivity_with_air(np.array(0.4), 0.375) == pytest.approx(0.224663, abs=1e-5)


@pytest.mark.parametrize(("water", "warm", "cold"), [(0.85, 0.5065, 2.08), (0.6, 0.434, 1.544)])
def test_a_rule_of_the_handbook_for_conductivity(water, warm, cold):
    # earle-unit-operations, appendix 7, note c: 0.55 p + 0.26 (1 - p) unfrozen and 2.4 p + 0.26 (1 - p) frozen.
    fruit = mix(water=water, glucose=0.5 * (1 - water), fructose=0.3 * (1 - water), fibre=0.2 * (1 - water))
    assert conductivity(fruit, 283.15) == pytest.approx(warm, rel=0.12)
    if water > 0.8:
        # The rule counts all water as ice; a fruit keeps a tenth to a fifth of it liquid.
        assert 0.55 * cold < conductivity(fruit, 243.15) < cold


def test_kitchen_goods_hold_the_heat_that_tables_tell():
    # Ice cream 3.3, milk 3.9, apples 3.6 kJ/(kg K) above freezing: earle-unit-operations, appendix 7, read.
    ice_cream = mix(water=62, sucrose=15, lactose=6, protein=4, milk_fat=12, ash=1)
    milk = mix(water=87.5, lactose=4.9, protein=3.4, ash=0.7, milk_fat=3.5)
    assert specific_heat(ice_cream, 283.15) == pytest.approx(3300, rel=0.06)
    assert specific_heat(milk, 283.15) == pytest.approx(3900, rel=0.03)
    # Below freezing, far from the melting: ice cream 1.88 (the same table).
    cold = (enthalpy(ice_cream, 238.15) - enthalpy(ice_cream, 233.15)) / 5
    assert cold == pytest.approx(1880, rel=0.2)


def test_enthalpy_is_zero_for_liquid_at_the_ice_point_and_follows_specific_heat():
    assert enthalpy(MOUSSE, 273.15) == pytest.approx(0.0, abs=1e-6)
    warmed = enthalpy(MOUSSE, 313.15) - enthalpy(MOUSSE, 293.15)
    assert warmed == pytest.approx(20 * specific_heat(MOUSSE, 303.15), rel=2e-3)


def test_setting_fat_gives_its_heat():
    # Milk fat sets by half between 20 and 0 °C; cocoa butter holds 157 J/g (beckett-2009).
    butter = mix(cocoa_butter=1)
    assert fat_heat(butter, 313.15) - fat_heat(butter, 253.15) == pytest.approx(157e3 * 0.97, rel=0.01)
    cream = mix(water=60, milk_fat=35, lactose=5)
    assert 0 < fat_heat(cream, 293.15) - fat_heat(cream, 273.15) < 0.35 * 85e3
    assert fat_heat(mix(water=1, sucrose=1), 263.15) == 0.0


def test_the_table_carries_the_kink_and_the_mass():
    table = thermal_table(MOUSSE, 1080.0, 0.375)
    start = float(freezing_point(MOUSSE))
    assert table.freezing_point == start
    assert np.any(table.temperature == start)
    assert table.temperature[0] == pytest.approx(213.15)
    assert table.temperature[-1] == pytest.approx(393.15)
    below = table.temperature < start
    assert np.diff(table.temperature[below])[-1] < 0.01
    assert table.density == pytest.approx(675.0)
    T = table.temperature
    assert table.ice_fraction == pytest.approx(ice_fraction(MOUSSE, T))
    assert table.enthalpy == pytest.approx(675.0 * (enthalpy(MOUSSE, T) + fat_heat(MOUSSE, T)), rel=1e-9)
    assert table.conductivity == pytest.approx(conductivity(MOUSSE, T, air=0.375), rel=1e-9)


def test_a_table_resolves_the_freezing_within_a_thousandth():
    # Linear between nodes against the models at points in between.
    table = thermal_table(MOUSSE, 1080.0)
    T = np.linspace(233.15, 300.0, 4001)
    exact = 1080.0 * (enthalpy(MOUSSE, T) + fat_heat(MOUSSE, T))
    span = table.enthalpy[-1] - table.enthalpy[0]
    assert np.abs(np.interp(T, table.temperature, table.enthalpy) - exact).max() < 1e-3 * span


@pytest.mark.parametrize("x", [mix(water=1), mix(cocoa_butter=1), mix(sucrose=95, water=5), mix(water=5, protein=95)])
def test_extreme_materials_still_make_a_table(x):
    table = thermal_table(x, 1000.0)
    assert np.isfinite(table.enthalpy).all()
    assert np.isfinite(table.conductivity).all()
    assert (np.diff(table.enthalpy) > 0).all()


def test_stretched_inputs_are_told():
    assert not heat_stretched(MOUSSE, 0.4)
    assert heat_stretched(MOUSSE, 0.7)
    assert heat_stretched(mix(ethanol=20, water=80))
