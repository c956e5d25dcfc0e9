"""Washing out by blanching: exact series, the balance at rest, first trials and trends."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from demoule.errors import BadInput
from demoule.physics.blanching import BlanchWater, blanch, left_at_rest
from demoule.physics.candy_shapes import piece_shape
from demoule.physics.diffusion import finite_bath_uptake, uptake_cylinder, uptake_slab
from demoule.physics.published import rows
from demoule.physics.tissue import COOKED, tissue_diffusivity

SLICE = piece_shape("slice", 0.006)


def water(ratio=5.0, minutes=5.0, temperature=368.15):
    return BlanchWater(ratio=ratio, temperature=temperature, duration=60 * minutes)


def test_one_water_is_the_finite_bath_series():
    d = float(tissue_diffusivity(COOKED, 0.0, 368.15))
    for minutes in (2, 15, 60):
        fo = d * minutes * 60 / SLICE.radius**2
        uptake = float(finite_bath_uptake("slab", 4.0, fo)) * 4.0 / 5.0  # of what there was; a/(1+a) leaves at rest
        assert blanch(SLICE, [water(4.0, minutes)]).left[-1] == pytest.approx(1 - uptake, abs=1e-3)


def test_a_large_bath_is_the_series_of_slab_and_blocks():
    d = float(tissue_diffusivity(COOKED, 0.0, 368.15))
    left = blanch(SLICE, [water(1e7, 10)]).left[-1]
    assert left == pytest.approx(1 - float(uptake_slab(d * 600 / SLICE.radius**2)), abs=1e-3)
    # A cylinder as high as wide: product of slab and cylinder, within 0.01 by its equivalent dimension.
    fo = d * 600 / 0.005**2
    exact = (1 - float(uptake_slab(fo))) * (1 - float(uptake_cylinder(fo)))
    assert blanch(piece_shape("cylinder", 0.010), [water(1e7, 10)]).left[-1] == pytest.approx(exact, abs=0.01)


def test_the_first_trials_are_kept():
    for row in rows("blanch_trial"):
        shape = piece_shape(row["shape"], float(row["size_mm"]) / 1000)
        waters = [water(float(row["water_over_fruit"]), float(row["minutes"]))] * int(row["waters"])
        left = blanch(shape, waters, partition=float(row["partition"])).left[-1]
        assert left == pytest.approx(float(row["value"]), abs=1e-3)


@given(ratio=st.floats(0.5, 20), n=st.integers(1, 4), minutes=st.floats(0.5, 200), partition=st.floats(0.5, 5))
def test_washing_trends_and_balance(ratio, n, minutes, partition):
    waters = [water(ratio, minutes)] * n
    found = blanch(SLICE, waters, partition=partition)
    assert list(found.left) == sorted(found.left, reverse=True)
    assert 0 <= found.low <= found.left[-1] <= found.high <= 1 + 1e-12
    assert found.left[-1] >= found.at_rest - 1e-9
    assert found.at_rest == pytest.approx((1 / (1 + ratio / partition)) ** n)
    assert blanch(SLICE, [water(ratio * 1.5, minutes)] * n, partition=partition).left[-1] <= found.left[-1] + 1e-12
    assert blanch(SLICE, [water(ratio, minutes * 1.5)] * n, partition=partition).left[-1] <= found.left[-1] + 1e-12
    assert blanch(SLICE, waters, partition=partition * 1.5).left[-1] >= found.left[-1] - 1e-12  # what is bound stays


def test_all_the_time_it_needs_comes_to_rest():
    assert blanch(SLICE, [water(5.0, 5000)] * 2).left[-1] == pytest.approx(left_at_rest([5.0, 5.0]), abs=1e-9)


def test_short_waters_are_as_good_as_one_and_long_ones_are_not():
    short, one = blanch(SLICE, [water(5, 5)] * 3), blanch(SLICE, [water(5, 15)])
    assert abs(short.left[-1] - one.left[-1]) < 0.03
    assert not short.splitting_helps
    assert short.findings[0].rule == "blanches could be one"
    long = blanch(SLICE, [water(5, 30)] * 3)
    assert long.splitting_helps
    assert blanch(SLICE, [water(5, 90)]).left[-1] - long.left[-1] > 0.05
    assert blanch(SLICE, [water(2, 5)] * 3).splitting_helps  # water is scarce


@pytest.mark.parametrize(
    "waters", [[], [water(minutes=-1)], [water(ratio=0.0)], [water(ratio=-2.0)], [water(temperature=500.0)]]
)
def test_impossible_blanches_are_refused(waters):
    with pytest.raises(BadInput) as raised:
        blanch(SLICE, waters)
    assert raised.value.remedy


def test_band_and_range_are_pinned():
    # A factor 3 on the time either way (judged); pieces of 3 to 50 mm, 60 to 100 °C.
    found = blanch(SLICE, [water(5.0, 10)])
    assert found.low == pytest.approx(blanch(SLICE, [water(5.0, 30)]).left[-1])
    assert found.high == pytest.approx(blanch(SLICE, [water(5.0, 10 / 3)]).left[-1])
    for size, stretched in ((0.0029, True), (0.0031, False), (0.0499, False), (0.0501, True)):
        assert blanch(piece_shape("slice", size), [water()]).stretched is stretched
    for t, stretched in ((333.1, True), (333.2, False), (373.1, False), (373.2, True)):
        assert blanch(SLICE, [water(temperature=t)]).stretched is stretched
    for t in (273.0, 388.3):
        with pytest.raises(BadInput):
            blanch(SLICE, [water(temperature=t)])


def test_outside_its_range_it_says_so():
    assert blanch(SLICE, [water(temperature=300.0)]).stretched
    assert not blanch(SLICE, [water()]).stretched
