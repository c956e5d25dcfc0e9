"""Conduction without freezing: the exact series, worked examples, and the solver against both."""

from __future__ import annotations

import numpy as np

from demoule.cold.evidence.points import Row, entry, run
from demoule.cold.matter import Matter
from demoule.cold.published import rows
from demoule.cold.series import conduction, roots, series_shares
from demoule.figures import Evidence
from demoule.units import Kelvin, kelvin

__all__ = ["exact"]


def exact() -> list[Evidence]:
    """Everything of this page."""
    return [*_series(), *_worked_examples(), *_solver_against_series()]


def _series() -> list[Evidence]:
    table = rows("conduction_series")
    first = [row for row in table if row["place"] == "first root"]
    found = [
        entry(
            "series shares",
            "first root of the characteristic equation",
            first,
            ("Bi", lambda row: float(row["biot"])),
            [roots(row["shape"], float(row["biot"]), 1)[0] for row in first],
            tolerance=1e-7,
        )
    ]
    points = [row for row in table if row["place"] != "first root"]
    for shape in ("slab", "cylinder", "sphere"):
        chosen = [row for row in points if row["shape"] == shape]
        computed = [
            getattr(series_shares(shape, float(row["biot"]), float(row["fourier"])), row["place"]) for row in chosen
        ]
        found.append(
            entry(
                "series shares",
                f"{shape}: what is left in the middle and at the surface",
                chosen,
                ("Fo", lambda row: float(row["fourier"])),
                computed,
                tolerance=2e-6,
            )
        )
    return found


def _worked_examples() -> list[Evidence]:
    table = rows("conduction_examples")
    by_place: dict[str, float] = {}
    for row in table[:1]:
        size = float(row["size_m"])
        found = conduction(
            row["shape"],
            size,
            h=float(row["h"]),
            k=float(row["k"]),
            rho=float(row["rho"]),
            cp=float(row["cp"]),
            start=kelvin(float(row["start_c"])),
            air=kelvin(float(row["air_c"])),
            duration=3600 * float(row["hours"]),
        )
        held = float(row["rho"]) * float(row["cp"]) * np.pi / 6 * size**3 / 1000
        by_place = {
            "centre": found.centre - 273.15,
            "surface": found.surface - 273.15,
            "heat": held * (kelvin(float(row["start_c"])) - found.mean),
        }
    temperatures = [row for row in table if row["unit"] == "°C"]
    heat = [row for row in table if row["unit"] == "kJ"]
    charts = rows("geankoplis")
    can, beef, _ = charts
    return [
        entry(
            "conduction",
            "an apple after an hour at −15 °C, middle and surface",
            temperatures,
            ("h", lambda row: float(row["hours"])),
            [by_place[row["place"]] for row in temperatures],
            tolerance=0.15,  # one term of the series, and a diffusivity rounded to two digits
        ),
        entry(
            "conduction",
            "heat given off by the apple in that hour",
            heat,
            ("h", lambda row: float(row["hours"])),
            [by_place["heat"]],
            tolerance=0.01,
            relative=True,
        ),
        entry(
            "conduction",
            "middle of a can in steam after 45 min, read off a chart",
            [can],
            ("min", lambda _: 45.0),
            [
                conduction(
                    "cylinder",
                    float(can["size_m"]),
                    h=float(can["h"]),
                    k=float(can["k"]),
                    rho=float(can["rho"]),
                    cp=float(can["cp"]),
                    start=kelvin(float(can["start_c"])),
                    air=kelvin(float(can["air_c"])),
                    duration=2700.0,
                ).centre
                - 273.15
            ],
            tolerance=2.0,  # the chart was read as 0.13 where the series gives 0.110
        ),
        entry(
            "time to core",
            "beef chilled to 10 °C in the middle, read off a chart",
            [beef],
            ("°C", lambda _: 10.0),
            [_plain_hours(beef, kelvin(10.0))],
            tolerance=0.04,  # the chart was read as Fo 0.90; the series gives 18.61 h
            relative=True,
        ),
    ]


def _plain_hours(row: Row, until: Kelvin) -> float:
    from demoule.cold.grid import line_grid

    matter = Matter.plain(
        "meat", density=float(row["rho"]), specific_heat=float(row["cp"]), conductivity=float(row["k"])
    )
    track = run(
        line_grid(row["shape"], float(row["size_m"]) / 2, 100),
        [matter],
        start=kelvin(float(row["start_c"])),
        air=kelvin(float(row["air_c"])),
        h=float(row["h"]),
        until=until,
        at_most=10 * 86400.0,
    )
    return (track.met or float("nan")) / 3600


def _solver_against_series() -> list[Evidence]:
    """The solver on constant properties; places of the published table from Bi 0.1 to 10, each run to its end."""
    from demoule.cold.grid import line_grid

    radius, k, rho, cp = 0.03, 0.5, 1000.0, 3500.0
    matter = Matter.plain("plain", density=rho, specific_heat=cp, conductivity=k)
    table = [
        row
        for row in rows("conduction_series")
        if row["place"] != "first root" and float(row["biot"]) <= 10 and float(row["fourier"]) >= 0.2
    ]
    found = []
    for shape in ("slab", "cylinder", "sphere"):
        chosen = [row for row in table if row["shape"] == shape]
        runs: dict[tuple[str, str], tuple[float, float]] = {}
        for row in chosen:
            key = row["biot"], row["fourier"]
            if key not in runs:
                track = run(
                    line_grid(shape, radius, 60),
                    [matter],
                    start=300.0,
                    air=260.0,
                    h=float(row["biot"]) * k / radius,
                    at_most=float(row["fourier"]) * radius**2 * rho * cp / k,
                    tolerance=0.01,
                )
                runs[key] = (float(track.core[-1]) - 260) / 40, (float(track.surface[-1]) - 260) / 40
        computed = [runs[row["biot"], row["fourier"]][row["place"] == "surface"] for row in chosen]
        found.append(
            entry(
                "time to core",
                f"{shape} without freezing: the solver against the series",
                chosen,
                ("Fo", lambda row: float(row["fourier"])),
                computed,
                tolerance=0.001,
            )
        )
    return found
