from __future__ import annotations

from dataclasses import replace

import pytest

from demoule.cold import Window
from demoule.dossier import dossier
from demoule.dossier.label import DRAFT, draft_label, market_of, net_quantity
from demoule.errors import BadInput
from demoule.piece.design import Garnish

HOUR = 3600.0


def test_a_draft_says_that_it_is_one(small):
    for market in ("EU", "US"):
        assert dossier(small, market).label.cautions[0] == DRAFT


def test_the_markets_differ_in_lines_units_and_names(small):
    eu, us = draft_label(small, "EU"), draft_label(small, "US")
    assert [line.name for line in eu.nutrition][:2] == ["energy", "energy"]
    assert us.nutrition[0].name == "calories"
    assert "Net Wt" in us.net_quantity
    assert "oz" not in eu.net_quantity
    assert "°F" in us.storage
    assert "°F" not in eu.storage
    assert eu.contains == ("milk", "soybeans")
    assert us.contains == ("milk", "soybeans")


def test_calories_are_rounded_for_the_serving_and_energy_per_100_g(small):
    eu, us = draft_label(small, "EU"), draft_label(small, "US")
    kcal = next(line for line in eu.nutrition if line.unit == "kcal")
    assert kcal.printed_100g == str(round(kcal.per_100g))
    assert int(us.nutrition[0].printed_piece) % 10 == 0


def test_per_piece_is_per_100_g_times_the_mass(small):
    for line in draft_label(small, "EU").nutrition:
        if line.per_100g is not None:
            assert line.per_piece == pytest.approx(line.per_100g * small.piece.mass * 10)


def test_net_quantity_is_in_grams_and_for_the_us_in_ounces_too():
    # 28.349523 g an ounce, exact.
    assert net_quantity(0.0724, "EU") == "72 g"
    assert net_quantity(0.0724, "US") == "Net Wt 2.6 oz (72 g)"


def test_storage_tells_the_window_of_the_thaw(bench, small):
    stage = bench.STAGES[3]
    window = Window(opens=6 * HOUR, closes=9 * HOUR, opens_low=5 * HOUR, opens_high=7 * HOUR)
    run = bench.run_of(stage, bench.FRIDGE, minutes=360, core=(-18.0, 0.0), window=window)
    worked = bench.with_stages(small, *bench.STAGES, runs=[run])
    label = draft_label(worked, "EU")
    assert "ready after 5 h to 7 h" in label.storage
    assert "at most 3 months" in label.storage
    assert "Do not freeze again" in label.storage


def test_eaten_garnish_of_known_weight_is_on_the_label(bench, small):
    twig = Garnish(what="chocolate twig", eaten=True, mass=0.002, ingredient="dark chocolate")
    label = draft_label(bench.with_garnish(small, twig), "EU")
    assert "chocolate (" in label.ingredients
    heavier = float(label.net_quantity.split()[0]) - float(draft_label(small, "EU").net_quantity.split()[0])
    assert heavier == pytest.approx(2, abs=1)


def test_eaten_garnish_without_ingredient_is_named_as_missing(bench, small):
    worked = bench.with_garnish(small, Garnish(what="sugar pearl", eaten=True))
    assert any("sugar pearl" in text for text in dossier(worked).assumptions)


def test_the_kitchen_decides_the_market_when_nothing_is_asked(bench, small):
    american = replace(small, kitchen=bench.kitchen(market="US"))
    assert dossier(american).label.market == "US"
    assert dossier(american, "EU").label.market == "EU"


@pytest.mark.parametrize("written", ["eu", " EU ", "us"])
def test_markets_are_read_as_people_write_them(written):
    assert market_of(written) in ("EU", "US")


def test_a_market_without_rules_is_refused(small):
    with pytest.raises(BadInput, match="market"):
        dossier(small, "Mars")
