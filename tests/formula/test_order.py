import pytest

from demoule.errors import BadInput, UnknownName
from demoule.formula import Candy, cook_all, in_order


def test_what_goes_in_is_made_before(write):
    body = write("body", {"base": 100, "cream": 100})
    base = write("base", {"syrup": 50, "fruit": 100})
    syrup = write("syrup", {"sugar": 50, "water": 50})
    assert [one.name for one in in_order([body, base, syrup])] == ["syrup", "base", "body"]


def test_a_syrup_to_lie_in_is_made_before(write):
    fruit = write("candied", {"fruit": 100}, [Candy(syrup="syrup")])
    syrup = write("syrup", {"sugar": 50, "water": 50})
    assert [one.name for one in in_order([fruit, syrup])] == ["syrup", "candied"]


@pytest.mark.parametrize("names", [("a",), ("a", "b"), ("a", "b", "c")])
def test_a_circle_is_named(write, plain, names):
    components = [write(name, {names[(k + 1) % len(names)]: 100}) for k, name in enumerate(names)]
    with pytest.raises(BadInput) as error:
        cook_all(components, plain)
    assert all(f"“{name}”" in error.value.says for name in names)
    assert "contains itself" in error.value.says


def test_two_of_one_name_are_refused(write, plain):
    with pytest.raises(BadInput):
        cook_all([write("a", {"water": 1}), write("a", {"water": 2})], plain)


def test_a_missing_syrup_is_answered_with_the_nearest(write, plain):
    fruit = write("candied", {"fruit": 100}, [Candy(syrup="light sirup")])
    with pytest.raises(UnknownName) as error:
        cook_all([fruit, write("light syrup", {"sugar": 50, "water": 50})], plain)
    assert error.value.hint == "light syrup"


def test_a_component_wins_over_an_ingredient_of_its_name(write, plain):
    made = cook_all([write("Cream", {"fat": 100}), write("a", {"cream": 100})], plain)
    assert made["a"].composition.fat == pytest.approx(1.0)
