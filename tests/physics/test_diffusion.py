"""Diffusion in water and the exact series, against reference libraries, prints and asymptotes."""

import iapws
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from demoule.composition import Constituent
from demoule.errors import BadInput, UnknownName
from demoule.physics.diffusion import (
    finite_bath_uptake,
    sugar_diffusivity,
    uptake_cylinder,
    uptake_slab,
    uptake_sphere,
    water_self_diffusivity,
    water_viscosity,
)


@pytest.mark.parametrize("celsius", [5, 25, 55, 90])
def test_water_viscosity_is_that_of_the_reference_library(celsius):
    assert float(water_viscosity(273.15 + celsius)) == pytest.approx(
        iapws.IAPWS97(T=273.15 + celsius, P=0.101325).mu, rel=1e-3
    )


@pytest.mark.parametrize("kelvin", [255.0, 260.0, 265.0, 273.15])
def test_water_viscosity_below_freezing_is_that_of_the_reference_library(kelvin):
    from iapws._iapws import _Liquid

    assert float(water_viscosity(kelvin)) == pytest.approx(_Liquid(kelvin)["mu"], rel=1e-6)


def test_water_itself_moves_as_printed():
    # 2.299e-9 m2/s at 25 °C and 1.099e-9 at 0 (holz-2000, recalled).
    assert float(water_self_diffusivity(298.15)) == pytest.approx(2.299e-9, rel=0.01)
    assert float(water_self_diffusivity(273.15)) == pytest.approx(1.099e-9, rel=0.02)


def test_sugars_at_25_degrees():
    # ribeiro-2006, table 5, at infinite dilution; read.
    for sugar, value in (("SUCROSE", 0.523e-9), ("LACTOSE", 0.566e-9), ("GLUCOSE", 0.679e-9), ("FRUCTOSE", 0.686e-9)):
        assert float(sugar_diffusivity(Constituent[sugar], 298.15)) == pytest.approx(value, rel=1e-6)
    for sugar, like in (("MALTOSE", "LACTOSE"), ("TREHALOSE", "LACTOSE"), ("GALACTOSE", "GLUCOSE")):  # judged: twins
        assert sugar_diffusivity(Constituent[sugar], 310.0) == sugar_diffusivity(Constituent[like], 310.0)
    with pytest.raises(UnknownName):
        sugar_diffusivity(Constituent.STARCH, 298.15)


def test_two_documented_examples_to_twelve_digits():
    # An open library's documented examples after crank-1975, pp. 48 and 91; read.
    assert float(uptake_slab(0.25)) == pytest.approx(0.562233541762138, abs=1e-12)
    assert float(uptake_sphere(0.25)) == pytest.approx(0.9484368978658284, abs=1e-12)


@pytest.mark.parametrize(("function", "faces"), [(uptake_slab, 1), (uptake_cylinder, 2), (uptake_sphere, 3)])
def test_short_times_follow_the_root_law(function, faces):
    # Surface per volume times 2 sqrt(D t/pi): one day gives 1 %, four days 2 %.
    fo = 2e-5
    assert float(function(fo)) == pytest.approx(faces * 2 * np.sqrt(fo / np.pi), rel=0.01)
    assert float(function(4 * fo)) == pytest.approx(2 * float(function(fo)), rel=0.01)
    assert float(function(0.0)) == pytest.approx(0.0, abs=1e-9)
    assert float(function(50.0)) == pytest.approx(1.0, abs=1e-9)


@given(st.floats(1e-5, 3.0))
def test_uptake_rises_and_a_sphere_fills_first(fo):
    slab, cylinder, sphere = (float(f(fo)) for f in (uptake_slab, uptake_cylinder, uptake_sphere))
    assert 0 <= slab <= cylinder <= sphere <= 1 + 1e-12
    assert float(uptake_slab(fo * 1.1)) >= slab - 1e-12


@pytest.mark.parametrize(("function", "edge"), [(uptake_slab, 0.2), (uptake_cylinder, 1e-3), (uptake_sphere, 0.1)])
def test_early_and_late_series_meet(function, edge):
    below, above = function(np.array([edge * (1 - 1e-9), edge * (1 + 1e-9)]))
    assert above == pytest.approx(below, abs=1e-8)


@given(ratio=st.floats(0.2, 20), fo=st.floats(1e-3, 2.0))
def test_a_bath_that_runs_low_gives_its_share_sooner(ratio, fo):
    for shape, large in (("slab", uptake_slab), ("sphere", uptake_sphere)):
        assert float(finite_bath_uptake(shape, ratio, fo)) >= float(large(fo)) - 2e-4
    assert float(finite_bath_uptake("slab", 1e6, fo)) == pytest.approx(float(uptake_slab(fo)), abs=1e-4)


@pytest.mark.parametrize("call", [lambda: uptake_slab(-0.1), lambda: finite_bath_uptake("cube", 1.0, 0.1)])
def test_impossible_diffusion_is_refused(call):
    with pytest.raises(BadInput):
        call()
