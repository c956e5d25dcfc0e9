"""One making under way: what stands where, what went off, what was lost, and how warm it was when."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from demoule.composition import Composition
from demoule.errors import BadInput
from demoule.figures import Basis, Figure, Finding, Status
from demoule.formula.component import Component, Pan
from demoule.formula.cooked import Cooked, Cut, Left, Moment, Reading, Wait
from demoule.formula.evaporation import NONE, Band
from demoule.formula.matter import heat_contents, is_wet
from demoule.formula.parts import Part, chosen, composition_of
from demoule.formula.surroundings import Surroundings
from demoule.units import Fraction, Kelvin, Kilogram, Second

__all__ = ["Lost", "Rules", "WaterOff", "Work"]

FOREVER: Second = 3.2e8
HOTTEST: Kelvin = 773.15
"""Beyond these, ten years and an oven at its end, a number is a slip of the pen."""

SPARE = 0.98
"""Of the water, what computed evaporation may take at most; the last of it does not boil off in a pan."""


# Usual losses to vessels, as shares of what enters them (practice).
USUAL: dict[str, Fraction] = {"pan": 0.015, "blender": 0.015, "sieve": 0.015, "bowl": 0.02}
_VESSELS = frozenset(USUAL)

HABIT = Basis(model="usual losses to vessels", source=Status.PRACTICE.value, valid="pans, jugs, sieves and bowls")


@dataclass(frozen=True, slots=True, kw_only=True)
class WaterOff:
    """Water that went off in one step [kg], with its likely range."""

    step: int
    mass: Kilogram
    band: Band
    measured: bool
    cause: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Lost:
    """Mass that stayed in a vessel or was cut away [kg]."""

    cause: str
    mass: Kilogram
    kind: str = "mix"
    measured: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Rules:
    """What a run through the steps is told beyond the recipe, so that it meets what was measured.

    Parameters
    ----------
    water
        Water off by step [kg] instead of the computed one.
    nudge
        Moves every computed evaporation inside its band: -1 its low, 0 its usual, +1 its high figure.
    vessels
        Factor on every loss to a vessel.
    candied
        Mass that must be left when candying ends [kg], as measured.
    pans
        Pan by step, where the step names none.
    """

    water: Mapping[int, Kilogram] | None = None
    nudge: float = 0.0
    vessels: Fraction = 1.0
    candied: Kilogram | None = None
    pans: Mapping[int, Pan] = field(default_factory=dict)


@dataclass(slots=True)
class Work:
    """The state of a making; its steps change it one after the other."""

    component: Component
    where: str
    parts: list[Part]
    made: Mapping[str, Cooked]
    around: Surroundings
    rules: Rules
    step: int = 0
    clock: Second = 0.0
    pan_wetted: bool = False
    bowl_wetted: bool = False
    moments: list[Moment] = field(default_factory=list)
    waits: list[Wait] = field(default_factory=list)
    water: list[WaterOff] = field(default_factory=list)
    lost: list[Lost] = field(default_factory=list)
    findings: dict[str, Finding] = field(default_factory=dict)
    basis: dict[str, Basis] = field(default_factory=dict)
    left_over: list[Left] = field(default_factory=list)
    cut: Cut | None = None
    exchanged: Kilogram = 0.0
    noted: Second = 0.0
    pans: dict[int, Pan] = field(default_factory=dict)  # chosen, where none was told
    candied_mass: Kilogram | None = None  # when candying ended
    entered: Kilogram = 0.0
    readings: dict[str, Reading] = field(default_factory=dict)

    # ---- what stands where

    @property
    def in_work(self) -> list[Part]:
        """What has been put together."""
        return [part for part in self.parts if part.stands != "waiting"]

    @property
    def on_hob(self) -> list[Part]:
        """What stands on the hob."""
        return [part for part in self.parts if part.stands == "on the hob"]

    @property
    def at(self) -> str:
        """Path of the step under way in the dessert file."""
        return f"{self.where}.steps.{self.step}"

    def put_on_hob(self, text: str) -> list[Part]:
        """Put the parts a chef means on the hob, or all that is in work; what stood there before comes off."""
        wanted = chosen(text, self.parts, self.at) if text else self.in_work
        if {id(part) for part in self.on_hob} != {id(part) for part in wanted}:
            self.off_hob()
        for part in wanted:
            part.stands = "on the hob"
        self.even_out(wanted, "together")
        return wanted

    def off_hob(self) -> None:
        """What stood on the hob comes back to the rest, all but the film in the pan."""
        hot = self.on_hob
        if not hot:
            return
        if self.pan_wetted:
            self.lose("pan", USUAL["pan"], hot, usual=True)
            self.pan_wetted = False
        for part in hot:
            part.stands = "in work"

    def take_in(self, text: str) -> list[Part]:
        """The parts a step brings in, out of those that waited; all that waits when none is named."""
        waiting = [part for part in self.parts if part.stands == "waiting"]
        wanted = chosen(text, self.parts, self.at, first="waiting") if text else waiting
        for part in wanted:
            part.stands = "in work"
        return wanted

    def gather(self, doing: str) -> list[Part]:
        """Everything in work in one vessel, at one temperature."""
        self.off_hob()
        parts = self.in_work
        self.even_out(parts, doing)
        return parts

    # ---- warmth

    def temperature_of(self, parts: Iterable[Part]) -> Kelvin:
        """Temperature at which parts even out [K]: by mass and specific heat, nothing frozen or thawed."""
        parts = [part for part in parts if part.total > 0]
        first = parts[0].temperature
        if all(part.temperature == first for part in parts):
            return first
        weights = heat_contents(np.array([part.mass for part in parts]))
        return float(weights @ [part.temperature for part in parts] / weights.sum())

    def even_out(self, parts: list[Part], doing: str) -> None:
        """Parts come to one temperature at once."""
        if not parts:
            return
        mixed = self.temperature_of(parts)
        if any(abs(part.temperature - mixed) > 1e-9 for part in parts):
            for part in parts:
                part.passes(mixed, 0.0)
        self.note(mixed, doing)

    def note(self, temperature: Kelvin, doing: str) -> None:
        """Enter the temperature of now into the history."""
        moment = Moment(time=self.clock, temperature=temperature, doing=doing)
        if not self.moments or self.moments[-1] != moment:
            self.moments.append(moment)

    def pass_time(self, parts: list[Part], to: Kelvin, duration: Second, doing: str) -> None:
        """Time goes by while the parts come to a temperature in a straight line."""
        if not (0 <= duration < FOREVER and 0 < to < HOTTEST):
            raise BadInput(
                f"{duration / 3600:.4g} h at {to - 273.15:.4g} °C is not possible.",
                where=self.at,
                remedy="give a time of zero or more, and a temperature of a kitchen.",
            )
        for part in parts:
            part.passes(to, duration)
        self.clock += duration
        self.note(to, doing)

    def wait(self, what: str, at_least: Second, at_most: Second | None, temperature: Kelvin) -> None:
        """Enter a time without hands."""
        self.waits.append(Wait(what=what, at_least=at_least, at_most=at_most, temperature=temperature))

    # ---- what goes

    def composition(self, parts: Iterable[Part]) -> Composition:
        """Of parts mixed."""
        return composition_of(parts)

    def evaporate(
        self, parts: list[Part], band: Band, *, measured: bool, cause: str = "evaporation", open_ended: bool = False
    ) -> None:
        """Water goes off the parts, each in proportion to its water.

        Parameters
        ----------
        band
            What was computed or measured [kg].
        open_ended
            Nobody told for how long: a measured yield may ask for any amount.

        Raises
        ------
        BadInput
            When more is measured than there is.
        """
        there = sum(part.water for part in parts)
        told = None if self.rules.water is None else self.rules.water.get(self.step, 0.0)
        if not measured:
            band = band.at_most(SPARE * there) if parts and is_wet(composition_of(parts)) else NONE
        mass = self._nudged(band, SPARE * there if open_ended else band.high) if told is None else told
        if not 0 <= mass <= there * (1 + 1e-12):
            raise BadInput(
                f"{mass * 1000:.0f} g of water go off, and {there * 1000:.0f} g are there.",
                where=self.at,
                remedy="check the measured loss, or boil for a shorter time.",
            )
        if mass > 0:
            share = mass / there
            for part in parts:
                part.dry(part.water * share)
        known = measured or told is not None
        self.water.append(WaterOff(step=self.step, mass=mass, band=band, measured=known, cause=cause))

    def take_back(self, water: Kilogram) -> None:
        """Less water went off than was computed, by so much or by all of it [kg]."""
        off = sum(one.mass for one in self.water if not one.measured)
        back = min(water, off)
        there = sum(part.water for part in self.parts)
        if back <= 0 or there <= 0:
            return
        for part in self.parts:
            part.dry(-part.water * back / there)
        self.water = [one if one.measured else replace(one, mass=one.mass * (1 - back / off)) for one in self.water]

    def _nudged(self, band: Band, most: Kilogram) -> Kilogram:
        nudge = self.rules.nudge
        if nudge > 0:
            return band.usual + nudge * max(most - band.usual, 0.0)
        return band.usual + nudge * (band.usual - band.low)

    def lose(
        self, cause: str, share: Fraction, parts: list[Part], *, usual: bool = False, measured: bool = False
    ) -> None:
        """A share of the parts stays in a vessel.

        `usual` losses are those of the trade: they count only when the component tells no losses of its own.
        """
        if self.component.losses and (usual or cause in _VESSELS):
            return
        share = self._share(share, cause) * self.rules.vessels
        mass = sum(part.total for part in parts) * share
        if mass <= 0:
            return
        for part in parts:
            part.lose(share)
        self.lost.append(Lost(cause=cause, mass=mass, measured=measured))

    def _share(self, share: Fraction, cause: str) -> Fraction:
        if not 0 <= share <= 1:
            raise BadInput(
                f"A loss of {share:.4g} of what enters ({cause}) is not possible.",
                where=self.at if self.step < len(self.component.steps) else self.where,
                remedy="give a share from 0 to 100 %.",
            )
        return share

    def lose_told(self, cause: str, share: Fraction) -> None:
        """A share of everything stays in a vessel, as the component tells."""
        share = self._share(share, cause) * self.rules.vessels
        mass = sum(part.total for part in self.parts) * share
        for part in self.parts:
            part.lose(share)
        self.lost.append(Lost(cause=cause, mass=mass, measured=True))

    def say(self, finding: Finding) -> None:
        """Enter a finding once."""
        self.findings.setdefault(f"{finding.rule} {finding.where} {finding.says}", finding)

    def tells(self, key: str, name: str, figure: Figure) -> None:
        """Enter what a step tells; a later step of the same kind wins."""
        self.readings[key] = Reading(key=key, name=name, figure=figure)

    def stands_on(self, basis: Basis) -> None:
        """Enter what a figure stands on, once."""
        old = self.basis.get(basis.model)
        if old is None or (basis.stretched and not old.stretched):
            self.basis[basis.model] = basis
