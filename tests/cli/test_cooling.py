"""The commands of the cold room: a log is learned and kept, variants go on, a film and a mesh are written and told."""

from __future__ import annotations

import json
import math
import subprocess
import sys
from xml.etree import ElementTree

import numpy as np
import pytest
import trimesh

from demoule.batch import conduction_learned
from demoule.cold import run_programme
from demoule.files import DEMO_FILES, demo, demo_text, read_kitchen
from demoule.worked import varied_from, work_up


def demoule(*arguments):
    return subprocess.run(
        [sys.executable, "-m", "demoule", "cold", *map(str, arguments)],
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=300,
        check=False,
    )


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    place = tmp_path_factory.mktemp("kitchen")
    for name in DEMO_FILES:
        (place / name).write_text(demo_text(name), encoding="utf-8")
    return place


@pytest.fixture(scope="module")
def log(folder):
    """The core of the Chestnut's piece in a blast freezer of 27 W/m²K, as a logger would write it."""
    desserts, kitchen, _ = demo()
    worked = work_up(next(one for one in desserts if one.name == "Chestnut"), kitchen)
    base = varied_from(worked)
    from dataclasses import replace

    stages = tuple(
        replace(stage, until=None, duration=9000.0) if stage.what == "harden piece" else stage
        for stage in base.programme.stages
        if stage.what in ("harden heart", "harden piece")
    )
    rooms = [replace(one, surface=27.0) if one.name == "blast freezer" else one for one in base.rooms]
    curve = (
        run_programme(
            worked.piece,
            worked.cooked,
            replace(base.programme, stages=stages),
            rooms,
            filled_at=base.filled_at,
            bands=False,
        )
        .stage("harden piece")
        .curve
    )
    noise = np.random.default_rng(4).normal(0.0, 0.25, 150)
    lines = ["time;core °C;air °C"]
    for minute in range(150):
        core = float(np.interp(60.0 * minute, curve.time, curve.core)) - 273.15 + noise[minute]
        lines.append(f"2026-11-12 {14 + minute // 60:02}:{minute % 60:02}:00;{core:.2f};-36".replace(".", ","))
    path = folder / "tuesday.csv"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


def test_a_log_is_learned_drawn_and_kept_with_nothing_else_changed(folder, log):
    before = (folder / "kitchen.yaml").read_text(encoding="utf-8")
    picture = folder / "tuesday.svg"
    done = demoule("learn", log, "--dessert", folder / "chestnut.yaml", "--column", "core", "--out", picture, "--write")
    assert done.returncode == 0, done.stderr
    ElementTree.parse(picture)
    after = (folder / "kitchen.yaml").read_text(encoding="utf-8")
    changed = [(a, b) for a, b in zip(before.splitlines(), after.splitlines(), strict=True) if a != b]
    assert len(changed) == 1
    assert changed[0][1].strip().startswith("blast freezer:")
    room = read_kitchen(folder / "kitchen.yaml").room("blast freezer")
    assert room.surface == pytest.approx(27.0, rel=0.12)
    assert room.air == pytest.approx(237.15, abs=1.0)
    assert room.learned.endswith("12 November 2026")
    (folder / "kitchen.yaml").write_text(before, encoding="utf-8")


def test_how_the_mixes_conduct_is_kept_used_and_said(folder, log):
    before = (folder / "kitchen.yaml").read_text(encoding="utf-8")
    chestnut = ("--dessert", folder / "chestnut.yaml", "--column", "core", "--body")
    done = demoule("learn", log, *chestnut, "--write", "--json")
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout)
    kitchen = read_kitchen(folder / "kitchen.yaml")
    learned = conduction_learned(kitchen, "Chestnut")
    # The log was made with the mixes as they are computed.
    assert learned.factor == pytest.approx(1.0, abs=0.15)
    assert abs(learned.factor - 1) < learned.band
    assert learned.learned.endswith("tuesday.csv, core °C on 2026-11-12")
    assert told["conduction"]["measured"] == "2026-11-12"
    desserts, _, _ = demo()
    worked = work_up(next(one for one in desserts if one.name == "Chestnut"), kitchen)
    harden = worked.cold.stage("harden piece")
    assert any("of what is computed, as learned here" in word for word in harden.assumed)
    again = json.loads(demoule("learn", log, *chestnut, "--json").stdout)
    # What was counted in is told as one factor on what is computed, not twice.
    assert float(again["conduction"]["conducts"].split()[0]) == pytest.approx(100 * learned.factor, abs=4)
    (folder / "kitchen.yaml").write_text(before, encoding="utf-8")


def test_a_log_that_cannot_tell_is_refused_and_nothing_is_written(folder):
    short = folder / "short.csv"
    short.write_text("time,T °C\n10:00,5\n", encoding="utf-8")
    before = (folder / "kitchen.yaml").read_text(encoding="utf-8")
    done = demoule("learn", short, "--dessert", folder / "chestnut.yaml", "--write")
    assert done.returncode == 2
    assert "one reading" in done.stderr
    assert "Traceback" not in done.stderr
    assert (folder / "kitchen.yaml").read_text(encoding="utf-8") == before


def test_variants_are_told_drawn_and_kept(folder):
    keep, out = folder / "variants.jsonl", folder / "hours.svg"
    call = ("explore", folder / "chestnut.yaml", "--vary", "air blast freezer -40 to -30 °C", "--variants", 4,
            "--workers", 1, "--keep", keep)  # fmt: skip
    done = demoule(*call, "--out", out)
    assert done.returncode == 0, done.stderr
    assert "harden piece" in done.stdout
    ElementTree.parse(out)
    lines = keep.read_text(encoding="utf-8").splitlines()
    assert len(lines) == 7
    again = demoule(*call, "--json")
    assert json.loads(again.stdout)["whole"]
    assert keep.read_text(encoding="utf-8").splitlines() == lines  # in another process, nothing was computed twice


def test_a_film_and_a_moment_are_written(folder):
    for name, more in (("film.svg", ()), ("moment.svg", ("--at", "10 min"))):
        done = demoule("film", folder / "chestnut.yaml", "--out", folder / name, *more)
        assert done.returncode == 0, done.stderr
        ElementTree.parse(folder / name)
        assert (folder / name).stat().st_size <= 150_000
    done = demoule("film", folder / "chestnut.yaml", "--out", folder / "no.svg", "--stage", "harden pice")
    assert done.returncode == 2
    assert "harden piece" in done.stderr


def test_a_mesh_is_measured(folder):
    body = trimesh.creation.cylinder(22.5, 18.0, sections=96)
    (folder / "disc.stl").write_bytes(body.export(file_type="stl"))
    done = demoule("mesh", folder / "disc.stl", "--units", "mm", "--json")
    told = json.loads(done.stdout)
    assert told["round"]
    assert told["volume_ml"] == pytest.approx(28.6, rel=0.003)  # π 2.25² 1.8
    assert demoule("mesh", folder / "disc.stl").returncode == 2  # its unit is asked for


def test_a_mesh_that_is_not_round_is_told_as_it_stands(folder):
    body = trimesh.creation.box((40.0, 30.0, 25.0))
    (folder / "brick.stl").write_bytes(body.export(file_type="stl"))
    done = demoule("mesh", folder / "brick.stl", "--units", "mm")
    assert done.returncode == 0, done.stderr
    assert "three dimensions" in done.stdout
    told = json.loads(demoule("mesh", folder / "brick.stl", "--units", "mm", "--json").stdout)
    assert not told["round"]
    assert told["foot_mm"] == pytest.approx(2 * (40 * 30 / math.pi) ** 0.5, rel=0.01)
    assert told["inside_mm"] == pytest.approx(30.0, rel=0.01)
