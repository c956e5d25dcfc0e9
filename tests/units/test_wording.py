"""Quantities in a sentence are converted by exact factors (NIST Handbook 44), and nothing else of it is touched."""

import pytest

from demoule.units.wording import sentence_in


@pytest.mark.parametrize(
    ("metric", "us"),
    [
        ("Cool from 63 to 10 °C.", "Cool from 145 to 50 °F."),
        ("A core of −18 °C.", "A core of 0 °F."),
        ("It leaves 3.6 mm.", "It leaves 0.14 in."),
        ("Spread the 690 g no deeper than 20 mm.", "Spread the 24 oz no deeper than 0.79 in."),
        ("A mould of 147.8 ml.", "A mould of 5 fl oz."),
        ("0.05 l are whipped.", "0.053 quarts are whipped."),
        ("1.35 kg of mix.", "3 lb of mix."),
    ],
)
def test_quantities_are_turned(metric, us):
    assert sentence_in("us", metric) == us
    assert sentence_in("metric", metric) == metric


@pytest.mark.parametrize(
    "kept",
    [
        "“half sphere 15 ml” stays a name.",
        "0.60 g/ml, 150 mg/kg and 18 W/m²K are not kitchen units.",
        "5 g/m² of frost, 2 % of the water, pH 3.1, 12 h, GN 1/1.",
        "Regulation (EU) 2022/63 of 2022.",
    ],
)
def test_what_is_no_quantity_of_a_kitchen_stays(kept):
    assert sentence_in("us", kept) == kept
