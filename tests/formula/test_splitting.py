"""Sucrose that acid splits along a making's own heat."""

from __future__ import annotations

import pytest

from demoule.composition import Constituent
from demoule.formula import Boil, Cook, Heat, Rest, cook
from demoule.physics import freezing_point


def shares(cooked):
    x = cooked.composition
    return x[C.SUCROSE], x[C.GLUCOSE] + x[C.FRUCTOSE]


def reading(cooked):
    return next((one.figure for one in cooked.readings if one.key == "inverted"), None)


C = Constituent
SYRUP = {"sugar": 650, "water": 350}


def held(write, ph, hours=1.0, at=353.15):
    return write("syrup", SYRUP, [Heat(to=at, covered=True), Rest(at=at, at_least=hours * 3600)], ph=ph)


@pytest.mark.parametrize(("ph", "share"), [(3.0, 0.18), (3.5, 0.059), (4.0, 0.019)])
def test_an_hour_at_80_degrees_splits_as_the_published_rate_says(write, plain, ph, share):
    # Source: vukov-1965 at 0.45 kg of water in a litre (recalled): 18, 5.9 and 1.9 % in an hour.
    cooked = cook(held(write, ph), plain, {})
    assert reading(cooked).value / 100 == pytest.approx(share, rel=0.15)  # the pot is heated as well
    sucrose, split = shares(cooked)
    assert split / (sucrose + split) == pytest.approx(reading(cooked).value / 100, rel=1e-9)


def test_it_rises_with_acid_heat_and_time_and_keeps_solids_and_water(write, plain):
    first = cook(held(write, 3.5), plain, {})
    for more in (held(write, 3.0), held(write, 3.5, hours=3.0), held(write, 3.5, at=363.15)):
        assert reading(cook(more, plain, {})).value > reading(first).value
    neutral = cook(held(write, 7.0), plain, {})
    assert reading(neutral) is None
    assert first.composition.total_solids == pytest.approx(neutral.composition.total_solids, abs=2e-3)
    assert sum(shares(first)) == pytest.approx(sum(shares(neutral)), abs=2e-3)


def test_what_is_split_freezes_lower(write, plain):
    sour, neutral = (cook(held(write, ph, hours=4.0), plain, {}) for ph in (3.0, 7.0))
    assert float(freezing_point(sour.composition.vector)) < float(freezing_point(neutral.composition.vector)) - 1.0


def test_an_unknown_acidity_splits_nothing(write, plain):
    recipe = write("syrup", SYRUP, [Boil(duration=600)])
    assert reading(cook(recipe, plain, {})) is None


def test_most_of_it_happens_in_the_last_minutes_of_a_cooking(write, plain):
    cooked = cook(write("syrup", SYRUP, [Cook(to_temperature=391.15)], ph=3.5), plain, {})
    short = cook(write("syrup", SYRUP, [Cook(to_temperature=378.15)], ph=3.5), plain, {})
    assert reading(cooked).value > 2 * reading(short).value
    low, value, high = reading(cooked).low, reading(cooked).value, reading(cooked).high
    assert low < value < high
