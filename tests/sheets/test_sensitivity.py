"""The bars of what matters most, and a log beside its curve, are drawn from the figures and say what they show."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import numpy as np
import pytest

from demoule.cold.learning import Fitted, Lesson
from demoule.cold.programme import Room
from demoule.cold.records import Record
from demoule.cold.sensitivity import Exploration, Outcome
from demoule.cold.varying import Factor
from demoule.sheets.learned import lesson_svg
from demoule.sheets.sensitivity import effects_svg

AIR = Factor(kind="air", of="blast freezer", low=233.15, high=255.15)
HEART = Factor(kind="heart size", low=0.8, high=1.2)


def _outcome(hours, key):
    return Outcome(key=key, values=(1.0, 1.0), answers={"harden piece": None if hours is None else 3600 * hours})


@pytest.fixture
def explored() -> Exploration:
    return Exploration(
        factors=(HEART, AIR),
        base=_outcome(2.0, "b"),
        ends=((_outcome(1.9, "1"), _outcome(2.2, "2")), (_outcome(1.5, "3"), _outcome(None, "4"))),
        variants=(),
    )


@pytest.mark.parametrize("theme", ["day", "night", "print"])
def test_the_strongest_stands_first_and_what_is_not_reached_is_said(explored, theme):
    text = effects_svg(explored, "harden piece", theme=theme)
    ElementTree.fromstring(text)
    assert text.index("air, blast freezer") < text.index("heart size</text>")
    assert "not reached" in text
    assert "as it is: 2" in re.sub(r"\s", " ", text)


def test_bars_are_to_scale(explored):
    text = effects_svg(explored, "harden piece")
    dots = [float(x) for x in re.findall(r'<circle cx="([\d.]+)"', text)]
    line = float(re.search(r'<line x1="([\d.]+)" x2="\1"', text)[1])
    air, small, large = dots
    # 1.5, 1.9 and 2.2 h about a line at 2 h.
    assert (line - air) / (large - line) == pytest.approx(0.5 / 0.2, rel=0.02)
    assert (line - small) / (large - line) == pytest.approx(0.1 / 0.2, rel=0.03)


def test_a_log_is_drawn_with_its_curve_and_its_residuals():
    time = np.arange(0.0, 7200.0, 60.0)
    curve = 238.0 + 45 * np.exp(-time / 2000)
    lesson = Lesson(
        room=Room(name="blast", air=237.0),
        stage="harden piece",
        place="core",
        surface=Fitted(value=20.0, low=18.0, high=22.0),
        air=Fitted(value=238.0, low=237.0, high=239.0),
        body=None,
        put_in=0.0,
        scatter=0.3,
        record=Record(name="log", time=time, temperature=curve + 0.4),
        computed=curve,
        notes=(),
        basis=(),
        runs=1,
    )
    text = lesson_svg(lesson)
    tree = ElementTree.fromstring(text)
    assert lesson.residuals == pytest.approx(0.4)
    dots = [path.get("d", "").count("h0") for path in tree.iter() if path.tag.endswith("}path")]
    assert sum(dots) == 2 * len(time)
    assert "+0.5 K" in text
    assert len(text) < 40_000
