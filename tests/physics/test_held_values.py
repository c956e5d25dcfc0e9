"""Values of the models as they stood when last checked, so that a slip of one constant is seen.

No outside authority stands behind these numbers: the other tests hold the models against tables and laws, and are
blind to a constant that no published point reaches (a solute of which only the molar mass is sure, a rare polyol).
Whoever changes such a constant on purpose writes the new value here, and says why.
"""

from __future__ import annotations

import json
from importlib import import_module
from pathlib import Path

import pytest

from demoule.composition import Composition, Constituent

HELD = json.loads(Path(__file__).with_name("held_values.json").read_text(encoding="utf-8"))


@pytest.mark.parametrize("held", HELD, ids=lambda h: f"{h['model']} of {' '.join(h['grams'])} {h['rest']}")
def test_a_value_stands_as_it_was_checked(held):
    function = getattr(import_module("demoule.physics"), held["model"])
    x = Composition.of({Constituent[name]: mass for name, mass in held["grams"].items()}).vector
    assert float(function(x, *held["rest"])) == pytest.approx(held["value"], rel=1e-7)
