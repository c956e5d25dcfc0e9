from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from demoule.dossier.hygiene import GrowthClass, listeria_class, time_between, worst_layer
from demoule.dossier.published import rows
from demoule.units import kelvin

DAY = 86400.0


@pytest.mark.parametrize("row", rows("listeria_classes"), ids=lambda r: r["food"])
def test_foods_are_classed_as_the_note_says(row):
    # Source: eu-2073-2005, Annex I chapter 1, note to category 1.3.
    judged = listeria_class(float(row["ph"]), float(row["water_activity"]), float(row["life_days"]) * DAY)
    assert judged.growth == row["value"]


def test_what_is_not_known_is_not_shown_unless_it_cannot_matter():
    assert listeria_class(None, 0.97, 10 * DAY).growth == GrowthClass.NOT_SHOWN
    assert listeria_class(4.2, None, 10 * DAY).growth == GrowthClass.UNABLE
    assert listeria_class(None, 0.90, 10 * DAY).growth == GrowthClass.UNABLE
    assert listeria_class(None, None, 3 * DAY).growth == GrowthClass.UNABLE
    assert listeria_class(6.0, 0.97, None).growth == GrowthClass.NOT_SHOWN


def test_a_calculated_value_near_a_limit_asks_for_a_measurement():
    assert listeria_class(6.0, 0.915, 10 * DAY, calculated=True).measure
    assert not listeria_class(6.0, 0.97, 10 * DAY, calculated=True).measure
    assert not listeria_class(6.0, 0.915, 10 * DAY).measure


def test_an_acid_gel_does_not_make_its_neutral_neighbour_acid():
    # Common practice of food law: the worst layer decides, and so does the place where two layers meet.
    place, judged = worst_layer([("heart", 3.4, 0.97), ("mousse", 6.4, 0.975)], 10 * DAY)
    assert judged.growth == GrowthClass.ABLE
    assert "mousse" in place


def test_where_acid_and_dry_layers_meet_neither_holds_growth_back():
    place, judged = worst_layer([("gel", 3.4, 0.97), ("praline", 6.3, 0.60)], 10 * DAY)
    assert judged.growth == GrowthClass.ABLE
    assert place == "where gel meets praline"


@given(st.floats(3, 7), st.floats(0.6, 1), st.floats(0, 0.05), st.floats(0, 1))
def test_more_acid_or_less_water_never_makes_growth_easier(ph, aw, drier, sourer):
    milder = listeria_class(ph, aw, 10 * DAY).growth
    stricter = listeria_class(ph - sourer, aw - drier, 10 * DAY).growth
    assert not (milder == GrowthClass.UNABLE and stricter == GrowthClass.ABLE)


def test_warm_time_is_counted_between_the_limits_only():
    # From 85 °C to 5 °C in 80 min on a straight line: 52 of the 80 min lie between 57 and 5 °C.
    assert time_between([0, 4800], [kelvin(85), kelvin(5)]) == pytest.approx(52 * 60)
    assert time_between([0, 3600, 7200], [kelvin(20), kelvin(20), kelvin(4)]) == pytest.approx(3600 + 3600 * 15 / 16)
    assert time_between([0, 3600], [kelvin(3), kelvin(3)]) == 0
