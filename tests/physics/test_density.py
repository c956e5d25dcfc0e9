from __future__ import annotations

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI

from demoule.composition import Composition, Constituent
from demoule.physics import (
    aerated_density,
    density_of_mix,
    density_of_sucrose_solution,
    density_of_water,
    density_stretched,
    solid_fat,
)
from demoule.units import FloatArray


def mix(**grams: float) -> FloatArray:
    return Composition.of({Constituent[name.upper()]: mass for name, mass in grams.items()}).vector


@pytest.mark.parametrize("celsius", [0.1, 4, 20, 40, 60, 80, 99])
def test_water_agrees_with_a_library(celsius):
    T = celsius + 273.15
    assert density_of_water(T) == pytest.approx(PropsSI("D", "T", T, "P", 101325, "Water"), abs=0.02)


@pytest.mark.parametrize(("solids", "density"), [(0.10, 1038.13), (0.20, 1080.94), (0.30, 1126.98)])
def test_sucrose_agrees_with_an_independent_table(solids, density):
    # Source: a university physics laboratory's table of sucrose at 20 °C (umk), read.
    assert density_of_sucrose_solution(solids, 293.15) == pytest.approx(density, abs=0.15)


@pytest.mark.parametrize(
    ("solids", "celsius", "density"),
    # The polynomial of icumsa-sps4 worked once apart from this code, to hold its coefficients for temperature.
    [
        (0.2, 0.0, 1085.0963),
        (0.2, 60.0, 1063.5923),
        (0.4, 0.0, 1183.1866),
        (0.4, 60.0, 1156.7175),
        (0.65, 0.0, 1326.0046),
        (0.65, 80.0, 1281.5218),
        (0.84, 20.0, 1439.1212),
        (0.84, 80.0, 1403.6722),
    ],
)
def test_sucrose_over_temperature(solids, celsius, density):
    assert density_of_sucrose_solution(solids, celsius + 273.15) == pytest.approx(density, abs=2e-4)


@pytest.mark.parametrize(
    ("fluid", "solute", "percents", "tolerance"),
    [
        ("MGL", "glycerol", (20, 30, 40, 50, 60), 1.5),
        ("MEA2", "ethanol", (11, 20, 30, 40, 50, 60), 1.0),
        ("MNA", "salt", (2, 5, 10, 15, 20), 1.0),
    ],
)
def test_other_solutes_agree_with_a_library_of_coolants(fluid, solute, percents, tolerance):
    # CoolProp, incompressible solutions after Melinder (2010).
    for percent in percents:
        library = PropsSI("D", "T", 293.15, "P", 101325, f"INCOMP::{fluid}[{percent / 100}]")
        x = mix(**{solute: percent, "water": 100 - percent})
        assert density_of_mix(x, 293.15) == pytest.approx(library, abs=tolerance)


@pytest.mark.parametrize(
    ("sugar", "percent", "density"),
    # crc-solutions, the pages of these solutes at 20 °C, recalled.
    [
        *(("glucose", 10, 1037.5), ("glucose", 20, 1079.4), ("glucose", 40, 1172.6), ("fructose", 20, 1081.6)),
        *(("lactose", 10, 1038.8), ("maltose", 20, 1080.9), ("sorbitol", 20, 1072.0), ("glycerol", 20, 1047.0)),
    ],
)
def test_other_sugars_are_close_to_sucrose(sugar, percent, density):
    x = mix(**{sugar: percent, "water": 100 - percent})
    assert density_of_mix(x) == pytest.approx(density, rel=0.002)


@pytest.mark.parametrize(
    ("grams", "low", "high"),
    [
        # Kitchen goods: whole milk 1.028 to 1.033, cream of 35 % fat 0.98 to 1.00, white chocolate molten 1.15 to 1.25,
        # dark chocolate set 1.25 to 1.34 (dairy and chocolate texts; beckett-2009 has 1.2 molten and 1.3 set).
        ({"water": 88, "lactose": 4.8, "protein": 3.3, "ash": 0.7, "milk_fat": 3.5}, 1026, 1034),
        ({"water": 59, "lactose": 3, "protein": 2.2, "ash": 0.5, "milk_fat": 35}, 975, 1005),
        ({"water": 1, "sucrose": 48, "cocoa_butter": 34, "protein": 5, "fibre": 8, "starch": 3, "ash": 1}, 1250, 1340),
        (
            {"water": 86, "sucrose": 6, "glucose": 2.4, "fructose": 1, "acids": 1.3, "fibre": 2, "protein": 1.4},
            1030,
            1055,
        ),
    ],
)
def test_kitchen_goods(grams, low, high):
    assert low < density_of_mix(mix(**grams), 293.15) < high


def test_molten_chocolate_is_lighter_than_set():
    dark = mix(water=1, sucrose=48, cocoa_butter=34, protein=5, fibre=8, starch=3, ash=1)
    assert density_of_mix(dark, 313.15) == pytest.approx(1215, abs=40)
    assert density_of_mix(dark, 313.15) < density_of_mix(dark, 293.15) - 20


def test_air_takes_its_share_of_the_volume():
    assert aerated_density(1080.0, 0.375) == 675.0


def test_fat_sets_as_it_cools():
    T = np.linspace(243.15, 313.15, 50)
    for fat in (Constituent.COCOA_BUTTER, Constituent.MILK_FAT):
        share = solid_fat(fat, T)
        assert (np.diff(share) <= 0).all()
        assert share[-1] < 0.01 < 0.7 < share[0]
    # Typical curves: cocoa butter 76 % at 20 and 45 % at 30 °C, milk fat 50 % at 5 and 18 % at 20 °C (recalled).
    assert solid_fat(Constituent.COCOA_BUTTER, np.array([293.15, 303.15])) == pytest.approx([0.76, 0.45], abs=0.02)
    assert solid_fat(Constituent.MILK_FAT, np.array([278.15, 293.15])) == pytest.approx([0.50, 0.18], abs=0.02)
    assert solid_fat(Constituent.OTHER_FAT, 263.15) == 0.0


def test_stretched_inputs_are_told():
    assert not density_stretched(mix(sucrose=60, water=40))
    assert density_stretched(mix(sucrose=90, water=10))
    assert density_stretched(mix(sucrose=60, water=40), 260.0)
