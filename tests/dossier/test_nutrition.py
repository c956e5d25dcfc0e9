from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from demoule.composition import Composition, Constituent
from demoule.dossier.amounts import declared_amounts, mixed_nutrients
from demoule.dossier.label import energy_of_mix, label_of_mix
from demoule.dossier.nutrition import DAILY_VALUES, NOT_TOLD, declaration, tolerance
from demoule.dossier.published import rows
from demoule.errors import BadInput
from demoule.figures import Status
from demoule.larder import Ingredient, Nutrients, Record, standard_larder

C = Constituent
LARDER = standard_larder()
RECORD = Record(source="own-item", table_version="", id="", status=Status.PRACTICE)


def own(name: str, fractions: dict[Constituent, float], unknown=(), **nutrients: float) -> Ingredient:
    composition = Composition.of(fractions, unknown=unknown)
    return Ingredient(name=name, composition=composition, record=RECORD, nutrients=Nutrients.of(**nutrients))


def of(*pairs: tuple[str, float]):
    return [(LARDER.find(name), mass / 1000) for name, mass in pairs]


def line(label, name, unit=None):
    return next(entry for entry in label.nutrition if entry.name == name and unit in (None, entry.unit))


def amounts_of(*parts, market="EU"):
    composition = Composition.mixed((mass, ingredient.composition) for ingredient, mass in parts)
    return declared_amounts(composition, mixed_nutrients(parts), parts, sum(mass for _, mass in parts), market)


def by_table_record() -> dict[str, Ingredient]:
    found: dict[str, Ingredient] = {}
    for name in LARDER.names():
        ingredient = LARDER.find(name)
        if ingredient.record.source == "ciqual-2020":
            found.setdefault(ingredient.record.id, ingredient)
    return found


def test_larder_rows_declare_the_energy_that_their_table_prints():
    # Source: ciqual-2020, energy by the EU's factors as printed; within 3 kcal or 2 %. Three rows rest on
    # values that the table uses and does not print.
    records = by_table_record()
    compared = 0
    for row in rows("anses_ciqual_2020_energy"):
        ingredient = records.get(row["record"])
        if ingredient is None or row["complete"] == "no":
            continue
        energy = energy_of_mix([(ingredient, 0.1)], "EU")
        computed = energy.kcal_per_100g if row["unit"].startswith("kcal") else energy.kj_per_100g
        slack = 3.0 if row["unit"].startswith("kcal") else 13.0
        assert computed is not None
        assert abs(computed - float(row["value"])) <= max(slack, 0.02 * float(row["value"])), ingredient.name
        compared += 1
    assert compared >= 80


def test_salt_is_all_the_sodium_times_two_and_a_half():
    # eu-1169-2011 Annex I: natural sodium included.
    label = label_of_mix(of(("salt", 1), ("sugar", 99)))
    assert line(label, "salt").per_100g == pytest.approx(0.98, abs=0.03)


def test_protein_of_milk_is_counted_by_nitrogen_times_6_25_in_the_eu_and_by_its_own_factor_in_the_us():
    # eu-1169-2011 Annex I; USDA factor of milk 6.38.
    milk = own("milk protein", {C.WATER: 0.9, C.PROTEIN: 0.1}, protein_n625=0.1 * 6.25 / 6.38)
    assert amounts_of((milk, 1.0))["protein"].value == pytest.approx(0.09796, abs=1e-5)
    assert amounts_of((milk, 1.0), market="US")["protein"].value == pytest.approx(0.1)


def test_fibre_lies_inside_carbohydrate_in_the_us_and_outside_in_the_eu():
    # eu-1169-2011 Annex I; us-21cfr101-9 (c)(6).
    bran = own("bran", {C.WATER: 0.1, C.STARCH: 0.5, C.FIBRE: 0.4})
    assert amounts_of((bran, 1.0))["carbohydrate"].value == pytest.approx(0.5)
    assert amounts_of((bran, 1.0), market="US")["total_carbohydrate"].value == pytest.approx(0.9)


def test_polyols_lie_inside_carbohydrate_and_outside_sugars():
    mix = own("sweetener", {C.SUCROSE: 0.5, C.SORBITOL: 0.5})
    amounts = amounts_of((mix, 1.0))
    assert amounts["carbohydrate"].value == pytest.approx(1.0)
    assert amounts["sugars"].value == pytest.approx(0.5)
    assert amounts["energy_kcal"].value == pytest.approx(0.5 * 4 + 0.5 * 2.4)


def test_what_is_not_told_is_a_range_and_never_zero():
    cream = own("cream", {C.WATER: 0.6, C.MILK_FAT: 0.4}, sodium=0.0)
    label = label_of_mix([(cream, 0.1)])
    saturates = line(label, "of which saturates")
    assert saturates.printed_100g == "0–40"
    assert saturates.unknown == pytest.approx(1.0)
    assert "not told for 100%" in saturates.note


def test_minerals_without_a_ceiling_are_not_told_and_have_no_number():
    plain = own("milk", {C.WATER: 0.9, C.PROTEIN: 0.1}, saturates=0.0, sodium=0.0)
    milk = replace(plain, allergens_eu=frozenset({"milk"}))
    label = label_of_mix([(milk, 0.1)], "US")
    for name in ("vitamin D", "calcium", "iron", "potassium", "cholesterol"):
        entry = line(label, name)
        assert entry.printed_100g == entry.printed_piece == NOT_TOLD
        assert entry.per_100g is None
        assert entry.daily_value == ""


def test_plants_hold_no_cholesterol_and_a_trace_untold_moves_no_mineral():
    # Food composition tables give plants no cholesterol at all.
    bean = own("bean", {C.WATER: 0.5, C.PROTEIN: 0.2, C.STARCH: 0.3}, calcium=0.001)
    pinch = own("pinch", {C.WATER: 0.1, C.ASH: 0.9})
    label = label_of_mix([(bean, 0.099), (pinch, 0.001)], "US")
    assert line(label, "cholesterol").printed_piece == "0"
    assert line(label, "calcium").printed_piece == "100"
    assert line(label, "iron").printed_piece == NOT_TOLD


def test_water_and_sugar_cannot_hold_what_they_are_not_asked_for():
    syrup = own("syrup", {C.WATER: 0.5, C.SUCROSE: 0.5})
    label = label_of_mix([(syrup, 0.1)], "US")
    assert {line(label, name).printed_piece for name in ("vitamin D", "iron", "potassium", "calcium")} <= {"0", "0.0"}
    assert line(label, "saturated fat").printed_piece == "0"


def test_untold_sugars_are_bounded_by_untold_solids():
    coloured = own("praline", {C.WATER: 0.1, C.OTHER_FAT: 0.3, C.UNKNOWN_SOLIDS: 0.6}, unknown=[C.UNKNOWN_SUGARS])
    amounts = amounts_of((coloured, 1.0))
    assert amounts["sugars"].value == 0.0
    assert amounts["sugars"].high == pytest.approx(0.6)
    assert amounts["carbohydrate"].value == pytest.approx(0.6)
    assert amounts["carbohydrate"].low == pytest.approx(0.0)


def test_a_part_larger_than_its_whole_is_shown_and_not_hidden():
    # Real tables give 14.88 g sugars beside 14.76 g carbohydrate; here saturates above fat.
    odd = own("odd fat", {C.WATER: 0.7, C.OTHER_FAT: 0.3}, saturates=0.31)
    amounts = amounts_of((odd, 1.0))
    assert amounts["fat"].value == pytest.approx(0.31)
    assert "raised to" in amounts["fat"].note
    assert label_of_mix([(odd, 0.1)]).findings


def test_the_eu_lines_stand_in_the_order_of_the_annex():
    # eu-1169-2011 Annex XV (recalled): kJ before kcal, saturates under fat, sugars under carbohydrate, salt last.
    names = [(entry.name, entry.unit) for entry in label_of_mix(of(("cream 35 %", 100))).nutrition]
    assert names == [
        ("energy", "kJ"),
        ("energy", "kcal"),
        ("fat", "g"),
        ("of which saturates", "g"),
        ("carbohydrate", "g"),
        ("of which sugars", "g"),
        ("fibre", "g"),
        ("protein", "g"),
        ("salt", "g"),
    ]


def test_polyols_get_a_line_when_they_are_there():
    mix = own("sweet", {C.SUCROSE: 0.5, C.SORBITOL: 0.5})
    assert any(entry.name == "of which polyols" for entry in label_of_mix([(mix, 0.1)]).nutrition)


def test_daily_values_are_shares_of_the_2016_figures():
    # us-21cfr101-9 (c)(9), recalled: fat 78 g, saturated fat 20 g, sodium 2300 mg.
    butter = own("fat", {C.WATER: 0.22, C.MILK_FAT: 0.78}, saturates=0.4, sodium=0.023)
    label = label_of_mix([(butter, 0.1)], "US", serving=0.1)
    assert line(label, "total fat").daily_value == "100 %"
    assert line(label, "saturated fat").daily_value == "200 %"
    assert line(label, "sodium").daily_value == "100 %"
    assert line(label, "calories").daily_value == ""


def test_every_daily_value_is_the_one_of_the_rule():
    # us-21cfr101-9 (c)(8)(iv) and (9), 2016 text, recalled.
    assert DAILY_VALUES == {
        "total_fat": 78,
        "saturated_fat": 20,
        "cholesterol": 300,
        "sodium": 2300,
        "total_carbohydrate": 275,
        "fibre": 28,
        "added_sugars": 50,
        "vitamin_d": 20,
        "calcium": 1300,
        "iron": 18,
        "potassium": 4700,
    }


def test_a_serving_is_the_100_g_figure_by_its_mass():
    label = label_of_mix(of(("cream 35 %", 100)), serving=0.03)
    fat = line(label, "fat")
    assert fat.per_piece == pytest.approx(0.3 * fat.per_100g)


def test_tolerances_are_those_of_the_guidance():
    # ec-tolerances-2012, table 1 (recalled).
    for row in rows("tolerances"):
        ranges = {
            "<10 g": 5.0,
            "10 to 40 g": 25.0,
            ">40 g": 50.0,
            "<4 g": 2.0,
            ">=4 g": 10.0,
            "<1.25 g": 1.0,
            ">=1.25 g": 2.0,
        }
        amount = ranges.get(row["range"])
        key = next(
            (k for k in ("fat", "salt", "saturates", "carbohydrate") if k in row["nutrient"].split(",")[0]), None
        )
        if amount is None or key is None:
            continue
        number = float(row["value"].split()[1])
        expected = number if row["value"].endswith("g") else amount * number / 100
        assert 100 * tolerance(key, amount / 100) == pytest.approx(expected)


@pytest.mark.parametrize("market", ["MARS", ""])
def test_unknown_markets_and_empty_mixes_are_refused(market):
    with pytest.raises(BadInput):
        label_of_mix(of(("sugar", 1)), market)
    with pytest.raises(BadInput):
        label_of_mix([], "EU")
    with pytest.raises(BadInput):
        label_of_mix(of(("sugar", 1)), "EU", serving=0.0)


@given(st.floats(0.01, 1), st.floats(0.01, 1), st.floats(0.01, 1))
def test_a_mixture_is_mixed_by_mass_and_not_by_averaging_labels(a, b, c):
    mix = of(("cream 35 %", 1000 * a), ("sugar", 1000 * b), ("apricot purée", 1000 * c))
    whole = amounts_of(*mix)
    for key in ("energy_kcal", "fat", "sugars", "salt"):
        expected = sum(mass * amounts_of((ingredient, 1.0))[key].value for ingredient, mass in mix) / (a + b + c)
        assert whole[key].value == pytest.approx(expected, rel=1e-6, abs=1e-9)


def test_declaration_of_nothing_told_keeps_its_lines():
    dust = own("dust", {C.UNKNOWN_SOLIDS: 1.0}, unknown=[c for c in C if c is not C.UNKNOWN_SOLIDS])
    lines = declaration(amounts_of((dust, 1.0)), 0.1, "EU")
    assert {entry.printed_100g for entry in lines if entry.name == "fat"} == {"0–100"}
