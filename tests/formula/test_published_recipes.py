"""Composite foods held against the recipe method of the food tables."""

import csv
from pathlib import Path

import pytest

from demoule.composition import Composition, Constituent
from demoule.figures import Status
from demoule.formula import Amount, Boil, Component, Weighed, cook_all
from demoule.larder import Ingredient, Larder, Nutrients, Record

# Source: fao-recipe (Greenfield and Southgate 2003), the recipe method worked through on six foods: sum of edible
# weights times content, water less by the loss, over the finished weight. Contents: USDA SR 28 rows. Status: read (the
# method), computed (the worked figures, apart from this code).
DATA = Path(__file__).parent / "data"
C = Constituent
CONSTITUENTS = {
    "water_g": C.WATER,
    "fat_g": C.OTHER_FAT,
    "protein_g": C.PROTEIN,
    "fibre_g": C.FIBRE,
    "ash_g": C.ASH,
    "alcohol_g": C.ETHANOL,
}
# The strawberry compote is cooked to 85 % of its edible raw weight.
KEPT = {"RW2": 0.85}


def rows(name):
    with (DATA / name).open(encoding="utf-8") as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))


def usda_item(row):
    parts = {c: float(row[key] or 0) for key, c in CONSTITUENTS.items()}
    # Carbohydrate by difference holds the fibre; the rest of it stands as starch, one bucket for this check.
    parts[C.STARCH] = float(row["carbohydrate_by_difference_g"]) - parts[C.FIBRE]
    return Ingredient(
        name=row["ingredient_key"],
        composition=Composition.of(parts),
        nutrients=Nutrients.of(
            saturates=float(row["saturates_g"] or 0) / 100,
            sodium=float(row["sodium_mg"] or 0) / 1e5,
            cholesterol=float(row["cholesterol_mg"] or 0) / 1e5,
        ),
        record=Record(source="usda", table_version="SR 28", id=row["source_record_id"], status=Status.READ),
    )


@pytest.fixture(scope="module")
def finished():
    larder = Larder(items=tuple(usda_item(row) for row in rows("usda_sr28_rows.csv")))
    recipes: dict[str, list[Weighed]] = {}
    for row in rows("fao_recipes.csv"):
        grams = float(row["grams_edible"])
        line = Weighed(what=row["ingredient_key"], amount=Amount(mass=grams / 1000), where="")
        recipes.setdefault(row["recipe"], []).append(line)
    components = []
    for name, lines in recipes.items():
        total = sum(line.amount.mass for line in lines)
        off = total * (1 - KEPT.get(name, 1.0))
        steps = (Boil(duration=600.0),) if off else ()
        # Only water is lost: nothing stays in the pan.
        told = {"evaporation": off, "losses": (("pan", 0.0),)} if off else {}
        components.append(Component(name=name, weighed=tuple(lines), steps=steps, **told))
    return cook_all(components, larder)


def found(cooked, quantity):
    x = cooked.composition.vector * 100
    if quantity == "carb_bd_g":
        return x[C.STARCH] + x[C.FIBRE]
    if quantity == "saturates_g":
        return cooked.nutrients.amount("saturates") * 100
    if quantity.endswith("_mg"):
        return cooked.nutrients.amount(quantity.removesuffix("_mg")) * 1e5
    return x[CONSTITUENTS[quantity]]


@pytest.mark.parametrize("row", rows("fao_results.csv"), ids=lambda row: f"{row['recipe']} {row['quantity']}")
def test_composite_foods_agree_with_the_recipe_method(finished, row):
    cooked = finished[row["recipe"]]
    if row["recipe"] != "RW6":
        assert cooked.mass * 1000 == pytest.approx(float(row["finished_weight_g"]), rel=1e-9)
    # The rows of the table add up to 99.99 to 100.05 g; the largest of these differences is the tolerance.
    assert found(cooked, row["quantity"]) == pytest.approx(float(row["value"]), rel=6e-4, abs=2e-4)
