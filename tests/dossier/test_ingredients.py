from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from demoule.dossier.ingredients import ingredient_text, listed_ingredients, names_of, percentage
from demoule.larder import standard_larder

LARDER = standard_larder()


def of(*pairs: tuple[str, float]):
    return [(LARDER.find(name), mass / 1000) for name, mass in pairs]


def test_ingredients_stand_in_descending_order_of_weight_at_the_time_of_use():
    # eu-1169-2011 Art. 18(1).
    mix = of(("sugar", 100), ("cream 35 %", 500), ("apricot purée", 300))
    assert [entry.name for entry in listed_ingredients(mix, 0.9, "EU")] == ["cream 35 %", "apricot purée", "sugar"]


def test_an_ingredient_used_twice_is_listed_once_with_its_whole_weight():
    mix = of(("sugar", 100), ("apricot purée", 150), ("sugar", 100))
    entries = listed_ingredients(mix, 0.35, "EU")
    assert [entry.name for entry in entries] == ["sugar", "apricot purée"]
    assert entries[0].share == pytest.approx(200 / 350)


def test_water_ranks_by_what_is_left_of_it():
    # eu-1169-2011 Annex VII Part A: added water counts as finished mass less the other ingredients.
    mix = of(("water", 400), ("sugar", 300), ("apricot purée", 200))
    boiled = listed_ingredients(mix, 0.6, "EU")  # 300 g of water went off, 100 g are left
    assert [entry.name for entry in boiled] == ["sugar", "apricot purée", "water"]
    assert boiled[-1].share == pytest.approx(100 / 600)


def test_little_water_need_not_be_listed_in_the_eu_and_is_listed_in_the_us():
    # Up to 5 % of the finished food, the same rule; 21 CFR 101.4 knows no such floor.
    mix = of(("water", 30), ("sugar", 970))
    assert [e.name for e in listed_ingredients(mix, 1.0, "EU")] == ["sugar"]
    assert [e.name for e in listed_ingredients(mix, 1.0, "US")] == ["sugar", "water"]
    assert [e.name for e in listed_ingredients(of(("water", 60), ("sugar", 940)), 1.0, "EU")] == ["sugar", "water"]


def test_the_floors_of_water_and_of_minor_ingredients_are_where_the_law_has_them():
    # 5 % of the finished food (Annex VII Part A); 2 % (21 CFR 101.4(a)(2), recalled).
    assert len(listed_ingredients(of(("water", 49.5), ("sugar", 950.5)), 1.0, "EU")) == 1
    assert len(listed_ingredients(of(("water", 50.5), ("sugar", 949.5)), 1.0, "EU")) == 2
    mix = of(("cream 35 %", 940.4), ("sugar", 20.2), ("agar", 19.8), ("salt", 19.6))
    text = ingredient_text(listed_ingredients(mix, 1.0, "US"), "US")
    assert text.endswith("sugar, contains 2 % or less of: agar, salt.")


def test_water_that_has_all_gone_is_not_listed():
    assert [e.name for e in listed_ingredients(of(("water", 50), ("sugar", 100)), 0.1, "US")] == ["sugar"]


def test_a_compound_ingredient_is_followed_by_what_it_is_made_of():
    # eu-1169-2011 Annex VII Part E; its allergens stand out.
    text = ingredient_text(listed_ingredients(of(("white chocolate", 100)), 0.1, "EU"), "EU")
    assert text.startswith("Ingredients: white chocolate (sugar, cocoa butter, whole MILK powder")
    assert "SOYA" in text
    assert "cocoa BUTTER" not in text


def test_additives_carry_class_and_number_in_the_eu_and_a_name_in_the_us():
    # eu-1169-2011 Annex VII Part C.
    assert listed_ingredients(of(("agar", 1)), 0.001, "EU")[0].text == "gelling agent: agar (E 406)"
    assert listed_ingredients(of(("agar", 1)), 0.001, "US")[0].text == "agar"


def test_a_colour_or_a_scent_in_water_is_not_listed_as_water():
    mix = of(("water", 80), ("sugar", 15), ("water colour E 133", 1), ("rose water", 4))
    texts = [entry.text for entry in listed_ingredients(mix, 0.1, "EU")]
    assert texts == ["water", "sugar", "rose water", "colour: E 133"]


def test_additives_of_one_class_stand_behind_its_name_once():
    mix = of(("water", 90), ("agar", 1), ("LM pectin", 2), ("carmine", 1), ("oil colour E 160c", 3))
    assert [entry.text for entry in listed_ingredients(mix, 0.096, "EU")] == [
        "water",
        "colours: E 160c, E 120",
        "gelling agents: pectin (E 440), agar (E 406)",
    ]
    us = [entry.text for entry in listed_ingredients(mix, 0.096, "US")]
    assert "color (paprika oleoresin, carmine)" in us


def test_each_colour_is_listed_once_by_its_number():
    mix = of(("oil colour E 160a", 1), ("oil colour E 160a + E 160c", 2), ("cocoa butter", 97))
    texts = [entry.text for entry in listed_ingredients(mix, 0.1, "EU")]
    assert texts == ["cocoa butter", "colours: E 160a, E 160c"]
    us = [entry.text for entry in listed_ingredients(mix, 0.1, "US")]
    assert us[1].startswith("color (")


def test_the_fruit_named_carries_its_percentage():
    # eu-1169-2011 Art. 22; percentage at the time of use.
    mix = of(("apricot purée", 280), ("cream 35 %", 720))
    text = ingredient_text(listed_ingredients(mix, 1.0, "EU", names_of("Apricot")), "EU")
    assert text == "Ingredients: CREAM, apricot purée 28 %."


@pytest.mark.parametrize(
    ("share", "printed"),
    [(0.2849, "28 %"), (0.034, "3.4 %"), (0.05, "5 %"), (0.0449, "4.5 %"), (1.2, "120 g per 100 g")],
)
def test_percentages_are_printed_by_the_notice(share, printed):
    # ec-quid-2017 (recalled): whole numbers, one decimal below 5 %; above 100 % grams per 100 g (Annex VIII).
    assert percentage(share) == printed


def test_small_ingredients_are_gathered_in_the_us():
    # 21 CFR 101.4(a)(2), recalled: 2 % or less may be grouped.
    mix = of(("cream 35 %", 950), ("sugar", 30), ("agar", 10), ("salt", 10))
    text = ingredient_text(listed_ingredients(mix, 1.0, "US"), "US")
    assert text.endswith("contains 2 % or less of: agar, salt.")


@given(st.lists(st.floats(1, 500), min_size=3, max_size=3), st.floats(0, 0.9))
def test_order_is_always_descending_and_nothing_is_lost(grams, boiled):
    mix = of(("sugar", grams[0]), ("apricot purée", grams[1]), ("water", grams[2]))
    finished = (sum(grams) - boiled * grams[2]) / 1000
    entries = listed_ingredients(mix, finished, "US")
    shares = [entry.share for entry in entries]
    assert shares == sorted(shares, reverse=True)
    assert sum(shares) == pytest.approx(1.0)
