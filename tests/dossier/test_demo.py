"""The three demonstration desserts end to end, held against what a working chef believes.

The ranges are common practice, no source: inside the first a chef nods, outside the second trust is gone.
"""

from __future__ import annotations

import json

import jsonschema
import pytest

from demoule.dossier import as_json, dossier, schema
from demoule.figures import Severity
from demoule.files import demo
from demoule.worked import work_up

BELIEVED = {
    # (key, place): (believable from, to, trust gone below, above); None: one side only
    "Apricot": {
        ("mass", "piece"): (62, 85, 45, 105),
        ("heart_share", "piece"): (20, 40, 5, 60),
        ("smallest_wall", "piece"): (3.5, 15, 1, None),
        ("energy", "piece"): (160, 290, None, 500),
        ("harden_piece_time", "piece"): (0.5, 2.5, 0.3, 6),
        ("ready_after", "piece"): (4, 10, 1.5, 24),
        ("material_cost", "piece"): (0.4, 1.2, 0.15, 3),
        ("hands_on", "piece"): (5, 14, 1.5, 25),
        ("fat", "whipped ganache"): (27, 35, 20, 42),
        ("sugars", "whipped ganache"): (13, 22, None, 35),
        ("density", "whipped ganache"): (0.55, 0.85, 0.4, 1.0),
        ("overrun", "whipped ganache"): (25, 85, None, 150),
        ("gelatine", "whipped ganache"): (0.4, 1.3, None, 2.5),
        ("gelatine_sheets", "whipped ganache"): (2, 6.5, None, 13),
        ("freezing_point", "whipped ganache"): (-4, -2, -8, -0.5),
        ("freezing_point", "heart"): (-6, -2, -10, -0.8),
        ("ice_at_minus_18", "heart"): (60, 85, 40, 97),
        ("water_activity", "heart"): (0.96, 0.985, 0.90, None),
        ("sugars", "heart"): (20, 45, 8, 65),
        ("agar", "apricot jelly"): (0.3, 1.2, None, 3),
        ("yield", "candied apricot"): (85, 105, 50, 140),
        ("thickness", "coating"): (0.4, 1.5, 0.2, 3),
        ("layer_mass", "coating"): (4, 14, 2, 25),
        ("fat", "coating"): (45, 68, 33, 90),
        ("thickness", "velvet"): (0.1, 0.4, None, 1),
        ("fat", "velvet"): (65, 80, 50, None),
        ("density", "heart"): (1.05, 1.20, 1.0, 1.35),
        ("density", "almond disc"): (0.35, 0.55, None, 1.0),
    },
    "Quince": {
        ("mass", "piece"): (85, 110, 60, 140),
        ("heart_share", "piece"): (20, 40, 5, 60),
        ("smallest_wall", "piece"): (4, 15, 1, None),
        ("harden_piece_time", "piece"): (0.6, 2.6, 0.3, 6),
        ("ready_after", "piece"): (5, 12, 2.5, 30),
        ("material_cost", "piece"): (0.4, 1.2, 0.15, 3),
        ("fat", "quince mousse"): (10, 18, None, 30),
        ("density", "quince mousse"): (0.60, 0.85, 0.45, 1.0),
        ("gelatine", "quince mousse"): (0.4, 1.3, None, 2.5),
        ("freezing_point", "ginger heart"): (-6, -2, -10, -0.8),
        ("sugars", "ginger heart"): (20, 45, 8, 65),
        ("pectin_lm", "ginger heart"): (0.6, 1.5, None, 4),
        ("fat", "velvet"): (65, 80, 50, None),
        ("thickness", "velvet"): (0.1, 0.4, None, 1),
    },
    "Chestnut": {
        ("mass", "piece"): (45, 65, 36, 90),
        ("heart_share", "piece"): (20, 40, 5, 60),
        ("smallest_wall", "piece"): (4, 15, 1, None),
        ("harden_heart_time", "piece"): (0.6, 1.5, None, 4),
        ("material_cost", "piece"): (0.4, 1.2, 0.15, 3),
        ("density", "chestnut mousse"): (0.60, 0.80, None, 1.0),
        ("freezing_point", "blackcurrant heart"): (-6, -2, -10, -0.8),
        ("water_activity", "blackcurrant heart"): (0.96, 0.985, 0.90, None),
        ("gelatine", "chestnut mousse"): (0.4, 1.3, None, 2.5),
        ("thickness", "coating"): (0.4, 1.5, 0.2, 3),
        ("layer_mass", "gloss"): (1, 4, None, 10),
    },
}


@pytest.fixture(scope="module")
def made():
    desserts, kitchen, _ = demo()
    return {dessert.name: dossier(work_up(dessert, kitchen)) for dessert in desserts}


@pytest.mark.parametrize("name", list(BELIEVED))
def test_no_figure_ends_a_chefs_trust_and_most_are_nodded_at(made, name):
    nodded = []
    for (key, of), (low, high, gone_low, gone_high) in BELIEVED[name].items():
        figure = made[name].figure(key, of)
        assert figure is not None, (key, of)
        assert figure.value is not None, (key, of)
        assert gone_low is None or figure.value > gone_low, (key, of, figure.value)
        assert gone_high is None or figure.value < gone_high, (key, of, figure.value)
        nodded.append((low - 1e-9 <= figure.value <= high + 1e-9, key, of, figure.value))
    doubted = [entry for entry in nodded if not entry[0]]
    assert len(doubted) <= 0.1 * len(nodded), doubted


@pytest.mark.parametrize("name", list(BELIEVED))
def test_energy_per_100_g_is_that_of_a_piece_with_cream(made, name):
    # Common practice: 900 to 1600 kJ/100 g.
    line = made[name].label.nutrition[0]
    assert line.unit == "kJ"
    assert line.per_100g is not None
    assert 900 < line.per_100g < 1600


@pytest.mark.parametrize("name", list(BELIEVED))
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


def test_labour_weighs_more_than_material(made):
    # Common practice: labour is half to three quarters of the cost and more in small batches.
    for name in BELIEVED:
        cost = made[name].cost
        assert cost.labour.value is not None
        assert cost.total.value is not None
        assert 0.4 < cost.labour.value / cost.total.value < 0.9


def test_a_spirit_is_told_and_a_vanilla_sliver_taken_off(made):
    assert any(finding.rule == "alcohol" for finding in made["Chestnut"].findings)
    assert any("vanilla" in text for text in made["Apricot"].label.cautions)
