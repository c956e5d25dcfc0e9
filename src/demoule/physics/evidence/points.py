"""Turning rows of published tables into evidence."""

from __future__ import annotations

from collections.abc import Callable, Iterable

import numpy as np

from demoule.composition import COUNT, Constituent
from demoule.figures import Evidence, Status
from demoule.units import FloatArray

__all__ = ["Row", "column", "entry", "mass_percent", "named", "sucrose_in_water", "temperature_c", "vector"]

Row = dict[str, str]

# Names of the published tables that are not those of the constituents. Mannitol is sorbitol's twin in mass and shape.
_NAMES = {
    "sodium chloride": Constituent.SALT,
    "citric acid": Constituent.ACIDS,
    "mannitol": Constituent.SORBITOL,
    "fat": Constituent.OTHER_FAT,
    "untold": Constituent.UNKNOWN_SOLIDS,
    "isomalt": Constituent.OTHER_POLYOLS,
    "maltitol": Constituent.OTHER_POLYOLS,
    "higher oligosaccharides": Constituent.DEXTRINS,
}


def named(name: str) -> Constituent:
    """The constituent that a published table calls so."""
    return _NAMES[name] if name in _NAMES else Constituent[name.upper().replace(" ", "_")]


def vector(parts: Iterable[tuple[str, float]]) -> FloatArray:
    """A composition from names of published tables and masses in any proportion."""
    x = np.zeros(COUNT)
    for name, mass in parts:
        x[named(name)] += mass
    return np.asarray(x / x.sum())


def entry(
    model: str,
    title: str,
    chosen: list[Row],
    at_name: str,
    at: Callable[[Row], float],
    computed: Iterable[float],
    *,
    unit: str,
    tolerance: float,
    relative: bool = False,
    scale: float = 1.0,
) -> Evidence:
    """The rows of one source as evidence; `scale` turns their unit into `unit`."""
    (source,) = {r["source"] for r in chosen}
    (status,) = {r["status"] for r in chosen}
    return Evidence(
        model=model,
        title=title,
        source=source,
        status=Status(status),
        unit=unit,
        at_name=at_name,
        at=tuple(at(r) for r in chosen),
        published=tuple(scale * float(r["value"]) for r in chosen),
        computed=tuple(float(c) for c in computed),
        tolerance=tolerance,
        relative=relative,
    )


def mass_percent(r: Row) -> float:
    """What is dissolved, as the row tells it."""
    return float(r["mass_percent"])


def temperature_c(r: Row) -> float:
    """The temperature of the row [°C]."""
    return float(r["temperature_c"])


def column(chosen: list[Row], read: Callable[[Row], float]) -> FloatArray:
    """One reading of every row."""
    return np.array([read(r) for r in chosen])


def sucrose_in_water(w: float) -> FloatArray:
    """Sucrose of a mass fraction in water."""
    return vector([("sucrose", w), ("water", 1 - w)])
