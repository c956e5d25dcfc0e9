"""Words as outlines: nothing is left to a face of the reader's machine, and every line keeps its place and width."""

import base64
import re
from xml.etree import ElementTree

import pytest

from demoule.dossier import dossier
from demoule.files import demo
from demoule.sheets import dossier_pages
from demoule.sheets.outlines import _EM, outlined, outlined_within
from demoule.sheets.svg import Face, label, text_width
from demoule.worked import work_up

DRAWING = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 50" width="100" height="50">{}</svg>'


@pytest.mark.parametrize("face", Face)
def test_a_line_of_letters_is_as_wide_as_its_text(face: Face) -> None:
    words = "28.8 ml, 36 % of the piece"
    root = ElementTree.fromstring(outlined(DRAWING.format(label(words, 10, 20, size=15, face=face, fill="#111"))))
    uses = [one for one in root.iter() if one.tag.endswith("use")]
    assert len(uses) == len(words.replace(" ", ""))
    scale = 15 / _EM
    last = float(uses[-1].get("x", "0")) * scale
    assert last == pytest.approx(text_width(words[:-1], 15, face), abs=0.1)


@pytest.mark.parametrize(("anchor", "share"), [(None, 0.0), ("middle", 0.5), ("end", 1.0)])
def test_a_line_stands_where_its_text_was_anchored(anchor: str | None, share: float) -> None:
    drawing = outlined(DRAWING.format(label("20 mm", 50, 20, size=10, fill="#111", anchor=anchor)))
    (start,) = re.findall(r"translate\(([\d.]+) 20\)", drawing)
    assert float(start) == pytest.approx(50 - share * text_width("20 mm", 10), abs=0.02)


def test_a_letter_that_comes_twice_is_drawn_once() -> None:
    drawing = outlined(DRAWING.format(label("noon", 0, 20, size=10, fill="#111")))
    assert len(re.findall("<path", drawing)) == 2
    assert len(re.findall("<use", drawing)) == 4


def test_no_page_has_words_that_ask_for_a_face() -> None:
    desserts, kitchen, _ = demo()
    for page in dossier_pages(dossier(work_up(desserts[0], kitchen))):
        within = [base64.b64decode(data).decode() for data in re.findall(r"svg\+xml;base64,([^\"]+)", page)]
        assert not any("<text" in drawing for drawing in [page, *within])
        ElementTree.fromstring(page)


def test_a_page_without_a_drawing_is_left_alone() -> None:
    assert outlined_within("<svg><path d='M0 0'/></svg>") == "<svg><path d='M0 0'/></svg>"
