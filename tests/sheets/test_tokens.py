"""The colours keep their promises: contrast of text, order of temperatures, neighbours that differ in grey.

Contrast ratio and its thresholds: WCAG 2.2, 1.4.3 (4.5 for text) and 1.4.11 (3 for controls). Status: recalled.
"""

from itertools import pairwise

import pytest

from demoule.sheets.tokens import (
    DAY,
    DESSERTS,
    NIGHT,
    ON_PIECE,
    PRINT,
    TEMPERATURES,
    contrast,
    lightness,
    luminance,
    tokens_of,
)

TEXT = ("ink", "ink_2", "damson", "stop", "caution", "note", "skin")


def test_contrast_against_worked_examples():
    # Black on white is 21 by definition; #767676 is the lightest grey that passes 4.5 on white (recalled).
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21)
    assert contrast("#767676", "#FFFFFF") == pytest.approx(4.54, abs=0.01)
    assert contrast("#777777", "#FFFFFF") < 4.5
    assert luminance("#808080") == pytest.approx(0.2159, abs=1e-4)
    assert lightness("#777777") == pytest.approx(50.03, abs=0.02)


@pytest.mark.parametrize("tokens", [DAY, NIGHT, PRINT])
@pytest.mark.parametrize("name", TEXT)
def test_text_reads_on_paper_and_on_fields(tokens, name):
    for ground in (tokens.paper, tokens.leaf, tokens.field):
        assert contrast(getattr(tokens, name), ground) >= 4.5


@pytest.mark.parametrize("tokens", [DAY, NIGHT, PRINT])
def test_borders_of_controls_can_be_seen(tokens):
    assert contrast(tokens.edge, tokens.paper) >= 3
    assert contrast(tokens.edge, tokens.field) >= 3


def test_colder_is_darker_below_zero_and_warmer_is_darker_above():
    below = [lightness(colour) for at, colour in TEMPERATURES if at <= 0]
    above = [lightness(colour) for at, colour in TEMPERATURES if at >= 0]
    assert all(cold < warm for cold, warm in pairwise(below))
    assert all(cold > warm for cold, warm in pairwise(above))


def test_neighbouring_desserts_differ_in_grey_and_in_texture():
    for (one, texture), (other, another) in pairwise(DESSERTS):
        assert abs(lightness(one) - lightness(other)) >= 19.5  # look: 20 L*, to the nearest
        assert texture != another
    assert len({texture for _, texture in DESSERTS}) == len(DESSERTS)


def test_on_paper_every_mark_is_ink():
    assert {PRINT.damson, PRINT.stop, PRINT.caution, PRINT.note} == {PRINT.ink}


def test_lines_on_a_piece_are_dark():
    assert lightness(ON_PIECE) < 20


def test_themes_by_name():
    assert tokens_of("night") is NIGHT
