"""One table of heat against temperature for a material of the piece, as the cold stage wants it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from demoule.composition import Constituent
from demoule.figures import Status, published
from demoule.physics.fat import fat_heat
from demoule.physics.freezing import freezing_point, ice_fraction
from demoule.physics.heat import conductivity, enthalpy
from demoule.units import FloatArray, Fraction, Kelvin, KilogramPerCubicMetre

__all__ = ["ThermalTable", "thermal_table"]

COLDEST: Kelvin = 213.15
HOTTEST: Kelvin = 393.15


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ThermalTable:
    """Heat properties of one material over temperature, air and all; arrays of shape (n,).

    Parameters
    ----------
    temperature
        Rising [K], from 213.15 to 393.15, dense below the freezing point.
    enthalpy
        Heat content per volume of the aerated material [J/m3], strictly rising, zero at 0 °C with all water liquid.
    conductivity
        [W/(m K)], with ice and air.
    ice_share
        Share of the water that is ice.
    ice_fraction
        Ice per mass of the material [kg/kg].
    density
        Of the aerated, unfrozen material [kg/m3]; kept fixed, so that mass is conserved on a fixed grid.
    freezing_point
        Initial freezing point [K]; the table's kink.
    """

    temperature: FloatArray
    enthalpy: FloatArray
    conductivity: FloatArray
    ice_share: FloatArray
    ice_fraction: FloatArray
    density: KilogramPerCubicMetre
    freezing_point: Kelvin


@published(
    gives="heat content, conductivity and ice over temperature",
    source="choi-okos",
    valid="-60 to 120 °C, air to 60 % of the volume; equilibrium, no undercooling",
    error="5 % of the heat of freezing; conductivity 10 % unfrozen, 20 % frozen or aerated",
    status=Status.QUOTED,
)
def thermal_table(
    composition: FloatArray,
    density_mix: KilogramPerCubicMetre,
    air: Fraction = 0.0,
    *,
    setting_fat: Fraction = 1.0,
) -> ThermalTable:
    """Tabulate the heat properties of a material.

    Parameters
    ----------
    composition
        One vector (k,) [kg/kg].
    density_mix
        Without air [kg/m3].
    air
        Share of the volume that is air.
    setting_fat
        How much of the heat of setting fat is counted, 0 to 1: none and all are the bounds of its band.
    """
    x = np.asarray(composition, dtype=float)
    start = float(freezing_point(x))
    T = _temperatures(start)
    ice = ice_fraction(x, T)
    density = density_mix * (1.0 - air)
    h = enthalpy(x, T, ice) + setting_fat * fat_heat(x, T)
    water = float(x[Constituent.WATER])
    return ThermalTable(
        temperature=T,
        enthalpy=density * h,
        conductivity=conductivity(x, T, ice, air),
        ice_share=ice / water if water > 0 else np.zeros_like(ice),
        ice_fraction=ice,
        density=density,
        freezing_point=start,
    )


def _temperatures(start: Kelvin) -> FloatArray:
    """Nodes: every half kelvin, and packed geometrically below the freezing point, where the ice grows fastest."""
    grid = np.arange(COLDEST, HOTTEST + 0.25, 0.5)
    if start > COLDEST + 1.0:
        below = start - np.geomspace(2e-3, start - COLDEST, 400)
        grid = np.concatenate([grid, below, [start]])
    grid = np.unique(grid)
    keep = np.concatenate([[True], np.diff(grid) > 1e-6])
    result: FloatArray = grid[keep]
    return result
