"""The steps with heat: hydrate, heat, boil, cook, blanch, candy, bake."""

from __future__ import annotations

import re
from typing import Annotated, Any

from pydantic import BeforeValidator, Field, WithJsonSchema

from demoule.errors import BadInput
from demoule.files.fields import (
    Brix,
    Count,
    Duration,
    Entry,
    Length,
    Mass,
    Name,
    Power,
    Ratio,
    Share,
    Temperature,
    Whole,
    YesNo,
    complaint,
    complaints,
)
from demoule.files.phrase import Grammar
from demoule.files.verb import COVER, LOSES, PanField, SheetField, VerbEntry, one_of
from demoule.formula import component as formula
from demoule.units import Kind, parse

__all__ = [
    "BakeEntry",
    "BlanchEntry",
    "BoilEntry",
    "CandyEntry",
    "CookEntry",
    "CutPieceField",
    "HeatEntry",
    "HydrateEntry",
    "MeltEntry",
    "PoachEntry",
    "SimmerEntry",
    "Strength",
]


class HydrateEntry(VerbEntry):
    """Swell gelatine or a powder in the cold."""

    grammar = Grammar(slots={("", Kind.TIME): "for"}, words={"": "what"}, example="hydrate 15 min")
    duration: Duration = Field(900.0, alias="for")
    what: Name = ""

    def to_step(self) -> formula.Step:
        """The step as the formula reads it."""
        return formula.Hydrate(duration=self.duration)


_MELTED = 318.15  # K: chocolate and fats are melted at 40 to 50 °C (practice)


class HeatEntry(VerbEntry):
    """Warm to a temperature, all of it or a part."""

    grammar = Grammar(
        slots={("", Kind.TEMPERATURE): "to", ("", Kind.TIME): "for"},
        words={"": "what"},
        flags=COVER,
        pan=True,
        example="heat half the cream to 85 °C",
    )
    to: Temperature
    what: Name = ""
    pan: PanField | None = None
    duration: Duration | None = Field(None, alias="for")
    evaporates: Mass | None = None
    covered: YesNo = False

    def to_step(self) -> formula.Step:
        """The step as the formula reads it."""
        return formula.Heat(
            to=self.to,
            part=self.what,
            pan=self.pan,
            duration=self.duration,
            evaporates=self.evaporates,
            covered=self.covered,
        )


class MeltEntry(HeatEntry):
    """Warm until it is melted; without a temperature to 45 °C, as for chocolate."""

    grammar = HeatEntry.grammar
    to: Temperature = _MELTED


_STRENGTHS = ("gentle", "rolling")
Strength = Annotated[
    str,
    BeforeValidator(lambda value: one_of(value, _STRENGTHS)),
    WithJsonSchema({"enum": list(_STRENGTHS)}),
]


class BoilEntry(VerbEntry):
    """Keep at the boil for a time, or until a measured mass of water is off."""

    grammar = Grammar(
        slots={("", Kind.TIME): "for"},
        words={"": "what"},
        flags={
            **COVER,
            "gently": ("strength", "gentle"),
            "gentle": ("strength", "gentle"),
            "rolling": ("strength", "rolling"),
            "hard": ("strength", "rolling"),
        },
        pan=True,
        example="boil 2 min in 24 cm pan",
    )
    duration: Duration | None = Field(None, alias="for")
    what: Name = ""
    pan: PanField | None = None
    covered: YesNo = False
    evaporates: Mass | None = None
    strength: Strength = "rolling"

    def to_step(self) -> formula.Step:
        """The step as the formula reads it."""
        return formula.Boil(
            duration=self.duration,
            pan=self.pan,
            covered=self.covered,
            evaporates=self.evaporates,
            strength=self.strength,
            part=self.what,
        )


class SimmerEntry(BoilEntry):
    """Boil gently."""

    strength: Strength = "gentle"


def _rate(value: Any) -> float:
    """Water off the pot in a time: "100 g per 5 min"."""
    parts = re.split(r"\s*(?:\bper\b|\bin\b|/)\s*", str(value))
    if len(parts) != 2:
        raise complaints(f"“{value}” does not say how fast water goes off.", "write for example 100 g per 5 min.")
    time = parts[1] if re.match(r"\s*\d", parts[1]) else f"1 {parts[1]}"
    try:
        return parse(parts[0], Kind.MASS).value / parse(time, Kind.TIME).value
    except BadInput as error:
        raise complaint(error) from None


RateField = Annotated[
    float, BeforeValidator(_rate), WithJsonSchema({"type": "string", "examples": ["100 g per 5 min", "20 g/min"]})
]


def _aim(value: Any) -> tuple[Kind, float]:
    try:
        aim = parse("" if value is None else value, (Kind.TEMPERATURE, Kind.BRIX))
    except BadInput as error:
        raise complaint(error) from None
    if aim.kind is Kind.BRIX and not 0 < aim.value < 0.98:
        raise complaints(f"“{value}” cannot be cooked to.", "write 1 to 97 °Bx.")
    return aim.kind, aim.value


class CookEntry(VerbEntry):
    """Cook a syrup or a purée to a temperature or to a Brix."""

    grammar = Grammar(
        slots={("", Kind.TEMPERATURE): "to", ("", Kind.BRIX): "to", ("", Kind.POWER): "power"},
        words={"": "what"},
        pan=True,
        example="cook to 118 °C, or cook to 56.7 °Bx",
    )
    to: Annotated[
        tuple[Kind, float],
        BeforeValidator(_aim),
        WithJsonSchema({"type": "string", "examples": ["118 °C", "56.7 °Bx"]}),
    ]
    what: Name = ""
    pan: PanField | None = None
    power: Power | None = None
    rate: RateField | None = None

    def to_step(self) -> formula.Step:
        """The step as the formula reads it."""
        kind, value = self.to
        return formula.Cook(
            to_temperature=value if kind is Kind.TEMPERATURE else None,
            to_solids=value if kind is Kind.BRIX else None,
            pan=self.pan,
            power=self.power,
            part=self.what,
            rate=self.rate,
        )


_PIECES = ("slice", "wedge", "cube", "stick", "sphere", "half")


def _cut_piece(value: Any) -> tuple[str, float]:
    match = re.fullmatch(r"\s*([^\W\d_]+)s?\s+(\S.*)", str(value))
    if not match:
        raise complaints(f"“{value}” does not say how the fruit is cut.", "write for example wedge 16 mm.")
    word = match[1].casefold().removesuffix("s") if match[1].casefold().removesuffix("s") in _PIECES else match[1]
    shape = one_of(word, _PIECES)
    try:
        size = parse(match[2], Kind.LENGTH, least=0.0005, most=0.3).value
    except BadInput as error:
        raise complaint(error) from None
    return shape, size


CutPieceField = Annotated[
    tuple[str, float],
    BeforeValidator(_cut_piece),
    WithJsonSchema({"type": "string", "examples": ["wedge 16 mm", "cube 8 mm"]}),
]


class BlanchEntry(VerbEntry):
    """Scald in plain water, once or several times."""

    grammar = Grammar(
        slots={
            ("", Kind.TIME): "for",
            ("", Kind.MASS): "water",
            ("", Kind.TEMPERATURE): "at",
        },
        flags={
            "once": ("times", "1"),
            "twice": ("times", "2"),
            "three times": ("times", "3"),
            "four times": ("times", "4"),
        },
        example="blanch 1 min",
    )
    duration: Duration = Field(60.0, alias="for")
    water: Mass | None = None
    times: Annotated[Count, Field(le=20)] = 1
    at: Temperature = 368.15
    piece: CutPieceField | None = None

    def to_step(self) -> formula.Step:
        """The step as the formula reads it."""
        kind, size = self.piece if self.piece is not None else ("", 0.016)
        return formula.Blanch(
            duration=self.duration,
            water=self.water,
            times=self.times,
            temperature=self.at,
            piece=kind,
            size=size,
        )


class LaterSyrupEntry(Entry):
    """A further day in the same syrup, boiled up to a higher Brix before the fruit goes back in."""

    to: Brix | None = None
    duration: Duration = Field(alias="for")
    at: Temperature | None = None


class CandyEntry(VerbEntry):
    """Keep fruit in a syrup that is another component."""

    grammar = Grammar(
        slots={("", Kind.TEMPERATURE): "at", ("", Kind.TIME): "for"},
        words={"in": "in"},
        flags=COVER,
        example="candy in light syrup at 85 °C for 4 h",
    )
    syrup: Name = Field(alias="in")
    at: Temperature = 358.15
    duration: Duration = Field(14400.0, alias="for")
    piece: CutPieceField = ("wedge", 0.016)
    covered: YesNo = True
    ratio: Ratio | None = None
    gives: Mass | None = None
    solids: Whole | None = None
    skin: YesNo = False
    then: list[LaterSyrupEntry] = Field(default_factory=list)

    def to_step(self) -> formula.Step:
        """The step as the formula reads it."""
        return formula.Candy(
            syrup=self.syrup,
            temperature=self.at,
            duration=self.duration,
            piece=self.piece[0],
            size=self.piece[1],
            covered=self.covered,
            ratio=self.ratio,
            gives=self.gives,
            solids=self.solids,
            skin=self.skin,
            later=tuple(
                formula.LaterSyrup(
                    duration=one.duration, temperature=self.at if one.at is None else one.at, to_solids=one.to
                )
                for one in self.then
            ),
        )


class PoachEntry(CandyEntry):
    """Poach fruit in a syrup that is another component: the same exchange, for minutes."""

    grammar = Grammar(
        slots={("", Kind.TEMPERATURE): "at", ("", Kind.TIME): "for"},
        words={"in": "in"},
        flags=COVER,
        example="poach in light syrup at 85 °C for 20 min",
    )
    duration: Duration = Field(1200.0, alias="for")
    piece: CutPieceField = ("half", 0.045)


class BakeEntry(VerbEntry):
    """Bake or dry; the water that goes off is measured."""

    grammar = Grammar(
        slots={("", Kind.TEMPERATURE): "at", ("", Kind.TIME): "for", ("", Kind.PERCENT): "loses"},
        flags=LOSES,
        example="bake 170 °C 12 min, loses 15 %",
    )
    at: Temperature
    duration: Duration = Field(alias="for")
    loses: Share
    offcuts: Share = 0.0
    cut: Length | None = None
    per_sheet: Count | None = Field(None, alias="per sheet")
    sheet: SheetField | None = None

    def to_step(self) -> formula.Step:
        """The step as the formula reads it."""
        return formula.Bake(
            at=self.at,
            duration=self.duration,
            loses=self.loses,
            offcuts=self.offcuts,
            cut=self.cut,
            per_sheet=self.per_sheet,
            sheet=self.sheet,
        )
