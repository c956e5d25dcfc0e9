from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from demoule.cold.handbook import log_mean_difference, pham_time, plank_time
from demoule.errors import BadInput

MEAT = {"freezing": 271.15, "air": 243.15, "h": 20.0}


@pytest.mark.parametrize("shape", ["slab", "cylinder", "sphere"])
def test_without_sensible_heat_pham_is_plank(shape):
    # Both are then latent heat through surface and frozen layer (law): K of the freezing stage is 4.
    plank = plank_time(shape, 0.05, density=1000.0, latent=250e3, conductivity=1.2, **MEAT)
    pham = pham_time(
        shape, 0.05, start=271.15, core=255.15, unfrozen=(0.5, 1e-9), frozen=(1.2, 1e-9), latent=250e6, **MEAT
    )
    assert pham == pytest.approx(plank, rel=1e-9)


def test_the_stages_of_pham_take_what_the_erratum_has():
    # Cooling alone, of a slab: Q/(h A ΔT) (1 + Bi/6) with the mean of both Biot numbers (pham-1984, Table 2, read).
    time = pham_time(
        "slab", 0.04, start=291.15, core=270.15, unfrozen=(0.5, 3.5e6), frozen=(1.5, 1e-9), latent=1e-9, **MEAT
    )
    biot = 0.5 * (20 * 0.04 / 0.5 + 20 * 0.04 / 1.5)
    expected = 3.5e6 * 20 * 0.02 / (20 * log_mean_difference(48.0, 28.0)) * (1 + biot / 6)
    assert time == pytest.approx(expected, rel=1e-9)


def test_a_sphere_by_plank_as_a_textbook_has_it():
    # 70 mm, 250 kJ/kg, −1.25 °C in −40 °C air, 50 W/m²K, 1.2 W/mK: 0.72 h (Singh and Heldman, ch. 7; recalled).
    time = plank_time(
        "sphere", 0.07, density=1000.0, latent=250e3, freezing=271.9, air=233.15, h=50.0, conductivity=1.2
    )
    assert time / 3600 == pytest.approx(0.723, abs=0.001)


@given(st.floats(1.0, 100.0), st.floats(1.0, 100.0))
def test_a_logarithmic_mean_lies_between_the_two_and_below_their_middle(first, last):
    mean = log_mean_difference(first, last)
    assert min(first, last) * (1 - 1e-9) <= mean <= (first + last) / 2 * (1 + 1e-6)


def test_what_cannot_be_is_refused():
    with pytest.raises(BadInput):
        plank_time("cube", 0.05, density=1000.0, latent=250e3, conductivity=1.2, **MEAT)
    with pytest.raises(BadInput):
        plank_time("slab", 0.05, density=1000.0, latent=250e3, conductivity=1.2, freezing=240.0, air=250.0, h=20.0)
    with pytest.raises(BadInput):
        pham_time("slab", 0.05, start=260.0, core=255.15, unfrozen=(0.5, 1.0), frozen=(1.2, 1.0), latent=1.0, **MEAT)
