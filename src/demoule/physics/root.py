"""The one root that a bracket holds."""

from __future__ import annotations

from collections.abc import Callable

__all__ = ["root"]


def root(function: Callable[[float], float], low: float, high: float, tolerance: float = 1e-12) -> float:
    """Where a function changes sign between two points, by Brent's method.

    Raises
    ------
    ValueError
        No change of sign.

    >>> round(root(lambda x: x * x - 2, 0.0, 2.0), 6)
    1.414214
    """
    # Imported here: it takes longer to load than most questions take to answer, and most never ask for a root.
    from scipy.optimize import brentq

    return float(brentq(function, low, high, xtol=tolerance))
