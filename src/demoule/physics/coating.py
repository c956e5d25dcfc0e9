"""A melted coating as a bath holds it: how it flows, what it weighs, and the heat that sets it, from its fat."""

from __future__ import annotations

import math
from dataclasses import dataclass

from demoule.composition import Composition, Constituent
from demoule.errors import BadInput
from demoule.figures import Status, published
from demoule.units import (
    Fraction,
    JoulePerKilogram,
    JoulePerKilogramKelvin,
    Kelvin,
    KilogramPerCubicMetre,
    MassFraction,
    Pascal,
    PascalSecond,
    WattPerMetreKelvin,
)

__all__ = [
    "Coating",
    "coating_density",
    "coating_heat_capacity",
    "coating_of",
    "coating_viscosity",
    "coating_yield_stress",
    "effusivity",
    "liquid_fat_viscosity",
]

SOLIDS_DENSITY, FAT_DENSITY = 1500.0, 900.0  # kg/m3: sugar, cocoa and milk solids together; liquid cocoa butter
CLOSEST_PACKING = 0.68  # volume share of solids at which a chocolate paste stops flowing (judged)
SOLIDS_HEAT_CAPACITY, FAT_HEAT_CAPACITY = 1300.0, 2000.0  # J/(kg K) (judged; held against beckett-2009)
CONDUCTIVITY = 0.22  # W/(m K), between liquid cocoa butter 0.12 and chocolate 0.26 (beckett-2009)
LATENT_HEAT_OF_FAT = 110_000.0  # J/kg of fat that sets in the first, loosest crystal forms (recalled)
SETS_AT_ONCE = 0.75  # share of the fat that does so within seconds (judged)
SETTING_POINT = 293.15  # K, between crystal forms I (17 °C) and II (21 to 24 °C) of cocoa butter


@published(
    gives="viscosity of a liquid vegetable fat",
    source="fats-handbook",
    valid="30 to 60 °C, melted cocoa butter and the like",
    error="10 to 20 %, an order-of-magnitude value",
    status=Status.RECALLED,
)
def liquid_fat_viscosity(temperature: Kelvin) -> PascalSecond:
    """Viscosity of a melted vegetable fat, which flows like water, only slower [Pa s].

    0.045 Pa s at 40 °C with an activation energy of 30 kJ/mol; handbooks give 0.040 to 0.050 and 28 to 32.

    >>> round(liquid_fat_viscosity(313.15), 4)
    0.045
    """
    return 0.045 * math.exp(3608.0 * (1 / temperature - 1 / 313.15))


def _thickening(fat: MassFraction) -> float:
    """By how much the solids thicken the fat (Maron and Pierce): (1 - phi/phi_m)^-2."""
    return (1 - solids_volume(fat) / CLOSEST_PACKING) ** -2


def solids_volume(fat: MassFraction) -> Fraction:
    """Share of the volume that is solids, from the mass fraction of fat."""
    solids = (1 - fat) / SOLIDS_DENSITY
    return solids / (solids + fat / FAT_DENSITY)


@published(
    gives="plastic viscosity of a melted coating",
    source="dip-model",
    valid="fat 30 to 70 %, 25 to 60 °C, no water in it",
    error="a factor 2 above 38 % fat, 3 to 10 below 33 %",
    status=Status.JUDGED,
)
def coating_viscosity(fat: MassFraction, temperature: Kelvin) -> PascalSecond:
    """Plastic viscosity (Bingham) of a melted coating [Pa s], from its fat and temperature.

    >>> [round(coating_viscosity(fat, 313.15), 2) for fat in (0.30, 0.35, 0.40, 0.45, 0.50, 0.60)]
    [2.23, 0.89, 0.49, 0.32, 0.22, 0.13]
    """
    _refuse_fat(fat)
    return liquid_fat_viscosity(temperature) * _thickening(fat)


@published(
    gives="yield stress of a melted coating",
    source="dip-model",
    valid="fat 30 to 70 %, no water in it",
    error="a factor 2 above 38 % fat, 3 to 10 below 33 %",
    status=Status.JUDGED,
)
def coating_yield_stress(fat: MassFraction) -> Pascal:
    """Yield stress (Bingham) of a melted coating [Pa]: what hangs without running.

    >>> [round(coating_yield_stress(fat), 1) for fat in (0.30, 0.40, 0.50, 0.60)]
    [7.3, 1.5, 0.6, 0.3]
    """
    _refuse_fat(fat)
    return 0.15 * (_thickening(fat) - 1)


@published(
    gives="density of a melted coating",
    source="mass-balance",
    valid="melted coatings of fat and solids, no air",
    error="2 %, with the densities of solids and fat",
    status=Status.JUDGED,
)
def coating_density(fat: MassFraction) -> KilogramPerCubicMetre:
    """Density of a melted coating [kg/m3], from solids of 1500 and fat of 900 kg/m3.

    >>> round(coating_density(0.40), 1)
    1184.2
    """
    return 1 / ((1 - fat) / SOLIDS_DENSITY + fat / FAT_DENSITY)


@published(
    gives="specific heat of a coating",
    source="mass-balance",
    valid="15 to 45 °C, without setting",
    error="5 %, with the specific heats of solids and fat",
    status=Status.JUDGED,
)
def coating_heat_capacity(fat: MassFraction) -> JoulePerKilogramKelvin:
    """Specific heat of a coating [J/(kg K)], solids 1300 and fat 2000 by their masses.

    >>> round(coating_heat_capacity(0.45))
    1615
    """
    return SOLIDS_HEAT_CAPACITY * (1 - fat) + FAT_HEAT_CAPACITY * fat


def _refuse_fat(fat: MassFraction) -> None:
    # Below this the solids are packed so closely that the paste does not flow at all.
    if not 0.25 <= fat <= 1.0:
        raise BadInput(
            f"A coating of {fat:.0%} fat cannot be dipped into; it must hold between 25 and 100 %.",
            remedy="add cocoa butter: coatings for frozen pieces hold 40 to 65 % fat.",
        )


def effusivity(
    conductivity: WattPerMetreKelvin, density: KilogramPerCubicMetre, heat_capacity: JoulePerKilogramKelvin
) -> float:
    """How readily a body gives its cold to what touches it, W s^0.5/(m2 K).

    >>> round(effusivity(0.7, 720, 4500))
    1506
    """
    return math.sqrt(conductivity * density * heat_capacity)


@dataclass(frozen=True, slots=True, kw_only=True)
class Coating:
    """A melted coating; everything about it follows from its fat unless it is known better.

    Parameters
    ----------
    fat
        All fats together [kg/kg], 0.25 to 1.
    sets_at
        Temperature at which a thin layer sets within seconds [K]: 20 °C for cocoa butter in its loose forms; ask the
        supplier of a lauric or oily coating.
    sets_at_once
        Share of the fat that sets within seconds.
    """

    fat: MassFraction
    sets_at: Kelvin = SETTING_POINT
    sets_at_once: Fraction = SETS_AT_ONCE

    def __post_init__(self) -> None:
        _refuse_fat(self.fat)
        if not 263.15 <= self.sets_at <= 313.15 or not 0 < self.sets_at_once <= 1:
            raise BadInput(
                f"A coating that sets at {self.sets_at - 273.15:.0f} °C is not one for frozen pieces.",
                remedy="give a setting point between -10 and 40 °C; for cocoa butter leave it out.",
            )

    @property
    def density(self) -> KilogramPerCubicMetre:
        """Melted [kg/m3]."""
        return coating_density(self.fat)

    @property
    def heat_capacity(self) -> JoulePerKilogramKelvin:
        """Of solids and fat by their masses [J/(kg K)]."""
        return coating_heat_capacity(self.fat)

    @property
    def conductivity(self) -> WattPerMetreKelvin:
        """Taken the same for all [W/(m K)]."""
        return CONDUCTIVITY

    @property
    def latent_heat(self) -> JoulePerKilogram:
        """Given off by the fat that sets at once, per kg of coating [J/kg]."""
        return LATENT_HEAT_OF_FAT * self.fat * self.sets_at_once

    @property
    def diffusivity(self) -> float:
        """Of heat [m2/s]."""
        return self.conductivity / (self.density * self.heat_capacity)

    @property
    def effusivity(self) -> float:
        """W s^0.5/(m2 K)."""
        return effusivity(self.conductivity, self.density, self.heat_capacity)

    def viscosity(self, temperature: Kelvin) -> PascalSecond:
        """Plastic viscosity [Pa s]."""
        return coating_viscosity(self.fat, temperature)

    def yield_stress(self) -> Pascal:
        """Yield stress [Pa]."""
        return coating_yield_stress(self.fat)

    def heat_given(self, bath: Kelvin, end: Kelvin) -> JoulePerKilogram:
        """Heat that a kilogram gives off from the bath down to `end`, setting on the way [J/kg]."""
        # Spread over two kelvins below the setting point, so that an energy balance has one root.
        share = min(max((self.sets_at - end) / 2.0, 0.0), 1.0)
        return self.heat_capacity * (bath - end) + self.latent_heat * share


def coating_of(composition: Composition, *, sets_at: Kelvin = SETTING_POINT) -> Coating:
    """The coating that a mix of that composition makes; refused when it holds water enough to seize.

    Raises
    ------
    BadInput
        More than 2 % of water, or too little fat to flow.
    """
    if composition.water > 0.02 + composition[Constituent.ETHANOL]:
        raise BadInput(
            f"A coating with {composition.water:.1%} water seizes; it must be nearly dry.",
            remedy="use chocolate, cocoa butter and fat-soluble colours only.",
        )
    return Coating(fat=composition.fat, sets_at=sets_at)
