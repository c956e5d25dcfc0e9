"""How much of what is soluble stays in fruit after it has been scalded in one or several waters."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from demoule.errors import BadInput
from demoule.figures import Basis, Finding, Severity, Status, basis_of, published
from demoule.physics.candy_course import CELLS
from demoule.physics.candy_shapes import PieceShape
from demoule.physics.tissue import COOKED, Tissue, tissue_diffusivity
from demoule.units import FloatArray, Fraction, Kelvin, Second, celsius

__all__ = ["BlanchWater", "Blanched", "blanch", "left_at_rest"]

SPREAD = 3.0  # diffusivity of a first guess, either way (judged)


@dataclass(frozen=True, slots=True, kw_only=True)
class BlanchWater:
    """One water: its mass over that of the fruit, its heat, and how long the fruit lies in it."""

    ratio: float
    temperature: Kelvin
    duration: Second


@dataclass(frozen=True, slots=True, kw_only=True)
class Blanched:
    """What is left of a soluble matter after each water.

    Parameters
    ----------
    left
        Share of what there was, after each water.
    low, high
        After the last, with the fastest and the slowest likely tissue.
    at_rest
        Share that would be left if every water had all the time it needs.
    splitting_helps
        Whether several waters gain anything over one: longer in all than R2/(5 D), or less than 3 waters per fruit.
    """

    left: tuple[Fraction, ...]
    low: Fraction
    high: Fraction
    at_rest: Fraction
    splitting_helps: bool
    stretched: bool
    basis: tuple[Basis, ...]
    findings: tuple[Finding, ...]


@published(
    gives="soluble matter left at rest after several waters",
    source="mass-balance",
    valid="any shape, all the time it needs, no liquid carried over",
    error="exact for the partition given",
    status=Status.READ,
)
def left_at_rest(ratios: Sequence[float], partition: float = 1.0) -> Fraction:
    """Share left when fruit and each fresh water come to rest: the product of 1/(1 + w/K).

    Parameters
    ----------
    ratios
        Mass of each water over that of the fruit.
    partition
        Concentration in the fruit over that in the water at rest: 1 for sugars, more for what the flesh holds.

    >>> round(left_at_rest([5.0, 5.0, 5.0]), 5)
    0.00463
    """
    if not partition > 0 or any(not ratio > 0 for ratio in ratios):
        raise BadInput("A blanch needs water.", remedy="give the water of each blanch, above zero.")
    return math.prod(1 / (1 + ratio / partition) for ratio in ratios)


class _Washing:
    """Diffusion in the stand-in of a piece, exact in time by the modes of its cells and the bath."""

    def __init__(self, shape: PieceShape) -> None:
        m = shape.dimension
        k = np.arange(CELLS + 1) / CELLS
        faces = 1 - (1 - k) ** 2
        self.share = np.diff(faces**m)
        centres = (faces[1:] + faces[:-1]) / 2
        self.flows = np.append(m * faces[1:-1] ** (m - 1) / np.diff(centres), m / (1 - centres[-1]))

    def after(self, content: FloatArray, capacity: float, fourier: float) -> FloatArray:
        """Content of the cells after a bath of that capacity, clean at first; `fourier` is D t/R2."""
        from scipy.linalg import eigh_tridiagonal  # loads slowly, and only fruit needs it

        # Cells and bath as one chain; symmetric in the root of the capacities, so its modes are exact and stable.
        store = np.append(self.share, capacity)
        diagonal = np.zeros(CELLS + 1)
        diagonal[:-1] -= self.flows
        diagonal[1:] -= self.flows
        root = np.sqrt(store)
        values, vectors = eigh_tridiagonal(diagonal / store, self.flows / (root[:-1] * root[1:]))
        start = np.append(content, 0.0) * root
        end = vectors @ (np.exp(np.minimum(values, 0.0) * fourier) * (vectors.T @ start))
        result: FloatArray = (end / root)[:-1]
        return result


@published(
    gives="soluble matter left after scalding",
    source="selman-1983",
    valid="pieces of 3 to 50 mm, 60 to 100 °C, stirred water",
    error="a factor 3 on the time; heating-up and liquid carried over left out",
    status=Status.JUDGED,
)
def blanch(
    shape: PieceShape, waters: Sequence[BlanchWater], *, partition: float = 1.0, tissue: Tissue = COOKED
) -> Blanched:
    """Soluble matter, such as bitterness, left in pieces of fruit after one or several waters.

    Parameters
    ----------
    shape
        Of a piece (`piece_shape`).
    waters
        In order; what has been washed out of one part of the piece stays gone in the next.
    partition
        1 for what dissolves freely; above 1 for what the flesh binds.
    tissue
        Its diffusivity at 90 °C is used.

    Raises
    ------
    BadInput
        No water, negative times.

    Examples
    --------
    >>> from demoule.physics.candy_shapes import piece_shape
    >>> three = [BlanchWater(ratio=5.0, temperature=368.15, duration=300.0)] * 3
    >>> round(blanch(piece_shape("slice", 0.006), three).left[-1], 2)
    0.66
    """
    if not waters:
        raise BadInput("A blanch needs water.", remedy="give at least one water.")
    for number, water in enumerate(waters, 1):
        if not 0 <= water.duration < math.inf or not 273.15 <= water.temperature <= 388.15:
            raise BadInput(
                f"A blanch of {water.duration / 60:g} min at {celsius(water.temperature):.0f} °C is not possible.",
                where=f"water {number}",
                remedy="give minutes of zero or more, and a temperature between 0 and 100 °C.",
            )
    at_rest = left_at_rest([water.ratio for water in waters], partition)
    left = _course(shape, waters, partition, tissue, 1.0)
    fast = _course(shape, waters, partition, tissue, SPREAD)[-1]
    slow = _course(shape, waters, partition, tissue, 1 / SPREAD)[-1]
    way = sum(float(tissue_diffusivity(tissue, 0.0, water.temperature)) * water.duration for water in waters)
    helps = way > shape.radius**2 / 5 or min(water.ratio for water in waters) < 3
    stretched = not (
        0.003 <= 2 * shape.radius <= 0.05 and all(60 <= celsius(water.temperature) <= 100 for water in waters)
    )
    findings = []
    if len(waters) > 1 and not helps:
        findings.append(
            Finding(
                severity=Severity.NOTE,
                rule="blanches could be one",
                where="",
                says=f"{len(waters)} short waters leave about as much as one of the same time in all.",
                why="the way through the flesh is the limit, not the water.",
                remedy="blanch longer or cut smaller; taste decides.",
            )
        )
    return Blanched(
        left=left,
        low=fast,
        high=slow,
        at_rest=at_rest,
        splitting_helps=helps,
        stretched=stretched,
        basis=(basis_of(blanch, stretched=stretched), basis_of(left_at_rest)),
        findings=tuple(findings),
    )


def _course(
    shape: PieceShape, waters: Sequence[BlanchWater], partition: float, tissue: Tissue, speed: float
) -> tuple[Fraction, ...]:
    washing = _Washing(shape)
    content: FloatArray = np.ones(CELLS)
    left = []
    for water in waters:
        diffusivity = float(tissue_diffusivity(tissue, 0.0, water.temperature)) * speed
        fourier = diffusivity * water.duration / shape.radius**2
        content = washing.after(content, water.ratio / partition, fourier)
        left.append(float(washing.share @ content))
    return tuple(left)
