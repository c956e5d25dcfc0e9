"""Hours of a bare body of one mix: a slab, a cylinder, a sphere, or a pan that cools from top and bottom."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from demoule.cold.bands import band
from demoule.cold.matter import Matter
from demoule.cold.programme import Room
from demoule.cold.run import Curve
from demoule.cold.series import SHAPES, Conducted, conduction
from demoule.cold.surface import COMPUTED_BAND, FOIL, in_series, surface_coefficient
from demoule.errors import BadInput
from demoule.figures import Basis, Status, basis_of, published
from demoule.physics.heat import conductivity, enthalpy
from demoule.physics.thermal import ThermalTable
from demoule.units import ZERO_CELSIUS, FloatArray, Joule, Kelvin, Metre, Second, WattPerSquareMetreKelvin

if TYPE_CHECKING:
    from demoule.cold.grid import Grid
    from demoule.cold.stay import Track

__all__ = ["Conducted", "CoreTime", "conduction", "cool_pan", "time_to_core"]

_CELLS = 80  # from the middle to the surface
_LONGEST: Second = 30 * 86400.0
_TOLERANCE = 0.02
_UNCOOLED = "no supercooling before the first ice"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CoreTime:
    """When the slowest place of a body reaches a temperature.

    Parameters
    ----------
    time, low, high
        [s], with the band for surface coefficient and conductivity; None: not reached.
    weakest
        The input that widens the band most, in words.
    heat
        Into the body until then [J]: per m2 of a slab, per m of a long cylinder, in all of a sphere or finite cylinder.
    imbalance
        That heat against the change of heat content, as a fraction.
    why_not
        Why it is not reached, or empty.
    """

    time: Second | None
    low: Second | None
    high: Second | None
    weakest: str
    curve: Curve
    heat: Joule
    imbalance: float
    assumed: tuple[str, ...]
    basis: tuple[Basis, ...]
    why_not: str = ""


@published(
    gives="hours until the core of a bare body has a temperature",
    source="hundsdorfer-verwer-2003",
    valid="bodies of revolution of one mix; no flow inside, no supercooling",
    error="0.3 % of the equations; the surface coefficient makes 20 to 30 %",
    status=Status.RECALLED,
)
def time_to_core(
    shape: str,
    size: Metre,
    *,
    table: ThermalTable,
    start: Kelvin,
    air: Kelvin,
    h: WattPerSquareMetreKelvin,
    until: Kelvin,
    height: Metre | None = None,
    name: str = "the mix",
) -> CoreTime:
    """How long a bare body of one mix takes to freeze, cool or thaw to its core.

    Parameters
    ----------
    shape, size
        "slab" by its thickness, both faces open; "cylinder" and "sphere" by their diameter [m].
    height
        Of a cylinder whose ends are open as well [m]; None: long.
    table
        Heat properties of the mix.
    start, air, until
        Temperatures of body and room, and the one the core must reach [K].
    h
        Surface coefficient, radiation included [W/(m2 K)].

    Raises
    ------
    BadInput
        A size or coefficient not above zero, a temperature below absolute zero, an unknown shape.
    """
    if shape not in SHAPES:
        raise BadInput(f"There is no body called “{shape}”.", remedy="use slab, cylinder or sphere.")
    if not 0 < size <= 1:
        raise BadInput(
            f"A size of {1000 * size:g} mm is not possible.", remedy="give a thickness or diameter, such as 50 mm."
        )
    grid = _grid(shape, size, height)
    return _timed(
        grid,
        Matter.of_table(name, table),
        start=start,
        air=air,
        until=until,
        films={"all": h},
        surface_band=COMPUTED_BAND,
        assumed=("the same surface coefficient all over", _UNCOOLED),
        basis=(basis_of(time_to_core), basis_of(conductivity), basis_of(enthalpy)),
    )


@published(
    gives="hours until a pan has cooled",
    source="hundsdorfer-verwer-2003",
    valid="flat pans, covered or open, of mixes that do not flow",
    error="cautious: flow, sides and evaporation are left out",
    status=Status.RECALLED,
)
def cool_pan(
    *,
    table: ThermalTable,
    depth: Metre,
    start: Kelvin,
    until: Kelvin,
    room: Room,
    covered: bool = True,
    name: str = "the mix",
) -> CoreTime:
    """How long a mix takes to cool in a flat pan that gives heat off at top and bottom.

    Parameters
    ----------
    depth
        Of the mix in the pan [m].
    covered
        Under film or lid.

    Notes
    -----
    Sides, stirring, flow in the hot mix and evaporation are left out: each would make the pan cool faster, so for a
    cooling rule the time errs on the cautious side.
    """
    from demoule.cold.grid import line_grid

    if not 0 < depth <= 0.5:
        raise BadInput(
            f"A pan {1000 * depth:g} mm deep in mix is not possible.", remedy="pans are filled 5 to 200 mm deep."
        )
    middle = 0.5 * (min(max(start, 200.0), 400.0) + room.air)
    surface = surface_coefficient(room, 0.3, middle)
    top = in_series(surface.coefficient, FOIL) if covered else surface.coefficient
    return _timed(
        line_grid("slab", depth, _CELLS, two_ends=True),
        Matter.of_table(name, table),
        start=start,
        air=room.air,
        until=until,
        films={"top": top, "foot": surface.coefficient},
        surface_band=surface.band,
        assumed=(
            *surface.assumed,
            "cooled from top and bottom, with air under the pan; sides left out",
            "nothing stirred, no flow in the mix, no evaporation: the pan cools no slower than this",
        ),
        basis=(basis_of(cool_pan), *surface.basis, basis_of(conductivity), basis_of(enthalpy)),
    )


def _grid(shape: str, size: Metre, height: Metre | None) -> Grid:
    from demoule.cold.grid import cut, line_grid

    if height is None:
        return line_grid(shape, size / 2, _CELLS)
    if shape != "cylinder" or not 0 < height <= 1:
        raise BadInput(
            "Only a cylinder has a height beside its size.", remedy="give shape=cylinder and a height in mm."
        )
    r = size / 2
    outline = np.array([[0.0, 0.0], [r, 0.0], [r, height], [0.0, height], [0.0, 0.0]])
    return cut(outline, [outline], max(min(size, height) / 50, max(size / 2, height) / 250))


def _timed(
    grid: Grid,
    matter: Matter,
    *,
    start: Kelvin,
    air: Kelvin,
    until: Kelvin,
    films: dict[str, WattPerSquareMetreKelvin],
    surface_band: float,
    assumed: tuple[str, ...],
    basis: tuple[Basis, ...],
) -> CoreTime:
    from demoule.cold.grid import FOOT, SIDE, TOP
    from demoule.cold.stay import Air, State, Watch, body_of, stay
    from demoule.cold.walls import Side, faces

    for what, value in {"body": start, "air": air, "target": until}.items():
        if not 0 < value < 1000:
            raise BadInput(
                f"The temperature of the {what} would be {value - ZERO_CELSIUS:.0f} °C.",
                remedy="give it in °C or °F, above absolute zero (−273 °C).",
            )
    falls = air < start
    watch = Watch(place="core", temperature=until, falls=falls)
    body = body_of(grid, [matter], min(start, air), max(start, air))
    kinds = {SIDE: "side", FOOT: "foot", TOP: "top"}

    def run(h_factor: float, k_factor: float) -> Track:
        sides = {
            kind: Side(film=films.get(word, films.get("all", 0.0)) * h_factor)
            for kind, word in kinds.items()
            if "all" in films or word in films
        }
        table, wall = faces(grid, sides)
        state = State(heat=body.tables.heat_at([start]), wall=wall)
        return stay(
            body, state, table, Air.steady(air), until=watch, at_most=_LONGEST, tolerance=_TOLERANCE, k_factor=k_factor
        )

    track = run(1.0, 1.0)
    time = track.met
    band_of = band(
        time,
        lambda h, k: run(h, k).met,
        surface=surface_band,
        names={"surface": "the surface coefficient of the air", "conductivity": f"the conductivity of {matter.name}"},
        reference=time,
    )
    at = time if time is not None else float(track.time[-1])
    why_not = ""
    if time is None:
        why_not = _why_not(start, air, until)
    return CoreTime(
        time=time,
        low=band_of.low,
        high=band_of.high,
        weakest=band_of.weakest,
        curve=_curve(track),
        heat=float(np.interp(at, track.time, track.heat)),
        imbalance=track.imbalance,
        assumed=assumed,
        basis=basis,
        why_not=why_not,
    )


def _why_not(start: Kelvin, air: Kelvin, until: Kelvin) -> str:
    room, wanted = air - ZERO_CELSIUS, until - ZERO_CELSIUS
    if (until - air) * (start - air) <= 0:
        return f"Air of {room:.0f} °C never brings it to {wanted:.0f} °C."
    return f"It is not at {wanted:.0f} °C after {_LONGEST / 86400:.0f} days."


def _curve(track: Track) -> Curve:
    nothing: FloatArray = np.full_like(track.time, np.nan)
    return Curve(
        time=track.time,
        core=track.core,
        mean=track.mean,
        surface=track.surface,
        heart_ice=nothing,
        body_ice=track.ice[0],
    )
