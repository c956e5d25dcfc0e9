"""Sugar solutions: density, index, viscosity, solubility, syrups and their sweetness."""

from __future__ import annotations

import numpy as np

from demoule.composition import Constituent
from demoule.figures import Evidence, Status
from demoule.physics.density import density_of_mix, density_of_sucrose_solution
from demoule.physics.evidence.points import (
    Row,
    column,
    entry,
    mass_percent,
    named,
    sucrose_in_water,
    temperature_c,
    vector,
)
from demoule.physics.published import rows
from demoule.physics.refraction import baume, brix_from_refractive_index, refractive_index
from demoule.physics.solubility import solubility, sucrose_solubility
from demoule.physics.sweetness import RELATIVE_SWEETNESS, sweetness
from demoule.physics.syrup import dextrose_equivalent
from demoule.physics.viscosity import viscosity_of_sucrose_solution
from demoule.units import kelvin

__all__ = ["solutions"]

_C = Constituent


def solutions() -> list[Evidence]:
    """Everything of this page."""
    return [*_sucrose_solutions(), *_solubility(), *_syrups()]


def _sucrose_solutions() -> list[Evidence]:
    crc = [r for r in rows("crc_solutions") if r["solute"] == "sucrose"]
    thin = [r for r in crc if r["quantity"] == "density" and mass_percent(r) <= 70]
    thick = [r for r in crc if r["quantity"] == "density" and mass_percent(r) > 70]
    index = [r for r in crc if r["quantity"] == "refractive index"]
    flow = [r for r in crc if r["quantity"] == "viscosity"]
    found = []
    for title, chosen, tolerance in (
        ("sucrose solutions to 70 %, 20 °C", thin, 0.5),
        ("sucrose solutions beyond 70 %, 20 °C", thick, 1.0),
    ):
        w = column(chosen, mass_percent) / 100
        for model, computed in (
            ("density of sucrose solution", density_of_sucrose_solution(w, 293.15)),
            ("density of mix", density_of_mix(np.array([sucrose_in_water(v) for v in w]), 293.15)),
        ):
            found.append(
                entry(
                    model, title, chosen, "mass %", mass_percent, computed, unit="kg/m3", tolerance=tolerance, scale=1e3
                )
            )
    gravity = rows("asadi_2006")
    w = column(gravity, mass_percent) / 100
    ratio = density_of_sucrose_solution(w, 293.15) / density_of_sucrose_solution(0.0, 293.15)
    found.append(
        entry(
            *("density of sucrose solution", "specific gravity 20/20", gravity, "mass %", mass_percent, ratio),
            unit="1",
            tolerance=1e-4,
        )
    )
    for title, chosen, tolerance in (
        ("four decimals, 0 to 84 %", index, 1e-4),
        ("five decimals, 10 to 15 %", rows("oiv_oeno_21_2004"), 5e-5),
    ):
        w = column(chosen, mass_percent) / 100
        found.append(
            entry(
                *("refractive index", title, chosen, "mass %", mass_percent, refractive_index(w)),
                unit="1",
                tolerance=tolerance,
            )
        )
    read_back = 100 * brix_from_refractive_index(column(index, lambda r: float(r["value"])))
    found.append(
        Evidence(
            model="brix from refractive index",
            title="mass % read back from four decimals",
            source="crc-solutions",
            status=Status.READ,
            unit="°Bx",
            at_name="refractive index",
            at=tuple(float(r["value"]) for r in index),
            published=tuple(mass_percent(r) for r in index),
            computed=tuple(read_back.tolist()),
            tolerance=0.06,
        )
    )
    be = [r for r in rows("mohos_2010") if r["quantity"] == "degrees Baumé"]
    found.append(
        entry(
            *("baume", "sucrose solutions at 20 °C", be, "°Bx", mass_percent, baume(column(be, mass_percent) / 100)),
            unit="°Bé",
            tolerance=0.3,
        )
    )
    older = rows("crc_viscosity")
    for title, chosen, tolerance in (
        ("sucrose to 70 %, 20 °C", flow, 0.05),
        ("sucrose, 20 to 60 °C", [r for r in older if 20 <= temperature_c(r) <= 60], 0.08),
        ("sucrose, 0 to 100 °C", older, 0.15),
    ):
        computed = 1e3 * viscosity_of_sucrose_solution(
            column(chosen, mass_percent) / 100, kelvin(0) + column(chosen, temperature_c)
        )
        at = mass_percent if chosen is flow else temperature_c
        found.append(
            entry(
                *("viscosity of sucrose solution", title, chosen, "mass %" if chosen is flow else "°C", at, computed),
                unit="mPa s",
                tolerance=tolerance,
                relative=True,
            )
        )
    return found


def _solubility() -> list[Evidence]:
    own = rows("vavrinecz_1962")
    old = [r for r in rows("mohos_2010") if r["quantity"] == "solubility"]
    found = []
    for title, chosen, table, tolerance in (
        ("the newer polynomial against its own table", own, "vavrinecz", 0.1),
        ("the older cubic against its own table", old, "traditional", 0.1),
        ("the newer polynomial against the older table", old, "vavrinecz", 0.5),
    ):
        at_t = kelvin(0) + column(chosen, temperature_c)
        computed = 100 * (
            sucrose_solubility(at_t, "vavrinecz") if table == "vavrinecz" else sucrose_solubility(at_t, "traditional")
        )
        found.append(
            entry(
                *("sucrose solubility", title, chosen, "°C", temperature_c, computed),
                unit="mass %",
                tolerance=tolerance,
            )
        )
    others = rows("sugar_solubility")
    for source, tolerance in (("sweetener-review-2011", 0.5), ("gillis", 0.1), ("combs-bele", 2.2)):
        chosen = [r for r in others if r["source"] == source]
        computed_list = [
            100 * float(solubility(Constituent[r["sugar"].upper()], kelvin(temperature_c(r)))) for r in chosen
        ]
        found.append(
            entry(
                *("solubility", "sugars other than sucrose, and sucrose", chosen, "°C", temperature_c, computed_list),
                unit="mass %",
                tolerance=tolerance,
            )
        )
    tables = rows("sugar_solubility_tables")
    for source in ("jackson-silsbee", "jackson-mathews", "hudson-1908"):
        chosen = [r for r in tables if r["source"] == source]
        (sugar,) = {r["sugar"] for r in chosen}
        found.append(
            entry(
                *("solubility", f"{sugar} in water", chosen, "°C", temperature_c),
                100 * solubility(named(sugar), kelvin(0) + column(chosen, temperature_c)),
                unit="mass %",
                tolerance=0.1,
            )
        )
    return found


def _syrups() -> list[Evidence]:
    chosen = [r for r in rows("belitz_2009") if r["quantity"] == "dextrose equivalent"]
    computed = []
    for r in chosen:
        parts = [part.strip().rsplit(" ", 1) for part in r["material"].split(": ")[1].split(";")]
        computed.append(float(dextrose_equivalent(vector([(name, float(mass)) for name, mass in parts]))))
    found = [
        entry(
            "dextrose equivalent",
            "starch hydrolysates from their saccharides",
            *(chosen, "DE told", lambda r: float(r["value"]), computed),
            unit="DE",
            tolerance=4.0,
        )
    ]
    authors = [r for r in rows("sweetness_authors") if " at " not in r["quantity"]]
    inside = []
    for r in authors:
        if r["sugar"] == "invert sugar":
            tasted = sweetness(vector([("glucose", 1), ("fructose", 1)]))
            low, high = float(tasted.low), float(tasted.high)
        else:
            _, low, high = RELATIVE_SWEETNESS[named(r["sugar"])]
        inside.append(min(max(float(r["value"]), 100 * low), 100 * high))
    found.append(
        entry(
            *("sweetness", "every author's value inside the span", authors, "told", lambda r: float(r["value"])),
            inside,
            unit="sucrose = 100",
            tolerance=3.0,
        )
    )
    cooled = [r for r in rows("sweetness_authors") if " at " in r["quantity"]]

    def eaten_at(r: Row) -> float:
        return float(r["quantity"].split(" at ")[1].split(" ")[0])

    computed = [100 * float(sweetness(vector([("fructose", 1)]), kelvin(eaten_at(r))).value) for r in cooled]
    found.append(
        entry(
            *("sweetness", "fructose, cold and warm", cooled, "°C", eaten_at, computed),
            unit="sucrose = 100",
            tolerance=4.0,
        )
    )
    return found
