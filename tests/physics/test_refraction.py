from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from demoule.composition import Composition, Constituent
from demoule.physics import (
    baume,
    brix_from_baume,
    brix_from_refractive_index,
    refractive_index,
    refractive_index_of_mix,
    soluble_solids,
    soluble_solids_stretched,
    viscosity_of_mix,
    viscosity_of_sucrose_solution,
    viscosity_stretched,
)
from demoule.units import FloatArray


def mix(**grams: float) -> FloatArray:
    return Composition.of({Constituent[name.upper()]: mass for name, mass in grams.items()}).vector


@given(st.floats(0, 0.84))
def test_index_and_brix_undo_each_other(solids):
    assert brix_from_refractive_index(refractive_index(solids)) == pytest.approx(solids, abs=1e-6)


@given(st.floats(0, 0.8))
def test_baume_and_brix_undo_each_other(solids):
    assert brix_from_baume(baume(solids)) == pytest.approx(solids, abs=1e-5)


@pytest.mark.parametrize("percent", [0, 7, 20, 40, 65, 80])
def test_sucrose_reads_its_own_mass_fraction(percent):
    x = mix(sucrose=percent, water=100 - percent)
    assert soluble_solids(x) == pytest.approx(percent / 100)
    assert refractive_index_of_mix(x) == pytest.approx(refractive_index(percent / 100))


@pytest.mark.parametrize(
    ("solute", "percent", "index"),
    # crc-solutions, the pages of these solutes at 20 °C, recalled.
    [
        *(("glucose", 10, 1.3477), ("glucose", 20, 1.3635), ("glucose", 40, 1.3986), ("fructose", 20, 1.3634)),
        *(("ethanol", 10, 1.3395), ("glycerol", 10, 1.3448), ("salt", 10, 1.3505), ("acids", 10, 1.3459)),
    ],
)
def test_other_solutes_read_nearly_as_the_handbook_has_them(solute, percent, index):
    read = soluble_solids(mix(**{solute: percent, "water": 100 - percent}))
    assert refractive_index(read) == pytest.approx(index, abs=8e-4)


def test_fat_and_pulp_are_not_read():
    plain = mix(sucrose=20, water=80)
    rich = mix(sucrose=20, water=80, milk_fat=40, fibre=3, starch=5, protein=4)
    assert soluble_solids(rich) == pytest.approx(soluble_solids(plain))


def test_juice_reads_what_fruit_tables_say():
    # Ripe apricots read about 11 to 14 °Bx (growers' practice, no source); contents usda-sr28 09021.
    apricot = mix(water=86.35, sucrose=5.87, glucose=2.37, fructose=0.94, acids=1.3, ash=0.75, fibre=2, protein=1.4)
    assert 10.5 < 100 * soluble_solids(apricot) < 14


@pytest.mark.parametrize("celsius", [0, 20, 60, 100])
def test_a_thicker_syrup_runs_slower_and_a_hotter_faster(celsius):
    solids = np.linspace(0.0, 0.75, 30)
    run = viscosity_of_sucrose_solution(solids, celsius + 273.15)
    assert (np.diff(run) > 0).all()
    assert viscosity_of_sucrose_solution(0.6, celsius + 283.15) < viscosity_of_sucrose_solution(0.6, celsius + 273.15)


@pytest.mark.parametrize(
    ("percent", "celsius", "viscosity"),
    # Génotelle's equation worked once apart from this code, to hold its coefficients.
    [(0, 20, 0.966271e-3), (40, 0, 16.468890e-3), (60, 20, 59.742068e-3), (75, 80, 38.264144e-3)],
)
def test_the_equation_is_transcribed(percent, celsius, viscosity):
    got = viscosity_of_sucrose_solution(percent / 100, celsius + 273.15)
    assert got == pytest.approx(viscosity, rel=1e-4)


def test_a_mixture_runs_as_sucrose_of_its_brix():
    x = mix(sucrose=30, glucose=20, water=50)
    assert viscosity_of_mix(x, 303.15) == viscosity_of_sucrose_solution(soluble_solids(x), 303.15)


def test_stretched_inputs_are_told():
    assert not viscosity_stretched(mix(sucrose=60, water=40))
    assert viscosity_stretched(mix(sucrose=40, fibre=2, water=58))
    assert viscosity_stretched(mix(sucrose=80, water=20))
    assert viscosity_stretched(mix(glucose=40, water=60))
    assert viscosity_stretched(mix(sucrose=60, water=40), 263.15)
    assert not soluble_solids_stretched(mix(sucrose=60, glucose=10, water=30))
    assert soluble_solids_stretched(mix(ethanol=20, water=80))
    assert soluble_solids_stretched(mix(sucrose=90, water=10))
