"""Candying, blanching and diffusion: exact series, measured diffusivities, and the first trials of the models."""

from __future__ import annotations

from demoule.composition import Constituent
from demoule.figures import Evidence
from demoule.physics.blanching import BlanchWater, blanch
from demoule.physics.candy_course import Fruit, SyrupStage
from demoule.physics.candy_shapes import PieceShape, equivalent_dimension, piece_shape
from demoule.physics.candying import candy, candying_time
from demoule.physics.diffusion import (
    finite_bath_uptake,
    sugar_diffusivity,
    uptake_cylinder,
    uptake_slab,
    uptake_sphere,
)
from demoule.physics.evidence.points import Row, entry, temperature_c
from demoule.physics.published import rows
from demoule.physics.tissue import COOKED, Tissue, tissue_diffusivity
from demoule.units import kelvin

__all__ = ["candied"]

_SERIES = {"slab": uptake_slab, "cylinder": uptake_cylinder, "sphere": uptake_sphere}


def candied() -> list[Evidence]:
    """Everything of this page."""
    return [*_series(), *_solver(), *_blocks(), *_diffusivity(), *_trials()]


def _fourier(r: Row) -> float:
    return float(r["fourier"])


def _series() -> list[Evidence]:
    found = []
    table = rows("crank_1975_uptake")
    for shape, function in _SERIES.items():
        chosen = [r for r in table if r["shape"] == shape]
        found.append(
            entry(
                *(f"uptake of a {shape}", "share taken up from a large bath", chosen, "Fourier number", _fourier),
                [float(function(_fourier(r))) for r in chosen],
                unit="1",
                tolerance=6e-6,
            )
        )
    bath = rows("crank_1975_finite_bath")
    found.append(
        entry(
            *("finite bath uptake", "share taken up from a bath that runs low", bath, "Fourier number", _fourier),
            [float(finite_bath_uptake(r["shape"], float(r["bath_over_piece"]), _fourier(r))) for r in bath],
            unit="1",
            tolerance=1e-6,
        )
    )
    return found


def _solver() -> list[Evidence]:
    """The candying solver where the exact series holds: a syrup hardly richer than the fruit, water for sugar."""
    table = rows("crank_1975_finite_bath")[::3]  # a third of them: each is a run of the solver
    tissue = Tissue(water_per_sugar=1.0)
    diffusivity = float(tissue_diffusivity(tissue, 0.1005, 353.15))
    bodies = {"slab": piece_shape("slice", 0.010), "sphere": piece_shape("sphere", 0.010)}

    def computed(r: Row) -> float:
        shape = bodies[r["shape"]]
        fruit = Fruit(mass=1.0, soluble_solids=0.10, insoluble=0.0, shape=shape, tissue=tissue)
        duration = _fourier(r) * shape.radius**2 / diffusivity
        stage = SyrupStage(duration=duration, temperature=353.15, mass=float(r["bath_over_piece"]), solids=0.101)
        return float(candy(fruit, [stage], points=2).share[-1])

    return [
        entry(
            *("candy", "the solver against the exact series", table, "Fourier number", _fourier),
            map(computed, table),
            unit="1",
            tolerance=2e-3,
        )
    ]


def _blocks() -> list[Evidence]:
    exact = rows("crank_1975_blocks")
    edge = 0.002  # twice the length R by which the Fourier number counts
    bodies: dict[str, PieceShape] = {
        "cube": piece_shape("cube", edge),
        "cylinder": piece_shape("cylinder", edge),
        "stick": piece_shape("stick", edge, lengths=(4 * edge,)),
        "coin": piece_shape("coin", edge, lengths=(3 * edge,)),
    }
    diffusivity = float(tissue_diffusivity(COOKED, 0.0, 353.15))

    def computed(r: Row) -> float:
        duration = _fourier(r) * (edge / 2) ** 2 / diffusivity
        water = BlanchWater(ratio=1e7, temperature=353.15, duration=duration)
        return 1 - blanch(bodies[r["shape"]], [water]).left[-1]

    found = [
        entry(
            *("equivalent dimension", "uptake of blocks against product solutions", exact, "Fourier number", _fourier),
            map(computed, exact),
            unit="1",
            tolerance=0.0105,
        )
    ]
    roots = rows("block_equivalence")
    found.append(
        entry(
            *("equivalent dimension", "its own root, worked apart", roots, "surface per volume"),
            lambda r: float(r["area_per_volume"]),
            [equivalent_dimension(float(r["eigenvalue"]), float(r["area_per_volume"])) for r in roots],
            unit="1",
            tolerance=2e-3,
        )
    )
    return found


def _diffusivity() -> list[Evidence]:
    found = []
    table = rows("ribeiro_2006")
    for sugar, tolerance in (("glucose", 0.05), ("fructose", 0.05), ("lactose", 0.055), ("sucrose", 0.10)):
        chosen = [r for r in table if r["sugar"] == sugar]
        which = Constituent[sugar.upper()]
        found.append(
            entry(
                *("sugar diffusivity", f"{sugar} in water", chosen, "°C", lambda r: float(r["temperature_k"]) - 273.15),
                [float(sugar_diffusivity(which, float(r["temperature_k"]))) * 1e9 for r in chosen],
                unit="1e-9 m2/s",
                scale=1e9,
                tolerance=tolerance,
                relative=True,
            )
        )
    carrot = rows("selman_1983")
    found.append(
        entry(
            *("tissue diffusivity", "out of cooked carrot, ends of the range", carrot, "°C", temperature_c),
            [float(tissue_diffusivity(COOKED, 0.0, kelvin(temperature_c(r)))) * 1e10 for r in carrot],
            unit="1e-10 m2/s",
            scale=1e10,
            tolerance=0.16,
            relative=True,
        )
    )
    return found


def _trials() -> list[Evidence]:
    washed = rows("blanch_trial")

    def left(r: Row) -> float:
        shape = piece_shape(r["shape"], float(r["size_mm"]) / 1000)
        water = BlanchWater(ratio=float(r["water_over_fruit"]), temperature=368.15, duration=60 * float(r["minutes"]))
        return blanch(shape, [water] * int(r["waters"]), partition=float(r["partition"])).left[-1]

    hours = rows("candy_trial")

    def minutes(r: Row) -> float:
        shape = piece_shape(r["shape"], float(r["size_mm"]) / 1000)
        fruit = Fruit(mass=1.0, soluble_solids=0.12, insoluble=0.0, shape=shape)
        stage = SyrupStage(duration=3600.0, temperature=358.15, mass=2.0, solids=0.65)
        return candying_time(fruit, stage)[0] / 60

    return [
        entry(
            *("blanch", "first trial of the model, no measurement", washed, "minutes", lambda r: float(r["minutes"])),
            map(left, washed),
            unit="1",
            tolerance=1e-3,
        ),
        entry(
            *("candying time", "first trial of the model, no measurement", hours, "mm", lambda r: float(r["size_mm"])),
            map(minutes, hours),
            unit="min",
            tolerance=0.01,
            relative=True,
        ),
    ]
