"""How much an even coat holds around a body of any shape, from the body's area and curvature alone."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

from demoule.errors import BadInput
from demoule.figures import Status, published
from demoule.units import CubicMetre, Metre, SquareMetre

__all__ = ["coat_area", "coat_thickness", "coat_volume", "integrated_mean_curvature"]


@published(
    gives="integrated mean curvature of a body of revolution",
    source="steiner-formula",
    valid="convex outlines, foot and top on the axis or closed by a flat",
    error="exact for the polygon given",
    status=Status.RECALLED,
)
def integrated_mean_curvature(outline: Sequence[tuple[Metre, Metre]]) -> Metre:
    """Mean curvature of a body of revolution, summed over its surface.

    Parameters
    ----------
    outline
        (radius, height) points of the right half of the section, from foot to top; flats at foot and top are closed
        by the axis.

    Returns
    -------
    Metre
        The integral of the mean curvature over the surface [m]; 4 pi R for a sphere of radius R.

    Raises
    ------
    BadInput
        Fewer than two points.

    Notes
    -----
    A conical strip adds pi times its height, an edge pi times its radius times the angle by which the outline turns.
    Source: steiner-formula (for polyhedra; edges count half their length times the turning angle).

    Examples
    --------
    >>> cylinder = [(0.02, 0.0), (0.02, 0.03)]
    >>> round(integrated_mean_curvature(cylinder) / math.pi, 6)  # height + pi times radius
    0.092832
    """
    if len(outline) < 2:
        raise BadInput("An outline needs two points or more.", remedy="give the section from its foot to its top.")
    points = [(0.0, outline[0][1]), *outline, (0.0, outline[-1][1])]
    # Points that repeat have no direction: leave them out.
    line = [points[0]]
    for point in points[1:]:
        if math.dist(point, line[-1]) > 1e-12:
            line.append(point)
    angles = [math.atan2(b[1] - a[1], b[0] - a[0]) for a, b in itertools.pairwise(line)]
    height = line[-1][1] - line[0][1]
    turning = 0.0
    for (radius, _), before, after in zip(line[1:-1], angles[:-1], angles[1:], strict=True):
        turn = (after - before + math.pi) % (2 * math.pi) - math.pi
        turning += radius * turn
    return math.pi * (height + turning)


def coat_volume(area: SquareMetre, curvature: Metre, thickness: Metre) -> CubicMetre:
    """Volume of a coat of even thickness around a closed convex body [m3].

    S h + M h2 + 4/3 pi h3 with S the area, M the integrated mean curvature (`integrated_mean_curvature`): exact for
    any convex body, whatever its shape. Source: steiner-formula.

    >>> round(coat_volume(4 * math.pi * 0.03**2, 4 * math.pi * 0.03, 0.001) * 1e6, 4)  # sphere of 60 mm, 1 mm: ml
    11.6909
    """
    return area * thickness + curvature * thickness**2 + 4 / 3 * math.pi * thickness**3


def coat_area(area: SquareMetre, curvature: Metre, thickness: Metre) -> SquareMetre:
    """Outer area of an even coat [m2]: the derivative of its volume by its thickness."""
    return area + 2 * curvature * thickness + 4 * math.pi * thickness**2


def coat_thickness(area: SquareMetre, curvature: Metre, volume: CubicMetre) -> Metre:
    """Thickness of an even coat of known volume [m], the inverse of `coat_volume`."""
    if volume < 0 or area <= 0:
        raise BadInput(
            f"A coat of {volume * 1e6:.3g} ml on {area * 1e4:.3g} cm² is not possible.",
            remedy="give a mass of coat of zero or more, and the area of the piece.",
        )
    thickness = volume / area
    for _ in range(60):  # Newton on a convex growing cubic converges from above
        step = (coat_volume(area, curvature, thickness) - volume) / coat_area(area, curvature, thickness)
        thickness -= step
        if abs(step) < 1e-15 + 1e-13 * thickness:
            break
    return thickness
