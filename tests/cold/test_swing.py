"""A kept piece follows a room whose door is opened and whose coil is thawed, the less the deeper inside."""

from __future__ import annotations

from dataclasses import replace

import pytest

from demoule.cold import Programme, Room, Stage, run_programme
from demoule.cold.airing import DOOR

STORE = Room(name="store", air=253.15, surface=9.0)
KEEP = Stage(what="keep", room="store", at_most=30 * 86400.0)


@pytest.fixture(scope="module")
def kept(piece, cooked):
    def run(stage=KEEP, **told):
        room = replace(STORE, **told)
        programme = Programme(stages=(stage,), grid=0.002)
        found = run_programme(piece, cooked, programme, (room,), kitchen_air=295.15, bands=False)
        return found.stages[0]

    return run


def test_a_room_that_tells_nothing_has_no_swing_and_the_hours_stay(kept):
    assert kept().swing is None
    assert kept(opened=1 / 3600).time == kept().time


def test_the_surface_swings_less_than_the_air_and_the_inside_less_than_the_surface(kept):
    swing = kept(opened=1 / 3600).swing
    assert swing.openings == pytest.approx(24.0)
    # One opening lifts the air by its share of the way to the kitchen (practice).
    assert swing.air == pytest.approx((253.15, 253.15 + DOOR * 42.0), abs=0.02)
    air, surface, mean = (high - low for low, high in (swing.air, swing.surface, swing.mean))
    assert 0.2 < mean < surface < air
    assert swing.surface[0] >= 253.15 - 0.02


def test_more_openings_defrosts_and_a_harder_room_swing_more(kept):
    one = kept(opened=1 / 3600).swing
    many = kept(opened=3 / 3600).swing
    thawed = kept(opened=1 / 3600, defrosts=4 / 86400).swing
    hard = kept(opened=1 / 3600, surface=25.0).swing
    assert many.mean[1] > one.mean[1]
    assert thawed.surface[1] > one.surface[1]
    assert thawed.defrosts == pytest.approx(4.0)
    assert hard.surface[1] - hard.surface[0] > one.surface[1] - one.surface[0]


def test_the_doors_of_a_stage_are_counted_too(kept):
    swing = kept(replace(KEEP, openings=6)).swing
    assert swing.openings == 6
    # All six are over long before the second half of the day.
    assert swing.surface[1] - swing.surface[0] < 0.3
