"""A dossier as plain JSON, every number with its unit in its field or beside it, and the schema that it keeps to."""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any

from demoule.dossier.answer import Cost, Dossier, Label, Named, SourceUsed
from demoule.figures import Finding

if TYPE_CHECKING:
    from pydantic import TypeAdapter

__all__ = ["Document", "as_json", "document", "schema", "written_schema"]

SCHEMA_ADDRESS = "https://json-schema.org/draft/2020-12/schema"


@dataclass(frozen=True, slots=True, kw_only=True)
class LayerEntry:
    """One layer of the piece."""

    role: str
    component: str
    mass_g: float
    volume_ml: float
    thickness_mm: float | None
    stated: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class ClearanceEntry:
    """The smallest wall in one direction."""

    what: str
    wall_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadedEntry:
    """A stage with the whole making in its room at once."""

    trays: int
    pieces: int
    time_h: float | None
    low_h: float | None
    high_h: float | None
    warmest_air_c: float
    capacity_w: float


@dataclass(frozen=True, slots=True, kw_only=True)
class StageEntry:
    """One stage in the cold; times are null when the end is not reached. Assumed: not in the file, but always done."""

    what: str
    room: str
    air_c: float
    time_h: float | None
    low_h: float | None
    high_h: float | None
    core_c: float
    mean_c: float
    surface_c: float
    ready_after_h: float | None
    ready_until_h: float | None
    heat_kj_per_piece: float
    weakest: str
    assumed: bool = False
    loaded: LoadedEntry | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LineEntry:
    """One line of a weigh-up list, for one making."""

    what: str
    mass_g: float
    leaves: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class NeedEntry:
    """What is weighed for one component."""

    component: str
    makings: int
    gives_g: float
    comes_back_g: float
    lines: tuple[LineEntry, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class BuyEntry:
    """One line of the shopping list."""

    ingredient: str
    need_g: float
    packs: tuple[str, ...]
    cost: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class WeighingEntry:
    """The number of pieces, what to weigh and what to buy."""

    pieces: int
    started: int
    spare: int
    makings: int
    heart_makings: int
    needs: tuple[NeedEntry, ...]
    buying: tuple[BuyEntry, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Document:
    """The dossier of one dessert."""

    demoule: int
    dessert: str
    kitchen: str
    market: str
    currency: str
    figures: tuple[Named, ...]
    findings: tuple[Finding, ...]
    cost: Cost
    label: Label
    layers: tuple[LayerEntry, ...]
    clearances: tuple[ClearanceEntry, ...]
    cold: tuple[StageEntry, ...]
    weighing: WeighingEntry
    sources: tuple[SourceUsed, ...]
    assumptions: tuple[str, ...]


def document(dossier: Dossier) -> Document:
    """The part of a dossier that is written out."""
    worked = dossier.worked
    weighing = worked.weighing
    return Document(
        demoule=1,
        dessert=worked.dessert.name,
        kitchen=worked.kitchen.name,
        market=dossier.label.market,
        currency=worked.kitchen.currency,
        figures=dossier.figures,
        findings=dossier.findings,
        cost=dossier.cost,
        label=dossier.label,
        layers=tuple(
            LayerEntry(
                role=layer.role,
                component=layer.component,
                mass_g=1000 * layer.mass,
                volume_ml=1e6 * layer.volume,
                thickness_mm=None if layer.thickness is None else 1000 * layer.thickness,
                stated=layer.stated,
            )
            for layer in worked.piece.layers
        ),
        clearances=tuple(ClearanceEntry(what=c.what, wall_mm=1000 * c.wall) for c in worked.piece.clearances),
        cold=tuple(
            StageEntry(
                what=run.stage.what,
                room=run.room.name,
                air_c=run.room.air - 273.15,
                time_h=_hours(run.time),
                low_h=_hours(run.low),
                high_h=_hours(run.high),
                core_c=run.ended[0] - 273.15,
                mean_c=run.ended[1] - 273.15,
                surface_c=run.ended[2] - 273.15,
                ready_after_h=_hours(run.window.opens) if run.window else None,
                ready_until_h=_hours(run.window.closes) if run.window else None,
                heat_kj_per_piece=run.heat / 1000,
                weakest=run.weakest,
                assumed=run.stage.assumed,
                loaded=None
                if run.loaded is None
                else LoadedEntry(
                    trays=run.loaded.trays,
                    pieces=run.loaded.pieces,
                    time_h=_hours(run.loaded.time),
                    low_h=_hours(run.loaded.low),
                    high_h=_hours(run.loaded.high),
                    warmest_air_c=run.loaded.warmest - 273.15,
                    capacity_w=run.loaded.capacity,
                ),
            )
            for run in worked.cold.stages
        ),
        weighing=WeighingEntry(
            pieces=weighing.pieces,
            started=weighing.started,
            spare=weighing.spare,
            makings=len(weighing.makings),
            heart_makings=weighing.heart_makings,
            needs=tuple(
                NeedEntry(
                    component=need.component,
                    makings=need.makings,
                    gives_g=1000 * need.gives,
                    comes_back_g=1000 * need.comes_back,
                    lines=tuple(
                        LineEntry(what=line.what, mass_g=1000 * line.mass, leaves=line.leaves) for line in need.lines
                    ),
                )
                for need in weighing.needs
            ),
            buying=tuple(
                BuyEntry(
                    ingredient=buying.ingredient.name,
                    need_g=1000 * buying.need,
                    packs=tuple(f"{count} × {pack.name}" for pack, count in buying.packs),
                    cost=buying.cost_used,
                )
                for buying in weighing.buying
            ),
        ),
        sources=dossier.sources,
        assumptions=dossier.assumptions,
    )


def _hours(seconds: float | None) -> float | None:
    return None if seconds is None else seconds / 3600


@cache
def _adapter() -> TypeAdapter[Document]:
    from pydantic import TypeAdapter  # half of the time of importing this layer, and only JSON needs it

    return TypeAdapter(Document)


def as_json(dossier: Dossier) -> dict[str, Any]:
    """The dossier as plain values that `json.dumps` writes."""
    plain: dict[str, Any] = _adapter().dump_python(document(dossier), mode="json")
    return plain


def schema() -> dict[str, Any]:
    """The JSON Schema of what `as_json` gives."""
    told = _adapter().json_schema(mode="serialization")
    for definition in (told, *told["$defs"].values()):
        # Docstrings open with the sentence that says what a thing is; the sections after it are for programmers.
        if "description" in definition:
            definition["description"] = definition["description"].partition("\n\n")[0]
    return {
        "$schema": SCHEMA_ADDRESS,
        "title": "demoule dossier",
        **{key: value for key, value in told.items() if key != "title"},
    }


def written_schema() -> str:
    """The schema as the text of its file, docs/reference/schemas/dossier.json."""
    return json.dumps(schema(), indent=2, ensure_ascii=False) + "\n"
