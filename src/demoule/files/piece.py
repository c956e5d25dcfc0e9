"""The piece as it is written: mould, heart, body, base, skin, garnish."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BeforeValidator, Discriminator, Field, GetJsonSchemaHandler, Tag, model_validator
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema

from demoule.files.fields import (
    Count,
    Duration,
    Entry,
    Length,
    LengthOrZero,
    Mass,
    MassPerArea,
    Name,
    Share,
    Speed,
    Temperature,
    Volume,
    YesNo,
    complaints,
)
from demoule.files.shapes import CavityEntry
from demoule.piece import design

__all__ = ["PieceEntry"]


MouldOrCavity = Annotated[
    Annotated[Name, Tag("<name>")] | Annotated[CavityEntry, Tag("<mapping>")],
    Discriminator(lambda value: "<mapping>" if isinstance(value, (dict, CavityEntry)) else "<name>"),
]
"""The name of a mould of the kitchen, or a cavity written out."""


def _split(mould: str | CavityEntry | None, joined: int) -> tuple[str | None, design.Cavity | None, int]:
    """Name, cavity and number of parts joined; a cavity written out may say itself that it is joined."""
    if isinstance(mould, CavityEntry):
        cavity = mould.to_cavity()
        return None, cavity, max(joined, cavity.joined)
    return mould, None, joined


class HeartEntry(Entry):
    """The insert: what it is made of, its own cavity, and where it sits."""

    component: Name
    mould: MouldOrCavity | None = None
    joined: Annotated[Count, Field(le=2)] = 1
    height: LengthOrZero | None = None
    mass: Mass | None = None
    volume: Volume | None = None
    filled_at: Temperature | None = Field(None, alias="filled at")
    inside: HeartEntry | None = None

    @model_validator(mode="after")
    def _has_a_form(self) -> HeartEntry:
        if self.mould is None:
            raise complaints(
                "The heart has no form.", "write mould: and the name of one, or a cavity such as {half sphere: 38 mm}."
            )
        return self

    def to_heart(self, where: str) -> design.Heart:
        """The heart."""
        mould, cavity, joined = _split(self.mould, self.joined)
        return design.Heart(
            component=self.component,
            mould=mould,
            cavity=cavity,
            joined=joined,
            height=self.height,
            mass=self.mass,
            volume=self.volume,
            filled_at=self.filled_at,
            inside=self.inside.to_heart(f"{where}.inside") if self.inside else None,
            where=where,
        )


class _Or:
    """A short form beside the full one, for the schema."""

    def __init__(self, short: str) -> None:
        self.short = short

    def __get_pydantic_json_schema__(self, core: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        full = handler(core)
        one: JsonSchemaValue = full["items"] if self.short == "item" else {"type": "string"}
        return {"anyOf": [one, full]}


def _named(value: Any) -> Any:
    """A bare name stands for a mapping with that component."""
    return {"component": value} if isinstance(value, (str, int, float)) and not isinstance(value, bool) else value


class BodyEntry(Entry):
    """The body that fills what the heart and the base leave."""

    component: Name
    headspace: Share = 0.0
    filled_at: Temperature | None = Field(None, alias="filled at")
    mass: Mass | None = None

    def to_fill(self) -> design.Fill:
        """The body."""
        return design.Fill(component=self.component, headspace=self.headspace, filled_at=self.filled_at, mass=self.mass)


class BaseEntry(Entry):
    """A disc set at the foot."""

    component: Name
    count: Count = 1
    diameter: Length | None = None
    thickness: Length | None = None
    mass: Mass | None = None

    def to_base(self) -> design.Base:
        """The base."""
        return design.Base(
            component=self.component,
            count=self.count,
            diameter=self.diameter,
            thickness=self.thickness,
            mass=self.mass,
        )


class DipEntry(Entry):
    """A coat by dipping."""

    component: Name
    bath: Temperature
    piece: Temperature = 253.15
    duration: Duration = Field(2.0, alias="for")
    lift: Speed = 0.05
    thickness: Length | None = None
    mass: Mass | None = None

    @model_validator(mode="after")
    def _cold_piece(self) -> DipEntry:
        if self.bath <= self.piece:
            raise complaints("The bath is not warmer than the piece.", "write the warmth of the bath at “bath”.")
        return self


class SprayEntry(Entry):
    """A coat by spraying: what lands on one piece, and the share of the spray that misses it."""

    component: Name
    lands: Mass | None = None
    per_area: MassPerArea | None = Field(None, alias="per area")
    overspray: Share | None = None
    passes: Count = 1
    at: Temperature | None = None

    @model_validator(mode="after")
    def _told(self) -> SprayEntry:
        if (self.lands is None) == (self.per_area is None):
            raise complaints(
                "What lands on a piece is told twice." if self.lands else "What lands on a piece is not told.",
                "write lands: 1.8 g, or per area: 180 g/m².",
            )
        return self


class SkinEntry(Entry):
    """One coat: dip or spray."""

    dip: DipEntry | None = None
    spray: SprayEntry | None = None

    @model_validator(mode="before")
    @classmethod
    def _one(cls, value: Any) -> Any:
        if not isinstance(value, dict) or len(value) != 1 or None in value.values():
            raise complaints("A coat is one way of putting it on.", "write dip: {…} or spray: {…}, one a line.")
        return value

    def to_skin(self, where: str) -> design.Skin:
        """The coat."""
        if self.dip is not None:
            dip = self.dip
            return design.Dip(
                component=dip.component,
                bath=dip.bath,
                piece=dip.piece,
                duration=dip.duration,
                lift=dip.lift,
                thickness=dip.thickness,
                mass=dip.mass,
                where=where,
            )
        spray = self.spray
        assert spray is not None  # one of the two is there
        return design.Spray(
            component=spray.component,
            lands=spray.lands,
            per_area=spray.per_area,
            overspray=spray.overspray,
            passes=spray.passes,
            at=spray.at,
            where=where,
        )


class GarnishEntry(Entry):
    """A stem, a leaf, a sliver: food or not food, which must be said."""

    what: Name
    eaten: YesNo
    count: Count = 1
    mass: Mass | None = None
    ingredient: Name | None = None

    def to_garnish(self, where: str) -> design.Garnish:
        """The garnish."""
        return design.Garnish(
            what=self.what,
            eaten=self.eaten,
            count=self.count,
            mass=self.mass,
            ingredient=self.ingredient,
            where=where,
        )


def _as_list(value: Any) -> Any:
    return [value] if isinstance(value, dict) else value


class PieceEntry(Entry):
    """How one piece is built; the skin from the inside outwards."""

    mould: MouldOrCavity
    heart: HeartEntry | None = None
    body: Annotated[BodyEntry, BeforeValidator(_named), _Or("name")]
    base: Annotated[BaseEntry, BeforeValidator(_named), _Or("name")] | None = None
    skin: Annotated[list[SkinEntry], BeforeValidator(_as_list), _Or("item")] = Field(default_factory=list)
    garnish: Annotated[list[GarnishEntry], BeforeValidator(_as_list), _Or("item")] = Field(default_factory=list)

    def to_design(self) -> design.PieceDesign:
        """The design."""
        mould, cavity, _ = _split(self.mould, 1)
        return design.PieceDesign(
            mould=mould,
            cavity=cavity,
            body=self.body.to_fill(),
            heart=self.heart.to_heart("piece.heart") if self.heart else None,
            base=self.base.to_base() if self.base else None,
            skins=tuple(skin.to_skin(f"piece.skin.{k}") for k, skin in enumerate(self.skin)),
            garnishes=tuple(garnish.to_garnish(f"piece.garnish.{k}") for k, garnish in enumerate(self.garnish)),
        )
