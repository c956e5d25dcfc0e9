"""What a chef writes for the piece: cavities, what fills them, and what is put around."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

from demoule.piece.solid import Solid
from demoule.units import CubicMetre, Fraction, Kelvin, Kilogram, Metre, Second

__all__ = [
    "Base",
    "Cavity",
    "Cone",
    "Cylinder",
    "Dip",
    "Dome",
    "Fill",
    "Garnish",
    "HalfSphere",
    "Heart",
    "Mould",
    "PieceDesign",
    "Profile",
    "Ring",
    "Shape",
    "Skin",
    "Solid",
    "Sphere",
    "Spheroid",
    "Spray",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sphere:
    """A sphere, cut flat at the foot when `flat` (diameter of the flat) is above zero."""

    radius: Metre
    flat: Metre = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class HalfSphere:
    """Half a sphere, lying on its flat."""

    radius: Metre


@dataclass(frozen=True, slots=True, kw_only=True)
class Spheroid:
    """An ellipsoid of revolution by its diameter and the height at which it stands, cut flat at the foot or not."""

    height: Metre
    diameter: Metre
    flat: Metre = 0.0  # diameter of the cut


@dataclass(frozen=True, slots=True, kw_only=True)
class Cylinder:
    """A disc or a cylinder."""

    diameter: Metre
    height: Metre


@dataclass(frozen=True, slots=True, kw_only=True)
class Cone:
    """A frustum of a cone: diameters at foot and top."""

    foot: Metre
    top: Metre
    height: Metre


@dataclass(frozen=True, slots=True, kw_only=True)
class Dome:
    """A cap of a sphere by the diameter of its foot and its height."""

    diameter: Metre
    height: Metre


@dataclass(frozen=True, slots=True, kw_only=True)
class Ring:
    """A ring of round section by the diameter of the circle through the section's centre and of the section."""

    middle: Metre
    section: Metre


@dataclass(frozen=True, slots=True, kw_only=True)
class Profile:
    """Any smooth body of revolution by (height, radius) points from foot to top [m]."""

    points: tuple[tuple[Metre, Metre], ...]


Shape: TypeAlias = Sphere | HalfSphere | Spheroid | Cylinder | Cone | Dome | Ring | Profile | Solid


@dataclass(frozen=True, slots=True, kw_only=True)
class Cavity:
    """One hollow: a shape, and the water it was measured to hold, which wins over the computed volume."""

    shape: Shape
    water_fill: CubicMetre | None = None
    joined: int = 1  # two halves put together foot to foot


@dataclass(frozen=True, slots=True, kw_only=True)
class Mould:
    """A tray of cavities that the kitchen owns."""

    name: str
    cavity: Cavity
    per_tray: int
    owned: int  # trays
    places: float = 0.5  # of a 600 x 400 level
    wall: Metre = 0.0025
    material: str = "silicone"
    two_part: bool = False
    opening: Metre | None = None  # diameter of the opening through which a heart must pass


@dataclass(frozen=True, slots=True, kw_only=True)
class Heart:
    """The insert: what it is made of, its own cavity, and where it sits.

    `height` is that of its lowest point above the foot of the piece [m]; None: in the middle of the room there is.
    `inside` may hold a smaller heart in this one, and so on.
    """

    component: str
    mould: str | None = None
    cavity: Cavity | None = None
    joined: int = 1
    height: Metre | None = None
    mass: Kilogram | None = None  # stated
    volume: CubicMetre | None = None  # stated fill
    filled_at: Kelvin | None = None
    inside: Heart | None = None
    where: str = "piece.heart"


@dataclass(frozen=True, slots=True, kw_only=True)
class Fill:
    """The body that fills what the heart and the base leave."""

    component: str
    headspace: Fraction = 0.0
    filled_at: Kelvin | None = None
    mass: Kilogram | None = None  # stated
    where: str = "piece.body"


@dataclass(frozen=True, slots=True, kw_only=True)
class Base:
    """A disc set at the foot."""

    component: str
    count: int = 1
    diameter: Metre | None = None
    thickness: Metre | None = None
    mass: Kilogram | None = None  # of one disc
    where: str = "piece.base"


@dataclass(frozen=True, slots=True, kw_only=True)
class Dip:
    """A coat by dipping; a stated thickness or mass wins over the model."""

    component: str
    bath: Kelvin
    piece: Kelvin = 253.15
    duration: Second = 2.0
    lift: float = 0.05  # m/s
    thickness: Metre | None = None
    mass: Kilogram | None = None
    where: str = "piece.skin"


@dataclass(frozen=True, slots=True, kw_only=True)
class Spray:
    """A coat by spraying: what lands on one piece, and the share of the spray that misses it.

    `overspray` None: what was learned of the gun, else the usual share.
    """

    component: str
    lands: Kilogram | None = None
    per_area: float | None = None  # kg/m2
    overspray: Fraction | None = None
    passes: int = 1
    at: Kelvin | None = None
    where: str = "piece.skin"


Skin: TypeAlias = Dip | Spray


@dataclass(frozen=True, slots=True, kw_only=True)
class Garnish:
    """A stem, a leaf, a sliver: food or not food."""

    what: str
    eaten: bool
    count: int = 1
    mass: Kilogram | None = None
    ingredient: str | None = None
    where: str = "piece.garnish"


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceDesign:
    """How one piece is built; skins from the inside outwards."""

    mould: str | None
    cavity: Cavity | None
    body: Fill
    heart: Heart | None = None
    base: Base | None = None
    skins: tuple[Skin, ...] = ()
    garnishes: tuple[Garnish, ...] = ()
    where: str = "piece"
