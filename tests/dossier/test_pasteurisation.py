from __future__ import annotations

import pytest

from demoule.dossier.pasteurisation import heat_steps, pasteurised
from demoule.dossier.published import rows
from demoule.dossier.verdict import Verdict
from demoule.errors import BadInput, UnknownName
from demoule.units import kelvin


@pytest.mark.parametrize("row", rows("pasteurisation_cases"), ids=lambda r: r["id"])
def test_treatments_are_judged_by_the_steps(row):
    # Steps from the laws named in published/pasteurisation.csv; applied by hand.
    judged = pasteurised(row["jurisdiction"], row["product"], kelvin(float(row["temperature_c"])), float(row["hold_s"]))
    assert judged.verdict == row["value"]


@pytest.mark.parametrize("step", heat_steps(), ids=lambda s: f"{s.jurisdiction} {s.product} {s.temperature:.2f}")
def test_every_listed_pair_passes_and_a_little_less_of_both_does_not(step):
    assert pasteurised(step.jurisdiction, step.product, step.temperature, step.hold).verdict == Verdict.PASS
    coldest = min(
        s.temperature for s in heat_steps() if (s.jurisdiction, s.product) == (step.jurisdiction, step.product)
    )
    assert pasteurised(step.jurisdiction, step.product, coldest - 0.5, step.hold).verdict != Verdict.PASS


def test_nothing_is_read_off_a_line_between_steps():
    # 82 °C for 20 s lies between 80 °C/25 s and 83 °C/15 s: an equivalence calculation is not ours to make.
    assert pasteurised("US", "frozen dessert mix, eggnog", kelvin(82), 20).verdict == Verdict.NOT_SHOWN
    assert pasteurised("US", "frozen dessert mix, eggnog", kelvin(60), 20).verdict == Verdict.FAIL


def test_what_lies_outside_the_listed_pairs_fails():
    # Hotter than the only pair of whole egg (60 °C, 210 s) but shorter; cooler than the coldest of milk but longer.
    assert pasteurised("US", "whole egg", kelvin(61), 180).verdict == Verdict.FAIL
    assert pasteurised("US", "milk, below 10 % fat, no sweetener", kelvin(62), 3600).verdict == Verdict.FAIL
    assert pasteurised("US", "frozen dessert mix, eggnog", kelvin(95), 3).verdict == Verdict.FAIL


def test_a_product_without_a_table_is_answered_with_the_nearest():
    with pytest.raises(UnknownName, match="plain yolk"):
        pasteurised("US", "plain yolks", kelvin(61), 300)
    with pytest.raises(BadInput):
        pasteurised("US", "plain yolk", kelvin(61), -1)
