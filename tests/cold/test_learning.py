"""A simulated log gives back the room it was made in, within the limits told; a log that cannot tell is refused.

The truth is computed on a 1 mm grid by the whole life of the piece; noise of 0.2 to 0.5 K is what loggers for kitchens
show (practice).
"""

from __future__ import annotations

import datetime
from dataclasses import replace

import numpy as np
import pytest

from demoule.cold import Programme, Room, Stage, Until, run_programme, surface_coefficient
from demoule.cold.fit import Fit
from demoule.cold.learning import learn_room
from demoule.cold.life import opening
from demoule.cold.programme import Conduction
from demoule.cold.records import Record
from demoule.errors import BadInput, UnknownName

HARD = Until(place="core", temperature=255.15)
PROGRAMME = Programme(
    stages=(
        Stage(what="harden heart", room="blast", until=HARD),
        Stage(what="harden piece", room="blast", until=HARD),
        Stage(what="thaw", room="fridge", ready=(272.15, 275.15)),
    )
)


@pytest.fixture(scope="module")
def begins(piece, cooked, rooms):
    """A stage about to begin; the same object for every log of it."""
    found = {}

    def begin(what="harden piece"):
        if what not in found:
            found[what] = opening(piece, cooked, PROGRAMME, rooms, what)
        return found[what]

    return begin


@pytest.fixture(scope="module")
def truth(piece, cooked, rooms):
    """Times and core temperatures of a stage in a room that is not as its file says."""

    def record(h, air, what="harden piece", room="blast", hours=3.0):
        changed = [replace(one, surface=h, air=air) if one.name == room else one for one in rooms]
        stages = [
            replace(stage, until=None, ready=None, duration=3600 * hours) if stage.what == what else stage
            for stage in PROGRAMME.stages
        ]
        # What comes before happens as the file says.
        before = [replace(s, own_room=next(r for r in rooms if r.name == s.room)) for s in stages if s.what != what]
        here = [s for s in stages if s.what == what]
        order = [s for s in (*before[:1], *here) if what != "harden heart"] or here
        run = run_programme(piece, cooked, Programme(stages=tuple(order)), changed, bands=False).stage(what)
        return run.curve.time, run.curve.core

    return record


def logged(curve, rng, *, every=60.0, noise=0.3, before=0.0, late=0.0, gap=None, lost=0.1, hours=3.0, name="log"):
    """What a logger would have written."""
    time = np.arange(0.0, 3600 * hours - late, every)
    core = np.interp(time - before + late, *curve)
    keep = rng.random(len(time)) > lost
    if gap is not None:
        keep &= ~((time > gap[0]) & (time < gap[1]))
    time = time[keep]
    return Record(name=name, time=time - time[0], temperature=core[keep] + rng.normal(0.0, noise, len(time)))


@pytest.mark.parametrize("seed", range(20))
def test_a_noisy_log_gives_back_the_room_within_its_limits(seed, begins, truth):
    rng = np.random.default_rng(seed)
    h, air = rng.uniform(8.0, 35.0), rng.uniform(233.0, 243.0)
    what = ("harden piece", "harden heart")[seed % 2]
    log = logged(
        truth(h, air, what),
        rng,
        noise=rng.uniform(0.2, 0.5),
        before=(0.0, 900.0, 0.0)[seed % 3],
        late=(0.0, 0.0, 300.0)[seed % 3],
        gap=(2400.0, 3600.0) if seed % 4 == 1 else None,
    )
    lesson = learn_room(begins(what), log)
    assert lesson.surface.holds(h)
    assert lesson.air.holds(air)
    # Limits that hold the truth by being wide would teach nothing.
    assert lesson.band < 0.25
    assert lesson.air.high - lesson.air.low < 3.0
    assert lesson.surface.value == pytest.approx(h, rel=0.15)


@pytest.mark.parametrize("seed", range(22))
def test_a_noisy_log_of_a_thaw_gives_back_the_refrigerator_within_its_limits(seed, begins, truth):
    """Hard to tell: near the end a weaker room that is warmer looks like a stronger one that is colder."""
    rng = np.random.default_rng(1000 + seed)
    h, air, hours = rng.uniform(6.0, 20.0), rng.uniform(274.2, 279.0), rng.uniform(5.0, 9.0)
    log = logged(
        truth(h, air, "thaw", "fridge", hours),
        rng,
        every=120.0,
        hours=hours,
        noise=rng.uniform(0.2, 0.5),
        before=(0.0, 900.0, 0.0)[seed % 3],
        late=(0.0, 0.0, 300.0)[seed % 3],
        gap=(4800.0, 8400.0) if seed % 4 == 1 else None,
    )
    lesson = learn_room(begins("thaw"), log)
    assert lesson.surface.holds(h)
    assert lesson.air.holds(air)
    # Limits that hold everything would teach nothing.
    assert lesson.band < 0.34
    assert lesson.air.high - lesson.air.low < 7.0
    assert lesson.surface.value == pytest.approx(h, rel=0.25)


def test_a_mix_that_conducts_less_is_told_from_a_weak_room(begins, piece, cooked, rooms):
    fit = Fit(begins(), "core", body=True)
    fit.refine()
    time = np.arange(0.0, 3 * 3600.0, 60.0)
    fit.horizon = float(time[-1])
    core = fit.curve(time, np.array([np.log(20.0), 238.0, np.log(0.8), 0.0, 0.0]))
    log = Record(name="log", time=time, temperature=core + np.random.default_rng(5).normal(0.0, 0.2, len(time)))
    lesson = learn_room(begins(), log, body=True)
    assert lesson.body is not None
    assert lesson.body.holds(0.8)
    assert lesson.surface.holds(20.0)


def test_a_tail_after_taking_out_and_a_probe_from_a_warm_drawer_are_left_out(begins, truth):
    rng = np.random.default_rng(2)
    log = logged(truth(20.0, 238.0), rng, noise=0.2, lost=0.0)
    warm = log.temperature[-1] + 25 * (1 - np.exp(-np.arange(60) / 30))
    lesson = learn_room(
        begins(),
        Record(
            name="log",
            time=np.arange(2 + len(log.time) + 60) * 60.0,
            temperature=np.concatenate([[308.0, 306.0], log.temperature, warm]),
        ),
    )
    assert lesson.surface.holds(20.0)
    assert len(lesson.notes) >= 3
    assert any("taken out" in note for note in lesson.notes)


def test_what_is_learned_is_used_and_said(begins, truth):
    lesson = learn_room(begins(), logged(truth(26.0, 238.0), np.random.default_rng(0)))
    room = replace(lesson.room, surface=lesson.surface.value, learned="log, 12 November", learned_band=lesson.band)
    used = surface_coefficient(room, 0.05, 260.0)
    assert used.coefficient == lesson.surface.value
    assert used.band == pytest.approx(max(lesson.band, 0.06))
    assert "learned here" in used.assumed[0]
    assert "12 November" in used.assumed[0]


def test_how_the_mixes_conduct_is_used_narrows_the_band_and_is_said(piece, cooked, rooms):
    def run(conduction):
        programme = Programme(stages=(PROGRAMME.stages[1],), grid=0.002, conduction=conduction)
        return run_programme(piece, cooked, programme, rooms).stages[0]

    plain = run(None)
    poor = run(Conduction(factor=0.8, band=0.05, learned="log, 12 November"))
    same = run(Conduction(factor=1.0, band=0.20, learned="log"))
    assert same.time == pytest.approx(plain.time, rel=1e-9)
    assert (same.low, same.high) == pytest.approx((plain.low, plain.high), rel=1e-9)
    assert poor.time > 1.03 * plain.time
    assert poor.high / poor.time < plain.high / plain.time
    assert any("80 % of what is computed" in word and "12 November" in word for word in poor.assumed)


def test_a_log_in_fahrenheit_read_as_celsius_is_refused_and_told_so(begins, truth):
    log = logged(truth(20.0, 238.0), np.random.default_rng(0), noise=0.1)
    wrong = replace(log, temperature=1.8 * (log.temperature - 273.15) + 32 + 273.15)
    with pytest.raises(BadInput) as caught:
        learn_room(begins(), wrong)
    assert "--degrees F" in caught.value.remedy


def test_a_coefficient_far_from_the_stated_one_says_what_else_it_may_be(begins, truth):
    log = logged(truth(20.0, 238.0), np.random.default_rng(0))
    assert not any("clock" in note for note in learn_room(begins(), log).notes)
    slow = replace(log, time=2 * log.time)
    assert any("clock that runs wrong" in note for note in learn_room(begins(), slow).notes)


NOISE = np.random.default_rng(9)


def _log(time, temperature, **more):
    return Record(name="log", time=np.asarray(time, float), temperature=np.asarray(temperature, float), **more)


MINUTES = np.arange(180) * 60.0
WRONG = {
    "one row": (_log([0.0], [270.0]), "one reading"),
    "no row": (_log([], []), "no reading"),
    "too short": (_log(np.arange(40) * 5.0, np.linspace(280, 270, 40)), "min; at least 10"),
    "constant": (_log(MINUTES, 255.0 + NOISE.normal(0, 0.2, 180)), "stays within"),
    "backwards": (_log([*MINUTES[:50], *MINUTES[:130]], np.linspace(290, 240, 180)), "runs backwards"),
    "absurd": (_log(MINUTES, np.linspace(290, 40, 180)), "no kitchen has"),
    "not a number": (_log(MINUTES, np.where(MINUTES == 600, np.nan, 260.0)), "no numbers"),
    "warms": (_log(MINUTES, np.linspace(240, 290, 180)), "Nothing cools"),
    "barely begun": (_log(MINUTES[:30], np.linspace(293, 279, 30)), "too short to tell|Nothing cools"),
    "a warmer piece": (_log(MINUTES, 238 + 85 * np.exp(-MINUTES / 4000)), "begins at"),
    "weeks": (_log(MINUTES * 200, np.linspace(290, 240, 180)), "days"),
    "the air, not the piece": (_log(MINUTES, 238 + 54 * np.exp(-MINUTES / 60)), "W/m²K|does not look like"),
    "a far larger piece": (_log(MINUTES * 12, 238 + 54 * np.exp(-MINUTES / 2500)), "W/m²K|does not look like"),
    "no freezing in it": (_log(MINUTES * 2, 238 + 54 * np.exp(-MINUTES / 2000)), "does not look like|W/m²K"),
}


@pytest.mark.parametrize("case", WRONG)
def test_a_wrong_log_is_refused_with_its_reason(case, begins):
    log, reason = WRONG[case]
    with pytest.raises(BadInput, match=reason) as caught:
        learn_room(begins(), log)
    assert caught.value.remedy


def test_a_log_of_another_room_is_refused(begins, truth):
    log = logged(truth(20.0, 256.0, hours=6.0), np.random.default_rng(3), hours=6.0)
    with pytest.raises(BadInput, match=r"tells of air|too short to tell"):
        learn_room(begins(), log)


def test_a_log_from_the_future_is_refused(begins, truth):
    log = replace(logged(truth(20.0, 238.0), np.random.default_rng(0)), begun=datetime.datetime(2031, 5, 1, 8, 0))
    with pytest.raises(BadInput, match="yet to come"):
        learn_room(begins(), log, now=datetime.datetime(2026, 5, 1))


def test_a_place_or_stage_that_is_not_there_is_refused(begins, truth, piece, cooked, rooms):
    with pytest.raises(BadInput, match="cannot sit"):
        learn_room(begins(), WRONG["warms"][0], place="skin")
    with pytest.raises(UnknownName):
        opening(piece, cooked, PROGRAMME, rooms, "harden hart")
    with pytest.raises(UnknownName):
        opening(piece, cooked, PROGRAMME, [Room(name="blast", air=240.0)], "thaw")
