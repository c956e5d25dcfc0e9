from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from demoule.composition import Constituent
from demoule.errors import BadInput
from demoule.formula import (
    Bake,
    Blend,
    Boil,
    Cook,
    Fold,
    Heat,
    Pan,
    Strain,
    Whip,
    cook,
    cook_all,
    in_masses,
    scaled,
)

C = Constituent
PAN = Pan(name="24 cm", open_area=0.045)

amount = st.floats(min_value=20.0, max_value=3000.0)
share = st.floats(min_value=0.0, max_value=0.3)
wet_steps = st.lists(
    st.one_of(
        st.builds(Heat, to=st.floats(300.0, 360.0), pan=st.sampled_from([None, PAN]), covered=st.booleans()),
        st.builds(Boil, duration=st.floats(0.0, 120.0), pan=st.sampled_from([None, PAN])),
        st.builds(Blend, loses=st.one_of(st.none(), share)),
        st.builds(Strain, loses=st.one_of(st.none(), share)),
        st.builds(Whip, overrun=st.floats(0.1, 1.5)),
        st.just(Cook(to_solids=0.75)),
        st.just(Fold()),
        st.just(Bake(at=430.0, duration=600.0, loses=0.05, offcuts=0.1)),
    ),
    max_size=5,
)
losses = st.lists(st.tuples(st.sampled_from(["pan", "bowl", "bag"]), share), max_size=3).map(tuple)
quick = settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


def masses(one):
    return one.mass * one.composition.vector


@quick
@given(sugar=amount, water=st.floats(2000.0, 5000.0), fat=amount, steps=wet_steps, told=losses)
def test_masses_balance_whatever_is_done(write, plain, sugar, water, fat, steps, told):
    one = write("a", {"sugar": sugar, "water": water, "fat": fat}, steps, losses=told)
    try:
        cooked = cook(one, plain, {})
    except BadInput:
        return
    lost = sum(loss.mass for loss in cooked.losses)
    assert abs(cooked.entered + cooked.exchanged - cooked.mass - lost) < 1e-12 * cooked.entered * 10
    x = cooked.composition.vector
    assert x.sum() == pytest.approx(1.0, abs=1e-12)
    assert (x >= 0).all()
    # Sugar and fat stand in the proportion in which they were weighed: only water leaves alone.
    assert x[C.SUCROSE] / x[C.OTHER_FAT] == pytest.approx(sugar / fat, rel=1e-9)
    assert 0 <= cooked.air < 1
    times = [moment.time for moment in cooked.history]
    assert times == sorted(times)


@quick
@given(make=st.floats(0.05, 50.0), steps=wet_steps, told=losses)
def test_just_what_is_to_be_made_comes_out(write, plain, make, steps, told):
    one = write("a", {"sugar": 300, "water": 1500, "fat": 100}, steps, losses=told, to_make=make)
    try:
        cooked = cook(one, plain, {})
    except BadInput:
        return
    assert cooked.mass == pytest.approx(make, rel=1e-12)
    weighed = dict(cooked.weighed)
    assert weighed["water"] / weighed["sugar"] == pytest.approx(5.0, rel=1e-12)


@quick
@given(factor=st.floats(0.05, 20.0))
def test_without_evaporation_everything_scales_in_proportion(write, plain, factor):
    one = write("a", {"sugar": 300, "water": 500, "cream": 200}, [Blend(), Whip(overrun=0.6)])
    once, more = cook(one, plain, {}), cook(scaled(one, factor), plain, {})
    assert more.mass == pytest.approx(factor * once.mass, rel=1e-12)
    np.testing.assert_allclose(more.composition.vector, once.composition.vector, atol=1e-13)
    assert more.density == pytest.approx(once.density)


def test_evaporation_by_minutes_and_pan_does_not_scale(write, plain):
    one = write("a", {"sugar": 300, "water": 1500}, [Boil(duration=300.0, pan=PAN)], losses=(("pan", 0.0),))
    start = cook(replace(one, steps=(Boil(duration=0.0, pan=PAN),)), plain, {}).water_lost
    once = cook(one, plain, {}).water_lost - start
    double = scaled(one, 2.0)
    more = (
        cook(double, plain, {}).water_lost
        - cook(replace(double, steps=(Boil(duration=0.0, pan=PAN),)), plain, {}).water_lost
    )
    assert more == pytest.approx(once, rel=1e-9)


def test_cooking_to_a_brix_scales_in_proportion(write, plain):
    one = write("a", {"sugar": 300, "water": 500}, [Cook(to_solids=0.7)])
    assert cook(scaled(one, 3.0), plain, {}).mass == pytest.approx(3 * cook(one, plain, {}).mass)


def test_a_measured_evaporation_stays_when_the_making_grows(write, plain):
    one = write("a", {"sugar": 300, "water": 1700}, [Boil(duration=120.0)], evaporation=0.1, losses=(("pan", 0.1),))
    one = replace(one, gives=1.71)  # (2000 - 100) x 0.9
    double = cook(scaled(one, 2.0), plain, {})
    assert double.water_lost == pytest.approx(0.1)
    assert double.mass == pytest.approx((4.0 - 0.1) * 0.9)
    # A smaller making is thought into a smaller pan, whose surface shrinks with the power 2/3.
    eighth = cook(scaled(one, 1 / 8), plain, {})
    assert eighth.water_lost == pytest.approx(0.1 / 4)
    assert eighth.mass == pytest.approx((2.0 / 8 - 0.1 / 4) * 0.9)


@quick
@given(make=st.floats(0.05, 40.0))
def test_measured_yields_are_met_in_any_size(write, plain, make):
    one = write("a", {"sugar": 300, "water": 1700}, [Boil(duration=120.0)], evaporation=0.1, losses=(("pan", 0.1),))
    one = replace(one, gives=1.71, to_make=make)
    cooked = cook(one, plain, {})
    assert cooked.mass == pytest.approx(make, rel=1e-12)
    # The losses told are met without anything “not told”: the same law backwards and forwards.
    assert sum(loss.mass for loss in cooked.losses if loss.cause == "not told") == pytest.approx(0.0, abs=1e-9)


def test_in_masses_cooks_the_same(write, plain):
    from demoule.formula import Amount

    syrup = write("syrup", {"sugar": 60, "water": 40})
    one = write("a", {"flour": 500, "water": Amount(percent=0.5), "syrup": Amount(share=0.5)}, base="flour")
    made = cook_all([syrup, one], plain)
    bare = in_masses(one, made["a"], made)
    again = cook(bare, plain, made)
    assert again.weighed == made["a"].weighed
    assert again.mass == made["a"].mass


# ---- measured yields


def test_a_measured_yield_moves_a_computed_evaporation_inside_its_band(write, plain):
    one = write("a", {"sugar": 300, "water": 1500}, [Boil(duration=300.0, pan=PAN)])
    free = cook(one, plain, {})
    low, high = free.water_lost_band
    told = cook(replace(one, gives=free.mass - 0.02), plain, {})
    assert told.mass == pytest.approx(free.mass - 0.02, rel=1e-12)
    assert low < free.water_lost < told.water_lost < high
    assert not any(loss.cause == "not told" for loss in told.losses)
    beyond = cook(replace(one, gives=1.2), plain, {})
    assert beyond.water_lost == pytest.approx(high)
    assert any(loss.cause == "not told" and loss.mass > 0 for loss in beyond.losses)


def test_a_boil_of_unknown_length_takes_what_the_yield_says(write, plain):
    one = write("a", {"fruit": 1000, "sugar": 100}, [Boil()], gives=0.6)
    cooked = cook(one, plain, {})
    assert cooked.mass == pytest.approx(0.6, rel=1e-12)
    # A purée that is boiled down loses water, not purée.
    assert cooked.water_lost > 0.47
    assert not any(loss.cause == "not told" for loss in cooked.losses)


def test_more_than_the_usual_losses_allow_makes_them_smaller(write, plain):
    one = write("a", {"cream": 1000}, [Blend(), Whip(overrun=0.5)], gives=0.99)
    cooked = cook(one, plain, {})
    assert cooked.mass == pytest.approx(0.99, rel=1e-12)
    assert sum(loss.mass for loss in cooked.losses) == pytest.approx(0.01)


def test_more_than_was_put_in_is_refused(write, plain):
    with pytest.raises(BadInput) as error:
        cook(write("a", {"cream": 1000}, [Blend()], gives=1.05), plain, {})
    assert error.value.where == "components.a.gives"


def test_a_measured_evaporation_without_heat_is_refused(write, plain):
    with pytest.raises(BadInput):
        cook(write("a", {"cream": 1000}, [Blend()], evaporation=0.05), plain, {})


def test_a_measured_evaporation_far_from_the_computed_is_said(write, plain):
    one = write("a", {"water": 1500}, [Boil(duration=60.0, pan=PAN)], evaporation=0.6)
    assert any(finding.rule == "evaporation measured" for finding in cook(one, plain, {}).findings)
    near = replace(one, evaporation=0.05)
    assert not cook(near, plain, {}).findings
