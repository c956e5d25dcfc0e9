"""What we build: shapes and layers in a cavity, their volumes, masses and walls."""

from demoule.piece import solids
from demoule.piece.build import build, own_volume
from demoule.piece.built import Clearance, Layer, Outline, Piece
from demoule.piece.checks import thin_walls
from demoule.piece.design import (
    Base,
    Cavity,
    Cone,
    Cylinder,
    Dip,
    Dome,
    Fill,
    Garnish,
    HalfSphere,
    Heart,
    Mould,
    PieceDesign,
    Profile,
    Ring,
    Shape,
    Skin,
    Sphere,
    Spheroid,
    Spray,
)
from demoule.piece.shapes import cavity_outline, cavity_solid, shape_outline
from demoule.piece.solid import Solid

__all__ = [
    "Base",
    "Cavity",
    "Clearance",
    "Cone",
    "Cylinder",
    "Dip",
    "Dome",
    "Fill",
    "Garnish",
    "HalfSphere",
    "Heart",
    "Layer",
    "Mould",
    "Outline",
    "Piece",
    "PieceDesign",
    "Profile",
    "Ring",
    "Shape",
    "Skin",
    "Solid",
    "Sphere",
    "Spheroid",
    "Spray",
    "build",
    "cavity_outline",
    "cavity_solid",
    "own_volume",
    "shape_outline",
    "solids",
    "thin_walls",
]
