"""The main job end to end: what a chef writes, worked up to its dossier, for desserts of every kind that nobody tuned.

Each dessert is text as a chef would type it. What is expected comes from geometry, from balances, from law, or from the
trade (marked as common practice, no source).
"""

from __future__ import annotations

import functools
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from demoule.batch import plain_kitchen
from demoule.dossier import dossier
from demoule.errors import DemouleError
from demoule.files import as_data, desserts_of, dump
from demoule.larder import standard_larder
from demoule.worked import work_up

MOUSSE = "{raspberry purée: 500 g, sugar: 80 g, gelatine 200 bloom: 10 g, water: 50 g, cream 35 %: 400 g}"
STEPS = "[hydrate, 'heat half the raspberry purée to 60 °C', mix, cool to 20 °C, fold in cream whipped to 0.50 g/ml]"
GEL = "{raspberry purée: 500 g, sugar: 60 g, agar: 5 g}"


def text(
    *,
    name="Raspberry",
    mousse=MOUSSE,
    steps=STEPS,
    gel=GEL,
    gel_steps="[boil 2 min, cool to 5 °C in GN 1/1 20 mm]",
    heart="{component: gel, mould: {sphere: 26 mm}}",
    mould="{sphere: 54 mm}",
    body="mousse",
    more="",
    piece="",
    cold="",
):
    """A dessert of a mousse and a heart, any part of it changed."""
    held = f"\n  heart: {heart}" if heart else ""
    return (
        f"demoule: 1\nname: {name}\n{more}components:\n"
        f"  gel: {{weigh: {gel}, steps: {gel_steps}}}\n  mousse: {{weigh: {mousse}, steps: {steps}}}\n"
        f"piece:\n  mould: {mould}{held}\n  body: {body}\n{piece}{cold}"
    )


@functools.lru_cache(maxsize=64)
def worked(written, pieces=None):
    """A dessert file worked up in a plain kitchen."""
    larder = standard_larder()
    kitchen = plain_kitchen(larder)
    return work_up(desserts_of(written, "dessert.yaml", larder, kitchen)[0], kitchen, pieces)


def told(written, market="EU"):
    """Rules that speak of a dessert, with the gravest severity of each."""
    found = {}
    for finding in reversed(dossier(worked(written), market).findings):
        found[finding.rule] = str(finding.severity)
    return found


# --- geometry and masses a chef can check with a pencil --------------------------------------------------------------


def test_a_heart_weighs_its_volume_times_its_density():
    piece = worked(text()).piece
    heart = next(layer for layer in piece.layers if layer.role == "heart")
    assert 0.95 * math.pi / 6 * 0.026**3 < heart.volume <= math.pi / 6 * 0.026**3  # filled level, not to the brim
    assert heart.mass == pytest.approx(heart.volume * worked(text()).cooked["gel"].density, rel=1e-9)


def test_heart_and_body_fill_the_cavity_and_leave_the_wall_that_geometry_leaves():
    piece = worked(text()).piece
    assert sum(layer.volume for layer in piece.layers) == pytest.approx(math.pi / 6 * 0.054**3, rel=2e-3)
    assert min(clearance.wall for clearance in piece.clearances) == pytest.approx((0.054 - 0.026) / 2, abs=1e-4)


def test_a_ring_holds_what_pappus_says():
    # Volume of a torus: area of the section times the way of its centre (Pappus; crc-math, torus).
    piece = worked(text(heart="", mould="{ring: 50 × 20 mm}")).piece
    assert piece.cavity_volume == pytest.approx(math.pi * 0.01**2 * math.pi * 0.05, rel=5e-3)


def test_a_measured_water_fill_wins_over_the_shape():
    piece = worked(text(mould="{cylinder: 50 × 45 mm, holds: 86 ml}")).piece
    assert sum(layer.volume for layer in piece.layers) == pytest.approx(86e-6, rel=2e-3)


def test_a_heart_larger_than_its_cavity_is_refused_in_a_chefs_words():
    with pytest.raises(DemouleError, match="heart"):
        worked(text(heart="{component: gel, mould: {sphere: 56 mm}}"))


# --- laws ------------------------------------------------------------------------------------------------------------


@settings(max_examples=8, deadline=None)
@given(good=st.integers(min_value=5, max_value=400))
def test_what_is_weighed_for_many_is_what_one_piece_holds_with_the_stated_losses(good):
    made = worked(text(), good)
    assert made.weighing.pieces == good
    body = next(layer for layer in made.piece.layers if layer.role == "body")
    need = next(need for need in made.weighing.needs if need.component == "mousse")
    lost = sum(mass for _, mass in need.lost)
    assert need.on_pieces == pytest.approx(made.weighing.started * body.mass, rel=1e-9)
    assert need.used == pytest.approx(need.on_pieces + need.comes_back + lost, rel=1e-9)
    weighed = need.makings * sum(line.exact for line in need.lines)
    cooked = sum(mass for _, mass in need.cooking_losses)
    assert weighed == pytest.approx(need.makings * need.gives + cooked, rel=1e-6)
    larger = worked(text(), 2 * good)
    assert larger.piece.mass == pytest.approx(made.piece.mass, rel=1e-12)  # one piece stays one piece


@pytest.mark.parametrize("change", ["mould", "air"])
def test_larger_pieces_never_freeze_faster_and_colder_air_never_slower(change):
    def hours(mould, air):
        cold = f"cold:\n  harden piece: {{in: {{air: {air} °C, blows: 18 W/m²K}}, until: core -18 °C}}\n"
        return worked(text(heart="", mould=mould, cold=cold)).cold.stage("harden piece").time

    if change == "mould":
        times = [hours(f"{{sphere: {size} mm}}", -36) for size in (34, 44, 54, 64)]
        assert times == sorted(times)
    else:
        times = [hours("{sphere: 50 mm}", air) for air in (-25, -30, -36, -42)]
        assert times == sorted(times, reverse=True)


def test_heat_taken_out_is_the_change_of_enthalpy():
    assert all(abs(run.imbalance) < 1e-3 for run in worked(text()).cold.stages)


def test_a_filled_piece_is_hard_through_after_a_night_in_a_still_freezer():
    # Common practice, no source: a piece of this size left 12 h in a still freezer is hard through.
    cold = "cold:\n  harden piece: {in: {air: -18 °C, blows: 7 W/m²K}, until: core -15 °C}\n"
    run = worked(text(cold=cold)).cold.stage("harden piece")
    assert (run.high or run.time) < 12 * 3600


def test_frozen_pieces_are_kept_three_months_where_nothing_else_is_written():
    # Common practice, no source.
    keep = next(stage for stage in worked(text()).dessert.programme.stages if stage.what == "keep")
    assert keep.at_most == pytest.approx(365.25 / 4 * 86400)


# --- the same dessert written in other ways --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("sugar: 80 g", 'sugar: "80,0 g"'),
        ("sugar: 80 g", "sugar: 0.080 kg"),
        ("water: 50 g", "water: 1.763698 oz"),
        ("gelatine 200 bloom: 10 g", "gelatine 200 bloom: 10000 mg"),
    ],
)
def test_a_quantity_means_the_same_however_it_is_written(one, other):
    first, second = worked(text()), worked(text(mousse=MOUSSE.replace(one, other)))
    assert second.cooked["mousse"].mass == pytest.approx(first.cooked["mousse"].mass, rel=1e-6)


def test_percentages_of_a_base_and_a_mass_to_make_give_the_same_mix_as_grams():
    share = worked(
        text(
            gel="{raspberry purée: 100 %, sugar: 12 %, agar: 1 %}, base: raspberry purée, to make: 2 kg",
            gel_steps="[mix]",
        )
    ).cooked["gel"]
    grams = worked(text(gel_steps="[mix]")).cooked["gel"]
    assert share.mass == pytest.approx(2.0, rel=1e-9)
    assert share.composition.sugars == pytest.approx(grams.composition.sugars, rel=1e-9)


def test_a_file_that_is_read_and_written_again_says_the_same():
    larder = standard_larder()
    kitchen = plain_kitchen(larder)
    before = desserts_of(text(), "dessert.yaml", larder, kitchen)[0]
    after = desserts_of(dump(as_data(before)), "again.yaml", larder, kitchen)[0]
    assert as_data(after) == as_data(before)


def test_lines_may_be_named_one_after_the_other_in_a_phrase():
    several = STEPS.replace("heat half the raspberry purée to 60 °C", "heat raspberry purée, sugar, water to 60 °C")
    assert worked(text(steps=several)).cooked["mousse"].mass > 0


def test_a_caramel_is_as_hot_as_it_is_cooked_to():
    # A dry caramel boils at no point that a syrup model knows; the thermometer in the pan decides.
    caramel = "{sugar: 200 g, glucose syrup 60 DE: 60 g, water: 60 g}"
    made = worked(text(gel=caramel, gel_steps="['cook to 170 °C', cool to 20 °C]"))
    assert max(content.heated_to for content in made.cooked["gel"].contents) == pytest.approx(443.15)
    assert "hot sugar" in {finding.rule for finding in dossier(made).findings}


# --- every finding can be provoked, and is silent elsewhere ----------------------------------------------------------

COLD = "cold:\n  harden piece: {in: {air: -36 °C, blows: 18 W/m²K}, until: core -18 °C}\n"
PROVOKED = {
    "raw egg": text(mousse=MOUSSE.replace("sugar: 80 g", "sugar: 80 g, egg white: 80 g")),
    "proteolytic fruit": text(
        gel="{raw pineapple: 400 g, water: 80 g, gelatine 200 bloom: 10 g}", gel_steps="[hydrate, mix]"
    ),
    "gel sets": text(
        gel="{raspberry purée: 400 g, lemon juice: 80 g, agar: 2 g}", gel_steps="[boil 5 min, cool to 5 °C]"
    ),
    "gel weeps after thawing": text(gel="{mango purée: 300 g, sugar: 20 g, corn starch: 20 g}"),
    "sugar grains": text(gel="{sugar: 800 g, water: 300 g}"),
    "alcohol": text(mousse=MOUSSE.replace("water: 50 g", "water: 50 g, rum 40 %: 60 g")),
    "cold end not reached": text(cold=COLD.replace("-36", "-10")),
    "cold window missed": text(
        cold=COLD + "  thaw: {in: {air: -6 °C, blows: 8 W/m²K}, ready: core -1 to 2 °C}\n",
    ),
    "warm body": text(body="{component: mousse, filled at: 60 °C}"),
    "refreezing": text(
        cold="cold:\n  - harden piece: {in: blast freezer, until: core -18 °C}\n"
        "  - thaw: {in: refrigerator, ready: core -1 to 2 °C}\n  - harden piece: {in: blast freezer, for: 1 h}\n"
    ),
    "frozen store": text(cold="cold:\n  keep: {in: {air: -12 °C, blows: 8 W/m²K}, at most: 1 month}\n"),
    "metals and lustre": text(piece="  garnish: {what: gold leaf, eaten: yes}\n"),
    "decorations": text(piece="  garnish: {what: wire stem, eaten: yes}\n"),
    "colours": text(mousse=MOUSSE.replace("sugar: 80 g", "sugar: 80 g, titanium dioxide: 2 g")),
    "colour warning": text(mousse=MOUSSE.replace("sugar: 80 g", "sugar: 80 g, tartrazine: 0.1 g")),
    "rest before whipping": text(
        mousse="{cream 35 %: 700 g, white chocolate: 260 g, gelatine 200 bloom: 7 g, water: 35 g}",
        steps="[hydrate, 'heat half the cream to 85 °C', mix, rest 1 h at 4 °C, whip to 60 %]",
    ),
    "cooling rules": text(
        gel="{raspberry purée: 5 kg, sugar: 600 g, agar: 50 g}", gel_steps="[boil 2 min, cool to 5 °C]"
    ),
    "allergens": text(mousse=MOUSSE.replace("water: 50 g", "water: 50 g, almond paste: 60 g")),
    "fruit named": text(name="Walnut"),
    "prices": text(),
    "untold facts": text(
        more="own items:\n  pulp of the hill: {per 100 g: {water: 80 g, carbohydrate: 17 g, sugars: 15 g}}\n",
        gel="{pulp of the hill: 500 g, sugar: 60 g, agar: 5 g}",
    ),
}
SILENT = {"allergens", "prices", "fruit named"}  # these have something to say of every dessert in a plain kitchen


@pytest.mark.parametrize("rule", PROVOKED)
def test_each_finding_can_be_provoked(rule):
    assert rule in told(PROVOKED[rule])


@pytest.mark.parametrize("rule", sorted(set(PROVOKED) - SILENT))
def test_an_ordinary_dessert_does_not_provoke_it(rule):
    assert told(text()).get(rule) in (None, "note")


@pytest.mark.parametrize(
    ("rule", "severity"),
    [
        ("raw egg", "stop"),
        ("proteolytic fruit", "stop"),
        ("colours", "stop"),
        ("cold end not reached", "stop"),
        ("refreezing", "stop"),
        ("decorations", "stop"),
    ],
)
def test_what_must_not_be_done_is_a_stop(rule, severity):
    assert told(PROVOKED[rule])[rule] == severity


def test_a_stem_of_wire_is_no_unknown_foliage():
    found = dossier(worked(text(piece="  garnish: {what: wire stem, eaten: no}\n"))).findings
    assert not [f for f in found if "foliage" in f.says]


def test_body_and_heart_go_in_as_warm_as_the_file_says():
    fill = {degrees: text(body=f"{{component: mousse, filled at: {degrees} °C}}") for degrees in (10, 30, 60)}
    warm = {degrees: worked(written).cold.stage("harden piece") for degrees, written in fill.items()}
    for degrees, run in warm.items():
        # The foot of the frozen heart and the mould take a little of it at once.
        assert run.curve.surface[0] == pytest.approx(273.15 + degrees, abs=8)
    assert warm[10].time < warm[30].time < warm[60].time


def test_a_price_that_is_not_told_is_not_taken_for_nothing():
    cost = dossier(worked(text())).cost
    assert cost.material.value is None
    assert "raspberry purée" in cost.unpriced
