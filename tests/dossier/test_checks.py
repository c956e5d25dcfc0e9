"""Each check speaks when it should, is silent when it should, and says what, why and what to do."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from demoule.cold import Stage, Until, Window
from demoule.dossier import dossier
from demoule.dossier.checks import CHECKS, run_checks
from demoule.dossier.checks.cooled import warm_times
from demoule.dossier.checks.growth import cautious_ph
from demoule.dossier.checks.soft import dextrose_to_soften
from demoule.dossier.figures import ice_volume_of
from demoule.dossier.view import View
from demoule.figures import Severity
from demoule.formula.component import Bake, Blend, Boil, Cook, Cool, Fold, Heat, Note, Rest, Whip
from demoule.larder.ingredient import Additive
from demoule.piece.design import Garnish
from demoule.units import kelvin

HOUR = 3600.0


def severities(findings):
    return {finding.severity for finding in findings}


def words(findings):
    return " ".join(f"{f.says} {f.why} {f.remedy}" for f in findings)


# --- every finding ---------------------------------------------------------------------------------------------------


def test_every_finding_says_what_why_and_what_to_do(small):
    for finding in run_checks(View(small, "EU")):
        assert finding.says.endswith(".")
        assert finding.why.endswith(".")
        assert finding.remedy.endswith(".")
        assert finding.where


def test_nothing_is_ever_called_safe(small):
    for market in ("EU", "US"):
        made = dossier(small, market)
        text = words(made.findings) + " ".join(made.label.cautions) + made.label.storage
        assert " safe" not in text.casefold()


def test_findings_stand_with_the_gravest_first(small):
    order = [Severity.STOP, Severity.CAUTION, Severity.NOTE]
    ranks = [order.index(finding.severity) for finding in dossier(small).findings]
    assert ranks == sorted(ranks)


def test_no_finding_is_said_twice(small):
    said = [(f.rule, f.where, f.says) for f in dossier(small).findings]
    assert len(said) == len(set(said))


# --- egg -------------------------------------------------------------------------------------------------------------


def test_raw_egg_that_is_not_cooked_is_a_stop(bench, small):
    # fda-food-code 3-302.13: pasteurised egg in uncooked preparations.
    mousse = bench.ganache(("cream 35 %", 700), ("egg yolk", 100), ("sugar", 200), steps=(Blend(), Whip(overrun=0.6)))
    found = bench.spoken(bench.changed(small, mousse), "raw egg")
    assert severities(found) == {Severity.STOP}
    assert found[0].where == "components.ganache.weigh.egg yolk"
    assert "pasteurised egg" in found[0].remedy


def test_egg_bought_pasteurised_is_not_spoken_of(bench, small):
    mousse = bench.ganache(("cream 35 %", 700), ("egg yolk pasteurised", 100), ("sugar", 200), steps=(Blend(),))
    assert bench.spoken(bench.changed(small, mousse), "raw egg") == []


def test_egg_cooked_by_the_listed_steps_is_noted_and_a_log_asked_for(bench, small):
    # us-7cfr58-635 and the step table: 83 °C for 15 s.
    yolk = (("cream 35 %", 700), ("egg yolk", 100), ("sugar", 200))
    custard = bench.ganache(*yolk, steps=(Heat(to=kelvin(85)), Rest(at=kelvin(85), at_least=60.0, at_most=120.0)))
    found = bench.spoken(bench.changed(small, custard), "raw egg")
    assert severities(found) == {Severity.NOTE}
    assert "log" in found[0].remedy
    touched = bench.ganache(*yolk, steps=(Heat(to=kelvin(85)),))
    assert severities(bench.spoken(bench.changed(small, touched), "raw egg")) == {Severity.CAUTION}


# --- cooling, warm hours, growth -------------------------------------------------------------------------------------


def slow_jelly(bench, duration):
    return bench.heart(
        ("apricot purée", 2000),
        ("sugar", 400),
        ("agar", 12),
        steps=(Boil(duration=120.0), Cool(to=kelvin(4), duration=duration)),
    )


def test_slow_cooling_fails_the_rule_of_the_market(bench, small):
    # fda-food-code 3-501.14(A), fr-order-2013.
    slow = bench.changed(small, slow_jelly(bench, 12 * HOUR))
    for market in ("EU", "US"):
        found = [f for f in bench.spoken(slow, "cooling rules", market) if f.where == "components.heart"]
        assert severities(found) == {Severity.CAUTION}
        assert "fails the rule" in found[0].says
    quick = bench.changed(small, slow_jelly(bench, 0.5 * HOUR))
    assert [f for f in bench.spoken(quick, "cooling rules", "US") if f.severity is Severity.CAUTION] == []


def test_a_hot_component_without_a_cooling_is_not_shown(bench, small):
    stages = tuple(s for s in bench.STAGES if not s.what.startswith("harden"))
    hot = bench.with_stages(
        bench.changed(small, bench.heart(("apricot purée", 900), ("sugar", 100), steps=(Boil(duration=60.0),))),
        *stages,
        runs=[],
    )
    found = [f for f in bench.spoken(hot, "cooling rules") if f.where == "components.heart"]
    assert severities(found) == {Severity.NOTE}
    assert "not shown" in found[0].says


def test_dry_and_fatty_components_are_left_aside(bench, small):
    warm = bench.velvet(("cocoa butter", 150), ("white chocolate", 95), steps=(Heat(to=kelvin(60)),))
    assert [
        f for f in bench.spoken(bench.changed(small, warm), "cooling rules") if f.where == "components.velvet"
    ] == []


def test_warm_hours_add_up_over_making_and_thawing(bench, small):
    view = View(small, "EU")
    before = dict(warm_times(view))
    stand = Stage(what="stand", own_room=replace(bench.FRIDGE, name="buffet", air=kelvin(20)), duration=HOUR)
    run = bench.run_of(stand, replace(bench.FRIDGE, air=kelvin(20)), minutes=60, core=(6.0, 12.0))
    longer = bench.with_stages(small, *bench.STAGES, stand, runs=[*small.cold.stages, run])
    after = dict(warm_times(View(longer, "EU")))
    assert after["ganache"] == pytest.approx(before["ganache"] + HOUR)


def test_a_thaw_at_room_temperature_is_a_caution(bench, small):
    warm = replace(bench.FRIDGE, name="bench", air=kelvin(18))
    stage = replace(bench.STAGES[3], room="bench")
    window = Window(opens=2 * HOUR, closes=3 * HOUR)
    run = bench.run_of(stage, warm, minutes=120, core=(-18.0, 1.0), window=window)
    found = bench.spoken(bench.with_stages(small, stage, runs=[run]), "warm time")
    assert any("18 °C" in f.says for f in found)


def test_growth_class_rests_on_the_worst_layer_and_on_the_hours(bench, small):
    # eu-2073-2005: life under 5 days counts as unable; with more, a milky body is able.
    assert severities(bench.spoken(small, "growth class")) == {Severity.NOTE}
    long = bench.ganache(
        steps=(Heat(to=kelvin(45)), Blend(), Rest(at_least=12 * HOUR, at_most=6 * 24 * HOUR), Whip(overrun=0.6)), ph=6.5
    )
    acid = bench.heart(ph=3.6)
    found = bench.spoken(bench.changed(small, long, acid), "growth class")
    assert severities(found) == {Severity.CAUTION}
    assert "ganache" in found[0].says
    assert "5 days" in found[0].remedy


def test_a_guessed_acidity_of_a_milky_mix_is_not_trusted(bench, small):
    milky = bench.ganache(("apricot purée", 700), ("cream 35 %", 300), steps=(Blend(),))
    view = View(bench.changed(small, milky), "EU")
    assert cautious_ph(view.part("ganache")) is None
    assert cautious_ph(View(bench.changed(small, replace(milky, ph=4.2)), "EU").part("ganache")) == 4.2


def test_growth_is_shown_with_its_wording_only(bench, small):
    # panagou-nychas: about 0.95 powers of ten in 72 h at 4 °C; here about 53 h.
    found = bench.spoken(small, "growth model")
    assert severities(found) == {Severity.NOTE}
    assert "does not replace a shelf-life study" in found[0].why


# --- the cold chain --------------------------------------------------------------------------------------------------


def test_freezing_after_a_thaw_is_a_stop(bench, small):
    again = replace(bench.STAGES[2], what="keep", where="cold.again")
    found = bench.spoken(bench.with_stages(small, *bench.STAGES, again), "refreezing")
    assert severities(found) == {Severity.STOP}
    assert found[0].where == "cold.again"


def test_every_dessert_is_reminded_that_nothing_goes_back(bench, small):
    assert severities(bench.spoken(small, "refreezing")) == {Severity.NOTE}


def test_a_store_warmer_than_minus_18_is_a_caution(bench, small):
    # eu-89-108: −18 °C or colder.
    mild = replace(bench.STORE, air=kelvin(-14))
    stage = bench.STAGES[2]
    run = bench.run_of(stage, mild, minutes=60, core=(-18.0, -14.0))
    found = bench.spoken(bench.with_stages(small, stage, runs=[run]), "frozen store")
    assert severities(found) == {Severity.CAUTION}
    assert bench.spoken(small, "frozen store") == []


def test_hardening_that_takes_longer_than_a_day_is_a_caution(bench, small):
    stage = bench.STAGES[1]
    run = bench.run_of(stage, bench.STORE, minutes=30 * 60, core=(4.0, -18.0))
    assert severities(bench.spoken(bench.with_stages(small, stage, runs=[run]), "hardening")) == {Severity.CAUTION}
    assert bench.spoken(small, "hardening") == []


def test_a_piece_ready_later_than_its_thaw_may_last_is_a_caution(bench, small):
    stage = replace(bench.STAGES[3], at_most=4 * HOUR)
    window = Window(opens=6 * HOUR, closes=9 * HOUR, opens_low=5 * HOUR, opens_high=7 * HOUR)
    run = bench.run_of(stage, bench.FRIDGE, minutes=360, core=(-18.0, 0.0), window=window)
    found = bench.spoken(bench.with_stages(small, stage, runs=[run]), "thaw window")
    assert severities(found) == {Severity.CAUTION}
    assert "7 h" in found[0].remedy
    assert bench.spoken(small, "thaw window") == []


def test_a_dessert_without_a_thaw_is_not_shown_to_be_ready(bench, small):
    found = bench.spoken(bench.with_stages(small, *bench.STAGES[:3], runs=small.cold.stages[:3]), "thaw window")
    assert "not shown" in found[0].says


# --- sugar, gels, fat ------------------------------------------------------------------------------------------------


def test_a_strong_sucrose_syrup_grains_in_the_cold_and_glucose_syrup_mends_it(bench, small):
    # Common practice: pure sucrose above 67 °Bx grains in the cold; 10 to 20 % as glucose syrup or invert prevents it.
    strong = bench.heart(("sugar", 700), ("water", 290), ("gelatine 200 bloom", 10), steps=(Heat(to=kelvin(80)),))
    found = bench.spoken(bench.changed(small, strong), "sugar grains")
    assert severities(found) == {Severity.CAUTION}
    assert "glucose syrup" in found[0].remedy
    grams = float(found[0].remedy.split(" g")[0])
    mended = bench.heart(
        ("sugar", 700 - grams),
        ("glucose syrup 60 DE", grams + 5),
        ("water", 290),
        ("gelatine 200 bloom", 10),
        steps=(Heat(to=kelvin(80)),),
    )
    assert bench.spoken(bench.changed(small, mended), "sugar grains") == []


def test_a_weak_syrup_stays_clear(bench, small):
    assert bench.spoken(small, "sugar grains") == []


@pytest.mark.parametrize("fruit", ["pineapple", "kiwi", "papaya", "fig"])
def test_raw_enzyme_fruit_in_gelatine_is_a_stop(bench, small, fruit):
    # power-of-enzymes: pineapple, papaya, kiwi and fig, fresh or frozen.
    gel = bench.heart((fruit, 600), ("sugar", 150), ("gelatine 200 bloom", 14), ("water", 86), steps=(Blend(),))
    found = [f for f in bench.spoken(bench.changed(small, gel), "gelatine") if f.rule == "proteolytic fruit"]
    assert severities(found) == {Severity.STOP}
    assert found[0].where == f"components.heart.weigh.{fruit}"


@pytest.mark.parametrize("bought", ["pineapple purée", "kiwi juice", "fig purée"])
def test_a_purée_that_may_be_pasteurised_is_a_question_to_its_tub(bench, small, bought):
    # Common practice, no source: fruit purées for pastry are sold pasteurised more often than raw.
    gel = bench.heart((bought, 600), ("sugar", 150), ("gelatine 200 bloom", 14), ("water", 86), steps=(Blend(),))
    found = [f for f in bench.spoken(bench.changed(small, gel), "gelatine") if f.rule == "proteolytic fruit"]
    assert severities(found) == {Severity.CAUTION}
    assert "if it was never heated" in found[0].says


def test_scalded_pineapple_lets_gelatine_set(bench, small):
    # Common practice and bromelain's heat death: scalded to 85 °C it no longer harms.
    fruit = bench.component("cooked pineapple", ("pineapple", 600), ("sugar", 50), steps=(Boil(duration=180.0),))
    gel = bench.heart(
        ("cooked pineapple", 600), ("sugar", 150), ("gelatine 200 bloom", 14), ("water", 86), steps=(Blend(),)
    )
    found = [f for f in bench.spoken(bench.changed(small, fruit, gel), "gelatine") if f.rule == "proteolytic fruit"]
    assert found == []


def test_too_little_gelatine_is_told(bench, small):
    thin = bench.heart(("apricot purée", 900), ("sugar", 98), ("gelatine 200 bloom", 2), steps=(Heat(to=kelvin(60)),))
    found = bench.spoken(bench.changed(small, thin), "gelatine")
    assert any(f.rule == "gelatine dose" for f in found)


def test_a_short_boil_counts_as_written_however_slowly_the_pot_cools(bench, small):
    # Common practice, no source: two minutes at the boil in sour fruit weaken agar and do not undo it.
    sour = bench.heart(
        ("passion fruit purée", 400), ("sugar", 60), ("agar", 5), steps=(Boil(duration=120.0), Cool(to=kelvin(8)))
    )
    [found] = [f for f in bench.spoken(bench.changed(small, sour), "gels set") if "strength" in f.says + f.why]
    kept = re.search(r"keeps about (\d+)%", found.says + found.why)
    assert kept is not None
    assert 20 <= int(kept[1]) <= 70


def test_agar_boiled_long_in_acid_loses_its_strength(bench, small):
    # agar-in-acid: pH 3.5, over 80 °C, 20 min: 30 to 50 % lost.
    sour = bench.heart(
        ("blackcurrant purée", 800), ("sugar", 190), ("agar", 8), steps=(Boil(duration=1200.0, covered=True),), ph=3.1
    )
    found = bench.spoken(bench.changed(small, sour), "gels set")
    assert any("keeps about" in f.why for f in found)
    mild = bench.heart(
        ("pear purée", 800), ("sugar", 190), ("agar", 8), steps=(Boil(duration=120.0, covered=True),), ph=5.5
    )
    assert not any("keeps about" in f.why for f in bench.spoken(bench.changed(small, mild), "gels set"))


def test_high_methoxyl_pectin_needs_sugar(bench, small):
    # pectin-introduction: above 55 % solids, pH below 3.5.
    watery = bench.heart(
        ("apricot purée", 880), ("sugar", 112), ("HM pectin", 8), steps=(Boil(duration=120.0),), ph=3.2
    )
    assert any("does not set" in f.says for f in bench.spoken(bench.changed(small, watery), "gels set"))


def test_agar_alone_weeps_after_freezing_and_strong_gelatine_less(bench, small):
    # weeping-order: freezing is how agar is freed of its water; gelatine above 2 % frozen fast gave no drip.
    agar = bench.heart(("water", 850), ("sugar", 140), ("agar", 10), steps=(Boil(duration=120.0),))
    assert bench.spoken(bench.changed(small, agar), "gels weep")
    firm = bench.heart(
        ("apricot purée", 650), ("sugar", 300), ("gelatine 200 bloom", 20), ("water", 30), steps=(Heat(to=kelvin(60)),)
    )
    assert bench.spoken(bench.changed(small, firm), "gels weep") == []


def test_native_starch_turns_to_a_sponge(bench, small):
    cream = bench.heart(("whole milk", 900), ("sugar", 40), ("corn starch", 60), steps=(Boil(duration=60.0),))
    found = bench.spoken(bench.changed(small, cream), "gels weep")
    assert any("starch" in f.says for f in found)


def test_a_ganache_with_too_little_water_splits(bench, small):
    # Common practice: fat over water up to 1.5 to 2; equal spheres close-pack at 74 %.
    rich = bench.ganache(
        ("dark chocolate 70 %", 700), ("cocoa butter", 200), ("cream 35 %", 200), steps=(Heat(to=kelvin(45)), Blend())
    )
    assert any(f.rule == "ganache splits" for f in bench.spoken(bench.changed(small, rich), "fat and water"))
    assert bench.spoken(small, "fat and water") == []


def test_lean_mixes_do_not_whip(bench, small):
    # mcgee-2004: 30 % fat for cream; a ganache from 25 % (common practice).
    lean = bench.ganache(
        ("whole milk", 700),
        ("white chocolate", 200),
        ("gelatine 200 bloom", 8),
        steps=(Heat(to=kelvin(45)), Rest(at_least=12 * HOUR, at_most=24 * HOUR), Whip(overrun=0.6)),
    )
    assert any(f.rule == "fat for whipping" for f in bench.spoken(bench.changed(small, lean), "whipping"))
    assert bench.spoken(small, "whipping") == []


def test_mousses_carried_by_folded_cream_or_egg_are_left_aside(bench, small):
    folded = bench.ganache(
        ("apricot purée", 600), ("cream 35 %", 400), steps=(Whip(overrun=0.8), Fold(part="cream 35 %", air_lost=0.15))
    )
    assert bench.spoken(bench.changed(small, folded), "whipping") == []


@pytest.mark.parametrize(("hours", "check", "rule"), [(1, "whipping", "rest before whipping"), (9, "rest", "rest")])
def test_short_rests_are_told_by_how_short_they_are(bench, small, hours, check, rule):
    # Common practice: a ganache for whipping rests 12 h in the cold.
    steps = (Heat(to=kelvin(45)), Blend(), Rest(at_least=hours * HOUR, at_most=24 * HOUR), Whip(overrun=0.6))
    worked = bench.changed(small, bench.ganache(steps=steps))
    assert any(f.rule == rule for f in bench.spoken(worked, check))


def test_rests_without_end_and_rests_too_long_are_told(bench, small):
    for rest, severity in (
        (Rest(at_least=12 * HOUR), Severity.NOTE),
        (Rest(at_least=12 * HOUR, at_most=96 * HOUR), Severity.CAUTION),
    ):
        worked = bench.changed(small, bench.ganache(steps=(Heat(to=kelvin(45)), rest, Whip(overrun=0.6))))
        assert severity in severities(bench.spoken(worked, "rest"))
    assert bench.spoken(small, "rest") == []


def test_what_is_dry_enough_may_rest_for_weeks(bench, small):
    # Common practice: candied fruit keeps two weeks to six months by its water activity; a wet gel two to three days.
    rest = Rest(at_least=12 * HOUR, at_most=14 * 24 * HOUR)
    dry = bench.heart(("sugar", 500), ("glucose syrup 60 DE", 300), ("water", 150), steps=(Heat(to=kelvin(80)), rest))
    wet = bench.heart(("apricot purée", 800), ("sugar", 190), ("agar", 10), steps=(Boil(duration=120.0), rest))
    assert severities(bench.spoken(bench.changed(small, dry), "rest")) == set()
    found = bench.spoken(bench.changed(small, wet), "rest")
    assert severities(found) == {Severity.CAUTION}
    assert "water activity" in found[0].why


def test_warm_cream_is_not_whipped(bench, small):
    warm = bench.ganache(
        steps=(Heat(to=kelvin(45)), Rest(at_least=12 * HOUR, at_most=24 * HOUR), Whip(overrun=0.6, at=kelvin(24)))
    )
    assert any(f.rule == "solid fat for whipping" for f in bench.spoken(bench.changed(small, warm), "whipping"))


# --- softness --------------------------------------------------------------------------------------------------------


def frosty(bench, small, low, high):
    stage = replace(bench.STAGES[3], ready=(kelvin(low), kelvin(high)))
    return bench.with_stages(small, *bench.STAGES[:3], stage)


def test_a_watery_heart_is_too_hard_and_dextrose_mends_it(bench, small):
    # Common practice: five to ten points of sugars, part of them dextrose, soften a rock-hard heart.
    watery = frosty(
        bench, bench.changed(small, bench.heart(("water", 800), ("sugar", 180), ("gelatine 200 bloom", 20))), -8, -5
    )
    found = bench.spoken(watery, "heart softness")
    assert severities(found) == {Severity.CAUTION}
    assert "dextrose" in found[0].remedy
    part = View(watery, "EU").part("heart")
    needed = dextrose_to_soften(part, kelvin(-5))
    assert needed is not None
    assert 0.03 < needed < 0.25


def test_a_heart_that_is_thawed_when_eaten_is_not_hard(bench, small):
    assert bench.spoken(small, "heart softness") == []
    assert bench.spoken(small, "body softness") == []


def test_a_syrupy_heart_runs(bench, small):
    # Common practice: below −6 °C it is never hard in the store and leaks into the body.
    syrup = bench.heart(("water", 400), ("dextrose", 350), ("sugar", 250), steps=(Heat(to=kelvin(80)),))
    found = bench.spoken(bench.changed(small, syrup), "heart leaks")
    assert severities(found) == {Severity.CAUTION}
    assert bench.spoken(small, "heart leaks") == []


def test_more_sugar_never_makes_a_heart_harder(bench, small):
    ice = []
    for sugar in (50, 150, 250, 350):
        worked = bench.changed(small, bench.heart(("water", 600), ("sugar", sugar), ("gelatine 200 bloom", 12)))
        ice.append(ice_volume_of(View(worked, "EU").part("heart"), kelvin(-6))[1])
    assert ice == sorted(ice, reverse=True)


# --- colours and things that are not food ----------------------------------------------------------------------------


def coloured(bench, small, additive, grams=5.0):
    """The small dessert with a colour of a told strength in its skin."""
    base = small.larder.find("oil colour E 160a")
    own = replace(base, name="test colour", additives=(additive,), allergens_told=True)
    larder = small.larder.with_items([own])
    worked = replace(small, larder=larder)
    return bench.changed(worked, bench.velvet(("cocoa butter", 150), ("white chocolate", 95), ("test colour", grams)))


def test_a_colour_over_its_limit_is_a_stop_and_the_dose_that_is_within_is_told(bench, small):
    # eu-1333-2008 group III, 500 mg/kg in coatings (05.4): 5 g of a 10 % preparation in 250 g are 2000 mg/kg.
    found = bench.spoken(
        coloured(bench, small, Additive(e_number="E 120", label_class="colour", share=0.10)), "colours"
    )
    assert severities(found) == {Severity.STOP}
    assert "2000 mg/kg" in found[0].says
    assert "25 %" in found[0].remedy
    within = coloured(bench, small, Additive(e_number="E 120", label_class="colour", share=0.02))
    assert severities(bench.spoken(within, "colours")) == {Severity.NOTE}


def test_titanium_dioxide_is_refused_in_the_eu_and_limited_in_the_us(bench, small):
    # eu-2022-63; 21 CFR 73.575: 1 % of the food.
    white = coloured(bench, small, Additive(e_number="E 171", label_class="colour", share=0.30))
    assert severities(bench.spoken(white, "colours", "EU")) == {Severity.STOP}
    assert severities(bench.spoken(white, "colours", "US")) == {Severity.NOTE}


def test_a_colour_of_untold_strength_under_a_limit_is_not_shown(bench, small):
    unknown = coloured(bench, small, Additive(e_number="E 120", label_class="colour"))
    assert severities(bench.spoken(unknown, "colours")) == {Severity.CAUTION}


def test_azo_colours_carry_a_warning_in_the_eu(bench, small):
    # eu-1333-2008 Annex V.
    azo = coloured(bench, small, Additive(e_number="E 102", label_class="colour", share=0.001))
    assert severities(bench.spoken(azo, "colour warning", "EU")) == {Severity.CAUTION}
    assert bench.spoken(azo, "colour warning", "US") == []
    assert any("E 102" in text for text in dossier(azo, "EU").label.cautions)


@pytest.mark.parametrize(
    ("trait", "severity"), [("not food", Severity.STOP), ("metal", Severity.CAUTION), ("lustre", Severity.CAUTION)]
)
def test_metals_dusts_and_decorative_only_are_told(bench, small, trait, severity):
    # mmwr-70-43: dusts that were not food caused metal poisoning.
    dust = replace(small.larder.find("oil colour E 160a"), name="test dust", traits=frozenset([trait]))
    worked = replace(small, larder=small.larder.with_items([dust]))
    skin = bench.velvet(("cocoa butter", 150), ("test dust", 1))
    assert severities(bench.spoken(bench.changed(worked, skin), "metals and lustre")) == {severity}


@pytest.mark.parametrize(
    ("what", "eaten", "severity"),
    [
        ("cherry laurel leaf", False, Severity.STOP),
        ("oleander flower", True, Severity.STOP),
        ("apricot leaf with stalk", False, Severity.STOP),
        ("leaf from the garden", False, Severity.CAUTION),
        ("wire stem", True, Severity.STOP),
        ("wooden stem", False, Severity.NOTE),
        ("marzipan leaf", True, Severity.NOTE),
        ("chocolate twig", True, Severity.NOTE),
    ],
)
def test_decorations_are_food_or_told(bench, small, what, eaten, severity):
    found = bench.spoken(bench.with_garnish(small, Garnish(what=what, eaten=eaten)), "decorations")
    assert severity in severities(found)
    if severity is not Severity.STOP:
        assert Severity.STOP not in severities(found)


def test_parts_that_are_not_eaten_stay_out_of_the_ingredient_list(bench, small):
    worked = bench.with_garnish(small, Garnish(what="wooden stem", eaten=False))
    label = dossier(worked).label
    assert "stem" not in label.ingredients
    assert any("wooden stem" in text for text in label.cautions)


def test_raw_kernels_are_a_stop(bench, small):
    # efsa-4424: 0.37 g for an adult, 0.06 g for a toddler.
    infused = bench.heart(("apricot purée", 900), ("sugar", 90), ("raw apricot kernel", 10))
    found = bench.spoken(bench.changed(small, infused), "stone kernels")
    assert severities(found) == {Severity.STOP}
    assert "0.37 g" in found[0].why


def test_poisonous_leaves_among_what_is_weighed_are_a_stop(bench, small):
    infused = bench.heart(("apricot purée", 900), ("sugar", 90), ("cherry laurel leaf", 10))
    assert Severity.STOP in severities(bench.spoken(bench.changed(small, infused), "poisons"))


# --- label -----------------------------------------------------------------------------------------------------------


def test_allergens_name_their_ingredients_and_who_must_still_say(bench, small):
    found = bench.spoken(small, "allergens")
    assert "milk from cream 35 %" in words(found)
    assert "white chocolate" in words([f for f in found if f.severity is Severity.CAUTION])


def test_wheat_syrup_is_asked_after_in_the_us_only(bench, small):
    # eu-1169-2011 Annex II exempts it; us-falcpa does not.
    sweet = bench.heart(("apricot purée", 800), ("glucose syrup 60 DE", 190), ("gelatine 200 bloom", 10))
    worked = bench.changed(small, sweet)
    assert "Glucose syrup" in words(bench.spoken(worked, "allergens", "US"))
    assert "Glucose syrup of wheat" not in words(bench.spoken(worked, "allergens", "EU"))


def test_a_fruit_look_without_the_fruit_is_a_caution(bench, small):
    found = bench.spoken(bench.changed(small, names_fruit="mango"), "fruit named")
    assert severities(found) == {Severity.CAUTION}
    assert severities(bench.spoken(small, "fruit named")) == {Severity.NOTE}


def test_small_pieces_make_a_serving_by_several_in_the_us(small):
    # us-21cfr101-12: 2/3 cup (157.7 ml); units of half of it or less are counted to the nearest whole number.
    def said(factor):
        layers = tuple(replace(layer, volume=factor * layer.volume) for layer in small.piece.layers)
        worked = replace(small, piece=replace(small.piece, layers=layers))
        return CHECKS["serving"].function(View(worked, "US"))

    whole = sum(layer.volume for layer in small.piece.layers)
    assert "one piece is one serving" in words(said(90e-6 / whole))
    assert "3 pieces are a serving" in words(said(52e-6 / whole))
    assert list(CHECKS["serving"].function(View(small, "EU"))) == []


def test_polyols_above_a_tenth_want_a_statement(bench, small):
    # eu-1169-2011 Annex III, recalled.
    sweet = bench.ganache(("cream 35 %", 600), ("sorbitol", 300), ("gelatine 200 bloom", 8), steps=(Blend(),))
    worked = bench.changed(small, sweet)
    assert bench.spoken(worked, "polyols")
    assert any("laxative" in text for text in dossier(worked, "EU").label.cautions)
    assert bench.spoken(small, "polyols") == []


def test_alcohol_is_counted_as_kept_and_told(bench, small):
    drunk = bench.changed(
        small, bench.heart(("apricot purée", 800), ("rum 40 %", 100), ("sugar", 90), ("gelatine 200 bloom", 10))
    )
    made = dossier(drunk)
    assert any(f.rule == "alcohol" for f in made.findings)
    assert any("alcohol" in text for text in made.label.cautions)


def test_what_no_table_tells_is_named_when_it_matters(bench, small):
    secret = replace(
        small.larder.find("white chocolate"),
        name="secret paste",
        composition=type(small.larder.find("sugar").composition)(
            fractions=tuple(1.0 if i == 26 else 0.0 for i in range(27)), unknown=(1.0,) * 26 + (0.0,)
        ),
    )
    worked = replace(small, larder=small.larder.with_items([secret]))
    body = bench.ganache(("cream 35 %", 700), ("secret paste", 300), steps=(Blend(),))
    found = bench.spoken(bench.changed(worked, body), "untold facts")
    assert any("secret paste" in f.remedy for f in found)
    assert [f for f in bench.spoken(small, "untold facts") if f.severity is Severity.CAUTION] == []


# --- numbers and the work itself -------------------------------------------------------------------------------------


def test_more_pieces_than_cavities_take_more_cycles(bench, small):
    assert bench.spoken(small, "mould cycles") == []
    weighing = replace(small.weighing, started=60, makings=small.weighing.makings * 3)
    found = bench.spoken(replace(small, weighing=weighing), "mould cycles")
    assert "60 pieces take 3 fillings" in found[0].says
    assert "3 more trays" in found[0].remedy


def test_hot_sugar_cold_metal_and_mist_are_told(bench, small):
    caramel = bench.heart(
        ("sugar", 500), ("water", 150), ("cream 35 %", 350), steps=(Cook(to_temperature=kelvin(113)), Blend())
    )
    assert bench.spoken(bench.changed(small, caramel), "hot sugar")
    assert bench.spoken(small, "hot sugar") == []
    assert bench.spoken(small, "cold burns")
    assert bench.spoken(small, "spray mist")


def test_dust_and_cold_gases_are_told(bench, small):
    disc = bench.component(
        "disc",
        ("almond powder", 100),
        ("flour", 50),
        ("sugar", 50),
        steps=(Bake(at=kelvin(170), duration=600.0, loses=0.03),),
    )
    layers = (
        *small.piece.layers[:2],
        replace(small.piece.layers[1], role="base", component="disc"),
        small.piece.layers[2],
    )
    worked = bench.changed(replace(small, piece=replace(small.piece, layers=layers)), disc)
    assert bench.spoken(worked, "dust")
    foggy = bench.heart(steps=(Note(text="cool with dry ice"),))
    assert bench.spoken(bench.changed(small, foggy), "cold gases")
    assert bench.spoken(small, "cold gases") == []


def test_every_check_has_a_key_a_question_and_a_source():
    assert len(CHECKS) >= 30
    for key, rule in CHECKS.items():
        assert rule.key == key
        assert rule.looks_at
        assert rule.source


def test_a_hardening_goal_is_kept_in_the_programme(bench):
    assert bench.STAGES[0].until == Until(place="core", temperature=kelvin(-18))
