"""The vector of constituents that every mixture is made of, with what is not known of it."""

from __future__ import annotations

import enum
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Self

import numpy as np

from demoule.errors import BadInput
from demoule.units import FloatArray

__all__ = ["COUNT", "FATS", "MOLAR_MASS", "POLYOLS", "SACCHARIDES", "SUGARS", "Composition", "Constituent"]


class Constituent(enum.IntEnum):
    """The constituents, in the order in which every composition vector lists them.

    The last two hold what a table leaves open: `UNKNOWN_SUGARS` is mass known to be sugar of a kind not told,
    `UNKNOWN_SOLIDS` is dry mass of which nothing is told. They travel through every mixture like any other constituent.
    """

    WATER = 0
    SUCROSE = 1
    GLUCOSE = 2
    FRUCTOSE = 3
    GALACTOSE = 4
    LACTOSE = 5
    MALTOSE = 6
    TREHALOSE = 7
    MALTOTRIOSE = 8
    DEXTRINS = 9  # higher saccharides of glucose syrups, taken as seven glucose units
    MALTODEXTRINS = 10  # the long ones of a low dextrose equivalent, taken as thirty glucose units
    SORBITOL = 11
    GLYCEROL = 12
    ERYTHRITOL = 13
    OTHER_POLYOLS = 14  # maltitol, isomalt: twelve carbons
    ETHANOL = 15
    MILK_FAT = 16
    COCOA_BUTTER = 17
    OTHER_FAT = 18
    PROTEIN = 19
    STARCH = 20
    FIBRE = 21
    ACIDS = 22  # organic acids, counted as citric acid
    SALT = 23  # sodium chloride
    ASH = 24  # other minerals
    UNKNOWN_SUGARS = 25
    UNKNOWN_SOLIDS = 26


COUNT = len(Constituent)

_C = Constituent

SUGARS = np.array([_C.SUCROSE, _C.GLUCOSE, _C.FRUCTOSE, _C.GALACTOSE, _C.LACTOSE, _C.MALTOSE, _C.TREHALOSE])
"""Mono- and disaccharides of a known kind: "sugars" on a label, together with `UNKNOWN_SUGARS`."""

SACCHARIDES = np.array([*SUGARS, _C.MALTOTRIOSE, _C.DEXTRINS, _C.MALTODEXTRINS])
POLYOLS = np.array([_C.SORBITOL, _C.GLYCEROL, _C.ERYTHRITOL, _C.OTHER_POLYOLS])
FATS = np.array([_C.MILK_FAT, _C.COCOA_BUTTER, _C.OTHER_FAT])

# [kg/mol], from IUPAC abridged atomic weights; n glucose units weigh 162.141 n + 18.015 g/mol. NaN: no one molar mass.
MOLAR_MASS: FloatArray = np.full(COUNT, np.nan)
for _which, _grams in {
    _C.WATER: 18.015,
    _C.SUCROSE: 342.297,
    _C.GLUCOSE: 180.156,
    _C.FRUCTOSE: 180.156,
    _C.GALACTOSE: 180.156,
    _C.LACTOSE: 342.297,
    _C.MALTOSE: 342.297,
    _C.TREHALOSE: 342.297,
    _C.MALTOTRIOSE: 504.438,
    _C.DEXTRINS: 1153.0,
    _C.MALTODEXTRINS: 4882.2,
    _C.SORBITOL: 182.172,
    _C.GLYCEROL: 92.094,
    _C.ERYTHRITOL: 122.12,
    _C.OTHER_POLYOLS: 344.313,
    _C.ETHANOL: 46.069,
    _C.ACIDS: 192.123,
    _C.SALT: 58.443,
}.items():
    MOLAR_MASS[_which] = _grams / 1000
MOLAR_MASS.flags.writeable = False

_SUM_TOLERANCE = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Composition:
    """What a mixture is made of; compared and hashed by value.

    Parameters
    ----------
    fractions
        Mass fraction of each constituent [kg/kg], in the order of `Constituent`; they sum to 1.
    unknown
        For each constituent, the share of the mixture's mass whose content of it no source tells, 0 to 1.
        A content of 0.02 with 0.3 unknown means: 0.02 from what is known, and 30 % of the mass may hold more.
    """

    fractions: tuple[float, ...]
    unknown: tuple[float, ...] = (0.0,) * COUNT

    def __post_init__(self) -> None:
        x = np.asarray(self.fractions, dtype=float)
        u = np.asarray(self.unknown, dtype=float)
        if x.shape != (COUNT,) or u.shape != (COUNT,):
            raise ValueError(f"a composition has {COUNT} constituents")
        if not np.isfinite(x).all() or (x < 0).any() or abs(x.sum() - 1) > _SUM_TOLERANCE:
            raise BadInput(
                f"The constituents add up to {x.sum():.6g} instead of 1, or one of them is negative.",
                remedy="give the parts so that water and solids together make the whole.",
            )
        if (u < -_SUM_TOLERANCE).any() or (u > 1 + _SUM_TOLERANCE).any():
            raise ValueError("an unknown share lies between 0 and 1")

    @classmethod
    def of(cls, parts: Mapping[Constituent, float], unknown: Iterable[Constituent] = ()) -> Self:
        """A composition from masses or fractions of its constituents in any proportion; `unknown` names the untold."""
        x = np.zeros(COUNT)
        for constituent, amount in parts.items():
            x[constituent] = amount
        total = float(x.sum())
        if not total > 0:
            raise BadInput("Nothing is in the mixture.", remedy="give at least one part above zero.")
        u = np.zeros(COUNT)
        u[list(unknown)] = 1.0
        return cls(fractions=tuple((x / total).tolist()), unknown=tuple(u.tolist()))

    @classmethod
    def mixed(cls, parts: Iterable[tuple[float, Composition]]) -> Self:
        """The mixture of masses [kg] of several compositions; what is unknown in a part is unknown in its share."""
        masses, compositions = zip(*parts, strict=True)
        m = np.asarray(masses, dtype=float)
        total = float(m.sum())
        if not total > 0 or (m < 0).any():
            raise BadInput("A mixture needs parts of positive mass.", remedy="give at least one part above zero.")
        x = m @ np.array([c.fractions for c in compositions]) / total
        u = m @ np.array([c.unknown for c in compositions]) / total
        return cls(fractions=tuple((x / x.sum()).tolist()), unknown=tuple(np.clip(u, 0, 1).tolist()))

    @property
    def vector(self) -> FloatArray:
        """The mass fractions as an array, shape (COUNT,)."""
        return np.array(self.fractions)

    def __getitem__(self, constituent: Constituent) -> float:
        return self.fractions[constituent]

    @property
    def water(self) -> float:
        """Mass fraction of water [kg/kg]."""
        return self.fractions[Constituent.WATER]

    @property
    def total_solids(self) -> float:
        """Everything but water and ethanol [kg/kg], the trade's extrait sec."""
        return 1.0 - self.water - self.fractions[Constituent.ETHANOL]

    @property
    def fat(self) -> float:
        """All fats together [kg/kg]."""
        return float(self.vector[FATS].sum())

    @property
    def sugars(self) -> float:
        """Mono- and disaccharides together, those of an unknown kind among them [kg/kg]."""
        return float(self.vector[SUGARS].sum()) + self.fractions[Constituent.UNKNOWN_SUGARS]

    @property
    def polyols(self) -> float:
        """Sugar alcohols together [kg/kg]."""
        return float(self.vector[POLYOLS].sum())

    def with_water_changed(self, gained: float) -> Self:
        """The composition after `gained` kg of water per kg of mixture came in, or went off when negative."""
        x = self.vector
        x[Constituent.WATER] += gained
        if x[Constituent.WATER] < -_SUM_TOLERANCE:
            raise BadInput(
                f"More water goes off ({-gained:.1%} of the mass) than there is ({self.water:.1%}).",
                remedy="boil for a shorter time, or to a lower temperature or Brix.",
            )
        x = np.maximum(x, 0)
        u = np.array(self.unknown) / (1 + gained)
        return type(self)(fractions=tuple((x / x.sum()).tolist()), unknown=tuple(np.clip(u, 0, 1).tolist()))

    def readings(self) -> FloatArray:
        """Three readings of what is unknown, shape (3, COUNT): least, middle and most active in the water phase.

        Sugars of an unknown kind are read as sucrose, as half sucrose and half glucose, and as glucose; solids of
        which nothing is told as inert dextrin, as half of that, and as sucrose. Every physics function accepts the
        three rows at once, so that a band for the unknown costs one call.
        """
        rows = np.tile(self.vector, (3, 1))
        sugars = rows[:, Constituent.UNKNOWN_SUGARS].copy()
        solids = rows[:, Constituent.UNKNOWN_SOLIDS].copy()
        rows[:, [Constituent.UNKNOWN_SUGARS, Constituent.UNKNOWN_SOLIDS]] = 0.0
        glucose = np.array([0.0, 0.5, 1.0])
        rows[:, Constituent.GLUCOSE] += glucose * sugars
        rows[:, Constituent.SUCROSE] += (1 - glucose) * sugars + glucose * solids
        rows[:, Constituent.MALTODEXTRINS] += (1 - glucose) * solids
        return rows
