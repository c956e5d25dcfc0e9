"""Volumes and surfaces of cut cells against the formulas of the bodies."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from demoule.cold.grid import FOOT, SIDE, TOP, cut, line_grid
from demoule.errors import BadInput


def arc(a, b, start=-np.pi / 2, end=np.pi / 2, n=512):
    angle = np.linspace(start, end, n + 1)
    return np.stack([np.maximum(a * np.cos(angle), 0.0), b * np.sin(angle)], axis=1)


# Body, volume and whole surface by the formulas of solid geometry (law).
R, H = 0.025, 0.04
TORUS = np.stack(
    [0.03 + 0.01 * np.cos(np.linspace(0, 2 * np.pi, 1025)), 0.01 * np.sin(np.linspace(0, 2 * np.pi, 1025))], axis=1
)
SLANT = np.hypot(0.01, 0.03)
BODIES = {
    "sphere": (arc(R, R), 4 / 3 * np.pi * R**3, 4 * np.pi * R**2),
    "half sphere": (np.vstack([[0, 0], arc(R, R, 0.0)]), 2 / 3 * np.pi * R**3, 3 * np.pi * R**2),
    "cylinder": (np.array([[0, 0], [R, 0], [R, H], [0, H]]), np.pi * R**2 * H, 2 * np.pi * R * (R + H)),
    "cone frustum": (
        np.array([[0, 0], [0.03, 0], [0.02, 0.03], [0, 0.03]]),
        np.pi * 0.03 / 3 * (0.03**2 + 0.03 * 0.02 + 0.02**2),
        np.pi * (0.03**2 + 0.02**2 + (0.03 + 0.02) * SLANT),
    ),
    "ring": (TORUS, 2 * np.pi**2 * 0.03 * 0.01**2, 4 * np.pi**2 * 0.03 * 0.01),
    "dimpled cylinder": (
        np.array([[0, 0.01], [0.015, 0], [R, 0], [R, H], [0, H]]),
        np.pi * (R**2 * H - 0.015**2 * 0.01 / 3),
        np.pi * (2 * R * H + R**2 + R**2 - 0.015**2 + 0.015 * np.hypot(0.015, 0.01)),
    ),
}


@pytest.mark.parametrize("step", [0.003, 0.002, 0.001, 0.00073])
@pytest.mark.parametrize("body", BODIES)
def test_volume_and_surface_are_those_of_the_body_on_every_grid(body, step):
    outline, volume, area = BODIES[body]
    grid = cut(outline, [outline], step)
    # 1e-4: what the straight pieces of the outline cut off; the grid adds nothing.
    assert grid.total_volume == pytest.approx(volume, rel=1e-4)
    assert grid.total_area == pytest.approx(area, rel=1e-4)


@pytest.mark.parametrize("body", BODIES)
def test_no_cell_is_nearly_empty_and_no_surface_hangs_on_an_empty_one(body):
    outline, *_ = BODIES[body]
    grid = cut(outline, [outline], 0.001)
    full = 2 * np.pi * grid.r * grid.step**2
    share = grid.volume / full[:, None]
    # A ring cell with no larger neighbour may stay; everywhere else three tenths is the least.
    assert (share[grid.volume > 0] >= 0.3).all()
    assert (grid.volume[grid.face_r, grid.face_z] > 0).all()
    held = grid.volume > 0
    assert not (grid.radial[:-1][~(held[:-1] & held[1:])] > 0).any()
    assert not (grid.axial[:, :-1][~(held[:, :-1] & held[:, 1:])] > 0).any()


def test_level_faces_are_told_from_the_side():
    outline, *_ = BODIES["cylinder"]
    grid = cut(outline, [outline], 0.001)
    by_kind = {kind: grid.face_area[grid.face_kind == kind].sum() for kind in (SIDE, FOOT, TOP)}
    assert by_kind[FOOT] == pytest.approx(np.pi * R**2)
    assert by_kind[TOP] == pytest.approx(np.pi * R**2)
    assert by_kind[SIDE] == pytest.approx(2 * np.pi * R * H)


@pytest.mark.parametrize("step", [0.002, 0.001])
def test_surface_grows_outwards_as_steiner_has_it(step):
    # Offset by s a sphere has 4π(R+s)², a cylinder with rounded edges 2πRH + 2πR² + s(2πH + 2π²R) + 4πs² (law).
    s = 0.003
    for body, grown in (
        ("sphere", 4 * np.pi * (R + s) ** 2),
        ("cylinder", 2 * np.pi * R * (R + H) + s * (2 * np.pi * H + 2 * np.pi**2 * R) + 4 * np.pi * s**2),
    ):
        outline, *_ = BODIES[body]
        grid = cut(outline, [outline], step)
        c_1, c_2 = grid.face_growth
        ours = (grid.face_area * (1 + c_1 * s + c_2 * s**2)).sum()
        assert ours == pytest.approx(grown, rel=1e-4)


@settings(max_examples=25, deadline=None)
@given(
    radius=st.floats(0.012, 0.05),
    height=st.floats(0.015, 0.08),
    heart=st.floats(0.2, 0.9),
    step=st.floats(0.0008, 0.003),
)
def test_layers_share_out_the_whole_body(radius, height, heart, step):
    outer = arc(radius, height / 2)
    inner, core = heart * outer, 0.5 * heart * outer
    grid = cut(outer, [core, inner, outer], step)
    by_layer = grid.shares.sum(axis=(1, 2))
    whole = grid.total_volume
    assert np.allclose(grid.shares.sum(axis=0), grid.volume, rtol=1e-12, atol=1e-18)
    assert by_layer[0] == pytest.approx((0.5 * heart) ** 3 * whole, rel=1e-6)
    assert by_layer[0] + by_layer[1] == pytest.approx(heart**3 * whole, rel=1e-6)


def test_a_row_of_cells_has_the_volume_of_its_shape():
    assert line_grid("slab", 0.02, 10).total_volume == pytest.approx(0.02)
    assert line_grid("cylinder", 0.02, 10).total_volume == pytest.approx(np.pi * 0.02**2)
    assert line_grid("sphere", 0.02, 10).total_volume == pytest.approx(4 / 3 * np.pi * 0.02**3)
    assert line_grid("slab", 0.02, 10, two_ends=True).total_area == pytest.approx(2.0)


@pytest.mark.parametrize(
    ("outline", "step"),
    [
        (np.zeros((4, 2)), 0.001),
        (np.array([[0.0, 0.0], [0.02, 0.0]]), 0.001),
        (BODIES["sphere"][0], 0.0),
        (BODIES["sphere"][0], -0.001),
        (BODIES["sphere"][0], 1e-5),  # millions of cells
        (BODIES["sphere"][0] * np.nan, 0.001),
    ],
)
def test_a_body_without_size_or_with_too_many_cells_is_refused(outline, step):
    with pytest.raises(BadInput):
        cut(outline, [outline], step)


def test_a_row_without_length_is_refused():
    with pytest.raises(BadInput):
        line_grid("slab", 0.0, 10)
