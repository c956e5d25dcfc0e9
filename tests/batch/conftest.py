"""The invented kitchen with its three desserts, and simple pieces of few layers."""

from __future__ import annotations

import importlib.util
from pathlib import Path

import pytest

from demoule.batch import Bath, Kitchen, Mixer, Person, Sprayer, surroundings
from demoule.cold.programme import Room
from demoule.composition import Composition, Constituent
from demoule.formula import cook_all
from demoule.larder import Larder, standard_larder
from demoule.piece import build
from demoule.piece.built import Layer, Piece
from demoule.piece.design import (
    Base,
    Cavity,
    Cylinder,
    Dip,
    Fill,
    Garnish,
    HalfSphere,
    Heart,
    Mould,
    PieceDesign,
    Profile,
    Sphere,
    Spray,
)

_path = Path(__file__).parents[1] / "formula" / "conftest.py"
_spec = importlib.util.spec_from_file_location("formula_scenario", _path)
scenario = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(scenario)
kelvin, component, PLAIN = scenario.kelvin, scenario.component, scenario.PLAIN
DESSERTS = {"Apricot": scenario.APRICOT, "Quince": scenario.QUINCE, "Chestnut": scenario.CHESTNUT}

ML, MM, G = 1e-6, 1e-3, 1e-3
PRICES = {
    "cream 35 %": 5.2,
    "white chocolate": 14,
    "dark chocolate": 13,
    "cocoa butter": 26,
    "gelatine": 28,
    "agar": 60,
    "pectin": 42,
    "sugar": 1.2,
    "glucose syrup": 3.2,
    "apricot pitted": 4.2,
    "apricot diced": 4.2,
    "apricot purée": 9,
    "apricot juice": 4,
    "quince purée": 8,
    "blackcurrant purée": 8.5,
    "chestnut cream": 9.5,
    "apple juice": 2.5,
    "honey": 9,
    "candied ginger": 11,
    "fresh ginger": 6,
    "ginger": 6,
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
QUINCE = [
    (0, 22.8),
    (7.6, 27.1),
    (17.1, 29.5),
    (26.6, 28.5),
    (36.1, 24.7),
    (45.6, 19.0),
    (53.2, 14.7),
    (58.9, 10.9),
    (61.8, 5.7),
    (62.7, 0),
]
CHESTNUT = [
    (0, 21.4),
    (4.2, 24.5),
    (10.4, 26.6),
    (16.7, 26.6),
    (23.0, 24.0),
    (29.2, 18.8),
    (34.4, 11.5),
    (38.1, 4.2),
    (39.7, 0),
]


def profile(points):
    return Profile(points=tuple((height * MM, radius * MM) for height, radius in points))


def mould(name, shape, per_tray, owned, fill=None, **told):
    cavity = Cavity(shape=shape, water_fill=None if fill is None else fill * ML)
    return Mould(name=name, cavity=cavity, per_tray=per_tray, owned=owned, **told)


MOULDS = (
    mould("apricot 80 ml", Sphere(radius=26.83 * MM, flat=26 * MM), 12, 5, 80, two_part=True),
    mould("quince 110 ml", profile(QUINCE), 8, 4, 110),
    mould("chestnut 60 ml", profile(CHESTNUT), 15, 3, 60),
    mould("half sphere 15 ml", HalfSphere(radius=19.28 * MM), 35, 4),
    mould("disc 45×18 mm 28.6 ml", Cylinder(diameter=45 * MM, height=18 * MM), 24, 2),
)
PIECES = {
    "Apricot": PieceDesign(
        mould="apricot 80 ml",
        cavity=None,
        body=Fill(component="whipped ganache"),
        heart=Heart(component="heart", mould="half sphere 15 ml", joined=2, volume=28.8 * ML, mass=32.3 * G),
        base=Base(component="almond disc", diameter=26 * MM, thickness=4.5 * MM, mass=1.08 * G),
        skins=(
            Dip(component="coating", bath=kelvin(34), thickness=0.6 * MM, mass=6.2 * G),
            Spray(component="velvet", lands=1.8 * G, overspray=0.4),
        ),
        garnishes=(Garnish(what="sliver of vanilla pod", eaten=False),),
    ),
    "Quince": PieceDesign(
        mould="quince 110 ml",
        cavity=None,
        body=Fill(component="quince mousse"),
        heart=Heart(component="ginger heart", mould="disc 45×18 mm 28.6 ml", volume=28.0 * ML, mass=31.6 * G),
        base=Base(component="sablé", diameter=42 * MM, thickness=5 * MM, mass=4.86 * G),
        skins=(Spray(component="velvet", lands=3.2 * G, overspray=0.45, passes=2),),
    ),
    "Chestnut": PieceDesign(
        mould="chestnut 60 ml",
        cavity=None,
        body=Fill(component="chestnut mousse"),
        heart=Heart(component="blackcurrant heart", mould="half sphere 15 ml", volume=14.4 * ML, mass=16.1 * G),
        base=Base(component="hazelnut disc", diameter=36 * MM, thickness=4.5 * MM, mass=2.08 * G),
        skins=(
            Dip(component="coating", bath=kelvin(36), thickness=0.5 * MM, mass=4.5 * G),
            Spray(component="gloss", at=kelvin(70), lands=1.5 * G, overspray=0.3),
        ),
    ),
}


@pytest.fixture(scope="session")
def kitchen():
    """The Walled Garden, invented."""
    return Kitchen(
        name="The Walled Garden",
        larder=standard_larder().with_prices(PRICES),
        altitude=640.0,
        rooms=(
            Room(name="blast freezer", air=kelvin(-36), surface=18.0),
            Room(name="store freezer", air=kelvin(-20), surface=9.0),
            Room(name="refrigerator", air=kelvin(3), surface=10.0),
        ),
        moulds=MOULDS,
        mixers=(
            Mixer(name="20 l mixer", bowl=0.020, cream_least=0.0008, cream_most=0.0038),
            Mixer(name="table mixer", bowl=0.005, cream_least=0.00015, cream_most=0.001),
        ),
        baths=(Bath(count=2, least=1.2, most=2.5),),
        sprayers=(Sprayer(cup=0.0006, stays=0.060),),
        people=tuple(
            Person(name=name, shift="", pay=pay) for name, pay in (("chef", 24), ("cook", 18), ("junior", 16))
        ),
        oven_levels=6,
        rejects=(("Apricot", 0.04), ("Quince", 0.05), ("Chestnut", 0.05)),
    )


@pytest.fixture(scope="session")
def desserts(kitchen):
    """(components, cooked, piece) of each dessert."""
    found = {}
    for name, components in DESSERTS.items():
        cooked = cook_all(components, kitchen.larder, surroundings(kitchen))
        piece = build(PIECES[name], cooked, {m.name: m for m in MOULDS}, recipes={one.name: one for one in components})
        found[name] = (components, cooked, piece)
    return found


@pytest.fixture(scope="session")
def write():
    return component


@pytest.fixture(scope="session")
def bare():
    """A kitchen with a larder of few things and no machine."""
    return Kitchen(name="bare", larder=Larder(items=PLAIN), rejects=(("", 0.0),))


def layer(role, name, mass, **told):
    return Layer(
        role=role,
        component=name,
        outline=((0.0, 0.0), (0.025, 0.0), (0.025, 0.05), (0.0, 0.05)),
        volume=mass / 1000,
        mass=mass,
        area=0.01,
        composition=Composition.of({Constituent.WATER: 1.0}),
        air=0.0,
        **told,
    )


def make_piece(*layers, moulds=(None, None), hearts=0, garnishes=()):
    return Piece(
        mould=moulds[0],
        heart_mould=moulds[1],
        hearts_per_piece=hearts,
        layers=tuple(layers),
        cavity_volume=8e-5,
        cavity_area=0.009,
        clearances=(),
        garnishes=tuple(garnishes),
    )


@pytest.fixture(scope="session")
def piece_of():
    """A piece of layers given as (role, component, kilograms, told)."""

    def build_simple(*layers, **told):
        return make_piece(*(layer(role, name, mass, **more) for role, name, mass, more in layers), **told)

    return build_simple
