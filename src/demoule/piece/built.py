"""A built piece: its layers with exact volumes and masses, and the section as geometry."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from demoule.composition import Composition
from demoule.figures import Basis, Finding
from demoule.physics.dipping import Shell
from demoule.piece.design import Garnish, Mould
from demoule.piece.solid import Solid
from demoule.units import CubicMetre, Fraction, Joule, Kelvin, Kilogram, Metre, SquareMetre

__all__ = ["Clearance", "Layer", "Outline", "Piece"]

Outline = tuple[tuple[Metre, Metre], ...]
"""Right half of a section: closed by the axis; (radius, height above the foot of the piece) from foot to top."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer:
    """One layer of the piece.

    Parameters
    ----------
    role
        "heart", "inner heart", "body", "base", "shell", "spray".
    outline
        Its outer boundary in the section; what lies inside belongs to the layers listed before it.
    thickness
        Of a shell or a spray, mean over the surface [m].
    taken
        Mass that must be used for one piece, what misses it included (overspray) [kg].
    stated
        Whether the chef stated the mass or thickness, instead of the model.
    volume
        As filled: a heart of 28.8 ml in a cavity of 30 ml has 28.8 ml here, and grows into its outline on freezing.
    joint
        Height of the plane in which two halves of a heart are joined.
    heat, warmed_to
        Of a coat: the heat it brings to the piece [J], and the temperature of both after they have equalised [K].
    dipped
        Of a shell: all that the dipping model tells (time to set, foot, heat drawn from the bath).
    learned
        The measurement of this kitchen that its mass rests on, in words.
    solid
        Its outer boundary where that is not round; the outline then is the profile that stands for it, with the same
        area at each height. None: round.
    section
        Rings of (distance from the axis, height), negative on the left, in which the drawn plane cuts what is not round
        or lies around something that is not; empty: the outline, right and left alike.
    """

    role: str
    component: str
    outline: Outline
    volume: CubicMetre
    mass: Kilogram
    area: SquareMetre  # of its outer boundary
    composition: Composition
    air: Fraction
    thickness: Metre | None = None
    thickness_low: Metre | None = None
    thickness_high: Metre | None = None
    taken: Kilogram | None = None
    stated: bool = False
    basis: tuple[Basis, ...] = ()
    where: str = ""
    joint: Metre | None = None
    heat: Joule | None = None
    warmed_to: Kelvin | None = None
    dipped: Shell | None = None
    learned: str = ""
    solid: Solid | None = None
    section: tuple[Outline, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Clearance:
    """The smallest wall in one direction, with the two points of the section that it joins, inner one first."""

    what: str  # "top", "side", "foot", "heart to base"; "around the inner heart" for a heart in a heart
    wall: Metre
    start: tuple[Metre, Metre]
    end: tuple[Metre, Metre]


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """One piece: layers from the inside outwards.

    Parameters
    ----------
    cavity_scale
        Factor on every length of the cavity by which its shape was brought to the measured water fill.
    """

    mould: Mould | None
    heart_mould: Mould | None
    hearts_per_piece: int  # cavities of the heart's mould that one piece takes
    layers: tuple[Layer, ...]
    cavity_volume: CubicMetre
    cavity_area: SquareMetre
    clearances: tuple[Clearance, ...]
    garnishes: tuple[Garnish, ...]
    findings: tuple[Finding, ...] = ()
    cavity_scale: float = 1.0

    @property
    def smallest_wall(self) -> Clearance | None:
        """The thinnest wall of body round the heart; None without a heart."""
        walls = [c for c in self.clearances if c.what != "around the inner heart"]
        return min(walls, key=lambda c: c.wall, default=None)

    @property
    def mass(self) -> Kilogram:
        """Of one finished piece, garnish not counted [kg]."""
        return sum(layer.mass for layer in self.layers)

    @property
    def composition(self) -> Composition:
        """Of the whole piece, mixed by mass."""
        return Composition.mixed((layer.mass, layer.composition) for layer in self.layers)

    @property
    def coated_at(self) -> Kelvin | None:
        """Temperature with which it goes back into the cold after its last coat; None without a coat."""
        return self.layers[-1].warmed_to if self.layers else None

    def layer(self, role: str) -> Layer | None:
        """The first layer of a role, from the inside outwards."""
        return next((layer for layer in self.layers if layer.role == role), None)

    @property
    def height(self) -> Metre:
        """Over all [m]."""
        levels = [np.array(layer.outline)[:, 1] for layer in self.layers]
        return float(max(z.max() for z in levels) - min(z.min() for z in levels))

    @property
    def diameter(self) -> Metre:
        """Over all [m]: of the circle about the axis that holds it."""
        round_ones = 2 * float(max(np.array(layer.outline)[:, 0].max() for layer in self.layers))
        coats = 2 * sum(layer.thickness or 0.0 for layer in self.layers if layer.role in ("shell", "spray"))
        others = [2 * layer.solid.reach + coats for layer in self.layers if layer.solid is not None]
        return max([round_ones, *others])
