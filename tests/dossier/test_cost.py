from __future__ import annotations

from dataclasses import replace

import pytest

from demoule.dossier.cost import cold_work, cost_of
from demoule.units import kelvin


def value(figure) -> float:
    assert figure.value is not None
    return figure.value


def test_material_labour_packaging_and_cold_make_the_total(small):
    cost = cost_of(small)
    parts = (cost.material, cost.labour, cost.packaging, cost.energy)
    assert value(cost.total) == pytest.approx(sum(value(part) for part in parts))
    by_kind = dict.fromkeys(("material", "labour", "packaging", "energy"), 0.0)
    for line in cost.lines:
        by_kind[line.kind] += value(line.per_piece)
    assert [by_kind[kind] for kind in by_kind] == pytest.approx([value(part) for part in parts])


def test_material_is_what_is_bought_for_all_pieces_shared_by_the_good_ones(small):
    bought = sum(buying.cost_used or 0.0 for buying in small.weighing.buying)
    good = small.weighing.pieces + max(small.weighing.spare, 0)
    assert value(cost_of(small).material) == pytest.approx(bought / good)


def test_labour_is_hands_on_time_at_the_mean_pay(small):
    # 18 and 15 an hour: 16.50.
    seconds = sum(s for _, s in small.weighing.hands_on)
    good = small.weighing.pieces + max(small.weighing.spare, 0)
    assert value(cost_of(small).labour) == pytest.approx(seconds / 3600 * 16.5 / good)


def test_bands_are_those_that_the_trade_can_vouch_for(small):
    # Common practice: material to 5 %, labour to 15 %.
    cost = cost_of(small)
    assert cost.material.high == pytest.approx(1.05 * value(cost.material))
    assert cost.labour.low == pytest.approx(0.85 * value(cost.labour))
    spread = (
        (0.05 * value(cost.material)) ** 2 + (0.15 * value(cost.labour)) ** 2 + (0.4 * value(cost.energy)) ** 2
    ) ** 0.5
    assert value(cost.total) - (cost.total.low or 0) == pytest.approx(spread)


def test_price_leaves_the_margin_asked_for(small):
    cost = cost_of(small)
    assert 1 - value(cost.total) / value(cost.price) == pytest.approx(0.70)
    assert value(cost.order_total) == pytest.approx(20 * value(cost.total))


def test_an_unknown_price_is_named_and_never_zero(small):
    buying = tuple(
        replace(b, cost_used=None) if b.ingredient.name == "apricot purée" else b for b in small.weighing.buying
    )
    cost = cost_of(replace(small, weighing=replace(small.weighing, buying=buying)))
    assert cost.unpriced == ("apricot purée",)
    for figure in (cost.material, cost.total, cost.price, cost.order_total):
        assert figure.value is None
        assert figure.low is not None
        assert figure.low > 0
    assert cost.material.low < value(cost_of(small).material)
    assert "apricot purée" in cost.material.note
    line = next(line for line in cost.lines if line.what == "apricot purée")
    assert line.per_piece.value is None


def test_water_from_the_tap_needs_no_price(small):
    assert all(line.what != "water" or line.per_piece.value is not None for line in cost_of(small).lines)
    assert "water" not in cost_of(small).unpriced


def test_without_pay_labour_is_not_told(bench, small):
    cost = cost_of(replace(small, kitchen=bench.kitchen(people=())))
    assert cost.labour.value is None
    assert cost.total.value is None
    assert "labour" in cost.unpriced


def test_without_a_price_of_energy_the_total_stands_and_says_so(bench, small):
    cost = cost_of(replace(small, kitchen=bench.kitchen(energy_price=None)))
    assert cost.energy.value is None
    assert cost.total.value is not None
    assert "energy not counted" in cost.total.note
    assert "energy" in cost.unpriced


def test_cold_costs_more_work_the_colder_it_is():
    # Carnot: an ideal machine between −44 and 34 °C gives 2.94 of cold for one of work; 45 % of it is 1.32.
    ideal = (237.15 - 8) / ((295.15 + 12) - (237.15 - 8))
    assert cold_work(1.0, kelvin(-36), kelvin(22)) == pytest.approx(1 / (0.45 * ideal))
    assert cold_work(1.0, kelvin(-36), kelvin(22)) > cold_work(1.0, kelvin(-20), kelvin(22)) > 0


def test_energy_is_that_of_the_heat_taken_out(small):
    # Every stage that takes heat out, by its own room; the thaw takes none.
    work = sum(cold_work(-run.heat, run.room.air, small.kitchen.air) for run in small.cold.stages if run.heat < 0)
    assert value(cost_of(small).energy) == pytest.approx(work / 3.6e6 * 0.30)
