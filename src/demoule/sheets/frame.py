"""Where the metres of a section lie on the drawing: one scale for both directions."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from demoule.piece import Outline, solids
from demoule.sheets.svg import smooth_path
from demoule.units import FloatArray, Metre

__all__ = ["Frame"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """The axis stands at `x`, height 0 at `y`; `scale` drawing units are one metre, across and up alike."""

    x: float
    y: float
    scale: float

    @property
    def per_mm(self) -> float:
        """Drawing units of one millimetre."""
        return self.scale / 1000

    def at(self, r: Metre, z: Metre) -> tuple[float, float]:
        """A point of the section on the drawing; r is negative on the left."""
        return self.x + r * self.scale, self.y - z * self.scale

    def all_at(self, points: FloatArray) -> FloatArray:
        """Points of shape (n, 2) on the drawing."""
        return np.column_stack([self.x + points[:, 0] * self.scale, self.y - points[:, 1] * self.scale])

    def moved(self, right: float, down: float) -> Frame:
        """The same scale elsewhere, in drawing units."""
        return Frame(x=self.x + right, y=self.y + down, scale=self.scale)

    def path(self, outline: Outline) -> str:
        """Path data of the whole section inside an outline, left and right of the axis."""
        p = solids.points(outline)
        left = p * (-1.0, 1.0)
        if solids.closed(outline):
            return smooth_path(self.all_at(p), closed=True) + smooth_path(self.all_at(left[::-1]), closed=True)
        # From the foot on the axis up the right side, over the top, and down the left side.
        whole = np.vstack([p, left[-2::-1]])
        return smooth_path(self.all_at(whole), closed=True)

    def rings_path(self, shape: BaseGeometry) -> str:
        """Path data of faces of the section that are not alike on both sides."""
        parts = [one for one in shapely.get_parts(shape) if isinstance(one, Polygon)]
        rings = [ring for part in parts for ring in (part.exterior, *part.interiors)]
        return "".join(smooth_path(self.all_at(np.asarray(ring.coords)[:-1]), closed=True) for ring in rings)

    def open_path(self, points: FloatArray) -> str:
        """Path data of a line of the section, shape (n, 2)."""
        return smooth_path(self.all_at(points))
