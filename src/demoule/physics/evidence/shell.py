"""Shell, spray and bath: exact solutions, printed constants, and the first trial of the dipping model."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

from demoule.figures import Evidence
from demoule.physics.bath import least_liquid
from demoule.physics.coating import (
    Coating,
    coating_density,
    coating_heat_capacity,
    coating_viscosity,
    coating_yield_stress,
    effusivity,
)
from demoule.physics.dipping import dip
from demoule.physics.evidence.points import Row, entry, temperature_c
from demoule.physics.freeze_on import Core, freeze_on_constant_in_a_still_bath
from demoule.physics.frost import dew_point, saturated_vapour_density, vapour_density
from demoule.physics.published import rows
from demoule.units import celsius, kelvin

__all__ = ["shell"]


def shell() -> list[Evidence]:
    """Everything of this page."""
    return [*_freezing_on(), *_coating(), *_trial(), *_pot(), *_air()]


def _freezing_on() -> list[Evidence]:
    exact = rows("carslaw_jaeger_1959")

    def computed(r: Row) -> float:
        core = effusivity(
            float(r["core_conductivity_w_per_m_k"]),
            float(r["core_density_kg_per_m3"]),
            float(r["core_heat_capacity_j_per_kg_k"]),
        )
        return freeze_on_constant_in_a_still_bath(
            Coating(fat=0.55), core, kelvin(float(r["core_c"])), kelvin(float(r["bath_c"]))
        )

    return [
        entry(
            *("freeze on constant in a still bath", "growth constant of the exact solution", exact),
            *("bath °C", lambda r: float(r["bath_c"]), map(computed, exact)),
            unit="1",
            tolerance=2e-5,
        )
    ]


def _coating() -> list[Evidence]:
    constants, flow = rows("beckett_chocolate"), rows("chocolate_flow")
    found = []
    told: list[tuple[str, str, Callable[[float, float], float], list[Row], str, float]] = [
        ("coating density", "density", lambda fat, _: coating_density(fat), constants, "kg/m3", 0.02),
        (
            "coating heat capacity",
            "specific heat",
            lambda fat, _: coating_heat_capacity(fat),
            constants,
            "J/(kg K)",
            0.05,
        ),
        ("coating viscosity", "viscosity", lambda fat, t: coating_viscosity(fat, kelvin(t)), flow, "Pa s", 0.9),
        ("coating yield stress", "yield stress", lambda fat, _: coating_yield_stress(fat), flow, "Pa", 0.9),
    ]
    for model, quantity, function, table, unit, tolerance in told:
        chosen = [r for r in table if r["quantity"] == quantity]
        found.append(
            entry(
                *(model, f"{quantity} of chocolate and cocoa butter", chosen, "fat", lambda r: float(r["fat"])),
                [function(float(r["fat"]), float(r["temperature_c"])) for r in chosen],
                unit=unit,
                tolerance=tolerance,
                relative=True,
            )
        )
    return found


def _trial() -> list[Evidence]:
    trial = rows("dip_trial")
    radius = 0.0267
    core = Core.sphere(4 / 3 * math.pi * radius**3, temperature=253.15, mass=0.058, effusivity=1530)

    def computed(r: Row) -> float:
        piece = replace(core, temperature=kelvin(float(r["piece_c"])))
        coating = Coating(fat=float(r["fat"]))
        return dip(coating, piece, bath=kelvin(float(r["bath_c"])), duration=float(r["duration_s"])).thickness * 1000

    return [
        entry(
            *("dip", "first trial of the model, no measurement", trial, "fat", lambda r: float(r["fat"])),
            map(computed, trial),
            unit="mm",
            tolerance=0.012,
            relative=True,
        )
    ]


def _pot() -> list[Evidence]:
    chosen = [r for r in rows("bath_cases") if r["quantity"] == "least liquid"]

    def computed(r: Row) -> float:
        area = math.pi / 4 * (float(r["pot_mm"]) / 1000) ** 2
        below, above = float(r["below_mm"]) / 1000, float(r["above_mm"]) / 1000
        volume = float(r["piece_ml"]) * 1e-6
        return least_liquid(area, float(r["piece_mm"]) / 1000, volume, below=below, above=above) * 1e6

    return [
        entry(
            *("least liquid", "pots and pieces by plain geometry", chosen, "pot mm", lambda r: float(r["pot_mm"])),
            map(computed, chosen),
            unit="ml",
            tolerance=0.06,
        )
    ]


def _air() -> list[Evidence]:
    table = rows("psychrolib")
    functions: dict[str, tuple[str, Callable[[float, float], float], str, float]] = {
        "dew point": ("dew point", lambda t, rh: celsius(dew_point(kelvin(t), rh)), "°C", 0.01),
        "saturated vapour density": (
            "saturated vapour density",
            lambda t, _: saturated_vapour_density(kelvin(t)) * 1000,
            "g/m3",
            0.001,
        ),
        "vapour density": (
            "saturated vapour density",
            lambda t, rh: vapour_density(kelvin(t), rh) * 1000,
            "g/m3",
            0.001,
        ),
    }
    found = []
    for quantity, (model, function, unit, tolerance) in functions.items():
        chosen = [r for r in table if r["quantity"] == quantity]
        found.append(
            entry(
                *(model, f"{quantity} by the library", chosen, "°C", temperature_c),
                [function(float(r["temperature_c"]), float(r["humidity"])) for r in chosen],
                unit=unit,
                tolerance=tolerance,
            )
        )
    return found
