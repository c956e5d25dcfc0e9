"""Candying over days, poaching and cooking: what they tell, and that nothing is lost on the way."""

from __future__ import annotations

import numpy as np
import pytest

from demoule.errors import BadInput
from demoule.formula import Blanch, Candy, Cook, LaterSyrup, Surroundings, cook, cook_all
from demoule.physics.tissue import COOKED

DAY = 86400.0
STEP = Candy(syrup="syrup", temperature=333.15, duration=DAY, piece="cube", size=0.012, ratio=2.0)
LATER = (
    LaterSyrup(duration=DAY, temperature=333.15, to_solids=0.62),
    LaterSyrup(duration=2 * DAY, temperature=333.15, to_solids=0.68),
)


@pytest.fixture(scope="module")
def syrup(write):
    return write("syrup", {"sugar": 1000, "water": 1000})


def candied(write, plain, syrup, step):
    made = cook_all([syrup, write("candied", {"fruit": 1000}, [step], ph=7.0)], plain)
    return made["syrup"], made["candied"]


def told(cooked, key):
    return next(one.figure for one in cooked.readings if one.key == key)


def with_later(*later):
    from dataclasses import replace

    return replace(STEP, later=later)


def test_each_day_brings_the_fruit_further_and_no_sugar_is_lost(write, plain, syrup):
    brix = []
    for days in range(3):
        before, fruit = candied(write, plain, syrup, with_later(*LATER[:days]))
        (left,) = fruit.left_over
        start = plain.find("fruit").composition.vector + 2.0 * before.composition.vector
        end = fruit.mass * fruit.composition.vector + left.mass * left.composition.vector
        # Only water goes, boiled off between the days (law).
        gone = start - end
        assert gone[1:] == pytest.approx(np.zeros(len(gone) - 1), abs=1e-9)
        assert gone[0] == pytest.approx(0.0, abs=1e-9) if days == 0 else gone[0] > 0.1
        brix.append(told(fruit, "fruit_brix").value)
        assert fruit.waits[-1].at_least == pytest.approx(STEP.duration + sum(one.duration for one in LATER[:days]))
    assert brix[0] < brix[1] < brix[2] < 68.0


def test_a_day_that_lowers_the_brix_or_grains_in_the_cold_is_refused(write, plain, syrup):
    with pytest.raises(BadInput, match="already"):
        candied(write, plain, syrup, with_later(LaterSyrup(duration=DAY, temperature=333.15, to_solids=0.30)))
    with pytest.raises(BadInput, match="stay clear"):
        candied(write, plain, syrup, with_later(LaterSyrup(duration=DAY, temperature=277.15, to_solids=0.80)))


def test_what_is_learned_of_the_flesh_narrows_the_band_and_is_told(write, plain, syrup):
    from dataclasses import replace

    slow = replace(COOKED, diffusivity_at_90=COOKED.diffusivity_at_90 / 2, spread=1.25, learned_from="one weighing")
    recipe = write("candied", {"fruit": 1000}, [Blanch(), replace(STEP, duration=7200.0)], ph=7.0)
    made = cook_all([syrup], plain)
    first = cook(recipe, plain, made)
    later = cook(recipe, plain, made, Surroundings(tissues=(("candied", slow),)))
    assert told(later, "candied_share").value < told(first, "candied_share").value
    assert told(later, "candied_share").measured == "learned from one weighing"
    for figure, widest in ((told(first, "candy_time_90"), 3.0), (told(later, "candy_time_90"), 1.25)):
        assert figure.high / figure.value == pytest.approx(widest)
    assert cook(recipe, plain, made, Surroundings(tissues=(("other", slow),))).readings == first.readings


def test_waters_wash_out_and_say_whether_splitting_helps(write, plain, syrup):
    left = {}
    for times, seconds in ((1, 900.0), (3, 300.0), (3, 1800.0)):
        step = Blanch(duration=seconds, times=times, water=5.0, piece="slice", size=0.006)
        left[times, seconds] = told(cook(write("a", {"fruit": 1000}, [step]), plain, {}), "washed_left")
    # Held values of the model's own page: 68 and 66 % after a quarter of an hour (computed).
    assert left[1, 900.0].value == pytest.approx(67, abs=2)
    assert left[3, 300.0].value == pytest.approx(66, abs=2)
    assert left[3, 1800.0].value < 30
    assert "fresh waters" in left[3, 1800.0].note


def test_a_pot_is_done_by_power_or_by_its_own_weighed_rate(write, plain):
    recipe = {"sugar": 1000, "water": 1000}
    by_power = cook(write("s", recipe, [Cook(to_solids=0.84, power=2000.0)]), plain, {})
    # Published heat balance: 0.810 kg off 2 kg at 2 kW with 85 % is 18 min at the boil (computed by hand: 2257 J/g).
    assert told(by_power, "cook_time").value == pytest.approx(0.8095 * 2257 / 1.7 / 60, rel=0.15)
    weighed = cook(write("s", recipe, [Cook(to_solids=0.84, rate=0.030 / 60)]), plain, {})
    assert told(weighed, "cook_time").value == pytest.approx(27, rel=0.10)
    slack = [told(one, "cook_time").high / told(one, "cook_time").value for one in (by_power, weighed)]
    assert slack == pytest.approx([1.30, 1.12])
    assert "30 g a minute" in told(weighed, "cook_time").measured


def test_a_temperature_means_a_range_of_solids_and_a_brix_a_range_of_temperatures(write, plain):
    recipe = {"sugar": 1000, "water": 1000}
    to_heat = cook(write("s", recipe, [Cook(to_temperature=386.15)]), plain, {})
    solids = told(to_heat, "cooked_solids")
    assert solids.low < solids.value < solids.high
    # Common practice, no source: 113 °C is about 84 to 85 % sugar at sea level.
    assert solids.low < 84.5 < solids.high
    to_brix = cook(write("s", recipe, [Cook(to_solids=0.65)]), plain, {}, Surroundings(altitude=640.0))
    done = told(to_brix, "done_at")
    assert done.low < done.value < done.high
    assert "640 m" in done.note
