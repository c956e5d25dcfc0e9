"""Bodies given as meshes and cut into cubes: against the same bodies as converged, and a cube against slab series."""

from __future__ import annotations

import numpy as np

from demoule.cold.evidence.converged import reference_matter
from demoule.cold.evidence.points import Row, entry, run
from demoule.cold.matter import Matter
from demoule.cold.published import rows
from demoule.figures import Evidence
from demoule.piece.solid import Solid, revolved
from demoule.units import FloatArray, Metre, Second, kelvin

__all__ = ["cube_of", "solid_time", "solids"]

STEP: Metre = 0.002  # the grid on which such a piece is computed
_CUBE: Metre = 0.03  # half a side


def solids() -> list[Evidence]:
    """Everything of this page."""
    balls = [row for row in rows("converged_1d") if row["shape"] == "sphere"]
    titles = {
        "spheres given as meshes, in cubes of 2 mm": balls,
        "spheroids and short cylinders given as meshes, in cubes of 2 mm": rows("converged_2d"),
        "a sphere given as a mesh in a silicone mould, in cubes of 2 mm": rows("converged_wall"),
    }
    found = [
        entry(
            "run programme",
            title,
            table,
            ("°C at the core", lambda row: float(row["until_c"])),
            [solid_time(row) for row in table],
            tolerance=0.007,
            relative=True,
        )
        for title, table in titles.items()
    ]
    return [*found, _cube()]


def solid_time(row: Row, step: Metre = STEP, tolerance: float = 0.03) -> Second:
    """Core time of one of the converged problems, its layers given as meshes [s]."""
    from demoule.cold.cubes import cut_solid
    from demoule.cold.walls import Wall

    core, outer = (_facets(body) for body in _bodies(row))
    grid = cut_solid(outer, [core, outer], step)
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
        [reference_matter(row["core"]), reference_matter(row["outer"])],
        start=kelvin(float(row["start_c"])),
        air=kelvin(float(row["air_c"])),
        h=1 / (1 / float(row["h"]) + float(row["resistance"])),
        until=kelvin(float(row["until_c"])),
        at_most=1e6,
        tolerance=tolerance,
        wall=wall,
    )
    return track.met or float("nan")


def cube_of(half: tuple[Metre, Metre, Metre]) -> tuple[FloatArray, np.ndarray]:
    """The facets of a brick by half its sides."""
    corners = np.array([[x, y, z] for x in (-1, 1) for y in (-1, 1) for z in (-1, 1)], dtype=float) * half
    sides = [(0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3)]
    return corners, np.array([[a, b, c] for a, b, c, _ in sides] + [[a, c, d] for a, _, c, d in sides])


def _bodies(row: Row) -> tuple[Solid, Solid]:
    """Core and whole as closed surfaces, each with the volume of the true body."""
    radius, half = float(row["radius_m"]), float(row["half_height_m"])
    if row["shape"] == "cylinder":
        r, z = (float(value) for value in row["core_size"].split("/"))
        return _cylinder(r, z), _cylinder(radius, half)
    if row["case"].startswith("X"):
        r = float(row["core_size"])
        return _spheroid(r, r), _spheroid(radius, half)
    r = max(float(row["core_size"]) * radius, 1e-3)
    return _spheroid(r, r), _spheroid(radius, radius)


def _spheroid(r: Metre, half: Metre) -> Solid:
    angle = np.linspace(-np.pi / 2, np.pi / 2, 129)
    line = zip(np.maximum(r * np.cos(angle), 0.0).tolist(), (half * np.sin(angle)).tolist(), strict=True)
    body = revolved(tuple(line))
    return body.scaled((4 / 3 * np.pi * r * r * half / body.volume) ** (1 / 3))


def _cylinder(r: Metre, half: Metre) -> Solid:
    return revolved(((0.0, -half), (r, -half), (r, half), (0.0, half)), 144)


def _facets(body: Solid) -> tuple[FloatArray, np.ndarray]:
    return body.points, body.facets


def _cube() -> Evidence:
    """A cube cools like three slabs at once: what is left in its middle is the product of what is left in theirs."""
    from demoule.cold.cubes import cut_solid

    k, rho, cp = 0.5, 1000.0, 3500.0
    matter = Matter.plain("plain", density=rho, specific_heat=cp, conductivity=k)
    table = [
        {**row, "value": repr(float(row["value"]) ** 3)}
        for row in rows("conduction_series")
        if row["shape"] == "slab"
        and row["place"] == "centre"
        and row["biot"] in ("1", "10")
        and row["fourier"] != "0.05"
    ]
    body = cube_of((_CUBE, _CUBE, _CUBE))
    grid = cut_solid(body, [body], STEP)
    computed = []
    for biot in ("1", "10"):
        here = [float(row["fourier"]) for row in table if row["biot"] == biot]
        at = np.array(here) * _CUBE**2 * rho * cp / k
        track = run(
            grid,
            [matter],
            start=300.0,
            air=260.0,
            h=float(biot) * k / _CUBE,
            at_most=float(at.max()),
            tolerance=0.01,
        )
        computed += [(float(np.interp(time, track.time, track.core)) - 260) / 40 for time in at]
    return entry(
        "run programme",
        "a cube that cools without freezing, in cubes of 2 mm, against the product of three slab series",
        table,
        ("Fo", lambda row: float(row["fourier"])),
        computed,
        tolerance=0.003,
    )
