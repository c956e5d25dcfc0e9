"""A small dessert worked up once, and ways to change one thing of it at a time."""

from __future__ import annotations

import sys
from collections.abc import Iterable
from dataclasses import replace

import numpy as np
import pytest

from demoule.batch import Kitchen, Person
from demoule.cold import Curve, Programme, Room, Stage, StageRun, Until
from demoule.dossier.checks import CHECKS
from demoule.dossier.view import View
from demoule.figures import Finding
from demoule.formula import cook_all
from demoule.formula.component import Amount, Blend, Component, Cool, Heat, Rest, Weighed, Whip
from demoule.larder import standard_larder
from demoule.piece.design import Cavity, Fill, Garnish, HalfSphere, Heart, Mould, PieceDesign, Sphere, Spray
from demoule.units import kelvin
from demoule.worked import Dessert, Worked, work_up

HOUR = 3600.0
PRICES = {
    "cream 35 %": 5.2,
    "white chocolate": 14.0,
    "cocoa butter": 26.0,
    "gelatine": 28.0,
    "sugar": 1.2,
    "apricot purée": 9.0,
    "apricot juice": 4.0,
    "agar": 60.0,
    "almond": 12.0,
    "flour": 1.1,
    "butter": 8.5,
    "oil colour": 110.0,
}


def lines(component: str, *pairs: tuple[str, float]) -> tuple[Weighed, ...]:
    """Lines of a component from pairs of name and grams."""
    return tuple(
        Weighed(what=name, amount=Amount(mass=mass / 1000), where=f"components.{component}.weigh.{name}")
        for name, mass in pairs
    )


def component(name: str, *pairs: tuple[str, float], steps=(), **more) -> Component:
    """A component by name, lines and steps."""
    return Component(name=name, weighed=lines(name, *pairs), steps=tuple(steps), where=f"components.{name}", **more)


def heart(*pairs: tuple[str, float], steps=None, **more) -> Component:
    """The heart of the small dessert, or another in its place."""
    return component(
        "heart",
        *(pairs or (("apricot purée", 700), ("sugar", 200), ("gelatine 200 bloom", 14), ("water", 86))),
        steps=steps if steps is not None else (Heat(to=kelvin(60)), Blend(), Cool(to=kelvin(4), duration=HOUR)),
        **more,
    )


def ganache(*pairs: tuple[str, float], steps=None, **more) -> Component:
    """The body of the small dessert, or another in its place."""
    return component(
        "ganache",
        *(pairs or (("cream 35 %", 700), ("white chocolate", 260), ("gelatine 200 bloom", 7), ("water", 35))),
        steps=steps
        if steps is not None
        else (
            Heat(to=kelvin(45)),
            Blend(),
            Rest(at_least=12 * HOUR, at_most=24 * HOUR),
            Whip(overrun=0.6),
        ),
        **more,
    )


def velvet(*pairs: tuple[str, float], **more) -> Component:
    """The sprayed skin of the small dessert, or another in its place."""
    return component(
        "velvet", *(pairs or (("cocoa butter", 150), ("white chocolate", 95), ("oil colour E 160a", 5))), **more
    )


MOULD = Mould(name="ball", cavity=Cavity(shape=Sphere(radius=0.026, flat=0.02)), per_tray=12, owned=2)
HALF = Mould(name="half", cavity=Cavity(shape=HalfSphere(radius=0.019)), per_tray=24, owned=2)
BLAST = Room(name="blast freezer", air=kelvin(-35), surface=18.0)
STORE = Room(name="store freezer", air=kelvin(-20), surface=9.0)
FRIDGE = Room(name="refrigerator", air=kelvin(3), surface=10.0)
STAGES = (
    Stage(what="harden heart", room="blast freezer", until=Until(place="core", temperature=kelvin(-18))),
    Stage(what="harden piece", room="blast freezer", until=Until(place="core", temperature=kelvin(-18))),
    Stage(what="keep", room="store freezer", at_most=90 * 86400.0, where="cold.keep"),
    Stage(what="thaw", room="refrigerator", ready=(kelvin(-1), kelvin(2)), where="cold.thaw"),
)


def kitchen(**more) -> Kitchen:
    """The kitchen of the small dessert."""
    told = {
        "name": "Test bench",
        "larder": standard_larder().with_prices(PRICES),
        "rooms": (BLAST, STORE, FRIDGE),
        "moulds": (MOULD, HALF),
        "people": (Person(name="cook", shift="", pay=18.0), Person(name="junior", shift="", pay=15.0)),
        "energy_price": 0.30,
        "packaging": 0.25,
        "margin": 0.70,
        "rejects": (("", 0.05),),
    }
    return Kitchen(**(told | more))


def dessert(*components: Component, **more) -> Dessert:
    """The small dessert, with some components replaced."""
    own = {c.name: c for c in (heart(), ganache(), velvet(), *components)}
    told = {
        "name": "Apricot",
        "components": tuple(own.values()),
        "piece": PieceDesign(
            mould="ball",
            cavity=None,
            body=Fill(component="ganache"),
            heart=Heart(component="heart", mould="half"),
            skins=(Spray(component="velvet", lands=0.0018),),
        ),
        "programme": Programme(stages=STAGES),
    }
    return Dessert(**(told | more))


@pytest.fixture(scope="session")
def small() -> Worked:
    """The small dessert worked up, 20 good pieces of it."""
    return work_up(dessert(), kitchen(), pieces=20)


def changed(worked: Worked, *components: Component, **more) -> Worked:
    """The same worked dessert with components cooked anew, and with other fields of the dessert.

    Layers keep their shapes and masses; only what they are made of changes.
    """
    described = dessert(*components, **more)
    cooked = cook_all(described.components, worked.larder)
    layers = tuple(
        replace(layer, composition=cooked[layer.component].composition, air=cooked[layer.component].air)
        if layer.component in cooked
        else layer
        for layer in worked.piece.layers
    )
    garnishes = described.piece.garnishes
    return replace(
        worked,
        dessert=described,
        cooked=cooked,
        piece=replace(worked.piece, layers=layers, garnishes=garnishes),
    )


def with_garnish(worked: Worked, *garnishes: Garnish) -> Worked:
    """The same worked dessert with decorations."""
    return replace(worked, piece=replace(worked.piece, garnishes=garnishes))


def with_stages(worked: Worked, *stages: Stage, runs: Iterable[StageRun] | None = None) -> Worked:
    """The same worked dessert with another programme, and other results of it."""
    described = replace(worked.dessert, programme=Programme(stages=stages))
    cold = worked.cold if runs is None else replace(worked.cold, stages=tuple(runs))
    return replace(worked, dessert=described, cold=cold)


def run_of(stage: Stage, room: Room, *, minutes: float | None, core: tuple[float, float], window=None) -> StageRun:
    """A cold stage by hand: temperatures in °C, time in minutes."""
    span = 60.0 * (minutes or 600.0)
    t = np.linspace(0.0, span, 21)
    temperature = kelvin(0) + np.linspace(core[0], core[1], 21)
    curve = Curve(
        time=t,
        core=temperature,
        mean=temperature,
        surface=temperature,
        heart_ice=np.zeros(21),
        body_ice=np.zeros(21),
    )
    end = float(temperature[-1])
    return StageRun(
        stage=stage,
        room=room,
        surface_coefficient=10.0,
        time=None if minutes is None else span,
        low=None if minutes is None else 0.8 * span,
        high=None if minutes is None else 1.3 * span,
        started_at=float(temperature[0]),
        ended=(end, end, end),
        curve=curve,
        stills=(),
        window=window,
        heat=-20000.0,
        imbalance=0.0,
        weakest="surface coefficient",
        assumed=(),
        basis=(),
    )


def spoken(worked: Worked, check: str, market: str = "EU") -> list[Finding]:
    """What one check says of a worked dessert."""
    return list(CHECKS[check].function(View(worked, market)))  # type: ignore[arg-type]


@pytest.fixture(scope="session")
def bench():
    """The helpers of this file, for tests to change one thing at a time with."""
    return sys.modules[__name__]
