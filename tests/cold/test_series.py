from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from demoule.cold.series import conduction, series_shares
from demoule.errors import BadInput

SHAPES = ("slab", "cylinder", "sphere")
BIOT = st.floats(0.01, 1000.0)
FOURIER = st.floats(1e-4, 3.0)


@given(shape=st.sampled_from(SHAPES), biot=BIOT, fourier=FOURIER, later=st.floats(1.01, 3.0))
def test_what_is_left_falls_with_time_and_towards_the_surface(shape, biot, fourier, later):
    now, then = series_shares(shape, biot, fourier), series_shares(shape, biot, fourier * later)
    assert 1 + 1e-9 >= now.centre >= now.mean - 1e-9 >= now.surface - 1e-9 >= -1e-9
    assert then.mean <= now.mean + 1e-12


@given(biot=BIOT, fourier=FOURIER)
def test_a_sphere_follows_before_a_cylinder_and_a_cylinder_before_a_slab(biot, fourier):
    slab, cylinder, sphere = (series_shares(shape, biot, fourier).mean for shape in SHAPES)
    assert slab >= cylinder - 1e-9 >= sphere - 2e-9


@pytest.mark.parametrize("shape", SHAPES)
def test_the_beginning_joins_the_series(shape):
    # Where the half-space answer takes over both must say the same; its curvature is left out.
    before, after = series_shares(shape, 50.0, 2.52e-7), series_shares(shape, 50.0, 2.5e-7)
    assert before.surface == pytest.approx(after.surface, rel=2e-3)
    assert 1 - before.mean == pytest.approx(1 - after.mean, rel=2e-2)


@pytest.mark.parametrize("shape", SHAPES)
def test_with_hardly_any_resistance_inside_the_body_cools_as_one(shape):
    # Bi → 0: exp(−(surface/volume) h t/(ρ c)) (law).
    per = {"slab": 1, "cylinder": 2, "sphere": 3}[shape]
    assert series_shares(shape, 1e-4, 2000.0).centre == pytest.approx(math.exp(-per * 1e-4 * 2000.0), rel=1e-3)


def test_a_short_cylinder_is_the_product_of_cylinder_and_slab():
    same = {"h": 25.0, "k": 0.5, "rho": 1000.0, "cp": 3500.0, "start": 290.0, "air": 260.0, "duration": 1800.0}
    short = conduction("cylinder", 0.05, height=0.02, **same)
    long = conduction("cylinder", 0.05, **same)
    slab = conduction("slab", 0.02, **same)
    assert (short.centre - 260) / 30 == pytest.approx((long.centre - 260) / 30 * (slab.centre - 260) / 30)


@pytest.mark.parametrize(
    "wrong",
    [
        {"h": 0.0},
        {"h": -5.0},
        {"k": 0.0},
        {"size": 0.0},
        {"size": -0.05},
        {"rho": 0.0},
        {"cp": math.nan},
        {"start": -3.0},
        {"air": 0.0},
        {"duration": -1.0},
        {"shape": "cube"},
        {"height": 0.02},  # of a sphere
    ],
)
def test_what_cannot_be_is_refused(wrong):
    given = {
        "shape": "sphere",
        "size": 0.05,
        "h": 20.0,
        "k": 0.5,
        "rho": 1000.0,
        "cp": 3500.0,
        "start": 290.0,
        "air": 260.0,
        "duration": 600.0,
    } | wrong
    shape, size = given.pop("shape"), given.pop("size")
    with pytest.raises(BadInput):
        conduction(shape, size, **given)
