"""The steps without heat: drain, blend, strain, cool, set, rest, whip, fold, freeze, and notes."""

from __future__ import annotations

from pydantic import Field, model_validator

from demoule.files.fields import Density, Duration, Mass, Name, Overrun, Prose, Share, Temperature, TimeSpan, complaints
from demoule.files.phrase import Grammar
from demoule.files.verb import LOSES, PanField, VerbEntry
from demoule.formula import component as formula
from demoule.physics.whipping import overrun_of_cups
from demoule.units import Kind

__all__ = [
    "BlendEntry",
    "CoolEntry",
    "DrainEntry",
    "FoldEntry",
    "FreezeEntry",
    "NoteEntry",
    "RestEntry",
    "SetEntry",
    "StrainEntry",
    "WhipEntry",
]


class DrainEntry(VerbEntry):
    """Let the liquid run off."""

    grammar = Grammar(slots={("", Kind.PERCENT): "loses"}, flags=LOSES, example="drain")
    loses: Share = 0.0

    def to_step(self) -> formula.Step:
        """The step as the formula reads it."""
        return formula.Drain(loses=self.loses)


class BlendEntry(VerbEntry):
    """Blend, emulsify or mix."""

    grammar = Grammar(
        slots={("", Kind.PERCENT): "loses", ("", Kind.TEMPERATURE): "at"},
        words={"": "what", "in": "what"},
        flags=LOSES,
        example="blend",
    )
    loses: Share | None = None
    at: Temperature | None = None
    what: Name = ""

    def to_step(self) -> formula.Step:
        """The step as the formula reads it."""
        return formula.Blend(loses=self.loses, at=self.at, part=self.what)


class StrainEntry(VerbEntry):
    """Pass through a sieve."""

    grammar = Grammar(slots={("", Kind.PERCENT): "loses"}, flags=LOSES, example="strain, loses 3 %")
    loses: Share | None = None

    def to_step(self) -> formula.Step:
        """The step as the formula reads it."""
        return formula.Strain(loses=self.loses)


class CoolEntry(VerbEntry):
    """Cool to a temperature, in a pan, in a room."""

    grammar = Grammar(
        slots={("", Kind.TEMPERATURE): "to", ("", Kind.TIME): "for"},
        words={"in": "in"},
        pan=True,
        example="cool to 5 °C in GN 1/1 40 mm",
    )
    to: Temperature
    pan: PanField | None = None
    room: Name = Field("", alias="in")
    duration: Duration | None = Field(None, alias="for")

    def to_step(self) -> formula.Step:
        """The step as the formula reads it."""
        return formula.Cool(to=self.to, pan=self.pan, room=self.room, duration=self.duration)


class SetEntry(VerbEntry):
    """Leave to set."""

    grammar = Grammar(slots={("", Kind.TEMPERATURE): "at", ("", Kind.TIME): "for"}, example="set 4 h at 4 °C")
    at: Temperature = 277.15
    duration: Duration | None = Field(None, alias="for")

    def to_step(self) -> formula.Step:
        """The step as the formula reads it."""
        return formula.SetGel(at=self.at, duration=self.duration)


class RestEntry(VerbEntry):
    """Leave alone, not shorter than the one time and not longer than the other."""

    grammar = Grammar(slots={("", Kind.TEMPERATURE): "at", ("", Kind.TIME): "for"}, example="rest 12–48 h at 4 °C")
    at: Temperature = 277.15
    span: TimeSpan | None = Field(None, alias="for")
    at_least: Duration | None = Field(None, alias="at least")
    at_most: Duration | None = Field(None, alias="at most")

    @model_validator(mode="after")
    def _in_order(self) -> RestEntry:
        if self.span is not None and (self.at_least is not None or self.at_most is not None):
            raise complaints("The rest is told twice: “for”, and “at least” or “at most”.", "keep one of them.")
        if self.at_least is not None and self.at_most is not None and self.at_most < self.at_least:
            raise complaints("The longest rest is shorter than the shortest.", "write the smaller time at “at least”.")
        return self

    def to_step(self) -> formula.Step:
        """The step as the formula reads it."""
        if self.span is None:
            return formula.Rest(at=self.at, at_least=self.at_least, at_most=self.at_most)
        at_most = self.span.high if self.span.is_range else None
        return formula.Rest(at=self.at, at_least=self.span.low, at_most=at_most)


class WhipEntry(VerbEntry):
    """Beat air in, to an overrun or to a measured density."""

    grammar = Grammar(
        slots={
            ("", Kind.PERCENT): "overrun",
            ("", Kind.DENSITY): "density",
            ("", Kind.TEMPERATURE): "at",
        },
        flags={"overrun": ("", "")},
        example="whip to 60 % overrun",
    )
    overrun: Overrun | None = None
    density: Density | None = None
    cup_before: Mass | None = Field(None, alias="cup before")
    cup_after: Mass | None = Field(None, alias="cup after")
    at: Temperature = 277.15

    @model_validator(mode="after")
    def _one(self) -> WhipEntry:
        if (self.cup_before is None) != (self.cup_after is None):
            raise complaints("One cup is weighed twice.", "write cup before: 262 g, cup after: 160 g.")
        if self.overrun is not None and self.density is not None:
            raise complaints("Overrun and density are both told.", "keep the one that was measured.")
        told = (self.overrun, self.density, self.cup_before)
        if sum(one is not None for one in told) > 1:
            raise complaints("The air is told twice.", "keep the one that was measured: overrun, density or cups.")
        if self.cup_before is not None and self.cup_after is not None and self.cup_after > self.cup_before:
            raise complaints(
                "The cup is heavier after whipping than before.", "weigh it level, and take the empty cup off."
            )
        return self

    def to_step(self) -> formula.Step:
        """The step as the formula reads it."""
        overrun = self.overrun
        if self.cup_before is not None and self.cup_after is not None:
            overrun = overrun_of_cups(self.cup_before, self.cup_after)
        return formula.Whip(overrun=overrun, density=self.density, at=self.at)


class FoldEntry(VerbEntry):
    """Fold a whipped part in; some of its air is lost."""

    grammar = Grammar(
        slots={("", Kind.DENSITY): "density", ("", Kind.TEMPERATURE): "at", ("", Kind.PERCENT): "air lost"},
        words={"": "what", "in": "what"},
        example="fold in cream at 0.50 g/ml",
    )
    what: Name = ""
    density: Density | None = None
    air_lost: Share | None = Field(None, alias="air lost")
    at: Temperature | None = None

    def to_step(self) -> formula.Step:
        """The step as the formula reads it."""
        part = self.what.removesuffix(" whipped")  # "fold in cream whipped to 0.50 g/ml"
        return formula.Fold(part=part, density=self.density, air_lost=self.air_lost, at=self.at)


class FreezeEntry(VerbEntry):
    """Freeze a component on its own before it is used."""

    grammar = Grammar(
        slots={("", Kind.TEMPERATURE): "to"}, words={"in": "in"}, example="freeze in blast freezer to -18 °C"
    )
    room: Name = Field("", alias="in")
    to: Temperature = 255.15

    def to_step(self) -> formula.Step:
        """The step as the formula reads it."""
        return formula.Freeze(room=self.room, to=self.to)


class NoteEntry(VerbEntry):
    """Something to do that changes neither mass nor composition; printed in the method."""

    says: Prose
    minutes: Duration | None = Field(None, alias="for")
    at: Temperature | None = None

    @classmethod
    def understand(cls, phrase: str) -> dict[str, str]:
        """The whole text."""
        return {"says": phrase}

    def to_step(self) -> formula.Step:
        """The step as the formula reads it."""
        return formula.Note(text=self.says, minutes=None if self.minutes is None else self.minutes / 60, at=self.at)
