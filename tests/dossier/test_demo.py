"""The three demonstration desserts end to end: schema, findings, allergens, cost and cautions."""

from __future__ import annotations

import json

import jsonschema
import pytest

from demoule.dossier import as_json, dossier, schema
from demoule.figures import Severity
from demoule.files import demo
from demoule.worked import work_up

BELIEVED = ("Apricot", "Quince", "Chestnut")


@pytest.fixture(scope="module")
def made():
    desserts, kitchen, _ = demo()
    return {dessert.name: dossier(work_up(dessert, kitchen)) for dessert in desserts}


@pytest.mark.parametrize("name", BELIEVED)
def test_each_keeps_to_the_schema_and_has_no_stop(made, name):
    plain = json.loads(json.dumps(as_json(made[name]), allow_nan=False))
    jsonschema.Draft202012Validator(schema()).validate(plain)
    assert all(finding.severity is not Severity.STOP for finding in made[name].findings)


def test_the_apricot_heart_leaves_too_thin_a_wall_and_a_thinner_disc_mends_it(made):
    # Worked out by hand for this demonstration: 3.6 mm at best with a disc of 4.5 mm, about 4.1 mm with one of 3.5 mm.
    wall = made["Apricot"].figure("smallest_wall")
    assert wall is not None
    assert wall.value == pytest.approx(3.6, abs=0.1)
    assert any("disc of 3.5 mm" in finding.remedy for finding in made["Apricot"].findings)


def test_allergens_of_the_three_are_those_of_their_ingredients(made):
    assert set(made["Apricot"].label.contains) == {
        "eggs",
        "gluten cereals (wheat)",
        "milk",
        "nuts (almond)",
        "soybeans",
    }
    assert "nuts (hazelnut)" in made["Chestnut"].label.contains
    assert "nuts (almond)" in made["Quince"].label.contains


def test_every_price_is_known_in_the_demonstration(made):
    for name in BELIEVED:
        assert made[name].cost.unpriced == ()
        assert made[name].cost.total.value is not None


def test_a_spirit_is_told_and_a_vanilla_sliver_taken_off(made):
    assert any(finding.rule == "alcohol" for finding in made["Chestnut"].findings)
    assert any("vanilla" in text for text in made["Apricot"].label.cautions)
