"""The one-dimensional stand-in for a slice, wedge, cube or half of fruit, into which syrup finds its way."""

from __future__ import annotations

import math
from dataclasses import dataclass

from demoule.errors import BadInput, UnknownName
from demoule.figures import Status, published
from demoule.physics.root import root
from demoule.units import CubicMetre, Fraction, Metre, SquareMetre

__all__ = ["KINDS", "PieceShape", "block_shape", "equivalent_dimension", "piece_shape"]

KINDS = ("slice", "stick", "cube", "box", "coin", "cylinder", "sphere", "half", "wedge")
"""The shapes in which fruit is candied; "half" is half a round fruit with its skin, "wedge" a part of one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceShape:
    """A piece of fruit as diffusion sees it.

    Parameters
    ----------
    kind
        One of `KINDS`.
    dimension, radius
        Of the stand-in: a body whose area grows as r^(dimension - 1) from its middle to `radius` [m].
    volume, area
        Of the real piece [m3, m2]; of a slice per m2 of its face.
    skin_share
        Share of the surface that is covered by skin when the fruit is not peeled.
    """

    kind: str
    dimension: float
    radius: Metre
    volume: CubicMetre
    area: SquareMetre
    skin_share: Fraction = 0.0


@published(
    gives="equivalent dimension of a block for diffusion",
    source="bessel-eigenvalue",
    valid="convex blocks, one surface condition all round",
    error="time to 25-95 % within 5 %, uptake within 0.01",
    status=Status.JUDGED,
)
def equivalent_dimension(eigenvalue: float, area_per_volume: float) -> float:
    """Dimension m of the body with the same surface per volume and the same slowest decay.

    Parameters
    ----------
    eigenvalue
        First eigenvalue of the Laplacian in the block with value zero at its surface [1/m2].
    area_per_volume
        [1/m].

    Returns
    -------
    float
        m of j(m/2 - 1, 1)^2/m^2 = eigenvalue/(S/V)^2, with j the first zero of the Bessel function of that order;
        1 for a slab, 2 for a cylinder, 3 for a sphere.

    Examples
    --------
    >>> round(equivalent_dimension(3 * (math.pi / 2) ** 2, 3.0), 3)  # a cube of half edge 1
    4.839
    """
    wanted = eigenvalue / area_per_volume**2

    def excess(m: float) -> float:
        return (first_bessel_zero(m / 2 - 1) / m) ** 2 - wanted

    if excess(1.0) <= 1e-12:
        return 1.0
    return root(excess, 1.0, 400.0)


def first_bessel_zero(order: float) -> float:
    """First positive zero of the Bessel function of a real order of -1/2 or more."""
    from scipy.special import jv  # loads slowly, and only fruit needs it

    if abs(order + 0.5) < 1e-12:
        return math.pi / 2
    if order <= 0:
        low, high = math.pi / 2, 2.405
    else:  # between the order itself and Tricomi's expansion from above
        low, high = max(order, 2.40), order + 1.8558 * order ** (1 / 3) + 1.0332 * order ** (-1 / 3) + 0.6
    return root(lambda x: float(jv(order, x)), low, high, 1e-13)


def block_shape(
    kind: str, eigenvalue: float, volume: CubicMetre, area: SquareMetre, skin_share: Fraction = 0.0
) -> PieceShape:
    """The stand-in for any convex block of known first eigenvalue, volume and area."""
    m = equivalent_dimension(eigenvalue, area / volume)
    return PieceShape(kind=kind, dimension=m, radius=m * volume / area, volume=volume, area=area, skin_share=skin_share)


def piece_shape(
    kind: str,
    size: Metre,
    *,
    lengths: tuple[Metre, ...] = (),
    fruit_diameter: Metre | None = None,
) -> PieceShape:
    """A piece of fruit by its kind and its size.

    Parameters
    ----------
    kind
        One of `KINDS`; "slab" and "disc" are taken as slice and coin.
    size
        Thickness of a slice, edge of a stick or cube, smallest edge of a box, height of a coin or cylinder, diameter
        of a sphere or half, thickness of a wedge at its thick side [m].
    lengths
        What the size leaves open [m]: length of a stick (default four edges), the other two edges of a box (twice and
        three times the size), diameter of a coin (three heights) or cylinder (one height).
    fruit_diameter
        Of the whole fruit a wedge was cut from [m]; None: eight wedges to the fruit.

    Raises
    ------
    UnknownName, BadInput
        A kind that is not known; a size of zero, or thicker than the fruit.

    Notes
    -----
    Eigenvalues: box (pi/2)^2 sum 1/a_i^2 over its half edges; cylinder (2.405/R)^2 + (pi/2H)^2, H half its height;
    sphere (pi/R)^2; a wedge of opening angle b out of a sphere (j(pi/b + 1/2, 1)/R)^2, which is exact, and half a
    sphere is the wedge of angle pi. Source: bessel-eigenvalue.

    Examples
    --------
    >>> cube = piece_shape("cube", 0.015)
    >>> round(cube.dimension, 2), round(cube.radius * 1000, 2)
    (4.84, 12.1)
    """
    kind = {"slab": "slice", "disc": "coin", "dice": "cube", "ball": "sphere"}.get(kind, kind)
    if kind not in KINDS:
        raise UnknownName("shape of fruit", kind, KINDS)
    if not 0 < size <= 1.0 or any(not 0 < length <= 10.0 for length in lengths):
        raise BadInput(
            f"A piece of fruit of {size * 1000:g} mm cannot be candied.",
            remedy="give its size in millimetres, above 0.",
        )
    pi = math.pi
    if kind == "slice":
        return PieceShape(kind=kind, dimension=1.0, radius=size / 2, volume=size, area=2.0)
    if kind in ("cube", "stick", "box"):
        defaults = {"cube": (1.0, 1.0), "stick": (1.0, 4.0), "box": (2.0, 3.0)}[kind]
        rest = tuple(factor * size for factor in defaults)
        if lengths:
            rest = (size, lengths[0]) if kind == "stick" else (*lengths, *rest[len(lengths) :])[:2]
        a, b, c = size, *rest
        eigenvalue = pi**2 * (1 / a**2 + 1 / b**2 + 1 / c**2)
        return block_shape(kind, eigenvalue, a * b * c, 2 * (a * b + b * c + a * c))
    if kind in ("coin", "cylinder"):
        diameter = lengths[0] if lengths else (3 * size if kind == "coin" else size)
        eigenvalue = (2 * 2.404825557695773 / diameter) ** 2 + (pi / size) ** 2
        return block_shape(kind, eigenvalue, pi / 4 * diameter**2 * size, pi * diameter * (diameter / 2 + size))
    if kind == "sphere":
        return PieceShape(
            kind=kind, dimension=3.0, radius=size / 2, volume=pi / 6 * size**3, area=pi * size**2, skin_share=1.0
        )
    if kind == "half":
        return _wedge(kind, pi, size / 2)
    if fruit_diameter is None:
        angle = pi / 4
        radius = size / (2 * math.sin(angle / 2))
    else:
        if not size < fruit_diameter:
            raise BadInput(
                f"A wedge {size * 1000:g} mm thick cannot come from a fruit of {fruit_diameter * 1000:g} mm.",
                remedy="give the thickness at its thick side and the diameter of the whole fruit.",
            )
        radius = fruit_diameter / 2
        angle = 2 * math.asin(size / fruit_diameter)
    return _wedge(kind, angle, radius)


def _wedge(kind: str, angle: float, radius: Metre) -> PieceShape:
    # r^k sin^k(theta) sin(k phi) with k = pi/angle is harmonic and zero on both cut faces: the eigenfunction follows.
    eigenvalue = (first_bessel_zero(math.pi / angle + 0.5) / radius) ** 2
    volume = 2 / 3 * angle * radius**3
    outside = 2 * angle * radius**2
    area = outside + math.pi * radius**2
    return block_shape(kind, eigenvalue, volume, area, skin_share=outside / area)
