"""What was weighed and read in this kitchen to teach the models, as it was written down."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

from demoule.formula.component import Pan
from demoule.units import Fraction, Kelvin, Kilogram, MassFraction, Metre, Second, SquareMetre

__all__ = ["CandyingTest", "CupTest", "DipTest", "GunTest", "Measurement", "OneDip", "PanTest"]


@dataclass(frozen=True, slots=True, kw_only=True)
class OneDip:
    """Some pieces weighed before and after a dip of so many seconds, dry: what they gained together [kg]."""

    duration: Second
    pieces: int
    gained: Kilogram


@dataclass(frozen=True, slots=True, kw_only=True)
class DipTest:
    """Test dips in one bath; two times, such as 1 and 6 s, tell the film from what freezes on.

    Parameters
    ----------
    component, dessert
        What was dipped into, and of which dessert; empty: it counts for every coating.
    fat
        Of the coating; None: that of the component named.
    mould, area, weighs
        The pieces: cast in a mould of this kitchen, or of a surface [m2]; and what one weighed before [kg].
    """

    name: str
    dips: tuple[OneDip, ...]
    bath: Kelvin
    piece: Kelvin = 253.15
    lift: float = 0.05
    component: str = ""
    dessert: str = ""
    fat: MassFraction | None = None
    mould: str = ""
    area: SquareMetre | None = None
    weighs: Kilogram | None = None
    measured: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class CandyingTest:
    """Fruit weighed and read before and after some time in a syrup; `component` empty: it counts for all fruit."""

    name: str
    fruit: Kilogram
    fruit_solids: MassFraction
    syrup: Kilogram
    syrup_solids: MassFraction
    at: Kelvin
    duration: Second
    piece: str
    size: Metre
    fruit_after: Kilogram
    solids_after: MassFraction
    skin: bool = False
    component: str = ""
    measured: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PanTest:
    """Water that went off a pan in some minutes, from the pot weighed twice."""

    name: str
    pan: Pan
    off: Kilogram
    duration: Second
    at: Kelvin | None = None  # None: at the boil
    strength: str = "rolling"
    covered: bool = False
    measured: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class GunTest:
    """What a gun lost, and what some pieces gained by it together [kg]; `component` empty: every spray."""

    name: str
    sprayed: Kilogram
    landed: Kilogram
    pieces: int = 1
    component: str = ""
    measured: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class CupTest:
    """One cup filled level with water, with the whipped part, with the base and with the finished mousse.

    `share` is the mass of the whipped part over that of the whole.
    """

    name: str
    water: Kilogram
    foam: Kilogram
    base: Kilogram
    mousse: Kilogram
    share: Fraction
    measured: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ConductionTest:
    """How well the mixes of a dessert conduct, as a factor on what is computed, from a probe log in one of its pieces.

    `band` is how far either way it may lie, `source` the log.
    """

    name: str
    dessert: str
    factor: float
    band: Fraction
    source: str = ""
    measured: str = ""


Measurement: TypeAlias = DipTest | CandyingTest | PanTest | GunTest | CupTest | ConductionTest
