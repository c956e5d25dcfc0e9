"""What a kitchen measured, as it is written down, and the steps and cups that belong to it."""

from __future__ import annotations

import pytest

from demoule.batch import CandyingTest, CupTest, DipTest, GunTest, PanTest, conduction_learned
from demoule.errors import Mistakes
from demoule.files import desserts_of, kitchen_of, written
from demoule.formula import Blanch, Candy, Cook, Whip
from demoule.units import kelvin

START = "demoule: 1\nkitchen: Mine\ncalibrations:\n"
DIPS = "  a: {bath: 34 °C, for: 2 s, pieces: 5, gained: 1 oz, fat: 60 %, area: 90 cm², measured: 12 November}\n"
CANDYING = (
    "  b: {fruit: 500 g, fruit Brix: 12 °Bx, syrup: 1 kg, syrup Brix: 57 °Bx, at: 185 °F, for: 2 h, "
    "piece: cube 12 mm, fruit after: 462 g, Brix after: 30 °Bx}\n"
)
PAN = "  c: {pan: 24 cm, off: 150 g, in: 5 min}\n"
GUN = "  d: {sprayed: 30 g, landed: 18 g, pieces: 10, component: velvet}\n"
CUPS = "  e: {water: 250 g, foam: 125 g, base: 262 g, mousse: 180 g, share: 47 %}\n"
CONDUCTS = "  g: {conducts: 87 %, give or take: 9 %, dessert: Plum, from: tuesday.csv, measured: 2026-11-12}\n"
TWO = "  f: {bath: 34 °C, component: coating, mould: m, dips: [{for: 1 s, gained: 5 g}, {for: 6 s, gained: 8 g}]}\n"


def test_how_mixes_conduct_is_kept_by_dessert_and_the_last_log_counts():
    later = CONDUCTS.replace("g:", "h:").replace("87", "95").replace("Plum", "Pear") + CONDUCTS.replace(
        "g:", "i:"
    ).replace("87 %", "91 %")
    kitchen = kitchen_of(START + CONDUCTS + later, "k")
    plum, pear = conduction_learned(kitchen, "Plum"), conduction_learned(kitchen, "Pear")
    assert (plum.factor, plum.band, plum.learned) == (
        pytest.approx(0.91), pytest.approx(0.09), "tuesday.csv on 2026-11-12",
    )  # fmt: skip
    assert pear.factor == pytest.approx(0.95)
    assert conduction_learned(kitchen, "Quince") is None
    with pytest.raises(Mistakes, match=r"conducts|dessert"):
        kitchen_of(START + "  g: {conducts: 900 %}\n", "k")


def test_each_kind_is_known_by_what_is_told_of_it_in_any_units():
    kitchen = kitchen_of(START + DIPS + CANDYING + PAN + GUN + CUPS + TWO, "k")
    dip, candying, pan, gun, cups, two = kitchen.measurements
    assert isinstance(dip, DipTest)
    (one,) = dip.dips
    assert (one.duration, one.pieces, one.gained) == (2.0, 5, pytest.approx(0.0283495))
    assert (dip.fat, dip.area, dip.measured) == (0.6, pytest.approx(0.009), "12 November")
    assert isinstance(candying, CandyingTest)
    assert (candying.at, candying.piece, candying.size) == (pytest.approx(kelvin(85)), "cube", pytest.approx(0.012))
    assert (candying.fruit_solids, candying.solids_after) == (pytest.approx(0.12), pytest.approx(0.30))
    assert isinstance(pan, PanTest)
    assert (pan.off, pan.duration, pan.at) == (pytest.approx(0.15), 300.0, None)
    assert isinstance(gun, GunTest)
    assert (gun.pieces, gun.component) == (10, "velvet")
    assert isinstance(cups, CupTest)
    assert cups.share == pytest.approx(0.47)
    assert isinstance(two, DipTest)
    assert [each.duration for each in two.dips] == [1.0, 6.0]
    assert kitchen.calibrations == ()


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (DIPS.replace(", area: 90 cm²", ""), "how large"),
        (DIPS.replace(", fat: 60 %", ""), "what was dipped into"),
        (DIPS.replace("gained: 1 oz, ", ""), "seconds and by what"),
        (DIPS.replace("bath: 34 °C", "bath: -30 °C"), "not warmer"),
        (TWO.replace("mould: m", "mould: m, for: 2 s, gained: 5 g"), "told twice"),
        (CANDYING.replace("fruit Brix: 12 °Bx", "fruit Brix: 130 °Bx"), "too much"),
        (PAN.replace("off: 150 g, ", ""), "“off” is missing"),
        (GUN.replace("landed: 18 g", "landed: 48 g"), "More landed"),
        (CUPS.replace("foam: 125 g", "foam: -125 g"), "negative"),
        ("  g: {factor: 1.2}\n", "“measured” is missing"),
    ],
)
def test_what_cannot_have_been_measured_is_told_at_its_line(text, says):
    with pytest.raises(Mistakes) as caught:
        kitchen_of(START + text, "k")
    assert any(says in mistake.says for mistake in caught.value.mistakes)
    assert all(mistake.line == 4 for mistake in caught.value.mistakes)


DESSERT = """\
demoule: 1
name: Plum
components:
  syrup: {weigh: {sugar: 600 g, water: 400 g}, steps: [boil]}
  fruit:
    weigh: {plum pitted: 500 g}
    steps:
      - blanch: {for: 2 min, piece: slice 8 mm}
      - candy: {in: syrup, at: 60 °C, for: 1 day, then: [{to: 62 °Bx, for: 12 h}, {for: 1 day, at: 20 °C}]}
      - poach: {in: syrup, piece: half 40 mm}
  juice:
    weigh: {apple juice: 800 g}
    steps: [cook: {to: 40 °Bx, rate: 100 g per 5 min}]
    cup: {water: 250 g, mix: 290 g}
  body:
    weigh: {cream 35 %: 700 g, white chocolate: 300 g, juice: 20 g, fruit: 20 g}
    steps: [whip: {cup before: 260 g, cup after: 160 g}]
    good batch: {ice: 20 %, cut at: -4 °C, gelling: 0.6 %}
piece: {mould: {half sphere: 60 mm}, body: body}
"""


def test_staged_candying_weighed_pots_and_cups_are_read_and_written_back(larder):
    (dessert,) = desserts_of(DESSERT, "d", larder)
    parts = {one.name: one for one in dessert.components}
    blanch, candy, poach = parts["fruit"].steps
    assert isinstance(blanch, Blanch)
    assert (blanch.piece, blanch.size) == ("slice", pytest.approx(0.008))
    assert isinstance(candy, Candy)
    first, second = candy.later
    assert (first.to_solids, first.duration, first.temperature) == (
        pytest.approx(0.62),
        43200.0,
        pytest.approx(kelvin(60)),
    )
    assert (second.to_solids, second.temperature) == (None, pytest.approx(kelvin(20)))
    assert isinstance(poach, Candy)
    assert (poach.duration, poach.piece) == (1200.0, "half")
    (cook,) = parts["juice"].steps
    assert isinstance(cook, Cook)
    assert cook.rate == pytest.approx(0.1 / 300)
    assert parts["juice"].density == pytest.approx(998.2 * 290 / 250)
    (whip,) = parts["body"].steps
    assert isinstance(whip, Whip)
    assert whip.overrun == pytest.approx(260 / 160 - 1)  # one cup weighed twice (law)
    good = parts["body"].good
    assert (good.ice, good.cut_at, good.gelling) == (0.2, pytest.approx(kelvin(-4)), pytest.approx(0.006))
    (again,) = desserts_of(written(dessert), "again", larder)
    assert written(again) == written(dessert)
    assert [one.good for one in again.components] == [one.good for one in dessert.components]
    assert again.components[1].steps[1].later == candy.later


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("cup after: 160 g", "cup after: 300 g", "heavier after"),
        (", cup after: 160 g", "", "weighed twice"),
        ("cup before: 260 g", "overrun: 60 %, cup before: 260 g", "told twice"),
        ("mix: 290 g}", "mix: 290 g}\n    density: 1.1", "density is told twice"),
        ("rate: 100 g per 5 min", "rate: 100 g", "how fast"),
        ("{to: 62 °Bx, for: 12 h}", "{to: 62 °Bx}", "“for” is missing"),
    ],
)
def test_mistakes_in_them_are_told(larder, old, new, says):
    with pytest.raises(Mistakes) as caught:
        desserts_of(DESSERT.replace(old, new, 1), "d", larder)
    assert any(says in mistake.says for mistake in caught.value.mistakes)
