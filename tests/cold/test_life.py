"""A piece on its way through its rooms."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import brentq

from demoule.cold import ColdRun, Programme, Room, Stage, Until, ice_volume, run_programme, whole_life
from demoule.cold.film import settled
from demoule.cold.life import opening
from demoule.cold.programme import Softened
from demoule.cold.readings import outer_cells
from demoule.cold.softness import ICE_DENSITY
from demoule.errors import BadInput, UnknownName
from demoule.figures import Severity
from demoule.memory import Memory
from demoule.physics import thermal_table
from demoule.physics.frost import natural_convection
from demoule.piece import Cavity, Cylinder, Fill, HalfSphere, Heart, Mould, PieceDesign, Ring, build
from demoule.piece.solids import volume

CORE = Until(place="core", temperature=255.15)
HEART = Stage(what="harden heart", room="blast", until=CORE)
HARDEN = Stage(what="harden piece", room="blast", until=CORE)
KEEP = Stage(what="keep", room="store", at_most=90 * 86400.0)
STAND = Stage(what="stand", room="bench", until=Until(place="surface", temperature=261.15))
THAW = Stage(what="thaw", room="fridge", ready=(272.15, 275.15))


@pytest.fixture(scope="session")
def life(piece, cooked, rooms) -> ColdRun:
    return run_programme(piece, cooked, Programme(stages=(HEART, HARDEN, STAND, KEEP, THAW)), rooms)


def test_every_stage_is_there_in_order_with_its_room(life):
    assert [run.stage.what for run in life.stages] == ["harden heart", "harden piece", "stand", "keep", "thaw"]
    assert [run.room.name for run in life.stages] == ["blast", "blast", "bench", "store", "fridge"]
    assert life.findings == ()


def test_heat_balances_in_every_stage(life):
    for run in life.stages:
        assert run.imbalance < 1e-9
    assert all(run.heat < 0 for run in life.stages[:2])
    assert life.stages[-1].heat > 0


def test_every_time_has_a_band_and_names_its_weakest_input(life):
    for run in life.stages:
        assert run.low < run.time < run.high
        assert run.weakest
        assert run.assumed
        assert run.basis
    # ±30 % of the surface coefficient moves hours by 15 to 40 %.
    for run in life.stages[:2]:
        assert 0.7 < run.low / run.time < 0.95
        assert 1.1 < run.high / run.time < 1.6


def test_a_stage_begins_where_the_one_before_ended_or_where_the_coats_left_the_piece(life, piece, cooked, rooms):
    _, harden, stand, keep, thaw = life.stages
    assert stand.started_at == pytest.approx(harden.ended[1], abs=0.05)
    assert piece.coated_at is not None
    assert keep.started_at == pytest.approx(piece.coated_at, abs=0.05)
    bare = replace(piece, layers=tuple(one for one in piece.layers if one.role not in ("shell", "spray")))
    *_, stand, keep, _ = run_programme(bare, cooked, Programme(stages=(HEART, HARDEN, STAND, KEEP, THAW)), rooms).stages
    assert keep.started_at == pytest.approx(stand.ended[1], abs=0.05)
    assert thaw.started_at == pytest.approx(253.15, abs=0.2)


def test_the_piece_starts_with_a_frozen_heart_in_a_cold_mousse(life, piece):
    heart, harden = life.stages[:2]
    masses = {layer.role: layer.mass for layer in piece.layers}
    parts = {"heart": heart.ended[1], "body": 277.15, "base": 295.15}
    mean = sum(masses[role] * parts[role] for role in parts) / sum(masses[role] for role in parts)
    assert harden.started_at == pytest.approx(mean, abs=0.3)
    assert harden.curve.core[0] == pytest.approx(295.15, abs=1.0)  # the base is the warmest place at first
    assert harden.curve.heart_ice[0] > 0.4
    assert harden.curve.body_ice[0] < 0.02


def test_the_end_is_where_the_curve_crosses_it(life):
    for run in life.stages[:2]:
        assert np.interp(run.time, run.curve.time, run.curve.core) == pytest.approx(255.15, abs=0.02)
        assert run.ended[0] == pytest.approx(255.15, abs=0.02)
        assert run.ended[2] < run.ended[1] < run.ended[0]


def test_the_window_opens_before_it_closes_and_has_bands(life):
    window = life.stage("thaw").window
    assert 0 < window.opens_low < window.opens < window.opens_high
    assert window.opens < window.closes < window.closes_high
    assert life.stage("thaw").time == window.opens


def test_ice_and_fields_are_shares(life):
    for run in life.stages:
        assert len(run.stills) >= 3
        for still in run.stills:
            assert still.temperature.shape == still.ice.shape == (len(still.z), len(still.r))
            inside = np.isfinite(still.temperature)
            assert inside.any()
            assert still.temperature[inside].min() > 230
            assert (still.ice[np.isfinite(still.ice)] >= -1e-9).all()
            assert (still.ice[np.isfinite(still.ice)] <= 1).all()
    first, last = life.stage("harden piece").stills[0], life.stage("harden piece").stills[-1]
    assert np.nanmean(last.ice) > np.nanmean(first.ice)
    assert last.time == pytest.approx(life.stage("harden piece").time, rel=0.1)


def test_standing_in_a_damp_room_warms_faster_than_in_a_dry_one(piece, cooked):
    frozen = {"ganache": 253.15, "jelly": 253.15, "biscuit": 253.15}

    def stand(humidity):
        room = Room(name="bench", air=293.15, humidity=humidity)
        return run_programme(
            piece, cooked, Programme(stages=(replace(STAND, room="", own_room=room),)), (), filled_at=frozen
        ).stages[0]

    dry, damp = stand(None), stand(0.8)
    assert damp.time < dry.time
    # Out of the freezer the skin goes from −20 to −12 °C within minutes (common practice: 2 to 6).
    assert 60 < dry.time < 600


def test_a_mould_slows_blown_air_and_a_cover_slows_more(piece, cooked, moulds):
    open_mould = replace(piece, mould=replace(piece.mould, two_part=False))
    hard = Room(name="hard", air=237.15, surface=40.0)

    def time(piece, **change):
        stage = replace(HARDEN, room="", own_room=hard, **change)
        return run_programme(piece, cooked, Programme(stages=(stage,)), ()).stages[0].time

    bare = time(piece, in_mould=False)
    assert bare < time(open_mould) < time(open_mould, covered=True)
    assert time(open_mould) < time(piece)


def test_a_cold_plate_under_the_foot_helps(piece, cooked):
    def time(**change):
        stage = replace(HARDEN, room="", own_room=Room(name="r", air=237.15, surface=10.0), in_mould=False, **change)
        return run_programme(piece, cooked, Programme(stages=(stage,)), ()).stages[0].time

    assert time(contact=200.0) < time()


def test_a_learned_room_has_a_narrower_band(piece, cooked):
    def spread(learned):
        room = Room(name="mine", air=237.15, surface=18.0, learned=learned)
        run = run_programme(piece, cooked, Programme(stages=(replace(HARDEN, own_room=room),)), ()).stages[0]
        return run.high - run.low

    assert spread("12 March, two probes") < 0.8 * spread("")


def test_a_coarser_grid_gives_the_same_hours(piece, cooked, rooms):
    times = [
        run_programme(piece, cooked, Programme(stages=(HARDEN,), grid=grid), rooms).stages[0].time
        for grid in (0.0005, 0.001, 0.002)
    ]
    assert times[1] == pytest.approx(times[0], rel=0.005)
    assert times[2] == pytest.approx(times[0], rel=0.015)


def test_the_same_inputs_give_the_same_answer(piece, cooked, rooms, life):
    again = run_programme(piece, cooked, Programme(stages=(HEART, HARDEN, STAND, KEEP, THAW)), rooms)
    assert [run.time for run in again.stages] == [run.time for run in life.stages]


def test_any_layers_and_shapes(cooked, moulds):
    inner = Heart(component="jelly", cavity=Cavity(shape=HalfSphere(radius=0.009)))
    heart = Heart(component="biscuit", cavity=Cavity(shape=Cylinder(diameter=0.03, height=0.018)), inside=inner)
    nested = build(
        PieceDesign(
            mould=None,
            cavity=Cavity(shape=Cylinder(diameter=0.055, height=0.04)),
            body=Fill(component="ganache"),
            heart=heart,
        ),
        cooked,
        moulds,
    )
    ring = build(
        PieceDesign(mould=None, cavity=Cavity(shape=Ring(middle=0.06, section=0.025)), body=Fill(component="ganache")),
        cooked,
        moulds,
    )
    blast = (Room(name="blast", air=237.15, surface=18.0),)
    for shaped in (nested, ring):
        run = run_programme(shaped, cooked, Programme(stages=(HEART, HARDEN)), blast)
        assert all(600 < stage.time < 3 * 3600 for stage in run.stages)
        assert all(stage.imbalance < 1e-9 for stage in run.stages)
    assert len(run.stages) == 1  # a ring without a heart has no heart to harden


def test_a_room_that_is_not_cold_enough_is_said_so(piece, cooked):
    room = Room(name="cellar", air=259.15, surface=9.0)
    run = run_programme(piece, cooked, Programme(stages=(replace(HARDEN, own_room=room),)), ())
    assert run.stages[0].time is None
    assert run.stages[0].low is None
    (finding,) = run.findings
    assert finding.severity is Severity.STOP
    assert finding.rule == "cold end not reached"
    assert "−18 °C" in finding.says
    assert "cellar" in finding.says


def test_a_thaw_that_never_gets_there_is_said_so(piece, cooked):
    room = Room(name="freezer", air=261.15, surface=9.0)
    run = run_programme(piece, cooked, Programme(stages=(replace(THAW, own_room=room),)), ())
    assert run.stages[0].window.opens is None
    assert [finding.rule for finding in run.findings] == ["cold window missed"]


def test_a_time_that_is_too_short_is_said_so(piece, cooked, rooms):
    run = run_programme(piece, cooked, Programme(stages=(replace(HARDEN, at_most=600.0),)), rooms)
    assert run.stages[0].time is None
    assert run.findings[0].why.startswith("the longest time")


def test_a_stage_by_the_clock_lasts_as_long(piece, cooked, rooms):
    stage = Stage(what="harden piece", room="blast", duration=12 * 3600.0)
    run = run_programme(piece, cooked, Programme(stages=(stage,)), rooms).stages[0]
    assert run.time == 12 * 3600.0
    assert run.ended[0] == pytest.approx(237.15, abs=0.3)


@pytest.mark.parametrize(
    "stage",
    [
        replace(HARDEN, until=Until(place="core", temperature=-18.0)),
        replace(HARDEN, until=Until(place="middle", temperature=255.15)),
        replace(HARDEN, until=None, duration=0.0),
        replace(HARDEN, at_most=-3600.0),
        replace(HARDEN, own_room=Room(name="x", air=-35.0, surface=18.0)),
        replace(HARDEN, own_room=Room(name="x", air=237.15, surface=0.0)),
        replace(HARDEN, in_mould=False, contact=0.0),
        replace(THAW, ready=(275.15, 272.15)),
    ],
)
def test_what_cannot_be_is_refused_with_its_place(piece, cooked, rooms, stage):
    with pytest.raises(BadInput) as refused:
        run_programme(piece, cooked, Programme(stages=(replace(stage, where="cold.harden piece"),)), rooms)
    assert "cold.harden piece" in refused.value.where
    assert refused.value.remedy


def test_an_unknown_room_is_answered_with_the_nearest(piece, cooked, rooms):
    with pytest.raises(UnknownName, match="blest") as refused:
        run_programme(piece, cooked, Programme(stages=(replace(HARDEN, room="blest"),)), rooms)
    assert "blast" in refused.value.remedy
    assert "harden piece" in refused.value.where


def test_a_mould_thicker_than_the_piece_is_refused(piece, cooked, rooms):
    thick = replace(piece, mould=replace(piece.mould, wall=0.25))
    with pytest.raises(BadInput, match="thicker than the piece"):
        run_programme(thick, cooked, Programme(stages=(HARDEN,)), rooms)


def test_a_grid_of_nothing_is_refused(piece, cooked, rooms):
    for wrong in ({"grid": 0.0}, {"tolerance": 0.0}, {"grid": 1e-5}):
        with pytest.raises(BadInput):
            run_programme(piece, cooked, Programme(stages=(HARDEN,), **wrong), rooms)


def test_moulds_of_metal_and_paper_differ_from_silicone(piece, cooked, rooms):
    def time(material):
        cast = replace(piece, mould=Mould(**{**fields(piece.mould), "material": material}))
        return run_programme(cast, cooked, Programme(stages=(HARDEN,)), rooms).stages[0].time

    assert time("aluminium") < time("silicone")


def fields(mould):
    return {name: getattr(mould, name) for name in type(mould).__slots__}


def test_a_stage_that_did_not_change_is_remembered_and_one_after_it_is_the_same_as_if_all_were_run(
    piece, cooked, rooms
):
    memory = Memory()
    short = replace(THAW, ready=(273.15, 274.15))
    first = run_programme(piece, cooked, Programme(stages=(HEART, HARDEN, KEEP, THAW)), rooms, memory=memory)
    second = run_programme(piece, cooked, Programme(stages=(HEART, HARDEN, KEEP, short)), rooms, memory=memory)
    fresh = run_programme(piece, cooked, Programme(stages=(HEART, HARDEN, KEEP, short)), rooms)
    assert [a is b for a, b in zip(first.stages, second.stages, strict=True)] == [True, True, True, False]
    assert second.stages[-1].window == fresh.stages[-1].window
    np.testing.assert_array_equal(second.stages[-1].curve.core, fresh.stages[-1].curve.core)


WHOLE = Programme(stages=(HEART, HARDEN, KEEP, THAW))


@pytest.fixture(scope="session")
def whole(piece, cooked, rooms) -> ColdRun:
    return run_programme(piece, cooked, whole_life(WHOLE, rooms, 295.15, coated=True), rooms)


def test_what_nobody_writes_is_put_in_between_and_marked(whole):
    assert [(run.stage.what, run.stage.assumed) for run in whole.stages] == [
        ("harden heart", False),
        ("harden piece", False),
        ("even out", True),
        ("dip and spray", True),
        ("keep", False),
        ("thaw", False),
        ("table", True),
    ]
    assert [run.room.name for run in whole.stages[2:]] == ["store", "bench", "store", "fridge", "dining room"]
    assert any("is not in the file" in words for words in whole.stage("table").assumed)


def test_what_is_written_is_left_alone(rooms):
    dip, table = Stage(what="dip and spray", room="bench"), Stage(what="table", room="bench")
    for stages in ((HARDEN,), (HEART, HARDEN), (THAW, table), (HARDEN, dip, KEEP), (HARDEN, STAND, KEEP), (KEEP,)):
        assert whole_life(Programme(stages=stages), rooms, 295.15, coated=True).stages == stages
    bare = whole_life(WHOLE, rooms, 295.15, coated=False)
    assert [stage.what for stage in bare.stages] == ["harden heart", "harden piece", "keep", "thaw", "table"]
    assert whole_life(whole_life(WHOLE, rooms, 295.15, coated=True), rooms, 295.15, coated=True) == whole_life(
        WHOLE, rooms, 295.15, coated=True
    )


def test_the_field_is_carried_from_stage_to_stage(whole):
    _, harden, even, dip, keep, thaw, table = whole.stages
    assert even.started_at == pytest.approx(harden.ended[1], abs=0.05)
    assert dip.started_at == pytest.approx(even.ended[1], abs=0.05)
    assert keep.started_at > dip.ended[1]  # warmer by its coats
    assert thaw.started_at == pytest.approx(253.15, abs=0.2)
    assert thaw.time == thaw.window.opens
    assert table.started_at == pytest.approx(thaw.ended[1], abs=0.05)  # taken out when it is ready
    assert table.curve.core[0] == pytest.approx(272.15, abs=0.1)


def test_the_heat_of_the_coats_goes_into_the_piece_to_the_last_joule(piece, cooked, rooms):
    stages = (HEART, HARDEN, KEEP)
    thing = opening(piece, cooked, Programme(stages=stages), rooms, "keep").thing
    for heat in (0.0, 500.0, 1500.0, 6000.0):
        before = thing.snapshot()
        content = [float((b.grid.volume * s.heat).sum()) for b, s in both(thing)]
        thing.take(heat)
        gained = [float((b.grid.volume * s.heat).sum()) - c for (b, s), c in zip(both(thing), content, strict=True)]
        assert gained == pytest.approx([heat, heat], abs=1e-6 * max(heat, 1.0))
        if heat:
            assert thing.surface > before.surface
        thing.restore(before)


def both(thing):
    return ((thing.fine, thing.fine_state), (thing.coarse, thing.coarse_state))


def test_the_outer_layer_is_10_mm_deep(piece, cooked, rooms):
    body = opening(piece, cooked, Programme(stages=(HARDEN,)), rooms, "harden piece").thing.fine
    outer = outer_cells(body)
    share = float(body.grid.volume[outer].sum()) / body.grid.total_volume
    # Of a sphere with the volume of 80 ml: 1 - ((26.7 - 10)/26.7)^3.
    assert share == pytest.approx(1 - ((26.7 - 10) / 26.7) ** 3, abs=0.03)
    assert outer[-1].sum() <= (body.grid.volume[-1] > 0).sum()
    assert not outer[0, len(body.grid.z) // 2]  # the middle is no surface, though it lies on the axis


def test_marks_have_bands_and_name_their_weakest_input(whole):
    wanted = {
        "harden heart": {"demouldable"},
        "harden piece": {"demouldable", "dippable"},
        "even out": {"dippable"},
        "dip and spray": {"too soft to dip", "rime", "frost"},
        "table": {"past its best", "slumps"},
    }
    for run in whole.stages:
        assert set(run.marks) == wanted.get(run.stage.what, set())
        for mark in run.marks.values():
            assert mark.weakest
            if mark.time is not None:
                assert mark.low <= mark.time
                assert mark.high is None or mark.time <= mark.high
    harden = whole.stage("harden piece")
    assert harden.marks["demouldable"].time < harden.time
    bench = whole.stage("dip and spray")
    # Out of the freezer the surface is at −12 °C in 2 to 6 min, and frost is seen in half to two (common practice).
    assert 120 < bench.marks["too soft to dip"].time < 600
    assert 30 < bench.marks["rime"].time < 120
    assert bench.marks["rime"].time < bench.marks["frost"].time


def test_a_warmer_bench_leaves_less_time(piece, cooked, rooms):
    def marks(air, humidity):
        room = Room(name="bench", air=air, humidity=humidity)
        dip = Stage(what="dip and spray", own_room=room, duration=240.0)
        return run_programme(piece, cooked, Programme(stages=(HARDEN, dip)), rooms).stages[1].marks

    cool, warm, damp = marks(288.15, 0.5), marks(299.15, 0.5), marks(299.15, 0.8)
    for name in ("too soft to dip", "rime", "frost"):
        assert cool[name].time > warm[name].time > damp[name].time


def test_a_window_of_the_body_narrows_that_of_the_core(piece, cooked, rooms):
    def window(**change):
        stages = (replace(THAW, at_most=20 * 3600.0, **change),)
        return run_programme(piece, cooked, Programme(stages=stages), rooms).stages[0].window

    core = window()
    same = window(ready_body=(200.0, 300.0))
    assert same.opens == pytest.approx(core.opens, rel=2e-3)
    assert same.closes == pytest.approx(core.closes, rel=5e-3)
    late = window(ready_body=(274.15, 300.0))
    early = window(ready_body=(200.0, 273.9))
    assert late.opens > core.opens
    assert early.closes < core.closes


def test_dew_dries_off_again_and_none_settles_above_the_dew_point():
    time = np.linspace(0, 4 * 3600, 200)
    surface = np.minimum(255.15 + time / 300, 276.15)
    film = settled(time, surface, 276.15, 0.6, 5.0)
    assert film.max() > 0.002
    assert film[-1] < film.max()
    assert (settled(time, np.full(200, 275.0), 276.15, 0.6, 5.0) == 0).all()
    more = settled(time, surface, 276.15, 0.9, 5.0)
    assert (more >= film).all()


def test_frost_on_a_held_surface_is_that_of_the_plain_model():
    # Published analogy, held surface: 105 s to 5 g/m² at -20 °C in air of 20 °C and 50 % (lewis-relation).
    time = np.linspace(0, 105, 50)
    film = settled(time, np.full(50, 253.15), 293.15, 0.5, natural_convection(253.15, 293.15, 0.053))
    assert film[-1] == pytest.approx(0.005, rel=0.02)


def test_a_piece_is_not_dipped_twice(piece, cooked, rooms):
    dip = Stage(what="dip and spray", room="bench", duration=240.0)
    with pytest.raises(BadInput, match="twice"):
        run_programme(piece, cooked, Programme(stages=(HARDEN, dip, dip)), rooms)


def test_a_programme_that_never_ends_is_ended(piece, cooked):
    # −17 °C in air of −16.99 °C from below: the end is never met, and the run must stop by itself.
    room = Room(name="limbo", air=256.16, surface=0.5)
    stage = Stage(what="harden piece", own_room=room, until=Until(place="core", temperature=256.15))
    run = run_programme(piece, cooked, Programme(stages=(stage,), grid=0.002), ()).stages[0]
    assert run.time is None
    assert run.weakest


@pytest.mark.parametrize("air", [-1.0, 0.0, float("nan"), float("inf")])
def test_air_that_cannot_be_is_refused(piece, cooked, air):
    with pytest.raises(BadInput):
        run_programme(piece, cooked, Programme(stages=(replace(HARDEN, own_room=Room(name="x", air=air)),)), ())


@pytest.mark.parametrize("filled", [-4.0, 0.0, float("nan")])
def test_a_filling_that_cannot_be_is_refused(piece, cooked, rooms, filled):
    with pytest.raises(BadInput):
        run_programme(piece, cooked, Programme(stages=(HARDEN,)), rooms, filled_at={"ganache": filled})


def test_a_wall_of_less_than_nothing_is_refused(piece, cooked, rooms):
    thin = replace(piece, mould=replace(piece.mould, wall=-0.001))
    with pytest.raises(BadInput, match="-1 mm thick"):
        run_programme(thin, cooked, Programme(stages=(HARDEN,)), rooms)


def test_a_window_of_softness_is_that_of_the_temperatures_with_as_much_ice(piece, cooked, rooms):
    """In air that is hardly warmer a piece is the same all through: softness and temperature say one thing."""
    slow = Room(name="slow", air=272.65, surface=0.6)
    layer = piece.layer("heart")
    # As it lies in the piece: a frozen heart has grown.
    table = thermal_table(layer.composition.vector, layer.mass / volume(layer.outline))
    cold, warm = (brentq(lambda t, share=share: ice_volume(table, t) - share, 250.0, 272.0) for share in (0.45, 0.30))

    def window(**more):
        stage = Stage(what="thaw", room="slow", at_most=5 * 86400.0, **more)
        return run_programme(piece, cooked, Programme(stages=(stage,), grid=0.002), (slow,)).stages[0].window

    soft = window(softened=(Softened(layer="heart", most=0.45, least=0.30),))
    told = window(ready=(cold, warm))
    assert soft.opens == pytest.approx(told.opens, rel=0.02)
    assert soft.closes == pytest.approx(told.closes, rel=0.02)
    assert soft.opens_low < soft.opens < soft.opens_high
    assert soft.closes_low < soft.closes < soft.closes_high


def test_softness_of_heart_and_body_are_waited_for_together(piece, cooked, rooms):
    heart = Softened(layer="heart", most=0.30, least=0.02)
    body = Softened(layer="body", most=0.12, least=0.0)

    def window(*softened, **more):
        stage = replace(THAW, ready=None, softened=softened, **more)
        run = run_programme(piece, cooked, Programme(stages=(stage,)), rooms).stages[0]
        return run, run.window

    run, both = window(heart, body)
    alone = [window(one)[1] for one in (heart, body)]
    assert both.opens == pytest.approx(max(one.opens for one in alone))
    assert both.closes == pytest.approx(alone[0].closes)
    assert alone[1].closes is None  # after “thawed” nothing closes it
    # The piece is taken out when the window opens.
    assert run.time == both.opens
    assert run.ended[0] == pytest.approx(np.interp(both.opens, run.curve.time, run.curve.core), abs=0.05)
    # The curve of the heart's ice, which the solver follows by itself, then has as much as was waited for.
    run, only = window(heart)
    layer = piece.layer("heart")
    ice = np.interp([only.opens, only.closes], run.curve.time, run.curve.heart_ice)
    assert ice * layer.mass / ICE_DENSITY / volume(layer.outline) == pytest.approx([0.30, 0.02], abs=0.004)
    with pytest.raises(BadInput, match="no heart"):
        run_programme(
            replace(piece, layers=tuple(one for one in piece.layers if one.role != "heart")),
            cooked,
            Programme(stages=(replace(THAW, ready=None, softened=(heart,)),)),
            rooms,
        )
