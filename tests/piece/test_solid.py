"""A cavity that is not round: what it measures, what fits into it, and what lies around it.

A sphere given as facets must be built as the sphere itself is; sizes of boxes are counted by hand.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from demoule.errors import BadInput, DoesNotFit
from demoule.piece import (
    Base,
    Cavity,
    Dip,
    Fill,
    HalfSphere,
    Heart,
    PieceDesign,
    Solid,
    Sphere,
    Spray,
    build,
    cavity_outline,
    cavity_solid,
    fitting,
    solids,
)
from demoule.piece.solid import revolved, upright

BALL = 0.0267


def facets_of(radius: float, steps: int = 96) -> Solid:
    angle = np.linspace(-np.pi / 2, np.pi / 2, steps + 1)
    line = zip(np.maximum(radius * np.cos(angle), 0).tolist(), (radius * (1 + np.sin(angle))).tolist(), strict=True)
    body = revolved(tuple(line))
    return body.scaled((4 / 3 * math.pi * radius**3 / body.volume) ** (1 / 3))


def box_of(x: float, y: float, z: float) -> Solid:
    corners = np.array([[a, b, c] for a in (-x / 2, x / 2) for b in (-y / 2, y / 2) for c in (0, z)], dtype=float)
    sides = [(0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3)]
    facets = [[a, b, c] for a, b, c, _ in sides] + [[a, c, d] for a, _, c, d in sides]
    return Solid.of(corners, np.array(facets))


@pytest.fixture
def fruit(ribbed_fruit):
    return upright(*ribbed_fruit())


def test_a_box_measures_what_its_sides_say():
    box = box_of(0.04, 0.03, 0.02)
    assert box.volume == pytest.approx(24e-6)
    assert box.area == pytest.approx(2 * (12 + 8 + 6) * 1e-4)
    # Edges of 4 times each side turn by a right angle: half the length times the angle.
    assert box.curvature == pytest.approx(math.pi / 4 * 4 * 0.09)
    assert box.reach == pytest.approx(0.025)
    assert box.section().area == pytest.approx(0.04 * 0.02)
    assert box.section(math.pi / 2).area == pytest.approx(0.03 * 0.02)
    heights, equal, least = box.levels()
    assert equal == pytest.approx(math.sqrt(0.04 * 0.03 / math.pi))
    assert least == pytest.approx(0.015)
    assert heights[0] > 0
    assert solids.volume(box.profile) == pytest.approx(24e-6, rel=1e-9)


def test_up_stands_a_body_on_another_side():
    box = box_of(0.04, 0.03, 0.02)
    for up, tall in (("x", 0.04), ("-y", 0.03), ("z", 0.02)):
        stood = upright(box.points, box.facets, up)
        assert stood.height == pytest.approx(tall)
        assert stood.volume == pytest.approx(24e-6)  # no side was turned inside out
        assert stood.points[:, 2].min() == pytest.approx(0.0, abs=1e-12)


def test_two_halves_are_joined_at_their_foot_and_a_body_without_one_is_refused(fruit):
    both = fruit.joined()
    assert both.volume == pytest.approx(2 * fruit.volume)
    assert both.height == pytest.approx(2 * fruit.height)
    with pytest.raises(BadInput, match="no flat foot"):
        facets_of(BALL).joined()


def test_what_is_not_filled_is_missing_at_the_foot(fruit):
    rest = fruit.cut_level(0.6 * fruit.volume)
    assert rest.volume == pytest.approx(0.6 * fruit.volume, rel=1e-5)
    assert rest.points[:, 2].min() == pytest.approx(0.0, abs=1e-9)
    assert rest.height < fruit.height
    assert rest.joined().volume == pytest.approx(2 * rest.volume, rel=1e-6)


def test_a_water_fill_grows_the_body(fruit):
    cavity = Cavity(shape=fruit, water_fill=1.331 * fruit.volume)
    assert cavity_solid(cavity).height == pytest.approx(1.1 * fruit.height, rel=1e-6)
    outline, factor = cavity_outline(cavity)
    assert factor == pytest.approx(1.1, rel=1e-6)
    assert solids.volume(outline) == pytest.approx(1.331 * fruit.volume, rel=1e-6)


def test_bodies_are_compared_by_what_they_are(fruit):
    assert fruit == Solid.of(fruit.points.copy(), fruit.facets.copy())
    assert hash(fruit) == hash(Solid.of(fruit.points.copy(), fruit.facets.copy()))
    assert fruit != fruit.scaled(1.001)


def _design(shape, **more) -> PieceDesign:
    heart = Heart(component="heart", cavity=Cavity(shape=HalfSphere(radius=0.013)), joined=2)
    return replace(
        PieceDesign(mould=None, cavity=Cavity(shape=shape), body=Fill(component="quince mousse"), heart=heart), **more
    )


def test_a_sphere_of_facets_is_built_like_the_sphere(mixes):
    skins = (Dip(component="velvet", bath=307.15, thickness=0.0008), Spray(component="velvet", lands=0.0015))
    true, given = (build(_design(shape, skins=skins), mixes, {}) for shape in (Sphere(radius=BALL), facets_of(BALL)))
    for one, other in zip(true.layers, given.layers, strict=True):
        assert other.volume == pytest.approx(one.volume, rel=2e-3), one.role
        assert other.mass == pytest.approx(one.mass, rel=2e-3)
        assert other.area == pytest.approx(one.area, rel=2e-3)
    assert given.smallest_wall.wall == pytest.approx(true.smallest_wall.wall, abs=1e-4)
    assert given.height == pytest.approx(true.height, rel=2e-3)
    assert given.diameter == pytest.approx(true.diameter, rel=2e-3)


def test_a_heart_keeps_to_the_narrow_side_of_a_box():
    heart = facets_of(0.010)
    room = fitting.Room(box_of(0.05, 0.03, 0.04).profile, None, box_of(0.05, 0.03, 0.04))
    height, wall = fitting.best_height(heart, room)
    assert wall == pytest.approx(0.005, abs=1e-4)  # 15 to the side less 10, wherever it is put between 5 and 15
    assert 0.0049 < height < 0.0151
    side = next(one for one in fitting.walls(heart.shifted(0.010), room) if one.what == "side")
    assert side.wall == pytest.approx(0.005, abs=1e-4)
    assert fitting.sticks_out(heart.shifted(0.025), room) == pytest.approx(0.005, abs=3e-4)


def test_a_heart_that_is_not_round_is_placed_in_a_round_cavity_and_in_its_own_kind(mixes, fruit):
    small = fruit.scaled((15e-6 / fruit.volume) ** (1 / 3))
    heart = Heart(component="heart", cavity=Cavity(shape=small))
    for shape in (Sphere(radius=BALL), fruit):
        piece = build(_design(shape, heart=heart), mixes, {})
        layer = piece.layer("heart")
        assert layer.volume == pytest.approx(0.96 * 15e-6, rel=1e-6)
        assert layer.solid is not None
        assert layer.section
        assert piece.smallest_wall.wall > 0.004


def test_what_does_not_fit_is_told_with_what_would(mixes, fruit):
    heart = Heart(component="heart", cavity=Cavity(shape=HalfSphere(radius=0.024)), joined=2)
    with pytest.raises(DoesNotFit, match="does not fit") as caught:
        build(_design(fruit, heart=heart), mixes, {})
    assert "ml" in caught.value.remedy
    wide = Base(component="quince mousse", thickness=0.004, diameter=0.040)
    with pytest.raises(DoesNotFit, match="base does not fit"):
        build(_design(fruit, heart=None, base=wide), mixes, {})
    base = Base(component="quince mousse", thickness=0.004, diameter=0.018)
    piece = build(_design(fruit, heart=None, base=base), mixes, {})
    assert piece.layer("base").volume == pytest.approx(math.pi / 4 * 0.018**2 * 0.004, rel=1e-6)
    assert piece.layer("body").volume == pytest.approx(fruit.volume - piece.layer("base").volume, rel=1e-6)
