"""Text is measured, paths keep to their points, elements are well formed."""

import re
from xml.etree import ElementTree

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from demoule.sheets.svg import Face, element, label, number, polyline, slug, smooth_path, text_width, wrapped


def test_widths_are_those_of_the_faces():
    # A browser set these lines in Source Sans Pro 15 px in 72.6 and 84.5 px (measured once, kerning on).
    assert text_width("of the piece", 15) == pytest.approx(72.6, rel=0.01)
    assert text_width("51.9\u202fmm high", 15) == pytest.approx(84.5, rel=0.02)
    assert text_width("31.1", 23, Face.SANS_SEMIBOLD) > text_width("31.1", 23, Face.SANS)


@pytest.mark.parametrize("face", list(Face))
def test_every_face_can_be_measured(face):
    assert 3 < text_width("apricot", 10, face) / 7 < 7


@given(st.text(min_size=1, max_size=40), st.floats(5, 60))
def test_width_grows_with_size_and_length(words, size):
    assert text_width(words, 2 * size) == pytest.approx(2 * text_width(words, size))
    assert text_width(words + "n", size) > text_width(words, size)


@given(st.lists(st.text("abcdefgh", min_size=1, max_size=12), min_size=1, max_size=12), st.floats(40, 200))
def test_wrapping_keeps_every_word_and_the_width(words, width):
    lines = wrapped(" ".join(words), 16, Face.SANS, width)
    assert " ".join(lines) == " ".join(words)
    assert all(text_width(line, 16) <= width or " " not in line for line in lines)


def test_elements_are_escaped():
    text = label("salt & <pepper>", 1, 2.345, size=15, fill="#000000")
    found = ElementTree.fromstring(text)
    assert found.text == "salt & <pepper>"
    assert found.get("y") == "2.3"
    assert element("g", id='a"b', stroke_width=None) == "<g id='a\"b'/>"


def test_numbers_are_short():
    assert [number(v) for v in (1.0, -0.04, 12.345, 100.0)] == ["1", "0", "12.3", "100"]
    assert slug("Blackcurrant heart, 15 ml") == "blackcurrant-heart-15-ml"


def points_on(path, per_curve=20):
    """Points along a path of M, L and C commands."""
    found = []
    for command, numbers in re.findall(r"([MLC])([^MLCZ]*)", path):
        v = [float(x) for x in re.findall(r"-?\d+(?:\.\d+)?", numbers)]
        if command in "ML":
            found.append(v)
        else:
            p0, p1, p2, p3 = np.array(found[-1]), *np.array(v).reshape(3, 2)
            for t in np.linspace(0, 1, per_curve + 1)[1:]:
                found.append(list((1 - t) ** 3 * p0 + 3 * t * (1 - t) ** 2 * p1 + 3 * t * t * (1 - t) * p2 + t**3 * p3))
    return np.array(found)


@given(st.floats(20, 400))
def test_a_circle_stays_round(radius):
    turn = np.linspace(0, np.pi, 300)
    drawn = points_on(smooth_path(np.column_stack([radius * np.cos(turn), radius * np.sin(turn)])))
    # A tenth of a pixel: coordinates are rounded to it.
    assert np.abs(np.hypot(drawn[:, 0], drawn[:, 1]) - radius).max() < 0.15


def test_corners_and_long_straights_stay():
    turn = np.linspace(-np.pi / 2, np.pi / 2, 60)
    right = np.column_stack([100 + 8 * np.cos(turn), 8 * np.sin(turn)])
    shape = np.vstack([[[0, -8]], right, [[0, 8]], [[0, -8]]])
    drawn = points_on(smooth_path(shape))
    assert drawn[:, 0].min() >= -0.05
    assert np.abs(drawn[drawn[:, 0] < 95][:, 1]).max() <= 8.05
    assert polyline([(0, 0), (1, 1)], closed=True) == "M0 0L1 1Z"
