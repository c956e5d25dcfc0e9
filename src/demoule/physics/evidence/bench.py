"""Syrup, gels, air and growth: rate constants, saturation, gelatine, overrun and printed growth models."""

from __future__ import annotations

import math

import numpy as np

from demoule.composition import Composition, Constituent
from demoule.figures import Evidence
from demoule.physics.cooking import inversion_rate, water_off
from demoule.physics.evidence.points import Row, entry, temperature_c
from demoule.physics.gelatine import bromelain_inactivation, swap_gelatine
from demoule.physics.graining import supersaturation
from demoule.physics.growth import growth_rate
from demoule.physics.published import rows
from demoule.physics.whipping import density_of_overrun, overrun_of_cups
from demoule.units import kelvin

__all__ = ["bench"]

_C = Constituent
_GAS = 8.314462618


def bench() -> list[Evidence]:
    """Everything of this page."""
    return [*_syrup(), *_inversion(), *_gelatine(), *_air(), *_growth()]


def _syrup() -> list[Evidence]:
    energy = rows("cooking_energy")
    found = [
        entry(
            *(
                "water off",
                "water to boil off",
                energy,
                "to °Bx",
                lambda r: 100 * float(r["to_solids"]),
            ),
            [water_off(float(r["mass_kg"]), float(r["solids"]), float(r["to_solids"])) for r in energy],
            unit="kg",
            tolerance=6e-6,
        )
    ]
    mixed = rows("jackson_silsbee_1924")

    def ratio(r: Row) -> float:
        invert = float(r["invert_g"]) / 2
        syrup = Composition.of(
            {
                _C.SUCROSE: float(r["sucrose_g"]),
                _C.GLUCOSE: invert,
                _C.FRUCTOSE: invert,
                _C.WATER: float(r["water_g"]),
            }
        )
        return float(supersaturation(syrup.vector, kelvin(temperature_c(r))))

    found.append(
        entry(
            *("supersaturation", "saturated beside invert: the coefficient is 1", mixed, "°C", temperature_c),
            map(ratio, mixed),
            unit="1",
            tolerance=0.015,
        )
    )
    return found


def _inversion() -> list[Evidence]:
    table = rows("sucrose_inversion")
    acid = [r for r in table if r["quantity"] == "rate per acid"]
    # 30 g/l of sucrose leave 0.98 kg of water in a litre; strong acid is wholly there as such.
    per_acid = [
        60
        * float(inversion_rate(kelvin(temperature_c(r)), -math.log10(float(r["acid_mol_per_l"])), 0.98))
        / float(r["acid_mol_per_l"])
        for r in acid
    ]
    energy = [r for r in table if r["quantity"] == "activation energy"]
    span = math.log(float(inversion_rate(353.15, 3.0, 0.5)) / float(inversion_rate(313.15, 3.0, 0.5)))
    computed_energy = _GAS * span / (1 / 313.15 - 1 / 353.15) / 1000
    neutral = [r for r in table if r["quantity"] == "neutral rate"]
    return [
        entry(
            *("inversion rate", "rate per strong acid, thin", acid, "mol/l", lambda r: float(r["acid_mol_per_l"])),
            per_acid,
            unit="1/min per mol/l",
            tolerance=0.08,
            relative=True,
        ),
        entry(
            *("inversion rate", "activation energy by calorimetry", energy, "", lambda _: 0.0, [computed_energy]),
            unit="kJ/mol",
            tolerance=0.01,
            relative=True,
        ),
        entry(
            *("inversion rate", "neutral water", neutral, "°C", temperature_c),
            [float(inversion_rate(kelvin(temperature_c(r)), 7.0, 0.99)) * 1e11 for r in neutral],
            unit="1e-11 1/s",
            scale=1e11,
            tolerance=0.20,
            relative=True,
        ),
    ]


def _gelatine() -> list[Evidence]:
    printed = rows("gelatine_conversion")
    tenths = rows("sriwatanapongse_2000")
    leaves = rows("leaf_table")
    # What a leaf sets, mass times Bloom, is the same for every grade when the linear rule holds: against their mean.
    middle = [(float(r["bloom_low"]) + float(r["bloom_high"])) / 2 for r in leaves]
    mean = float(np.mean([float(r["value"]) * b for r, b in zip(leaves, middle, strict=True)]))
    return [
        entry(
            *("swap gelatine", "square-root table of powder", printed, "to Bloom", lambda r: float(r["to_bloom"])),
            [swap_gelatine(1.0, float(r["bloom"]), float(r["to_bloom"])).mass for r in printed],
            unit="1",
            tolerance=0.02,
        ),
        entry(
            *("swap gelatine", "masses of leaves, linear rule", leaves, "Bloom", lambda r: float(r["bloom_low"])),
            [swap_gelatine(mean / 200.0, 200.0, b, form="leaf").mass for b in middle],
            unit="g",
            tolerance=0.10,
            relative=True,
        ),
        entry(
            *("bromelain inactivation", "time to a tenth in pineapple juice", tenths, "°C", temperature_c),
            [math.log(10) / float(bromelain_inactivation(kelvin(temperature_c(r)))) / 60 for r in tenths],
            unit="min",
            tolerance=0.02,
            relative=True,
        ),
    ]


def _air() -> list[Evidence]:
    cups = [r for r in rows("goff_overrun") if r["quantity"] == "overrun"]
    densities = [r for r in rows("goff_overrun") if r["quantity"] == "density"]
    return [
        entry(
            *("overrun of cups", "worked example", cups, "mix g", lambda r: float(r["mix_g"])),
            [overrun_of_cups(float(r["mix_g"]) / 1000, float(r["foam_g"]) / 1000) for r in cups],
            unit="1",
            tolerance=1e-3,
        ),
        entry(
            *("density of overrun", "worked examples", densities, "overrun", lambda r: float(r["overrun"])),
            [density_of_overrun(float(r["mix_g"]), float(r["overrun"])) for r in densities],
            unit="kg/m3",
            tolerance=0.01,
        ),
    ]


def _growth() -> list[Evidence]:
    found = []
    table = rows("growth_worked")
    for model in dict.fromkeys(r["model"] for r in table):
        chosen = [r for r in table if r["model"] == model]
        computed = [
            3600
            * growth_rate(
                model,
                kelvin(temperature_c(r)),
                ph=float(r["ph"]) if r["ph"] else None,
                aw=float(r["water_activity"]) if r["water_activity"] else None,
            )
            for r in chosen
        ]
        found.append(
            entry(
                *(
                    "growth rate",
                    f"{model}, printed equation worked by hand",
                    chosen,
                    "°C",
                    temperature_c,
                    computed,
                ),
                unit="1/h",
                tolerance=1e-4,
                relative=True,
            )
        )
    return found
