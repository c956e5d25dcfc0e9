"""The life of the demonstration's pieces, held against common practice, and what is said when it goes wrong."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from demoule.cold import Programme, Room, Stage
from demoule.dossier import dossier
from demoule.dossier.checks import CHECKS
from demoule.dossier.life_figures import time_above
from demoule.dossier.view import View
from demoule.figures import Severity
from demoule.files import demo
from demoule.worked import work_up


@pytest.fixture(scope="module")
def kitchen():
    return demo()[1]


@pytest.fixture(scope="module")
def desserts():
    return {dessert.name: dessert for dessert in demo()[0]}


@pytest.fixture(scope="module")
def made(desserts, kitchen):
    return {name: dossier(work_up(dessert, kitchen)) for name, dessert in desserts.items()}


def value(made, key, name="Apricot"):
    found = made[name].figure(key)
    assert found is not None, key
    assert found.value is not None, key
    return found


def with_stage(dessert, what, **change):
    stages = [replace(one, **change) if one.what == what else one for one in dessert.programme.stages]
    return replace(dessert, programme=Programme(stages=tuple(stages)))


def said(dessert, kitchen, check):
    return list(CHECKS[check].function(View(work_up(dessert, kitchen), "EU")))


NAMES = ("Apricot", "Quince", "Chestnut")


@pytest.mark.parametrize("name", NAMES)
def test_the_moments_of_a_life_come_in_their_order(made, name):
    out_of_mould = value(made, "demouldable_after", name)
    hard = value(made, "harden_piece_time", name)
    dipped = value(made, "dippable_after", name)
    assert out_of_mould.value < hard.value <= dipped.value
    # Common practice: back in the cold for half an hour to an hour after the mould, before the dip.
    assert dipped.value - hard.value < 1.0
    for figure in (out_of_mould, hard, dipped):
        assert figure.low < figure.value < figure.high
        assert "widest for" in figure.note


@pytest.mark.parametrize("name", NAMES)
def test_a_piece_stands_for_minutes_and_frosts_within_minutes(made, name):
    # Common practice: the surface goes from -20 to -12 °C in 2 to 6 min (trust gone above 30), and frost shows
    # within half a minute to two.
    soft = value(made, "stands_before_soft", name)
    assert 2 < soft.value < 10
    assert 0.5 < value(made, "first_frost", name).value < 2
    assert value(made, "first_frost", name).value < value(made, "frost_spoils", name).value


@pytest.mark.parametrize("name", NAMES)
def test_a_full_freezer_takes_no_less(made, name):
    for what in ("harden_piece", "harden_heart"):
        alone, full = value(made, f"{what}_time", name), value(made, f"{what}_loaded_time", name)
        assert alone.value < full.value < 1.5 * alone.value
        assert "677 W" in full.note


@pytest.mark.parametrize("name", NAMES)
def test_on_the_table_the_window_closes_before_the_body_goes_soft(made, name):
    until, slumps = value(made, "table_until", name), value(made, "slumps_after", name)
    assert until.low < until.value < until.high
    assert until.value <= slumps.value < 60  # common practice: 30 to 60 min in a room of 20 °C at the most


@pytest.mark.parametrize("name", NAMES)
def test_time_above_a_limit_falls_with_the_limit_and_counts_thaw_and_table(made, name):
    frozen, chilled, warm = (value(made, f"time_above_{key}", name) for key in ("minus_12", "5", "8"))
    assert frozen.value > chilled.value >= warm.value > 0
    assert frozen.value < 24
    for figure in (frozen, chilled, warm):
        assert figure.low <= figure.value <= figure.high


def test_time_above_is_that_of_the_curves(made):
    worked = made["Apricot"].worked
    likely, least, most = time_above(View(worked, "EU"), -12)
    by_hand = 0.0
    for run in worked.cold.stages[1:]:
        times = np.linspace(0, min(run.time, run.curve.time[-1]), 20_001)
        warmest = np.maximum(
            np.interp(times, run.curve.time, run.curve.core), np.interp(times, run.curve.time, run.curve.surface)
        )
        by_hand += float((warmest > 261.15).mean()) * times[-1]
    assert likely == pytest.approx(by_hand, rel=0.005)
    assert least < likely < most


def test_a_lid_keeps_the_dew_off_and_a_damp_refrigerator_brings_more(desserts, kitchen, made):
    open_air = value(made, "dew_on_skin")
    lid = dossier(work_up(with_stage(desserts["Apricot"], "thaw", covered=True), kitchen))
    assert lid.figure("dew_on_skin").value == 0
    assert not any(finding.rule == "skin sweats" for finding in lid.findings)

    def told(humidity):
        rooms = tuple(
            replace(room, humidity=humidity) if room.name == "refrigerator" else room for room in kitchen.rooms
        )
        return dossier(work_up(desserts["Apricot"], replace(kitchen, rooms=rooms)))

    dry, damp = told(0.3), told(0.8)
    assert dry.figure("dew_on_skin").value < open_air.value < damp.figure("dew_on_skin").value
    (finding,) = [one for one in damp.findings if one.rule == "skin sweats"]
    assert finding.severity is Severity.CAUTION
    (finding,) = [one for one in made["Apricot"].findings if one.rule == "skin sweats"]
    assert finding.severity is Severity.NOTE
    assert "was taken" in finding.why


def test_a_piece_that_stands_too_long_is_said(desserts, kitchen):
    long = Stage(what="dip and spray", room="bench", duration=1800.0, where="cold.dip and spray")
    apricot = desserts["Apricot"]
    first, second, *rest = apricot.programme.stages
    slow = replace(apricot, programme=Programme(stages=(first, second, long, *rest)))
    worked = work_up(slow, kitchen)
    assert [run.stage.what for run in worked.cold.stages] == [
        "harden heart",
        "harden piece",
        "dip and spray",
        "keep",
        "thaw",
        "table",
    ]
    (finding,) = [one for one in said(slow, kitchen, "standing for the dip") if "surface is at" in one.says]
    assert finding.severity is Severity.CAUTION
    assert finding.where == "cold.dip and spray"


def test_a_store_too_cold_for_the_dip_is_said(desserts, kitchen):
    cold = with_stage(desserts["Apricot"], "keep", own_room=Room(name="deep store", air=238.15, surface=9.0), room="")
    (finding, *_) = said(cold, kitchen, "standing for the dip")
    assert finding.severity is Severity.CAUTION
    assert "never lie" in finding.says


def test_a_table_that_is_written_wins_and_is_a_caution_when_it_is_too_long(desserts, kitchen, made):
    apricot = desserts["Apricot"]
    (taken,) = [one for one in made["Apricot"].findings if one.rule == "on the table"]
    assert taken.severity is Severity.NOTE
    table = Stage(
        what="table", own_room=Room(name="terrace", air=303.15, humidity=0.4), duration=3600.0, where="cold.table"
    )
    written = replace(apricot, programme=Programme(stages=(*apricot.programme.stages, table)))
    (finding,) = said(written, kitchen, "on the table")
    assert finding.severity is Severity.CAUTION
    assert "terrace" in finding.says
    hot = dossier(work_up(written, kitchen))
    assert hot.figure("table_until").value < value(made, "table_until").value


def test_a_freezer_that_cannot_take_the_load_is_said(desserts, kitchen):
    weak = tuple(replace(room, capacity=60.0) if room.name == "blast freezer" else room for room in kitchen.rooms)
    findings = said(desserts["Quince"], replace(kitchen, rooms=weak), "full freezer")
    assert findings
    assert all(finding.severity is Severity.CAUTION for finding in findings)
    assert "60 W" in findings[0].why
    assert said(desserts["Quince"], kitchen, "full freezer") == []


def test_a_heart_goes_in_at_the_temperature_that_its_chef_tells(desserts, kitchen):
    run = work_up(desserts["Quince"], kitchen).cold.stage("harden heart")
    assert run.started_at == pytest.approx(333.15, abs=0.1)  # 60 °C in its file
    assert work_up(desserts["Apricot"], kitchen).cold.stage("harden piece").curve.core[0] == pytest.approx(
        295.15, abs=1
    )
