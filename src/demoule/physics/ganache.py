"""Whether a ganache or a cream holds together: how much fat lies in how much water."""

from __future__ import annotations

import enum
from dataclasses import dataclass

import numpy as np

from demoule.composition import FATS, POLYOLS, SACCHARIDES, Composition, Constituent
from demoule.errors import BadInput
from demoule.figures import Basis, Finding, Severity, Status, basis_of, published
from demoule.units import FloatArray, Fraction, Kelvin, MassFraction, celsius

__all__ = ["Emulsion", "EmulsionClass", "emulsion", "fat_volume_share"]

_C = Constituent

FAT_DENSITY = 920.0  # kg/m3
# Volumes that water, dissolved sugars, protein and the rest of the water phase take [m3/kg].
_WATER, _SUGAR, _PROTEIN, _REST = 1 / 1000.0, 1 / 1550.0, 1 / 1350.0, 1 / 1500.0
CLOSE_PACKING = 0.7405  # pi/(3 sqrt 2), equal spheres: beyond it the fat must become the outer phase
EDGES = (0.45, 0.60)  # of the classes (judged)
TRADE_LIMIT = (1.5, 2.0)  # fat over water by mass before a ganache splits (common practice)


class EmulsionClass(enum.StrEnum):
    """How readily fat and water become one."""

    EASY = "easy"
    WITH_CARE = "with shear and warmth"
    LIKELY_TO_SPLIT = "likely to split"
    BEYOND = "beyond close packing"


@dataclass(frozen=True, slots=True, kw_only=True)
class Emulsion:
    """Fat phase and water phase of a mix.

    Parameters
    ----------
    fat_share
        Volume of fat over that of fat and water phase.
    fat, water
        [kg/kg].
    fat_per_water
        By mass, the ratio the trade counts; infinite without water.
    water_phase_solids
        Sugars in the water phase [kg/kg].
    """

    fat_share: Fraction
    fat: MassFraction
    water: MassFraction
    fat_per_water: float
    water_phase_solids: MassFraction
    emulsion_class: EmulsionClass
    basis: tuple[Basis, ...]
    findings: tuple[Finding, ...]


@published(
    gives="volume share of fat in an emulsion",
    source="mass-balance",
    valid="creams, ganaches, mousses; melted",
    error="0.01, with the densities assumed",
    status=Status.JUDGED,
)
def fat_volume_share(fractions: FloatArray) -> FloatArray:
    """Volume of fat over that of fat and water phase, of one recipe (k,) or many (..., k).

    (fat/0.92)/(fat/0.92 + water phase), the water phase being water, dissolved sugars and protein.

    >>> cream = Composition.of({Constituent.MILK_FAT: 0.35, Constituent.WATER: 0.585, Constituent.LACTOSE: 0.03})
    >>> round(float(fat_volume_share(cream.vector)), 2)
    0.39
    """
    x = np.asarray(fractions, dtype=float)
    fat = x[..., FATS].sum(axis=-1) / FAT_DENSITY
    sugars = x[..., SACCHARIDES].sum(axis=-1) + x[..., POLYOLS].sum(axis=-1) + x[..., _C.UNKNOWN_SUGARS]
    rest = x[..., [_C.ACIDS, _C.SALT, _C.ASH]].sum(axis=-1)
    wet = (
        (x[..., _C.WATER] + 1.25 * x[..., _C.ETHANOL]) * _WATER
        + sugars * _SUGAR
        + x[..., _C.PROTEIN] * _PROTEIN
        + rest * _REST
    )
    whole = fat + wet
    result: FloatArray = np.divide(fat, whole, out=np.zeros_like(whole), where=whole > 0)
    return result


@published(
    gives="class of an emulsion of fat in water",
    source="geometry",
    valid="ganaches and creams made warm",
    error="the borders are judged but for close packing, which is exact",
    status=Status.JUDGED,
)
def emulsion(composition: Composition, *, at: Kelvin | None = None) -> Emulsion:
    """Fat and water phase of a mix, and how readily they become one.

    Parameters
    ----------
    composition
        Of the whole mix.
    at
        Temperature at which it is blended [K]; None: not known.

    Examples
    --------
    >>> ganache = Composition.of({Constituent.COCOA_BUTTER: 0.35, Constituent.WATER: 0.25, Constituent.SUCROSE: 0.3})
    >>> emulsion(ganache).emulsion_class.value
    'with shear and warmth'
    """
    x = composition.vector
    share = float(fat_volume_share(x))
    fat, water = composition.fat, composition.water
    if fat + water <= 0:
        raise BadInput("A mix without fat and water is no emulsion.", remedy="check what was weighed.")
    per_water = fat / water if water > 1e-12 else float("inf")
    sugars = float(x[SACCHARIDES].sum() + x[POLYOLS].sum() + x[_C.UNKNOWN_SUGARS])
    if share < EDGES[0]:
        found = EmulsionClass.EASY
    elif share < EDGES[1]:
        found = EmulsionClass.WITH_CARE
    else:
        found = EmulsionClass.LIKELY_TO_SPLIT if share < CLOSE_PACKING else EmulsionClass.BEYOND
    findings = []
    if found in (EmulsionClass.LIKELY_TO_SPLIT, EmulsionClass.BEYOND):
        findings.append(
            Finding(
                severity=Severity.CAUTION,
                rule="ganache splits",
                where="",
                says=f"{share:.0%} of its volume is fat ({per_water:.1f} parts of fat to one of water): "
                + ("it turns over into butter." if found is EmulsionClass.BEYOND else "it splits readily."),
                why="above about 60 % the drops of fat crowd, and above 74 % there is no room between them.",
                remedy="add water, milk or purée until fat over water comes under 1.5, and blend at 35 to 40 °C.",
            )
        )
    elif per_water > TRADE_LIMIT[1]:
        findings.append(
            Finding(
                severity=Severity.NOTE,
                rule="fat over water",
                where="",
                says=f"{per_water:.1f} parts of fat to one of water is more than the {TRADE_LIMIT[0]:g} to "
                f"{TRADE_LIMIT[1]:g} at which kitchens stop.",
                why="dissolved sugar swells the water phase, so by volume it still holds; habit counts water alone.",
                remedy="blend it warm with a blade that does not draw air, or add a little water or milk.",
            )
        )
    if at is not None and found is not EmulsionClass.EASY and not 303.15 <= at <= 323.15:
        findings.append(
            Finding(
                severity=Severity.NOTE,
                rule="ganache blended warm",
                where="",
                says=f"At {celsius(at):.0f} °C so rich a ganache does not come together well.",
                remedy="blend it at 35 to 40 °C.",
            )
        )
    return Emulsion(
        fat_share=share,
        fat=fat,
        water=water,
        fat_per_water=per_water,
        water_phase_solids=sugars / (sugars + water) if sugars + water > 0 else 0.0,
        emulsion_class=found,
        basis=(basis_of(emulsion), basis_of(fat_volume_share)),
        findings=tuple(findings),
    )
