"""What every step of a file has in common: a mapping of its fields, or a phrase that fills them."""

from __future__ import annotations

from typing import Annotated, Any, ClassVar

from pydantic import BeforeValidator, GetJsonSchemaHandler, WithJsonSchema, model_validator
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema

from demoule.errors import BadInput, nearest
from demoule.files.dimensions import pan, tray
from demoule.files.fields import Entry, complaint, complaints
from demoule.files.phrase import Grammar, read_phrase
from demoule.formula import component as formula

__all__ = ["COVER", "LOSES", "PanField", "SheetField", "VerbEntry", "one_of"]


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


COVER = {
    "covered": ("covered", "yes"),
    "lid on": ("covered", "yes"),
    "lid off": ("covered", "no"),
    "uncovered": ("covered", "no"),
}


LOSES = {"loses": ("", ""), "losing": ("", "")}


def one_of(value: Any, words: tuple[str, ...]) -> str:
    """One of a few words, in any case."""
    word = str(value).strip().casefold()
    if word in words:
        return word
    hint = nearest(word, words)
    raise complaints(
        f"“{value}” is none of {', '.join(words)}.", f"did you mean “{hint}”?" if hint else f"write {words[0]}."
    )
