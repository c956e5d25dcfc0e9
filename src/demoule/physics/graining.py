"""Whether a syrup will grain where it is coldest, and what to add so that it does not."""

from __future__ import annotations

import enum
import itertools
import math
from dataclasses import dataclass

import numpy as np

from demoule.composition import COUNT, POLYOLS, SACCHARIDES, Composition, Constituent
from demoule.errors import BadInput
from demoule.figures import Basis, Finding, Severity, Status, basis_of, published
from demoule.physics.root import root
from demoule.physics.solubility import solubility
from demoule.units import FloatArray, Fraction, Kelvin, MassFraction, celsius

__all__ = [
    "GrainClass",
    "Graining",
    "graining",
    "saturation_of_mixture",
    "solubility_coefficient",
    "supersaturation",
    "to_leave_danger",
]

_C = Constituent

# Other sugars hold sucrose back from dissolving: C = b + (1 - b) exp(-1.05 q), q other sugars over water. The form is
# that of Wiklund and Vavrinecz without its straight term; b and the rate fit four recalled saturation points to 0.010.
_B, _RATE = 0.71, 1.05
_TRIED = (0.9, 2.2)

# Edges of the classes (recalled): clear, grows on crystals, spreads, grains by itself.
SATURATED, SPREADING, BY_ITSELF = 1.0, 1.2, 1.3


class GrainClass(enum.StrEnum):
    """How readily a syrup grains."""

    CLEAR = "stays clear"
    ON_CRYSTALS = "grains only where crystals are"
    SPREADS = "grains and spreads"
    BY_ITSELF = "grains by itself"


@published(
    gives="solubility coefficient of sucrose beside other sugars",
    source="jackson-silsbee",
    valid="invert and glucose syrup, 0.9 to 2.2 kg other sugars per kg water; towards 1 below",
    error="0.010 for invert, 0.05 for glucose syrup",
    status=Status.RECALLED,
)
def solubility_coefficient(others_per_water: float | FloatArray) -> FloatArray:
    """Sucrose that dissolves beside other sugars over what dissolves in water alone, any shape.

    >>> round(float(solubility_coefficient(0.0)), 3), round(float(solubility_coefficient(1.5)), 3)
    (1.0, 0.77)
    """
    q = np.maximum(np.asarray(others_per_water, dtype=float), 0.0)
    result: FloatArray = _B + (1 - _B) * np.exp(-_RATE * q)
    return result


def _columns() -> FloatArray:
    others = np.zeros(COUNT, dtype=bool)
    others[[*SACCHARIDES, *POLYOLS]] = True
    others[_C.SUCROSE] = False
    others[_C.UNKNOWN_SUGARS] = True
    return others


_OTHERS = _columns()


@published(
    gives="supersaturation of a syrup with sucrose",
    source="jackson-silsbee",
    valid="sucrose with invert or glucose syrup, -20 to 100 °C",
    error="0.02 for sucrose and invert, 0.05 with glucose syrup",
    status=Status.RECALLED,
)
def supersaturation(fractions: FloatArray, temperature: Kelvin | FloatArray) -> FloatArray:
    """Sucrose per water over what is dissolved at saturation; above 1 it may grain.

    Parameters
    ----------
    fractions
        Of one recipe (k,) or many (..., k).
    temperature
        [K], of the recipes' shape or one for all.

    Examples
    --------
    >>> syrup = Composition.of({Constituent.SUCROSE: 0.65, Constituent.WATER: 0.35})
    >>> round(float(supersaturation(syrup.vector, 277.15)), 2)
    1.01
    """
    x = np.asarray(fractions, dtype=float)
    water = np.maximum(x[..., _C.WATER], 1e-9)
    pure = solubility(_C.SUCROSE, temperature)
    q = x[..., _OTHERS].sum(axis=-1) / water
    result: FloatArray = x[..., _C.SUCROSE] / water / (pure / (1 - pure) * solubility_coefficient(q))
    return result


def saturation_of_mixture(composition: Composition, temperature: Kelvin) -> MassFraction:
    """Content of dissolved solids at which a syrup of these sugars begins to grain at a temperature [kg/kg].

    The proportions of its solids are kept, its water varied; a syrup without sucrose has none: 0.95 is returned.

    >>> syrup = Composition.of({Constituent.SUCROSE: 0.65, Constituent.WATER: 0.35})
    >>> round(saturation_of_mixture(syrup, 293.15), 3)
    0.667
    """
    x = composition.vector
    dry = x.copy()
    dry[_C.WATER] = 0.0
    solids = float(x[_OTHERS].sum() + x[_C.SUCROSE])
    if x[_C.SUCROSE] < 1e-4 * max(solids, 1e-12):
        return 0.95

    def excess(water: float) -> float:
        row = dry.copy()
        row[_C.WATER] = water
        return float(supersaturation(row, temperature)) - 1

    low, high = 0.01 * solids, 50 * solids
    if excess(low) < 0:
        return 0.95
    water = root(excess, low, high)
    return solids / (solids + water)


@dataclass(frozen=True, slots=True, kw_only=True)
class Graining:
    """How a syrup stands at its coldest.

    Parameters
    ----------
    coefficient, low, high
        Supersaturation with sucrose and its range.
    sugar
        The sugar nearest to graining: "sucrose", "glucose" or "lactose".
    glucose, lactose
        Supersaturation of these two, on their own share of the water.
    """

    coefficient: float
    low: float
    high: float
    grain_class: GrainClass
    sugar: str
    glucose: float
    lactose: float
    stretched: bool
    basis: tuple[Basis, ...]
    findings: tuple[Finding, ...]


def _class_of(coefficient: float) -> GrainClass:
    if coefficient < SATURATED:
        return GrainClass.CLEAR
    if coefficient < SPREADING:
        return GrainClass.ON_CRYSTALS
    return GrainClass.SPREADS if coefficient < BY_ITSELF else GrainClass.BY_ITSELF


@published(
    gives="class of graining of a syrup at its coldest",
    source="van-hook-zones",
    valid="syrups and candied fruit, -20 to 60 °C, no ice in it",
    error="one class near an edge; whether crystals are there decides",
    status=Status.RECALLED,
)
def graining(composition: Composition, temperature: Kelvin) -> Graining:
    """Whether a syrup grains at the coldest point of its life.

    Parameters
    ----------
    composition
        As it is kept; unknown sugars are read as sucrose and as glucose for the range.
    temperature
        The coldest it comes to before any ice forms [K].

    Examples
    --------
    >>> syrup = Composition.of({Constituent.SUCROSE: 0.70, Constituent.WATER: 0.30})
    >>> found = graining(syrup, 277.15)
    >>> round(found.coefficient, 2), found.grain_class.value
    (1.27, 'grains and spreads')
    """
    readings = composition.readings()
    values = np.asarray(supersaturation(readings, temperature), dtype=float)
    x = readings[1]
    water = max(float(x[_C.WATER]), 1e-9)
    q = float(x[_OTHERS].sum()) / water
    # Glucose syrup beside sucrose is less sure than invert.
    long = float(x[[_C.MALTOSE, _C.MALTOTRIOSE, _C.DEXTRINS, _C.MALTODEXTRINS]].sum())
    others = float(x[_OTHERS].sum())
    width = 0.02 + 0.03 * (long / others if others > 1e-9 else 0.0)
    alone = {}
    for which in (_C.GLUCOSE, _C.LACTOSE):
        limit = float(solubility(which, temperature))
        alone[which] = float(x[which]) / water / (limit / (1 - limit))
    coefficient = float(values[1])
    nearest = max(
        (("sucrose", coefficient), ("glucose", alone[_C.GLUCOSE]), ("lactose", alone[_C.LACTOSE])), key=lambda e: e[1]
    )
    # With few other sugars in a very thick syrup the coefficient would make them harmful: not to be trusted there.
    thick = q < _TRIED[0] and float(x[_C.SUCROSE]) / water > 3.2
    stretched = q > _TRIED[1] or thick or not 253.15 <= temperature <= 333.15
    grain_class = _class_of(nearest[1])
    findings = []
    if grain_class is not GrainClass.CLEAR:
        grave = grain_class in (GrainClass.SPREADS, GrainClass.BY_ITSELF)
        findings.append(
            Finding(
                severity=Severity.CAUTION if grave else Severity.NOTE,
                rule="syrup grains",
                where="",
                says=f"At {celsius(temperature):.0f} °C it holds {nearest[1]:.2f} times the {nearest[0]} that stays "
                f"dissolved: it {grain_class.value}.",
                why="what is above saturation comes out as crystals, sooner when crystals are there already.",
                remedy="replace part of the sugar by glucose syrup or invert, add water, or keep it warmer.",
            )
        )
    return Graining(
        coefficient=coefficient,
        low=float(values.min()) * (1 - width),
        high=float(values.max()) * (1 + width),
        grain_class=grain_class,
        sugar=nearest[0],
        glucose=alone[_C.GLUCOSE],
        lactose=alone[_C.LACTOSE],
        stretched=stretched,
        basis=(basis_of(graining, stretched=stretched), basis_of(supersaturation, stretched=stretched)),
        findings=tuple(findings),
    )


def to_leave_danger(
    composition: Composition,
    temperature: Kelvin,
    adding: Composition,
    *,
    below: float = SATURATED,
    replacing: bool = False,
) -> Fraction | None:
    """Mass to add per mass of syrup so that it stays clear at a temperature; None when no amount does.

    Parameters
    ----------
    composition, temperature
        The syrup, and the coldest it comes to [K].
    adding
        What is added: glucose syrup, invert, or water.
    below
        Supersaturation to come under: 1 stays clear, 1.2 does not spread.
    replacing
        Whether it takes the place of as much sucrose instead of coming on top.

    Examples
    --------
    >>> syrup = Composition.of({Constituent.SUCROSE: 0.70, Constituent.WATER: 0.30})
    >>> water = Composition.of({Constituent.WATER: 1.0})
    >>> round(to_leave_danger(syrup, 277.15, water) * 100, 1)  # g per 100 g
    8.0
    """
    if not below > 0:
        raise BadInput("A supersaturation is above zero.", remedy="ask for 1, or for 1.2.")
    x, a = composition.vector, adding.vector

    def worst(amount: float) -> float:
        row = x + amount * a
        if replacing:
            row[_C.SUCROSE] = max(row[_C.SUCROSE] - amount, 0.0)
        found = graining(Composition(fractions=tuple((row / row.sum()).tolist())), temperature)
        return max(found.coefficient, found.glucose, found.lactose) - below

    if worst(0.0) < 0:
        return 0.0
    most = float(x[_C.SUCROSE]) if replacing else 5.0
    # The first amount that helps: more glucose than that may itself grain.
    amounts = np.linspace(0.0, most, 201)
    for before, after in itertools.pairwise(amounts):
        if worst(float(after)) < 0:
            found = root(worst, float(before), float(after), 1e-6)
            return found if math.isfinite(found) else None
    return None
