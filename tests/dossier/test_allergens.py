from __future__ import annotations

import pytest

from demoule.dossier.allergens import (
    contains_lines,
    declared_allergens,
    emphasised,
    unclaimed_allergens,
    untold_allergens,
)
from demoule.larder import own_item, standard_larder

LARDER = standard_larder()


def of(*names: str):
    return [(LARDER.find(name), 0.1) for name in names]


# Sources: eu-1169-2011 Annex II; us-falcpa with the guidance of January 2025.
@pytest.mark.parametrize(
    ("name", "eu", "us"),
    [
        ("glucose syrup 60 DE", (), ()),
        ("fish gelatine", ("fish",), ("fish",)),
        ("gelatine 200 bloom", (), ()),
        ("chestnut purée", (), ()),
        ("coconut milk", (), ()),
        ("kirsch", (), ()),
        ("cream 35 %", ("milk",), ("milk",)),
        ("almond powder", ("nuts (almond)",), ("tree nuts (almond)",)),
        ("egg yolk pasteurised", ("eggs",), ("egg",)),
    ],
)
def test_each_market_has_its_own_list(name, eu, us):
    assert contains_lines(declared_allergens(of(name), "EU")) == eu
    assert contains_lines(declared_allergens(of(name), "US")) == us


def test_allergens_are_joined_over_all_ingredients_and_say_where_they_come_from():
    found = declared_allergens(of("cream 35 %", "white chocolate", "almond powder", "hazelnut powder"), "EU")
    assert [a.group for a in found] == ["milk", "nuts", "soybeans"]
    nuts = found[1]
    assert nuts.kinds == ("almond", "hazelnut")
    assert nuts.brought_by == ("almond powder", "hazelnut powder")


def test_what_only_the_supplier_can_say_is_named():
    assert untold_allergens(of("cream 35 %", "white chocolate")) == ("white chocolate",)


def test_nothing_weighed_brings_nothing():
    assert declared_allergens([(LARDER.find("cream 35 %"), 0.0)], "EU") == ()


@pytest.mark.parametrize(
    ("text", "told", "printed"),
    [
        ("whole milk powder", ["milk"], "whole MILK powder"),
        ("white chocolate (cocoa butter, milk powder)", ["milk"], "white chocolate (cocoa butter, MILK powder)"),
        ("almonds", ["nuts: almond"], "ALMONDS"),
        ("wheat flour", ["gluten cereals: wheat"], "WHEAT flour"),
        ("emulsifier: soya lecithin", ["soybeans"], "emulsifier: SOYA lecithin"),
        ("nougat", ["eggs", "nuts: almond"], "nougat (EGG, ALMOND)"),
        ("almond butter", ["nuts: almond"], "ALMOND butter"),
        ("cocoa butter", [], "cocoa butter"),
    ],
)
def test_allergens_stand_out_in_the_list(text, told, printed):
    # eu-1169-2011 Art. 21: by a typeface that sets them apart; capitals in plain text.
    assert emphasised(text, told) == printed


@pytest.mark.parametrize("market", ["EU", "US"])
def test_no_row_of_the_larder_lists_an_allergen_that_it_does_not_claim(market):
    for item in standard_larder():
        assert unclaimed_allergens(item, market) == (), item.name


def test_a_sheet_that_forgets_what_its_own_list_names_is_found_out():
    larder = standard_larder()
    sheet = own_item(
        "our white chocolate", like="white chocolate", larder=larder, allergens_eu=["milk"], allergens_us=["milk"]
    )
    assert unclaimed_allergens(sheet, "EU") == ("soybeans",)
    nutty = own_item(
        "bar",
        like="sugar",
        larder=larder,
        allergens_eu=[],
        allergens_us=[],
        contents=(("almonds", None), ("cocoa butter", None)),
    )
    assert unclaimed_allergens(nutty, "US") == ("almond",)
