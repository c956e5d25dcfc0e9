"""Moving fronts: freezing of still water from a cold surface, and the limit in which Plank is exact."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from demoule.cold.evidence.points import LATENT, entry, run
from demoule.cold.handbook import plank_time
from demoule.cold.matter import Matter
from demoule.cold.published import rows
from demoule.figures import Evidence, Status
from demoule.units import kelvin

if TYPE_CHECKING:
    from demoule.cold.grid import Grid
    from demoule.cold.stay import Track

__all__ = ["fronts"]


def fronts() -> list[Evidence]:
    """Everything of this page."""
    from demoule.cold.grid import line_grid

    table = rows("neumann_front")
    depth, cells = 0.4, 400  # deep enough that the far end does not feel the front within an hour
    computed = []
    for row in table:
        grid = line_grid("slab", depth, cells)
        track = run(
            grid,
            [_water()],
            start=kelvin(float(row["start_c"]) + 0.001),
            air=kelvin(float(row["surface_c"])),
            h=1e6,
            at_most=float(row["time_s"]),
            tolerance=0.01,
            smooth=False,
            spacing=0.0025,
        )
        computed.append(1000 * _front(track, grid))
    biots, plank = _plank_limit()
    return [
        entry(
            "time to core",
            "frozen layer on water after an hour, surface held cold (two-phase front)",
            table,
            ("°C at the surface", lambda row: float(row["surface_c"])),
            computed,
            tolerance=0.005,
            relative=True,
        ),
        Evidence(
            model="time to core",
            title="freezing at the freezing point with vanishing sensible heat (limit of Plank)",
            source="plank",
            status=Status.QUOTED,
            unit="h",
            at_name="Bi",
            at=tuple(biots),
            published=tuple(exact for exact, _ in plank),
            computed=tuple(ours for _, ours in plank),
            tolerance=0.01,
            relative=True,
        ),
    ]


def _water() -> Matter:
    """Water that freezes within 0.02 K at 0 °C, frozen and liquid as in the problem of the front.

    A cell in which the front stands conducts like ice: that is what the heat of freezing leaves through.
    """
    t = np.array([200.0, 273.13, 273.1475, 273.15, 330.0])
    # Volumes do not change: per volume 917 × 2050 frozen, 1000 × 4217 liquid, 917 × L between them.
    frozen, liquid = 917 * 2050.0, 1000 * 4217.0
    heat = np.array([-frozen * 73.13 - 917 * LATENT, -917 * LATENT, -917 * LATENT / 8, 0.0, liquid * 56.85])
    return Matter(
        name="water",
        density=1000.0,
        temperature=t,
        enthalpy=heat / 1000,
        conductivity=np.array([2.22, 2.22, 2.22, 0.556, 0.556]),
        ice=np.array([1.0, 1.0, 0.125, 0.0, 0.0]),
        water=1.0,
        freezing_point=273.15,
    )


def _front(track: Track, grid: Grid) -> float:
    """Depth of the frozen layer [m]: whole frozen cells and the part of the cell in between, from their heat."""
    frozen = np.clip(-track.state.heat[:, 0] / (917 * LATENT), 0.0, 1.0)
    return float(frozen.sum() * grid.step)


def _plank_limit() -> tuple[list[float], list[tuple[float, float]]]:
    """A room one kelvin below the freezing point: Ste 0.006, so that Plank's formula is all but exact."""
    from demoule.cold.grid import line_grid

    density, latent, k, air = 1000.0, LATENT, 1.5, 272.145
    t = np.array([200.0, 273.14, 273.15, 330.0])
    enthalpy = np.array([-latent - 2000 * 73.14, -latent, 0.0, 4000 * 56.85])
    matter = Matter(
        name="ideal",
        density=density,
        temperature=t,
        enthalpy=enthalpy,
        conductivity=np.full(4, k),
        ice=np.array([1.0, 1.0, 0.0, 0.0]),
        water=1.0,
        freezing_point=273.15,
    )
    biots, pairs = [], []
    for shape, size in (("slab", 0.03), ("cylinder", 0.04), ("sphere", 0.05)):
        for h in (30.0, 300.0):
            exact = plank_time(
                shape, size, density=density, latent=latent, freezing=273.145, air=air, h=h, conductivity=k
            )
            track = run(
                line_grid(shape, size / 2, 50),
                [matter],
                start=273.155,
                air=air,
                h=h,
                until=273.1,
                at_most=1e8,
                tolerance=0.002,
                smooth=False,
                spacing=0.0025,
            )
            biots.append(h * size / k)
            pairs.append((exact / 3600, (track.met or float("nan")) / 3600))
    return biots, pairs
