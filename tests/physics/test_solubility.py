from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from demoule.composition import Composition, Constituent
from demoule.errors import BadInput
from demoule.physics import (
    RELATIVE_SWEETNESS,
    SOLUBLE,
    dextrose_equivalent,
    mean_molar_mass,
    solubility,
    solubility_stretched,
    sucrose_solubility,
    sweetness,
)
from demoule.units import FloatArray

C = Constituent


def mix(**grams: float) -> FloatArray:
    return Composition.of({Constituent[name.upper()]: mass for name, mass in grams.items()}).vector


@pytest.mark.parametrize("sugar", SOLUBLE)
def test_every_sugar_dissolves_better_when_hot(sugar):
    share = solubility(sugar, np.linspace(263.15, 358.15, 60))
    assert (np.diff(share) > 0).all()
    assert ((share > 0.05) & (share < 1)).all()


@pytest.mark.parametrize(
    ("celsius", "percent"),
    # A third table (sugar machinery, of Vavrinecz's kind), read; also confirms 120 °C, outside the fit.
    [(0, 64.44), (40, 70.22), (60, 74.32), (100, 82.89)],
)
def test_sucrose_agrees_with_a_third_table(celsius, percent):
    assert 100 * sucrose_solubility(celsius + 273.15) == pytest.approx(percent, abs=0.6)


def test_the_two_tables_of_sucrose_differ_and_are_named():
    newer, older = sucrose_solubility(293.15), sucrose_solubility(293.15, "traditional")
    # 66.72 by Vavrinecz, 67.09 in the older table.
    assert 100 * (older - newer) == pytest.approx(0.37, abs=0.02)
    assert solubility(C.SUCROSE, 293.15) == newer
    assert solubility(C.SUCROSE, 293.15, "traditional") == older


def test_the_order_at_room_temperature():
    at = {sugar: float(solubility(sugar, 293.15)) for sugar in SOLUBLE}
    assert at[C.FRUCTOSE] > at[C.SUCROSE] > at[C.GLUCOSE] > at[C.MALTOSE] > at[C.LACTOSE]


def test_a_sugar_without_a_table_is_refused_in_words():
    with pytest.raises(BadInput, match="erythritol"):
        solubility(C.ERYTHRITOL, 293.15)


def test_stretched_temperatures_are_told():
    assert solubility_stretched(C.FRUCTOSE, 278.15)
    assert not solubility_stretched(C.FRUCTOSE, 298.15)
    assert solubility_stretched(C.SUCROSE, 263.15)


@given(st.floats(0.01, 100), st.floats(0.0, 100), st.floats(0.0, 100))
def test_the_molar_mass_of_a_hydrolysate_follows_from_its_de(glucose, maltose, dextrins):
    x = mix(glucose=glucose, maltose=maltose, dextrins=dextrins)
    # One reducing end a molecule: M = 18.016/DE in kg/mol.
    assert mean_molar_mass(x) * dextrose_equivalent(x) == pytest.approx(18.0156, rel=1e-6)


def test_pure_substances_have_their_de():
    # Glucose 100, maltose 52.6, maltotriose 35.7; sucrose does not reduce.
    assert dextrose_equivalent(mix(glucose=1)) == pytest.approx(100)
    assert dextrose_equivalent(mix(maltose=1)) == pytest.approx(52.6, abs=0.1)
    assert dextrose_equivalent(mix(maltotriose=1)) == pytest.approx(35.7, abs=0.1)
    assert dextrose_equivalent(mix(sucrose=1)) == 0
    assert dextrose_equivalent(mix(water=1)) == 0
    assert np.isnan(mean_molar_mass(mix(water=1)))


def test_sweetness_keeps_the_order_all_authors_share():
    usual = {c: row[0] for c, row in RELATIVE_SWEETNESS.items()}
    order = [usual[c] for c in (C.FRUCTOSE, C.SUCROSE, C.GLUCOSE, C.MALTOSE, C.LACTOSE)]
    assert order == sorted(order, reverse=True)
    assert all(low <= value <= high for value, low, high in RELATIVE_SWEETNESS.values())


@given(st.floats(0, 50), st.floats(0, 50), st.floats(0, 50), st.floats(270, 320))
def test_a_sweetness_lies_in_its_span(sucrose, glucose, fructose, temperature):
    tasted = sweetness(mix(sucrose=sucrose, glucose=glucose, fructose=fructose, water=50), temperature)
    assert tasted.low - 1e-12 <= tasted.value <= tasted.high + 1e-12


def test_fructose_is_sweeter_cold():
    x = mix(fructose=5, water=95)
    assert sweetness(x, 278.15).value > sweetness(x, 298.15).value > sweetness(x, 313.15).value
    assert sweetness(mix(sucrose=5, water=95), 278.15).value == sweetness(mix(sucrose=5, water=95), 313.15).value
