"""A dessert in a mould that is not round, from its mesh to its hours, its figures, its paper and its pictures."""

from __future__ import annotations

import shutil
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest

from demoule.cold import Programme, run_programme
from demoule.dossier import dossier
from demoule.files import read_dessert, read_kitchen
from demoule.larder import standard_larder
from demoule.piece import Cavity, Fill, Heart, PieceDesign, Sphere, build
from demoule.piece.solid import upright
from demoule.sheets.curves import film_svg
from demoule.sheets.frost import moving_svg
from demoule.sheets.section import section_svg
from demoule.worked import work_up

trimesh = pytest.importorskip("trimesh")
EXAMPLES = Path(__file__).parents[1] / "docs" / "examples"
COLD = """
cold:
  harden heart: {in: blast freezer, until: core -18 °C}
  harden piece: {in: blast freezer, until: core -18 °C}
  keep: {in: store freezer, at most: 3 months}
  thaw: {in: refrigerator, ready: core -1 to 2 °C}
"""


@pytest.fixture(scope="module")
def fig(tmp_path_factory, ribbed_fruit):
    folder = tmp_path_factory.mktemp("fig")
    points, facets = ribbed_fruit()
    mesh = trimesh.Trimesh(1000 * points, facets, process=False)
    (folder / "fig.stl").write_bytes(mesh.export(file_type="stl"))
    kitchen = (EXAMPLES / "pear-kitchen.yaml").read_text(encoding="utf-8")
    mould = "  ribbed 90 ml: {tray: 300×400, cavities: 8, own: 3, mesh: fig.stl, units: mm}\n  pear 90 ml:"
    (folder / "kitchen.yaml").write_text(kitchen.replace("  pear 90 ml:", mould, 1), encoding="utf-8")
    dessert = (EXAMPLES / "pear.yaml").read_text(encoding="utf-8").replace("mould: pear 90 ml", "mould: ribbed 90 ml")
    (folder / "fig.yaml").write_text(dessert + COLD, encoding="utf-8")
    shutil.copy(EXAMPLES / "pear.yaml", folder / "pear.yaml")
    return folder


@pytest.fixture(scope="module")
def worked(fig):
    return work_up(read_dessert(fig / "fig.yaml", standard_larder()), read_kitchen(fig / "kitchen.yaml"))


def test_the_piece_is_the_mesh(worked, ribbed_fruit):
    piece = worked.piece
    assert piece.cavity_volume == pytest.approx(90e-6, rel=1e-6)
    heart, body, spray = (piece.layer(role) for role in ("heart", "body", "spray"))
    assert body.volume == pytest.approx(90e-6 - heart.volume, rel=1e-6)
    # The ribs give it more surface than the ball of its volume: at least what the drop has without them.
    assert body.area > 1.03 * (36 * np.pi) ** (1 / 3) * (90e-6) ** (2 / 3)
    assert spray.thickness == pytest.approx(spray.volume / body.area, rel=0.01)


def test_every_stage_has_hours_with_a_band_and_balances(worked):
    run = worked.cold
    for what in ("harden heart", "harden piece", "thaw"):
        stage = run.stage(what)
        assert stage.low < stage.time < stage.high
        assert stage.weakest
    assert all(stage.imbalance < 1e-9 for stage in run.stages)
    keep = run.stage("keep")
    assert np.abs(np.array(keep.ended) - keep.room.air).max() < 1.0


def test_a_round_piece_of_the_same_surface_takes_about_as_long(worked):
    """Nothing else in the chain may know of ribs: hours lie where volume over surface puts them, about."""
    body = worked.piece.layer("body")
    stage = worked.cold.stage("harden piece").stage
    radius = 3 * 90e-6 / body.area  # the ball with the same volume over surface
    times = []
    for shape in (Sphere(radius=radius), body.solid):
        design = PieceDesign(mould=None, cavity=Cavity(shape=shape), body=Fill(component=body.component))
        piece = build(design, worked.cooked, {})
        run = run_programme(piece, worked.cooked, Programme(stages=(stage,)), worked.kitchen.rooms, bands=False)
        times.append(run.stages[0].time)
    assert times[1] == pytest.approx(times[0], rel=0.15)


def test_a_heart_that_is_not_round_freezes_in_a_round_piece(worked, ribbed_fruit):
    shape = upright(*ribbed_fruit(volume=15e-6))
    heart = Heart(component="pear heart", cavity=Cavity(shape=shape))
    design = PieceDesign(
        mould=None, cavity=Cavity(shape=Sphere(radius=0.0267)), body=Fill(component="vanilla mousse"), heart=heart
    )
    piece = build(design, worked.cooked, {})
    stages = tuple(worked.cold.stage(what).stage for what in ("harden heart", "harden piece"))
    run = run_programme(piece, worked.cooked, Programme(stages=stages), worked.kitchen.rooms, bands=False)
    assert all(0 < stage.time < 3 * 3600 and stage.imbalance < 1e-9 for stage in run.stages)
    ElementTree.fromstring(film_svg(run.stage("harden piece"), piece))


def test_figures_and_paper_are_made(worked):
    answer = dossier(worked)
    assert answer.figures
    drawn = section_svg(worked.piece, name="Ribbed", width=700, height=420, cooked=worked.cooked)
    ElementTree.fromstring(drawn if isinstance(drawn, str) else drawn.svg)


def test_pictures_show_the_cut_left_and_right(worked):
    stage = worked.cold.stage("harden piece")
    still = stage.stills[1]
    assert still.r[0] < 0 < still.r[-1]
    inside = np.isfinite(still.temperature)
    # The mesh is flattened towards +x and ribbed: no section of it is its own mirror image.
    assert (inside != inside[:, ::-1]).any()
    shown = inside.sum() * (still.r[1] - still.r[0]) * (still.z[1] - still.z[0])
    section = worked.piece.layer("body").solid.section().area
    assert section < shown < 1.15 * section  # cells that the surface cuts count whole
    for text in (film_svg(stage, worked.piece), moving_svg(stage, worked.piece)):
        ElementTree.fromstring(text)
