"""What the cold stage must know of a mix: heat content, conductivity and ice over temperature."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from demoule.errors import BadInput
from demoule.physics.thermal import ThermalTable
from demoule.units import FloatArray, Kelvin, KilogramPerCubicMetre

__all__ = ["Matter"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Matter:
    """One mix as a table over temperature.

    Parameters
    ----------
    density
        With its air [kg/m3]; it does not change on freezing, for mass stays in its cell.
    temperature
        Growing [K], shape (n,).
    enthalpy
        Growing [J/kg], shape (n,).
    conductivity
        With air [W/(m K)], shape (n,).
    ice
        Share of the mass that is ice, shape (n,).
    water
        Share of the mass that is water, frozen or not.
    freezing_point
        Where the first ice forms [K]; None: it does not freeze.
    """

    name: str
    density: KilogramPerCubicMetre
    temperature: FloatArray
    enthalpy: FloatArray
    conductivity: FloatArray
    ice: FloatArray
    water: float
    freezing_point: Kelvin | None

    def __post_init__(self) -> None:
        columns = (self.temperature, self.enthalpy, self.conductivity, self.ice)
        if len({column.shape for column in columns}) != 1 or self.temperature.ndim != 1 or self.temperature.size < 2:
            raise ValueError("the columns of a table have one length, of two or more")
        if not all(np.isfinite(column).all() for column in columns):
            raise ValueError("a table holds finite numbers")
        if not self.temperature[0] > 0 or (np.diff(self.temperature) <= 0).any():
            raise ValueError("temperatures of a table are above absolute zero and grow")
        if (np.diff(self.enthalpy) < 0).any():
            raise ValueError("heat content grows with temperature")
        if not self.density > 0 or (self.conductivity <= 0).any():
            raise BadInput(
                f"“{self.name}” has no density or no conductivity above zero.",
                remedy="check its composition and its air.",
            )

    @classmethod
    def of_table(cls, name: str, table: ThermalTable) -> Matter:
        """The mix of a table of heat properties per volume."""
        water = float(np.max(table.ice_fraction / np.maximum(table.ice_share, 1e-12), initial=0.0))
        return cls(
            name=name,
            density=table.density,
            temperature=table.temperature,
            enthalpy=table.enthalpy / table.density,
            conductivity=table.conductivity,
            ice=table.ice_fraction,
            water=water,
            freezing_point=table.freezing_point if water > 0 else None,
        )

    @classmethod
    def plain(
        cls, name: str, *, density: float, specific_heat: float, conductivity: float, low: float = 150.0
    ) -> Matter:
        """A matter that neither freezes nor changes: kg/m3, J/(kg K), W/(m K)."""
        temperature = np.array([low, 500.0])
        return cls(
            name=name,
            density=density,
            temperature=temperature,
            enthalpy=specific_heat * (temperature - 273.15),
            conductivity=np.full(2, conductivity),
            ice=np.zeros(2),
            water=0.0,
            freezing_point=None,
        )

    def enthalpy_at(self, temperature: Kelvin) -> float:
        """Heat content [J/kg] at a temperature [K]."""
        return float(np.interp(temperature, self.temperature, self.enthalpy))

    def ice_at(self, temperature: Kelvin) -> float:
        """Share of the mass that is ice at a temperature [K]."""
        return float(np.interp(temperature, self.temperature, self.ice))
