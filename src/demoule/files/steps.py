"""The steps of a component as they stand in a file: exactly one verb each, a bare word, a phrase or a mapping."""

from __future__ import annotations

from typing import Any

from pydantic import GetJsonSchemaHandler, model_validator
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema

from demoule.errors import nearest
from demoule.files.fields import Entry, complaints
from demoule.files.hot_steps import (
    BakeEntry,
    BlanchEntry,
    BoilEntry,
    CandyEntry,
    CookEntry,
    HeatEntry,
    HydrateEntry,
    MeltEntry,
    PoachEntry,
    SimmerEntry,
)
from demoule.files.still_steps import (
    BlendEntry,
    CoolEntry,
    DrainEntry,
    FoldEntry,
    FreezeEntry,
    NoteEntry,
    RestEntry,
    SetEntry,
    StrainEntry,
    WhipEntry,
)
from demoule.files.verb import VerbEntry
from demoule.formula import component as formula

__all__ = ["VERBS", "StepEntry"]


class StepEntry(Entry):
    """One step: exactly one verb."""

    hydrate: HydrateEntry | None = None
    heat: HeatEntry | None = None
    melt: MeltEntry | None = None
    boil: BoilEntry | None = None
    simmer: SimmerEntry | None = None
    cook: CookEntry | None = None
    blanch: BlanchEntry | None = None
    candy: CandyEntry | None = None
    poach: PoachEntry | None = None
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
