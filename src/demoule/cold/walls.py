"""What lies between a piece and the air: a mould's wall or a shell, the area it gains outwards, and its own heat."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from demoule.cold.grid import Grid
from demoule.errors import BadInput
from demoule.units import FloatArray, Kelvin, Metre, WattPerMetreKelvin, WattPerSquareMetreKelvin

__all__ = ["MOULD_MATERIALS", "Side", "Wall", "faces"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Wall:
    """A wall or shell of even thickness.

    Parameters
    ----------
    heat_capacity
        Per volume [J/(m3 K)].
    temperature
        At the start [K].
    is_food
        A shell: the surface of the piece is its outside. A mould: the surface of the piece is under it.
    """

    thickness: Metre
    conductivity: WattPerMetreKelvin
    heat_capacity: float
    temperature: Kelvin
    is_food: bool = False


MOULD_MATERIALS: Mapping[str, tuple[float, float]] = {
    # Conductivity [W/(m K)]: silicone is the mean of eight sheet tests (thermtest-silicone, read), rounded down; the
    # rest from general tables of materials (recalled). Heat capacity per volume [J/(m3 K)] (recalled).
    "silicone": (0.22, 1130.0 * 1300.0),
    "polycarbonate": (0.20, 1200.0 * 1200.0),
    "plastic": (0.20, 1050.0 * 1300.0),
    "metal": (50.0, 7800.0 * 480.0),
    "steel": (15.0, 7900.0 * 500.0),
    "aluminium": (200.0, 2700.0 * 900.0),
    "paper": (0.10, 700.0 * 1400.0),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Side:
    """What one kind of surface meets.

    Parameters
    ----------
    film
        Surface coefficient of air or shelf [W/(m2 K)].
    wall
        Between the piece and the air; None: bare.
    convective
        Share of the coefficient that is convection; moisture settles in proportion to it. 0: dry.
    """

    film: WattPerSquareMetreKelvin
    wall: Wall | None = None
    convective: float = 0.0


_GAUSS = np.array([0.5 - 0.5 * np.sqrt(0.6), 0.5, 0.5 + 0.5 * np.sqrt(0.6)])
_WEIGHT = np.array([5.0, 8.0, 5.0]) / 18.0
_LEAST_GROWTH = 0.2  # in a hollow narrower than the wall the outer surface would vanish


def faces(grid: Grid, sides: Mapping[int, Side]) -> tuple[FloatArray, FloatArray]:
    """Resistances of every face for the solver, (n_faces, 11), and the wall temperatures at the start, (n_faces,).

    Columns: area [m2], depth of the cell [m], resistance to the middle of the wall, from there to the outside, and of
    the film [m2 K/W, on the area of the piece], convective share, heat capacity of the wall [J/K], whether the surface
    of the piece is the outermost one, and the shares of the face that the sweeps along r (or x), y and z take.

    Notes
    -----
    The area of the surface offset by s is a (1 + c₁ s + c₂ s²), exactly, whatever the profile; integrals of its inverse
    replace the radius ratios of a sphere.
    """
    table = np.zeros((len(grid.face_area), 11))
    start = np.full(len(grid.face_area), np.nan)
    table[:, 0] = grid.face_area
    table[:, 1] = grid.face_depth
    table[:, 8:11] = grid.face_along.T
    for kind, side in sides.items():
        here = grid.face_kind == kind
        if not here.any():
            continue
        if not side.film > 0:
            raise BadInput(
                f"A surface coefficient of {side.film:g} W/m²K takes no heat.",
                remedy="give one above zero: about 8 in still air, 20 to 40 in a blast freezer.",
            )
        table[here, 5] = side.convective
        wall = side.wall
        if wall is None or wall.thickness == 0:
            table[here, 4] = 1 / side.film
            table[here, 7] = 1.0
            continue
        _check(wall, grid)
        w, k = wall.thickness, wall.conductivity
        c_1, c_2 = grid.face_growth[:, here]
        table[here, 2] = _across(c_1, c_2, 0.0, w / 2) / k
        table[here, 3] = _across(c_1, c_2, w / 2, w) / k
        table[here, 4] = 1 / (side.film * _growth(c_1, c_2, w))
        table[here, 6] = (
            wall.heat_capacity * grid.face_area[here] * w * np.maximum(1 + c_1 * w / 2 + c_2 * w**2 / 3, _LEAST_GROWTH)
        )
        table[here, 7] = float(wall.is_food)
        start[here] = wall.temperature
    return table, start


def _growth(c_1: FloatArray, c_2: FloatArray, s: float) -> FloatArray:
    return np.maximum(1 + c_1 * s + c_2 * s**2, _LEAST_GROWTH)


def _across(c_1: FloatArray, c_2: FloatArray, start: float, end: float) -> FloatArray:
    """The integral of 1/(1 + c₁ s + c₂ s²) from start to end, by three Gauss points."""
    at = start + (end - start) * _GAUSS
    return np.asarray((end - start) * sum(w / _growth(c_1, c_2, s) for w, s in zip(_WEIGHT, at, strict=True)))


def _check(wall: Wall, grid: Grid) -> None:
    size = grid.smallest
    if wall.thickness < 0 or not wall.conductivity > 0 or not wall.heat_capacity > 0:
        raise BadInput("A wall has a thickness, a conductivity and a heat capacity above zero.")
    if wall.thickness > size:
        raise BadInput(
            f"The wall of the mould ({1000 * wall.thickness:.3g} mm) is thicker than the piece ({1000 * size:.0f} mm).",
            remedy="silicone moulds have walls of 1.5 to 3 mm: check the unit.",
        )
