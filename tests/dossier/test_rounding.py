from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from demoule.dossier.published import rows
from demoule.dossier.rounding import printed_daily_value, printed_eu, printed_us, to_step
from demoule.errors import BadInput

KEYS = {
    "EU": {
        "energy kJ": "energy_kj",
        "energy kcal": "energy_kcal",
        "fat": "fat",
        "saturates": "saturates",
        "sugars": "sugars",
        "salt": "salt",
        "protein": "protein",
    },
    "US": {
        "calories": "calories",
        "total fat": "total_fat",
        "saturated fat": "saturated_fat",
        "cholesterol": "cholesterol",
        "sodium": "sodium",
        "total carbohydrate": "total_carbohydrate",
        "total sugars": "total_sugars",
    },
}


@pytest.mark.parametrize("row", rows("rounding_cases"), ids=lambda r: f"{r['id']} {r['nutrient']} {r['amount']}")
def test_amounts_are_printed_as_the_rules_say(row):
    # Sources: ec-tolerances-2012 (table on rounding), fda-labeling-guide (Appendix H). No tie values among them.
    printer = {"EU": printed_eu, "US": printed_us}[row["market"]]
    printed = printer(KEYS[row["market"]][row["nutrient"]], float(row["amount"]))
    allowed = row["value"].split(" or ")
    assert printed in allowed or (printed.replace(".", "").isdigit() and Decimal(printed) == Decimal(allowed[0]))


def test_digits_are_kept_where_the_rule_asks_for_them():
    # ec-tolerances-2012: salt below 1 g to 0.01 g, from 1 g to 0.1 g; fat below 10 g to 0.1 g.
    assert printed_eu("salt", 0.996) == "1.00"
    assert printed_eu("salt", 2.04) == "2.0"
    assert printed_eu("fat", 9.96) == "10.0"
    assert printed_eu("fat", 10.0) == "10"


def test_ties_go_up_whatever_the_binary_form():
    # Our decision: neither text says. 0.285 and 2.675 lie below their decimal form in binary.
    assert to_step(0.285, "0.01") == Decimal("0.29")
    assert printed_eu("salt", 0.285) == "0.29"
    assert printed_us("calories", 47.5) == "50"
    assert printed_us("sodium", 145) == "150"
    assert printed_eu("protein", 0.55) == "0.6"


def test_nothing_and_almost_nothing_are_told_apart():
    assert printed_eu("fat", 0.0) == "0"
    assert printed_eu("fat", 0.3) == "<0.5"
    assert printed_eu("saturates", 0.1) == "<0.1"
    assert printed_eu("salt", 0.0125) == "<0.01"


def test_daily_values_are_rounded_finer_where_they_are_small():
    # us-21cfr101-9 (c)(8)(iii), recalled: 2 % steps up to 10 %, 5 % up to 50 %, 10 % above; macronutrients to 1 %.
    assert [printed_daily_value(s, mineral=True) for s in (0.01, 0.031, 0.09, 0.13, 0.49, 0.57)] == [
        "0",
        "4",
        "10",
        "15",
        "50",
        "60",
    ]
    assert printed_daily_value(0.124) == "12"


@given(st.floats(0.6, 900), st.sampled_from(["fat", "sugars", "protein", "carbohydrate"]))
def test_printed_grams_stay_within_half_a_step(amount, key):
    step = 1 if amount >= 10 else 0.1
    assert abs(float(printed_eu(key, amount)) - amount) <= step / 2 + 1e-9


@given(st.floats(0, 900), st.floats(0, 900))
def test_more_is_never_printed_as_less(a, b):
    low, high = sorted((a, b))
    assert float(printed_us("calories", low)) <= float(printed_us("calories", high))
    assert float(printed_us("total_fat", low)) <= float(printed_us("total_fat", high))


def test_a_negative_amount_is_refused():
    with pytest.raises(BadInput, match="label"):
        printed_eu("fat", -0.1)
