"""Any moment of a stage can be drawn, and the film is one small picture that moves without a script."""

from __future__ import annotations

import itertools
import re
from dataclasses import replace
from xml.etree import ElementTree

import numpy as np
import pytest

from demoule.cold import Curve, Room, Stage, StageRun, Still
from demoule.cold.programme import Softened
from demoule.errors import BadInput
from demoule.files import demo
from demoule.sheets.curves import curve_svg, still_svg
from demoule.sheets.frost import LARGEST, moment_svg, moving_svg, still_at
from demoule.sheets.svg import Face, text_width
from demoule.worked import work_up


@pytest.fixture(scope="module")
def worked():
    desserts, kitchen, _ = demo()
    return work_up(next(one for one in desserts if one.name == "Quince"), kitchen)


@pytest.fixture(scope="module")
def run(worked) -> StageRun:
    found = worked.cold.stage("harden piece")
    assert found is not None
    return found


def test_a_moment_between_two_fields_lies_between_them(run):
    one, other = run.stills[1:3]
    middle = still_at(run, 0.25 * one.time + 0.75 * other.time)
    inside = np.isfinite(one.temperature)
    assert middle.temperature[inside] == pytest.approx(
        0.25 * one.temperature[inside] + 0.75 * other.temperature[inside], abs=1e-6
    )
    assert still_at(run, one.time).temperature == pytest.approx(one.temperature, nan_ok=True)
    assert still_at(run, 0.0) is run.stills[0]


@pytest.mark.parametrize("time", [-1.0, 1e9, float("nan")])
def test_a_moment_outside_the_stage_is_refused(run, time):
    with pytest.raises(BadInput):
        still_at(run, time)


@pytest.mark.parametrize("theme", ["day", "night", "print"])
def test_a_film_is_small_moves_without_a_script_and_rests_where_asked(run, worked, theme):
    text = moving_svg(run, worked.piece, theme=theme)
    assert len(text.encode()) <= LARGEST
    tree = ElementTree.fromstring(text)
    kinds = {element.tag.rpartition("}")[2] for element in tree.iter()}
    assert "script" not in kinds
    assert not re.search(r"\bon\w+=|javascript:|https?://(?!www\.w3\.org)", text)
    pictures = [g for g in tree.iter() if g.tag.endswith("}g") and "film-" in g.get("class", "")]
    assert len(pictures) >= 12
    resting = [g for g in pictures if "-rest" in g.get("class", "")]
    assert len(resting) == 1
    # Whatever moves stands inside the query for those who do not ask for stillness.
    style = next(element.text or "" for element in tree.iter() if element.tag.endswith("}style"))
    before, _, moving = style.partition("@media (prefers-reduced-motion:no-preference)")
    assert "animation" not in before
    assert moving.count("@keyframes") == len(pictures) + 1


def test_every_picture_of_the_film_has_its_own_turn(run, worked):
    text = moving_svg(run, worked.piece)
    shown = [tuple(map(float, pair)) for pair in re.findall(r"([\d.]+)%,([\d.]+)%\{visibility:visible\}", text)]
    assert shown[0][0] == 0.0
    assert shown[-1][1] >= 99.9
    for (_, end), (start, _) in itertools.pairwise(shown):
        assert start == pytest.approx(end, abs=0.03)


def test_the_colour_of_a_place_is_that_of_its_temperature(run, worked):
    # A field of one temperature has one colour: −20 °C is the second of the scale.
    still = run.stills[0]
    cold = Still(
        time=60.0,
        r=still.r,
        z=still.z,
        temperature=np.where(np.isfinite(still.temperature), 253.15, np.nan),
        ice=np.where(np.isfinite(still.ice), 0.8, np.nan),
    )
    text = still_svg(cold, worked.piece)
    assert "#567394" in text
    assert not {"#86A2B6", "#2B3A57", "#EFC489"} & set(re.findall(r"#[0-9A-F]{6}", text))
    halves = Still(
        time=60.0,
        r=still.r,
        z=still.z,
        temperature=np.where(np.isfinite(still.temperature), np.where(still.z > 0.03, 253.15, 291.15)[:, None], np.nan),
        ice=cold.ice,
    )
    assert {"#567394", "#EFC489"} <= set(re.findall(r"#[0-9A-F]{6}", still_svg(halves, worked.piece)))


def test_a_moment_and_curves_are_whole_pictures(run, worked):
    for text in (moment_svg(run, worked.piece, 0.4 * run.stills[-1].time), curve_svg(run)):
        ElementTree.fromstring(text)
        assert "NaN" not in text
        assert "nan" not in text


@pytest.mark.parametrize("softened", [False, True])
def test_what_is_wanted_stands_where_no_curve_runs(worked, softened):
    thaw = worked.cold.stage("thaw")
    if softened:
        soft = (Softened(layer="heart", most=0.30, least=0.02),)
        thaw = replace(thaw, stage=replace(thaw.stage, ready=None, softened=soft))
    text = curve_svg(thaw)
    left, foot, words = re.search(r'<text x="([\d.]+)" y="([\d.]+)"[^>]*>(ready: [^<]+)<', text).groups()
    assert words == ("ready: heart sliceable to spoon-soft" if softened else "ready: core −1\u202f°C to 2\u202f°C")
    left, foot, right = float(left), float(foot), float(left) + text_width(words, 13, Face.SERIF_ITALIC)
    for path in re.findall(r'<path d="([^"]+)"', text):
        points = np.array(re.findall(r"([\d.]+)[ ,]([\d.]+)", path), dtype=float)
        here = points[(points[:, 0] > left) & (points[:, 0] < right)]
        assert here[:, 1].min() > foot + 3  # all curves run below it


def test_a_stage_of_which_nothing_was_kept_is_told():
    nothing = np.zeros(1)
    empty = StageRun(
        stage=Stage(what="keep"),
        room=Room(name="x", air=250.0),
        surface_coefficient=9.0,
        time=None,
        low=None,
        high=None,
        started_at=250.0,
        ended=(250.0, 250.0, 250.0),
        stills=(),
        window=None,
        heat=0.0,
        imbalance=0.0,
        weakest="",
        assumed=(),
        basis=(),
        curve=Curve(time=nothing, core=nothing, mean=nothing, surface=nothing, heart_ice=nothing, body_ice=nothing),
    )
    with pytest.raises(BadInput, match="Nothing was kept"):
        still_at(empty, 0.0)
