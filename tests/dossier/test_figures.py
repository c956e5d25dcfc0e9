from __future__ import annotations

import numpy as np
import pytest

from demoule.dossier import dossier
from demoule.dossier.cost import cost_of
from demoule.dossier.figures import all_figures, ice_volume_of, serving_temperature
from demoule.dossier.mixture_figures import leaf_of
from demoule.dossier.view import View, joined
from demoule.units import kelvin, shown


@pytest.fixture(scope="module")
def figures(small):
    view = View(small, "EU")
    return {(named.key, named.of): named.figure for named in all_figures(view, cost_of(small))}


def test_keys_and_places_are_told_apart(small):
    view = View(small, "EU")
    named = [(n.key, n.of) for n in all_figures(view, cost_of(small))]
    assert len(named) == len(set(named))


def test_every_figure_has_a_known_unit_a_basis_and_a_band_round_its_value(small):
    for named in all_figures(View(small, "EU"), cost_of(small)):
        figure = named.figure
        assert figure.basis, named
        assert shown(figure.value, figure.unit, figure.low, figure.high)
        if figure.value is not None and figure.low is not None and figure.high is not None:
            assert figure.low <= figure.value + 1e-9, named
            assert figure.value <= figure.high + 1e-9, named


def test_the_figures_a_cover_needs_are_there(figures):
    for key in ("mass", "height", "diameter", "smallest_wall", "energy", "cost", "price", "hands_on"):
        assert figures[key, "piece"].value is not None
    for key in ("harden_heart_time", "harden_piece_time", "ready_after"):
        assert figures[key, "piece"].value > 0
    for component in ("heart", "ganache"):
        for key in ("water", "sugars", "freezing_point", "water_activity", "ice_at_minus_18", "softness", "layer_mass"):
            assert figures[key, component].value is not None
    assert figures["thickness", "velvet"].value > 0


def test_masses_and_shares_are_those_of_the_stages(small, figures):
    assert figures["mass", "piece"].value == pytest.approx(1000 * small.piece.mass)
    assert figures["fat", "ganache"].value == pytest.approx(100 * small.cooked["ganache"].composition.fat)
    whole = small.piece.composition
    assert figures["water", "piece"].value == pytest.approx(100 * whole.water)
    layers = sum(figures["layer_mass", layer.component].value for layer in small.piece.layers)
    assert layers == pytest.approx(figures["mass", "piece"].value)


def test_cream_and_fruit_begin_to_freeze_where_the_trade_says(figures):
    # Common practice: ganache −2 to −4 °C, hearts −2 to −6 °C; share of ice at −18 °C 60 to 90 % of the water.
    assert -4 < figures["freezing_point", "ganache"].value < -1.5
    assert -6 < figures["freezing_point", "heart"].value < -1.5
    assert 60 < figures["ice_at_minus_18", "heart"].value < 92
    assert figures["ice_at_serving", "heart"].value == 0


def test_overrun_follows_from_the_two_densities(figures, small):
    made = small.cooked["ganache"]
    assert figures["overrun", "ganache"].value == pytest.approx(100 * (made.mix_density / made.density - 1))
    assert figures["overrun", "ganache"].value == pytest.approx(60, abs=8)


def test_gelatine_is_counted_in_leaves_of_its_strength(figures, small):
    # gelatine-leaf-table: gold, about 200 Bloom, 2.0 g a leaf.
    grams = 1000 * 7 / 1002  # losses to vessels take mix, not gelatine alone
    assert figures["gelatine", "ganache"].value == pytest.approx(grams / 10, rel=0.02)
    assert figures["gelatine_sheets", "ganache"].value == pytest.approx(grams / 2.0, rel=0.02)
    assert leaf_of(small.larder.find("gelatine 200 bloom"))[0] == pytest.approx(0.002, rel=0.01)


def test_a_skin_is_eaten_at_its_surface_and_a_heart_at_the_core(small):
    view = View(small, "EU")
    assert serving_temperature(view, "heart") == pytest.approx(kelvin(0.5))
    assert serving_temperature(view, "spray") >= serving_temperature(view, "body") - 1e-9


def test_untold_parts_widen_the_band(bench, small):
    plain = View(small, "EU").part("heart")
    low, middle, high = ice_volume_of(plain, kelvin(-6))
    assert low <= middle <= high
    fuzzy = View(bench.changed(small, bench.heart(("honey", 300), ("water", 690), ("agar", 6))), "EU").part("heart")
    assert ice_volume_of(fuzzy, kelvin(-6))[2] >= ice_volume_of(fuzzy, kelvin(-6))[0]


def test_records_are_joined_with_time_always_rising():
    times, temperatures = joined(
        [
            (np.array([0.0, 10.0, 10.0]), np.array([300.0, 290.0, 280.0])),
            (np.array([0.0, 5.0]), np.array([280.0, 270.0])),
            (np.array([]), np.array([])),
        ]
    )
    assert (np.diff(times) > 0).all()
    assert temperatures.tolist() == [300, 290, 280, 280, 270]
    assert times[-1] == pytest.approx(10 + 1 + 1 + 5, abs=1.01)


def test_sources_are_listed_once_with_what_they_are_used_for(small):
    made = dossier(small)
    keys = [source.key for source in made.sources]
    assert keys == sorted(set(keys))
    by_key = {source.key: source for source in made.sources}
    assert "eu-1169-2011" in by_key
    assert by_key["usda-sr28"].used_for == ("ingredients",)
    assert all(source.title and source.used_for for source in made.sources)
    assert all(source.title != source.key for source in made.sources)


def test_assumptions_say_what_was_taken(small):
    text = " ".join(dossier(small).assumptions)
    assert "24 h" in text
    assert "traces" in text


def test_a_figure_is_found_by_key_and_place(small):
    made = dossier(small)
    assert made.figure("fat", "ganache") is not None
    assert made.figure("fat", "nowhere") is None


def test_the_same_dessert_gives_the_same_dossier(small):
    assert dossier(small).figures == dossier(small).figures
    assert dossier(small).findings == dossier(small).findings
