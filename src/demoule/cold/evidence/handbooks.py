"""Handbook formulas against their own worked examples and against converged solutions; surface coefficients."""

from __future__ import annotations

import numpy as np

from demoule.cold.evidence.converged import reference_matter
from demoule.cold.evidence.points import Row, entry
from demoule.cold.handbook import log_mean_difference, mean_final_temperature, pham_time, plank_time
from demoule.cold.published import rows
from demoule.cold.surface import forced_convection, moisture_heating, radiation
from demoule.figures import Evidence
from demoule.units import Second, kelvin

__all__ = ["handbooks"]


def handbooks() -> list[Evidence]:
    """Everything of this page."""
    return [*_formulas(), *_surfaces()]


def _formulas() -> list[Evidence]:
    plank = rows("geankoplis")[2]
    pham = rows("pham_1984")
    hours = (
        plank_time(
            "slab",
            float(plank["size_m"]),
            density=float(plank["rho"]),
            latent=0.75 * 335e3,
            freezing=270.4,
            air=244.3,
            h=float(plank["h"]),
            conductivity=float(plank["k"]),
        )
        / 3600
    )
    found = [
        entry(
            "plank time",
            "meat 63.5 mm thick by Plank",
            [plank],
            ("W/m²K", lambda row: float(row["h"])),
            [hours],
            tolerance=0.002,
            relative=True,
        )
    ]
    differences = [row for row in pham if row["unit"] == "K"]
    air = -20.9
    found.append(
        entry(
            "pham time",
            "driving temperatures of the worked appendix",
            differences,
            ("°C of the air", lambda row: float(row["air_c"])),
            [log_mean_difference(28.5 - air, -2.1 - air), -2.1 - air],
            tolerance=0.06,
        )
    )
    final = [row for row in pham if row["unit"] == "°C"]
    found.append(
        entry(
            "pham time",
            "mean final temperature of the worked appendix",
            final,
            ("°C of the core", lambda row: float(row["core_c"])),
            [mean_final_temperature(kelvin(-10), kelvin(air), float(final[0]["biot"])) - 273.15],
            tolerance=0.06,
        )
    )
    chosen = [row for row in rows("converged_1d") if row["core"] == "W" and float(row["air_c"]) < float(row["start_c"])]
    found.append(
        entry(
            "pham time",
            "bodies of one mix: the handbook against converged solutions",
            chosen,
            ("°C at the core", lambda row: float(row["until_c"])),
            [_pham_of(row) for row in chosen],
            tolerance=0.12,
            relative=True,
        )
    )
    return found


def _pham_of(row: Row) -> Second:
    matter = reference_matter(row["outer"])
    air, core, start = (kelvin(float(row[key])) for key in ("air_c", "until_c", "start_c"))
    h, size = float(row["h"]), 2 * float(row["radius_m"])
    freezing = matter.freezing_point or 273.15
    k_s = float(np.interp(core, matter.temperature, matter.conductivity))
    mean = mean_final_temperature(core, air, h * size / k_s)
    c_s = matter.density * 1950.0
    latent = matter.density * -matter.enthalpy_at(mean) - c_s * (freezing - mean)
    return pham_time(
        row["shape"],
        size,
        start=start,
        freezing=freezing,
        core=core,
        air=air,
        h=h,
        unfrozen=(0.52, matter.density * 3700.0),
        frozen=(k_s, c_s),
        latent=latent,
    )


def _surfaces() -> list[Evidence]:
    blown, radiated, moist = rows("surface_estimates")
    return [
        entry(
            "forced convection",
            "sphere of 53 mm in air of 3 m/s",
            [blown],
            ("m/s", lambda _: 3.0),
            [forced_convection(kelvin(-30), 3.0, 0.053)],
            tolerance=0.05,
            relative=True,
        ),
        entry(
            "radiation",
            "food among walls of −10 °C",
            [radiated],
            ("°C", lambda _: -10.0),
            [radiation(263.15, 263.15)],
            tolerance=0.02,
            relative=True,
        ),
        entry(
            "moisture heating",
            "surface of 0 °C in air of 20 °C and 60 %",
            [moist],
            ("°C", lambda _: 0.0),
            [moisture_heating(273.15, 293.15, 0.6)],
            tolerance=0.05,
            relative=True,
        ),
    ]
