"""From a named shape to its section: the line that, turned about the axis, makes the cavity."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace
from functools import lru_cache

import numpy as np

from demoule.errors import BadInput
from demoule.piece import solids
from demoule.piece.built import Outline
from demoule.piece.design import (
    Cavity,
    Cone,
    Cylinder,
    Dome,
    HalfSphere,
    Profile,
    Ring,
    Shape,
    Sphere,
    Spheroid,
)
from demoule.piece.solid import Solid
from demoule.units import FloatArray, Metre

__all__ = ["CORNER", "STEPS", "cavity_outline", "cavity_solid", "shape_outline"]

STEPS = 256
"""Straight pieces in half a turn of a round section; volume and area then lie within 4e-5 of the exact ones."""

CORNER = math.radians(50.0)
"""A profile that turns by more than this at one of its points has a corner there; elsewhere it is smooth."""

_BIGGEST: Metre = 1.0  # nothing that a hand takes out of a mould is larger


@lru_cache(maxsize=256)  # a kitchen has few moulds, and each is asked for often
def cavity_outline(cavity: Cavity, halves: int = 1) -> tuple[Outline, float]:
    """Section of one cavity, and the factor by which a measured water fill changed its lengths.

    The water fill is that of the cavity as it stands in the tray, before two of them are joined.

    Parameters
    ----------
    cavity
        Its shape; a `water_fill` wins over the computed volume, the whole shape growing or shrinking evenly.
    halves
        2 to put two of them together foot to foot; `cavity.joined` counts too.

    Raises
    ------
    BadInput
        A shape that cannot be, or more than two halves.
    """
    outline = shape_outline(cavity.shape)
    factor = 1.0
    if cavity.water_fill is not None:
        if not 0 < cavity.water_fill < 1e-2:
            raise BadInput(
                f"A cavity cannot hold {1e6 * cavity.water_fill:.6g} ml of water.",
                remedy="weigh the mould empty and full of water; 1 g is 1 ml.",
            )
        outline, factor = solids.scaled_to_volume(outline, cavity.water_fill)
    count = max(halves, cavity.joined)
    if count not in (1, 2):
        raise BadInput(
            f"{count} cavities cannot be joined into one body.",
            remedy="write joined: 2 for two halves, or leave it out.",
        )
    return (solids.joined(outline) if count == 2 else outline), factor


def cavity_solid(cavity: Cavity, halves: int = 1) -> Solid | None:
    """The body of one cavity that is not round, its measured water fill and its two halves seen to; None: round."""
    if not isinstance(cavity.shape, Solid):
        return None
    solid = cavity.shape
    _, factor = cavity_outline(replace(cavity, joined=1))
    if factor != 1.0:
        solid = solid.scaled(factor)
    return solid.joined() if max(halves, cavity.joined) == 2 else solid


def shape_outline(shape: Shape) -> Outline:
    """Section of a shape standing on height 0; half sphere, cone and dome lie on their flat.

    Of a body that is not round: the profile with the same area at each height.

    Raises
    ------
    BadInput
        A size that is zero, negative or above 1 m, or sizes that make no body.
    """
    match shape:
        case Sphere(radius=radius, flat=flat):
            _check("sphere", radius=radius)
            if not 0 <= flat < 2 * radius:
                raise BadInput(
                    f"A sphere of {2000 * radius:.1f} mm cannot be cut to a flat of {1000 * flat:.1f} mm.",
                    remedy="give a flat narrower than the sphere.",
                )
            return _arc(radius, radius, -math.acos(flat / 2 / radius))
        case HalfSphere(radius=radius):
            _check("half sphere", radius=radius)
            return _arc(radius, radius, 0.0)
        case Spheroid(height=height, diameter=diameter, flat=flat):
            _check("spheroid", height=height, diameter=diameter)
            if not 0 <= flat < diameter:
                raise BadInput(
                    f"A spheroid {1000 * diameter:.1f} mm across cannot be cut to a flat of {1000 * flat:.1f} mm.",
                    remedy="give a flat narrower than the spheroid.",
                )
            start = -math.acos(flat / diameter)
            return _arc(diameter / 2, height / (1 - math.sin(start)), start)
        case Cylinder(diameter=diameter, height=height):
            _check("cylinder", diameter=diameter, height=height)
            return solids.outline_of([(0, 0), (diameter / 2, 0), (diameter / 2, height), (0, height)])
        case Cone(foot=foot, top=top, height=height):
            _check("cone", height=height, diameter=max(foot, top))
            if min(foot, top) < 0:
                raise BadInput("A cone cannot have a negative diameter.", remedy="give 0 mm for a pointed end.")
            return solids.outline_of([(0, 0), (foot / 2, 0), (top / 2, height), (0, height)])
        case Dome(diameter=diameter, height=height):
            _check("dome", diameter=diameter, height=height)
            radius = (diameter**2 / 4 + height**2) / (2 * height)
            return _arc(radius, radius, math.asin((radius - height) / radius))
        case Ring(middle=middle, section=section):
            _check("ring", middle=middle, section=section)
            if section >= middle:
                raise BadInput(
                    f"A ring of {1000 * section:.1f} mm section closes its own hole: "
                    f"the circle through its middle is {1000 * middle:.1f} mm across.",
                    remedy="give a section smaller than that circle.",
                )
            turn = np.linspace(-math.pi / 2, 1.5 * math.pi, 2 * STEPS + 1)[:-1]
            r, z = middle / 2 + section / 2 * np.cos(turn), section / 2 * (1 + np.sin(turn))
            loop = solids.outline_of(zip(r.tolist(), z.tolist(), strict=True))
            return (*loop, loop[0])
        case Profile(points=points):
            return _profile(points)
        case Solid():
            return shape.profile


def _arc(across: Metre, up: Metre, start: float) -> Outline:
    """An elliptic arc from an angle below or above the middle to the top, closed by a flat where it begins."""
    turn = np.linspace(start, math.pi / 2, max(128, math.ceil(STEPS * (math.pi / 2 - start) / math.pi)) + 1)
    r = across * np.cos(turn)
    z = up * (np.sin(turn) - math.sin(start))
    r[-1] = 0.0
    return solids.outline_of([(0.0, 0.0), *zip(r.tolist(), z.tolist(), strict=True)])


def _profile(given: tuple[tuple[Metre, Metre], ...]) -> Outline:
    """A smooth line through (height, radius) points.

    Between two corners (`CORNER`) it is a cubic spline over the length of the chords, which keeps every point given.
    Where the profile meets the axis it is carried on by its mirror image, so that the tip is round. Where a spline
    would fold over, straight lines from point to point are taken.
    """
    if len(given) < 2:
        raise BadInput("A profile needs two points or more.", remedy="give height and radius from the foot to the top.")
    p = np.array([(r, z) for z, r in given], dtype=float)
    if not np.isfinite(p).all():
        raise BadInput("A point of the profile is not a number.", remedy="give height and radius of each point.")
    _check("profile", height=float(np.ptp(p[:, 1])), radius=float(p[:, 0].max()))
    if (p[:, 0] < 0).any():
        raise BadInput("A profile has a negative radius.", remedy="give each radius from the axis outwards.")
    if p[-1, 1] < p[0, 1]:
        p = p[::-1]
    if (np.hypot(*np.diff(p, axis=0).T) < 1e-6).any():
        raise BadInput("Two points of the profile lie in the same place.", remedy="leave one of them out.")
    p[:, 1] -= p[0, 1]
    for smooth in (True, False):
        drawn = _through(p) if smooth else p
        outline = solids.outline_of([(0.0, drawn[0, 1]), *map(tuple, drawn.tolist()), (0.0, drawn[-1, 1])])
        if (drawn[:, 0] >= -1e-9).all() and len(outline) > 2 and solids.polygon(outline).is_valid:
            return outline
    raise BadInput(
        "The profile crosses itself.", remedy="give the points in order along the wall, from the foot to the top."
    )


def _through(p: FloatArray) -> FloatArray:
    at_foot, at_top = p[0, 0] < 1e-9, p[-1, 0] < 1e-9
    mirror = np.array([-1.0, 1.0])
    before = p[:0:-1] * mirror if at_foot else p[:0]
    after = p[-2::-1] * mirror if at_top else p[:0]
    whole = np.vstack([before, p, after])
    way = np.diff(whole, axis=0)
    turn = np.diff(np.unwrap(np.arctan2(way[:, 1], way[:, 0])))
    corners = [0, *(np.flatnonzero(np.abs(turn) > CORNER) + 1).tolist(), len(whole) - 1]
    length = np.concatenate([[0.0], np.cumsum(np.hypot(way[:, 0], way[:, 1]))])
    first, last = length[len(before)], length[len(before) + len(p) - 1]
    from scipy.interpolate import CubicSpline  # loads slowly, and only points need it

    drawn: list[FloatArray] = []
    for start, end in itertools.pairwise(corners):
        if length[end] <= first or length[start] >= last:
            continue
        s = length[start : end + 1]
        spline = CubicSpline(s, whole[start : end + 1], bc_type="not-a-knot" if len(s) > 3 else "natural")
        steps = [np.linspace(a, b, 25)[:-1] for a, b in itertools.pairwise(s) if a >= first and b <= last]
        fine = np.concatenate([*steps, [min(s[-1], last)]])
        drawn.append(spline(fine) if len(s) > 2 else np.vstack([whole[start], whole[end]]))
    path = np.vstack(drawn)
    for end, meets in ((0, at_foot), (-1, at_top)):
        if meets:
            path[end, 0] = 0.0
    return path


def _check(what: str, **sizes: float) -> None:
    for name, size in sizes.items():
        if not 0 < size <= _BIGGEST:
            raise BadInput(
                f"The {name} of the {what} is {1000 * size:.6g} mm.", remedy="give a size above 0 and up to 1 m."
            )
