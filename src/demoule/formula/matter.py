"""The few properties of one mix that cooking asks for, as plain numbers."""

from __future__ import annotations

from demoule.composition import Composition, Constituent
from demoule.errors import BadInput
from demoule.physics.boiling import boiling_point, pressure_at_altitude, water_left_at_boiling_point
from demoule.physics.density import density_of_mix
from demoule.physics.heat import specific_heat
from demoule.physics.refraction import soluble_solids
from demoule.units import (
    FloatArray,
    Fraction,
    JoulePerKilogramKelvin,
    Kelvin,
    KilogramPerCubicMetre,
    MassFraction,
    Metre,
)

__all__ = [
    "boils_at",
    "dissolved_solids",
    "heat_capacity",
    "heat_contents",
    "is_wet",
    "mix_density",
    "water_kept_when_boiling_at",
    "water_to_brix",
]

WARM = 293.15
"""Temperature at which densities are told [K]."""

DRY: MassFraction = 0.03
"""With less water than this a mix does not boil; it is fat or powder."""


def is_wet(composition: Composition) -> bool:
    """Whether a mix has water enough to boil."""
    return composition.water + composition[Constituent.ETHANOL] > DRY


def mix_density(composition: Composition, temperature: Kelvin = WARM) -> KilogramPerCubicMetre:
    """Density without air."""
    return float(density_of_mix(composition.vector, temperature))


def heat_capacity(composition: Composition, temperature: Kelvin = 323.15) -> JoulePerKilogramKelvin:
    """Specific heat, nothing frozen."""
    return float(specific_heat(composition.vector, temperature))


def heat_contents(masses: FloatArray) -> FloatArray:
    """Heat per kelvin [J/K] of parts by their masses of constituents [kg], shapes (n,) and (n, COUNT)."""
    totals = masses.sum(axis=-1)
    result: FloatArray = totals * specific_heat(masses / totals[:, None], 323.15)
    return result


def boils_at(composition: Composition, altitude: Metre) -> Kelvin:
    """Boiling point at an altitude; of pure water for a mix that is nearly dry."""
    pressure = float(pressure_at_altitude(altitude))
    if not is_wet(composition):
        composition = Composition.of({Constituent.WATER: 1.0})
    return float(boiling_point(composition.readings()[1], pressure))


def water_kept_when_boiling_at(composition: Composition, temperature: Kelvin, altitude: Metre) -> Fraction:
    """Water left, per mass of the mix put in, when what is left boils at a temperature."""
    pressure = float(pressure_at_altitude(altitude))
    return float(water_left_at_boiling_point(composition.readings()[1], temperature, pressure))


def dissolved_solids(composition: Composition) -> MassFraction:
    """Soluble solids, what a refractometer would read of it."""
    return float(soluble_solids(composition.vector))


def water_to_brix(composition: Composition, brix: MassFraction) -> Fraction:
    """Water to take off, per mass of the mix, until a refractometer reads `brix`; negative when water must come in.

    Notes
    -----
    Whatever the dissolved solids are, the water phase weighs (solids read)/(reading), so that the reciprocal of the
    reading falls in a straight line with the water that goes off. Two readings give the line: for a clear syrup this is
    m (1 - B0/B1).

    Examples
    --------
    A kilogram of syrup from 30 to 65 °Bx:

    >>> syrup = Composition.of({Constituent.SUCROSE: 30, Constituent.WATER: 70})
    >>> round(water_to_brix(syrup, 0.65), 5)
    0.53846
    """
    there = dissolved_solids(composition)
    if there <= 0:
        raise BadInput("Nothing is dissolved in it, so no Brix can be reached.", remedy="weigh the sugar first.")
    some = composition.water / 2
    less = composition.with_water_changed(-some).vector
    read = some / (1 / there - 1 / float(soluble_solids(less)))
    return read * (1 / there - 1 / brix)
