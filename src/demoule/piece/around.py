"""What a coat is laid on: a piece with the coats it has so far, by its area, its curvature and its section."""

from __future__ import annotations

from dataclasses import dataclass

import shapely
from shapely.geometry import MultiPolygon

from demoule.physics.coat import coat_area, coat_thickness, coat_volume, integrated_mean_curvature
from demoule.piece import solids
from demoule.piece.built import Outline
from demoule.piece.solid import Solid
from demoule.units import CubicMetre, Metre, SquareMetre

__all__ = ["Around", "rings_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Around:
    """A body and the even coats around it.

    Parameters
    ----------
    outline
        Of its section with its coats; of a body that is not round, that of the profile that stands for it.
    solid
        The bare body where it is not round; None: round.
    out
        Thickness of the coats so far [m].
    """

    outline: Outline
    solid: Solid | None = None
    out: Metre = 0.0

    @property
    def area(self) -> SquareMetre:
        """Of its whole surface [m²]."""
        if self.solid is None:
            return solids.area(self.outline)
        return coat_area(self.solid.area, self.solid.curvature, self.out)

    @property
    def curvature(self) -> Metre:
        """Mean curvature, summed over its surface [m]."""
        if self.solid is None:
            return integrated_mean_curvature(self.outline)
        # Half of what the area grows by per metre outwards.
        return self.solid.curvature + (coat_area(0.0, 0.0, 1.0) * self.out if self.out else 0.0)

    @property
    def section(self) -> tuple[Outline, ...]:
        """Rings of the drawn section; empty where it is round."""
        if self.solid is None:
            return ()
        return rings_of(self.solid.section().buffer(self.out) if self.out else self.solid.section())

    def coat(self, thickness: Metre) -> CubicMetre:
        """Volume of an even coat of so much more [m³]."""
        if self.solid is None:
            return solids.volume(solids.offset(self.outline, thickness)) - solids.volume(self.outline)
        return coat_volume(self.area, self.curvature, thickness)

    def thickness_of(self, volume: CubicMetre) -> Metre:
        """Thickness of an even coat of a volume [m]; the inverse of `coat`."""
        if self.solid is None:
            return solids.thickness_of(self.outline, volume)
        return coat_thickness(self.area, self.curvature, volume)

    def coated(self, thickness: Metre) -> Around:
        """With an even coat of so much more."""
        return Around(outline=solids.offset(self.outline, thickness), solid=self.solid, out=self.out + thickness)


def rings_of(faces: shapely.Geometry) -> tuple[Outline, ...]:
    """The rings of a section, holes among them."""
    parts = [one for one in shapely.get_parts(faces) if one.geom_type == "Polygon"]
    whole = MultiPolygon(parts)
    return tuple(
        tuple((float(x), float(z)) for x, z in ring.coords)
        for part in whole.geoms
        for ring in (part.exterior, *part.interiors)
    )
