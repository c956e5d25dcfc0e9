"""Three invented desserts as components, their ingredients, and short ways to write both."""

from __future__ import annotations

import pytest

from demoule.composition import Composition, Constituent
from demoule.figures import Status
from demoule.formula import (
    Amount,
    Bake,
    Blanch,
    Blend,
    Boil,
    Candy,
    Component,
    Cook,
    Cool,
    Drain,
    Fold,
    Heat,
    Hydrate,
    Note,
    Pan,
    Rest,
    Surroundings,
    Weighed,
    Whip,
)
from demoule.larder import Ingredient, Larder, Record, standard_larder

C = Constituent
HOUR = 3600.0
RECORD = Record(source="practice", table_version="", id="", status=Status.PRACTICE)


def kelvin(celsius):
    return celsius + 273.15


def ingredient(name, parts, **told):
    """An ingredient of a test, by the masses of its constituents."""
    return Ingredient(name=name, composition=Composition.of(parts), record=RECORD, **told)


def component(name, weigh, steps=(), **told):
    """A component whose amounts are grams, or amounts as they are."""
    lines = tuple(
        Weighed(
            what=what,
            amount=amount if isinstance(amount, Amount) else Amount(mass=amount / 1000),
            where=f"components.{name}.weigh.{what}",
        )
        for what, amount in weigh.items()
    )
    return Component(name=name, weighed=lines, steps=tuple(steps), where=f"components.{name}", **told)


PLAIN = (
    ingredient("water", {C.WATER: 1.0}, density=998.2),
    ingredient("sugar", {C.SUCROSE: 1.0}),
    ingredient("fat", {C.OTHER_FAT: 1.0}),
    ingredient(
        "cream", {C.WATER: 0.585, C.MILK_FAT: 0.35, C.LACTOSE: 0.033, C.PROTEIN: 0.022, C.ASH: 0.01}, density=1000.0
    ),
    ingredient("fruit", {C.WATER: 0.86, C.SUCROSE: 0.06, C.GLUCOSE: 0.03, C.FRUCTOSE: 0.02, C.FIBRE: 0.03}, ph=3.5),
    ingredient("flour", {C.STARCH: 0.75, C.PROTEIN: 0.11, C.WATER: 0.14}),
    ingredient("leaf gelatine", {C.PROTEIN: 0.87, C.WATER: 0.13}, leaf_mass=0.002, bloom_strength=200.0),
    ingredient("spirit", {C.ETHANOL: 0.334, C.WATER: 0.666}),
)


@pytest.fixture(scope="session")
def plain():
    """A larder of few, simple things."""
    return Larder(items=PLAIN)


@pytest.fixture(scope="session")
def larder():
    return standard_larder()


@pytest.fixture(scope="session")
def around():
    """The kitchen of the invented desserts, 640 m up."""
    return Surroundings(altitude=640.0)


# The three desserts, each for one making: an invented scenario; its arithmetic was checked apart from this code.
PAN24 = Pan(name="24 cm", open_area=0.045)
GN40 = Pan(name="GN 1/1 40 mm", open_area=0.53 * 0.325, depth=0.040)
APRICOT = (
    component("light syrup", {"water": 730, "sugar": 876, "glucose syrup 60 DE": 146}, [Boil()]),
    component(
        "candied apricot",
        {"apricot pitted": 730},
        [
            Blanch(duration=60, water=3.0),
            Candy(
                syrup="light syrup", temperature=kelvin(85), duration=4 * HOUR, piece="wedge", size=0.016, covered=True
            ),
            Rest(at=kelvin(4), at_least=12 * HOUR, at_most=72 * HOUR),
            Drain(),
        ],
        gives=0.690,
    ),
    component(
        "apricot jelly",
        {"apricot juice": 1090, "sugar": 130, "agar": 11},
        [Boil(duration=120, pan=PAN24), Cool(to=kelvin(5), pan=GN40), Blend()],
        evaporation=0.075,
        losses=(("pan", 0.02), ("blender", 0.02)),
        gives=1.110,
    ),
    component(
        "heart",
        {"apricot jelly": 1110, "candied apricot": 690, "apricot diced": 315, "thyme": 4},
        density=1120,
        losses=(("bag", 0.04),),
        gives=2.034,
    ),
    component(
        "whipped ganache",
        {"cream 35 %": 1400, "white chocolate": 520, "gelatine 200 bloom": 14, "water": 70, "apricot purée": 180},
        [
            Hydrate(),
            Heat(to=kelvin(85), part="half the cream"),
            Blend(),
            Blend(part="apricot purée, rest of the cream"),
            Rest(at=kelvin(4), at_least=12 * HOUR, at_most=48 * HOUR),
            Whip(overrun=0.6),
        ],
        density=637.5,
        evaporation=0.014,
        losses=(("pan", 0.015), ("bowl", 0.02), ("bag", 0.025), ("scraping", 0.03)),
        gives=1.981,
    ),
    component(
        "almond disc",
        {"egg white pasteurised": 110, "sugar": 40, "icing sugar": 60, "almond powder": 75, "flour": 15},
        [
            Whip(density=450.0),
            Bake(at=kelvin(170), duration=720, loses=0.15, cut=0.026, per_sheet=140, sheet=(0.3, 0.4)),
        ],
        gives=0.245,
    ),
    component("coating", {"white chocolate": 900, "cocoa butter": 600, "oil colour E 160a + E 160c": 12}, gives=1.512),
    component("velvet", {"cocoa butter": 150, "white chocolate": 95, "oil colour E 160c": 5}, gives=0.250),
)
QUINCE = (
    component(
        "ginger heart",
        {
            "apple juice": 740,
            "honey": 105,
            "sugar": 85,
            "fresh ginger grated": 28,
            "pectin LM amidated": 11,
            "candied ginger 5 mm": 222,
        },
        [Boil(duration=120, pan=PAN24), Cool(to=kelvin(60))],
        density=1130,
        evaporation=0.070,
        losses=(("bag", 0.04),),
        gives=1.076,
    ),
    component(
        "quince mousse",
        {"quince purée": 890, "sugar": 150, "gelatine 200 bloom": 20, "water": 100, "cream 35 %": 890},
        [Hydrate(), Heat(to=kelvin(60)), Cool(to=kelvin(26)), Fold(part="cream 35 %", density=500.0)],
        density=750,
        losses=(("pan", 0.015), ("bowl", 0.02), ("bag", 0.025), ("scraping", 0.02)),
        gives=1.891,
    ),
    component(
        "sablé",
        {"butter": 100, "sugar": 60, "almond powder": 25, "flour": 170, "egg yolk pasteurised": 20, "salt": 1.5},
        [Note(text="roll 3.5 mm, cut 42 mm"), Bake(at=kelvin(155), duration=960, loses=0.10, offcuts=0.15)],
        gives=0.288,
    ),
    component("velvet", {"cocoa butter": 145, "white chocolate": 110, "oil colour E 160a": 5}, gives=0.260),
)
CHESTNUT = (
    component(
        "blackcurrant heart",
        {"blackcurrant purée": 590, "sugar": 110, "glucose syrup 60 DE": 55, "gelatine 200 bloom": 10, "water": 50},
        [
            Hydrate(),
            Heat(to=kelvin(60), part="half the blackcurrant purée"),
            Blend(),
            Blend(part="rest of the blackcurrant purée"),
        ],
        density=1120,
        evaporation=0.010,
        losses=(("bag", 0.04),),
        gives=0.773,
    ),
    component(
        "chestnut mousse",
        {
            "chestnut cream": 540,
            "cream 35 %": 690,
            "gelatine 200 bloom": 12,
            "water": 86,
            "rum 40 %": 20,
            "egg yolk pasteurised": 90,
            "sugar": 60,
        },
        [Hydrate(), Cook(to_temperature=kelvin(118), part="sugar, 26 g water"), Fold(part="cream 35 %", density=520.0)],
        density=700,
        evaporation=0.0178,
        losses=(("pan", 0.02), ("bowl", 0.02), ("bag", 0.025), ("scraping", 0.02)),
        gives=1.358,
    ),
    component(
        "hazelnut disc",
        {"egg white pasteurised": 110, "sugar": 40, "icing sugar": 60, "hazelnut powder": 75, "flour": 15},
        [
            Whip(density=450.0),
            Bake(at=kelvin(170), duration=720, loses=0.15, cut=0.036, per_sheet=70, sheet=(0.3, 0.4)),
        ],
        gives=0.245,
    ),
    component("coating", {"dark chocolate 55 %": 850, "cocoa butter": 450}, gives=1.300),
    component("gloss", {"neutral glaze": 200, "water": 40}, gives=0.240),
)


@pytest.fixture(scope="session")
def garden():
    """The components of the three desserts, by dessert."""
    return {"Apricot": APRICOT, "Quince": QUINCE, "Chestnut": CHESTNUT}


@pytest.fixture(scope="session")
def write():
    """How a test writes a component."""
    return component
