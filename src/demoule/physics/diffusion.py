"""How fast sugars wander in water, and the exact series by which a simple body fills from its surroundings."""

from __future__ import annotations

import functools

import numpy as np
import numpy.typing as npt

from demoule.composition import Constituent
from demoule.errors import BadInput, UnknownName
from demoule.figures import Status, published
from demoule.units import FloatArray, Fraction, Kelvin

__all__ = [
    "finite_bath_uptake",
    "sugar_diffusivity",
    "uptake_cylinder",
    "uptake_slab",
    "uptake_sphere",
    "water_self_diffusivity",
    "water_viscosity",
]

_C = Constituent

# Limiting diffusion coefficient in water at 25 °C [m2/s]; sucrose, lactose, glucose, fructose measured by Taylor
# dispersion (ribeiro-2006), maltose and trehalose taken as lactose, galactose as glucose.
_AT_25 = {
    _C.SUCROSE: 0.523e-9,
    _C.LACTOSE: 0.566e-9,
    _C.MALTOSE: 0.566e-9,
    _C.TREHALOSE: 0.566e-9,
    _C.GLUCOSE: 0.679e-9,
    _C.GALACTOSE: 0.679e-9,
    _C.FRUCTOSE: 0.686e-9,
}
_T25 = 298.15


@published(
    gives="viscosity of water",
    source="iapws-liquid-water",
    valid="-20 to 110 °C, at the pressure of the air",
    error="1 %",
    status=Status.RECALLED,
)
def water_viscosity(temperature: Kelvin | FloatArray) -> FloatArray:
    """Viscosity of liquid water at atmospheric pressure [Pa s], any shape.

    >>> round(float(water_viscosity(298.15)) * 1000, 3)
    0.89
    """
    x = np.asarray(temperature, dtype=float) / 300.0
    result: FloatArray = 1e-6 * (280.68 * x**-1.9 + 511.45 * x**-7.7 + 61.131 * x**-19.6 + 0.45903 * x**-40.0)
    return result


@published(
    gives="diffusion coefficient of a sugar in much water",
    source="ribeiro-2006",
    valid="0 to 100 °C, a few per cent of sugar or less; tried 25 to 55 °C",
    error="6 % for glucose, fructose and lactose, 10 % for sucrose",
    status=Status.READ,
)
def sugar_diffusivity(sugar: Constituent, temperature: Kelvin | FloatArray) -> FloatArray:
    """Diffusion coefficient of one sugar at infinite dilution in water [m2/s], by Stokes and Einstein from 25 °C.

    D(T) = D25 (T/298.15) mu25/mu(T).

    Raises
    ------
    UnknownName
        A constituent that is not a mono- or disaccharide.

    >>> round(float(sugar_diffusivity(Constituent.SUCROSE, 363.15)) * 1e9, 2)
    1.8
    """
    if sugar not in _AT_25:
        raise UnknownName(
            "sugar with a known diffusion coefficient", sugar.name.lower(), [s.name.lower() for s in _AT_25]
        )
    T = np.asarray(temperature, dtype=float)
    result: FloatArray = _AT_25[sugar] * T / _T25 * water_viscosity(_T25) / water_viscosity(T)
    return result


@published(
    gives="self-diffusion coefficient of water",
    source="holz-2000",
    valid="0 to 100 °C",
    error="1 %",
    status=Status.RECALLED,
)
def water_self_diffusivity(temperature: Kelvin | FloatArray) -> FloatArray:
    """Self-diffusion coefficient of water [m2/s], above which no diffusivity in a watery tissue can lie.

    D0 (T/Ts - 1)^2.063 with D0 = 1.635e-8 m2/s and Ts = 215.05 K.

    >>> round(float(water_self_diffusivity(298.15)) * 1e9, 1)
    2.3
    """
    result: FloatArray = 1.635e-8 * (np.asarray(temperature, dtype=float) / 215.05 - 1) ** 2.063
    return result


def _fourier(fourier: Fraction | FloatArray) -> FloatArray:
    fo = np.asarray(fourier, dtype=float)
    if (fo < 0).any():
        raise BadInput("A time below zero is not possible.", remedy="give the hours from the start, zero or more.")
    return fo


def _ierfc(x: FloatArray) -> FloatArray:
    from scipy.special import erfc  # loads slowly, and few ask for it

    result: FloatArray = np.exp(-x * x) / np.sqrt(np.pi) - x * erfc(x)
    return result


@published(
    gives="share taken up by a slab from a large bath",
    source="crank-1975",
    valid="constant diffusivity, surface held at one concentration, any Fourier number",
    error="1e-9",
    status=Status.QUOTED,
    name="uptake of a slab",
)
def uptake_slab(fourier: Fraction | FloatArray) -> FloatArray:
    """Share of the final uptake of a slab, by its Fourier number D t/a2 with a half the thickness; any shape.

    >>> round(float(uptake_slab(0.25)), 12)
    0.562233541762
    """
    fo = np.atleast_1d(_fourier(fourier))
    q = (2 * np.arange(60) + 1) * np.pi / 2
    late = 1 - np.sum(2 / q**2 * np.exp(-np.multiply.outer(fo, q**2)), axis=-1)
    n = np.arange(1, 12)
    root = np.sqrt(np.maximum(fo, 1e-300))
    early = (
        2 * root * (1 / np.sqrt(np.pi) + 2 * np.sum((-1.0) ** n * _ierfc(np.divide.outer(1.0, root)[:, None] * n), -1))
    )
    return np.asarray(np.where(fo < 0.2, early, late).reshape(np.shape(fourier)))


@published(
    gives="share taken up by a sphere from a large bath",
    source="crank-1975",
    valid="constant diffusivity, surface held at one concentration, any Fourier number",
    error="1e-9",
    status=Status.QUOTED,
    name="uptake of a sphere",
)
def uptake_sphere(fourier: Fraction | FloatArray) -> FloatArray:
    """Share of the final uptake of a sphere, by its Fourier number D t/a2 with a the radius; any shape.

    >>> round(float(uptake_sphere(0.25)), 12)
    0.948436897866
    """
    fo = np.atleast_1d(_fourier(fourier))
    n = np.arange(1, 61)
    late = 1 - 6 / np.pi**2 * np.sum(1 / n**2 * np.exp(-np.multiply.outer(fo, (n * np.pi) ** 2)), axis=-1)
    root = np.sqrt(np.maximum(fo, 1e-300))
    k = np.arange(1, 12)
    early = 6 * root * (1 / np.sqrt(np.pi) + 2 * np.sum(_ierfc(np.divide.outer(1.0, root)[:, None] * k), -1)) - 3 * fo
    return np.asarray(np.where(fo < 0.1, early, late).reshape(np.shape(fourier)))


@published(
    gives="share taken up by a long cylinder from a large bath",
    source="crank-1975",
    valid="constant diffusivity, surface held at one concentration, Fourier number above 1e-5",
    error="1e-6",
    status=Status.QUOTED,
    name="uptake of a cylinder",
)
def uptake_cylinder(fourier: Fraction | FloatArray) -> FloatArray:
    """Share of the final uptake of a long cylinder, by its Fourier number D t/a2 with a the radius; any shape.

    >>> round(float(uptake_cylinder(0.1)), 5)
    0.60582
    """
    fo = np.atleast_1d(_fourier(fourier))
    q = _j0_zeros()
    late = 1 - np.sum(4 / q**2 * np.exp(-np.multiply.outer(fo, q**2)), axis=-1)
    root = np.sqrt(fo)
    early = 4 / np.sqrt(np.pi) * root - fo - fo * root / (3 * np.sqrt(np.pi)) - fo**2 / 8
    return np.asarray(np.where(fo < 1e-3, early, late).reshape(np.shape(fourier)))


@functools.cache
def _j0_zeros() -> FloatArray:
    from scipy.special import jn_zeros

    return np.asarray(jn_zeros(0, 120))


@published(
    gives="share taken up from a stirred bath of limited size",
    source="crank-1975",
    valid="slab and sphere, constant diffusivity, bath over piece 0.1 to 100 by capacity, Fourier number above 1e-4",
    error="1e-6",
    status=Status.RECALLED,
)
def finite_bath_uptake(shape: str, ratio: float, fourier: Fraction | FloatArray, terms: int = 400) -> FloatArray:
    """Share of the final uptake of a slab or a sphere from a well-stirred bath that runs low as it gives.

    Parameters
    ----------
    shape
        "slab" or "sphere".
    ratio
        Capacity of the bath over that of the piece.
    fourier
        D t/a2, a half the thickness or the radius; any shape.

    Notes
    -----
    Slab 1 - sum 2a(1+a)/(1+a+a2 q2) exp(-q2 Fo) with tan q = -a q; sphere 1 - sum 6a(1+a)/(9+9a+a2 q2) exp(-q2 Fo)
    with tan q = 3q/(3+a q2). Source: crank-1975, diffusion from a stirred solution of limited volume.

    Examples
    --------
    >>> round(float(finite_bath_uptake("slab", 0.5, 0.05)), 6)
    0.534318
    """
    if shape not in ("slab", "sphere") or not ratio > 0:
        raise BadInput(
            f"There is no series for a {shape} with a bath of {ratio:g} times its size.",
            remedy="use slab or sphere, and a bath above zero.",
        )
    fo = _fourier(fourier)
    a = float(ratio)
    n = np.arange(1, terms + 1)
    if shape == "slab":  # one root in each (n pi - pi/2, n pi)
        low, high = n * np.pi - np.pi / 2 + 1e-12, n * np.pi
    else:  # one root in each (n pi, n pi + pi/2)
        low, high = n * np.pi, n * np.pi + np.pi / 2 - 1e-12
    q = _bisect(shape, a, np.asarray(low), np.asarray(high))
    if shape == "slab":
        weight = 2 * a * (1 + a) / (1 + a + a**2 * q**2)
    else:
        weight = 6 * a * (1 + a) / (9 + 9 * a + a**2 * q**2)
    result: FloatArray = 1 - np.sum(weight * np.exp(-np.multiply.outer(fo, q**2)), axis=-1)
    return result


def _bisect(shape: str, a: float, low: FloatArray, high: FloatArray) -> npt.NDArray[np.float64]:
    """Roots of the characteristic equation, each in its own bracket, written without poles."""
    low, high = low.astype(float), high.astype(float)

    def f(q: FloatArray) -> FloatArray:
        value = np.sin(q) + a * q * np.cos(q) if shape == "slab" else (3 + a * q**2) * np.sin(q) - 3 * q * np.cos(q)
        return np.asarray(value)

    sign = np.sign(f(low))
    for _ in range(60):
        middle = (low + high) / 2
        same = np.sign(f(middle)) == sign
        low, high = np.where(same, middle, low), np.where(same, high, middle)
    return np.asarray((low + high) / 2)
