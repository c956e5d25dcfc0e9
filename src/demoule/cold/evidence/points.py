"""Turning rows of published tables into evidence, and running one bare body to hold against them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from demoule.cold.matter import Matter
from demoule.figures import Evidence, Status
from demoule.units import Kelvin, Second

if TYPE_CHECKING:
    from demoule.cold.grid import Grid
    from demoule.cold.stay import Track
    from demoule.cold.walls import Wall

__all__ = ["LATENT", "Row", "entry", "run"]

Row = dict[str, str]
LATENT = 333_600.0  # J/kg


def entry(
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
    """The rows of one source as evidence, `at` naming what varies along them."""
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


def run(
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
    wall: Wall | None = None,
) -> Track:
    """A bare body, or one in a wall, of one temperature, in a room with one surface coefficient all over."""
    from demoule.cold.grid import FOOT, SIDE, TOP
    from demoule.cold.stay import Air, State, Watch, body_of, stay
    from demoule.cold.walls import Side, faces

    body = body_of(grid, matters, min(start, air), max(start, air), smooth=smooth, spacing=spacing)
    table, walls = faces(grid, {kind: Side(film=h, wall=wall) for kind in (SIDE, FOOT, TOP)})
    return stay(
        body,
        State(heat=body.tables.heat_at([start] * len(matters)), wall=walls),
        table,
        Air.steady(air),
        until=None if until is None else Watch(place="core", temperature=until, falls=air < start),
        at_most=at_most,
        tolerance=tolerance,
    )
