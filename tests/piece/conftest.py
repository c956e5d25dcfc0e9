"""The three demonstration pieces, as the kitchen of the demonstration builds them; all data invented."""

from __future__ import annotations

import pytest

from demoule.composition import Composition, Constituent
from demoule.formula.cooked import Cooked, Moment
from demoule.larder.ingredient import Nutrients
from demoule.piece import (
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
    build,
)

C = Constituent
QUINCE = (
    (0, 22.8), (7.6, 27.1), (17.1, 29.5), (26.6, 28.5), (36.1, 24.7),
    (45.6, 19.0), (53.2, 14.7), (58.9, 10.9), (61.8, 5.7), (62.7, 0),
)  # fmt: skip
CHESTNUT = (
    (0, 21.4), (4.2, 24.5), (10.4, 26.6), (16.7, 26.6), (23.0, 24.0),
    (29.2, 18.8), (34.4, 11.5), (38.1, 4.2), (39.7, 0),
)  # fmt: skip


def profile(points):
    return Profile(points=tuple((z / 1000, r / 1000) for z, r in points))


def mix(name, density, *, air=0.0, **parts):
    composition = Composition.of({C[key.upper()]: value for key, value in parts.items()})
    return Cooked(
        name=name,
        weighed=(),
        entered=1.0,
        mass=1.0,
        composition=composition,
        nutrients=Nutrients(),
        contents=(),
        losses=(),
        density=density,
        mix_density=density / (1 - air),
        air=air,
        density_measured=True,
        history=(Moment(time=0.0, temperature=277.15, doing="made"),),
        waits=(),
        hands_on=0.0,
        ph=None,
    )


MIXES = {
    one.name: one
    for one in (
        mix("heart", 1120.0, water=0.68, sucrose=0.22, fructose=0.06, fibre=0.04),
        mix(
            "whipped ganache",
            637.5,
            air=0.375,
            water=0.47,
            milk_fat=0.23,
            cocoa_butter=0.08,
            sucrose=0.16,
            protein=0.06,
        ),
        mix("almond disc", 452.0, air=0.5, water=0.12, other_fat=0.28, sucrose=0.45, protein=0.15),
        mix("coating", 1068.0, cocoa_butter=0.607, sucrose=0.30, protein=0.093),
        mix("velvet", 1020.0, cocoa_butter=0.70, sucrose=0.22, protein=0.08),
        mix("ginger heart", 1130.0, water=0.62, sucrose=0.28, fructose=0.10),
        mix("quince mousse", 750.0, air=0.28, water=0.66, milk_fat=0.15, sucrose=0.12, protein=0.07),
        mix("sablé", 701.0, air=0.4, water=0.05, milk_fat=0.30, sucrose=0.2, starch=0.45),
        mix("blackcurrant heart", 1120.0, water=0.70, sucrose=0.2, glucose=0.1),
        mix("chestnut mousse", 700.0, air=0.3, water=0.55, milk_fat=0.18, sucrose=0.2, starch=0.07),
        mix("hazelnut disc", 451.0, air=0.5, water=0.12, other_fat=0.28, sucrose=0.45, protein=0.15),
        mix("dark coating", 1100.0, cocoa_butter=0.55, sucrose=0.30, fibre=0.15),
        mix("gloss", 1250.0, water=0.40, glucose=0.60),
    )
}

MOULDS = {
    one.name: one
    for one in (
        Mould(
            name="apricot 80 ml",
            cavity=Cavity(shape=Sphere(radius=0.02683, flat=0.026)),
            per_tray=12,
            owned=5,
            two_part=True,
            opening=0.012,
        ),
        Mould(name="quince 110 ml", cavity=Cavity(shape=profile(QUINCE), water_fill=110e-6), per_tray=8, owned=4),
        Mould(name="chestnut 60 ml", cavity=Cavity(shape=profile(CHESTNUT), water_fill=60e-6), per_tray=15, owned=3),
        Mould(name="half sphere 15 ml", cavity=Cavity(shape=HalfSphere(radius=0.01928)), per_tray=35, owned=4),
        Mould(name="disc 45×18 mm", cavity=Cavity(shape=Cylinder(diameter=0.045, height=0.018)), per_tray=24, owned=2),
    )
}

APRICOT = PieceDesign(
    mould="apricot 80 ml",
    cavity=None,
    heart=Heart(component="heart", mould="half sphere 15 ml", joined=2, volume=28.8e-6),
    body=Fill(component="whipped ganache"),
    base=Base(component="almond disc", diameter=0.026, thickness=0.0045),
    skins=(
        Dip(component="coating", bath=307.15, thickness=0.0006, mass=0.0062),
        Spray(component="velvet", lands=0.0018, overspray=0.40),
    ),
    garnishes=(Garnish(what="sliver of vanilla pod", eaten=False),),
)
QUINCE_PIECE = PieceDesign(
    mould="quince 110 ml",
    cavity=None,
    heart=Heart(component="ginger heart", mould="disc 45×18 mm", volume=28.0e-6),
    body=Fill(component="quince mousse"),
    base=Base(component="sablé", diameter=0.042, mass=0.00486),
    skins=(Spray(component="velvet", lands=0.0032, overspray=0.45, passes=2),),
)
CHESTNUT_PIECE = PieceDesign(
    mould="chestnut 60 ml",
    cavity=None,
    heart=Heart(component="blackcurrant heart", mould="half sphere 15 ml", volume=14.4e-6),
    body=Fill(component="chestnut mousse"),
    base=Base(component="hazelnut disc", diameter=0.036, mass=0.00208),
    skins=(
        Dip(component="dark coating", bath=309.15, thickness=0.0005, mass=0.0045),
        Spray(component="gloss", lands=0.0015, overspray=0.30),
    ),
)


@pytest.fixture(scope="session")
def mixes():
    return MIXES


@pytest.fixture(scope="session")
def moulds():
    return MOULDS


@pytest.fixture(scope="session")
def designs():
    return {"Apricot": APRICOT, "Quince": QUINCE_PIECE, "Chestnut": CHESTNUT_PIECE}


@pytest.fixture(scope="session")
def pieces(designs, mixes, moulds):
    return {name: build(design, mixes, moulds) for name, design in designs.items()}
