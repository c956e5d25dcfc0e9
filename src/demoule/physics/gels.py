"""Whether agar, pectin or carrageenan sets in a mix, where it sets, and how firm it is beside another dose."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from demoule.errors import BadInput, UnknownName
from demoule.figures import Basis, Finding, Severity, Status, basis_of, published
from demoule.units import FloatArray, Fraction, Kelvin, MassFraction, Second, celsius, kelvin

__all__ = [
    "GELS",
    "Firmness",
    "Setting",
    "agar_left",
    "dose_factor",
    "gel_sets",
    "relative_firmness",
]

GELS = ("agar", "HM pectin", "LM pectin", "kappa carrageenan", "gelatine")
"""Gelling agents that these models know."""

_GAS = 8.314462618

# Setting and remelting temperatures [°C], from and to.
_SETS: dict[str, tuple[float, float]] = {
    "agar": (35.0, 39.0),  # 36 to 39 at 1.5 % (agar-maker), below 35 in general (hydrocolloid-review)
    # HM pectin by its grade, below.
    "LM pectin": (30.0, 60.0),  # with calcium and solids (recalled)
    "kappa carrageenan": (30.0, 40.0),  # below 40 (hydrocolloid-review)
    "gelatine": (15.0, 20.0),  # below 20, thin gels (hydrocolloid-review)
}
_MELTS: dict[str, float | None] = {
    "agar": 85.0,  # above 85 (agar-maker)
    "HM pectin": None,  # does not melt again
    "LM pectin": 70.0,
    "kappa carrageenan": 65.0,
    "gelatine": 30.0,
}
HM_GRADES: dict[str, tuple[float, tuple[float, float]]] = {
    "ultra rapid": (85.0, (0.74, 0.77)),
    "rapid": (85.0, (0.71, 0.74)),
    "medium": (75.0, (0.66, 0.69)),
    "slow": (65.0, (0.58, 0.65)),
}
"""HM pectin by speed: setting temperature [°C] (pectin-maker) and degree of methylation (pectin-introduction)."""

# Least dose that sets at all, and the usual one [kg/kg of the mix] (agar 0.8 %: agar-in-acid; others common practice).
_DOSE: dict[str, tuple[float, float]] = {
    "agar": (0.0015, 0.008),
    "HM pectin": (0.003, 0.008),
    "LM pectin": (0.004, 0.010),
    "kappa carrageenan": (0.003, 0.007),
    "gelatine": (0.005, 0.010),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """Whether a gel sets.

    Parameters
    ----------
    sets
        "yes", "weak", "no" or "not shown".
    below
        It sets when it cools through this, from and to [K].
    melts
        It melts again above this [K]; None: never.
    strength
        Left of its strength after acid and heat, with the range, 0 to 1.
    dose
        Factor on the dose that makes up for the loss, low and high.
    reasons
        What spoke for or against, in words.
    """

    sets: str
    below: tuple[Kelvin, Kelvin]
    melts: Kelvin | None
    strength: tuple[Fraction, Fraction, Fraction]
    dose: tuple[float, float]
    reasons: tuple[str, ...]
    basis: tuple[Basis, ...]
    findings: tuple[Finding, ...]


_PAST_HELP = 0.3  # of its strength: more agar would only make it stiff where it was not boiled so long (judged)
# Agar at pH 3.5 above 80 °C for 20 minutes loses 30 to 50 % of its strength (agar-in-acid). Taken at 85 °C, first
# order, in proportion to the acid (a power of ten a unit of pH) and with 100 kJ/mol (both judged, as acid hydrolysis).
_AGAR_LOSS = (0.30, 0.40, 0.50)
_AGAR_TIME, _AGAR_PH, _AGAR_AT, _AGAR_ENERGY = 1200.0, 3.5, 358.15, 100_000.0


@published(
    gives="strength of agar left after heat in acid",
    source="agar-in-acid",
    valid="pH 2.8 to 6, 60 to 100 °C, to an hour",
    error="30 to 50 % lost where 40 % is computed",
    status=Status.JUDGED,
)
def agar_left(ph: float, temperature: Kelvin, held: Second) -> tuple[Fraction, Fraction, Fraction]:
    """Strength of an agar gel left after it was held hot in acid: (likely, low, high).

    >>> [round(share, 2) for share in agar_left(3.5, 358.15, 1200.0)]
    [0.6, 0.5, 0.7]
    """
    if held < 0 or not 0 <= ph <= 14:
        raise BadInput("A boil has a time and a pH.", remedy="give minutes of zero or more and a pH between 0 and 14.")
    heat = math.exp(-_AGAR_ENERGY / _GAS * (1 / temperature - 1 / _AGAR_AT))
    times = held / _AGAR_TIME * heat * 10 ** (_AGAR_PH - ph)
    low, likely, high = (math.exp(math.log(1 - loss) * times) for loss in reversed(_AGAR_LOSS))
    return likely, low, high


def dose_factor(left: Fraction, exponent: float = 2.0) -> float:
    """Dose over the usual one that makes up for a loss of strength, strength going with a power of the dose.

    >>> round(dose_factor(0.6), 2)
    1.29
    """
    if not 0 < left <= 1:
        raise BadInput("Nothing makes up for a gel that is gone.", remedy="add the acid after the boil.")
    return float(left ** (-1 / exponent))


@published(
    gives="whether a gel sets in a mix",
    source="pectin-introduction",
    valid="dessert gels of agar, pectins, kappa carrageenan and gelatine",
    error="a class; graded at the borders",
    status=Status.QUOTED,
)
def gel_sets(
    kind: str,
    *,
    concentration: MassFraction,
    solids: MassFraction,
    ph: float | None = None,
    calcium: MassFraction | None = None,
    grade: str = "medium",
    boiled: Second | None = None,
    boiled_at: Kelvin = 373.15,
    acid_in_boil: bool = False,
) -> Setting:
    """Judge whether a gel sets at its solids, pH, calcium, heat and acid.

    Parameters
    ----------
    kind
        One of `GELS`.
    concentration
        Of the gelling agent in the mix [kg/kg].
    solids
        Soluble solids of the mix [kg/kg].
    ph
        None: not known.
    calcium
        In the mix [kg/kg], for LM pectin; None: not known.
    grade
        Of HM pectin: "ultra rapid", "rapid", "medium", "slow".
    boiled, boiled_at, acid_in_boil
        How long and how hot it was boiled [s, K], and whether the acid was in already.

    Raises
    ------
    UnknownName, BadInput
        Another gelling agent; solids or dose that cannot be.

    Examples
    --------
    >>> gel_sets("HM pectin", concentration=0.008, solids=0.65, ph=3.2).sets
    'yes'
    >>> gel_sets("HM pectin", concentration=0.008, solids=0.40, ph=3.2).sets
    'no'
    """
    if kind not in GELS:
        raise UnknownName("gelling agent", kind, GELS)
    if not 0 <= concentration <= 0.2 or not 0 <= solids < 1:
        raise BadInput(
            f"A gel of {concentration:.1%} {kind} in {solids:.0%} solids is not possible.",
            remedy="give the dose in per cent of the mix and its Brix below 100.",
        )
    if ph is not None and not 0 <= ph <= 14:
        raise BadInput(f"A pH of {ph:g} is not possible.", remedy="read it again; fruit lies between 2.5 and 4.5.")
    verdict = _Verdict()
    least, usual = _DOSE[kind]
    if concentration < least:
        verdict.worse("no", f"{concentration:.2%} is less than the {least:.2%} from which {kind} sets at all")
    elif concentration < 0.6 * usual:
        verdict.worse("weak", f"{concentration:.2%} is a low dose of {kind}; {usual:.1%} is usual")
    strength = (1.0, 1.0, 1.0)
    below = _SETS.get(kind, (0.0, 0.0))
    if kind == "HM pectin":
        below = _high_methoxyl(verdict, solids, ph, grade)
    elif kind == "LM pectin":
        _low_methoxyl(verdict, concentration, solids, ph, calcium)
    elif kind == "agar":
        strength = _agar(verdict, ph, boiled, boiled_at, acid_in_boil)
    elif kind == "kappa carrageenan":
        _carrageenan(verdict, ph, boiled, acid_in_boil)
    melts = _MELTS[kind]
    factor = tuple(sorted(dose_factor(max(share, 0.05)) for share in strength[1:]))
    findings: tuple[Finding, ...] = ()
    if verdict.sets != "yes":
        findings = (
            Finding(
                severity=Severity.CAUTION if verdict.sets != "not shown" else Severity.NOTE,
                rule="gel sets",
                where="",
                says=f"Whether the {kind} sets is not shown."
                if verdict.sets == "not shown"
                else f"The {kind} {'sets only weakly' if verdict.sets == 'weak' else 'does not set'} here.",
                why="; ".join(verdict.reasons) + ".",
                remedy=verdict.remedy or "set one spoon of it on a cold plate before the batch.",
            ),
        )
    return Setting(
        sets=verdict.sets,
        below=(kelvin(below[0]), kelvin(below[1])),
        melts=None if melts is None else kelvin(melts),
        strength=strength,
        dose=(factor[0], factor[-1]),
        reasons=tuple(verdict.reasons),
        basis=(basis_of(gel_sets),) + ((basis_of(agar_left),) if kind == "agar" else ()),
        findings=findings,
    )


class _Verdict:
    """The worst class spoken so far, and why."""

    _ORDER = ("yes", "not shown", "weak", "no")

    def __init__(self) -> None:
        self.sets = "yes"
        self.reasons: list[str] = []
        self.remedy = ""

    def worse(self, sets: str, reason: str, remedy: str = "") -> None:
        self.reasons.append(reason)
        if self._ORDER.index(sets) > self._ORDER.index(self.sets):
            self.sets = sets
            self.remedy = remedy


def _high_methoxyl(verdict: _Verdict, solids: float, ph: float | None, grade: str) -> tuple[float, float]:
    if grade not in HM_GRADES:
        raise UnknownName("grade of HM pectin", grade, HM_GRADES)
    if solids < 0.55:
        verdict.worse("no", f"it needs 55 to 60 % solids and has {solids:.0%}", "cook it further, or take LM pectin.")
    elif solids < 0.60:
        verdict.worse("weak", f"{solids:.0%} solids are at the border of 55 to 60 %", "cook it to 62 % or more.")
    if ph is None:
        verdict.worse("not shown", "its pH is not known, and it sets below 3.5 only", "read the pH, or add acid last.")
    elif ph >= 3.5:
        verdict.worse("no", f"it needs a pH below 3.5 and has {ph:.1f}", "add acid at the end of the boil.")
    elif ph > 3.4:
        verdict.worse("weak", f"pH {ph:.1f} is at the border of 3.5", "add a little acid at the end of the boil.")
    elif ph < 2.8:
        verdict.worse("weak", f"at pH {ph:.1f} it sets at once and weeps", "use less acid; 2.9 to 3.4 is usual.")
    at = HM_GRADES[grade][0]
    return at - 5.0, at + 5.0


def _low_methoxyl(
    verdict: _Verdict, concentration: float, solids: float, ph: float | None, calcium: float | None
) -> None:
    if not 0.25 <= solids <= 0.65:
        verdict.worse(
            "weak", f"it is meant for 25 to 65 % solids and has {solids:.0%}", "bring the solids into that range."
        )
    if ph is not None and not 3.3 <= ph <= 4.0:
        verdict.worse(
            "weak", f"it is meant for pH 3.3 to 4.0 and has {ph:.1f}", "correct the acid, or more calcium below pH 3.3."
        )
    if calcium is None:
        verdict.worse(
            "not shown", "its calcium is not known", "milk or hard water sets it; juice may need 20 mg calcium per g."
        )
    elif concentration > 0:
        # 15 to 60 mg of calcium per g of pectin sets it; above 80 it grains before it is poured (recalled).
        per_pectin = calcium / concentration
        if per_pectin < 0.008:
            verdict.worse(
                "no", f"{per_pectin * 1000:.0f} mg calcium per g of pectin are too few", "add a calcium salt."
            )
        elif per_pectin < 0.015:
            verdict.worse("weak", f"{per_pectin * 1000:.0f} mg calcium per g of pectin are few", "add a calcium salt.")
        elif per_pectin > 0.080:
            verdict.worse(
                "weak",
                f"{per_pectin * 1000:.0f} mg calcium per g of pectin set it before it is poured",
                "more pectin, or a phosphate to hold the calcium.",
            )


def _agar(
    verdict: _Verdict, ph: float | None, boiled: float | None, boiled_at: float, acid: bool
) -> tuple[float, float, float]:
    if boiled is not None and (boiled < 60 or boiled_at < kelvin(90)):
        verdict.worse(
            "weak",
            f"{boiled / 60:.1f} min at {celsius(boiled_at):.0f} °C may not dissolve it; two minutes are usual",
            "boil it for two minutes.",
        )
    if ph is None or boiled is None or not acid:
        return 1.0, 1.0, 1.0
    strength = agar_left(ph, boiled_at, boiled)
    if strength[0] < 0.9:
        verdict.worse(
            "no" if strength[0] < 0.25 else "weak" if strength[0] < 0.75 else "yes",
            f"boiled {boiled / 60:.0f} min at pH {ph:.1f} it keeps about {strength[0]:.0%} of its strength",
            "boil the agar in the sugar and water, and add the sour juice at 65 to 70 °C" + _more(strength[0]),
        )
    return strength


def _more(left: Fraction) -> str:
    """What makes up for the strength that acid took, in tens of per cent; nothing where too little is left of it."""
    if left < _PAST_HELP:
        return "."
    return f"; or give about {10 * round(10 * (dose_factor(left) - 1)):.0f} % more."


def _carrageenan(verdict: _Verdict, ph: float | None, boiled: float | None, acid: bool) -> None:
    if ph is not None and ph < 4.3:
        hot = acid and boiled is not None and boiled > 120
        verdict.worse(
            "no" if hot and ph < 3.5 else "weak",
            f"at pH {ph:.1f} it breaks down, fast when hot",
            "take pectin or agar for sour fruit, or add the acid after cooling.",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Firmness:
    """Firmness over that of a reference, with its range."""

    ratio: float
    low: float
    high: float


# Stiffness goes with (c - c0)^n: usual, and the two edges of what is printed (recalled).
_POWER: dict[str, tuple[tuple[float, float], ...]] = {
    "gelatine": ((1.7, 0.005), (2.0, 0.0), (1.7, 0.0075)),
    "agar": ((2.1, 0.0015), (1.8, 0.001), (2.4, 0.002)),
    "HM pectin": ((2.0, 0.002), (1.5, 0.0), (2.5, 0.003)),
    "LM pectin": ((2.0, 0.003), (1.5, 0.0), (2.5, 0.004)),
    "kappa carrageenan": ((2.0, 0.002), (1.6, 0.0), (2.4, 0.003)),
}
SYNERGY: dict[tuple[str, str], float] = {
    ("agar", "locust bean gum"): 864 / 493,
    ("agar", "konjac"): 2011 / 493,
}
"""Strength of an equal mixture over that of agar alone, Gelidium agars only (agar-gum-synergy)."""


@published(
    gives="firmness of a gel beside a reference",
    source="gel-literature",
    valid="one recipe at two doses between the least that sets and four times the usual",
    error="order and doubling only: twice the dose gives 3 to 6 times the firmness",
    status=Status.RECALLED,
)
def relative_firmness(
    kind: str, concentration: MassFraction | FloatArray, reference: MassFraction, *, partner: str = ""
) -> Firmness:
    """Firmness of a gel over that of the chef's own reference at another dose.

    Parameters
    ----------
    concentration, reference
        Dose asked for and dose of the reference; of gelatine on the water [kg/kg].
    partner
        "locust bean gum" or "konjac", half and half with a Gelidium agar.

    Examples
    --------
    >>> round(relative_firmness("agar", 0.016, 0.008).ratio, 1)
    5.4
    """
    if kind not in _POWER:
        raise UnknownName("gelling agent", kind, _POWER)
    c, r = float(np.asarray(concentration)), float(reference)
    least = max(c0 for _, c0 in _POWER[kind])
    if not r > least or c < 0:
        raise BadInput(
            f"A reference with {r:.2%} {kind} does not set.", remedy=f"give one that sets, with more than {least:.2%}."
        )
    if partner and (kind, partner) not in SYNERGY:
        raise BadInput(f"No figure is known for {kind} with {partner}.", remedy="test it, or leave the partner out.")
    together = SYNERGY.get((kind, partner), 1.0)
    ratios = [together * (max(c - c0, 0.0) / (r - c0)) ** n for n, c0 in _POWER[kind]]
    return Firmness(ratio=ratios[0], low=min(ratios), high=max(ratios))
