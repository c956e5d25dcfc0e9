from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from demoule.cold.softness import CLASSES, ice_volume, softness
from demoule.composition import Composition, Constituent
from demoule.errors import BadInput
from demoule.physics import thermal_table

WORDS = [word for word, _, _ in CLASSES]


def gel(solids: float, air: float = 0.0):
    mix = Composition.of({Constituent.WATER: 1 - solids, Constituent.SUCROSE: solids})
    return thermal_table(mix.vector, 1130.0, air)


# Borders and words are our own judgement; these are the marks they are set to (judged).
@pytest.mark.parametrize(
    ("share", "word", "neighbour"),
    [
        (0.0, "thawed", "spoon-soft"),
        (0.01, "thawed", "spoon-soft"),
        (0.06, "spoon-soft", "thawed"),
        (0.10, "spoon-soft", "sliceable"),
        (0.13, "sliceable", "spoon-soft"),
        (0.20, "sliceable", ""),
        (0.29, "sliceable", "firm"),
        (0.375, "firm", ""),
        (0.44, "firm", "hard"),
        (0.47, "hard", "firm"),
        (0.60, "hard", ""),
    ],
)
def test_the_class_follows_the_ice_with_its_neighbour_near_a_border(share, word, neighbour):
    found = softness(share)
    assert found.word == word
    assert found.neighbour == neighbour
    assert str(found) == (f"{word}, perhaps {neighbour}" if neighbour else word)


@pytest.mark.parametrize(
    ("border", "softer", "harder"),
    [
        (0.02, "thawed", "spoon-soft"),
        (0.12, "spoon-soft", "sliceable"),
        (0.30, "sliceable", "firm"),
        (0.45, "firm", "hard"),
    ],
)
def test_the_borders_are_where_they_were_judged(border, softer, harder):
    assert softness(0.99 * border).word == softer
    assert softness(1.01 * border).word == harder


@given(st.floats(0, 1), st.floats(0, 1))
def test_more_ice_is_never_softer(one, other):
    low, high = sorted((one, other))
    assert WORDS.index(softness(low).word) <= WORDS.index(softness(high).word)


@pytest.mark.parametrize("share", [-0.1, 1.2, float("nan")])
def test_an_impossible_share_is_refused(share):
    with pytest.raises(BadInput):
        softness(share)


@given(st.floats(0.15, 0.5), st.floats(250.0, 270.0), st.floats(0.5, 10.0))
def test_more_sugar_and_warmth_and_air_leave_less_ice(solids, temperature, warmer):
    here = ice_volume(gel(solids), temperature)
    assert ice_volume(gel(solids + 0.05), temperature) <= here + 1e-9
    assert ice_volume(gel(solids), temperature + warmer) <= here + 1e-9
    assert ice_volume(gel(solids, air=0.4), temperature) == pytest.approx(0.6 * here, rel=1e-6)


@pytest.mark.parametrize(("solids", "share"), [(0.25, 0.52), (0.32, 0.37), (0.40, 0.17), (0.48, 0.0)])
def test_gels_of_sucrose_at_minus_six(solids, share):
    # Prototype values with a band of 0.04, computed apart from this program (judged).
    assert ice_volume(gel(solids), 267.15) == pytest.approx(share, abs=0.06)


def test_an_ice_cream_is_firm_to_sliceable_in_its_scooping_range():
    # A standard mix, half air, scooped between −16 and −14 °C holds about 0.30 of ice by volume (judged from the mix).
    mix = Composition.of(
        {
            Constituent.WATER: 0.62,
            Constituent.SUCROSE: 0.14,
            Constituent.LACTOSE: 0.055,
            Constituent.MILK_FAT: 0.11,
            Constituent.PROTEIN: 0.04,
            Constituent.GLUCOSE: 0.02,
            Constituent.ASH: 0.015,
        }
    )
    share = ice_volume(thermal_table(mix.vector, 1100.0, 0.47), 258.15)
    assert share == pytest.approx(0.30, abs=0.06)
