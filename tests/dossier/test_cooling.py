from __future__ import annotations

import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from demoule.dossier.cooling import RULES, cooling_verdict, cooling_verdicts
from demoule.dossier.published import rows
from demoule.dossier.verdict import Verdict
from demoule.errors import BadInput
from demoule.units import kelvin

BY_KEY = {rule.key: rule for rule in RULES}


def record(text: str) -> tuple[list[float], list[float]]:
    pairs = [pair.split(":") for pair in text.split(";")]
    return [60 * float(m) for m, _ in pairs], [kelvin(float(c)) for _, c in pairs]


@pytest.mark.parametrize("row", rows("cooling_records"), ids=lambda r: f"{r['id']} {r['rule']}")
def test_records_are_judged_as_the_rules_say(row):
    # Sources: fda-food-code 3-501.14(A); fr-order-2013 Annex II point 1; minutes worked out by hand on straight lines.
    judged = cooling_verdict(BY_KEY[row["rule"]], *record(row["record"]))
    assert judged.verdict == row["value"]
    minutes = [float(m) for m in re.findall(r"(?:in|takes) ([\d.]+) min", row["why"])]
    told = [clock / 60 for clock in judged.clocks if clock is not None]
    for minute in minutes:
        assert any(minute == pytest.approx(clock, abs=0.05) for clock in told)


def test_a_tray_can_pass_one_rule_and_fail_the_other():
    judged = cooling_verdicts(*record("0:85; 20:57; 60:40; 100:28; 140:21; 220:13; 300:7; 379:5"))
    assert [entry.verdict for entry in judged] == [Verdict.PASS, Verdict.FAIL]


@pytest.mark.parametrize(
    ("rule", "text", "verdict"),
    [
        ("US", "0:57; 119:21; 358:5", Verdict.PASS),
        ("US", "0:57; 122:21; 300:5", Verdict.FAIL),
        ("US", "0:57; 60:21; 363:5", Verdict.FAIL),
        ("FR", "0:63; 119:10", Verdict.PASS),
        ("FR", "0:63; 122:10", Verdict.FAIL),
    ],
)
def test_the_clocks_stop_at_two_and_at_six_hours(rule, text, verdict):
    # fda-food-code 3-501.14(A): 2 h and 6 h; fr-order-2013: 2 h.
    assert cooling_verdict(BY_KEY[rule], *record(text)).verdict == verdict


def test_a_probe_outside_the_core_shows_nothing():
    judged = cooling_verdicts(*record("0:60; 8:40; 16:21; 25:10; 35:5"), place="surface")
    assert {entry.verdict for entry in judged} == {Verdict.NOT_SHOWN}


def test_food_that_stays_hot_has_not_been_cooled():
    assert cooling_verdict(BY_KEY["US"], *record("0:85; 60:70")).verdict == Verdict.NOT_SHOWN


def test_each_round_counts_when_food_is_warmed_up_again():
    slow_first = "0:80; 10:50; 300:30; 310:80; 320:40; 330:15; 340:3"
    assert cooling_verdict(BY_KEY["US"], *record(slow_first)).verdict == Verdict.FAIL
    quick_both = "0:80; 10:50; 30:30; 40:80; 50:40; 60:15; 70:3"
    assert cooling_verdict(BY_KEY["US"], *record(quick_both)).verdict == Verdict.PASS


@given(st.floats(5, 300), st.floats(1.1, 3))
def test_slower_cooling_never_turns_a_fail_into_a_pass(minutes, stretch):
    times = np.array([0.0, 0.4, 1.0]) * minutes * 60
    temperatures = [kelvin(80), kelvin(25), kelvin(2)]
    order = [Verdict.FAIL, Verdict.NOT_SHOWN, Verdict.PASS]
    for rule in RULES:
        quick = cooling_verdict(rule, times, temperatures).verdict
        slow = cooling_verdict(rule, times * stretch, temperatures).verdict
        assert order.index(slow) <= order.index(quick)


@pytest.mark.parametrize(
    ("times", "temperatures"),
    [([0], [350]), ([0, 0], [350, 280]), ([0, 60], [350, float("nan")]), ([60, 0], [350, 280])],
)
def test_records_out_of_order_are_refused(times, temperatures):
    with pytest.raises(BadInput):
        cooling_verdicts(times, temperatures)
