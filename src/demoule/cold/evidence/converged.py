"""Layered bodies that freeze or thaw, against solutions converged in space and time by other integrators."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from demoule.cold.evidence.points import LATENT, Row, entry, run
from demoule.cold.matter import Matter
from demoule.cold.published import rows
from demoule.figures import Evidence
from demoule.units import FloatArray, Second, kelvin

if TYPE_CHECKING:
    from demoule.cold.grid import Grid

__all__ = ["converged", "converged_time", "reference_matter"]

FINE = 0.001  # m, the grid of all checks


def converged() -> list[Evidence]:
    """Everything of this page."""
    titles = {
        "converged_1d": "freezing and thawing of slabs, cylinders and spheres in two layers, converged",
        "converged_2d": "spheroids and short cylinders in two layers, converged",
        "converged_wall": "a sphere in a silicone mould, converged with the wall resolved",
    }
    return [
        entry(
            "run programme",
            title,
            table,
            ("°C at the core", lambda row: float(row["until_c"])),
            [converged_time(row) for row in table],
            tolerance=0.007 if name != "converged_wall" else 0.003,
            relative=True,
        )
        for name, title in titles.items()
        for table in [rows(name)]
    ]


def converged_time(row: Row, step: float = FINE, tolerance: float = 0.03) -> Second:
    """Core time of one of the converged problems by our solver [s]."""
    from demoule.cold.grid import line_grid
    from demoule.cold.walls import Wall

    radius = float(row["radius_m"])
    matters = [reference_matter(row["core"]), reference_matter(row["outer"])]
    shape = row["shape"]
    if shape in ("slab", "cylinder") and row["case"].startswith("N"):
        cells = round(radius / step)
        fraction = np.clip(float(row["core_size"]) * cells - np.arange(cells), 0.0, 1.0)
        grid = line_grid(shape, radius, cells, np.stack([fraction, 1 - fraction]))
    else:
        grid = _body_grid(row, step)
    wall = None
    if row["wall_mm"]:
        wall = Wall(
            thickness=float(row["wall_mm"]) / 1000,
            conductivity=0.2,
            heat_capacity=1130.0 * 1300.0,
            temperature=kelvin(float(row["start_c"])),
        )
    track = run(
        grid,
        matters,
        start=kelvin(float(row["start_c"])),
        air=kelvin(float(row["air_c"])),
        h=1 / (1 / float(row["h"]) + float(row["resistance"])),
        until=kelvin(float(row["until_c"])),
        at_most=1e6,
        tolerance=tolerance,
        wall=wall,
    )
    return track.met or float("nan")


def _body_grid(row: Row, step: float) -> Grid:
    from demoule.cold.grid import cut

    radius, half = float(row["radius_m"]), float(row["half_height_m"])

    def spheroid(r: float, z: float) -> FloatArray:
        angle = np.linspace(-np.pi / 2, np.pi / 2, 513)
        return np.stack([np.maximum(r * np.cos(angle), 0.0), z * np.sin(angle)], axis=1)

    if row["shape"] == "cylinder":
        r, z = (float(value) for value in row["core_size"].split("/"))
        outer, core = (np.array([[0.0, -b], [a, -b], [a, b], [0.0, b]]) for a, b in ((radius, half), (r, z)))
    elif row["case"].startswith("X"):
        r = float(row["core_size"])
        outer, core = spheroid(radius, half), spheroid(r, r)
    else:
        r = float(row["core_size"]) * radius
        outer, core = spheroid(radius, radius), spheroid(max(r, 1e-4), max(r, 1e-4))
    return cut(outer, [core, outer], step)


def reference_matter(letter: str) -> Matter:
    """Matter A (aerated), B (gel) or W (nearly water) of the converged problems, in closed form.

    h(t) = c_u (t − t_f) above and c_f (t − t_f) − 333 600 w (1 − t_f/t) below the freezing point; conductivity
    k_u + (k_f − k_u)(1 − t_f/t); t in °C.
    """
    rho, t_f, w, c_u, c_f, k_u, k_f = {
        "A": (700.0, -3.0, 0.54, 3000.0, 1900.0, 0.30, 0.75),
        "B": (1100.0, -2.5, 0.66, 3400.0, 1950.0, 0.50, 1.50),
        "W": (1000.0, -0.8, 0.75, 3700.0, 1950.0, 0.52, 1.60),
    }[letter]
    t = np.concatenate([t_f - np.geomspace(1e-4, 80.0, 3000)[::-1], [t_f, 100.0]])
    frozen = np.where(t < t_f, 1 - t_f / np.minimum(t, -1e-9), 0.0)
    enthalpy = np.where(t < t_f, c_f * (t - t_f) - LATENT * w * frozen, c_u * (t - t_f))
    return Matter(
        name=letter,
        density=rho,
        temperature=t + 273.15,
        enthalpy=enthalpy,
        conductivity=k_u + (k_f - k_u) * frozen,
        ice=w * frozen,
        water=w,
        freezing_point=t_f + 273.15,
    )
