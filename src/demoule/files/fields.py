"""The kinds of value that an entry of a file can hold: quantities as people write them, names, yes and no."""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable
from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, WithJsonSchema, model_validator
from pydantic_core import PydanticCustomError

from demoule.errors import BadInput
from demoule.units import Kind, Quantity, parse
from demoule.units.bounds import EXAMPLES

__all__ = [
    "PH",
    "Altitude",
    "Brix",
    "Conducts",
    "Count",
    "Density",
    "Duration",
    "EnergyPrice",
    "Entry",
    "Length",
    "Mass",
    "MassPerArea",
    "Money",
    "Name",
    "Overrun",
    "Pay",
    "Power",
    "Ratio",
    "Share",
    "Speed",
    "SurfaceArea",
    "SurfaceCoefficient",
    "Temperature",
    "TimeSpan",
    "Volume",
    "YesNo",
    "complaint",
    "complaints",
    "count",
]


class Entry(BaseModel):
    """A part of a file as a person types it; a key that it does not know is a mistake."""

    model_config = ConfigDict(extra="forbid", frozen=True, arbitrary_types_allowed=True)

    @model_validator(mode="before")
    @classmethod
    def _nothing_behind_it(cls, value: Any) -> Any:
        """A name with nothing behind it is as good as not written, where it need not be."""
        if not isinstance(value, dict) or None not in value.values():
            return value
        needed = {info.alias or name for name, info in cls.model_fields.items() if info.is_required()}
        free = {info.alias or name for name, info in cls.model_fields.items()} - needed
        return {key: part for key, part in value.items() if part is not None or key not in free}


def complaint(error: BadInput) -> PydanticCustomError:
    """An error for people in the form in which validation collects it."""
    return PydanticCustomError("demoule", "{says}", {"says": error.says, "remedy": error.remedy})


def complaints(says: str, remedy: str = "") -> PydanticCustomError:
    """The same from its two sentences."""
    return PydanticCustomError("demoule", "{says}", {"says": says, "remedy": remedy})


def _quantity(*kinds: Kind, **limits: Any) -> Callable[[Any], Quantity]:
    def read(value: Any) -> Quantity:
        if isinstance(value, Quantity):
            return value
        if value is None:
            value = ""
        if isinstance(value, (dict, list)):
            raise complaints(
                "A quantity is expected here, not a list or a mapping.", f"write for example {EXAMPLES[kinds[0]]}."
            )
        try:
            return parse(value, kinds, **limits)
        except BadInput as error:
            raise complaint(error) from None

    return read


def _si(*kinds: Kind, **limits: Any) -> BeforeValidator:
    read = _quantity(*kinds, **limits)
    return BeforeValidator(lambda value: read(value).value)


def _written(*kinds: Kind, number: bool = False) -> WithJsonSchema:
    examples = [example for kind in kinds for example in EXAMPLES[kind].replace(" or ", ", ").split(", ")]
    what = " or ".join(kind.value for kind in kinds)
    return WithJsonSchema(
        {
            "type": ["string", "number"] if number else "string",
            "description": f"A {what}, number and unit.",
            "examples": examples,
        }
    )


_TINY = 1e-300  # stands for "above zero" where the least is allowed itself

Mass = Annotated[float, _si(Kind.MASS), _written(Kind.MASS)]
Volume = Annotated[float, _si(Kind.VOLUME), _written(Kind.VOLUME)]
Temperature = Annotated[float, _si(Kind.TEMPERATURE), _written(Kind.TEMPERATURE)]
Duration = Annotated[float, _si(Kind.TIME), _written(Kind.TIME)]
TimeSpan = Annotated[Quantity, BeforeValidator(_quantity(Kind.TIME, span=True)), _written(Kind.TIME)]
Length = Annotated[float, _si(Kind.LENGTH, least=1e-6, most=3.0), _written(Kind.LENGTH)]
LengthOrZero = Annotated[float, _si(Kind.LENGTH, least=0.0, most=3.0), _written(Kind.LENGTH)]
Altitude = Annotated[float, _si(Kind.LENGTH, least=-430.0, most=6000.0), _written(Kind.LENGTH)]
Share = Annotated[float, _si(Kind.PERCENT, least=0.0, most=0.999), _written(Kind.PERCENT)]
Whole = Annotated[float, _si(Kind.PERCENT, least=0.0, most=1.0), _written(Kind.PERCENT)]
Conducts = Annotated[float, _si(Kind.PERCENT, least=0.3, most=3.0), _written(Kind.PERCENT)]
Overrun = Annotated[float, _si(Kind.PERCENT, least=0.0, most=9.0), _written(Kind.PERCENT)]
Brix = Annotated[float, _si(Kind.BRIX, least=_TINY, most=0.98), _written(Kind.BRIX)]
Density = Annotated[float, _si(Kind.DENSITY, least=50.0, most=2500.0), _written(Kind.DENSITY, number=True)]
SurfaceArea = Annotated[float, _si(Kind.AREA, least=1e-6, most=1.0), _written(Kind.AREA)]
Power = Annotated[float, _si(Kind.POWER), _written(Kind.POWER)]
SurfaceCoefficient = Annotated[
    float, _si(Kind.SURFACE_COEFFICIENT, least=0.5, most=1000.0), _written(Kind.SURFACE_COEFFICIENT)
]
Speed = Annotated[float, _si(Kind.SPEED, least=_TINY, most=30.0), _written(Kind.SPEED)]
MassPerArea = Annotated[float, _si(Kind.MASS_PER_AREA, least=_TINY, most=20.0), _written(Kind.MASS_PER_AREA)]
Money = Annotated[Quantity, BeforeValidator(_quantity(Kind.MONEY)), _written(Kind.MONEY)]
Pay = Annotated[Quantity, BeforeValidator(_quantity(Kind.PAY)), _written(Kind.PAY)]
EnergyPrice = Annotated[Quantity, BeforeValidator(_quantity(Kind.ENERGY_PRICE)), _written(Kind.ENERGY_PRICE)]


def _number(value: Any, least: float, most: float, what: str) -> float:
    try:
        number = parse(value if value is not None else "", Kind.NUMBER).value
    except BadInput as error:
        raise complaint(error) from None
    if not least <= number <= most or not math.isfinite(number):
        raise complaints(f"{number:g} is no {what}; it lies between {least:g} and {most:g}.", "check the number.")
    return number


PH = Annotated[
    float,
    BeforeValidator(lambda v: _number(v, 0, 14, "pH")),
    WithJsonSchema({"type": "number", "minimum": 0, "maximum": 14}),
]
Ratio = Annotated[
    float,
    BeforeValidator(lambda v: _number(v, 0.001, 1000, "ratio")),
    WithJsonSchema({"type": "number", "minimum": 0.001, "maximum": 1000}),
]


def count(value: Any) -> int:
    """A whole number of pieces above zero."""
    try:
        number = parse(value if value is not None else "", Kind.COUNT).value
    except BadInput as error:
        raise complaint(error) from None
    if number != int(number):
        raise complaints(f"“{value}” is not a whole number.", "write a whole number, such as 12.")
    return int(number)


Count = Annotated[int, BeforeValidator(count), Field(ge=1), WithJsonSchema({"type": "integer", "minimum": 1})]

_YES = {"yes", "true", "on", "y", "oui"}
_NO = {"no", "false", "off", "n", "non", "none"}


def _yes_no(value: Any) -> bool:
    if isinstance(value, bool):
        return value
    word = value.strip().casefold() if isinstance(value, str) else ""
    if word in _YES or word in _NO:
        return word in _YES
    raise complaints(f"“{value}” stands where yes or no belongs.", "write yes or no.")


YesNo = Annotated[
    bool,
    BeforeValidator(_yes_no),
    WithJsonSchema({"anyOf": [{"type": "boolean"}, {"enum": ["yes", "no", "on", "off"]}]}),
]

_LONGEST_NAME = 200


def _name(value: Any) -> str:
    if isinstance(value, bool) or value is None or isinstance(value, (dict, list)):
        raise complaints("A name or a few words are expected here.", "write them.")
    text = " ".join(str(value).split())
    if not text:
        raise complaints("A name or a few words are expected here; nothing is written.", "write them.")
    if len(text) > _LONGEST_NAME:
        raise complaints(f"This is longer than {_LONGEST_NAME} signs.", "shorten it.")
    return text


Name = Annotated[str, BeforeValidator(_name), WithJsonSchema({"type": "string", "maxLength": _LONGEST_NAME})]


def _day(value: Any) -> datetime.date:
    if isinstance(value, datetime.date):
        return value
    try:
        return datetime.date.fromisoformat(str(value).strip())
    except ValueError:
        raise complaints(f"“{value}” is no day of the calendar.", "write year-month-day, such as 2026-05-02.") from None


Day = Annotated[datetime.date, BeforeValidator(_day), WithJsonSchema({"type": "string", "examples": ["2026-05-02"]})]


def _long_text(value: Any) -> str:
    if isinstance(value, bool) or value is None or isinstance(value, (dict, list)):
        raise complaints("A text is expected here.", "write one.")
    return str(value).strip()


Prose = Annotated[str, BeforeValidator(_long_text), WithJsonSchema({"type": "string"})]
