"""Cavities and moulds as they are written: a shape with its sizes, what it was measured to hold, the tray it is in."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING, Annotated, Any, Literal

from pydantic import BeforeValidator, Field, GetJsonSchemaHandler, WithJsonSchema, model_validator
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema

from demoule.errors import BadInput
from demoule.files.dimensions import lengths, tray
from demoule.files.fields import Count, Entry, Length, LengthOrZero, Name, Ratio, Volume, YesNo, complaint, complaints
from demoule.piece import design
from demoule.units import Kind, parse

if TYPE_CHECKING:
    from demoule.piece.mesh import Fitted

__all__ = ["SHAPES", "CavityEntry", "MouldEntry"]


class ShapeEntry(Entry):
    """A shape by its sizes: a mapping, or a product such as 45 × 18 mm."""

    @classmethod
    def short(cls) -> tuple[str, ...]:
        """The fields that a product fills, in order; empty: only a mapping is understood."""
        return ()

    @model_validator(mode="before")
    @classmethod
    def _from_product(cls, value: Any) -> Any:
        names = cls.short()
        if names and isinstance(value, (str, int, float)) and not isinstance(value, bool):
            try:
                sizes = lengths(str(value), len(names))
            except BadInput as error:
                raise complaint(error) from None
            return {name: f"{size * 1000:.12g} mm" for name, size in zip(names, sizes, strict=True)}
        return value

    @classmethod
    def __get_pydantic_json_schema__(cls, core: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        mapping = handler.resolve_ref_schema(handler(core))
        names = cls.short()
        if names:
            full = dict(mapping)
            mapping.clear()
            example = " × ".join(["45", "18", "12"][: len(names)]) + " mm"
            phrase = {"type": "string", "description": " × ".join(names), "examples": [example]}
            mapping.update({"title": full.pop("title", cls.__name__), "anyOf": [phrase, full]})
        return mapping


class RoundEntry(ShapeEntry):
    """Something round by its radius or its diameter."""

    radius: Length | None = None
    diameter: Length | None = None

    @classmethod
    def short(cls) -> tuple[str, ...]:
        return ("diameter",)

    @model_validator(mode="after")
    def _one(self) -> RoundEntry:
        if (self.radius is None) == (self.diameter is None):
            raise complaints("One size is needed: the radius or the diameter.", "write radius: 19.3 mm.")
        return self

    @property
    def r(self) -> float:
        """The radius [m]."""
        return self.radius if self.radius is not None else (self.diameter or 0.0) / 2


class SphereEntry(RoundEntry):
    """A sphere, cut flat at the foot when it has a flat."""

    flat: LengthOrZero = 0.0

    @model_validator(mode="after")
    def _flat_fits(self) -> SphereEntry:
        if self.flat >= 2 * self.r:
            raise complaints("The flat is wider than the sphere.", "write the diameter of the flat.")
        return self

    def to_shape(self) -> design.Shape:
        """The shape."""
        return design.Sphere(radius=self.r, flat=self.flat)


class HalfSphereEntry(RoundEntry):
    """Half a sphere, lying on its flat."""

    def to_shape(self) -> design.Shape:
        """The shape."""
        return design.HalfSphere(radius=self.r)


class AcrossEntry(ShapeEntry):
    """A shape by its diameter and height."""

    diameter: Length
    height: Length

    @classmethod
    def short(cls) -> tuple[str, ...]:
        return ("diameter", "height")


class SpheroidEntry(AcrossEntry):
    """An ellipsoid of revolution, cut flat at the foot when it has a flat; its height is that at which it stands."""

    flat: LengthOrZero = 0.0

    @model_validator(mode="after")
    def _flat_fits(self) -> SpheroidEntry:
        if self.flat >= self.diameter:
            raise complaints("The flat is wider than the spheroid.", "write the diameter of the flat.")
        return self

    def to_shape(self) -> design.Shape:
        """The shape."""
        return design.Spheroid(height=self.height, diameter=self.diameter, flat=self.flat)


class CylinderEntry(AcrossEntry):
    """A disc or a cylinder."""

    def to_shape(self) -> design.Shape:
        """The shape."""
        return design.Cylinder(diameter=self.diameter, height=self.height)


class DomeEntry(AcrossEntry):
    """A cap of a sphere."""

    @model_validator(mode="after")
    def _not_higher(self) -> DomeEntry:
        if self.height > self.diameter:
            raise complaints("A dome is not higher than it is wide.", "use a profile, or a sphere with a flat.")
        return self

    def to_shape(self) -> design.Shape:
        """The shape."""
        return design.Dome(diameter=self.diameter, height=self.height)


class ConeEntry(ShapeEntry):
    """A frustum of a cone: diameters at foot and top."""

    foot: Length
    top: LengthOrZero
    height: Length

    @classmethod
    def short(cls) -> tuple[str, ...]:
        return ("foot", "top", "height")

    def to_shape(self) -> design.Shape:
        """The shape."""
        return design.Cone(foot=self.foot, top=self.top, height=self.height)


class RingEntry(ShapeEntry):
    """A ring of round section: diameter of the circle through the section's centre, and of the section."""

    middle: Length
    section: Length

    @classmethod
    def short(cls) -> tuple[str, ...]:
        return ("middle", "section")

    @model_validator(mode="after")
    def _open(self) -> RingEntry:
        if self.section > self.middle:
            raise complaints("The section is wider than the ring's middle circle.", "write the middle circle first.")
        return self

    def to_shape(self) -> design.Shape:
        """The shape."""
        return design.Ring(middle=self.middle, section=self.section)


def _points(value: Any) -> tuple[tuple[float, float], ...]:
    if not isinstance(value, list):
        raise complaints(
            "A profile is a list of points.", "write [[0, 22.8], [7.6, 27.1], …], height and radius in mm."
        )
    if not 2 <= len(value) <= 200:
        raise complaints(f"A profile of {len(value)} points cannot be drawn.", "give 2 to 200 points.")
    points: list[tuple[float, float]] = []
    for number, pair in enumerate(value, 1):
        if not isinstance(pair, list) or len(pair) != 2:
            raise complaints(f"Point {number} is no pair.", "write [height, radius] in mm.")
        try:
            height, radius = (_mm(part) for part in pair)
        except BadInput as error:
            raise complaints(f"Point {number}: {error.says}", "write [height, radius] in mm.") from None
        points.append((height, radius))
    heights = [height for height, _ in points]
    for number, (lower, upper) in enumerate(itertools.pairwise(heights), 2):
        if upper < lower:
            raise complaints(f"Point {number} lies below the one before it.", "list the points from foot to top.")
    if heights[-1] <= heights[0] or max(radius for _, radius in points) <= 0:
        raise complaints("The profile holds no room.", "list heights from foot to top with their radius.")
    return tuple(points)


def _mm(part: Any) -> float:
    if isinstance(part, (int, float)) and not isinstance(part, bool):
        part = f"{part} mm"
    return parse(part, Kind.LENGTH, least=0.0, most=0.5).value


Points = Annotated[
    tuple[tuple[float, float], ...],
    BeforeValidator(_points),
    WithJsonSchema(
        {
            "type": "array",
            "description": "Points [height, radius] in mm from foot to top; the body turns around the axis.",
            "minItems": 2,
            "maxItems": 200,
            "items": {
                "type": "array",
                "minItems": 2,
                "maxItems": 2,
                "items": {"type": ["number", "string"]},
            },
        }
    ),
]

SHAPES = ("sphere", "half sphere", "spheroid", "cylinder", "disc", "cone", "dome", "ring", "profile", "mesh")
"""What a cavity can be."""


class CavityEntry(Entry):
    """One hollow: exactly one shape, and the water it was measured to hold."""

    sphere: SphereEntry | None = None
    half_sphere: HalfSphereEntry | None = Field(None, alias="half sphere")
    spheroid: SpheroidEntry | None = None
    cylinder: CylinderEntry | None = None
    disc: CylinderEntry | None = None
    cone: ConeEntry | None = None
    dome: DomeEntry | None = None
    ring: RingEntry | None = None
    profile: Points | None = None
    mesh: Name | None = None
    units: Literal["mm", "cm", "m", "in"] | None = None
    up: Literal["x", "y", "z", "-x", "-y", "-z"] | None = None
    holds: Volume | None = None
    joined: Annotated[Count, Field(le=2)] = 1

    @model_validator(mode="after")
    def _one_shape(self) -> CavityEntry:
        given = [name for name in SHAPES if getattr(self, name.replace(" ", "_")) is not None]
        if len(given) != 1:
            says = f"{len(given)} shapes are told ({', '.join(given)})." if given else "The shape is not told."
            raise complaints(says, f"write one of {', '.join(SHAPES)}.")
        if self.mesh is not None:
            try:
                self.named()
            except BadInput as error:
                raise complaint(error) from None
        for name, told in (("units", self.units), ("up", self.up)):
            if told is not None and self.mesh is None:
                raise complaints(f"“{name}” belongs to a mesh.", "leave it out.")
        return self

    def named(self) -> Fitted | design.Solid:
        """The profile of the mesh where it is round, else the body itself."""
        from demoule.files.meshes import named_mesh

        return named_mesh(self.mesh or "", self.units, self.up)

    def to_cavity(self) -> design.Cavity:
        """The cavity."""
        shape: design.Shape | None = None
        if self.mesh is not None:
            found = self.named()
            if isinstance(found, design.Solid):
                return design.Cavity(shape=found, water_fill=self.holds, joined=self.joined)
            return design.Cavity(shape=found.profile, water_fill=self.holds or found.volume, joined=self.joined)
        if self.profile is not None:
            shape = design.Profile(points=self.profile)
        else:
            entries = (
                self.sphere,
                self.half_sphere,
                self.spheroid,
                self.cylinder,
                self.disc,
                self.cone,
                self.dome,
                self.ring,
            )
            shape = next(entry.to_shape() for entry in entries if entry is not None)
        return design.Cavity(shape=shape, water_fill=self.holds, joined=self.joined)


LEVEL = 0.6 * 0.4
"""A level of a freezer or a rack: one tray of 600 x 400 mm [m2]."""


def _tray(value: Any) -> tuple[float, float]:
    try:
        return tray(str(value))
    except BadInput as error:
        raise complaint(error) from None


TrayField = Annotated[
    tuple[float, float],
    BeforeValidator(_tray),
    WithJsonSchema({"type": "string", "description": "Two sides, in mm.", "examples": ["300×400", "600×400"]}),
]


class MouldEntry(CavityEntry):
    """A tray of cavities that the kitchen owns."""

    tray: TrayField | None = None
    cavities: Count
    own: Count = 1
    places: Ratio | None = None
    wall: Length | None = None
    material: Name = "silicone"
    two_part: YesNo = Field(False, alias="two-part")
    opening: Length | None = None

    def to_mould(self, name: str) -> design.Mould:
        """The mould."""
        area = self.tray[0] * self.tray[1] if self.tray else None
        places = self.places if self.places is not None else (area / LEVEL if area else 0.5)
        return design.Mould(
            name=name,
            cavity=self.to_cavity(),
            per_tray=self.cavities,
            owned=self.own,
            places=places,
            wall=self.wall if self.wall is not None else 0.0025,
            material=self.material,
            two_part=self.two_part,
            opening=self.opening,
        )
