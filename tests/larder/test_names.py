"""Names as a chef writes them, in two languages and any order, and prices that find their thing."""

import pickle

import pytest

from demoule.errors import BadInput, UnknownName
from demoule.larder import Ingredient, Larder, own_item, standard_larder
from demoule.larder.naming import fold, loose

LARDER = standard_larder()

DEMO = """
cream 35 %|sugar|glucose syrup 60 DE|apricot pitted|apricot juice|apricot purée|apricot diced|thyme|white chocolate
gelatine 200 bloom|egg white pasteurised|icing sugar|almond powder|flour|cocoa butter|oil colour E 160a
oil colour E 160a + E 160c|oil colour E 160c|apple juice|honey|fresh ginger grated|pectin LM amidated
candied ginger 5 mm|quince purée|egg yolk pasteurised|blackcurrant purée|chestnut cream|rum 40 %|dark chocolate 55 %
neutral glaze|hazelnut powder|agar|butter|salt|water|vanilla pod
"""
DEMO_NAMES = [name for line in DEMO.strip().splitlines() for name in line.split("|")]


@pytest.mark.parametrize("name", DEMO_NAMES)
def test_every_ingredient_of_the_demonstration_is_found(name):
    found = LARDER.find(name)
    assert sum(found.composition.fractions) == pytest.approx(1)
    assert found.record.source
    assert found.label_name


def test_at_least_three_hundred_ingredients_have_a_name_of_their_own():
    names = [item.name for item in LARDER]
    assert len(names) == len(set(names))
    assert len(names) >= 450
    assert len(LARDER.names()) >= 1500


def test_no_spelling_means_two_things():
    owner = {}
    for name, also in LARDER.shelf.spellings():
        for spelling in (name, *also):
            assert owner.setdefault(fold(spelling), name) == name, spelling


def test_every_name_and_spelling_that_is_listed_is_found():
    for name, also in LARDER.shelf.spellings():
        for spelling in (name, *also):
            assert LARDER.find(spelling).name == name
    for name in LARDER.names():
        assert isinstance(LARDER.find(name), Ingredient)


@pytest.mark.parametrize(
    ("written", "same"),
    [
        ("crème 35 %", "cream 35 %"),
        ("cream 35%", "cream 35 %"),
        ("whipping cream 35 % fat", "cream 35 %"),
        ("CREME 35,0 %", "cream 35 %"),
        ("beurre de cacao", "cocoa butter"),
        ("purée d’abricot", "apricot purée"),
        ("apricot puree", "apricot purée"),
        ("puree of apricots", "apricot purée"),
        ("jus d'abricot", "apricot juice"),
        ("gélatine 200 Bloom", "gelatine 200 bloom"),
        ("gelatin 200 bloom", "gelatine 200 bloom"),
        ("blancs d'œufs", "egg white"),
        ("pasteurized egg white", "egg white pasteurised"),
        ("powdered sugar", "icing sugar"),
        ("sucre glace", "icing sugar"),
        ("cornstarch", "corn starch"),
        ("poudre d'amande", "almond powder"),
        ("pectine NH", "pectin LM amidated"),
        ("crème de marrons", "chestnut cream"),
        ("sirop de glucose 60 DE", "glucose syrup 60 DE"),
        ("60 DE glucose syrup", "glucose syrup 60 DE"),
        ("chocolat noir 70 %", "dark chocolate 70 %"),
        ("rhum", "rum"),
        ("vanilla beans", "vanilla pod"),
        ("cassis", "blackcurrant"),
        ("yogurt", "yoghurt"),
        ("œufs entiers", "egg"),
        ("coconut, desiccated", "desiccated coconut"),
        ("colorant liposoluble E160a", "oil colour E 160a"),
        ("E 160 a oil colour", "oil colour E 160a"),
        ("gingembre confit", "candied ginger"),
    ],
)
def test_other_spellings_mean_the_same_thing(written, same):
    assert LARDER.find(written).composition == LARDER.find(same).composition
    assert LARDER.find(written).record == LARDER.find(same).record


@pytest.mark.parametrize(
    ("written", "hint"),
    [
        ("aprikot", "apricot"),
        ("gellan gumm", "gellan gum"),
        ("coco butter", "cocoa butter"),
        ("hazlenut", "hazelnut"),
        ("cream", "cream 35 %"),
    ],
)
def test_a_misspelt_name_is_answered_with_the_nearest(written, hint):
    with pytest.raises(UnknownName) as caught:
        LARDER.find(written)
    assert caught.value.hint == hint


@pytest.mark.parametrize("nothing", ["", "   ", "%", "12 %", "zzz", "de la", "E 999 oil colour"])
def test_what_names_nothing_is_unknown(nothing):
    with pytest.raises(UnknownName):
        LARDER.find(nothing)


def test_both_tables_stay_within_reach():
    assert LARDER.find("apricot, USDA").record.id == "09021"
    assert LARDER.find("apricot, Ciqual").record.id == "13000"
    assert LARDER.find("USDA 09021").record.id == "09021"
    assert LARDER.find("Ciqual 13000").record.id == "13000"
    assert LARDER.find("crème de marrons, Ciqual").record.id == "15016"
    with pytest.raises(UnknownName):
        LARDER.find("mascarpone, USDA")


def test_search_puts_the_best_first():
    found = [item.name for item in LARDER.search("apricot")]
    assert found[0] == "apricot"
    assert {"dried apricot", "apricot jam"} <= set(found)
    assert LARDER.search("choc")[0].group == "chocolate"
    assert "cocoa butter" in [item.name for item in LARDER.search("beurre cacao")]
    assert LARDER.search("glucose syrup 42 DE")[0].name == "glucose syrup 42 DE"
    assert LARDER.search("") == () == LARDER.search("qqqq")
    assert len(LARDER.search("e", most=5)) <= 5


def test_own_items_come_first():
    own = own_item("cream 35 %", water=59, fat=35, protein=2.4, carbohydrate=3.1, sugars=3.1)
    larder = LARDER.with_items([own])
    assert larder.find("Cream 35%") is own
    assert larder.find("cream 30 %") == LARDER.find("cream 30 %")
    assert LARDER.find("cream 35 %") != own
    assert Larder(items=(own,)).find("cream 35 %") is own
    with pytest.raises(UnknownName):
        Larder(items=(own,)).find("sugar")


def test_a_larder_is_a_value():
    assert LARDER.with_items([]) == LARDER
    assert hash(LARDER.with_prices({"sugar": 1.2})) == hash(LARDER.with_prices({"sugar": 1.2}))
    assert LARDER.with_prices({"sugar": 1.2}) != LARDER.with_prices({"sugar": 1.3})
    again = pickle.loads(pickle.dumps(LARDER.with_prices({"sugar": 1.2})))
    assert again == LARDER.with_prices({"sugar": 1.2})
    assert again.find("sucre").price == 1.2


PRICES = {
    "cream 35 %": 5.2,
    "white chocolate": 14,
    "dark chocolate 55 %": 13,
    "cocoa butter": 26,
    "gelatine": 28,
    "agar": 60,
    "pectin": 42,
    "sugar": 1.2,
    "glucose syrup": 3.2,
    "apricot pitted": 4.2,
    "apricot purée": 9,
    "apricot juice": 4,
    "quince purée": 8,
    "blackcurrant purée": 8.5,
    "chestnut cream": 9.5,
    "apple juice": 2.5,
    "honey": 9,
    "candied ginger": 11,
    "fresh ginger": 6,
    "rum": 18,
    "almond powder": 12,
    "hazelnut powder": 15,
    "egg white": 5,
    "egg yolk": 9,
    "butter": 8.5,
    "flour": 1.1,
    "icing sugar": 1.8,
    "neutral glaze": 6,
    "oil colour": 110,
    "thyme": 40,
    "salt": 0.6,
}
PRICED = LARDER.with_prices(PRICES)


@pytest.mark.parametrize(
    ("name", "price"),
    [
        ("cream 35 %", 5.2),
        ("crème 35 %", 5.2),
        ("gelatine 200 bloom", 28),
        ("gélatine 240 bloom", 28),
        ("pectin LM amidated", 42),
        ("pectine NH", 42),
        ("glucose syrup 60 DE", 3.2),
        ("sirop de glucose 42 DE", 3.2),
        ("rum 40 %", 18),
        ("rhum 54 %", 18),
        ("egg white pasteurised", 5),
        ("egg yolk pasteurised", 9),
        ("fresh ginger grated", 6),
        ("candied ginger 5 mm", 11),
        ("oil colour E 160a + E 160c", 110),
        ("colorant liposoluble E 160a", 110),
        ("sucre", 1.2),
        ("icing sugar", 1.8),
        ("thyme", 40),
        ("thym", 40),
        ("purée d'abricot", 9),
        ("apricot purée 10 % sugar", 9),
        ("apricot diced", 4.2),
        ("diced apricots", 4.2),
        ("salt", 0.6),
        ("dark chocolate 55 %", 13),
        ("white chocolate", 14),
        ("chocolat blanc", 14),
        ("quince purée", 8),
        ("flour", 1.1),
    ],
)
def test_a_price_finds_its_thing_in_every_spelling(name, price):
    assert PRICED.find(name).price == price


@pytest.mark.parametrize(
    "name", ["cream cheese", "apricot jam", "butter oil", "brown sugar", "dark chocolate 70 %", "water", "cocoa powder"]
)
def test_a_price_does_not_stray_to_another_thing(name):
    assert PRICED.find(name).price is None


def test_only_the_price_changes_and_the_larder_it_came_from_stays():
    assert PRICED.find("sugar").composition == LARDER.find("sugar").composition
    assert LARDER.find("sugar").price is None


def test_later_and_longer_prices_win():
    larder = LARDER.with_prices({"gelatine": 28}).with_prices({"gelatine powder": 30, "gelatine": 29})
    assert larder.find("gelatine powder 220 bloom").price == 30
    assert larder.find("gelatine 200 bloom").price == 29


def test_own_items_are_priced_unless_they_bring_a_price():
    own = own_item("house rum 40 %", like="rum 40 %", price=21)
    larder = LARDER.with_items([own]).with_prices({"rum": 18})
    assert larder.find("house rum 40 %").price == 21


@pytest.mark.parametrize("price", [-1.0, float("nan")])
def test_a_price_that_cannot_be_is_refused(price):
    with pytest.raises(BadInput):
        LARDER.with_prices({"sugar": price})


def test_folding_is_stable():
    for name in LARDER.names():
        assert fold(fold(name)) == fold(name)
        assert loose(fold(name)) == loose(name)


@pytest.mark.parametrize(
    ("words", "first"),
    [
        ("purée", "coconut purée"),
        ("cream", "cream 35 %"),
        ("chocolate", "white chocolate"),
        ("lait", "whole milk"),
        ("sesame", "sesame seed"),
        ("tahini", "tahini"),
    ],
)
def test_a_search_begins_with_what_goes_by_the_name(words, first):
    assert LARDER.search(words)[0].name == first


@pytest.mark.parametrize(
    ("written", "found"),
    [
        ("tomato", "tomato"),
        ("jus de tomate", "tomato juice"),
        ("dragon fruit purée", "dragon fruit purée"),
        ("noix de coco", "coconut flesh"),
        ("calvados", "calvados 40 %"),
        ("whisky 43 %", "whisky 43 %"),
        ("praliné", "almond and hazelnut praline 50 %"),
        ("gold E 175", "gold"),
        ("bittersweet chocolate", "dark chocolate 60-69 %"),
        ("crème liquide entière", "UHT cream 30 %"),
        ("muscovado", "brown sugar"),
        ("poivre noir", "black pepper"),
        ("porto", "port wine"),
        ("bicarbonate", "baking soda"),
        ("semoule", "semolina"),
        ("lagers", "beer"),
    ],
)
def test_more_of_what_a_kitchen_names(written, found):
    assert LARDER.find(written).name == found


def test_every_name_is_a_word_that_can_be_said():
    assert all(len(item.name) > 2 and not item.name.startswith(" ") for item in LARDER)


def test_recalled_rows_keep_to_what_the_table_prints():
    # Tomato, red, ripe, raw: water 94.5, sugars 2.6, fibre 1.2, protein 0.9, fat 0.2 g in 100 g (usda-sr28 11529).
    # Status: recalled.
    tomato = LARDER.find("tomato").composition
    assert tomato.water == pytest.approx(0.945, abs=0.002)
    assert tomato.sugars == pytest.approx(0.0263, abs=0.0005)
    assert LARDER.find("tomato").record.status == "recalled"
