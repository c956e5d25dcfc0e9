"""Air beaten into a cream or ganache: when the fat is ripe for it, how much there is, and what folding loses."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from demoule.composition import Composition, Constituent
from demoule.errors import BadInput
from demoule.figures import Basis, Finding, Severity, Status, basis_of, published
from demoule.physics.fat import solid_fat
from demoule.units import Fraction, Kelvin, Kilogram, KilogramPerCubicMetre, MassFraction, Second, celsius

__all__ = [
    "Ripeness",
    "WhipCheck",
    "air_of_overrun",
    "density_of_overrun",
    "folded_density",
    "overrun_of_cups",
    "overrun_of_densities",
    "ripe_after",
    "ripeness",
    "solid_share",
    "whip_check",
]

_C = Constituent

LEAST_FAT = 0.30  # kg/kg of a cream (mcgee-2004)
GANACHE_FAT = (0.25, 0.38)  # kg/kg of a ganache that whips (common practice)
LEAST_SOLID = 0.40  # of the fat, for it to hold air (whipped-emulsions)
SLUMPS_UNDER = 0.25  # of the fat, for a foam to stand at all (judged)
STARTS_AT = (276.15, 279.15)  # K (common practice); 278 (mcgee-2004)
RESTS = 12 * 3600.0  # s, held cold before whipping (mcgee-2004)
OVERRUN = {"cream": (0.6, 1.0), "whipped ganache": (0.3, 1.2), "mousse": (0.4, 1.0)}
"""Usual overruns (common practice); a laboratory reaches 1.5 (shim-2004)."""
FOLDING_LOSS = (0.10, 0.25)  # of the air (common practice)
RIPE = 0.9
_TAU = (2 * 3600.0, 3 * 3600.0, 4 * 3600.0)  # s at 4 °C: fast, likely, slow (judged)
_TAU_AT = 277.15
_TAU_DOUBLES = 5.0  # K of warming that halve the undercooling's drive (judged)


@published(
    gives="overrun from one cup weighed twice",
    source="goff-ice-cream",
    valid="the same level cup of mix and of foam",
    error="3 points, with the pockets in the cup",
    status=Status.READ,
)
def overrun_of_cups(mix: Kilogram, foam: Kilogram) -> Fraction:
    """Overrun, volume gained over volume of mix, from one cup of mix and the same cup of foam.

    Raises
    ------
    BadInput
        A foam heavier than the mix, or no mass.

    >>> round(overrun_of_cups(1.090, 0.560), 3)
    0.946
    """
    if not 0 < foam <= mix or not math.isfinite(mix):
        raise BadInput(
            f"A cup of foam of {foam * 1000:.4g} g against {mix * 1000:.4g} g of mix is not possible.",
            remedy="weigh the same cup, level, before and after whipping.",
        )
    return mix / foam - 1


def overrun_of_densities(mix: KilogramPerCubicMetre, foam: KilogramPerCubicMetre) -> Fraction:
    """Overrun from the densities of mix and foam.

    >>> round(overrun_of_densities(1020.0, 637.5), 2)
    0.6
    """
    return overrun_of_cups(mix, foam)


def air_of_overrun(overrun: Fraction) -> Fraction:
    """Share of the volume that is air: OR/(1 + OR); 100 % overrun is half air.

    >>> air_of_overrun(1.0)
    0.5
    """
    if not 0 <= overrun < 20:
        raise BadInput(f"An overrun of {overrun:.0%} is not possible.", remedy="creams reach 60 to 120 %.")
    return overrun / (1 + overrun)


@published(
    gives="density of a foam",
    source="goff-ice-cream",
    valid="any foam",
    error="exact",
    status=Status.READ,
)
def density_of_overrun(mix: KilogramPerCubicMetre, overrun: Fraction) -> KilogramPerCubicMetre:
    """Density of a foam [kg/m3]: that of the mix over 1 + OR.

    >>> density_of_overrun(1100.0, 1.0)
    550.0
    """
    air_of_overrun(overrun)
    return mix / (1 + overrun)


@dataclass(frozen=True, slots=True, kw_only=True)
class Folded:
    """A mousse after folding: its density with the range, and its air."""

    density: KilogramPerCubicMetre
    low: KilogramPerCubicMetre
    high: KilogramPerCubicMetre
    air: Fraction


@published(
    gives="density of a mousse after folding",
    source="mass-balance",
    valid="parts whose densities with and without air are known",
    error="exact for the share of air lost; 10 to 25 % is common practice",
    status=Status.PRACTICE,
)
def folded_density(
    parts: Sequence[tuple[Kilogram, KilogramPerCubicMetre, KilogramPerCubicMetre]], *, air_lost: Fraction | None = None
) -> Folded:
    """Density of parts folded together, some of their air lost.

    Parameters
    ----------
    parts
        (mass, density as it goes in, density without air) of each [kg, kg/m3, kg/m3].
    air_lost
        Share of all the air; None: 10 to 25 %.

    Examples
    --------
    >>> cream, base = (0.890, 500.0, 1000.0), (1.160, 1060.0, 1060.0)
    >>> round(folded_density([cream, base], air_lost=0.0).density)
    713
    """
    if not parts or any(mass <= 0 or not 0 < wet <= dry * (1 + 1e-9) for mass, wet, dry in parts):
        raise BadInput(
            "A part folded in has a mass, and is no heavier with air than without.", remedy="weigh a cup of each part."
        )
    if air_lost is not None and not 0 <= air_lost <= 1:
        raise BadInput(f"Folding cannot lose {air_lost:.0%} of the air.", remedy="10 to 25 % is usual.")
    mass = sum(part[0] for part in parts)
    dry = sum(m / d for m, _, d in parts)
    air = sum(m / w for m, w, _ in parts) - dry

    def density(lost: float) -> float:
        return mass / (dry + air * (1 - lost))

    losses = FOLDING_LOSS if air_lost is None else (air_lost, air_lost)
    likely = sum(losses) / 2
    left = air * (1 - likely)
    return Folded(density=density(likely), low=density(losses[0]), high=density(losses[1]), air=left / (dry + left))


def solid_share(composition: Composition, temperature: Kelvin) -> Fraction:
    """Share of all the fat that is solid at a temperature, after a long rest; 0 without fat.

    Milk fat and cocoa butter by their curves, other fats taken as liquid.
    """
    fats = {which: composition[which] for which in (_C.MILK_FAT, _C.COCOA_BUTTER, _C.OTHER_FAT)}
    total = sum(fats.values())
    if total <= 0:
        return 0.0
    solid = sum(
        mass * float(np.asarray(solid_fat(which, temperature)))
        for which, mass in fats.items()
        if which is not _C.OTHER_FAT
    )
    return solid / total


@dataclass(frozen=True, slots=True, kw_only=True)
class Ripeness:
    """How far the fat of a rested mix has set, 0 to 1, with the range; ready above 0.9."""

    share: Fraction
    low: Fraction
    high: Fraction
    ready: bool


def _tau(temperature: Kelvin) -> tuple[float, float, float]:
    slower = 2.0 ** ((temperature - _TAU_AT) / _TAU_DOUBLES)
    fast, likely, slow = _TAU
    return fast * slower, likely * slower, slow * slower


@published(
    gives="ripeness of the fat of a resting cream or ganache",
    source="judged",
    valid="-1 to 10 °C after the mass itself is cold",
    error="a factor 1.5 on the hours",
    status=Status.JUDGED,
)
def ripeness(rested: Second, temperature: Kelvin, *, cools_for: Second = 0.0) -> Ripeness:
    """Share of the fat that will set in the cold which has done so: 1 - exp(-t/tau), tau 2 to 4 h at 4 °C.

    Parameters
    ----------
    rested
        Since it went into the cold [s].
    temperature
        Of the rest [K].
    cools_for
        Time until the mass itself was cold, which does not count [s].

    Raises
    ------
    BadInput
        Negative times.

    Examples
    --------
    >>> ripeness(12 * 3600.0, 277.15).ready, ripeness(3 * 3600.0, 277.15).ready
    (True, False)
    """
    if rested < 0 or cools_for < 0:
        raise BadInput("A rest has hours of zero or more.", remedy="give the hours since it went into the cold.")
    ripe = max(rested - cools_for, 0.0)
    fast, likely, slow = _tau(temperature)
    share = -math.expm1(-ripe / likely)
    return Ripeness(share=share, low=-math.expm1(-ripe / slow), high=-math.expm1(-ripe / fast), ready=share > RIPE)


def ripe_after(temperature: Kelvin, *, cools_for: Second = 0.0) -> tuple[Second, Second, Second]:
    """Hours of rest until the fat is ripe: (likely, low, high) [s].

    >>> [round(t / 3600, 1) for t in ripe_after(277.15)]
    [6.9, 4.6, 9.2]
    """
    fast, likely, slow = (-tau * math.log(1 - RIPE) + cools_for for tau in _tau(temperature))
    return likely, fast, slow


@dataclass(frozen=True, slots=True, kw_only=True)
class WhipCheck:
    """Whether a mix whips and its foam stands.

    Parameters
    ----------
    whips
        "yes", "weak" or "no".
    solid
        Share of the fat that is solid when it is whipped.
    stands
        "stands", "soft" or "slumps" at that temperature.
    """

    whips: str
    fat: MassFraction
    solid: Fraction
    ripeness: Ripeness
    stands: str
    basis: tuple[Basis, ...]
    findings: tuple[Finding, ...]


_STANDS = ("stands", "soft", "slumps")


def _stands(solid: float) -> str:
    return "stands" if solid >= LEAST_SOLID else ("soft" if solid >= SLUMPS_UNDER else "slumps")


@published(
    gives="whether a cream or ganache whips and stands",
    source="mcgee-2004",
    valid="dairy creams and whipped ganaches, 0 to 25 °C",
    error="a class; the borders of fat are those of cooks' books",
    status=Status.QUOTED,
)
def whip_check(
    composition: Composition, *, at: Kelvin, rested: Second, rest_at: Kelvin = 277.15, cools_for: Second = 0.0
) -> WhipCheck:
    """Judge a mix before it is whipped: its fat, how much of it is solid, and its rest.

    Parameters
    ----------
    composition
        Of the whole mix.
    at
        Temperature at which the whisk goes in [K].
    rested, rest_at, cools_for
        As in `ripeness`.

    Examples
    --------
    >>> milk_fat, cocoa_butter, water, sugar = _C.MILK_FAT, _C.COCOA_BUTTER, _C.WATER, _C.SUCROSE
    >>> mix = Composition.of({milk_fat: 25.0, cocoa_butter: 6.0, water: 55.0, sugar: 14.0})
    >>> whip_check(mix, at=277.15, rested=12 * 3600.0).whips
    'yes'
    """
    fat = composition.fat
    ripe = ripeness(rested, rest_at, cools_for=cools_for)
    solid = solid_share(composition, at) * ripe.share
    findings: list[Finding] = []
    whips = 0

    def say(grade: int, severity: Severity, rule: str, says: str, why: str, remedy: str, source: str = "") -> None:
        nonlocal whips
        whips = max(whips, grade)
        findings.append(
            Finding(severity=severity, rule=rule, where="", says=says, why=why, remedy=remedy, source=source)
        )

    low, high = GANACHE_FAT
    if fat < low:
        say(
            2 if fat < 0.20 else 1,
            Severity.CAUTION,
            "fat for whipping",
            f"{fat:.0%} of fat is little to whip.",
            f"air is held by clumps of fat; cream needs {LEAST_FAT:.0%}, a ganache {low:.0%}.",
            "more cream or white chocolate, or carry it with gelatine.",
            "mcgee-2004",
        )
    elif fat > high:
        say(
            1,
            Severity.NOTE,
            "fat for whipping",
            f"{fat:.0%} of fat turns to butter readily.",
            "much fat whips fast and dense.",
            "stop early, or thin it with milk or purée.",
            "mcgee-2004",
        )
    if not ripe.ready:
        hours = ripe_after(rest_at, cools_for=cools_for)[0] / 3600
        say(
            1,
            Severity.CAUTION,
            "rest before whipping",
            f"After {rested / 3600:.0f} h at {celsius(rest_at):.0f} °C about {ripe.share:.0%} of its fat has set.",
            "liquid fat breaks the bubbles instead of holding them.",
            f"let it rest about {hours:.0f} h; the habit is {RESTS / 3600:.0f} h, overnight.",
            "mcgee-2004",
        )
    if solid < LEAST_SOLID:
        say(
            1 if solid >= SLUMPS_UNDER else 2,
            Severity.CAUTION,
            "solid fat for whipping",
            f"At {celsius(at):.0f} °C about {solid:.0%} of its fat is solid; a foam wants {LEAST_SOLID:.0%}.",
            "warm fat does not hold air.",
            f"chill mix, bowl and whisk to {celsius(STARTS_AT[0]):.0f} to {celsius(STARTS_AT[1]):.0f} °C.",
            "whipped-emulsions",
        )
    return WhipCheck(
        whips=("yes", "weak", "no")[whips],
        fat=fat,
        solid=solid,
        ripeness=ripe,
        stands=_stands(solid),
        basis=(basis_of(whip_check), basis_of(ripeness, stretched=not 272.15 <= rest_at <= 283.15)),
        findings=tuple(findings),
    )
