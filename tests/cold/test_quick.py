from __future__ import annotations

import numpy as np
import pytest

from demoule.cold import Room, conduction, cool_pan, time_to_core
from demoule.composition import Composition, Constituent
from demoule.errors import BadInput
from demoule.physics import thermal_table
from demoule.physics.thermal import ThermalTable

C = Constituent
JELLY = thermal_table(Composition.of({C.WATER: 70, C.SUCROSE: 30}).vector, 1130.0)
WATERY = thermal_table(Composition.of({C.WATER: 95, C.SUCROSE: 5}).vector, 1015.0)


def plain(k=0.5, rho=1000.0, cp=3500.0):
    t = np.array([200.0, 400.0])
    return ThermalTable(
        temperature=t,
        enthalpy=rho * cp * (t - 273.15),
        conductivity=np.full(2, k),
        ice_share=np.zeros(2),
        ice_fraction=np.zeros(2),
        density=rho,
        freezing_point=200.0,
    )


@pytest.mark.parametrize(
    ("shape", "height"), [("slab", None), ("cylinder", None), ("sphere", None), ("cylinder", 0.03)]
)
def test_without_freezing_the_solver_and_the_series_agree(shape, height):
    # 0.1 % of the difference between start and room (law: the series is exact).
    found = time_to_core(shape, 0.05, table=plain(), start=300.0, air=260.0, h=30.0, until=275.0, height=height)
    there = conduction(
        shape, 0.05, h=30.0, k=0.5, rho=1000.0, cp=3500.0, start=300.0, air=260.0, duration=found.time, height=height
    )
    assert there.centre == pytest.approx(275.0, abs=0.04)
    assert found.imbalance < 1e-9


def test_the_band_holds_the_time_and_names_its_weakest_input():
    found = time_to_core("sphere", 0.05, table=JELLY, start=288.15, air=238.15, h=25.0, until=255.15)
    assert found.low < found.time < found.high
    assert "surface coefficient" in found.weakest
    thick = time_to_core("slab", 0.2, table=JELLY, start=288.15, air=238.15, h=500.0, until=255.15, name="jelly")
    assert thick.weakest == "the conductivity of jelly"


@pytest.mark.parametrize("shape", ["slab", "cylinder", "sphere"])
def test_freezing_and_thawing_are_reached_and_balance(shape):
    freeze = time_to_core(shape, 0.04, table=JELLY, start=288.15, air=238.15, h=20.0, until=255.15)
    thaw = time_to_core(shape, 0.04, table=JELLY, start=255.15, air=277.15, h=10.0, until=273.15)
    assert 0 < freeze.time < thaw.time
    assert freeze.heat < 0 < thaw.heat
    assert max(freeze.imbalance, thaw.imbalance) < 1e-9
    assert freeze.curve.body_ice[-1] > 0.4


def test_a_slab_takes_longest_and_a_sphere_least():
    times = [
        time_to_core(shape, 0.04, table=WATERY, start=288.15, air=248.15, h=20.0, until=258.15).time
        for shape in ("slab", "cylinder", "sphere")
    ]
    assert times[0] > times[1] > times[2]


def test_a_room_that_never_gets_there_says_why():
    found = time_to_core("sphere", 0.05, table=JELLY, start=288.15, air=260.15, h=20.0, until=255.15)
    assert found.time is None
    assert "never" in found.why_not


@pytest.mark.parametrize(
    "wrong",
    [
        {"shape": "cube"},
        {"size": 0.0},
        {"size": -0.05},
        {"size": 30.0},
        {"h": 0.0},
        {"start": -5.0},
        {"air": 0.0},
        {"until": -18.0},
        {"height": 0.03},  # of a sphere
        {"shape": "cylinder", "height": -0.01},
    ],
)
def test_what_cannot_be_is_refused(wrong):
    given = {"shape": "sphere", "size": 0.05, "start": 288.15, "air": 238.15, "h": 20.0, "until": 255.15} | wrong
    shape, size = given.pop("shape"), given.pop("size")
    with pytest.raises(BadInput):
        time_to_core(shape, size, table=JELLY, **given)


def test_a_shallow_pan_cools_much_faster_than_a_deep_one():
    fridge = Room(name="fridge", air=276.15, surface=10.0)

    def hours(depth, covered=True):
        return cool_pan(table=JELLY, depth=depth, start=358.15, until=278.15, room=fridge, covered=covered).time / 3600

    assert hours(0.02) < hours(0.04) < hours(0.1)
    assert hours(0.04, covered=False) < hours(0.04)
    # 40 mm of jelly from 85 °C in a refrigerator: the better part of a day (common practice: overnight).
    assert 4 < hours(0.04) < 24


def test_a_pan_is_cooled_by_a_blast_chiller_within_the_hours_of_the_rules():
    # 40 mm, 70 → 3 °C in 90 minutes is what blast chillers are built to (common practice).
    blast = Room(name="blast", air=258.15, surface=40.0)
    found = cool_pan(table=JELLY, depth=0.04, start=343.15, until=276.15, room=blast, covered=False)
    assert 0.8 < found.time / 3600 < 2.5
    assert found.curve.core[0] == pytest.approx(343.15, abs=0.1)
    assert found.imbalance < 1e-9
    assert any("evaporation" in words for words in found.assumed)


def test_a_pan_of_no_depth_is_refused():
    with pytest.raises(BadInput):
        cool_pan(table=JELLY, depth=0.0, start=343.15, until=276.15, room=Room(name="fridge", air=275.15))


def test_a_learned_room_narrows_the_band_of_a_pan():
    def spread(learned):
        room = Room(name="fridge", air=276.15, surface=10.0, learned=learned)
        found = cool_pan(table=JELLY, depth=0.04, start=343.15, until=283.15, room=room)
        return found.high - found.low

    assert spread("2 May") < spread("")
