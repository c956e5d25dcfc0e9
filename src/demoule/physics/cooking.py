"""Cooking a syrup: water off, heat and minutes, and what acid does to its sugar on the way."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from demoule.composition import Composition, Constituent
from demoule.errors import BadInput
from demoule.figures import Basis, Finding, Severity, Status, basis_of, published
from demoule.physics.boiling import ATMOSPHERE, boiling_point, water_left_at_boiling_point
from demoule.physics.heat import specific_heat
from demoule.units import (
    FloatArray,
    Fraction,
    Joule,
    Kelvin,
    Kilogram,
    MassFraction,
    Pascal,
    Second,
    Watt,
    celsius,
)

__all__ = [
    "HOBS",
    "Cooking",
    "boiling_band",
    "cook_heat",
    "cook_syrup",
    "inversion_rate",
    "inverted",
    "inverted_composition",
    "water_off",
]

_C = Constituent

HOBS: dict[str, tuple[Fraction, Fraction]] = {
    "induction": (0.74, 0.90),
    "electric": (0.74, 0.80),
    "gas": (0.32, 0.44),
}
"""Share of a hob's energy that reaches the pot, from and to (hob-tests)."""

HEAT_OF_EVAPORATION = 2.25e6  # J/kg of water, out of a boiling syrup
RATE_BAND = 0.12  # of the minutes from a rate weighed at this pot (judged)
TIME_BAND = 0.30  # of the minutes from power, either way
RATE_FALLS = (0.10, 0.20)  # a measured rate falls by this near 115 °C (common practice)


@published(
    gives="water to boil off from one Brix to another",
    source="mass-balance",
    valid="anything whose solids stay in the pot",
    error="exact",
    status=Status.READ,
)
def water_off(mass: Kilogram, solids: MassFraction, to_solids: MassFraction) -> Kilogram:
    """Water that must go for a syrup to reach a higher content of solids [kg]: m (1 - B0/B1).

    Raises
    ------
    BadInput
        A lower Brix than there is, or 100 and more.

    >>> round(water_off(1.0, 0.30, 0.65), 5)
    0.53846
    """
    if not mass > 0 or not 0 < solids < 1:
        raise BadInput(
            f"A syrup of {mass * 1000:.4g} g and {solids:.0%} solids is not possible.",
            remedy="give its mass above zero and its Brix between 0 and 100.",
        )
    if not solids <= to_solids < 1:
        raise BadInput(
            f"A syrup of {solids * 100:.1f} °Bx cannot be boiled to {to_solids * 100:.1f}.",
            remedy="boiling raises the Brix and never reaches 100; add water to lower it.",
        )
    return mass * (1 - solids / to_solids)


@published(
    gives="heat to cook a syrup",
    source="mass-balance",
    valid="open pot at the pressure of the air",
    error="2 % without the losses of the pot",
    status=Status.READ,
)
def cook_heat(mass: Kilogram, heat_capacity: float, rise: float, water: Kilogram) -> Joule:
    """Heat into a pot to warm a mass and boil water off it [J]: m c dT + water times 2.25 MJ/kg.

    >>> round(cook_heat(2.0, 2900.0, 80.0, 0.810) / 1e6, 1)  # MJ
    2.3
    """
    return mass * heat_capacity * rise + water * HEAT_OF_EVAPORATION


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Cooking:
    """A syrup on its way to its end; arrays of shape (n_times,).

    Parameters
    ----------
    time, temperature, mass, solids
        From the cold pot on [s, K, kg, kg/kg].
    water_off
        In all [kg].
    heat
        Into the syrup [J].
    duration, low, high
        Until the end, with the range of hob and losses [s].
    composition
        At the end, sugars as they went in.
    """

    time: FloatArray
    temperature: FloatArray
    mass: FloatArray
    solids: FloatArray
    water_off: Kilogram
    heat: Joule
    duration: Second
    low: Second
    high: Second
    composition: Composition
    end: Kelvin
    stretched: bool
    basis: tuple[Basis, ...]
    findings: tuple[Finding, ...]


@published(
    gives="minutes, water and temperature of a cooked syrup",
    source="hob-tests",
    valid="0.3 to 20 kg in an open pot, to 150 °C",
    error="water exact, minutes 30 %",
    status=Status.QUOTED,
)
def cook_syrup(
    composition: Composition,
    mass: Kilogram,
    *,
    to_temperature: Kelvin | None = None,
    to_solids: MassFraction | None = None,
    start: Kelvin = 293.15,
    pressure: Pascal = ATMOSPHERE,
    power: Watt = 3500.0,
    efficiency: Fraction = 0.82,
    measured_rate: float | None = None,
    points: int = 60,
) -> Cooking:
    """Cook a syrup to a temperature or to a content of solids at the kitchen's altitude.

    Parameters
    ----------
    composition, mass
        Of what goes into the pot [kg].
    to_temperature, to_solids
        Exactly one of them [K], [kg/kg].
    start
        Temperature of the cold pot [K].
    pressure
        Of the air [Pa] (`pressure_at_altitude`).
    power, efficiency
        Of the hob [W], and the share that reaches the pot (`HOBS`).
    measured_rate
        Water going off at the boil by two weighings of the pot [kg/s]; it falls by a tenth to a fifth towards 115 °C.

    Raises
    ------
    BadInput
        None or both ends, an end that the syrup has passed already, a hob without power.

    Examples
    --------
    >>> syrup = Composition.of({Constituent.SUCROSE: 0.5, Constituent.WATER: 0.5})
    >>> cooked = cook_syrup(syrup, 2.0, to_solids=0.84, power=2000.0, efficiency=0.82)
    >>> round(cooked.water_off, 3), round(cooked.duration / 60)
    (0.81, 24)
    """
    if (to_temperature is None) == (to_solids is None):
        raise BadInput("A syrup is cooked to a temperature or to a Brix.", remedy="give one of the two, and not both.")
    if (
        not mass > 0
        or not power > 0
        or not 0 < efficiency <= 1
        or (measured_rate is not None and not measured_rate > 0)
    ):
        raise BadInput(
            "A pot needs syrup and a hob needs power.",
            remedy="give mass and power above zero, and an efficiency between 0 and 100 %.",
        )
    x = composition.vector
    water = composition.water
    if to_solids is not None:
        if not 0 < to_solids < 1:
            raise BadInput(
                f"No syrup is cooked to {to_solids:.0%} solids.", remedy="give a Brix between that of the syrup and 99."
            )
        left = composition.total_solids * (1 / to_solids - 1)
        if left > water + 1e-12:
            raise BadInput(
                f"The syrup holds {composition.total_solids:.1%} solids already, more than {to_solids:.1%}.",
                remedy="add water, or cook to a higher Brix.",
            )
    else:
        left = float(water_left_at_boiling_point(x, to_temperature or 0.0, pressure))
        if not math.isfinite(left) or left > water * 1.0005 + 1e-9:
            boiling = float(boiling_point(x, pressure))
            raise BadInput(
                f"This syrup boils at {celsius(boiling):.1f} °C in this kitchen; it cannot be cooked to "
                f"{celsius(to_temperature or 0.0):.1f} °C.",
                remedy="cook it hotter than that, or add water first.",
            )
        left = min(left, water)
    # From cold to the boil, then along the boiling curve as water goes; equal steps of water.
    remaining = np.linspace(water, max(left, 0.0), max(points, 2))
    dry = x.copy()
    dry[_C.WATER] = 0.0
    rows = np.repeat(dry[None, :], len(remaining), axis=0)
    rows[:, _C.WATER] = remaining
    total = rows.sum(axis=1)
    boils = np.asarray(boiling_point(rows / total[:, None], pressure), dtype=float)
    heat_capacity = np.asarray(specific_heat(rows / total[:, None], np.minimum(boils, 373.15)), dtype=float)
    warming = mass * float(specific_heat(x, (start + 333.15) / 2)) * max(boils[0] - start, 0.0)
    steps = np.concatenate(
        [[0.0], -np.diff(remaining) * mass * HEAT_OF_EVAPORATION + np.diff(boils) * (total * heat_capacity * mass)[1:]]
    )
    into = warming + np.cumsum(np.maximum(steps, 0.0))
    useful = power * efficiency
    if measured_rate is None:
        clock = into / useful
        spread = TIME_BAND
    else:
        thick = np.clip((boils - 378.15) / 10.0, 0.0, 1.0)  # slower towards 115 °C
        rate = measured_rate * (1 - thick * sum(RATE_FALLS) / 2)
        gone = -np.diff(remaining) * mass
        clock = warming / useful + np.concatenate([[0.0], np.cumsum(gone / ((rate[1:] + rate[:-1]) / 2))])
        spread = RATE_BAND
    time = np.concatenate([[0.0], clock])
    end = Composition(
        fractions=tuple((rows[-1] / total[-1]).tolist()),
        unknown=tuple(np.clip(np.array(composition.unknown) / total[-1], 0, 1).tolist()),
    )
    gone_in_all = float((water - remaining[-1]) * mass)
    heat = float(into[-1])
    stretched = not (0.3 <= mass <= 20 and boils[-1] <= 423.15)
    findings = []
    if boils[-1] > 443.15:
        findings.append(
            Finding(
                severity=Severity.CAUTION,
                rule="syrup browns",
                where="",
                says=f"At {celsius(float(boils[-1])):.0f} °C the sugar turns to caramel.",
                why="above 160 to 170 °C it breaks down; water is no longer what the temperature tells.",
                remedy="stop it with hot cream or water, long sleeves on.",
            )
        )
    return Cooking(
        time=time,
        temperature=np.concatenate([[start], boils]),
        mass=np.concatenate([[mass], total * mass]),
        solids=1 - np.concatenate([[water], remaining / total]),
        water_off=gone_in_all,
        heat=heat,
        duration=float(clock[-1]),
        low=float(clock[-1]) * (1 - spread),
        high=float(clock[-1]) * (1 + spread),
        composition=end,
        end=float(boils[-1]),
        stretched=stretched,
        basis=(
            basis_of(cook_syrup, stretched=stretched),
            basis_of(water_off),
            basis_of(boiling_point, stretched=stretched),
        ),
        findings=tuple(findings),
    )


def boiling_band(solids: MassFraction, elevation: float) -> tuple[float, float]:
    """How far printed boiling points of one Brix lie apart: (below, above) the model [K].

    Printed tables disagree: 1 K to 70 °Bx, a tenth of the elevation above; older cookery charts read still hotter.
    """
    width = 1.0 if solids <= 0.70 else max(1.0, 0.10 * elevation)
    return width, width


@published(
    gives="rate at which acid splits sucrose",
    source="vukov-1965",
    valid="50 to 120 °C, pH 2 to 5 read in the diluted syrup at 20 °C, 0.1 to 1 kg water per litre",
    error="a factor 2, with the pH",
    status=Status.RECALLED,
)
def inversion_rate(
    temperature: Kelvin | FloatArray, ph: float | FloatArray, water_per_litre: float | FloatArray
) -> FloatArray:
    """First-order rate constant of sucrose inversion [1/s], any shape.

    Parameters
    ----------
    temperature
        [K].
    ph
        Of the syrup diluted and cool.
    water_per_litre
        Water in a litre of the syrup [kg], 0.45 at 65 to 70 °Bx, 0.99 when thin.

    Notes
    -----
    log10 k (1/min) = 16.91 + log10 w - 5670/T - pH. Source: vukov-1965.

    Examples
    --------
    >>> round(float(inversion_rate(353.15, 3.0, 0.45)) * 60, 6)  # 1/min
    0.003219
    """
    t = np.asarray(temperature, dtype=float)
    w = np.asarray(water_per_litre, dtype=float)
    p = np.asarray(ph, dtype=float)
    if (w <= 0).any() or (p < 0).any() or (p > 14).any():
        raise BadInput("A syrup has water and a pH between 0 and 14.", remedy="read the pH of the syrup, diluted.")
    result: FloatArray = 10 ** (16.91 + np.log10(w) - 5670.0 / t - p) / 60.0
    return result


@dataclass(frozen=True, slots=True, kw_only=True)
class Inverted:
    """Share of the sucrose that acid has split, with the range of the pH."""

    share: Fraction
    low: Fraction
    high: Fraction
    stretched: bool
    basis: tuple[Basis, ...]


@published(
    gives="share of the sucrose split by acid along a cooking",
    source="vukov-1965",
    valid="50 to 120 °C, pH 2 to 5",
    error="a factor 2 on the rate",
    status=Status.RECALLED,
)
def inverted(
    time: Sequence[Second] | FloatArray,
    temperature: Sequence[Kelvin] | FloatArray,
    ph: float,
    water_per_litre: float | Sequence[float] | FloatArray = 0.45,
) -> Inverted:
    """Share of the sucrose that is split along a path of temperature and thickening.

    Parameters
    ----------
    time, temperature
        Moments of the path, shape (n,) [s, K]; straight lines between them.
    ph
        Of the syrup, diluted and cool; buffers in fruit make it, not the mass of acid.
    water_per_litre
        One value, or one for each moment [kg].

    Raises
    ------
    BadInput
        Times that run backwards, fewer than two moments.

    Examples
    --------
    >>> round(inverted([0.0, 3600.0], [363.15, 363.15], 3.0).share, 2)  # an hour at 90 °C
    0.41
    """
    t = np.asarray(time, dtype=float)
    T = np.asarray(temperature, dtype=float)
    if t.size < 2 or t.shape != T.shape or (np.diff(t) < 0).any():
        raise BadInput("A cooking needs its moments in order.", remedy="give times that rise, two or more.")
    w = np.broadcast_to(np.asarray(water_per_litre, dtype=float), t.shape)
    # Fine steps: the rate doubles every seven kelvins.
    fine = np.unique(np.concatenate([np.linspace(a, b, 21) for a, b in itertools.pairwise(t)]))
    rate = inversion_rate(np.interp(fine, t, T), ph, np.interp(fine, t, w))
    exponent = float(np.trapezoid(rate, fine)) if fine.size > 1 else 0.0
    stretched = not (2.0 <= ph <= 5.0 and float(T.max()) <= 393.15)
    return Inverted(
        share=-math.expm1(-exponent),
        low=-math.expm1(-exponent / 2),
        high=-math.expm1(-exponent * 2),
        stretched=stretched,
        basis=(basis_of(inverted, stretched=stretched),),
    )


def inverted_composition(composition: Composition, share: Fraction) -> Composition:
    """The composition after a share of its sucrose has become glucose and fructose, taking up water.

    >>> syrup = Composition.of({Constituent.SUCROSE: 0.6, Constituent.WATER: 0.4})
    >>> whole = inverted_composition(syrup, 1.0)
    >>> round((whole[Constituent.GLUCOSE] + whole[Constituent.FRUCTOSE]) / 0.6, 3)  # 100 parts give 105
    1.053
    """
    if not 0 <= share <= 1:
        raise BadInput(f"A share of {share:.0%} inverted is not possible.", remedy="give 0 to 100 %.")
    x = composition.vector
    split = x[_C.SUCROSE] * share
    water = split * 18.015 / 342.297
    if water > x[_C.WATER]:
        raise BadInput("There is too little water to split so much sugar.", remedy="invert before cooking it dry.")
    x[_C.SUCROSE] -= split
    x[_C.WATER] -= water
    x[_C.GLUCOSE] += (split + water) / 2
    x[_C.FRUCTOSE] += (split + water) / 2
    return Composition(fractions=tuple((x / x.sum()).tolist()), unknown=composition.unknown)


def water_in_a_litre(solids: MassFraction, density: float) -> float:
    """Water in a litre of syrup [kg], from its solids and its density [kg/m3]."""
    return (1 - solids) * density / 1000.0
