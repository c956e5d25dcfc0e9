"""What a scale shows, and how leaves and pods are counted."""

from __future__ import annotations

import math

from demoule.batch.weighing import WeighLine
from demoule.larder.ingredient import Ingredient
from demoule.units import Fraction, Kilogram

__all__ = ["on_scale", "weigh_line"]

WHOLE: Fraction = 0.02
"""Leaves are taken whole when that changes their mass by no more than this."""

# Up to a mass [kg], the step of the scale that is used for it [kg].
_STEPS = ((0.002, 1e-5), (0.020, 1e-4), (10.0, 1e-3))
_COARSE: Kilogram = 5e-3


def on_scale(mass: Kilogram) -> Kilogram:
    """A mass as a scale shows it: 0.01 g below 2 g, 0.1 g below 20 g, 1 g to 10 kg, 5 g above.

    Examples
    --------
    >>> [on_scale(m / 1000) * 1000 for m in (0.4567, 13.44, 876.4, 12343.0)]
    [0.46, 13.4, 876.0, 12345.0]
    """
    step = next((step for up_to, step in _STEPS if mass < up_to), _COARSE)
    return round(round(mass / step) * step, 9)


def weigh_line(what: str, mass: Kilogram, ingredient: Ingredient | None, *, counted: bool = False) -> WeighLine:
    """One line of a weigh-up list.

    Parameters
    ----------
    what, mass
        Its name, and its exact mass for one making [kg].
    ingredient
        None for a component.
    counted
        The chef counts it in pieces (pods, eggs), not in grams.

    Notes
    -----
    Gelatine in leaves is given as whole leaves when their mass is within 2 % of the exact one, else as half leaves on
    the same terms; a smaller amount keeps its grams, with the leaves to cut it from.
    """
    rounded = on_scale(mass)
    if ingredient is None:
        return WeighLine(what=what, is_component=True, exact=mass, mass=rounded)
    count, called = None, ""
    if ingredient.leaf_mass:
        count, rounded = _leaves(mass, ingredient.leaf_mass)
        called = "leaf" if count <= 1 else "leaves"
    elif counted and ingredient.piece_mass:
        count = max(round(2 * mass / ingredient.piece_mass) / 2, 0.5)
        called = "piece" if count <= 1 else "pieces"
    return WeighLine(what=what, is_component=False, exact=mass, mass=rounded, leaves=count, leaves_called=called)


def _leaves(mass: Kilogram, leaf: Kilogram) -> tuple[float, Kilogram]:
    """Leaves, and the mass to be weighed: of the leaves when they fit, the exact one when one must be cut."""
    for step in (1.0, 0.5):
        leaves = round(mass / leaf / step) * step
        if leaves > 0 and abs(leaves * leaf - mass) <= WHOLE * mass:
            return leaves, on_scale(leaves * leaf)
    return float(math.ceil(mass / leaf - 1e-9)), on_scale(mass)
