"""Ganache and air: volume shares, classes, ripeness of the fat, overrun from cups, folding."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from demoule.composition import Composition, Constituent
from demoule.errors import BadInput
from demoule.physics.ganache import EmulsionClass, emulsion, fat_volume_share
from demoule.physics.whipping import (
    OVERRUN,
    air_of_overrun,
    density_of_overrun,
    folded_density,
    overrun_of_cups,
    overrun_of_densities,
    ripe_after,
    ripeness,
    solid_share,
    whip_check,
)

C = Constituent
HOUR = 3600.0


def mix(fat, sugar=0.15, protein=0.02, cocoa=0.0):
    return Composition.of(
        {
            C.MILK_FAT: fat - cocoa,
            C.COCOA_BUTTER: cocoa,
            C.SUCROSE: sugar,
            C.PROTEIN: protein,
            C.WATER: 1 - fat - sugar - protein,
        }
    )


# --- ganache ----------------------------------------------------------------------------------------------------------


def test_volume_share_by_hand():
    # 35 % cream: 0.35/0.92 against water 0.585 and 3 % lactose at 1.55.
    cream = Composition.of({C.MILK_FAT: 0.35, C.WATER: 0.62, C.LACTOSE: 0.03})
    fat, wet = 0.35 / 0.92, 0.62 + 0.03 / 1.55
    assert float(fat_volume_share(cream.vector)) == pytest.approx(fat / (fat + wet), abs=1e-9)
    many = fat_volume_share(np.stack([cream.vector, mix(0.5).vector]))
    assert many.shape == (2,)
    milk = Composition.of({C.MILK_FAT: 0.2, C.WATER: 0.6, C.PROTEIN: 0.1, C.ASH: 0.1})
    wet = 0.6 + 0.1 / 1.35 + 0.1 / 1.5
    assert float(fat_volume_share(milk.vector)) == pytest.approx(0.2 / 0.92 / (0.2 / 0.92 + wet), abs=1e-9)


@pytest.mark.parametrize(
    ("fat", "sugar", "expected"),
    [
        (0.30, 0.20, EmulsionClass.EASY),
        (0.45, 0.20, EmulsionClass.WITH_CARE),
        (0.56, 0.20, EmulsionClass.LIKELY_TO_SPLIT),
        (0.80, 0.05, EmulsionClass.BEYOND),
    ],
)
def test_classes_of_emulsions(fat, sugar, expected):
    assert emulsion(mix(fat, sugar)).emulsion_class is expected


def test_borders_of_emulsions_are_pinned():
    # 0.45, 0.60 (judged) and close packing 0.74 (geometry, exact): fat and water alone, so that the share is by hand.
    def of(share):
        fat = share * 0.92 / (share * 0.92 + (1 - share))
        return emulsion(Composition.of({C.MILK_FAT: fat, C.WATER: 1 - fat}))

    classes = [of(share).emulsion_class for share in (0.449, 0.451, 0.599, 0.601, 0.699, 0.701, 0.740, 0.741)]
    easy, care, split, beyond = EmulsionClass
    assert classes == [easy, care, care, split, split, split, split, beyond]
    assert of(0.5).fat_share == pytest.approx(0.5)
    wine = Composition.of({C.ETHANOL: 0.2, C.WATER: 0.5, C.MILK_FAT: 0.3})
    assert float(fat_volume_share(wine.vector)) == pytest.approx(0.3 / 0.92 / (0.3 / 0.92 + 0.5 + 1.25 * 0.2))
    for at, said in ((302.65, True), (303.65, False), (322.65, False), (323.65, True)):
        assert bool([f for f in emulsion(mix(0.45), at=at).findings if f.rule == "ganache blended warm"]) is said


@given(fat=st.floats(0.05, 0.75), sugar=st.floats(0.0, 0.2))
def test_more_fat_never_makes_it_easier(fat, sugar):
    order = list(EmulsionClass)
    here, more = emulsion(mix(fat, sugar)), emulsion(mix(fat + 0.02, sugar))
    assert more.fat_share > here.fat_share
    assert order.index(more.emulsion_class) >= order.index(here.emulsion_class)
    assert emulsion(mix(fat, sugar), at=278.15).emulsion_class is here.emulsion_class  # warmth is no cure


def test_the_trade_rule_is_near_the_border_of_splitting():
    # Common practice, no source: fat over water by mass up to 1.5 to 2. By volume, sugar counted, the model still
    # holds it at 2.5 with care: see the page on where model and trade disagree. Both are said.
    def ganache(fat, water, sugar):
        rest = 1 - fat - water - sugar
        parts = {C.COCOA_BUTTER: fat, C.WATER: water, C.SUCROSE: sugar, C.PROTEIN: rest / 2, C.FIBRE: rest / 2}
        return emulsion(Composition.of(parts))

    at = ganache(0.30, 0.20, 0.35)
    assert at.fat_per_water == pytest.approx(1.5)
    assert not at.findings
    above = ganache(0.45, 0.18, 0.25)
    assert above.fat_per_water == pytest.approx(2.5)
    assert above.emulsion_class is EmulsionClass.WITH_CARE
    assert above.findings[0].rule == "fat over water"
    assert "1.5 to 2 at which" in above.findings[0].says
    assert ganache(0.395, 0.20, 0.35).findings == ()
    assert ganache(0.405, 0.20, 0.35).findings[0].rule == "fat over water"
    assert ganache(0.55, 0.16, 0.17).findings[0].rule == "ganache splits"


def test_a_rich_ganache_is_blended_warm():
    assert emulsion(mix(0.45), at=283.15).findings[0].rule == "ganache blended warm"
    assert not emulsion(mix(0.45), at=310.15).findings
    assert emulsion(mix(0.3)).water_phase_solids == pytest.approx(0.15 / (0.15 + 0.53))
    with pytest.raises(BadInput):
        emulsion(Composition.of({C.SUCROSE: 1.0}))


# --- overrun and air --------------------------------------------------------------------------------------------------


def test_worked_examples_of_overrun():
    # goff-ice-cream, read: 1090 g of mix and 560 g of product a litre 94.6 %; 1100 g/l at 100 % 550; at 10 % 1000.
    assert overrun_of_cups(1.090, 0.560) == pytest.approx(0.946, abs=5e-4)
    assert density_of_overrun(1100.0, 1.0) == pytest.approx(550.0)
    assert density_of_overrun(1100.0, 0.1) == pytest.approx(1000.0)
    assert overrun_of_cups(1.0, 1.0 / 1.5) == pytest.approx(0.5)
    for mix_density, overrun, density, air in (
        (1050, 0.8, 583.33, 0.4444),
        (1030, 1.0, 515.0, 0.5),
        (1020, 0.65, 618.18, 0.3939),
    ):
        assert density_of_overrun(mix_density, overrun) == pytest.approx(density, abs=0.006)
        assert air_of_overrun(overrun) == pytest.approx(air, abs=5e-5)


@given(st.floats(900, 1200), st.floats(0.0, 2.0))
def test_overrun_and_density_are_each_other(density, overrun):
    foam = density_of_overrun(density, overrun)
    assert overrun_of_densities(density, foam) == pytest.approx(overrun, abs=1e-9)
    assert density_of_overrun(density, overrun + 0.1) < foam
    assert foam == pytest.approx(density * (1 - air_of_overrun(overrun)))


@given(masses=st.tuples(st.floats(0.1, 2), st.floats(0.1, 2)), foam=st.floats(300, 900), lost=st.floats(0.0, 0.9))
def test_folding_balances_volume(masses, foam, lost):
    parts = [(masses[0], foam, 1000.0), (masses[1], 1060.0, 1060.0)]
    found = folded_density(parts, air_lost=lost)
    volume = masses[0] / 1000 + masses[1] / 1060 + masses[0] * (1 / foam - 1 / 1000) * (1 - lost)
    assert found.density == pytest.approx(sum(masses) / volume)
    assert folded_density(parts, air_lost=min(lost + 0.1, 1.0)).density > found.density
    free = folded_density(parts)
    assert free.low < free.density < free.high
    assert 0 <= found.air < 1


def test_a_demo_mousse_folds_to_its_density():
    # Common practice, no source: fruit mousse of cream at 0.50 comes to 0.72 without loss and 0.75 with.
    parts = [(0.890, 500.0, 1005.0), (1.160, 1080.0, 1080.0)]
    assert folded_density(parts, air_lost=0.0).density == pytest.approx(720, abs=8)
    assert folded_density(parts).density == pytest.approx(750, abs=25)
    assert OVERRUN["whipped ganache"][0] <= overrun_of_densities(1020, 637.5) <= OVERRUN["whipped ganache"][1]


# --- ripeness ---------------------------------------------------------------------------------------------------------


def test_ripeness_by_hours():
    # tau 2 to 4 h at 4 °C (judged), ready above 0.9. The trade rests a ganache 12 h in the cold (common practice).
    assert ripe_after(277.15)[0] / HOUR == pytest.approx(3 * math.log(10), rel=1e-9)
    assert ripeness(12 * HOUR, 277.15).ready
    assert ripeness(12 * HOUR, 277.15).low > 0.9
    assert not ripeness(6 * HOUR, 277.15).ready
    assert ripeness(2 * HOUR, 277.15).share == pytest.approx(1 - math.exp(-2 / 3))
    assert ripeness(5 * HOUR, 277.15, cools_for=2 * HOUR).share == ripeness(3 * HOUR, 277.15).share
    assert ripe_after(282.15)[0] == pytest.approx(2 * ripe_after(277.15)[0])


@given(hours=st.floats(0, 40), t=st.floats(273, 290), cools=st.floats(0, 5))
def test_ripeness_trends(hours, t, cools):
    here = ripeness(hours * HOUR, t, cools_for=cools * HOUR)
    assert 0 <= here.low <= here.share <= here.high <= 1
    assert ripeness((hours + 1) * HOUR, t, cools_for=cools * HOUR).share >= here.share
    assert ripeness(hours * HOUR, t + 2, cools_for=cools * HOUR).share <= here.share


@given(t=st.floats(283.15, 300.0), fat=st.floats(0.2, 0.4), cocoa=st.floats(0.0, 0.15))
def test_no_class_improves_by_warming_above_ten_degrees(t, fat, cocoa):
    order = ("stands", "soft", "slumps")
    here = whip_check(mix(fat, cocoa=cocoa), at=t, rested=12 * HOUR)
    warmer = whip_check(mix(fat, cocoa=cocoa), at=t + 2, rested=12 * HOUR)
    assert order.index(warmer.stands) >= order.index(here.stands)
    assert ("yes", "weak", "no").index(warmer.whips) >= ("yes", "weak", "no").index(here.whips)
    assert warmer.solid <= here.solid


def test_what_whips():
    good = whip_check(mix(0.31, cocoa=0.06), at=277.15, rested=12 * HOUR)
    assert (good.whips, good.stands) == ("yes", "stands")
    assert not good.findings
    assert good.solid > 0.4
    assert whip_check(mix(0.22), at=277.15, rested=12 * HOUR).whips == "weak"
    assert whip_check(mix(0.15), at=277.15, rested=12 * HOUR).whips == "no"
    assert whip_check(mix(0.42), at=277.15, rested=12 * HOUR).whips == "weak"
    assert whip_check(mix(0.31), at=277.15, rested=2 * HOUR).whips != "yes"
    assert whip_check(mix(0.31), at=293.15, rested=12 * HOUR).whips == "no"
    rules = {f.rule for f in whip_check(mix(0.22), at=293.15, rested=1 * HOUR).findings}
    assert rules == {"fat for whipping", "rest before whipping", "solid fat for whipping"}


def test_borders_of_whipping_are_pinned():
    # Fat 25 to 38 % (common practice), 20 % judged; 40 % of it solid (whipped-emulsions, read), 25 % judged.
    answers = [
        whip_check(mix(f), at=277.15, rested=15 * HOUR).whips for f in (0.199, 0.201, 0.249, 0.251, 0.379, 0.381)
    ]
    assert answers == ["no", "weak", "weak", "yes", "yes", "weak"]
    course = [whip_check(mix(0.31), at=278.15 + 0.05 * n, rested=100 * HOUR) for n in range(300)]
    by_class = {name: [one.solid for one in course if one.stands == name] for name in ("stands", "soft", "slumps")}
    assert min(by_class["stands"]) >= 0.40 > max(by_class["soft"]) > 0.395
    assert min(by_class["soft"]) >= 0.25 > max(by_class["slumps"]) > 0.245
    by_answer = {name: [one.solid for one in course if one.whips == name] for name in ("yes", "weak", "no")}
    assert min(by_answer["yes"]) >= 0.40 > max(by_answer["weak"])
    assert min(by_answer["weak"]) >= 0.25 > max(by_answer["no"])
    told = " ".join(f.why + f.remedy + f.says for f in whip_check(mix(0.22), at=293.15, rested=HOUR).findings)
    # mcgee-2004 (read): 30 % for cream, 12 h cold; common practice: 25 % for a ganache, 3 to 6 °C.
    for words in ("cream needs 30%", "a ganache 25%", "habit is 12 h", "to 3 to 6 °C", "wants 40%"):
        assert words in told
    assert OVERRUN == {"cream": (0.6, 1.0), "whipped ganache": (0.3, 1.2), "mousse": (0.4, 1.0)}
    assert folded_density([(1.0, 500.0, 1000.0)]).air == pytest.approx(0.825 / 1.825)  # 10 to 25 % lost, 17.5 % taken
    assert [t / HOUR for t in ripe_after(277.15)] == pytest.approx([n * math.log(10) for n in (3, 2, 4)])
    for t, stretched in ((271.9, True), (272.4, False), (282.9, False), (283.4, True)):
        assert whip_check(mix(0.31), at=277.15, rested=HOUR, rest_at=t).basis[1].stretched is stretched


def test_solid_share_mixes_by_mass():
    one = Composition.of({C.MILK_FAT: 1.0})
    other = Composition.of({C.COCOA_BUTTER: 1.0})
    both = Composition.of({C.MILK_FAT: 0.5, C.COCOA_BUTTER: 0.5})
    assert solid_share(both, 278.15) == pytest.approx((solid_share(one, 278.15) + solid_share(other, 278.15)) / 2)
    assert solid_share(Composition.of({C.WATER: 1.0}), 278.15) == 0.0
    assert solid_share(Composition.of({C.OTHER_FAT: 1.0}), 278.15) == 0.0


@pytest.mark.parametrize(
    "call",
    [
        lambda: overrun_of_cups(0.5, 0.6),
        lambda: overrun_of_cups(0.5, 0.0),
        lambda: air_of_overrun(-0.1),
        lambda: density_of_overrun(1000, 100.0),
        lambda: folded_density([]),
        lambda: folded_density([(1.0, 1200.0, 1000.0)]),
        lambda: folded_density([(1.0, 500.0, 1000.0)], air_lost=1.5),
        lambda: ripeness(-1.0, 277.15),
    ],
)
def test_impossible_foams_are_refused(call):
    with pytest.raises(BadInput):
        call()
