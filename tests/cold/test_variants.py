"""Variants are the same wherever they run, go on where they were cut off, and say what matters most."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from dask import distributed

from demoule.cold import run_programme
from demoule.cold.stages import COARSE
from demoule.cold.variants import explore, whole_life_of
from demoule.cold.varying import Base, Factor
from demoule.errors import BadInput, UnknownName
from demoule.files import demo
from demoule.worked import varied_from, work_up

AIR = Factor(kind="air", of="blast freezer", low=233.15, high=243.15)
BLOWS = Factor(kind="surface", of="blast freezer", low=12.0, high=30.0)
HEART = Factor(kind="heart size", low=0.8, high=1.1)
SUGAR = Factor(kind="sugar", low=0.9, high=1.1)


@pytest.fixture(scope="module")
def place():
    desserts, kitchen, _ = demo()
    return work_up(next(one for one in desserts if one.name == "Chestnut"), kitchen)


@pytest.fixture(scope="module")
def base(place) -> Base:
    return varied_from(place)


@pytest.fixture(scope="module")
def found(base):
    return explore(base, [AIR, BLOWS], 32, workers=1)


def test_the_dessert_as_it_is_has_the_hours_of_its_dossier(base, found, place):
    programme = replace(base.programme, grid=COARSE)
    run = run_programme(place.piece, place.cooked, programme, base.rooms, filled_at=base.filled_at)
    for stage in run.stages:
        if stage.stage.what in found.base.answers and stage.time is not None:
            # 1 %: the same grid, with the steps in time of the runs that make bands.
            assert found.base.answers[stage.stage.what] == pytest.approx(stage.time, rel=0.01)
    assert found.base.answers["piece"] == pytest.approx(place.piece.mass, rel=1e-9)


def test_a_colder_and_a_stronger_room_are_faster_and_the_weight_stays(found):
    cold, strong = found.ends
    assert cold[0].answers["harden piece"] < found.base.answers["harden piece"]
    assert strong[0].answers["harden piece"] > strong[1].answers["harden piece"]
    assert {outcome.answers["piece"] for outcome in found.variants} == {found.base.answers["piece"]}


def test_what_matters_most_comes_first_and_shares_add_up(found):
    effects = found.effects("harden piece")
    assert abs(effects[0].swing) >= abs(effects[1].swing)
    # Two smooth factors of moderate range: nearly all of the variance is theirs, one by one.
    assert sum(effect.share for effect in effects) == pytest.approx(1.0, abs=0.1)
    assert [effect.share for effect in found.effects("piece")] == [None, None]


def test_variants_fill_their_ranges_and_are_the_same_each_time(base, found):
    values = np.array([outcome.values for outcome in found.variants])
    assert (values >= [AIR.low, BLOWS.low]).all()
    assert (values <= [AIR.high, BLOWS.high]).all()
    # 32 Sobol points put two into every sixteenth of each range [sobol-1967].
    for column, factor in zip(values.T, (AIR, BLOWS), strict=True):
        counts, _ = np.histogram(column, 16, (factor.low, factor.high))
        assert (counts == 2).all()
    again = explore(base, [AIR, BLOWS], 4, workers=1)
    assert [one.key for one in again.variants] == [one.key for one in found.variants[:4]]
    assert [one.answers for one in again.variants] == [one.answers for one in found.variants[:4]]


def test_heart_and_sugar_reach_the_weights_and_the_freezing(base):
    found = explore(base, [HEART, SUGAR], 0, workers=1)
    heart, sugar = found.ends
    assert heart[0].answers["heart"] == pytest.approx(0.8 * found.base.answers["heart"], rel=1e-6)
    assert heart[0].answers["piece"] != found.base.answers["piece"]
    # More sugar binds more water: the core is ready to eat sooner.
    assert sugar[1].answers["thaw"] < found.base.answers["thaw"] < sugar[0].answers["thaw"]
    assert found.variants == ()


def test_a_run_that_was_cut_off_goes_on_and_ends_the_same(base, found):
    kept, calls = {}, []

    def keep(outcome):
        kept[outcome.key] = outcome

    cut = explore(base, [AIR, BLOWS], 32, workers=1, keep=keep, cancelled=lambda: len(kept) >= 11)
    assert not cut.whole
    assert len(kept) == 11
    again = explore(base, [AIR, BLOWS], 32, workers=1, kept=kept, progress=lambda done, of: calls.append((done, of)))
    assert again.whole
    assert calls[0] == (12, 37)
    assert calls[-1] == (37, 37)
    assert [one.answers for one in again.variants] == [one.answers for one in found.variants]


def test_other_processes_give_the_same_numbers(base, found):
    there = explore(base, [AIR, BLOWS], 8, workers=2)
    assert [one.answers for one in there.variants] == [one.answers for one in found.variants[:8]]


def test_a_scheduler_gives_the_same_numbers(base, found):
    with distributed.LocalCluster(
        n_workers=1, threads_per_worker=1, processes=False, dashboard_address=None
    ) as cluster:
        there = explore(base, [AIR, BLOWS], 8, scheduler=cluster.scheduler_address)
    assert [one.answers for one in there.variants] == [one.answers for one in found.variants[:8]]


def test_a_variant_that_cannot_be_is_told_and_harms_no_other(base):
    found = explore(base, [Factor(kind="heart size", low=0.9, high=9.0)], 0, workers=1)
    (small, large), *_ = found.ends
    assert not small.why
    assert large.why
    assert large.answers == {}
    assert math.isinf(found.effects("harden piece")[0].swing)


@pytest.mark.parametrize(
    ("factors", "n", "says"),
    [
        ([], 8, "Nothing is to be varied"),
        ([AIR, AIR], 8, "varied twice"),
        ([AIR], 10**6, "too many"),
        ([replace(AIR, low=250.0)], 8, "no range"),
        ([replace(AIR, low=-5.0)], 8, "no temperature"),
        ([replace(BLOWS, low=0.0)], 8, "fall to nothing"),
        ([replace(SUGAR, of="coating of nothing")], 8, "no sugar"),
        ([Factor(kind="weight", of="jelly: agar", low=0.5, high=2.0)], 8, "no such line"),
    ],
)
def test_what_cannot_be_varied_is_refused(base, factors, n, says):
    with pytest.raises(BadInput, match=says):
        explore(base, factors, n)


def test_names_that_are_not_there_are_answered_with_the_nearest(base):
    with pytest.raises(UnknownName) as caught:
        explore(base, [replace(AIR, of="blast freezr")], 8)
    assert "blast freezer" in caught.value.remedy
    with pytest.raises(UnknownName):
        explore(base, [Factor(kind="hart size", low=0.8, high=1.2)], 8)


def test_an_address_where_nobody_answers_is_told(base):
    with pytest.raises(BadInput, match="No scheduler answers"):
        explore(base, [AIR], 2, scheduler="tcp://127.0.0.1:9")


@pytest.mark.parametrize("which", range(3))
def test_quick_hours_lie_within_one_percent_of_the_whole_life(which):
    """They are read off one coarse run each; bands, dips and evening out are left to the whole life."""
    desserts, kitchen, _ = demo()
    base = varied_from(work_up(desserts[which], kitchen))
    factors = [AIR, BLOWS, replace(HEART, low=0.85, high=1.05), replace(SUGAR, low=0.95, high=1.05)]
    found = explore(base, factors, 3, workers=1)
    for outcome in found.variants:
        assert not outcome.why
        whole = whole_life_of(base, factors, outcome)
        for stage in whole.stages:
            if stage.stage.what in ("harden heart", "harden piece", "thaw"):
                quick = outcome.answers[stage.stage.what]
                assert quick == pytest.approx(stage.time, rel=0.01)
                assert stage.low < quick < stage.high
            if stage.window is not None:
                window = stage.window.closes - stage.window.opens
                assert outcome.answers["window"] == pytest.approx(window, rel=0.05)


def test_a_variant_runs_only_the_stages_that_it_reaches(base, monkeypatch):
    from demoule.cold import hours

    stages = []
    stay = hours._Hours.stay

    def counted(self, opening):
        stages.append(opening.stage.what)
        return stay(self, opening)

    monkeypatch.setattr(hours._Hours, "stay", counted)
    explore(base, [AIR, BLOWS], 8, workers=1)
    assert stages.count("harden piece") == 13  # eight, the dessert as it is, and four ends
    assert stages.count("thaw") == 1
    assert not {"even out", "dip and spray", "keep", "table"} & set(stages)


def test_many_variants_share_a_making_and_still_fill_the_ranges(base):
    from demoule.cold.variants import _points

    points = _points((HEART, AIR), 1024, 1)
    assert len(np.unique(points[:, 0])) == 64
    assert len(np.unique(points[:, 1])) == 1024
    for column in points.T:
        counts, _ = np.histogram(column, 16, (0, 1))
        assert (counts == 64).all()
    assert len(np.unique(_points((HEART, SUGAR), 100, 1)[:, 0])) == 100  # nothing to share it with
