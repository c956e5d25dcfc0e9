"""A file may name a mesh that lies beside it, and nothing else on the disk."""

from __future__ import annotations

import pytest
import trimesh

from demoule.errors import Mistakes
from demoule.files import kitchen_of, read_kitchen
from demoule.piece import Solid

TEXT = """demoule: 1
kitchen: A test kitchen
moulds:
  fig: {tray: 300×400, cavities: 12, mesh: MESH, units: mm}
"""


@pytest.fixture
def folder(tmp_path):
    ball = trimesh.creation.icosphere(3)
    ball.apply_scale(26.8)
    (tmp_path / "fig.stl").write_bytes(ball.export(file_type="stl"))
    (tmp_path / "box.stl").write_bytes(trimesh.creation.box((40, 40, 30)).export(file_type="stl"))
    (tmp_path / "open.stl").write_bytes(
        trimesh.Trimesh(ball.vertices, ball.faces[:-60], process=False).export(file_type="stl")
    )
    return tmp_path


def _read(folder, mesh):
    file = folder / "kitchen.yaml"
    file.write_text(TEXT.replace("MESH", mesh), encoding="utf-8")
    return read_kitchen(file)


def test_a_round_mesh_becomes_the_cavity(folder):
    (mould,) = _read(folder, "fig.stl").moulds
    # 1280 facets lie inside the sphere of 80.6 ml by 1 %.
    assert mould.cavity.water_fill == pytest.approx(80.63e-6, rel=0.012)


def test_a_mesh_that_is_not_round_becomes_a_body_as_it_stands(folder):
    (mould,) = _read(folder, "box.stl").moulds
    shape = mould.cavity.shape
    assert isinstance(shape, Solid)
    assert shape.volume == pytest.approx(40 * 40 * 30e-9, rel=1e-6)
    assert (shape.points[:, 2].min(), shape.height) == pytest.approx((0.0, 0.030), abs=1e-9)


def test_a_mesh_stands_with_the_direction_up_that_is_told(folder):
    (mould,) = _read(folder, "box.stl, up: -x").moulds
    assert mould.cavity.shape.height == pytest.approx(0.040, abs=1e-9)
    with pytest.raises(Mistakes, match="sideways"):
        _read(folder, "box.stl, up: sideways")


@pytest.mark.parametrize(
    ("mesh", "says"),
    [
        ("open.stl", "is open"),
        ("none.stl", "There is no mesh"),
        ("../fig.stl", "lies elsewhere"),
        ("kitchen.yaml", "cannot be read"),
    ],
)
def test_what_is_no_cavity_is_told_with_its_place(folder, mesh, says):
    with pytest.raises(Mistakes, match=says) as caught:
        _read(folder, mesh)
    assert caught.value.mistakes[0].line == 4


def test_a_text_without_a_folder_reads_no_file(folder):
    with pytest.raises(Mistakes, match="only by a file on disk"):
        kitchen_of(TEXT.replace("MESH", "fig.stl"), "k")
