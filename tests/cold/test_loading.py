"""A freezer with many warm moulds in it, and a freezer whose door is opened."""

from __future__ import annotations

import itertools
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from demoule.cold import Programme, Room, Stage, Until, run_programme
from demoule.cold.airing import DOOR, DOOR_TIME, air_over_time
from demoule.cold.loading import Machine, machine_of
from demoule.errors import BadInput
from demoule.physics.heat import enthalpy

HARDEN = Stage(what="harden piece", until=Until(place="core", temperature=255.15))
SMALL = Room(name="blast", air=237.15, surface=18.0, capacity=500.0)


@pytest.fixture(scope="module")
def frozen(piece, cooked):
    """The hardening stage with so many pieces in a room, without bands."""
    kept = {}

    def of(pieces, room=SMALL, owned=40, **change):
        key = (pieces, room, owned, tuple(change.items()))
        if key not in kept:
            many = replace(piece, mould=replace(piece.mould, owned=owned))
            stage = replace(HARDEN, own_room=room, **change)
            programme = Programme(stages=(stage,), grid=0.002)
            kept[key] = run_programme(many, cooked, programme, (), pieces=pieces, bands=False).stages[0]
        return kept[key]

    return of


def test_four_full_trays_take_longer_than_one_and_one_longer_than_a_piece_alone(frozen):
    one, four = frozen(12).loaded, frozen(48).loaded
    assert (one.trays, four.trays) == (1, 4)
    assert frozen(12).time < one.time < four.time
    assert four.time > 1.02 * one.time
    assert SMALL.air < one.warmest < four.warmest


def test_one_piece_more_than_a_tray_takes_a_second_tray_and_no_more_than_there_are(frozen):
    assert frozen(13).loaded.trays == 2
    assert frozen(480, owned=5).loaded.trays == 5
    assert frozen(480, owned=5).loaded.pieces == 60


@pytest.mark.parametrize("pieces", [12, 48, 480])
def test_heat_of_the_pieces_is_what_machine_and_room_took(frozen, pieces):
    full = frozen(pieces).loaded
    assert full.imbalance < 2e-3
    # What the pieces gave off follows from the enthalpies of their layers, the mould's wall on top.
    assert full.heat > 0


def test_what_a_load_gives_off_is_its_change_of_enthalpy(frozen, piece):
    full = frozen(12).loaded
    run = frozen(12)
    parts = {"heart": 253.15, "body": 277.15, "base": 295.15}
    before = sum(
        one.mass * float(enthalpy(one.composition.vector, parts[one.role])) for one in piece.layers if one.role in parts
    )
    after = sum(
        one.mass * float(enthalpy(one.composition.vector, run.ended[1])) for one in piece.layers if one.role in parts
    )
    # The mould gives some more: 2.5 mm of silicone on 90 cm2 from 4 to -25 °C, about a kilojoule.
    assert full.heat / full.pieces == pytest.approx(before - after, rel=0.25)


@settings(max_examples=8, deadline=None)
@given(st.lists(st.integers(1, 40), min_size=2, max_size=3, unique=True), st.sampled_from([150.0, 500.0, 2000.0]))
def test_more_trays_are_never_faster(frozen, trays, capacity):
    times = [frozen(12 * n, replace(SMALL, capacity=capacity)).loaded.time for n in sorted(trays)]
    assert all(b >= a * (1 - 2e-3) for a, b in itertools.pairwise(times))


@settings(max_examples=6, deadline=None)
@given(st.lists(st.sampled_from([0.0, 1.0, 3.0, 6.0, 12.0]), min_size=2, max_size=3, unique=True))
def test_more_openings_are_never_faster(frozen, per_hour):
    times = [frozen(None, replace(SMALL, opened=n / 3600)).time for n in sorted(per_hour)]
    assert all(b >= a * (1 - 2e-3) for a, b in itertools.pairwise(times))


def test_a_door_opened_during_the_stage_costs_time(frozen):
    assert frozen(None, openings=3).time > 1.01 * frozen(None).time


def test_a_stronger_machine_is_never_slower(frozen):
    times = [frozen(480, replace(SMALL, capacity=watts)).loaded.time for watts in (300.0, 1000.0, 3000.0, 30000.0)]
    assert times == sorted(times, reverse=True)
    # With a machine far too strong to be felt every piece is as good as alone.
    assert times[-1] == pytest.approx(frozen(480).time, rel=0.02)


def test_a_freezer_of_which_nothing_is_told_gives_no_second_figure(frozen):
    assert frozen(48, replace(SMALL, capacity=None)).loaded is None
    assert frozen(None).loaded is None


def test_a_load_has_a_band_wider_than_that_of_one_alone(piece, cooked):
    stage = replace(HARDEN, own_room=SMALL)
    many = replace(piece, mould=replace(piece.mould, owned=10))
    run = run_programme(many, cooked, Programme(stages=(stage,), grid=0.002), (), pieces=120).stages[0]
    full = run.loaded
    assert full.low < full.time < full.high
    assert full.high / full.time >= run.high / run.time
    assert full.assumed[0].startswith("“blast” takes 500 W as told")


def test_a_load_beyond_any_machine_still_ends(frozen):
    full = frozen(480, replace(SMALL, capacity=20.0)).loaded
    assert full.time is None or full.time > 5 * frozen(12).time
    assert full.warmest <= 295.15 + 1e-9


def test_capacity_from_rating_and_from_power():
    # 15 kg in 4 h is 1.04 g/s; two thirds of water freeze in it: 0.5 MJ/kg is 521 W on average, more at full work.
    rated = machine_of(Room(name="b", air=237.15, rated_mass=15.0, rated_time=4 * 3600.0))
    assert 521 < rated.capacity < 1.5 * 521
    # A machine of 1 kW at a coil of -44 °C: the ideal is 2.7 times, a real one gives about as much as it takes.
    powered = machine_of(Room(name="b", air=237.15, power=1000.0))
    assert 500 < powered.capacity < 1500
    warmer = machine_of(Room(name="b", air=253.15, power=1000.0))
    assert warmer.capacity > powered.capacity
    both = machine_of(Room(name="b", air=237.15, rated_mass=15.0, rated_time=14400.0, power=1e4, capacity=800.0))
    assert both.capacity == 800.0


@given(st.floats(0, 60), st.floats(0, 60))
def test_a_machine_takes_more_from_warmer_air(a, b):
    machine = Machine(capacity=600.0, heat_capacity=3e4, said="")
    low, high = sorted((a, b))
    assert machine.takes(low) <= machine.takes(high) + 1e-9
    assert machine.takes(0.0) == 0.0
    assert machine.takes(3.0) == pytest.approx(600.0 * 1.09)


def test_an_opened_door_lifts_the_air_for_some_minutes():
    room = Room(name="blast", air=237.15, opened=2 / 3600)
    times, air = air_over_time(HARDEN, room, 295.15)
    # Common practice: 5 to 10 K for 5 to 10 min.
    assert 5 < air.max() - room.air < 10
    assert air.max() - room.air == pytest.approx(DOOR * 58.0)
    assert 300 < DOOR_TIME < 600
    assert (np.diff(times) > 0).all()
    hour = np.linspace(0, 7200, 7201)
    warm = np.interp(hour, times, air) > room.air + 1
    assert 2 * 2 * 300 < warm.sum() < 2 * 2 * 600


def test_a_coil_that_is_thawed_lifts_the_air_of_a_freezer_only():
    thawed = replace(SMALL, defrosts=4 / 86400)
    _, air = air_over_time(HARDEN, thawed, 295.15)
    assert 5 < air.max() - SMALL.air < 10
    fridge = Room(name="f", air=276.15, defrosts=4 / 86400)
    assert air_over_time(HARDEN, fridge, 295.15)[1].max() == pytest.approx(276.15)


def test_a_piece_that_is_kept_is_followed_with_the_door_shut():
    times, air = air_over_time(Stage(what="keep"), replace(SMALL, opened=4 / 3600), 295.15)
    assert len(times) == len(air) == 1


@pytest.mark.parametrize(
    "wrong",
    [
        {"capacity": 0.0},
        {"capacity": -5.0},
        {"capacity": float("nan")},
        {"opened": -1.0},
        {"opened": 1.0},
        {"defrosts": 1},
    ],
)
def test_what_no_freezer_does_is_refused(frozen, wrong):
    with pytest.raises(BadInput) as refused:
        frozen(24, replace(SMALL, **wrong))
    assert refused.value.remedy


def test_openings_that_cannot_be_are_refused(frozen):
    with pytest.raises(BadInput):
        frozen(24, openings=100_000)
