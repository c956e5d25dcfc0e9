"""The steps of a component as they stand in a file: bare words, phrases, or a verb with its fields."""

from __future__ import annotations

import re
from typing import Annotated, Any, ClassVar

from pydantic import BeforeValidator, Field, GetJsonSchemaHandler, WithJsonSchema, model_validator
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema

from demoule.errors import BadInput, nearest
from demoule.files.dimensions import pan, tray
from demoule.files.fields import (
    Count,
    Density,
    Duration,
    Entry,
    Length,
    Mass,
    Name,
    Overrun,
    Power,
    Prose,
    Ratio,
    Share,
    Temperature,
    TimeSpan,
    Whole,
    YesNo,
    complaint,
    complaints,
)
from demoule.files.phrase import Grammar, read_phrase
from demoule.formula import component as formula
from demoule.units import Kind, parse

__all__ = ["VERBS", "StepEntry"]


def _vessel(value: Any) -> formula.Pan:
    try:
        return pan(str(value))
    except BadInput as error:
        raise complaint(error) from None


PanField = Annotated[
    formula.Pan,
    BeforeValidator(_vessel),
    WithJsonSchema(
        {
            "type": "string",
            "description": "A vessel by its size.",
            "examples": ["24 cm", "GN 1/1 40 mm", "300×400 mm"],
        }
    ),
]


def _sheet(value: Any) -> tuple[float, float]:
    try:
        return tray(str(value))
    except BadInput as error:
        raise complaint(error) from None


SheetField = Annotated[
    tuple[float, float],
    BeforeValidator(_sheet),
    WithJsonSchema({"type": "string", "description": "Two sides, in mm.", "examples": ["300×400", "26×18 in"]}),
]


class VerbEntry(Entry):
    """One step: a mapping of its fields, or a phrase that fills them."""

    grammar: ClassVar[Grammar] = Grammar()

    @model_validator(mode="before")
    @classmethod
    def _from_phrase(cls, value: Any) -> Any:
        if value is None or value == "":
            return {}
        if isinstance(value, (str, int, float)) and not isinstance(value, bool):
            try:
                return cls.understand(str(value))
            except BadInput as error:
                raise complaint(error) from None
        return value

    @classmethod
    def understand(cls, phrase: str) -> dict[str, str]:
        """The fields that a phrase fills; raises BadInput."""
        return read_phrase(phrase, cls.grammar)

    @classmethod
    def __get_pydantic_json_schema__(cls, core: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        mapping = handler.resolve_ref_schema(handler(core))
        full = dict(mapping)
        mapping.clear()
        title = full.pop("title", cls.__name__)
        phrase: JsonSchemaValue = {"type": ["string", "null"]}
        if cls.grammar.example:
            phrase["examples"] = [cls.grammar.example]
        mapping.update({"title": title, "anyOf": [phrase, full]})
        return mapping

    def to_step(self) -> formula.Step:
        """The step as the formula reads it."""
        raise NotImplementedError


class HydrateEntry(VerbEntry):
    """Swell gelatine or a powder in the cold."""

    grammar = Grammar(slots={("", Kind.TIME): "for"}, words={"": "what"}, example="hydrate 15 min")
    duration: Duration = Field(900.0, alias="for")
    what: Name = ""

    def to_step(self) -> formula.Step:
        return formula.Hydrate(duration=self.duration)


_COVER = {
    "covered": ("covered", "yes"),
    "lid on": ("covered", "yes"),
    "lid off": ("covered", "no"),
    "uncovered": ("covered", "no"),
}


_LOSES = {"loses": ("", ""), "losing": ("", "")}


class HeatEntry(VerbEntry):
    """Warm to a temperature, all of it or a part."""

    grammar = Grammar(
        slots={("", Kind.TEMPERATURE): "to", ("", Kind.TIME): "for"},
        words={"": "what"},
        flags=_COVER,
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
        return formula.Heat(
            to=self.to,
            part=self.what,
            pan=self.pan,
            duration=self.duration,
            evaporates=self.evaporates,
            covered=self.covered,
        )


def _one_of(value: Any, words: tuple[str, ...]) -> str:
    word = str(value).strip().casefold()
    if word in words:
        return word
    hint = nearest(word, words)
    raise complaints(
        f"“{value}” is none of {', '.join(words)}.", f"did you mean “{hint}”?" if hint else f"write {words[0]}."
    )


_STRENGTHS = ("gentle", "rolling")
Strength = Annotated[
    str,
    BeforeValidator(lambda value: _one_of(value, _STRENGTHS)),
    WithJsonSchema({"enum": list(_STRENGTHS)}),
]


class BoilEntry(VerbEntry):
    """Keep at the boil for a time, or until a measured mass of water is off."""

    grammar = Grammar(
        slots={("", Kind.TIME): "for"},
        words={"": "what"},
        flags={
            **_COVER,
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

    def to_step(self) -> formula.Step:
        kind, value = self.to
        return formula.Cook(
            to_temperature=value if kind is Kind.TEMPERATURE else None,
            to_solids=value if kind is Kind.BRIX else None,
            pan=self.pan,
            power=self.power,
            part=self.what,
        )


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

    def to_step(self) -> formula.Step:
        return formula.Blanch(duration=self.duration, water=self.water, times=self.times, temperature=self.at)


_PIECES = ("slice", "wedge", "cube", "stick", "sphere", "half")


def _cut_piece(value: Any) -> tuple[str, float]:
    match = re.fullmatch(r"\s*([^\W\d_]+)s?\s+(\S.*)", str(value))
    if not match:
        raise complaints(f"“{value}” does not say how the fruit is cut.", "write for example wedge 16 mm.")
    word = match[1].casefold().removesuffix("s") if match[1].casefold().removesuffix("s") in _PIECES else match[1]
    shape = _one_of(word, _PIECES)
    try:
        size = parse(match[2], Kind.LENGTH, least=0.0005, most=0.3).value
    except BadInput as error:
        raise complaint(error) from None
    return shape, size


class CandyEntry(VerbEntry):
    """Keep fruit in a syrup that is another component."""

    grammar = Grammar(
        slots={("", Kind.TEMPERATURE): "at", ("", Kind.TIME): "for"},
        words={"in": "in"},
        flags=_COVER,
        example="candy in light syrup at 85 °C for 4 h",
    )
    syrup: Name = Field(alias="in")
    at: Temperature = 358.15
    duration: Duration = Field(14400.0, alias="for")
    piece: Annotated[
        tuple[str, float],
        BeforeValidator(_cut_piece),
        WithJsonSchema({"type": "string", "examples": ["wedge 16 mm", "cube 8 mm"]}),
    ] = ("wedge", 0.016)
    covered: YesNo = True
    ratio: Ratio | None = None
    gives: Mass | None = None
    solids: Whole | None = None
    skin: YesNo = False

    def to_step(self) -> formula.Step:
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
        )


class DrainEntry(VerbEntry):
    """Let the liquid run off."""

    grammar = Grammar(slots={("", Kind.PERCENT): "loses"}, flags=_LOSES, example="drain")
    loses: Share = 0.0

    def to_step(self) -> formula.Step:
        return formula.Drain(loses=self.loses)


class BlendEntry(VerbEntry):
    """Blend, emulsify or mix."""

    grammar = Grammar(
        slots={("", Kind.PERCENT): "loses", ("", Kind.TEMPERATURE): "at"},
        words={"": "what", "in": "what"},
        flags=_LOSES,
        example="blend",
    )
    loses: Share | None = None
    at: Temperature | None = None
    what: Name = ""

    def to_step(self) -> formula.Step:
        return formula.Blend(loses=self.loses, at=self.at, part=self.what)


class StrainEntry(VerbEntry):
    """Pass through a sieve."""

    grammar = Grammar(slots={("", Kind.PERCENT): "loses"}, flags=_LOSES, example="strain, loses 3 %")
    loses: Share | None = None

    def to_step(self) -> formula.Step:
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
        return formula.Cool(to=self.to, pan=self.pan, room=self.room, duration=self.duration)


class SetEntry(VerbEntry):
    """Leave to set."""

    grammar = Grammar(slots={("", Kind.TEMPERATURE): "at", ("", Kind.TIME): "for"}, example="set 4 h at 4 °C")
    at: Temperature = 277.15
    duration: Duration | None = Field(None, alias="for")

    def to_step(self) -> formula.Step:
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
    at: Temperature = 277.15

    @model_validator(mode="after")
    def _one(self) -> WhipEntry:
        if self.overrun is not None and self.density is not None:
            raise complaints("Overrun and density are both told.", "keep the one that was measured.")
        return self

    def to_step(self) -> formula.Step:
        return formula.Whip(overrun=self.overrun, density=self.density, at=self.at)


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
        part = self.what.removesuffix(" whipped")  # "fold in cream whipped to 0.50 g/ml"
        return formula.Fold(part=part, density=self.density, air_lost=self.air_lost, at=self.at)


class BakeEntry(VerbEntry):
    """Bake or dry; the water that goes off is measured."""

    grammar = Grammar(
        slots={("", Kind.TEMPERATURE): "at", ("", Kind.TIME): "for", ("", Kind.PERCENT): "loses"},
        flags=_LOSES,
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
        return formula.Bake(
            at=self.at,
            duration=self.duration,
            loses=self.loses,
            offcuts=self.offcuts,
            cut=self.cut,
            per_sheet=self.per_sheet,
            sheet=self.sheet,
        )


class FreezeEntry(VerbEntry):
    """Freeze a component on its own before it is used."""

    grammar = Grammar(
        slots={("", Kind.TEMPERATURE): "to"}, words={"in": "in"}, example="freeze in blast freezer to -18 °C"
    )
    room: Name = Field("", alias="in")
    to: Temperature = 255.15

    def to_step(self) -> formula.Step:
        return formula.Freeze(room=self.room, to=self.to)


class NoteEntry(VerbEntry):
    """Something to do that changes neither mass nor composition; printed in the method."""

    says: Prose
    minutes: Duration | None = Field(None, alias="for")
    at: Temperature | None = None

    @classmethod
    def understand(cls, phrase: str) -> dict[str, str]:
        return {"says": phrase}

    def to_step(self) -> formula.Step:
        return formula.Note(text=self.says, minutes=None if self.minutes is None else self.minutes / 60, at=self.at)


class StepEntry(Entry):
    """One step: exactly one verb."""

    hydrate: HydrateEntry | None = None
    heat: HeatEntry | None = None
    melt: HeatEntry | None = None
    boil: BoilEntry | None = None
    simmer: SimmerEntry | None = None
    cook: CookEntry | None = None
    blanch: BlanchEntry | None = None
    candy: CandyEntry | None = None
    drain: DrainEntry | None = None
    blend: BlendEntry | None = None
    mix: BlendEntry | None = None
    strain: StrainEntry | None = None
    cool: CoolEntry | None = None
    set: SetEntry | None = None
    rest: RestEntry | None = None
    whip: WhipEntry | None = None
    fold: FoldEntry | None = None
    bake: BakeEntry | None = None
    freeze: FreezeEntry | None = None
    note: NoteEntry | None = None

    @model_validator(mode="before")
    @classmethod
    def _one_verb(cls, value: Any) -> Any:
        if isinstance(value, str):
            word, _, rest = value.strip().partition(" ")
            verb = word.rstrip(",:").casefold()
            if verb in cls.model_fields:
                return {verb: rest.strip() or {}}
            raise _no_step(value, verb, cls.model_fields)
        if isinstance(value, dict):
            known = [key for key in value if key in cls.model_fields]
            if len(value) == 1 and not known:
                key = str(next(iter(value)))
                raise _no_step(key, key.casefold(), cls.model_fields)
            if len(value) != 1:
                verb = known[0] if known else "boil"
                raise complaints(
                    f"A step is one verb; {len(value)} names stand here." if value else "An empty step stands here.",
                    f"write its details below it: {verb}: {{for: 2 min}}; and begin each step with a dash.",
                )
            key = known[0]
            return {key: {} if value[key] is None else value[key]}
        raise complaints("A step is expected here.", "write a verb such as boil, or boil: 2 min.")

    @classmethod
    def __get_pydantic_json_schema__(cls, core: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        mapping = handler.resolve_ref_schema(handler(core))
        full = dict(mapping)
        mapping.clear()
        full.update({"minProperties": 1, "maxProperties": 1})
        verbs = "|".join(cls.model_fields)
        title = full.pop("title", cls.__name__)
        mapping.update({"title": title, "anyOf": [{"type": "string", "pattern": f"^({verbs})( .*)?$"}, full]})
        return mapping

    def to_step(self) -> formula.Step:
        """The step as the formula reads it."""
        for name in type(self).model_fields:
            verb: VerbEntry | None = getattr(self, name)
            if verb is not None:
                return verb.to_step()
        raise AssertionError("validated: there is one verb")


VERBS: tuple[str, ...] = tuple(StepEntry.model_fields)
"""The first word of every step."""


def _no_step(text: str, verb: str, verbs: Any) -> Exception:
    hint = nearest(verb, verbs)
    meant = f"did you mean “{hint}”? " if hint else ""
    return complaints(
        f"“{text}” begins with no step that is known.",
        f"{meant}What changes neither mass nor mix is written as note: {text}.",
    )
