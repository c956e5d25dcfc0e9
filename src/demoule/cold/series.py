"""Exact cooling of a slab, a cylinder and a sphere whose properties do not change, by their series."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from demoule.errors import BadInput
from demoule.figures import Status, published
from demoule.units import (
    FloatArray,
    JoulePerKilogramKelvin,
    Kelvin,
    KilogramPerCubicMetre,
    Metre,
    Second,
    WattPerMetreKelvin,
    WattPerSquareMetreKelvin,
)

__all__ = ["Conducted", "Shares", "conduction", "roots", "series_shares"]

SHAPES = ("slab", "cylinder", "sphere")
_MOST_TERMS = 4000
_NOTHING_LEFT = 40.0  # exp(-40): terms beyond it are below rounding


@dataclass(frozen=True, slots=True, kw_only=True)
class Shares:
    """What is left of the first difference to the room, as fractions: in the middle, at the surface, on the mean."""

    centre: float
    surface: float
    mean: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Conducted:
    """Temperatures [K] after a time; `surface` is that of the middle of the face, of a finite cylinder its side."""

    centre: Kelvin
    surface: Kelvin
    mean: Kelvin


def roots(shape: str, biot: float, count: int) -> FloatArray:
    """The first positive roots of the characteristic equation of a shape, shape (count,).

    Slab ζ tan ζ = Bi; cylinder ζ J₁(ζ) = Bi J₀(ζ); sphere 1 − ζ cot ζ = Bi.
    """
    from scipy import special

    n = np.arange(count)
    if shape == "slab":
        low, high = n * np.pi, (n + 0.5) * np.pi
    elif shape == "sphere":
        low, high = n * np.pi, (n + 1) * np.pi
    else:
        # Zeros of J1 and J0 fence each root in; far out they lie evenly spaced.
        near = min(count, 200)
        fence_0 = special.jn_zeros(0, near)
        fence_1 = np.concatenate([[0.0], special.jn_zeros(1, near)])[:near]
        far = np.arange(near, count)
        high = np.concatenate([fence_0, (far + 0.75) * np.pi + 1 / (8 * (far + 0.75) * np.pi)])
        low = np.concatenate([fence_1, (far + 0.25) * np.pi - 3 / (8 * (far + 0.25) * np.pi)])
    low = low + 1e-13
    for _ in range(60):
        middle = 0.5 * (low + high)
        too_low = _characteristic(shape, biot, middle) < 0
        low = np.where(too_low, middle, low)
        high = np.where(too_low, high, middle)
    return np.asarray(0.5 * (low + high))


def _characteristic(shape: str, biot: float, z: FloatArray) -> FloatArray:
    """Changes sign from below to above at each root, free of poles between the fences."""
    if shape == "slab":
        return np.asarray(np.abs(np.sin(z)) * z - biot * np.abs(np.cos(z)))
    if shape == "sphere":
        return np.asarray(((1 - biot) * np.sin(z) - z * np.cos(z)) * np.where(np.floor(z / np.pi) % 2 == 0, 1.0, -1.0))
    from scipy import special

    value = z * special.j1(z) - biot * special.j0(z)
    return np.asarray(value * np.where(special.j0(z) + special.j1(z) > 0, 1.0, -1.0))


@published(
    gives="temperature in a slab, a long cylinder or a sphere that cools or warms without freezing",
    source="carslaw-jaeger-1959",
    valid="constant properties, one surface coefficient all over, uniform at the start",
    error="exact",
    status=Status.RECALLED,
)
def series_shares(shape: str, biot: float, fourier: float) -> Shares:
    """What is left of the first temperature difference after a time.

    Parameters
    ----------
    shape
        "slab", "cylinder" (long) or "sphere".
    biot, fourier
        h L/k and α t/L², L being half the thickness or the radius.

    Raises
    ------
    BadInput
        Another shape, or numbers that are not above zero.

    Examples
    --------
    >>> round(series_shares("sphere", 1.0, 0.2).centre, 4)
    0.7723
    """
    if shape not in SHAPES:
        raise BadInput(f"There is no series for “{shape}”.", remedy="use slab, cylinder or sphere.")
    if not (biot > 0 and fourier >= 0 and math.isfinite(biot) and math.isfinite(fourier)):
        raise BadInput("Surface coefficient, size and conductivity must be above zero, the time not below.")
    if fourier == 0:
        return Shares(centre=1.0, surface=1.0, mean=1.0)
    needed = math.sqrt(_NOTHING_LEFT / fourier) / math.pi + 3
    if needed > _MOST_TERMS:
        return _soon(shape, biot, fourier)
    z = roots(shape, biot, max(6, math.ceil(needed)))
    if shape == "slab":
        c = 4 * np.sin(z) / (2 * z + np.sin(2 * z))
        at_surface, on_mean = np.cos(z), np.sin(z) / z
    elif shape == "sphere":
        c = 4 * (np.sin(z) - z * np.cos(z)) / (2 * z - np.sin(2 * z))
        at_surface, on_mean = np.sin(z) / z, 3 * (np.sin(z) - z * np.cos(z)) / z**3
    else:
        from scipy import special

        j0, j1 = special.j0(z), special.j1(z)
        c = 2 * j1 / (z * (j0**2 + j1**2))
        at_surface, on_mean = j0, 2 * j1 / z
    decay = c * np.exp(-(z**2) * fourier)
    return Shares(
        centre=float(decay.sum()), surface=float((decay * at_surface).sum()), mean=float((decay * on_mean).sum())
    )


def _soon(shape: str, biot: float, fourier: float) -> Shares:
    """So early that the body is as good as infinitely deep: the half-space answer."""
    from scipy import special

    depth = biot * math.sqrt(fourier)
    surface = float(special.erfcx(depth))
    # Heat taken per area over that held: (2 Bi √(Fo/π) − 1 + erfcx)/Bi, times area over volume.
    per_volume = {"slab": 1.0, "cylinder": 2.0, "sphere": 3.0}[shape]
    taken = (2 * depth / math.sqrt(math.pi) - 1 + surface) / biot
    return Shares(centre=1.0, surface=surface, mean=1.0 - per_volume * taken)


@published(
    gives="temperatures of a body that cools or warms without freezing",
    source="carslaw-jaeger-1959",
    valid="constant properties, one surface coefficient all over, uniform at the start",
    error="exact for the properties given",
    status=Status.RECALLED,
)
def conduction(
    shape: str,
    size: Metre,
    *,
    h: WattPerSquareMetreKelvin,
    k: WattPerMetreKelvin,
    rho: KilogramPerCubicMetre,
    cp: JoulePerKilogramKelvin,
    start: Kelvin,
    air: Kelvin,
    duration: Second,
    height: Metre | None = None,
) -> Conducted:
    """Temperatures of a body after a time in a room, its properties constant.

    Parameters
    ----------
    shape, size
        "slab" by its thickness, both faces open; "cylinder" and "sphere" by their diameter [m].
    height
        Of a cylinder whose ends are open as well [m]: the product of the two series; None: long.

    Raises
    ------
    BadInput
        A size, property or absolute temperature that is not above zero, or a negative time.

    Examples
    --------
    An apple of 90 mm after an hour at −15 °C:

    >>> apple = conduction("sphere", 0.09, h=8, k=0.418, rho=840, cp=3810, start=293.15, air=258.15, duration=3600)
    >>> round(apple.centre - 273.15, 1), round(apple.surface - 273.15, 1)
    (11.1, 2.6)
    """
    for what, value in {
        "size": size,
        "surface coefficient": h,
        "conductivity": k,
        "density": rho,
        "specific heat": cp,
    }.items():
        if not (value > 0 and math.isfinite(value)):
            raise BadInput(f"The {what} is {value:g}; it must be above zero.", remedy="check the value and its unit.")
    for what, value in {"start": start, "air": air}.items():
        if not (value > 0 and math.isfinite(value)):
            raise BadInput(f"The temperature of the {what} lies below absolute zero (−273.15 °C).")
    if not (duration >= 0 and math.isfinite(duration)):
        raise BadInput("The time must not be negative.", remedy="give it in minutes or hours.")
    half = size / 2
    diffusivity = k / (rho * cp)
    shares = series_shares(shape, h * half / k, diffusivity * duration / half**2)
    if height is not None:
        if shape != "cylinder" or not height > 0:
            raise BadInput("Only a cylinder has a height beside its size.", remedy="give shape=cylinder.")
        ends = series_shares("slab", h * height / 2 / k, diffusivity * duration / (height / 2) ** 2)
        shares = Shares(
            centre=shares.centre * ends.centre, surface=shares.surface * ends.centre, mean=shares.mean * ends.mean
        )
    return Conducted(
        centre=air + (start - air) * shares.centre,
        surface=air + (start - air) * shares.surface,
        mean=air + (start - air) * shares.mean,
    )
