"""Colours and textures guessed from what is in a mix."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from demoule.formula.component import Amount, Candy, Component, Note, Weighed
from demoule.sheets.looks import as_coat, looks, mixed, shade, skin_of
from demoule.sheets.tokens import lightness


def component(name, lines, *steps):
    weighed = tuple(Weighed(what=what, amount=Amount(mass=grams / 1000), where="") for what, grams in lines)
    return Component(name=name, weighed=weighed, steps=steps)


def rgb(colour):
    return tuple(int(colour[i : i + 2], 16) for i in (1, 3, 5))


def test_a_fruit_lends_its_colour_and_cream_pales_it():
    found = looks(
        [component("heart", [("apricot purée", 500), ("sugar", 100)]),
         component("mousse", [("apricot purée", 500), ("cream 35 %", 500)])],
        {},
    )  # fmt: skip
    red, green, blue = rgb(found["heart"].colour)
    assert red > green > blue
    assert lightness(found["mousse"].colour) > lightness(found["heart"].colour)


def test_a_drop_of_colour_tints_much_fat_but_never_hides_it():
    plain = component("plain", [("cocoa butter", 600), ("white chocolate", 900)])
    red = component("red", [("cocoa butter", 600), ("white chocolate", 900), ("oil colour E 160c", 12)])
    drowned = component("drowned", [("cocoa butter", 600), ("white chocolate", 900), ("oil colour E 160c", 400)])
    found = {name: rgb(look.colour) for name, look in looks([plain, red, drowned], {}).items()}
    assert found["red"][2] < found["plain"][2] - 60
    assert found["drowned"][1] > rgb("#DC4A22")[1]  # still paler than the pure colour


def test_chocolate_is_dark_and_a_given_colour_wins():
    found = looks([component("coating", [("dark chocolate 55 %", 850), ("cocoa butter", 450)])], {})
    assert lightness(found["coating"].colour) < 30
    assert looks([component("coating", [])], {}, colours={"coating": "#123456"})["coating"].colour == "#123456"


def test_the_name_of_the_dessert_helps_when_nothing_else_does():
    found = looks((), {}, dessert="Quince", names=("mousse", "velvet", "heart"))
    assert found["velvet"].colour == skin_of("Quince")
    assert found["heart"].colour != found["mousse"].colour
    assert lightness(found["mousse"].colour) > lightness(found["heart"].colour)
    assert skin_of("Nothing known") is None


def test_pieces_are_found_with_their_size_and_share():
    candied = component("candied apricot", [("apricot", 730)], Candy(syrup="syrup", size=0.016), Note(text="dice 8 mm"))
    heart = component(
        "heart", [("apricot jelly", 1110), ("candied apricot", 690), ("apricot diced", 315), ("thyme", 4)]
    )
    bits = {bit.kind: bit for bit in looks([candied, heart], {})["heart"].bits}
    assert set(bits) == {"candied", "raw", "herb"}
    assert bits["candied"].size == pytest.approx(0.008)
    assert bits["candied"].share == pytest.approx(690 / 2119)
    assert lightness(bits["candied"].colour) < lightness(bits["raw"].colour)
    ginger = component("heart", [("apple juice", 740), ("candied ginger 5 mm", 222)])
    assert looks([ginger], {})["heart"].bits[0].size == pytest.approx(0.005)


def test_textures():
    found = looks((), {}, names=("almond disc", "whipped ganache", "liquid caramel", "raspberry heart"))
    assert [look.texture for look in found.values()] == ["crumb", "aerated", "liquid", "gel"]
    coat = found["liquid caramel"]
    assert as_coat(coat, 0.6, sprayed=True).texture == "velvet"
    assert as_coat(coat, 0.0, sprayed=True).texture == "glaze"
    assert as_coat(coat, 0.6, sprayed=False).texture == "shell"


colours = st.tuples(*[st.integers(0, 255)] * 3).map(lambda c: "#{:02X}{:02X}{:02X}".format(*c))


@given(colours)
def test_a_colour_mixed_with_itself_is_itself(colour):
    assert max(abs(a - b) for a, b in zip(rgb(mixed([(1, colour), (3, colour)])), rgb(colour), strict=True)) <= 1


@given(colours, colours)
def test_a_mean_lies_between_in_lightness(one, other):
    low, high = sorted((lightness(one), lightness(other)))
    assert low - 6 <= lightness(mixed([(1, one), (1, other)])) <= high + 6


@given(colours)
def test_shades_are_lighter_and_darker(colour):
    assert lightness(shade(colour, 0.4)) >= lightness(colour) - 0.5
    assert lightness(shade(colour, -0.4)) <= lightness(colour) + 0.5
