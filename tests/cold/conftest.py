from __future__ import annotations

import numpy as np
import pytest

from demoule.cold import Room
from demoule.cold.evidence import reference_matter
from demoule.cold.grid import FOOT, SIDE, TOP, cut
from demoule.cold.stay import Air, State, Watch, body_of, stay
from demoule.cold.walls import Side, faces
from demoule.composition import Composition, Constituent
from demoule.formula.cooked import Cooked, Moment
from demoule.larder.ingredient import Nutrients
from demoule.piece import Base, Cavity, Dip, Fill, HalfSphere, Heart, Mould, Piece, PieceDesign, Sphere, build

GEL, MOUSSE = reference_matter("B"), reference_matter("A")


def round_section(radius: float, half_height: float | None = None, middle: float = 0.0) -> np.ndarray:
    angle = np.linspace(-np.pi / 2, np.pi / 2, 257)
    half = radius if half_height is None else half_height
    return np.stack([np.maximum(radius * np.cos(angle), 0.0), middle + half * np.sin(angle)], axis=1)


@pytest.fixture(scope="session")
def ball():
    """The section of a sphere or spheroid round the origin."""
    return round_section


@pytest.fixture(scope="session")
def cooled():
    """Run a layered sphere from one temperature in air of another; 2 mm cells, so that a test takes milliseconds."""

    def run(
        radius: float = 0.0267,
        heart: float = 0.5,
        *,
        start: float = 288.15,
        air: float = 238.15,
        h: float = 25.0,
        until: float | None = None,
        at_most: float = 2e6,
        step: float = 0.002,
        matters=(GEL, MOUSSE),
        wall=None,
        **more,
    ):
        outer = round_section(radius)
        grid = cut(outer, [round_section(heart * radius), outer], step)
        body = body_of(grid, list(matters), min(start, air), max(start, air))
        table, walls = faces(grid, {kind: Side(film=h, wall=wall) for kind in (SIDE, FOOT, TOP)})
        watch = None if until is None else Watch(place="core", temperature=until, falls=air < start)
        state = State(heat=body.tables.heat_at([start] * 2), wall=walls)
        return stay(body, state, table, Air.steady(air), until=watch, at_most=at_most, **more)

    return run


C = Constituent


def _mix(name: str, density: float, *, air: float = 0.0, at: float = 277.15, **parts: float) -> Cooked:
    return Cooked(
        name=name,
        weighed=(),
        entered=1.0,
        mass=1.0,
        composition=Composition.of({C[key.upper()]: value for key, value in parts.items()}),
        nutrients=Nutrients(),
        contents=(),
        losses=(),
        density=density,
        mix_density=density / (1 - air),
        air=air,
        density_measured=True,
        history=(Moment(time=0.0, temperature=at, doing="made"),),
        waits=(),
        hands_on=0.0,
        ph=None,
    )


@pytest.fixture(scope="session")
def cooked() -> dict[str, Cooked]:
    """Mixes of an invented dessert: a gel heart, a whipped ganache, a biscuit, a coating."""
    mixes = (
        _mix("jelly", 1120.0, at=293.15, water=0.68, sucrose=0.22, glucose=0.06, fibre=0.04),
        _mix("ganache", 640.0, air=0.39, water=0.48, milk_fat=0.22, cocoa_butter=0.09, sucrose=0.14, protein=0.07),
        _mix("biscuit", 450.0, at=295.15, water=0.15, sucrose=0.35, other_fat=0.2, starch=0.2, protein=0.1),
        _mix("coating", 1050.0, at=318.15, cocoa_butter=0.6, sucrose=0.3, protein=0.1),
    )
    return {mix.name: mix for mix in mixes}


@pytest.fixture(scope="session")
def moulds() -> dict[str, Mould]:
    half = Cavity(shape=HalfSphere(radius=0.0192))
    sphere = Cavity(shape=Sphere(radius=0.0268, flat=0.026))
    both = (
        Mould(name="halves", cavity=half, per_tray=35, owned=4),
        Mould(name="balls", cavity=sphere, per_tray=12, owned=5, two_part=True),
    )
    return {mould.name: mould for mould in both}


@pytest.fixture(scope="session")
def piece(cooked, moulds) -> Piece:
    """An 80 ml piece: joined halves of jelly in ganache on a biscuit, dipped."""
    design = PieceDesign(
        mould="balls",
        cavity=None,
        body=Fill(component="ganache"),
        heart=Heart(component="jelly", mould="halves", joined=2, volume=28.0e-6),
        base=Base(component="biscuit", diameter=0.026, thickness=0.0035),
        skins=(Dip(component="coating", bath=307.15, thickness=0.0006),),
    )
    return build(design, cooked, moulds)


BLAST = Room(name="blast", air=237.15, surface=18.0)
STORE = Room(name="store", air=253.15, surface=9.0)
FRIDGE = Room(name="fridge", air=276.15, surface=10.0)
BENCH = Room(name="bench", air=291.15, humidity=0.5)


@pytest.fixture(scope="session")
def rooms() -> tuple[Room, ...]:
    return (BLAST, STORE, FRIDGE, BENCH)
