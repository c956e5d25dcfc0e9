from __future__ import annotations

import pytest

from demoule.dossier.evidence import evidence, worked_recipe
from demoule.dossier.published import rows
from demoule.figures import MODELS


@pytest.mark.parametrize("held", evidence(), ids=lambda e: f"{e.model}: {e.source}")
def test_every_point_lies_within_its_tolerance(held):
    assert held.model in MODELS
    assert len(held.at) == len(held.published) == len(held.computed) > 0
    assert held.worst <= held.tolerance


def test_table_energy_agrees_within_3_kcal_or_2_percent():
    # Source: ciqual-2020, published EU energy of each row; rows whose energy rests on unprinted values left out.
    by_unit = {e.unit: e for e in evidence() if e.source == "ciqual-2020"}
    for unit, slack in (("kcal/100 g", 3.1), ("kJ/100 g", 14.0)):
        held = by_unit[unit]
        assert len(held.at) >= 60
        for published, computed in zip(held.published, held.computed, strict=True):
            assert abs(computed - published) <= max(slack, 0.02 * published)


@pytest.mark.parametrize("recipe", ["RW1", "RW2", "RW3", "RW4", "RW5"])
def test_worked_recipes_come_out_as_summed_by_hand(recipe):
    # Rows: usda-sr28; method: fao-recipe (sum, trim, water loss). Carbohydrate is taken apart, sugars capped by it.
    eu, us, _ = worked_recipe(recipe)
    told = {r["quantity"]: float(r["value"]) for r in rows("worked_recipe_results") if r["recipe"] == recipe}
    assert 100 * eu["energy_kcal"].value == pytest.approx(told["energy_eu_kcal"], rel=0.003)
    assert 100 * eu["energy_kj"].value == pytest.approx(told["energy_eu_kj"], rel=0.003)
    assert 100 * us["calories"].value == pytest.approx(told["energy_us_449_kcal"], rel=0.003)
    assert 100 * eu["carbohydrate"].value == pytest.approx(told["available_carb_g"], abs=0.1)
    # Mango and cream print more sugars (analysed) than available carbohydrate (by difference): up to 0.3 g are capped.
    assert 100 * eu["sugars"].value == pytest.approx(told["sugars_g"], abs=0.3)
    assert 100 * eu["fat"].value == pytest.approx(told["fat_g"], abs=0.05)
    assert 100 * eu["fibre"].value == pytest.approx(told["fibre_g"], abs=0.02)
    assert 100 * eu["salt"].value == pytest.approx(told["salt_g"], abs=0.002)
    assert 100 * us["protein"].value == pytest.approx(told["protein_g"], abs=0.02)


def test_a_piece_is_mixed_by_the_weight_of_its_components():
    # RW6: 60 g of RW1, 25 g of RW2, 12 g of RW3; 97 g in all.
    shares = {"RW1": 60, "RW2": 25, "RW3": 12}
    told = {
        r["quantity"]: float(r["value"])
        for r in rows("worked_recipe_results")
        if r["recipe"] == "RW6" and r["basis"] == "per 100 g"
    }
    mixed = {
        key: sum(100 * worked_recipe(name)[0][key].value * mass for name, mass in shares.items()) / 97
        for key in ("energy_kcal", "energy_kj", "fat", "saturates", "fibre", "salt")
    }
    assert mixed["energy_kcal"] == pytest.approx(told["energy_eu_kcal"], rel=0.003)
    assert mixed["energy_kj"] == pytest.approx(told["energy_eu_kj"], rel=0.003)
    assert mixed["fat"] == pytest.approx(told["fat_g"], abs=0.05)
    assert mixed["saturates"] == pytest.approx(told["saturates_g"], abs=0.05)
    assert mixed["fibre"] == pytest.approx(told["fibre_g"], abs=0.02)
    assert mixed["salt"] == pytest.approx(told["salt_g"], abs=0.002)
