"""What a component has become after its steps."""

from __future__ import annotations

from dataclasses import dataclass

from demoule.composition import Composition
from demoule.figures import Basis, Figure, Finding
from demoule.larder.ingredient import Ingredient, Nutrients
from demoule.units import Fraction, Kelvin, Kilogram, KilogramPerCubicMetre, Second

__all__ = ["Content", "Cooked", "Cut", "Left", "Loss", "Moment", "Reading", "Wait"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Loss:
    """Mass that went, with its cause; `kind` tells how it scales with the size of the making."""

    cause: str  # "evaporation", "pan", "bag", "offcuts", "not told"
    mass: Kilogram
    kind: str  # "water", "mix", "alcohol" that boils off with a syrup
    measured: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Moment:
    """The temperature of the component at a time after its beginning."""

    time: Second
    temperature: Kelvin
    doing: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Wait:
    """A time in which nobody's hands are needed."""

    what: str  # "hydrate", "rest", "set", "cool", "candy", "bake", "freeze"
    at_least: Second
    at_most: Second | None
    temperature: Kelvin


@dataclass(frozen=True, slots=True, kw_only=True)
class Content:
    """How much of a larder ingredient went in [kg per kg of finished component], at the time of use."""

    ingredient: Ingredient
    mass: float
    heated_to: Kelvin  # the highest temperature it has seen in this component
    held: Second  # at or within 5 K of it


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """What is cut from the sheet of one making when it is used."""

    count: float
    each: Kilogram | None  # None: no measures told to find it by
    offcuts: Fraction | None  # share of the sheet that is cut away


@dataclass(frozen=True, slots=True, kw_only=True)
class Left:
    """What stays behind of another component and can be used again: a syrup after candying."""

    what: str
    used: Kilogram  # of that component, before
    mass: Kilogram
    composition: Composition


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What a step tells beside mass and composition: a time to cook, the Brix of a candied fruit."""

    key: str
    name: str
    figure: Figure


@dataclass(frozen=True, slots=True, kw_only=True)
class Cooked:
    """One making of a component after its steps.

    Parameters
    ----------
    weighed
        Each line of the recipe with the mass it came to [kg], components and ingredients alike.
    entered, mass
        Mass put in, and mass out of the last vessel [kg].
    exchanged
        Net mass taken from a syrup or from blanching water, negative when more went into it [kg]. What was put in and
        exchanged is what comes out and was lost.
    composition, nutrients
        Of what comes out.
    contents
        Every larder ingredient, through all nested components, per kg of what comes out.
    density, mix_density
        With its air, and without.
    air
        Share of the volume that is air.
    history, waits, hands_on
        Temperatures, times without hands, and seconds of work for one making.
    basis, findings
        What the figures stand on, and what the cooking noticed.
    """

    name: str
    weighed: tuple[tuple[str, Kilogram], ...]
    entered: Kilogram
    mass: Kilogram
    composition: Composition
    nutrients: Nutrients
    contents: tuple[Content, ...]
    losses: tuple[Loss, ...]
    density: KilogramPerCubicMetre
    mix_density: KilogramPerCubicMetre
    air: Fraction
    density_measured: bool
    history: tuple[Moment, ...]
    waits: tuple[Wait, ...]
    hands_on: Second
    ph: float | None
    basis: tuple[Basis, ...] = ()
    findings: tuple[Finding, ...] = ()
    exchanged: Kilogram = 0.0
    cut: Cut | None = None
    left_over: tuple[Left, ...] = ()
    water_lost_band: tuple[Kilogram, Kilogram] | None = None  # None: measured, or none goes off
    readings: tuple[Reading, ...] = ()

    @property
    def water_lost(self) -> Kilogram:
        """Water that left as steam in one making [kg]."""
        return sum(loss.mass for loss in self.losses if loss.kind == "water")

    @property
    def yield_fraction(self) -> Fraction:
        """Mass out over mass in."""
        return self.mass / self.entered

    @property
    def temperature(self) -> Kelvin:
        """Temperature at the end of its steps."""
        return self.history[-1].temperature
