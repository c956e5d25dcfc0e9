"""Food energy as a label declares it: kilojoules and kilocalories, each from its own factors, for one market's law."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np
import numpy.typing as npt

from demoule.composition import COUNT, FATS, POLYOLS, SACCHARIDES, Composition, Constituent
from demoule.errors import BadInput
from demoule.figures import Status, published
from demoule.units import FloatArray

_C = Constituent

__all__ = [
    "EU_KCAL",
    "EU_KJ",
    "MARKETS",
    "US_KCAL",
    "Energy",
    "Market",
    "declared_energy",
    "eu_kcal",
    "eu_kj",
    "us_kcal",
]

Market: TypeAlias = Literal["EU", "US"]
MARKETS = ("EU", "US")


def _factors(carbohydrate: float, polyols: float, acids: float, fibre: float, ethanol: float, fat: float) -> FloatArray:
    # Protein carries the factor of carbohydrate in both laws. Solids of which nothing is told count as carbohydrate:
    # that is what carbohydrate "by difference" means, and `declared_energy` gives the band for it.
    factors = np.zeros(COUNT)
    factors[SACCHARIDES] = carbohydrate
    factors[[_C.UNKNOWN_SUGARS, _C.UNKNOWN_SOLIDS, _C.STARCH, _C.PROTEIN]] = carbohydrate
    factors[POLYOLS] = polyols
    factors[_C.ERYTHRITOL] = 0.0
    factors[FATS] = fat
    factors[_C.FIBRE] = fibre
    factors[_C.ACIDS] = acids
    factors[_C.ETHANOL] = ethanol
    return factors


EU_KCAL: FloatArray = _factors(carbohydrate=4, polyols=2.4, acids=3, fibre=2, ethanol=7, fat=9)
"""[kcal/g] by constituent, Regulation (EU) No 1169/2011, Annex XIV."""
EU_KJ: FloatArray = _factors(carbohydrate=17, polyols=10, acids=13, fibre=8, ethanol=29, fat=37)
"""[kJ/g] by constituent, the same annex."""
# Plain 4-4-9 of 21 CFR 101.9(c)(1)(i)(B): fibre and organic acids are part of carbohydrate by difference.
# Sugar alcohols have factors of their own, (c)(1)(i)(F); glycerol is not among them and stays at 4.
US_KCAL: FloatArray = _factors(carbohydrate=4, polyols=4, acids=4, fibre=4, ethanol=7, fat=9)
US_KCAL[_C.SORBITOL] = 2.6
US_KCAL[_C.OTHER_POLYOLS] = 2.1  # maltitol; isomalt would be 2.0
for _table in (EU_KCAL, EU_KJ, US_KCAL):
    _table.flags.writeable = False


def _summed(factors: FloatArray, x: npt.ArrayLike, protein: npt.ArrayLike | None) -> FloatArray:
    rows = np.asarray(x, dtype=float)
    total = rows @ factors
    if protein is not None:
        total = total + factors[_C.PROTEIN] * (np.asarray(protein, dtype=float) - rows[..., _C.PROTEIN])
    return np.asarray(total)


@published(
    gives="energy, EU declaration",
    source="eu-1169-2011",
    valid="any food; factors are fixed by law",
    error="3 kcal or 2 % against a national table that declares by the same factors",
    status=Status.READ,
    name="EU energy in kilocalories",
)
def eu_kcal(x: npt.ArrayLike, protein: npt.ArrayLike | None = None) -> FloatArray:
    """Energy in kilocalories by the factors of the EU.

    Parameters
    ----------
    x
        Mass fractions, shape (k,) or (n, k) [kg/kg].
    protein
        Total nitrogen times 6.25 [kg/kg], shape () or (n,); None takes the protein of `x`.

    Returns
    -------
    FloatArray
        [kcal/g], shape () or (n,).

    Notes
    -----
    Source: eu-1169-2011, Annex XIV. Status: read.

    Examples
    --------
    >>> round(float(eu_kcal(Composition.of({_C.SUCROSE: 1.0}).vector)), 1)
    4.0
    """
    return _summed(EU_KCAL, x, protein)


@published(
    gives="energy, EU declaration",
    source="eu-1169-2011",
    valid="any food; factors are fixed by law",
    error="3 kcal or 2 % against a national table that declares by the same factors",
    status=Status.READ,
    name="EU energy in kilojoules",
)
def eu_kj(x: npt.ArrayLike, protein: npt.ArrayLike | None = None) -> FloatArray:
    """Energy in kilojoules by the factors of the EU; never the kilocalories times 4.184.

    Parameters
    ----------
    x
        Mass fractions, shape (k,) or (n, k) [kg/kg].
    protein
        Total nitrogen times 6.25 [kg/kg], shape () or (n,); None takes the protein of `x`.

    Returns
    -------
    FloatArray
        [kJ/g], shape () or (n,).

    Notes
    -----
    Source: eu-1169-2011, Annex XIV. Status: read.
    """
    return _summed(EU_KJ, x, protein)


@published(
    gives="calories, US declaration",
    source="us-21cfr101-9",
    valid="any food; general factors 4-4-9, sugar alcohols each by their own",
    error="exact by the method; another permitted method may give less for foods rich in fibre",
    status=Status.READ,
    name="US calories",
)
def us_kcal(x: npt.ArrayLike) -> FloatArray:
    """Calories by the general factors 4, 4 and 9 of the US, carbohydrate by difference (fibre and acids in it).

    Parameters
    ----------
    x
        Mass fractions, shape (k,) or (n, k) [kg/kg].

    Returns
    -------
    FloatArray
        [kcal/g], shape () or (n,).

    Notes
    -----
    Source: us-21cfr101-9, (c)(1)(i)(B) read, (F) recalled; alcohol 7 from usda-handbook-74, recalled.
    """
    return _summed(US_KCAL, x, None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Energy:
    """Energy per gram of food, unrounded, with the band for what is not told.

    The US declares no kilojoules: there `kj` fields are None.
    """

    kcal: float
    kcal_low: float
    kcal_high: float
    kj: float | None = None
    kj_low: float | None = None
    kj_high: float | None = None


def declared_energy(
    composition: Composition,
    market: Market = "EU",
    protein: float | None = None,
    *,
    fat_untold: float | None = None,
) -> Energy:
    """The energy that the law of a market asks for.

    Parameters
    ----------
    protein
        Total nitrogen times 6.25 [kg/kg], for the EU; the US takes the protein of the composition.
    fat_untold
        Untold solids that may be fat [kg/kg]; None: all of them when the fat of any part is not told.

    Returns
    -------
    Energy
        Untold solids count nothing in the low value, as carbohydrate in the middle, and in the high one as fat where
        fat is among what is not told.

    Raises
    ------
    BadInput
        For a market whose factors we do not hold.
    """
    x = composition.vector
    untold = float(x[_C.UNKNOWN_SOLIDS])
    if fat_untold is None:
        fat_untold = untold if max(composition.unknown[i] for i in FATS) > 0 else 0.0
    fatty = min(fat_untold, untold)

    def band(factors: FloatArray, value: float) -> tuple[float, float, float]:
        middle = float(factors[_C.UNKNOWN_SOLIDS])
        return value, value - untold * middle, value + fatty * (float(factors[_C.OTHER_FAT]) - middle)

    if market == "EU":
        kcal, kcal_low, kcal_high = band(EU_KCAL, float(eu_kcal(x, protein)))
        kj, kj_low, kj_high = band(EU_KJ, float(eu_kj(x, protein)))
        return Energy(kcal=kcal, kcal_low=kcal_low, kcal_high=kcal_high, kj=kj, kj_low=kj_low, kj_high=kj_high)
    if market == "US":
        kcal, kcal_low, kcal_high = band(US_KCAL, float(us_kcal(x)))
        return Energy(kcal=kcal, kcal_low=kcal_low, kcal_high=kcal_high)
    raise BadInput(f"No energy factors are held for the market “{market}”.", remedy="write EU or US.")
