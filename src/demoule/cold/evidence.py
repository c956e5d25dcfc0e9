"""Everything the cold stage is held against: exact series, moving fronts, converged solutions, handbook examples."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

import numpy as np

from demoule.cold.handbook import log_mean_difference, mean_final_temperature, pham_time, plank_time
from demoule.cold.matter import Matter
from demoule.cold.published import rows
from demoule.cold.series import conduction, roots, series_shares
from demoule.cold.surface import forced_convection, moisture_heating, radiation
from demoule.figures import Evidence, Status
from demoule.units import FloatArray, Kelvin, Second, kelvin

if TYPE_CHECKING:
    from demoule.cold.grid import Grid
    from demoule.cold.stay import Track

__all__ = ["evidence", "reference_matter"]

Row = dict[str, str]
LATENT = 333_600.0  # J/kg
FINE = 0.001  # m, the grid of all checks


def evidence() -> list[Evidence]:
    """Each comparison with its points, its computed values and the difference allowed."""
    return [
        *_exact(),
        *_worked_examples(),
        *_solver_against_series(),
        *_fronts(),
        *_converged(),
        *_handbook(),
        *_surfaces(),
    ]


def _entry(
    model: str,
    title: str,
    chosen: Sequence[Row],
    at: tuple[str, Callable[[Row], float]],
    computed: Sequence[float],
    *,
    tolerance: float,
    relative: bool = False,
    unit: str | None = None,
) -> Evidence:
    (source,) = {row["source"] for row in chosen}
    (status,) = {row["status"] for row in chosen}
    return Evidence(
        model=model,
        title=title,
        source=source,
        status=Status(status),
        unit=unit or chosen[0]["unit"],
        at_name=at[0],
        at=tuple(at[1](row) for row in chosen),
        published=tuple(float(row["value"]) for row in chosen),
        computed=tuple(float(value) for value in computed),
        tolerance=tolerance,
        relative=relative,
    )


# Exact series


def _exact() -> list[Evidence]:
    table = rows("conduction_series")
    first = [row for row in table if row["place"] == "first root"]
    found = [
        _entry(
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
            _entry(
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
        _entry(
            "conduction",
            "an apple after an hour at −15 °C, middle and surface",
            temperatures,
            ("h", lambda row: float(row["hours"])),
            [by_place[row["place"]] for row in temperatures],
            tolerance=0.15,  # one term of the series, and a diffusivity rounded to two digits
        ),
        _entry(
            "conduction",
            "heat given off by the apple in that hour",
            heat,
            ("h", lambda row: float(row["hours"])),
            [by_place["heat"]],
            tolerance=0.01,
            relative=True,
        ),
        _entry(
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
        _entry(
            "time to core",
            "beef chilled to 10 °C in the middle, read off a chart",
            [beef],
            ("°C", lambda _: 10.0),
            [_plain_hours(beef, kelvin(10.0))],
            tolerance=0.04,  # the chart was read as Fo 0.90; the series gives 18.61 h
            relative=True,
        ),
    ]


# The solver against the series


def _plain_hours(row: Row, until: Kelvin) -> float:
    from demoule.cold.grid import line_grid

    matter = Matter.plain(
        "meat", density=float(row["rho"]), specific_heat=float(row["cp"]), conductivity=float(row["k"])
    )
    track = _run(
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
                track = _run(
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
            _entry(
                "time to core",
                f"{shape} without freezing: the solver against the series",
                chosen,
                ("Fo", lambda row: float(row["fourier"])),
                computed,
                tolerance=0.001,
            )
        )
    return found


# Moving fronts


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


def _fronts() -> list[Evidence]:
    from demoule.cold.grid import line_grid

    table = rows("neumann_front")
    depth, cells = 0.4, 400  # deep enough that the far end does not feel the front within an hour
    computed = []
    for row in table:
        grid = line_grid("slab", depth, cells)
        track = _run(
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
        _entry(
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
            track = _run(
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


# Converged solutions


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


def _converged() -> list[Evidence]:
    titles = {
        "converged_1d": "freezing and thawing of slabs, cylinders and spheres in two layers, converged",
        "converged_2d": "spheroids and short cylinders in two layers, converged",
        "converged_wall": "a sphere in a silicone mould, converged with the wall resolved",
    }
    return [
        _entry(
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
    track = _run(
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


# Handbooks


def _handbook() -> list[Evidence]:
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
        _entry(
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
        _entry(
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
        _entry(
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
        _entry(
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


# Surfaces


def _surfaces() -> list[Evidence]:
    blown, radiated, moist = rows("surface_estimates")
    return [
        _entry(
            "forced convection",
            "sphere of 53 mm in air of 3 m/s",
            [blown],
            ("m/s", lambda _: 3.0),
            [forced_convection(kelvin(-30), 3.0, 0.053)],
            tolerance=0.03,
            relative=True,
        ),
        _entry(
            "radiation",
            "food among walls of −10 °C",
            [radiated],
            ("°C", lambda _: -10.0),
            [radiation(263.15, 263.15)],
            tolerance=0.02,
            relative=True,
        ),
        _entry(
            "moisture heating",
            "surface of 0 °C in air of 20 °C and 60 %",
            [moist],
            ("°C", lambda _: 0.0),
            [moisture_heating(273.15, 293.15, 0.6)],
            tolerance=0.05,
            relative=True,
        ),
    ]


# Running


def _run(
    grid: Grid,
    matters: Sequence[Matter],
    *,
    start: Kelvin,
    air: Kelvin,
    h: float,
    at_most: Second,
    until: Kelvin | None = None,
    tolerance: float = 0.03,
    smooth: bool = True,
    spacing: float = 0.025,
    wall: object = None,
) -> Track:
    from demoule.cold.grid import FOOT, SIDE, TOP
    from demoule.cold.stay import Air, State, Watch, body_of, stay
    from demoule.cold.walls import Side, Wall, faces

    body = body_of(grid, matters, min(start, air), max(start, air), smooth=smooth, spacing=spacing)
    around = wall if isinstance(wall, Wall) else None
    table, walls = faces(grid, {kind: Side(film=h, wall=around) for kind in (SIDE, FOOT, TOP)})
    return stay(
        body,
        State(heat=body.tables.heat_at([start] * len(matters)), wall=walls),
        table,
        Air.steady(air),
        until=None if until is None else Watch(place="core", temperature=until, falls=air < start),
        at_most=at_most,
        tolerance=tolerance,
    )
