"""How much alcohol by mass there is in a spirit of so many per cent by volume."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from demoule.errors import BadInput
from demoule.figures import Status, published
from demoule.larder.tables import read_csv
from demoule.units import Fraction, KilogramPerCubicMetre, MassFraction

__all__ = ["ETHANOL_DENSITY", "ethanol_by_mass", "spirit_density"]

ETHANOL_DENSITY: KilogramPerCubicMetre = 789.24
"""Density of ethanol at 20 °C [kg/m³] (oiml-r22): a litre by volume of alcohol on the label weighs 0.789 kg."""


@lru_cache(maxsize=1)
def _table() -> tuple[tuple[float, ...], tuple[float, ...], tuple[float, ...]]:
    """Mass fraction, density [kg/m³] and volume fraction along the table."""
    rows = list(read_csv("ethanol_density.csv", "published"))
    mass = tuple(float(row["ethanol_kg_per_kg"]) for row in rows)
    density = tuple(float(row["value"]) for row in rows)
    return mass, density, tuple(m * d / ETHANOL_DENSITY for m, d in zip(mass, density, strict=True))


@published(
    gives="ethanol by mass in a spirit of a strength by volume",
    source="oiml-r22",
    valid="mixtures of ethanol and water at 20 °C, without sugar",
    error="0.001 kg/kg against two rows of a food table",
    status=Status.RECALLED,
)
def ethanol_by_mass(volume_fraction: Fraction) -> MassFraction:
    """Ethanol by mass in a mixture of ethanol and water.

    Parameters
    ----------
    volume_fraction
        Alcoholic strength by volume at 20 °C, 0 to 1.

    Returns
    -------
    MassFraction
        Ethanol [kg/kg].

    Raises
    ------
    BadInput
        Outside 0 to 1.

    Notes
    -----
    Strength by volume is ethanol per volume of the mixture, so its mass fraction wants the density of the mixture.
    Source: oiml-r22, density by mass at 20 °C. Status: recalled.

    Examples
    --------
    >>> round(ethanol_by_mass(0.40), 3)
    0.333
    """
    if not 0 <= volume_fraction <= 1:
        raise BadInput(
            f"A spirit of {volume_fraction:.0%} vol cannot be.",
            remedy="give the strength on the label, 0 to 100 % vol.",
        )
    mass, _, volume = _table()
    return float(np.interp(volume_fraction, volume, mass))


def spirit_density(volume_fraction: Fraction) -> KilogramPerCubicMetre:
    """Density of a mixture of ethanol and water at 20 °C [kg/m³]; same source and range as `ethanol_by_mass`.

    Examples
    --------
    >>> round(spirit_density(0.40))
    948
    """
    mass, density, _ = _table()
    return float(np.interp(ethanol_by_mass(volume_fraction), mass, density))
