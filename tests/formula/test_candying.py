from dataclasses import replace

import numpy as np
import pytest

from demoule.composition import Constituent
from demoule.errors import BadInput
from demoule.formula import Blanch, Candy, Surroundings, cook, cook_all
from demoule.physics.refraction import soluble_solids

C = Constituent
LONG = 1e7


@pytest.fixture(scope="module")
def syrup(write):
    return write("syrup", {"sugar": 1300, "water": 700})


def candied(write, plain, syrup, step, grams=1000, **told):
    told.setdefault("ph", 7.0)  # in a sour fruit sucrose splits, and does not stay the same sugar
    made = cook_all([syrup, write("candied", {"fruit": grams}, [step], **told)], plain)
    return made["syrup"], made["candied"]


def amounts(one):
    return one.mass * one.composition.vector


def fruit_alone(plain, grams=1.0):
    return grams * plain.find("fruit").composition.vector


@pytest.mark.parametrize("duration", [0.0, 600.0, 14400.0, LONG])
@pytest.mark.parametrize("ratio", [0.7, 2.0])
def test_every_constituent_is_conserved_between_fruit_and_syrup(write, plain, syrup, duration, ratio):
    before, fruit = candied(write, plain, syrup, Candy(syrup="syrup", duration=duration, ratio=ratio))
    (left,) = fruit.left_over
    assert left.used == pytest.approx(ratio)
    total = fruit_alone(plain) + left.used * before.composition.vector
    np.testing.assert_allclose(amounts(fruit) + left.mass * left.composition.vector, total, atol=1e-12)
    assert fruit.entered + fruit.exchanged == pytest.approx(fruit.mass, rel=1e-12)


def test_after_long_fruit_and_syrup_have_one_brix(write, plain, syrup):
    _, fruit = candied(write, plain, syrup, Candy(syrup="syrup", duration=LONG, ratio=2.0))
    (left,) = fruit.left_over
    reading = [float(soluble_solids(one.composition.vector)) for one in (fruit, left)]
    assert reading[0] == pytest.approx(reading[1], abs=2e-3)
    # Source: mass balance: all the sugar over all the liquid (law).
    sugar = 0.11 + 2 * 0.65
    assert reading[0] == pytest.approx(sugar / (0.97 + 2), abs=3e-3)
    # And one proportion of sugars: the syrup has glucose of the fruit now.
    shares = [one.composition[C.GLUCOSE] / one.composition[C.SUCROSE] for one in (fruit, left)]
    assert shares[0] == pytest.approx(shares[1], rel=0.02)


def test_five_hours_at_85_degrees_candy_a_scalded_wedge_through(write, plain, syrup):
    """Wedges, blanched three times and kept five hours in syrup, come out candied (common practice, no source)."""
    step = Candy(syrup="syrup", temperature=360.15, duration=5 * 3600.0, piece="wedge", size=0.016, ratio=2.0)
    one = write("candied", {"fruit": 1000}, [Blanch(times=3, duration=60.0), step])
    fruit = cook_all([syrup, one], plain)["candied"]
    rest = (0.11 + 1.3) / 2.97
    assert float(soluble_solids(fruit.composition.vector)) > 0.8 * rest


def test_measured_yield_and_solids_win(write, plain, syrup):
    step = Candy(syrup="syrup", ratio=2.0, gives=0.95, solids=0.42)
    _, fruit = candied(write, plain, syrup, step)
    assert fruit.mass == pytest.approx(0.95, rel=1e-12)
    assert fruit.composition.total_solids == pytest.approx(0.42, rel=1e-12)
    _, solids_alone = candied(write, plain, syrup, replace(step, gives=None))
    assert solids_alone.composition.total_solids == pytest.approx(0.42, rel=1e-12)
    _, by_component = candied(write, plain, syrup, replace(step, gives=None, solids=None), gives=0.93)
    assert by_component.mass == pytest.approx(0.93, rel=1e-12)
    assert not [loss for loss in by_component.losses if loss.cause == "not told"]
    assert any("measured" in basis.model for basis in by_component.basis)


def test_what_cannot_be_is_refused(write, plain, syrup):
    for step in (
        Candy(syrup="syrup", ratio=0.2, gives=1.1, solids=0.9),
        Candy(syrup="syrup", ratio=2.0, gives=0.2),
        Candy(syrup="syrup", ratio=2.0, gives=0.9, solids=0.01),
    ):
        with pytest.raises(BadInput) as error:
            candied(write, plain, syrup, step)
        assert error.value.where.startswith("components.candied.steps")


def test_all_the_syrup_there_is_when_no_ratio_is_told(write, plain, syrup):
    before, fruit = candied(write, plain, syrup, Candy(syrup="syrup"), grams=500)
    assert fruit.left_over[0].used == pytest.approx(before.mass)


def test_candying_keeps_its_proportions_in_any_size(write, plain, syrup):
    once = candied(write, plain, syrup, Candy(syrup="syrup"), to_make=1.0)[1]
    thrice = candied(write, plain, syrup, Candy(syrup="syrup"), to_make=3.0)[1]
    assert once.mass == pytest.approx(1.0, rel=1e-12)
    np.testing.assert_allclose(once.composition.vector, thrice.composition.vector, atol=1e-9)


def test_sugar_of_the_syrup_is_an_ingredient_of_the_fruit(write, plain, syrup):
    _, fruit = candied(write, plain, syrup, Candy(syrup="syrup", ratio=2.0, gives=0.95, solids=0.42))
    contents = {content.ingredient.name: content for content in fruit.contents}
    gained = 0.42 * 0.95 - 0.14
    assert contents["sugar"].mass * fruit.mass == pytest.approx(gained, rel=1e-9)
    assert contents["fruit"].mass * fruit.mass == pytest.approx(1.0, rel=1e-9)
    assert "water" not in contents
    assert contents["fruit"].heated_to == pytest.approx(358.15)
    assert contents["fruit"].held >= 14400.0


def test_an_open_pan_thickens_the_syrup_and_loses_none_of_the_fruit(write, plain, syrup):
    _, covered = candied(write, plain, syrup, Candy(syrup="syrup", ratio=2.0))
    _, bare = candied(write, plain, syrup, Candy(syrup="syrup", ratio=2.0, covered=False))
    assert bare.left_over[0].composition.water < covered.left_over[0].composition.water
    # Not more than half of the syrup's water: it is said, and taken to be topped up so far.
    gone = covered.left_over[0].mass + covered.mass - bare.left_over[0].mass - bare.mass
    assert gone == pytest.approx(0.5 * 2.0 * 0.35, rel=1e-6)
    assert any(finding.rule == "open pan" for finding in bare.findings)
    assert bare.entered + bare.exchanged == pytest.approx(bare.mass, rel=1e-12)


def test_a_kitchen_that_learned_its_speed(write, plain, syrup):
    one = write("candied", {"fruit": 1000}, [Candy(syrup="syrup", ratio=2.0, size=0.03)])
    made = cook_all([syrup], plain)
    slow = cook(one, plain, made, Surroundings(factors=(("candying", 0.5),)))
    fast = cook(one, plain, made, Surroundings(factors=(("candying", 1.5),)))
    assert fast.composition.total_solids > slow.composition.total_solids


def test_blanching_washes_sugar_out_and_keeps_the_mass(write, plain):
    once = cook(write("a", {"fruit": 1000}, [Blanch(duration=300.0)]), plain, {})
    thrice = cook(write("a", {"fruit": 1000}, [Blanch(duration=300.0, times=3)]), plain, {})
    assert once.mass == pytest.approx(1.0)
    assert thrice.composition.sugars < once.composition.sugars < 0.11
    assert thrice.composition[C.FIBRE] == pytest.approx(0.03)
    told = cook(write("a", {"fruit": 1000}, [Blanch(duration=300.0, water=5.0)]), plain, {})
    assert once.composition.sugars == pytest.approx(told.composition.sugars, rel=1e-12)  # five times the fruit, untold
    scarce = cook(write("a", {"fruit": 1000}, [Blanch(duration=300.0, water=1.0)]), plain, {})
    assert scarce.composition.sugars > once.composition.sugars
