"""What varies is read as it is written; variants are kept line by line, and a torn line costs itself alone."""

from __future__ import annotations

import math

import pytest

from demoule.cold.sensitivity import Outcome
from demoule.errors import BadInput
from demoule.files.factors import Keeper, factor_of, kept_in


@pytest.mark.parametrize(
    ("text", "kind", "of", "low", "high"),
    [
        ("heart size 80–120 %", "heart size", "", 0.8, 1.2),
        ("sugar in jelly 90 to 110 %", "sugar", "jelly", 0.9, 1.1),
        ("air of blast freezer -40 to -28 °C", "air", "blast freezer", 233.15, 245.15),
        ("surface store freezer 6–14 W/m²K", "surface", "store freezer", 6.0, 14.0),
        ("wall 1.5–4 mm", "wall", "", 0.0015, 0.004),
        ("weight mousse: cream 35 % 90–110 %", "weight", "mousse: cream 35 %", 0.9, 1.1),
        ("fill 39 to 68 °F", "fill", "", 277.039, 293.15),
    ],
)
def test_a_factor_is_read_as_it_is_written(text, kind, of, low, high):
    factor = factor_of(text)
    assert (factor.kind, factor.of) == (kind, of)
    assert (factor.low, factor.high) == pytest.approx((low, high), abs=1e-3)


@pytest.mark.parametrize("text", ["", "heart", "hart size 80–120 %", "heart size 80 %", "air 3–4 kg", "sugar much"])
def test_what_is_no_factor_is_refused_with_an_example(text):
    with pytest.raises(BadInput) as caught:
        factor_of(text)
    assert "example" in caught.value.remedy


def test_kept_variants_come_back_and_a_torn_line_is_passed_over(tmp_path):
    file = tmp_path / "kept.jsonl"
    one = Outcome(key="a", values=(1.0, 2.5), answers={"thaw": 3.0, "window": None})
    two = Outcome(key="b", values=(float("nan"), 1.0), answers={}, why="it does not fit")
    keeper = Keeper(file)
    keeper(one)
    keeper.close()
    file.write_text(file.read_text() + '{"key": "torn", "val')
    keeper = Keeper(file)
    keeper(two)
    keeper.close()
    found = kept_in(file)
    assert found["a"] == one
    assert found["b"].why == two.why
    assert math.isnan(found["b"].values[0])
    assert set(found) == {"a", "b"}
    assert kept_in(tmp_path / "none.jsonl") == {}
