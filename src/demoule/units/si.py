"""The SI aliases in which everything inside is counted."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated

if TYPE_CHECKING:  # quantities are read where no array is ever made, and that should not wait for them
    import numpy as np
    import numpy.typing as npt

__all__ = [
    "ZERO_CELSIUS",
    "CubicMetre",
    "FloatArray",
    "Fraction",
    "Joule",
    "JoulePerKilogram",
    "JoulePerKilogramKelvin",
    "Kelvin",
    "Kilogram",
    "KilogramPerCubicMetre",
    "MassFraction",
    "Metre",
    "Pascal",
    "PascalSecond",
    "Second",
    "SquareMetre",
    "Watt",
    "WattPerMetreKelvin",
    "WattPerSquareMetreKelvin",
    "celsius",
    "kelvin",
]

if TYPE_CHECKING:
    FloatArray = npt.NDArray[np.float64]
else:
    FloatArray = Annotated[Sequence[float], "float64"]

Kilogram = Annotated[float, "kg"]
Metre = Annotated[float, "m"]
SquareMetre = Annotated[float, "m2"]
CubicMetre = Annotated[float, "m3"]
Second = Annotated[float, "s"]
Kelvin = Annotated[float, "K"]
Joule = Annotated[float, "J"]
Watt = Annotated[float, "W"]
Pascal = Annotated[float, "Pa"]
PascalSecond = Annotated[float, "Pa s"]
KilogramPerCubicMetre = Annotated[float, "kg/m3"]
JoulePerKilogram = Annotated[float, "J/kg"]
JoulePerKilogramKelvin = Annotated[float, "J/(kg K)"]
WattPerMetreKelvin = Annotated[float, "W/(m K)"]
WattPerSquareMetreKelvin = Annotated[float, "W/(m2 K)"]
MassFraction = Annotated[float, "kg/kg"]
Fraction = Annotated[float, "1"]

ZERO_CELSIUS = 273.15
"""The ice point [K]."""


def kelvin(celsius: float) -> Kelvin:
    """Absolute temperature [K] of a temperature in °C."""
    return celsius + ZERO_CELSIUS


def celsius(kelvin: Kelvin) -> float:
    """Temperature in °C of an absolute temperature [K]."""
    return kelvin - ZERO_CELSIUS
