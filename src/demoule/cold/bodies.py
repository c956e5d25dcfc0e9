"""From a built piece to what the cold room sees: its layers as matters in a grid, its mould or its coats as walls."""

from __future__ import annotations

import functools
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from demoule.cold.matter import Matter
from demoule.composition import Composition
from demoule.errors import BadInput
from demoule.physics.density import density_of_mix
from demoule.physics.thermal import thermal_table
from demoule.units import FloatArray, Kelvin, Kilogram, Metre

if TYPE_CHECKING:
    from demoule.cold.grid import Grid
    from demoule.cold.stay import Body
    from demoule.cold.walls import Wall
    from demoule.piece import Layer, Mould, Outline, Piece, Solid

__all__ = [
    "COATS",
    "Part",
    "body_from",
    "coat_wall",
    "conducting",
    "heart_parts",
    "matter_of",
    "mould_wall",
    "piece_parts",
]

COATS = ("shell", "spray")
_HEARTS = ("inner heart", "heart")
_CELLS_ACROSS = 16  # at least, over the smaller of width and height
_COARSER, _FINEST_CUBE, _CUBES_ACROSS = 1.5, 0.002, 8  # of a body that is not round: times the step, m, cells
_SECTORS = 48  # of a round layer in a body that is not round
_STANDARD_WALL: Metre = 0.0025


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One layer as the cold room sees it; `solid` is its surface where it is not round."""

    role: str
    component: str
    outline: Outline
    mass: Kilogram
    matter: Matter
    solid: Solid | None = None


def piece_parts(piece: Piece) -> tuple[Part, ...]:
    """The layers of a whole piece without its coats, from the inside outwards."""
    return tuple(_part(layer) for layer in piece.layers if layer.role not in COATS)


def heart_parts(piece: Piece) -> tuple[Part, ...]:
    """The heart as it is hardened on its own: in one cavity of its mould, half of it when two halves are joined."""
    from demoule.piece import cavity_outline, cavity_solid

    heart = piece.layer("heart")
    if heart is None:
        return ()
    inner = [layer for layer in piece.layers if layer.role == "inner heart"]
    count = max(1, piece.hearts_per_piece)
    part = _part(heart)
    if piece.heart_mould is not None and (count > 1 or not inner):
        cavity = piece.heart_mould.cavity
        outline, _ = cavity_outline(cavity)
        return (replace(part, role="heart", outline=outline, mass=heart.mass / count, solid=cavity_solid(cavity)),)
    return (*(_part(layer) for layer in inner), part)


def body_from(parts: Sequence[Part], step: Metre, low: Kelvin, high: Kelvin) -> Body:
    """The grid of parts and their look-ups between two temperatures [K].

    The step is refined where a small body would have fewer than sixteen cells across. Where a part is not round the
    grid has three directions and a coarser step.
    """
    from demoule.cold.tables import same_range

    return _body(tuple(parts), step, *same_range(low, high))


@functools.lru_cache(maxsize=16)  # rooms change more often than a piece
def _body(parts: tuple[Part, ...], step: Metre, low: Kelvin, high: Kelvin) -> Body:
    from demoule.cold.grid import cut
    from demoule.cold.stay import body_of
    from demoule.piece import solids

    if any(part.solid is not None for part in parts):
        grid = _cubes(parts, step)
        return body_of(grid, [part.matter for part in parts], low, high, masses=[part.mass for part in parts])
    outlines = [solids.points(part.outline) for part in parts]
    boundary = _boundary([part.outline for part in parts])
    smallest = min(2 * float(boundary[:, 0].max()), float(np.ptp(boundary[:, 1])))
    if not smallest > 0:
        raise BadInput("The piece has no size.", remedy="give its cavity a width and a height above zero.")
    grid = cut(boundary, outlines, min(step, smallest / _CELLS_ACROSS))
    return body_of(grid, [part.matter for part in parts], low, high, masses=[part.mass for part in parts])


def _cubes(parts: Sequence[Part], step: Metre) -> Grid:
    """The grid of parts that are not all round."""
    from demoule.cold.cubes import MOST_CUBES, cut_solid
    from demoule.piece.solid import revolved

    solids = [part.solid or revolved(part.outline, _SECTORS) for part in parts]
    surfaces = [(solid.points, solid.facets) for solid in solids]
    size = np.ptp(surfaces[-1][0], axis=0)
    finest = min(max(_COARSER * step, _FINEST_CUBE), float(size.min()) / _CUBES_ACROSS)
    # A cake is cut into no more cells than a piece can have.
    return cut_solid(surfaces[-1], surfaces, max(finest, float((1.2 * np.prod(size) / MOST_CUBES) ** (1 / 3))))


def mould_wall(mould: Mould | None, temperature: Kelvin) -> Wall | None:
    """The wall of a mould at a temperature [K]; a mould that is not told is taken as 2.5 mm of silicone."""
    from demoule.cold.walls import MOULD_MATERIALS, Wall

    thickness = _STANDARD_WALL if mould is None else mould.wall
    material = "silicone" if mould is None else mould.material.casefold()
    known = next((name for name in MOULD_MATERIALS if name in material), "silicone")
    conductivity, heat_capacity = MOULD_MATERIALS[known]
    if thickness < 0:
        raise BadInput(
            f"The wall of the mould would be {1000 * thickness:g} mm thick.", remedy="give 1.5 to 3 mm for silicone."
        )
    if thickness == 0:
        return None
    return Wall(thickness=thickness, conductivity=conductivity, heat_capacity=heat_capacity, temperature=temperature)


def coat_wall(piece: Piece, temperature: Kelvin, room: Kelvin) -> Wall | None:
    """Shell and sprays together as one wall around the piece, in the temperature range it goes through; None: bare."""
    from demoule.cold.walls import Wall

    coats = [layer for layer in piece.layers if layer.role in COATS and layer.mass > 0 and layer.area > 0]
    if not coats:
        return None
    thickness, resistance, heat, volume = 0.0, 0.0, 0.0, 0.0
    for layer in coats:
        matter = matter_of(layer.component, layer.composition, layer.air)
        width = layer.thickness if layer.thickness else layer.volume / layer.area
        middle = 0.5 * (temperature + room)
        # One heat capacity from where the coat comes to where it goes, melting in it.
        apart = max(abs(room - temperature), 1.0)
        low, high = middle - apart / 2, middle + apart / 2
        heat += layer.mass * (matter.enthalpy_at(high) - matter.enthalpy_at(low)) / (high - low)
        thickness += width
        resistance += width / float(np.interp(middle, matter.temperature, matter.conductivity))
        volume += layer.mass / matter.density
    return Wall(
        thickness=thickness,
        conductivity=thickness / resistance,
        heat_capacity=heat / volume,
        temperature=temperature,
        is_food=True,
    )


@functools.lru_cache(maxsize=256)
def conducting(matter: Matter, factor: float) -> Matter:
    """A mix that conducts better or worse than computed, by a factor."""
    return replace(matter, conductivity=matter.conductivity * factor)


@functools.lru_cache(maxsize=256)
def matter_of(name: str, composition: Composition, air: float) -> Matter:
    """The heat properties of a mix with its air, air being a share of the volume."""
    vector = composition.vector
    return Matter.of_table(name, thermal_table(vector, float(density_of_mix(vector)), air))


def _part(layer: Layer) -> Part:
    matter = matter_of(layer.component, layer.composition, layer.air)
    return Part(
        role=layer.role,
        component=layer.component,
        outline=layer.outline,
        mass=layer.mass,
        matter=matter,
        solid=layer.solid,
    )


def _boundary(outlines: Sequence[Outline]) -> FloatArray:
    """The outline that holds all: usually that of the body; where a base stands out, both together."""
    from demoule.piece import solids

    outer = outlines[-1]
    if len(outlines) > 1:
        shapes = [solids.polygon(outline) for outline in outlines]
        around = shapes[-1].buffer(1e-7)
        if not all(around.covers(shape) for shape in shapes[:-1]):
            whole = shapes[0].buffer(1e-7)
            for shape in shapes[1:]:
                whole = whole.union(shape.buffer(1e-7))
            whole = whole.buffer(-1e-7)
            if whole.geom_type != "Polygon":
                raise BadInput(
                    "The layers of the piece do not touch each other.", remedy="set heart and base into the body."
                )
            ring: FloatArray = np.array(whole.exterior.coords, dtype=np.float64)
            ring[:, 0] = np.maximum(ring[:, 0], 0.0)
            return ring
    return solids.points(outer)
