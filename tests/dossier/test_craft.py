"""The trade's own physics in the dossier, each thing felt when it is changed."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest

from demoule.cold import Room
from demoule.cold.softness import softness
from demoule.dossier import dossier
from demoule.dossier.checks.illustrated import whole_life
from demoule.dossier.soft_figures import good_match, ice_volume_of
from demoule.dossier.view import View
from demoule.files import demo
from demoule.formula import GoodBatch, Rest
from demoule.physics.growth import growth
from demoule.piece.design import Dip, Spray
from demoule.units import kelvin
from demoule.worked import work_up


@cache
def kitchen():
    return demo()[1]


@cache
def dessert(name):
    return next(one for one in demo()[0] if one.name == name)


@cache
def made(one, place=None):
    return dossier(work_up(one, place or kitchen()))


def value(one, key, of="piece", place=None):
    figure = made(one, place).figure(key, of)
    assert figure is not None, (key, of)
    assert figure.value is not None, (key, of)
    return figure.value


def dipped(one, **told):
    skins = tuple(replace(skin, **told) if isinstance(skin, Dip) else skin for skin in one.piece.skins)
    return replace(one, piece=replace(one.piece, skins=skins))


def component(one, name, **told):
    return replace(one, components=tuple(replace(c, **told) if c.name == name else c for c in one.components))


def in_bench(**told):
    rooms = tuple(replace(room, **told) if room.name == "bench" else room for room in kitchen().rooms)
    return replace(kitchen(), rooms=rooms)


APRICOT = dessert("Apricot")


def test_the_dip_warms_the_piece_by_its_own_heat_and_no_more():
    worked = work_up(APRICOT, kitchen())
    shell = worked.piece.layer("shell")
    assert kelvin(-20) < shell.warmed_to < kelvin(-12)
    # Energy balance by hand: the coat gives 2 kJ/(kg K) over 50 K and its heat of setting, about 150 J a gram in all.
    assert shell.heat == pytest.approx(150e3 * shell.mass, rel=0.25)
    assert value(dipped(APRICOT, piece=kelvin(-12)), "dipped_to", "coating") > value(APRICOT, "dipped_to", "coating")
    thick = dipped(APRICOT, mass=0.013)
    # Held value of the model's own page: 13 g of shell on a mousse at −20 °C ends near −14 °C (computed).
    assert value(thick, "dipped_to", "coating") == pytest.approx(-14, abs=2.5)


def test_the_cold_room_takes_the_piece_on_with_the_heat_of_its_coats():
    worked = work_up(APRICOT, kitchen())
    keep = worked.cold.stage("keep")
    bare = work_up(replace(APRICOT, piece=replace(APRICOT.piece, skins=())), kitchen())
    assert keep.started_at > bare.cold.stage("keep").started_at + 1.0
    heavy = work_up(dipped(APRICOT, mass=0.013), kitchen())
    assert heavy.cold.stage("keep").started_at > keep.started_at + 0.3
    warm = dipped(APRICOT, piece=kelvin(-9), mass=0.013)
    found = work_up(replace(warm, piece=replace(warm.piece, skins=warm.piece.skins[:1])), kitchen())
    assert any(finding.rule == "re-freeze after the last coat" for finding in found.findings)
    assert not any(finding.rule == "re-freeze after the last coat" for finding in worked.findings)
    assert any(finding.rule == "re-freeze before the next coat" for finding in worked.findings)


def test_the_bath_serves_as_many_pieces_as_it_holds_coats_above_its_least():
    worked = work_up(APRICOT, kitchen())
    shell = worked.piece.layer("shell")
    # By hand: from 2.5 kg down to 1.2 kg, a coat at a time.
    assert value(APRICOT, "bath_pieces", "coating") == pytest.approx(1.3 / shell.mass, rel=0.02)
    assert value(APRICOT, "bath_cools", "coating") < 2.0
    assert 70 < value(APRICOT, "bath_comes_back", "coating") < 95
    small = replace(kitchen(), baths=(replace(kitchen().baths[0], least=1.2, most=1.25),))
    assert any(finding.rule == "topping up" for finding in made(APRICOT, small).findings)
    assert not any(finding.rule == "topping up" for finding in made(APRICOT).findings)
    assert made(APRICOT, replace(kitchen(), baths=())).figure("bath_pieces", "coating") is None


@pytest.mark.parametrize(("key", "grams"), [("first_frost", 2.0), ("frost_spoils", 5.0)])
def test_frost_comes_sooner_in_warmer_and_wetter_rooms_and_never_above_the_dew_point(key, grams):
    now = value(APRICOT, key)
    assert value(APRICOT, key, place=in_bench(humidity=0.8)) < now
    assert value(APRICOT, key, place=in_bench(air=kelvin(26))) < now
    untold = made(APRICOT, in_bench(humidity=None)).figure(key)
    told = made(APRICOT).figure(key)
    assert untold.stretched
    assert untold.high - untold.low > told.high - told.low
    assert f"{grams:.0f} g/m²" in told.note
    dry = dipped(APRICOT, piece=kelvin(-20))
    assert (
        made(dry, in_bench(air=kelvin(6), humidity=0.05)).figure(key).value is None
        or value(dry, key, place=in_bench(air=kelvin(6), humidity=0.05)) > 5 * now
    )


def test_craft_allows_minutes_at_20_degrees_and_half_damp():
    # Held values of the model's own page for a held surface: 105 s to 5 g/m² at −20 °C in 20 °C and 50 % (computed).
    at_20 = in_bench(air=kelvin(20), humidity=0.5)
    assert 60 * value(APRICOT, "frost_spoils", place=at_20) == pytest.approx(108, abs=12)
    hot = in_bench(air=kelvin(28), humidity=0.7)
    (finding,) = (one for one in made(APRICOT, hot).findings if one.rule == "frost on the bench")
    assert finding.severity == "caution"
    (mild,) = (one for one in made(APRICOT).findings if one.rule == "frost on the bench")
    assert mild.severity == "note"


def test_a_further_dip_adds_less_than_the_first():
    first = APRICOT.piece.skins[0]
    twice = replace(APRICOT, piece=replace(APRICOT.piece, skins=(first, first)))
    assert 0.6 < value(twice, "next_dip", "coating") / value(twice, "thickness", "coating") < 1.0
    assert value(twice, "whole_shell", "coating") == pytest.approx(
        value(twice, "thickness", "coating") + value(twice, "next_dip", "coating")
    )


@pytest.mark.parametrize(
    ("told", "says"),
    [
        ({"bath": kelvin(18)}, "thicken and set in the pot"),
        ({"piece": kelvin(22)}, "no shell forms"),
        ({"duration": -1.0}, "not possible"),
        ({"lift": 0.0}, "lifted"),
    ],
)
def test_impossible_dips_are_refused_with_their_place(told, says):
    from demoule.errors import BadInput

    with pytest.raises(BadInput, match=says) as caught:
        work_up(dipped(APRICOT, **told), kitchen())
    assert any("piece.skin.0" in place for place in caught.value.places)


def test_a_spray_tells_what_lands_and_what_is_sprayed_for_it():
    velvet = next(skin for skin in APRICOT.piece.skins if isinstance(skin, Spray))
    assert value(APRICOT, "sprayed", "velvet") == pytest.approx(1000 * velvet.lands / (1 - velvet.overspray))
    # 1.8 g on about 95 cm² (by hand).
    assert value(APRICOT, "per_area", "velvet") == pytest.approx(190, rel=0.05)


def test_gels_tell_where_they_set_what_heat_and_acid_left_and_how_long_the_pan_takes():
    assert value(APRICOT, "sets_below", "apricot jelly") == pytest.approx(37)
    assert value(APRICOT, "gel_left", "apricot jelly") < 100
    assert 10 < value(APRICOT, "sets_in", "apricot jelly") < 90
    assert "sets: yes" in made(APRICOT).figure("sets_below", "apricot jelly").note
    assert value(APRICOT, "weeping", "apricot jelly") >= 1
    # Five to six times its mass (common practice).
    assert value(APRICOT, "swelling_water", "whipped ganache") == pytest.approx(5.5 * 14 * 1981 / 2170, rel=0.05)


def test_a_rest_ripens_the_fat_and_the_cooling_before_it_does_not_count():
    recipe = next(one for one in APRICOT.components if one.name == "whipped ganache")
    short = tuple(
        replace(step, at_least=2 * 3600.0, at_most=None) if isinstance(step, Rest) else step for step in recipe.steps
    )
    soon = component(APRICOT, "whipped ganache", steps=short)
    assert value(soon, "fat_ripe", "whipped ganache") < 80 < value(APRICOT, "fat_ripe", "whipped ganache")
    assert any(finding.rule == "rest before whipping" for finding in made(soon).findings)
    assert 27 < value(APRICOT, "fat_phase", "whipped ganache") < 45


def test_softness_falls_with_warmth_and_names_its_neighbour_at_a_border():
    keys = ("softness_at_store", "softness_at_minus_12", "softness_at_minus_6", "softness_at_fridge")
    for name, heart in (("Apricot", "heart"), ("Quince", "ginger heart"), ("Chestnut", "blackcurrant heart")):
        shares = [value(dessert(name), key, heart) for key in keys]
        assert shares == sorted(shares, reverse=True)
        assert shares[-1] == 0
        for key, share in zip(keys[:-1], shares[:-1], strict=True):
            assert made(dessert(name)).figure(key, heart).note == str(softness(share / 100))


def test_a_layer_is_held_against_the_chef_s_good_batch():
    part = View(work_up(APRICOT, kitchen()), "EU").part("whipped ganache")
    at = kelvin(-5)
    ice = ice_volume_of(part, at)[1]
    good = component(APRICOT, "whipped ganache", good=GoodBatch(ice=ice, gelling=0.006))
    assert value(good, "cuts_as_good_at", "whipped ganache") == pytest.approx(-5, abs=0.1)
    told = made(good).figure("firmness_to_good", "whipped ganache")
    assert told.low <= told.value <= told.high
    assert told.value > 1  # 0.645 % against 0.6 %
    # Eaten at nearly 0 °C it has no ice, the good batch had much.
    assert any(finding.rule == "good batch" for finding in made(good).findings)
    same = component(APRICOT, "whipped ganache", good=GoodBatch(cut_at=kelvin(0)))
    assert not any(finding.rule == "good batch" for finding in made(same).findings)
    match = good_match(replace(part, recipe=replace(part.recipe, good=GoodBatch(ice=0.30))), kelvin(-18))
    assert match.harder == pytest.approx(ice_volume_of(part, kelvin(-18))[1] - 0.30)


def test_growth_is_summed_over_the_whole_life_and_moves_with_it():
    view = View(work_up(APRICOT, kitchen()), "EU")
    part = view.part("whipped ganache")
    times, temperatures = whole_life(view, part)
    assert (times[1:] >= times[:-1]).all()
    # Making, rest, hardening and thaw are all in it: hottest and coldest are there.
    assert temperatures.max() > kelvin(30)
    assert temperatures.min() < kelvin(-15)
    figure = made(APRICOT).figure("growth_listeria_in_vanilla_cream", "whipped ganache")
    whole = growth("listeria in vanilla cream", times, temperatures)
    assert figure.value == pytest.approx(whole.log_increase, rel=0.03)
    assert "does not replace a shelf-life study" in figure.note
    recipe = next(one for one in APRICOT.components if one.name == "whipped ganache")
    steps = tuple(replace(s, at_most=4 * 86400.0) if isinstance(s, Rest) else s for s in recipe.steps)
    longer = component(APRICOT, "whipped ganache", steps=steps)
    # Two days more at 4 °C: 0.95 powers of ten in three days by the model's own example.
    more = value(longer, "growth_listeria_in_vanilla_cream", "whipped ganache") - figure.value
    assert more == pytest.approx(0.945 * 2 / 3, rel=0.1)


def test_what_was_learned_is_said_beside_the_figure():
    assert made(APRICOT).figure("thickness", "coating").measured == "learned from 5 test dips on 12 November"
    (told,) = (one for one in made(APRICOT).findings if one.rule == "learned here")
    assert "12 November" in told.says
    never = replace(kitchen(), measurements=())
    assert made(APRICOT, never).figure("thickness", "coating").measured == ""
    assert not any(one.rule == "learned here" for one in made(APRICOT, never).findings)


def test_a_bench_is_found_by_its_name_or_by_its_humidity():
    from demoule.dossier.coat_figures import bench_of

    bare = replace(kitchen(), rooms=tuple(room for room in kitchen().rooms if room.name != "bench"))
    damp = replace(bare, rooms=(*bare.rooms, Room(name="chocolate room", air=kelvin(16), humidity=0.45)))
    names = [bench_of(View(work_up(APRICOT, one), "EU")) for one in (kitchen(), bare, damp)]
    assert [one.name for one in names] == ["bench", "kitchen", "chocolate room"]
    assert [one.told for one in names] == [True, False, True]
