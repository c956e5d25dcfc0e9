"""A mesh gives back the volume and the profile of the body it was made from; what is no closed body is refused.

Volumes and areas of sphere, cylinder and ring are those of the text-book; flat facets lie a known little inside them.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import trimesh

from demoule.errors import BadInput
from demoule.piece import Cavity, cavity_outline, solids
from demoule.piece.mesh import mesh_of, profile_of


def stl(mesh):
    return mesh.export(file_type="stl")


def turned(points, sections=96):
    """A closed body of revolution from (radius, height) points on and off the axis."""
    return trimesh.creation.revolve(points, sections=sections)


@pytest.fixture
def ball():
    mesh = trimesh.creation.icosphere(4)
    mesh.apply_scale(26.8)
    return mesh


@pytest.mark.parametrize("kind", ["stl", "ply", "3mf"])
def test_a_sphere_has_its_volume_and_area_in_every_kind_of_file(ball, kind):
    mesh = mesh_of(ball.export(file_type=kind), kind, "mm")
    # 5120 flat facets lie inside the sphere: 0.25 % of its volume, half of that of its area.
    assert mesh.volume == pytest.approx(4 / 3 * math.pi * 0.0268**3, rel=0.003)
    assert mesh.area == pytest.approx(4 * math.pi * 0.0268**2, rel=0.0015)
    assert mesh.size == pytest.approx((0.0536, 0.0536, 0.0536), rel=1e-4)


def test_text_stl_and_units_of_a_3mf_are_read(ball):
    text = ball.export(file_type="stl_ascii").encode()
    small, large = mesh_of(stl(ball), "stl", "mm"), mesh_of(text, "stl", "mm")
    assert large.volume == pytest.approx(small.volume, rel=1e-5)
    ball.units = "mm"
    assert mesh_of(ball.export(file_type="3mf"), "3mf").volume == pytest.approx(8.05e-5, rel=0.003)


def test_a_section_has_the_area_of_its_circle(ball):
    mesh = mesh_of(stl(ball), "stl", "mm")
    pieces = mesh.section(0.010)
    a, b = pieces[:, 0], pieces[:, 1]
    area = (a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]).sum() / 2
    assert area == pytest.approx(math.pi * (0.0268**2 - 0.010**2), rel=0.005)


@pytest.mark.parametrize("tilt", [0.0, 0.7])
def test_a_cylinder_is_offered_as_its_profile_however_it_lies(tilt):
    mesh = trimesh.creation.cylinder(22.5, 18.0, sections=128)
    mesh.apply_transform(trimesh.transformations.rotation_matrix(tilt, [1, 1, 0]))
    fitted = profile_of(mesh_of(stl(mesh), "stl", "mm"))
    assert fitted.round
    assert fitted.worst < 2e-5
    outline, scale = cavity_outline(Cavity(shape=fitted.profile, water_fill=fitted.volume))
    assert scale == pytest.approx(1.0, abs=1e-3)
    assert max(z for _, z in outline) == pytest.approx(0.018, abs=2e-4)
    assert max(r for r, _ in outline) == pytest.approx(0.0225, abs=2e-4)


def test_a_fruit_comes_back_with_its_flat_foot_and_its_round_top():
    # A sphere of 80 ml cut to a flat of 26 mm.
    angle = np.linspace(-math.acos(13.0 / 26.83), math.pi / 2, 80)
    r, z = 26.83 * np.cos(angle), 26.83 * np.sin(angle)
    r[-1] = 0.0
    mesh = turned([(0.0, z[0]), *zip(r, z, strict=True)], sections=160)
    fitted = profile_of(mesh_of(stl(mesh), "stl", "mm"))
    assert fitted.round
    assert fitted.profile.points[0][1] == pytest.approx(0.013, abs=3e-4)
    assert fitted.profile.points[-1][1] == 0.0
    outline, scale = cavity_outline(Cavity(shape=fitted.profile, water_fill=fitted.volume))
    assert scale == pytest.approx(1.0, abs=3e-3)
    assert solids.volume(outline) == pytest.approx(fitted.volume, rel=1e-6)


def test_a_box_and_a_ring_are_not_round():
    box = trimesh.creation.box((40, 40, 30))
    assert not profile_of(mesh_of(stl(box), "stl", "mm")).round
    ring = trimesh.creation.torus(20, 8)
    mesh = mesh_of(stl(ring), "stl", "mm")
    assert not profile_of(mesh).round
    assert mesh.volume == pytest.approx(2 * math.pi**2 * 0.020 * 0.008**2, rel=0.02)


def test_a_slightly_oval_body_is_round_within_its_stated_error(ball):
    ball.apply_transform(np.diag([1.01, 0.99, 1.0, 1.0]))
    fitted = profile_of(mesh_of(stl(ball), "stl", "mm"))
    assert fitted.round
    assert fitted.worst == pytest.approx(0.01 * 0.0268, rel=0.3)
    ball.apply_transform(np.diag([1.12, 1.0, 0.93, 1.0]))  # three different axes
    assert not profile_of(mesh_of(stl(ball), "stl", "mm")).round


def test_small_defects_are_mended_and_said(ball):
    hole = trimesh.Trimesh(ball.vertices, ball.faces[:-1], process=False)
    mesh = mesh_of(stl(hole), "stl", "mm")
    assert "a small hole was closed" in mesh.mended
    inverted = ball.copy()
    inverted.invert()
    mesh = mesh_of(stl(inverted), "stl", "mm")
    assert mesh.volume > 0
    assert any("inside out" in words for words in mesh.mended)


def test_a_mesh_of_many_facets_is_brought_down_and_keeps_its_shape(ball):
    fine = ball.subdivide().subdivide()  # 81 920 facets on the same flats
    mesh = mesh_of(stl(fine), "stl", "mm")
    assert len(mesh.facets) <= 60_000
    assert any("brought down to" in words for words in mesh.mended)
    assert mesh.volume == pytest.approx(1e-9 * ball.volume, rel=5e-4)
    assert mesh.area == pytest.approx(1e-6 * ball.area, rel=1e-3)


def test_a_large_mesh_is_refused_like_a_small_one(ball):
    fine = ball.subdivide().subdivide()
    opened = trimesh.Trimesh(fine.vertices, fine.faces[:-3000], process=False)
    with pytest.raises(BadInput, match="is open"):
        mesh_of(stl(opened), "stl", "mm")


def test_a_wrong_unit_is_told_with_the_right_one(ball):
    with pytest.raises(BadInput) as caught:
        mesh_of(stl(ball), "stl", "in")
    assert "units: mm (53.6 × 53.6 × 53.6 mm)" in caught.value.remedy


def _crossing():
    """One closed line round the axis that crosses itself."""
    return turned([(0, 0), (20, 0), (20, 20), (8, 20), (8, 4), (26, 4), (26, 30), (0, 30)])


WRONG = {
    "open": (lambda b: stl(trimesh.Trimesh(b.vertices, b.faces[:-60], process=False)), "mm", "is open"),
    "two bodies": (
        lambda b: stl(trimesh.util.concatenate([b, b.copy().apply_translation([90, 0, 0])])),
        "mm",
        "2 bodies",
    ),
    "crosses itself": (lambda b: stl(_crossing()), "mm", "crosses itself"),
    "no unit": (lambda b: stl(b), None, "does not say its unit"),
    "as metres": (lambda b: stl(b), "m", "no cavity"),
    "unknown unit": (lambda b: stl(b), "furlong", "no unit"),
    "a sheet": (
        lambda b: stl(trimesh.Trimesh([[0, 0, 0], [20, 0, 0], [0, 20, 0]], [[0, 1, 2], [0, 2, 1]], process=False)),
        "mm",
        "open|no room",
    ),
    "three million facets": (lambda b: bytes(80) + (3_000_000).to_bytes(4, "little"), "mm", "million facets"),
    "cut short": (lambda b: stl(b)[:5000], "mm", "cut short"),
    "nothing": (lambda b: b"", "mm", "no STL"),
    "words": (lambda b: b"solid of a kind\nand no more\n", "mm", "cannot be read|no facets|only points|points"),
}


@pytest.mark.parametrize("case", WRONG)
def test_what_is_no_cavity_is_refused_with_its_reason(case, ball):
    make, units, says = WRONG[case]
    with pytest.raises(BadInput, match=says) as caught:
        mesh_of(make(ball), "stl", units)
    assert caught.value.remedy


def test_another_kind_of_file_is_refused():
    with pytest.raises(BadInput, match="kind"):
        mesh_of(b"", "obj", "mm")
