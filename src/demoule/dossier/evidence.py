"""Published and worked points beside what the dossier's rules give for them."""

from __future__ import annotations

import numpy as np

from demoule.composition import COUNT, Composition, Constituent
from demoule.dossier.amounts import Amounts, Parts, declared_amounts, mixed_nutrients
from demoule.dossier.cooling import RULES, cooling_verdict
from demoule.dossier.energy import eu_kcal, eu_kj
from demoule.dossier.hygiene import GrowthClass, listeria_class
from demoule.dossier.pasteurisation import pasteurised
from demoule.dossier.published import rows
from demoule.dossier.rounding import printed_eu, printed_us
from demoule.dossier.verdict import Verdict
from demoule.figures import Evidence, Status
from demoule.larder.ingredient import Ingredient, Nutrients, Record
from demoule.units import FloatArray, kelvin

_C = Constituent

__all__ = ["evidence", "worked_recipe"]

_DAY = 86400.0
_VERDICTS = {Verdict.FAIL: 0.0, Verdict.NOT_SHOWN: 1.0, Verdict.PASS: 2.0}
_CLASSES = {GrowthClass.UNABLE: 0.0, GrowthClass.NOT_SHOWN: 1.0, GrowthClass.ABLE: 2.0}
_COLUMNS = {
    "carbohydrate_g": _C.SUCROSE,
    "protein_n625_g": _C.PROTEIN,
    "fat_g": _C.OTHER_FAT,
    "fibre_g": _C.FIBRE,
    "ethanol_g": _C.ETHANOL,
    "acids_g": _C.ACIDS,
}


def evidence() -> list[Evidence]:
    """Everything the dossier's rules are held against."""
    return [
        *_table_energy(),
        _recipe_evidence(),
        _rounding("EU", "amounts printed by the guidance", "ec-tolerances-2012"),
        _rounding("US", "amounts printed by the rule", "fda-labeling-guide"),
        *(_cooling(rule.key) for rule in RULES),
        _heat(),
        _listeria(),
    ]


def _table_energy() -> list[Evidence]:
    """Energy of the rows of a national table, from the proximates that it prints."""
    found = []
    for unit, function, model in (
        ("kcal/100 g", eu_kcal, "EU energy in kilocalories"),
        ("kJ/100 g", eu_kj, "EU energy in kilojoules"),
    ):
        # Rows in which the table itself used a value that it does not print cannot be recomputed.
        told = [r for r in rows("anses_ciqual_2020_energy") if r["unit"] == unit and r["complete"] == "yes"]
        x: FloatArray = np.zeros((len(told), COUNT))
        for column, constituent in _COLUMNS.items():
            x[:, constituent] = [float(r[column]) / 100 for r in told]
        polyols = np.array([float(r["polyols_g"]) / 100 for r in told])
        x[:, _C.SUCROSE] -= polyols  # the table's carbohydrate holds them
        x[:, _C.SORBITOL] = polyols
        found.append(
            Evidence(
                model=model,
                title="energy of foods in a national table, from its own proximates",
                source="ciqual-2020",
                status=Status.READ,
                unit=unit,
                at_name="row of the table",
                at=tuple(float(r["record"]) for r in told),
                published=tuple(float(r["value"]) for r in told),
                computed=tuple((100 * function(x)).tolist()),
                # 3 kcal: the fat and protein below the limit of analysis that the table counts and does not print.
                tolerance=3.1 if unit.startswith("kcal") else 14.0,
            )
        )
    return found


def worked_recipe(recipe: str) -> tuple[Amounts, Amounts, float]:
    """Declared amounts (EU, US) and finished mass [kg] of one worked recipe of the published rows."""
    lines = [r for r in rows("usda_sr28_worked_recipes") if r["recipe"] == recipe]
    finished = next(float(r["finished_g"]) for r in rows("worked_recipe_results") if r["recipe"] == recipe) / 1000
    parts: Parts = [(_table_row(r), float(r["value"]) / 1000) for r in lines]
    entered = sum(mass for _, mass in parts)
    composition = Composition.mixed((mass, ingredient.composition) for ingredient, mass in parts)
    composition = composition.with_water_changed((finished - entered) / entered)
    raw = mixed_nutrients(parts)
    concentrated = Nutrients(amounts=tuple(a * entered / finished for a in raw.amounts), unknown=raw.unknown)
    return (
        declared_amounts(composition, concentrated, parts, finished, "EU"),
        declared_amounts(composition, concentrated, parts, finished, "US"),
        finished,
    )


def _table_row(row: dict[str, str]) -> Ingredient:
    """An ingredient from the printed proximates of one row, carbohydrate by difference taken apart."""

    def grams(column: str) -> float:
        return float(row[column] or 0)

    fibre = grams("fibre_g")
    available = grams("carbohydrate_by_difference_g") - fibre
    sugars = min(grams("sugars_total_g"), available)
    composition = Composition.of(
        {
            _C.WATER: grams("water_g"),
            _C.PROTEIN: grams("protein_g"),
            _C.OTHER_FAT: grams("fat_g"),
            _C.UNKNOWN_SUGARS: sugars,
            _C.STARCH: available - sugars,
            _C.FIBRE: fibre,
            _C.ASH: grams("ash_g"),
            _C.ETHANOL: grams("alcohol_g"),
        }
    )
    factor = float(row["nitrogen_factor"] or 0) or 6.25
    nutrients = Nutrients.of(
        saturates=grams("saturates_g") / 100,
        sodium=grams("sodium_mg") / 1e5,
        cholesterol=grams("cholesterol_mg") / 1e5,
        protein_n625=grams("protein_g") / 100 * 6.25 / factor,
    )
    record = Record(source=row["source"], table_version="28", id=row["record"], status=Status(row["status"]))
    return Ingredient(name=row["ingredient"], composition=composition, nutrients=nutrients, record=record)


def _recipe_evidence() -> Evidence:
    published, computed = [], []
    for recipe in ("RW1", "RW2", "RW3", "RW4", "RW5"):
        _, us, _ = worked_recipe(recipe)
        by_quantity = {
            "energy_us_449_kcal": 100 * us["calories"].value,
            "fat_g": 100 * us["total_fat"].value,
            "saturates_g": 100 * us["saturated_fat"].value,
            "carb_bd_g": 100 * us["total_carbohydrate"].value,
            "fibre_g": 100 * us["fibre"].value,
            "protein_g": 100 * us["protein"].value,
            "sodium_mg": 1e5 * us["sodium"].value,
            "cholesterol_mg": 1e5 * us["cholesterol"].value,
        }
        for row in rows("worked_recipe_results"):
            if row["recipe"] == recipe and row["quantity"] in by_quantity:
                published.append(float(row["value"]))
                computed.append(by_quantity[row["quantity"]])
    return Evidence(
        model="US calories",
        title="worked recipes summed row by row, with trim and water loss",
        source="fao-recipe",
        status=Status.JUDGED,
        unit="per 100 g",
        at_name="quantity",
        at=tuple(float(n) for n in range(len(published))),
        published=tuple(published),
        computed=tuple(computed),
        tolerance=0.01,  # the proximates of a row add up to 100 within 0.01
    )


_EU_KEYS = {"energy kJ": "energy_kj", "energy kcal": "energy_kcal"}


def _rounding(market: str, title: str, source: str) -> Evidence:
    told = [r for r in rows("rounding_cases") if r["market"] == market and r["value"].replace(".", "").isdigit()]
    printer = printed_eu if market == "EU" else printed_us
    keys = [_EU_KEYS.get(r["nutrient"], r["nutrient"].replace(" ", "_")) for r in told]
    return Evidence(
        model=f"{market} label rounding",
        title=title,
        source=source,
        status=Status.JUDGED,
        unit="as printed",
        at_name="amount",
        at=tuple(float(r["amount"]) for r in told),
        published=tuple(float(r["value"]) for r in told),
        computed=tuple(float(printer(key, float(r["amount"]))) for key, r in zip(keys, told, strict=True)),
        tolerance=1e-9,
    )


def _cooling(key: str) -> Evidence:
    rule = next(rule for rule in RULES if rule.key == key)
    told = [r for r in rows("cooling_records") if r["rule"] == key]
    computed = []
    for row in told:
        pairs = [pair.split(":") for pair in row["record"].split(";")]
        judged = cooling_verdict(rule, [60 * float(m) for m, _ in pairs], [kelvin(float(c)) for _, c in pairs])
        computed.append(_VERDICTS[judged.verdict])
    return Evidence(
        model="cooling rules",
        title=f"records of the core judged by hand: {rule.says}",
        source=rule.source,
        status=Status.JUDGED,
        unit="0 fail, 1 not shown, 2 pass",
        at_name="record",
        at=tuple(float(r["id"].removeprefix("CL")) for r in told),
        published=tuple(_VERDICTS[Verdict(r["value"])] for r in told),
        computed=tuple(computed),
        tolerance=0.0,
    )


def _heat() -> Evidence:
    told = rows("pasteurisation_cases")
    return Evidence(
        model="pasteurisation steps",
        title="treatments judged by hand by the listed pairs",
        source="us-7cfr58-635",
        status=Status.JUDGED,
        unit="0 fail, 1 not shown, 2 pass",
        at_name="treatment",
        at=tuple(float(r["id"].removeprefix("PA")) for r in told),
        published=tuple(_VERDICTS[Verdict(r["value"])] for r in told),
        computed=tuple(
            _VERDICTS[
                pasteurised(
                    r["jurisdiction"], r["product"], kelvin(float(r["temperature_c"])), float(r["hold_s"])
                ).verdict
            ]
            for r in told
        ),
        tolerance=0.0,
    )


def _listeria() -> Evidence:
    told = rows("listeria_classes")
    return Evidence(
        model="Listeria growth class",
        title="foods classed by hand by pH, water activity and life",
        source="eu-2073-2005",
        status=Status.JUDGED,
        unit="0 unable, 1 not shown, 2 able",
        at_name="food",
        at=tuple(float(n) for n in range(len(told))),
        published=tuple(_CLASSES[GrowthClass(r["value"])] for r in told),
        computed=tuple(
            _CLASSES[listeria_class(float(r["ph"]), float(r["water_activity"]), float(r["life_days"]) * _DAY).growth]
            for r in told
        ),
        tolerance=0.0,
    )
