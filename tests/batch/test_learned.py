"""What a kitchen weighed, and what its models go by from then on."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from demoule.batch import (
    CandyingTest,
    CupTest,
    DipTest,
    GunTest,
    OneDip,
    PanTest,
    learned_here,
    plain_kitchen,
    shells_learned,
    sprays_learned,
    surroundings,
)
from demoule.errors import BadInput, UnknownName
from demoule.files import demo
from demoule.formula import Pan
from demoule.formula.evaporation import pan_area
from demoule.larder import standard_larder
from demoule.physics.candy_course import Fruit, SyrupStage
from demoule.physics.candy_shapes import piece_shape
from demoule.physics.candying import candy
from demoule.physics.tissue import COOKED
from demoule.piece.design import Dip, Spray
from demoule.units import kelvin
from demoule.worked import work_up

DIPS = DipTest(
    name="white",
    dips=(OneDip(duration=2.0, pieces=5, gained=0.0275),),
    bath=kelvin(34),
    piece=kelvin(-20),
    component="coating",
    dessert="Apricot",
    fat=0.608,
    mould="apricot 80 ml",
    weighs=0.064,
    measured="12 November",
)


@pytest.fixture(scope="module")
def walled():
    desserts, kitchen, _ = demo()
    return {one.name: one for one in desserts}, kitchen


def with_tests(kitchen, *tests):
    return replace(kitchen, measurements=tests)


def shell_of(dessert, kitchen):
    return work_up(dessert, kitchen).piece.layer("shell")


def test_the_same_dip_comes_out_as_it_was_weighed(walled):
    desserts, kitchen = walled
    for gained in (0.020, 0.0275, 0.045):
        test = replace(DIPS, dips=(OneDip(duration=2.0, pieces=5, gained=gained),))
        shell = shell_of(desserts["Apricot"], with_tests(kitchen, test))
        assert shell.mass == pytest.approx(gained / 5, rel=0.01)
        assert shell.learned == "5 test dips on 12 November"
        # Near the test a tenth either way.
        assert shell.thickness_high / shell.thickness == pytest.approx(1.10)


def test_a_test_in_another_coating_is_used_with_a_wider_band_and_one_in_its_own_wins(walled):
    desserts, kitchen = walled
    far = shell_of(desserts["Chestnut"], with_tests(kitchen, DIPS))
    alone = shell_of(desserts["Chestnut"], with_tests(kitchen))
    assert alone.learned == ""
    assert alone.thickness_high / alone.thickness == pytest.approx(1.5)
    assert far.thickness < alone.thickness
    assert far.thickness_high / far.thickness == pytest.approx(1.15)
    own = replace(
        DIPS, name="dark", dessert="Chestnut", fat=None, mould="chestnut 60 ml", bath=kelvin(36), weighs=0.047
    )
    near = shell_of(desserts["Chestnut"], with_tests(kitchen, DIPS, own))
    assert near.mass == pytest.approx(0.0055, rel=0.02)


def test_two_times_part_the_film_from_what_freezes_on(walled):
    desserts, kitchen = walled
    both = replace(
        DIPS,
        dips=(OneDip(duration=1.0, pieces=5, gained=0.024), OneDip(duration=6.0, pieces=5, gained=0.035)),
    )
    (factors,) = shells_learned(
        with_tests(kitchen, both),
        desserts["Apricot"].piece.skins[:1],
        work_up(desserts["Apricot"], kitchen).cooked,
        dessert="Apricot",
    ).values()
    assert factors.film < factors.freeze_on
    assert (factors.shortest, factors.longest) == (1.0, 6.0)
    assert factors.learned_from.startswith("10 test dips")


def test_a_factor_kept_in_the_kitchen_counts_where_no_test_is(walled):
    from demoule.batch import Calibration

    desserts, kitchen = walled
    kept = replace(kitchen, measurements=(), calibrations=(Calibration(what="dip", factor=0.5, measured="last year"),))
    alone, halved = (shell_of(desserts["Apricot"], one) for one in (with_tests(kitchen), kept))
    assert halved.thickness == pytest.approx(alone.thickness / 2)
    assert halved.learned == "last year"


def test_dips_of_no_known_size_or_mould_are_refused(walled):
    desserts, kitchen = walled
    with pytest.raises(UnknownName, match="apricto"):
        work_up(desserts["Apricot"], with_tests(kitchen, replace(DIPS, mould="apricto")))
    with pytest.raises(BadInput, match="how large") as caught:
        work_up(desserts["Apricot"], with_tests(kitchen, replace(DIPS, mould="")))
    assert "calibrations.white" in caught.value.places
    area = replace(DIPS, mould="", area=0.0090)
    assert shell_of(desserts["Apricot"], with_tests(kitchen, area)).mass == pytest.approx(0.0055, rel=0.05)


def candying(factor: float, ratio: float = 1.5) -> CandyingTest:
    """What a fruit whose flesh is so many times as quick would have read after two hours."""
    tissue = replace(COOKED, diffusivity_at_90=factor * COOKED.diffusivity_at_90, water_per_sugar=ratio)
    fruit = Fruit(mass=0.5, soluble_solids=0.12, shape=piece_shape("wedge", 0.016), tissue=tissue)
    read = candy(fruit, [SyrupStage(duration=7200.0, temperature=kelvin(85), mass=1.0, solids=0.57)])
    return CandyingTest(
        name="apricots",
        fruit=0.5,
        fruit_solids=0.12,
        syrup=1.0,
        syrup_solids=0.57,
        at=kelvin(85),
        duration=7200.0,
        piece="wedge",
        size=0.016,
        fruit_after=float(read.fruit_mass[-1]),
        solids_after=float(read.fruit_solids[-1]),
        measured="2 March",
    )


@pytest.mark.parametrize("factor", [0.5, 1.0, 1.8])
def test_one_weighing_and_one_reading_give_the_flesh_back(factor):
    kitchen = with_tests(plain_kitchen(standard_larder()), candying(factor, ratio=1.2))
    ((component, tissue),) = learned_here(kitchen).tissues
    assert component == ""
    assert tissue.diffusivity_at_90 / COOKED.diffusivity_at_90 == pytest.approx(factor, rel=0.02)
    assert tissue.water_per_sugar == pytest.approx(1.2, rel=1e-3)
    assert "2 March" in tissue.learned_from


def test_what_candying_taught_moves_time_band_and_words_of_the_dessert(walled):
    desserts, kitchen = walled
    slow = work_up(desserts["Apricot"], with_tests(kitchen, candying(0.5))).cooked["candied apricot"]
    first = work_up(desserts["Apricot"], with_tests(kitchen)).cooked["candied apricot"]

    def reading(cooked, key):
        return next(one.figure for one in cooked.readings if one.key == key)

    assert reading(slow, "candy_time_90").value > 1.7 * reading(first, "candy_time_90").value
    now, before = (reading(one, "candy_time_90") for one in (slow, first))
    assert now.high / now.value < before.high / before.value
    assert "500 g of fruit after 2 h in syrup on 2 March" in now.measured
    assert before.measured == ""
    other = with_tests(kitchen, replace(candying(0.5), component="pears"))
    assert work_up(desserts["Apricot"], other).cooked["candied apricot"].readings == first.readings


def test_a_pot_weighed_twice_scales_what_goes_off_every_pan(walled):
    _, kitchen = walled
    pan = Pan(name="24 cm pan", open_area=pan_area(0.24))
    usual = 40.0 / 3600 * pan.open_area * 300.0  # a rolling boil by habit, 40 kg/(m2 h)
    test = PanTest(name="pan", pan=pan, off=1.5 * usual, duration=300.0, measured="May")
    assert learned_here(with_tests(kitchen, test)).evaporation == pytest.approx(1.5)
    assert dict(surroundings(with_tests(kitchen, test)).factors)["evaporation"] == pytest.approx(1.5)
    half = replace(test, off=0.75 * usual)
    both = learned_here(with_tests(kitchen, test, half)).evaporation
    assert both == pytest.approx(math.sqrt(1.5 * 0.75))
    with pytest.raises(BadInput, match="times what such a pan loses"):
        learned_here(with_tests(kitchen, replace(test, off=10 * usual)))


def test_cups_tell_what_folding_loses(walled):
    desserts, kitchen = walled
    # Foam 0.50, base 1.04, mousse 0.72 g/ml, half and half: 18 % of the air is gone (by hand: 1 - 0.4274/0.5192).
    test = CupTest(name="cups", water=0.250, foam=0.1252, base=0.2605, mousse=0.1803, share=0.5)
    assert learned_here(with_tests(kitchen, test)).folding == pytest.approx(0.18, abs=0.01)
    mousse = next(one for one in desserts["Quince"].components if one.name == "quince mousse")
    free = replace(
        desserts["Quince"],
        components=tuple(replace(one, density=None) if one is mousse else one for one in desserts["Quince"].components),
    )
    airy = work_up(free, with_tests(kitchen, replace(test, mousse=0.1690))).cooked["quince mousse"]
    heavy = work_up(free, with_tests(kitchen, replace(test, mousse=0.2000))).cooked["quince mousse"]
    assert airy.density < heavy.density


def test_a_weighed_gun_counts_where_no_overspray_is_told(walled):
    desserts, kitchen = walled
    test = GunTest(name="gun", sprayed=0.030, landed=0.0135, pieces=10, component="", measured="May")
    told = desserts["Apricot"]
    free = replace(
        told,
        piece=replace(
            told.piece,
            skins=tuple(
                replace(skin, overspray=None) if isinstance(skin, Spray) else skin for skin in told.piece.skins
            ),
        ),
    )
    layer = work_up(free, with_tests(kitchen, test)).piece.layer("spray")
    assert layer.mass / layer.taken == pytest.approx(0.45)
    assert layer.learned == "10 pieces sprayed on May"
    assert work_up(free, with_tests(kitchen)).piece.layer("spray").mass / layer.mass == pytest.approx(1)
    stated = work_up(told, with_tests(kitchen, test)).piece.layer("spray")
    assert stated.mass / stated.taken == pytest.approx(0.6)
    assert stated.learned == ""
    own = replace(test, component="velvet", landed=0.018)
    assert sprays_learned(with_tests(kitchen, test, own), free.piece.skins)["velvet"].factor == pytest.approx(0.6)
    assert sprays_learned(with_tests(kitchen, test), (Dip(component="c", bath=kelvin(34)),)) == {}


def test_every_factor_is_told_with_the_measurement_it_came_from(walled):
    desserts, kitchen = walled
    worked = work_up(desserts["Apricot"], with_tests(kitchen, DIPS, candying(0.8)))
    told = {row.what: row.learned_from for row in worked.learned}
    assert told["coating: dip"] == "5 test dips on 12 November"
    assert "2 March" in told["candying"]
    strange = replace(DIPS, dips=(OneDip(duration=2.0, pieces=5, gained=0.0120),))
    worked = work_up(desserts["Apricot"], with_tests(kitchen, strange))
    assert any(finding.rule == "test dip is strange" for finding in worked.findings)
