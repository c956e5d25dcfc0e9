import pytest

from demoule.errors import BadInput, UnknownName
from demoule.formula import Amount, Cook, cook, cook_all, scaled, weighed_masses


def masses(component, larder, made=None):
    return dict(weighed_masses(component, larder, made or {}))


def test_a_volume_weighs_by_its_density(write, plain):
    one = write("a", {"water": Amount(volume=1e-3), "sugar": Amount(volume=1e-4)})
    # Water at 20 °C 998.2 kg/m3; a crystal of sucrose about 1.59 g/ml, here of the dissolved sugar: near it.
    assert masses(one, plain)["water"] == pytest.approx(0.9982)
    assert masses(one, plain)["sugar"] == pytest.approx(0.159, rel=0.03)
    assert any(finding.rule == "density assumed" for finding in cook(one, plain, {}).findings)


def test_leaves_weigh_by_the_leaf(write, plain):
    one = write("a", {"water": 100, "leaf gelatine": Amount(count=2)})
    assert masses(one, plain)["leaf gelatine"] == pytest.approx(0.004)


def test_percentages_of_a_base(write, plain):
    one = write("a", {"flour": 500, "water": Amount(percent=0.62), "fat": Amount(percent=0.1)}, base="flour")
    assert masses(one, plain) == pytest.approx({"flour": 0.5, "water": 0.31, "fat": 0.05})


def test_percentages_of_the_whole(write, plain):
    one = write("a", {"water": 300, "sugar": Amount(percent=0.4)})
    found = masses(one, plain)
    assert found["sugar"] / sum(found.values()) == pytest.approx(0.4)
    assert found["water"] == pytest.approx(0.3)


def test_only_percentages_and_a_mass_to_make(write, plain):
    one = write("a", {"water": Amount(percent=0.35), "sugar": Amount(percent=0.65)}, to_make=2.0)
    cooked = cook(one, plain, {})
    assert cooked.mass == pytest.approx(2.0, rel=1e-13)
    assert cooked.composition.water == pytest.approx(0.35)


def test_a_base_in_percent_takes_its_size_from_what_is_to_be_made(write, plain):
    one = write("a", {"flour": Amount(percent=1.0), "water": Amount(percent=0.6)}, base="flour", to_make=0.8)
    assert dict(cook(one, plain, {}).weighed) == pytest.approx({"flour": 0.5, "water": 0.3})


def test_half_of_another_component(write, plain):
    syrup = write("syrup", {"water": 100, "sugar": 100})
    one = write("a", {"syrup": Amount(share=0.5), "fruit": 300})
    assert dict(cook_all([one, syrup], plain)["a"].weighed)["syrup"] == pytest.approx(0.1)


@pytest.mark.parametrize(
    ("weigh", "told"),
    [
        ({}, {}),
        ({"water": 0.0}, {}),
        ({"water": -5}, {}),
        ({"water": 1e9}, {}),
        ({"water": float("nan")}, {}),
        ({"water": Amount()}, {}),
        ({"water": Amount(mass=0.1, count=2)}, {}),
        ({"water": Amount(count=3)}, {}),
        ({"water": Amount(share=0.5)}, {}),
        ({"water": Amount(percent=0.5)}, {}),
        ({"water": 100, "sugar": Amount(percent=1.2)}, {}),
        ({"water": 100}, {"to_make": 0.0}),
        ({"water": 100}, {"to_make": -1.0}),
    ],
)
def test_impossible_amounts_are_refused_with_their_place(write, plain, weigh, told):
    with pytest.raises(BadInput) as error:
        cook(write("a", weigh, **told), plain, {})
    assert "components.a" in error.value.where
    assert error.value.remedy


def test_an_unknown_name_is_answered_with_the_nearest(write, plain):
    with pytest.raises(UnknownName) as error:
        cook(write("a", {"suger": 100}), plain, {})
    assert error.value.hint == "sugar"
    assert error.value.where == "components.a.weigh.suger" or "components.a" in error.value.where


def test_an_unknown_base_is_refused(write, plain):
    with pytest.raises(UnknownName):
        cook(write("a", {"water": 100, "sugar": Amount(percent=0.5)}, base="flour"), plain, {})


def test_a_share_above_all_is_refused(write, plain):
    with pytest.raises(BadInput):
        cook_all([write("s", {"water": 100}), write("a", {"s": Amount(share=1.5)})], plain)


def test_scaling_by_nothing_is_refused(write):
    with pytest.raises(BadInput):
        scaled(write("a", {"water": 100}), 0.0)


def test_a_cooking_that_can_never_give_what_is_to_be_made_is_refused(write, plain):
    # Everything is lost on the way.
    one = write("a", {"water": 900, "sugar": 100}, [Cook(to_solids=0.5)], losses=(("hole", 1.0),), to_make=1.0)
    with pytest.raises(BadInput):
        cook(one, plain, {})
