"""What a kitchen test teaches: a hidden truth is found again, and impossible readings are refused."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from demoule.errors import BadInput
from demoule.physics.candy_course import Fruit, SyrupStage
from demoule.physics.candy_shapes import piece_shape
from demoule.physics.candying import candy, candying_time
from demoule.physics.coat import coat_volume
from demoule.physics.coating import Coating
from demoule.physics.dipping import ShellFactors, dip
from demoule.physics.freeze_on import Core
from demoule.physics.learning import (
    DipTest,
    learn_from_candying,
    learn_from_dips,
    learn_from_folding,
    learn_from_gun,
    learned_rows,
    shell_factors,
)
from demoule.physics.tissue import Tissue

CORE = Core.sphere(80e-6, temperature=253.15, mass=0.058)
COATING = Coating(fat=0.45)
HIDDEN = ShellFactors(
    film=1.3, freeze_on=0.8, fat=0.45, bath=308.15, piece=253.15, shortest=1.0, longest=6.0, learned_from="hidden"
)


def dips_at(*durations):
    return [
        DipTest(
            coating=COATING,
            core=CORE,
            bath=308.15,
            duration=t,
            shell_mass=dip(COATING, CORE, bath=308.15, duration=t, learned=HIDDEN).mass,
        )
        for t in durations
    ]


def test_two_times_find_film_and_freeze_on_again():
    learned = learn_from_dips(dips_at(1.0, 6.0), "1 and 6 s, five pieces each")
    assert (learned.film, learned.freeze_on) == pytest.approx((1.3, 0.8), rel=1e-6)
    # Between the tests the prediction is exact, as the two parts are; the claim to hold is 1 %.
    for t in (3.0, 8.0):
        predicted = dip(COATING, CORE, bath=308.15, duration=t, learned=learned)
        assert predicted.mass == pytest.approx(
            dip(COATING, CORE, bath=308.15, duration=t, learned=HIDDEN).mass, rel=0.01
        )
        assert predicted.learned_from.startswith("1 and 6")


def test_one_time_gives_one_factor_and_reproduces_itself():
    (test,) = dips_at(3.0)
    learned = learn_from_dips([test], "3 s")
    assert learned.film == learned.freeze_on
    assert dip(COATING, CORE, bath=308.15, duration=3.0, learned=learned).mass == pytest.approx(
        test.shell_mass, rel=1e-9
    )
    (row,) = learned_rows(learned)
    assert (row.what, row.factor) == ("dip", learned.film)
    back = shell_factors([(row.what, row.factor, "3 s")], fat=0.45, bath=308.15, piece=253.15, duration=3.0)
    assert back.film == back.freeze_on == learned.film


def test_a_kitchen_without_a_test_has_no_factors():
    assert shell_factors([], fat=0.45, bath=308.15, piece=253.15, duration=3.0) is None


def test_strange_factors_are_said():
    odd = learn_from_dips([DipTest(coating=COATING, core=CORE, bath=308.15, duration=3.0, shell_mass=0.060)], "odd")
    assert learned_rows(odd)[0].findings[0].rule == "test dip is strange"


@pytest.mark.parametrize(
    "tests",
    [
        [],
        [DipTest(coating=COATING, core=CORE, bath=308.15, duration=3.0, shell_mass=0.0)],
        [
            DipTest(coating=COATING, core=CORE, bath=308.15, duration=1.0, shell_mass=0.012),
            DipTest(coating=Coating(fat=0.6), core=CORE, bath=308.15, duration=6.0, shell_mass=0.012),
        ],
        [
            DipTest(coating=COATING, core=CORE, bath=308.15, duration=1.0, shell_mass=0.020),
            DipTest(coating=COATING, core=CORE, bath=308.15, duration=6.0, shell_mass=0.012),
        ],
    ],
)
def test_test_dips_that_teach_nothing_are_refused(tests):
    with pytest.raises(BadInput):
        learn_from_dips(tests, "nothing")


@settings(max_examples=12, deadline=None)
@given(
    diffusivity=st.floats(2e-10, 1.2e-9),
    ratio=st.floats(1.0, 2.5),
    kind=st.sampled_from(["slice", "cube", "wedge"]),
    hours=st.floats(0.7, 2.0),
)
def test_one_weighing_and_one_brix_find_the_tissue_again(diffusivity, ratio, kind, hours):
    shape = piece_shape(kind, 0.010)
    stage = SyrupStage(duration=hours * 3600, temperature=358.15, mass=2.0, solids=0.60)
    true = Fruit(
        mass=1.0, soluble_solids=0.12, shape=shape, tissue=Tissue(diffusivity_at_90=diffusivity, water_per_sugar=ratio)
    )
    course = candy(true, [stage])
    if course.share[-1] > 0.9:
        return
    guess = Fruit(mass=1.0, soluble_solids=0.12, shape=shape)
    learned = learn_from_candying(
        guess,
        stage,
        mass_after=float(course.fruit_mass[-1]),
        solids_after=float(course.fruit_solids[-1]),
        learned_from="two hours",
    )
    assert learned.water_per_sugar == pytest.approx(ratio, rel=1e-6)
    assert learned.diffusivity_at_90 == pytest.approx(diffusivity, rel=0.01)
    assert learned.spread == 1.25


def test_noise_of_a_kitchen_scale_stays_within_the_stated_band():
    # One °Bx and one per cent of mass: time to 90 % within -18 and +25 % (trial of the model), shown as 25 %.
    shape = piece_shape("slice", 0.010)
    stage = SyrupStage(duration=5400.0, temperature=358.15, mass=2.0, solids=0.60)
    fruit = Fruit(mass=1.0, soluble_solids=0.12, shape=shape)
    course = candy(fruit, [stage])
    mass, solids = float(course.fruit_mass[-1]), float(course.fruit_solids[-1])
    true = candying_time(fruit, stage)[0]
    off = []
    for bx in (-0.01, 0.01):
        for kg in (-0.01, 0.01):
            learned = learn_from_candying(
                fruit, stage, mass_after=mass * (1 + kg), solids_after=solids + bx, learned_from="noise"
            )
            again = Fruit(mass=1.0, soluble_solids=0.12, shape=shape, tissue=learned)
            off.append(candying_time(again, stage)[0] / true - 1)
    assert np.max(np.abs(off)) < 0.30


@pytest.mark.parametrize(
    ("mass", "solids"), [(1.0, 0.12), (0.95, 0.59), (2.0, 0.5), (0.01, 0.3), (0.95, 1.3), (1.0, 0.05)]
)
def test_readings_that_teach_nothing_are_refused(mass, solids):
    fruit = Fruit(mass=1.0, soluble_solids=0.12, shape=piece_shape("slice", 0.010))
    stage = SyrupStage(duration=5400.0, temperature=358.15, mass=2.0, solids=0.60)
    with pytest.raises(BadInput):
        learn_from_candying(fruit, stage, mass_after=mass, solids_after=solids, learned_from="nothing")


def test_spreads_and_strangeness_are_pinned():
    # 10 % after a weighing; factors outside 0.4 to 2.5 ask for another look (judged).
    whole = dip(COATING, CORE, bath=308.15, duration=3.0)

    def factor(times):
        volume = coat_volume(CORE.area, CORE.curvature, times * whole.thickness)
        test = DipTest(coating=COATING, core=CORE, bath=308.15, duration=3.0, shell_mass=COATING.density * volume)
        return learned_rows(learn_from_dips([test], "t"))[0]

    for times, strange in ((0.39, True), (0.41, False), (2.49, False), (2.51, True)):
        row = factor(times)
        assert row.factor == pytest.approx(times)
        assert bool(row.findings) is strange
        assert row.spread == 0.10
    two = learned_rows(learn_from_dips(dips_at(1.0, 6.0), "two"))
    assert [(row.what, row.spread) for row in two] == [("dip film", 0.10), ("dip freeze-on", 0.10)]
    assert learn_from_gun(sprayed=0.006, landed=0.0018, learned_from="gun").spread == 0.10
    cups = learn_from_folding(before=720, part_before=500, base=1040, part_share=0.5, learned_from="cups")
    assert cups.spread == 0.10
    # Fruit that has come 98 % of its way teaches nothing about its speed.
    fruit = Fruit(mass=1.0, soluble_solids=0.12, shape=piece_shape("slice", 0.006))
    for share, teaches in ((0.97, True), (0.985, False)):
        hours = candying_time(fruit, SyrupStage(duration=1.0, temperature=358.15, mass=2.0, solids=0.6), share)[0]
        stage = SyrupStage(duration=hours, temperature=358.15, mass=2.0, solids=0.6)
        course = candy(fruit, [stage])
        reading = {"mass_after": float(course.fruit_mass[-1]), "solids_after": float(course.fruit_solids[-1])}
        if teaches:
            assert learn_from_candying(fruit, stage, **reading, learned_from="late").learned_from == "late"
        else:
            with pytest.raises(BadInput, match="of its way"):
                learn_from_candying(fruit, stage, **reading, learned_from="late")


def test_a_gun_and_a_fold():
    assert learn_from_gun(sprayed=0.006, landed=0.0018, learned_from="gun").factor == pytest.approx(0.30)
    with pytest.raises(BadInput):
        learn_from_gun(sprayed=0.001, landed=0.0018, learned_from="gun")
    # Volumes: 1 kg of half foam at 500, half base at 1040; 1/720 against 0.5/500 + 0.5/1040.
    lost = (0.5 / 500 + 0.5 / 1040 - 1 / 720) / (0.5 / 500 - 0.5 / 1040)
    learned = learn_from_folding(before=720, part_before=500, base=1040, part_share=0.5, learned_from="cups")
    assert learned.factor == pytest.approx(lost)
    with pytest.raises(BadInput):
        learn_from_folding(before=400, part_before=500, base=1040, part_share=0.5, learned_from="cups")
