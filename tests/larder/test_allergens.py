"""The two allergen lists kept apart, with their traps."""

import pytest

from demoule.errors import BadInput, UnknownName
from demoule.larder import allergen_groups, allergen_names, in_other_market, standard_larder

LARDER = standard_larder()

# Applications of the lists worked by hand. Sources: eu-1169-2011, Annex II; us-falcpa, guidance of January 2025.
CASES = [
    ("wheat glucose syrup 60 DE", set(), set()),  # exempt in the EU; ask in the US
    ("fish gelatine 200 bloom", {"fish"}, {"fish"}),
    ("bovine gelatine 200 bloom", set(), set()),
    ("chestnut purée", set(), set()),
    ("coconut milk", set(), set()),
    ("oat flour", {"gluten cereals: oats"}, set()),
    ("quail egg", {"eggs"}, {"egg"}),
    ("kirsch 45 %", set(), set()),
    ("ghee", {"milk"}, {"milk"}),
    ("tahini", {"sesame"}, {"sesame"}),
    ("refined coconut oil", set(), set()),
    ("pine nut", set(), {"tree nuts: pine nut"}),
    ("malt syrup", {"gluten cereals: barley"}, set()),
    ("flour", {"gluten cereals: wheat"}, {"wheat"}),
    ("soya lecithin", {"soybeans"}, {"soybeans"}),
    ("sunflower lecithin", set(), set()),
    ("peanut", {"peanuts"}, {"peanuts"}),
    ("pistachio paste", {"nuts: pistachio"}, {"tree nuts: pistachio"}),
    ("lactose", {"milk"}, {"milk"}),
    ("white wine", {"sulphites"}, set()),
    ("almond", {"nuts: almond"}, {"tree nuts: almond"}),
    ("cream 35 %", {"milk"}, {"milk"}),
    ("white chocolate", {"milk", "soybeans"}, {"milk", "soybeans"}),
]


@pytest.mark.parametrize(("name", "eu", "us"), CASES)
def test_lists_worked_by_hand(name, eu, us):
    found = LARDER.find(name)
    assert found.allergens_eu == eu
    assert found.allergens_us == us


@pytest.mark.parametrize(
    "name",
    [
        "gelatine 200 bloom",
        "white chocolate",
        "dark chocolate 70 %",
        "wheat glucose syrup 60 DE",
        "candied apricot",
        "oil colour E 160a",
        "neutral glaze",
        "release spray",
        "dried apricot",
        "marshmallow",
        "natural flavouring",
    ],
)
def test_where_only_the_sheet_can_say_it_is_said(name):
    assert not LARDER.find(name).allergens_told


@pytest.mark.parametrize(
    "name", ["sugar", "apricot", "cream 35 %", "flour", "egg white", "agar", "beef gelatine 200 bloom"]
)
def test_where_the_thing_itself_tells_it_is_told(name):
    assert LARDER.find(name).allergens_told


def test_every_allergen_of_the_larder_is_on_its_list():
    eu = {group.name for group in allergen_groups("EU")}
    us = {group.name for group in allergen_groups("US")}
    assert len(eu) == 14
    assert len(us) == 9
    for item in LARDER:
        assert {name.partition(": ")[0] for name in item.allergens_eu} <= eu, item.name
        assert {name.partition(": ")[0] for name in item.allergens_us} <= us, item.name


def test_what_both_lists_hold_stands_in_both():
    # Whatever the EU list names and the US list names too must be told for both markets.
    for item in LARDER:
        assert in_other_market(item.allergens_eu, "EU") <= item.allergens_us, item.name


def test_words_of_a_person_find_their_group():
    assert allergen_names(["Egg", "wheat", "hazelnuts", "nuts", "soy", "SO2"], "EU") == {
        "eggs",
        "gluten cereals: wheat",
        "nuts: hazelnut",
        "nuts",
        "soybeans",
        "sulphites",
    }
    assert allergen_names(["eggs", "hazelnut", "lupin"], "US") == {"egg", "tree nuts: hazelnut"}
    with pytest.raises(UnknownName):
        allergen_names(["kryptonite"], "EU")
    with pytest.raises(BadInput):
        allergen_groups("Mars")
