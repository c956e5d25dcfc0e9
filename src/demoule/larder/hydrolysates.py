"""What a starch hydrolysate is made of at a dextrose equivalent: glucose syrups, their powders, maltodextrins."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import Literal

import numpy as np

from demoule.composition import MOLAR_MASS, Constituent
from demoule.errors import BadInput
from demoule.figures import Status, published
from demoule.larder.tables import read_csv

__all__ = ["Process", "dextrose_equivalent", "hydrolysate", "mean_molar_mass"]

Process = Literal["acid", "enzymatic"]

_C = Constituent
_PARTS = ("glucose", "maltose", "maltotriose", "higher")
_KINDS = (_C.GLUCOSE, _C.MALTOSE, _C.MALTOTRIOSE, _C.DEXTRINS, _C.MALTODEXTRINS)
# The dextrose equivalent of a pure substance with one reducing end: 100 times the molar mass of glucose over its own.
_DE_OF = {kind: float(100 * MOLAR_MASS[_C.GLUCOSE] / MOLAR_MASS[kind]) for kind in _KINDS}
_LOWEST, _HIGHEST = 3.0, 100.0
# Stopped so early, acid leaves starch that clouds the syrup: below it all are made with enzymes (practice).
_ENZYMES_ONLY = 20.0


@lru_cache(maxsize=2)
def _nodes(process: Process) -> tuple[tuple[float, ...], tuple[tuple[float, ...], ...]]:
    """Dextrose equivalents and the four published shares at each [kg/kg dry matter], ends added."""
    found: dict[float, dict[str, float]] = {}
    for row in read_csv("starch_hydrolysates.csv", "published"):
        at = float(row["dextrose_equivalent"])
        if row["process"] == process or (process == "acid" and row["process"] == "enzymatic" and at <= _ENZYMES_ONLY):
            found.setdefault(at, {})[row["constituent"]] = float(row["value"]) / 100
    found[0.0] = dict(zip(_PARTS, (0.0, 0.0, 0.0, 1.0), strict=True))
    found[100.0] = dict(zip(_PARTS, (1.0, 0.0, 0.0, 0.0), strict=True))
    nodes = tuple(sorted(found))
    return nodes, tuple(tuple(found[de][part] for de in nodes) for part in _PARTS)


@published(
    gives="composition of a glucose syrup or maltodextrin",
    source="belitz-2009",
    valid="dextrose equivalent 3 to 100, made with acid or with enzymes",
    error="its dextrose equivalent comes out within 4 of the one named, the rounding of the published averages",
    status=Status.READ,
)
def hydrolysate(de: float, process: Process = "acid") -> dict[Constituent, float]:
    """Dry matter of a starch hydrolysate by its dextrose equivalent.

    Parameters
    ----------
    de
        Dextrose equivalent, 3 to 100.
    process
        How the starch was split; the dextrose equivalent alone does not fix the composition.

    Returns
    -------
    dict[Constituent, float]
        Mass fraction of the dry matter [kg/kg]; sums to 1.

    Raises
    ------
    BadInput
        Outside 3 to 100.

    Notes
    -----
    Between the published average compositions each share goes in a straight line. The higher saccharides are divided
    between seven and thirty glucose units so that the number-average molar mass is 18016/DE, as far as that can be met.
    Source: belitz-2009, Table 19.7; 18016/DE is the definition (one reducing end per molecule). Status: read, but for
    the rows of acid 40 and enzymatic 45, which are recalled.

    Examples
    --------
    >>> made = hydrolysate(60)
    >>> round(made[Constituent.GLUCOSE], 2), round(made[Constituent.MALTOSE], 2)
    (0.36, 0.2)
    """
    if not _LOWEST <= de <= _HIGHEST:
        raise BadInput(
            f"A dextrose equivalent of {de:g} is outside {_LOWEST:g} to {_HIGHEST:g}.",
            remedy="read the DE from the tub: maltodextrins 5 to 20, syrups and powders 20 to 97.",
        )
    at, shares = _nodes(process)
    glucose, maltose, triose, higher = (float(np.interp(de, at, share)) for share in shares)
    told = sum(
        share * _DE_OF[kind]
        for share, kind in zip((glucose, maltose, triose), (_C.GLUCOSE, _C.MALTOSE, _C.MALTOTRIOSE), strict=True)
    )
    short, long = _DE_OF[_C.DEXTRINS], _DE_OF[_C.MALTODEXTRINS]
    dextrins = min(max((de - told - higher * long) / (short - long), 0.0), higher)
    return {
        _C.GLUCOSE: glucose,
        _C.MALTOSE: maltose,
        _C.MALTOTRIOSE: triose,
        _C.DEXTRINS: dextrins,
        _C.MALTODEXTRINS: higher - dextrins,
    }


def dextrose_equivalent(dry: Mapping[Constituent, float]) -> float:
    """Reducing power of a dry hydrolysate as glucose [g per 100 g], from its composition.

    Examples
    --------
    >>> round(dextrose_equivalent({Constituent.MALTOSE: 1.0}), 1)
    52.6
    """
    return sum(share * _DE_OF[kind] for kind, share in dry.items()) / sum(dry.values())


def mean_molar_mass(de: float) -> float:
    """Number-average molar mass [kg/mol] of a hydrolysate: 18016/DE grams, one reducing end per molecule.

    Examples
    --------
    >>> round(mean_molar_mass(42) * 1000)
    429
    """
    return 18.016 / de
