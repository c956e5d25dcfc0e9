"""The way of the piece through the cold as it is written: hardening, keeping, thawing."""

from __future__ import annotations

import re
from typing import Annotated, Any

from pydantic import BeforeValidator, Discriminator, Field, Tag, WithJsonSchema, model_validator

from demoule.cold.programme import Programme, Room, Softened, Stage, Until
from demoule.cold.softness import CLASSES
from demoule.errors import BadInput, nearest
from demoule.files.fields import (
    Day,
    Duration,
    Entry,
    Name,
    Power,
    Ratio,
    Share,
    SurfaceCoefficient,
    Temperature,
    Whole,
    YesNo,
    complaint,
    complaints,
)
from demoule.units import Kind, Quantity, parse

__all__ = ["STAGES", "ColdField", "RoomEntry", "StageEntry", "programme", "usual_programme"]

STAGES = ("harden heart", "harden piece", "even out", "dip and spray", "keep", "thaw", "table", "stand")
"""What can happen to a piece in a room."""

MOST_OPENINGS = 200

PLACES = ("core", "mean", "surface")
"""Where in the piece a temperature is meant."""

LAYERS = ("heart", "body")
"""Whose softness is meant."""


class LearnedEntry(Entry):
    """What a probe log taught of a room; it wins over what is stated beside it."""

    source: Name = Field(alias="from")
    measured: Day | None = None
    stage: Name = ""
    blows: SurfaceCoefficient
    band: Share | None = Field(None, alias="give or take")
    air: Temperature | None = None

    @property
    def words(self) -> str:
        """Where and when it was learned."""
        day = f"{self.measured.day} {self.measured:%B %Y}" if self.measured else ""
        return ", ".join(part for part in (self.source, self.stage, day) if part)


class RoomEntry(Entry):
    """A freezer, a refrigerator, a bench: its air, and how hard it takes or gives heat."""

    air: Temperature
    blows: (
        Annotated[
            Quantity,
            BeforeValidator(lambda value: _blows(value)),
            WithJsonSchema({"type": "string", "examples": ["18 W/m²K", "3 m/s"]}),
        ]
        | None
    ) = None
    humidity: Whole | None = None
    levels: Ratio | None = None
    rated: (
        Annotated[
            tuple[float, float],
            BeforeValidator(lambda value: _rating(value)),
            WithJsonSchema({"type": "string", "examples": ["15 kg per 4 h"]}),
        ]
        | None
    ) = None
    power: Power | None = None
    capacity: Power | None = None
    opened: (
        Annotated[
            float,
            BeforeValidator(lambda value: _often(value, "opened")),
            WithJsonSchema({"type": "string", "examples": ["4 per h"]}),
        ]
        | None
    ) = None
    defrosts: (
        Annotated[
            float,
            BeforeValidator(lambda value: _often(value, "defrosts")),
            WithJsonSchema({"type": "string", "examples": ["4 per day"]}),
        ]
        | None
    ) = None
    air_speed: (
        Annotated[
            Quantity,
            BeforeValidator(lambda value: _speed(value)),
            WithJsonSchema({"type": "string", "examples": ["3 m/s"]}),
        ]
        | None
    ) = Field(None, alias="air speed")
    learned: (
        Annotated[
            Annotated[Name, Tag("<name>")] | Annotated[LearnedEntry, Tag("<mapping>")],
            Discriminator(lambda value: "<mapping>" if isinstance(value, (dict, LearnedEntry)) else "<name>"),
        ]
        | None
    ) = None

    @model_validator(mode="after")
    def _one_wind(self) -> RoomEntry:
        if self.air_speed is not None and self.blows is not None and self.blows.kind is Kind.SPEED:
            raise complaints("The wind is told twice: “blows” and “air speed”.", "keep one of them.")
        return self

    def to_room(self, name: str) -> Room:
        """The room."""
        taught = self.learned if isinstance(self.learned, LearnedEntry) else None
        stated = self.blows.value if self.blows and self.blows.kind is Kind.SURFACE_COEFFICIENT else None
        return Room(
            name=name,
            air=taught.air if taught is not None and taught.air is not None else self.air,
            surface=stated if taught is None else taught.blows,
            air_speed=self._wind(),
            humidity=self.humidity,
            levels=self.levels,
            rated_mass=self.rated[0] if self.rated else None,
            rated_time=self.rated[1] if self.rated else None,
            learned=taught.words if taught is not None else str(self.learned or ""),
            learned_band=taught.band if taught is not None else None,
            power=self.power,
            capacity=self.capacity,
            opened=self.opened,
            defrosts=self.defrosts,
        )

    def _wind(self) -> float | None:
        if self.air_speed is not None:
            return self.air_speed.value
        return self.blows.value if self.blows and self.blows.kind is Kind.SPEED else None


def _speed(value: Any) -> Quantity:
    """The speed of the air past the pieces."""
    try:
        return parse("" if value is None else value, (Kind.SPEED,), zero=True)
    except BadInput as error:
        raise complaint(error) from None


def _often(value: Any, what: str) -> float:
    """How often something is done: "4 per h", per second inside."""
    parts = re.split(r"\s*(?:\bper\b|\ban?\b|/)\s*", str(value).replace("times", " ").strip())
    try:
        number, time = parts
        often = float(number.strip().replace(",", "."))
        period = parse(time if re.match(r"\s*\d", time) else f"1 {time}", Kind.TIME).value
    except (ValueError, BadInput):
        raise complaints(f"“{value}” does not tell how often.", f"write for example {what}: 4 per h.") from None
    if not 0 <= often / period <= 1 / 60:
        raise complaints(f"“{value}” cannot be: at most once a minute.", f"write for example {what}: 4 per h.")
    return often / period


def _openings(value: Any) -> int:
    """How many times a door is opened in one stage: "3 times"."""
    found = re.fullmatch(r"\s*(\d+)\s*(?:times|×|x)?\s*", str(value))
    if found is None or int(found[1]) > MOST_OPENINGS:
        raise complaints(
            f"“{value}” does not tell how many times the door is opened.", f"write 3 times, at most {MOST_OPENINGS}."
        )
    return int(found[1])


def _blows(value: Any) -> Quantity:
    """How hard the air takes heat: a surface coefficient, or the speed of the air."""
    try:
        blows = parse("" if value is None else value, (Kind.SURFACE_COEFFICIENT, Kind.SPEED), zero=True)
    except BadInput as error:
        raise complaint(error) from None
    if blows.kind is Kind.SURFACE_COEFFICIENT and not 0.5 <= blows.value <= 1000:
        raise complaints(
            f"“{value}” cannot be: 0.5 to 1000 W/m²K are met.", "still air takes 6 to 9, a blast 12 to 40."
        )
    return blows


def _rating(value: Any) -> tuple[float, float]:
    parts = re.split(r"\s*(?:\bper\b|/)\s*", str(value))
    if len(parts) != 2:
        raise complaints(f"“{value}” is no rating.", "write for example 15 kg per 4 h.")
    time = parts[1] if re.match(r"\s*\d", parts[1]) else f"1 {parts[1]}"
    try:
        return parse(parts[0], Kind.MASS).value, parse(time, Kind.TIME).value
    except BadInput as error:
        raise complaint(error) from None


def _placed(value: Any) -> tuple[str, str]:
    """A place of the piece and the rest of a text: "core -18 °C"."""
    word, _, rest = str(value).strip().partition(" ")
    if word.casefold() in PLACES:
        return word.casefold(), rest
    if re.match(r"[-+−–]?\s?\d", word):
        return "core", str(value)
    hint = nearest(word.casefold(), PLACES)
    raise complaints(
        f"“{word}” is no place of a piece.",
        f"did you mean “{hint}”?" if hint else "write core, mean or surface and a temperature: core -18 °C.",
    )


def _until(value: Any) -> Until:
    place, rest = _placed(value)
    try:
        return Until(place=place, temperature=parse(rest, Kind.TEMPERATURE).value)
    except BadInput as error:
        raise complaint(error) from None


def _ready(value: Any) -> Quantity | Softened:
    word, _, rest = str(value).strip().partition(" ")
    layer, soft = word.casefold(), _soft_words(rest)
    if layer in LAYERS:
        if not soft:
            raise complaints(
                f"How soft the {layer} is to be is told in words, a temperature by the core.",
                f"write {layer} sliceable to spoon-soft, or core -1 to 2 °C.",
            )
        return _softened(rest, layer)
    if layer in PLACES and soft:
        raise complaints(f"Softness is told of a layer, not of the {layer}.", f"write heart {rest}.")
    if nearest(layer, [name for name, _, _ in CLASSES]) is not None:
        raise complaints("It is not told which layer is to be so soft.", f"write heart {value}.")
    place, rest = _placed(value)
    if place != "core":
        raise complaints(
            f"Ready is told by the core, not by the {place}.",
            "write core -1 to 2 °C, or heart sliceable to spoon-soft.",
        )
    return _window(rest, "Ready", "core -1 to 2 °C")


def _body(value: Any) -> Quantity | Softened:
    return _softened(str(value), "body") if _soft_words(str(value)) else _window(value)


def _soft_words(text: str) -> list[str]:
    """What stands in a text like “sliceable to spoon-soft”, empty for temperatures."""
    if not text.strip() or re.search(r"\d", text):
        return []
    return [" ".join(part.split()).casefold() for part in re.split(r"\bto\b|–", text)]


def _softened(text: str, layer: str) -> Softened:
    """A layer's softness between two words: the harder one opens the window, the softer one closes it."""
    names = [word for word, _, _ in CLASSES]  # the softest first
    places = []
    for word in _soft_words(text) or [text.strip()]:
        if word not in names:
            hint = nearest(word, names)
            raise complaints(
                f"“{word}” is no word for how soft something is.",
                f"did you mean “{hint}”?" if hint else f"write one or two of {', '.join(names)}.",
            )
        places.append(names.index(word))
    if len(places) > 2:
        raise complaints("A window goes from one word to another.", f"write {layer} sliceable to spoon-soft.")
    softest, hardest = min(places), max(places)
    return Softened(layer=layer, most=CLASSES[hardest][1], least=CLASSES[softest - 1][1] if softest else 0.0)


def _window(value: Any, what: str = "The body", example: str = "-1 to 6 °C") -> Quantity:
    try:
        quantity = parse(str(value), Kind.TEMPERATURE, span=True)
    except BadInput as error:
        raise complaint(error) from None
    if not quantity.is_range:
        raise complaints(f"{what} is a window: from one temperature to another.", f"write {example}.")
    return quantity


RoomOrName = Annotated[
    Annotated[Name, Tag("<name>")] | Annotated[RoomEntry, Tag("<mapping>")],
    Discriminator(lambda value: "<mapping>" if isinstance(value, (dict, RoomEntry)) else "<name>"),
]


class StageEntry(Entry):
    """One stay in one room."""

    room: RoomOrName = Field(alias="in")
    until: (
        Annotated[Until, BeforeValidator(_until), WithJsonSchema({"type": "string", "examples": ["core -18 °C"]})]
        | None
    ) = None
    duration: Duration | None = Field(None, alias="for")
    at_most: Duration | None = Field(None, alias="at most")
    ready: (
        Annotated[
            Quantity | Softened,
            BeforeValidator(_ready),
            WithJsonSchema({"type": "string", "examples": ["core -1 to 2 °C", "heart sliceable to spoon-soft"]}),
        ]
        | None
    ) = None
    in_mould: YesNo | None = Field(None, alias="in mould")
    body: (
        Annotated[
            Quantity | Softened,
            BeforeValidator(_body),
            WithJsonSchema({"type": "string", "examples": ["-1 to 6 °C", "spoon-soft to thawed"]}),
        ]
        | None
    ) = None
    covered: YesNo = False
    opened: Annotated[int, BeforeValidator(_openings), WithJsonSchema({"type": "string", "examples": ["3 times"]})] = 0

    @model_validator(mode="before")
    @classmethod
    def _from_room(cls, value: Any) -> Any:
        return {"in": value} if isinstance(value, str) else value

    @model_validator(mode="after")
    def _one_end(self) -> StageEntry:
        if self.until is not None and self.duration is not None:
            raise complaints("The end is told twice: “until” and “for”.", "keep one of them.")
        if self.body is not None and self.ready is None:
            raise complaints(
                "“body” belongs to a window to eat, and “ready” is not told.", "write ready: core -1 to 2 °C as well."
            )
        if all(isinstance(one, Softened) and one.layer == "body" for one in (self.ready, self.body)):
            raise complaints("The softness of the body is told twice.", "write ready: heart sliceable to spoon-soft.")
        return self

    def to_stage(self, what: str, where: str) -> Stage:
        """The stage."""
        own = self.room if isinstance(self.room, RoomEntry) else None
        return Stage(
            what=what,
            room=self.room if isinstance(self.room, str) else "",
            own_room=own.to_room("stated here") if own else None,
            until=self.until,
            duration=self.duration,
            at_most=self.at_most,
            ready=(self.ready.low, self.ready.high) if isinstance(self.ready, Quantity) else None,
            in_mould=self.in_mould,
            ready_body=(self.body.low, self.body.high) if isinstance(self.body, Quantity) else None,
            softened=tuple(one for one in (self.ready, self.body) if isinstance(one, Softened)),
            covered=self.covered,
            openings=self.opened,
            where=where,
        )


def _stage_name(value: Any) -> str:
    name = " ".join(str(value).split())
    if name.casefold() in STAGES:
        return name.casefold()
    hint = nearest(name, STAGES)
    raise complaints(
        f"“{name}” is nothing that is done in the cold.",
        f"did you mean “{hint}”?" if hint else f"write one of {', '.join(STAGES)}.",
    )


StageName = Annotated[str, BeforeValidator(_stage_name)]
_Stages = dict[StageName, StageEntry]


def _one_stage(value: Any) -> Any:
    if isinstance(value, dict) and len(value) == 1:
        return value
    raise complaints("A stage is one name and its details.", "write - thaw: {in: refrigerator}, one a line.")


ColdField = Annotated[
    Annotated[_Stages, Tag("<mapping>")]
    | Annotated[list[Annotated[_Stages, BeforeValidator(_one_stage)]], Tag("<list>")],
    Discriminator(lambda value: "<list>" if isinstance(value, list) else "<mapping>"),
]
"""Stages in the order of work: a mapping, or a list when one of them comes twice."""


def programme(cold: Any) -> Programme:
    """The programme of a validated `cold` part."""
    stages: list[Stage] = []
    if isinstance(cold, dict):
        stages = [entry.to_stage(what, f"cold.{what}") for what, entry in cold.items()]
    else:
        for k, one in enumerate(cold):
            stages += [entry.to_stage(what, f"cold.{k}.{what}") for what, entry in one.items()]
    return Programme(stages=tuple(stages))


HARD = Until(place="core", temperature=255.15)
READY = (272.15, 275.15)
THREE_MONTHS = 3 * 86400 * 365.25 / 12


def usual_programme(*, heart: bool) -> Programme:
    """What is done when the file says nothing: hardened to −18 °C, kept three months, thawed to −1 to 2 °C."""
    stages = [Stage(what="harden heart", room="blast freezer", until=HARD, where="cold")] if heart else []
    stages += [
        Stage(what="harden piece", room="blast freezer", until=HARD, where="cold"),
        Stage(what="keep", room="store freezer", at_most=THREE_MONTHS, where="cold"),
        Stage(what="thaw", room="refrigerator", ready=READY, where="cold"),
    ]
    return Programme(stages=tuple(stages))
