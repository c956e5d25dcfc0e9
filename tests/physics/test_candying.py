"""Candying: balances to the last digit, exact series, convergence, printed facts, habits of the trade and trends."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from demoule.composition import Composition, Constituent
from demoule.errors import BadInput, UnknownName
from demoule.physics import candy_course
from demoule.physics.candy_course import Fruit, SyrupStage
from demoule.physics.candy_shapes import KINDS, piece_shape
from demoule.physics.candying import candied_compositions, candy, candying_time, end_state
from demoule.physics.diffusion import finite_bath_uptake, sugar_diffusivity, water_self_diffusivity
from demoule.physics.solubility import sucrose_solubility
from demoule.physics.tissue import COOKED, RAW, Tissue, tissue_diffusivity, tissue_for

C = Constituent
WEDGE = piece_shape("wedge", 0.016)
HOUR = 3600.0


def fruit(**change):
    return Fruit(**({"mass": 1.0, "soluble_solids": 0.12, "shape": WEDGE} | change))


def syrup(**change):
    return SyrupStage(**({"duration": 4 * HOUR, "temperature": 358.15, "mass": 2.0, "solids": 0.65} | change))


# --- shapes -----------------------------------------------------------------------------------------------------------


def test_simple_bodies_keep_their_own_dimension():
    assert piece_shape("slice", 0.008).dimension == 1.0
    assert piece_shape("sphere", 0.03).dimension == 3.0
    # A very long cylinder and a very wide coin come to 2 and 1.
    assert piece_shape("cylinder", 1.0, lengths=(0.01,)).dimension == pytest.approx(2.0, abs=0.03)
    assert piece_shape("coin", 0.005, lengths=(2.0,)).dimension == pytest.approx(1.0, abs=0.02)


def test_half_a_sphere_and_wedges_have_their_exact_first_mode():
    # Half a sphere: first zero of j_1, 4.4934; a quarter: of j_2, 5.7635 (zeros of spherical Bessel functions, tables).
    for angle, zero in ((math.pi, 4.493409), (math.pi / 2, 5.763459)):
        volume, area = 2 / 3 * angle, 2 * angle + math.pi
        kind = "half" if angle == math.pi else "wedge"
        shape = piece_shape(kind, 2.0 * math.sin(angle / 2) / 100 if kind == "wedge" else 0.02, fruit_diameter=0.02)
        m = shape.dimension
        assert m * volume / area / 100 == pytest.approx(shape.radius, rel=1e-6)
        assert (candy_shapes_zero(m / 2 - 1) / m) ** 2 == pytest.approx((zero * volume / area) ** 2, rel=1e-5)


def candy_shapes_zero(order):
    from demoule.physics.candy_shapes import first_bessel_zero

    return first_bessel_zero(order)


def test_the_skin_of_a_half_is_its_round_side():
    assert piece_shape("half", 0.04).skin_share == pytest.approx(2 / 3)
    assert piece_shape("slice", 0.01).skin_share == 0.0


@pytest.mark.parametrize(("kind", "size"), [("cube", 0.0), ("cube", -0.01), ("slice", 5.0)])
def test_a_piece_without_a_size_is_refused(kind, size):
    with pytest.raises(BadInput):
        piece_shape(kind, size)


def test_an_unknown_shape_is_answered_with_the_nearest():
    with pytest.raises(UnknownName) as raised:
        piece_shape("wegde", 0.01)
    assert raised.value.hint == "wedge"
    with pytest.raises(BadInput, match="cannot come"):
        piece_shape("wedge", 0.05, fruit_diameter=0.04)


# --- the tissue -------------------------------------------------------------------------------------------------------


def test_diffusivity_of_tissue_lies_in_the_printed_range_and_below_free_sugar():
    for t in (333.15, 348.15, 363.15):
        assert 2.9e-10 < float(tissue_diffusivity(COOKED, 0.0, t)) < 8.1e-10  # carrot, 60 to 90 °C (selman-1983)
        for x in (0.0, 0.3, 0.6):
            assert float(tissue_diffusivity(COOKED, x, t)) <= float(sugar_diffusivity(C.SUCROSE, t))
    energy = 8.314462618 * math.log(
        float(tissue_diffusivity(COOKED, 0.0, 363.15)) / float(tissue_diffusivity(COOKED, 0.0, 333.15))
    )
    assert energy / (1 / 333.15 - 1 / 363.15) == pytest.approx(28_200, rel=0.01)
    # Slowed as the viscosity to the power 0.4 (recalled): pinned, so that a changed exponent shows.
    from demoule.physics.viscosity import viscosity_of_sucrose_solution as mu

    ratio = float(tissue_diffusivity(COOKED, 0.6, 353.15) / tissue_diffusivity(COOKED, 0.0, 353.15))
    assert ratio == pytest.approx(float(mu(0.0, 353.15) / mu(0.6, 353.15)) ** 0.4, rel=1e-9)


def test_first_guesses_are_pinned():
    # 8e-10 m2/s and 1.5 kg/kg cooked, 1.4e-10 and 4.5 raw (judged inside printed ranges); volumes by 1590 and 1000.
    assert (COOKED.diffusivity_at_90, COOKED.water_per_sugar, COOKED.spread) == (8e-10, 1.5, 3.0)
    assert (RAW.diffusivity_at_90, RAW.water_per_sugar, RAW.spread) == (1.4e-10, 4.5, 4.0)
    assert tissue_for(338.15).diffusivity_at_90 == pytest.approx((8e-10 * 1.4e-10) ** 0.5)
    assert tissue_for(338.15).water_per_sugar == pytest.approx(3.0)
    assert tissue_for(328.15) == RAW
    assert tissue_for(338.15).spread == 4.0
    # Never faster than sucrose in water: a tissue near that is capped.
    fast = Tissue(diffusivity_at_90=3.0e-9)
    assert float(tissue_diffusivity(fast, 0.0, 363.15)) == pytest.approx(float(sugar_diffusivity(C.SUCROSE, 363.15)))


def test_habits_of_shapes_and_fruit_are_pinned():
    # Judged: 3 % of frame, 1040 kg/m3; a stick four edges long, a box 1:2:3, a coin three heights wide, eight wedges.
    assert (fruit().insoluble, fruit().density) == (0.03, 1040.0)
    for kind, lengths in (("stick", (0.04,)), ("box", (0.02, 0.03)), ("coin", (0.03,)), ("cylinder", (0.01,))):
        assert piece_shape(kind, 0.01) == piece_shape(kind, 0.01, lengths=lengths)
    whole = 0.016 / (2 * math.sin(math.pi / 8)) * 2
    assert piece_shape("wedge", 0.016, fruit_diameter=whole).radius == pytest.approx(WEDGE.radius)
    # Plain sugar stays clear to half a point above its table, and a syrup must keep some water.
    limit = float(sucrose_solubility(293.15))
    assert candy(fruit(), [syrup(temperature=293.15, solids=limit + 0.0049)]).syrup_solids[0] == pytest.approx(
        limit + 0.0049
    )
    with pytest.raises(BadInput, match="stay clear"):
        candy(fruit(), [syrup(temperature=293.15, solids=limit + 0.0051)])
    for t, ok in ((263.2, True), (263.1, False), (388.1, True), (388.2, False)):
        if ok:
            assert candy(fruit(), [syrup(temperature=t, solids=0.5)]).time[-1] > 0
        else:
            with pytest.raises(BadInput):
                candy(fruit(), [syrup(temperature=t, solids=0.5)])


@pytest.mark.parametrize(
    ("change", "stretched"),
    [
        ({"size": 0.0031}, False),
        ({"size": 0.0029}, True),
        ({"size": 0.0499}, False),
        ({"size": 0.0501}, True),
        ({"temperature": 293.3}, False),
        ({"temperature": 293.0}, True),
        ({"temperature": 378.0}, False),
        ({"temperature": 378.3}, True),
        ({"solids": 0.749}, False),
        ({"solids": 0.751}, True),
        ({"mass": 1.01}, False),
        ({"mass": 0.99}, True),
    ],
)
def test_the_range_of_candying_is_as_stated(change, stretched):
    size = change.pop("size", 0.01)
    stage = {"duration": 60.0, "saturation": 0.9, "solids": 0.6} | change
    assert candy(fruit(shape=piece_shape("slice", size)), [syrup(**stage)], points=3).stretched is stretched


def test_printed_values_faster_than_water_itself_are_refused():
    # 5.48e-8 and 9.27e-9 m2/s stand in print for cherries; water's own is 2.3e-9 at 25 °C.
    for value in (5.48e-8, 9.27e-9):
        with pytest.raises(BadInput, match="water itself"):
            Tissue(diffusivity_at_90=value)
    assert float(water_self_diffusivity(298.15)) == pytest.approx(2.3e-9, rel=0.01)


def test_heat_and_blanching_open_the_tissue():
    assert tissue_for(298.15) == RAW
    assert tissue_for(358.15) == COOKED == tissue_for(298.15, blanched=True)
    # Beet opens all its cells at 75 °C; raw takes a tenth to a third of the speed and gives 3 to 6 times the water.
    assert tissue_for(348.15) == COOKED
    assert 0.1 <= RAW.diffusivity_at_90 / COOKED.diffusivity_at_90 <= 0.3
    assert 3 <= RAW.water_per_sugar <= 6
    assert 1 <= COOKED.water_per_sugar <= 2
    between = [tissue_for(273.15 + t).diffusivity_at_90 for t in (55, 60, 65, 70, 75)]
    assert between == sorted(between)


# --- the end and the balances -----------------------------------------------------------------------------------------


def test_the_end_by_hand():
    # Twice its mass of 65 °Bx on fruit of 12 °Bx: (0.12 + 1.30)/3 = 47.3 °Bx (mass balance).
    whole = fruit(insoluble=0.0)
    assert end_state(whole, 2.0, 0.65).solids == pytest.approx(1.42 / 3, abs=1e-12)
    # Mass end over start with 4 % of frame: r 1 1.00, r 1.5 0.863, r 2.5 0.702 of what the liquid loses.
    for r, left in ((1.0, 1.0), (1.5, 0.863), (2.5, 0.702)):
        framed = fruit(mass=1 / 0.96, insoluble=0.04, tissue=Tissue(water_per_sugar=r))
        assert 1 + end_state(framed, 2.0, 0.65).mass_change == pytest.approx(left, abs=7e-4)


@settings(max_examples=25, deadline=None)
@given(
    x0=st.floats(0.05, 0.30),
    solids=st.floats(0.35, 0.68),
    ratio=st.floats(0.8, 5.0),
    r=st.floats(0.8, 4.0),
    kind=st.sampled_from(KINDS),
    size=st.floats(0.006, 0.03),
    hours=st.floats(0.2, 30.0),
)
def test_sugar_water_and_trends(x0, solids, ratio, r, kind, size, hours):
    lot = fruit(soluble_solids=x0, shape=piece_shape(kind, size), tissue=Tissue(water_per_sugar=r))
    course = candy(lot, [syrup(duration=hours * HOUR, mass=ratio, solids=solids)], points=12)
    frame = lot.mass * lot.insoluble
    sugar = (course.fruit_mass - frame) * course.fruit_solids + course.syrup_mass * course.syrup_solids
    assert np.ptp(course.fruit_mass + course.syrup_mass) < 1e-9
    assert np.ptp(sugar) < 1e-9
    assert course.end.solids == pytest.approx(end_state(lot, ratio, solids).solids, abs=1e-9)
    assert course.end.fruit_mass == pytest.approx(end_state(lot, ratio, solids).fruit_mass, abs=1e-9)
    assert course.end.syrup_mass == pytest.approx(end_state(lot, ratio, solids).syrup_mass, abs=1e-9)
    assert (np.diff(course.fruit_solids) > -1e-5).all() or x0 > solids  # the piece rises
    assert (np.diff(course.syrup_solids) < 1e-5).all() or x0 > solids  # the syrup falls
    if r > 1 and x0 < solids:
        assert course.fruit_mass[-1] < lot.mass  # it loses more water than it takes sugar
    assert course.low[0] - 2e-5 <= course.fruit_solids[-1] <= course.high[0] + 2e-5
    assert end_state(lot, ratio * 1.5, solids).solids > end_state(lot, ratio, solids).solids or x0 > solids


def test_both_come_to_one_brix():
    course = candy(fruit(shape=piece_shape("slice", 0.004)), [syrup(duration=30 * HOUR)])
    assert course.fruit_solids[-1] == pytest.approx(course.end.solids, abs=1e-4)
    assert course.syrup_solids[-1] == pytest.approx(course.end.solids, abs=1e-4)
    assert course.share[-1] == pytest.approx(1.0, abs=1e-3)
    assert course.exchanged == pytest.approx(1.0, abs=1e-3)


@given(scale=st.floats(0.5, 2.0))
@settings(max_examples=6, deadline=None)
def test_time_goes_with_the_square_of_the_size(scale):
    one = candying_time(fruit(), syrup())[0]
    other = candying_time(fruit(shape=piece_shape("wedge", 0.016 * scale)), syrup())[0]
    assert other == pytest.approx(one * scale**2, rel=2e-3)


def test_hotter_thinner_and_softer_is_faster():
    here = candying_time(fruit(), syrup())[0]
    assert candying_time(fruit(), syrup(temperature=368.15))[0] < here
    assert candying_time(fruit(shape=piece_shape("wedge", 0.012)), syrup())[0] < here
    assert candying_time(fruit(tissue=Tissue(diffusivity_at_90=1.2e-9)), syrup())[0] < here
    # 25 °C is 7 to 9 times slower than 85 with the same tissue (worked apart).
    slow = candying_time(fruit(shape=piece_shape("slice", 0.008)), syrup(temperature=298.15, solids=0.62))[0]
    fast = candying_time(fruit(shape=piece_shape("slice", 0.008)), syrup(solids=0.62))[0]
    assert 7 < slow / fast < 9


def test_skin_slows_and_half_diffusivity_doubles_the_time():
    half = piece_shape("half", 0.04)
    assert candying_time(fruit(shape=half, skinned=True), syrup())[0] > candying_time(fruit(shape=half), syrup())[0]
    assert candying_time(fruit(skinned=True, shape=piece_shape("slice", 0.01)), syrup())[0] == pytest.approx(
        candying_time(fruit(shape=piece_shape("slice", 0.01)), syrup())[0]
    )
    one, other = (candying_time(fruit(tissue=Tissue(diffusivity_at_90=d)), syrup())[0] for d in (8e-10, 4e-10))
    assert other == pytest.approx(2 * one, rel=1e-3)


def test_skin_of_a_sphere_is_a_film_in_series():
    # A whole fruit in its skin, nearly all resistance in the skin: the flux is D_skin/thickness times the difference.
    shape = piece_shape("sphere", 0.004)
    tissue = Tissue(water_per_sugar=1.0)
    thick = fruit(shape=shape, tissue=tissue, skinned=True, soluble_solids=0.10, insoluble=0.0)
    course = candy(thick, [syrup(duration=4.0, temperature=353.15, mass=1000.0, solids=0.101)], points=2)
    d = float(tissue_diffusivity(tissue, 0.1, 353.15))
    bare = finite_bath_uptake("sphere", 1000.0, d * 4.0 / 0.002**2)
    film = 3 * 4.0 * d * 0.4 / 2.0e-4 / 0.002  # upper bound: no resistance of the flesh
    assert course.share[-1] < min(float(bare), film)
    # The flesh under a film of conductance k takes up by Bi = k R/D; first steps of Crank's surface evaporation series.
    biot = 0.4 / 2.0e-4 * 0.002
    roots = biot_roots(biot)
    series = 1 - np.sum(
        6 * biot**2 / (roots**2 * (roots**2 + biot * (biot - 1))) * np.exp(-(roots**2) * d * 4.0 / 0.002**2)
    )
    assert course.share[-1] == pytest.approx(series, rel=0.03)


def biot_roots(biot, count=40):
    """Roots of q cot q + L - 1 = 0 (crank-1975, sphere with surface resistance)."""
    from scipy.optimize import brentq

    return np.array(
        [
            brentq(lambda q: q / math.tan(q) + biot - 1, (n - 1) * math.pi + 1e-6, n * math.pi - 1e-6)
            for n in range(1, count + 1)
        ]
    )


def test_the_solver_converges_as_the_square_of_its_cells(monkeypatch):
    tissue = Tissue(water_per_sugar=1.0)
    shape = piece_shape("sphere", 0.010)
    d = float(tissue_diffusivity(tissue, 0.1005, 353.15))
    fo = 0.02
    exact = float(finite_bath_uptake("sphere", 2.0, fo))
    errors = []
    for cells in (10, 20, 40):
        monkeypatch.setattr(candy_course.Block.__init__, "__defaults__", (cells,))
        monkeypatch.setattr(candy_course, "CELLS", cells)
        lot = fruit(soluble_solids=0.10, insoluble=0.0, shape=shape, tissue=tissue)
        stage = syrup(duration=fo * shape.radius**2 / d, temperature=353.15, mass=2.0, solids=0.101)
        errors.append(abs(float(candy(lot, [stage], points=2).share[-1]) - exact))
    assert errors[0] / errors[1] > 3
    assert errors[1] / errors[2] > 2.5
    assert errors[2] < 1e-3


# --- several syrups ---------------------------------------------------------------------------------------------------


def test_days_in_rising_syrup_conserve_everything():
    days = [
        syrup(duration=24 * HOUR, temperature=293.15, solids=0.30),
        SyrupStage(duration=24 * HOUR, temperature=293.15, solids=0.45),
        SyrupStage(duration=24 * HOUR, temperature=293.15, solids=0.55, raised_by="boiling"),
    ]
    lot = fruit(tissue=COOKED)
    course = candy(lot, days)
    frame = lot.mass * lot.insoluble
    sugar = (course.fruit_mass - frame) * course.fruit_solids + course.syrup_mass * course.syrup_solids
    for day in range(3):
        part = slice(day * 60, (day + 1) * 60)
        assert np.ptp(sugar[part]) < 1e-9
        assert np.ptp((course.fruit_mass + course.syrup_mass)[part]) < 1e-9
    assert sugar[60] > sugar[59] + 0.1  # sugar was stirred in
    assert sugar[120] == pytest.approx(sugar[119], abs=1e-9)  # boiling takes water only
    assert course.syrup_mass[120] < course.syrup_mass[119]
    assert course.syrup_solids[[0, 60, 120]] == pytest.approx([0.30, 0.45, 0.55])
    assert (np.diff(course.fruit_solids) > -1e-5).all()


def test_evaporation_raises_both_and_is_counted():
    open_pan = candy(fruit(), [syrup(evaporates=1e-5)])
    lid_on = candy(fruit(), [syrup()])
    assert open_pan.evaporated == pytest.approx(1e-5 * 4 * HOUR)
    gone = (open_pan.fruit_mass + open_pan.syrup_mass)[0] - (open_pan.fruit_mass + open_pan.syrup_mass)[-1]
    assert gone == pytest.approx(open_pan.evaporated, abs=1e-9)
    assert open_pan.fruit_solids[-1] > lid_on.fruit_solids[-1]
    assert open_pan.end.solids == pytest.approx(end_state(fruit(), 2.0, 0.65, open_pan.evaporated).solids, abs=1e-9)


def test_three_waters_and_five_hours_candy_wedges_through():
    # Common practice, no source: wedges blanched three times and kept five hours at 85 to 90 °C come out candied
    # through. By the first guess the piece as a whole has then come nine tenths of the way, the middle of a wedge of
    # 16 mm more than half; on the fast side of the guess the middle is through as well.
    lot = fruit(tissue=tissue_for(360.65, blanched=True))
    course = candy(lot, [syrup(duration=5 * HOUR, temperature=360.65, mass=2.0, solids=0.60)])
    assert course.share[-1] > 0.9
    assert (course.profile[-1] - 0.12) / (course.end.solids - 0.12) > 0.5
    fast = candy(
        replace(lot, tissue=Tissue(diffusivity_at_90=1.2e-9)),
        [syrup(duration=5 * HOUR, temperature=360.65, mass=2.0, solids=0.60)],
    )
    assert (fast.profile[-1] - 0.12) / (fast.end.solids - 0.12) > 0.7


def test_a_plateau_after_two_and_a_half_hours_is_of_the_right_order():
    # Pumpkin, blanched, 75 to 95 °C, 65 to 75 °Bx: plateau at 150 min, size not told (lazou-2016); 10 mm taken.
    lot = fruit(shape=piece_shape("cube", 0.010), soluble_solids=0.08)
    time, low, high = candying_time(lot, syrup(mass=5.0, solids=0.70))
    assert low < 150 * 60 < high
    assert time == pytest.approx(150 * 60, rel=0.6)


def test_a_demo_apricot_comes_out_as_the_trade_expects():
    # Common practice, no source: wedges of 16 mm, 4 h at 85 °C in 2.4 times 56.7 °Bx: 42 % solids within five points,
    # light candied fruit 85 to 105 % of the mass. The model with its first guess gives more water away: see the page
    # on where model and trade disagree.
    course = candy(fruit(soluble_solids=0.12), [syrup(mass=2.4, solids=0.567)])
    assert course.fruit_solids[-1] == pytest.approx(0.42, abs=0.05)
    assert course.low[1] < 1.0
    assert course.high[1] > 0.80


# --- compositions -----------------------------------------------------------------------------------------------------

APRICOT = Composition.of(
    {C.WATER: 0.86, C.SUCROSE: 0.055, C.GLUCOSE: 0.022, C.FRUCTOSE: 0.012, C.FIBRE: 0.02, C.ACIDS: 0.031}
)
LIGHT = Composition.of({C.WATER: 0.433, C.SUCROSE: 0.50, C.GLUCOSE: 0.03, C.MALTOSE: 0.037})


@settings(max_examples=12, deadline=None)
@given(hours=st.floats(0.1, 40), ratio=st.floats(0.8, 4))
def test_every_constituent_is_conserved_between_fruit_and_syrup(hours, ratio):
    lot = fruit(soluble_solids=0.12 / 0.98, insoluble=0.02)
    course = candy(lot, [syrup(duration=hours * HOUR, mass=ratio, solids=0.567)], points=8)
    (f, f_mass), (s, s_mass) = candied_compositions(APRICOT, 1.0, LIGHT, ratio, course)
    before = APRICOT.vector + ratio * LIGHT.vector
    after = f_mass * f.vector + s_mass * s.vector
    assert after == pytest.approx(before, abs=1e-12)
    assert f_mass == pytest.approx(float(course.fruit_mass[-1]), abs=2e-3)
    assert f[C.FIBRE] * f_mass == pytest.approx(0.02)
    assert f[C.MALTOSE] > 0


def test_compositions_become_one_at_rest():
    lot = fruit(soluble_solids=0.12 / 0.98, insoluble=0.02, shape=piece_shape("slice", 0.003))
    course = candy(lot, [syrup(duration=60 * HOUR, solids=0.567)])
    (f, _), (s, _) = candied_compositions(APRICOT, 1.0, LIGHT, 2.0, course)
    for sugar in (C.SUCROSE, C.MALTOSE, C.ACIDS):
        assert f[sugar] / f[C.WATER] == pytest.approx(s[sugar] / s[C.WATER], rel=0.02)


def test_what_is_unknown_travels_into_the_syrup():
    guess = Composition.of({C.WATER: 0.9, C.UNKNOWN_SUGARS: 0.1}, unknown=[C.SUCROSE, C.GLUCOSE])
    course = candy(fruit(soluble_solids=0.1, insoluble=0.0), [syrup()])
    (f, _), (s, _) = candied_compositions(guess, 1.0, LIGHT, 2.0, course)
    assert 0 < s.unknown[C.SUCROSE] < f.unknown[C.SUCROSE] < 1


# --- refusals and bands -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("stages", "says"),
    [
        ([], "no syrup"),
        ([syrup(mass=None)], "no mass"),
        ([syrup(solids=1.3)], "130%"),
        ([syrup(solids=None)], "no Brix"),
        ([syrup(solids=0.72, temperature=293.15)], "stay clear"),
        ([syrup(duration=-1.0)], "not possible"),
        ([syrup(evaporates=-1e-5)], "not possible"),
        ([syrup(evaporates=1e-3)], "nearly dry"),
        ([syrup(temperature=450.0)], "177 °C"),
        ([syrup(), SyrupStage(duration=HOUR, temperature=353.15, solids=0.20)], "already"),
        ([syrup(), SyrupStage(duration=HOUR, temperature=353.15, solids=0.70, raised_by="magic")], "magic"),
    ],
)
def test_impossible_syrups_are_refused(stages, says):
    with pytest.raises(BadInput, match=says) as raised:
        candy(fruit(), stages)
    assert raised.value.remedy


def test_a_mixture_may_say_its_own_saturation():
    assert candy(fruit(), [syrup(solids=0.72, temperature=293.15, saturation=0.78)]).syrup_solids[0] == pytest.approx(
        0.72
    )


@pytest.mark.parametrize("change", [{"mass": 0.0}, {"soluble_solids": 1.3}, {"insoluble": 1.0}, {"mass": -1.0}])
def test_impossible_fruit_is_refused(change):
    with pytest.raises(BadInput):
        fruit(**change)


@pytest.mark.parametrize("share", [0.0, 1.0, -0.1, 1.5])
def test_no_one_waits_for_ever(share):
    with pytest.raises(BadInput):
        candying_time(fruit(), syrup(), share)


def test_the_band_is_that_of_the_tissue():
    time, low, high = candying_time(fruit(), syrup())
    assert (time / low, high / time) == pytest.approx((3.0, 3.0))
    learned = fruit(tissue=Tissue(spread=1.25, learned_from="one weighing"))
    time, low, high = candying_time(learned, syrup())
    assert (time / low, high / time) == pytest.approx((1.25, 1.25))
    wide, narrow = candy(fruit(), [syrup()]), candy(learned, [syrup()])
    assert narrow.high[0] - narrow.low[0] < wide.high[0] - wide.low[0]


def test_the_band_of_stages_agrees_with_that_of_one_run():
    once = candy(fruit(), [syrup()])
    staged = candy(fruit(), [syrup(duration=2 * HOUR), SyrupStage(duration=2 * HOUR, temperature=358.15)])
    assert staged.fruit_solids[-1] == pytest.approx(once.fruit_solids[-1], abs=2e-5)
    assert staged.low[0] == pytest.approx(once.low[0], abs=2e-4)
    assert staged.high[0] == pytest.approx(once.high[0], abs=2e-4)


def test_outside_its_range_it_says_so():
    assert not candy(fruit(), [syrup()]).stretched
    assert candy(fruit(), [syrup(mass=0.3)]).stretched
    assert candy(fruit(shape=piece_shape("cube", 0.09)), [syrup()]).stretched
    assert any(b.stretched for b in candy(fruit(), [syrup(mass=0.3)]).basis)


def test_raw_fruit_in_strong_syrup_is_warned_of():
    rules = {f.rule for f in candy(fruit(tissue=RAW), [syrup(temperature=298.15, solids=0.60)]).findings}
    assert "fruit shrivels in strong syrup" in rules
    assert not candy(fruit(), [syrup()]).findings
    for step, r, said in ((0.199, 4.5, False), (0.201, 4.5, True), (0.3, 2.49, False), (0.3, 2.51, True)):
        lot = fruit(tissue=Tissue(diffusivity_at_90=1.4e-10, water_per_sugar=r))
        course = candy(lot, [syrup(temperature=298.15, solids=0.12 + step, duration=60.0)], points=3)
        assert bool([f for f in course.findings if f.rule == "fruit shrivels in strong syrup"]) is said
    small = candy(fruit(tissue=Tissue(water_per_sugar=2.5)), [syrup(duration=40 * HOUR)])
    assert small.volume < 0.7
    assert "fruit shrinks" in {f.rule for f in small.findings}
    open_pan = candy(fruit(), [syrup(duration=1200.0, evaporates=4e-4, saturation=0.66)])
    assert "syrup grains" in {f.rule for f in open_pan.findings}


def test_time_to_reads_the_last_syrup():
    course = candy(fruit(), [syrup()])
    half = course.time_to(0.5)
    assert half == pytest.approx(candying_time(fruit(), syrup(), 0.5)[0], rel=0.01)
    assert course.time_to(0.999) is None


def test_volume_follows_what_goes_in_and_out():
    course = candy(fruit(density=1000.0), [syrup()])
    expected = 1 + (course.sugar_gained / 1590 - course.water_lost / 1000) * 1000
    assert course.volume == pytest.approx(expected, rel=1e-9)
    assert replace(COOKED, spread=2.0).spread == 2.0
