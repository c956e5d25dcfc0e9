"""Softness of heart and body at the temperatures that matter, and against the chef's own good batch."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from demoule.cold.softness import ICE_DENSITY, softness
from demoule.dossier.answer import Named
from demoule.dossier.view import Part, View
from demoule.dossier.words import degrees
from demoule.figures import Figure, basis_of
from demoule.physics import ice_fraction
from demoule.units import Fraction, Kelvin, kelvin

__all__ = [
    "PLACES",
    "Match",
    "good_figures",
    "good_match",
    "good_of",
    "ice_volume_of",
    "serving_temperature",
    "soft_figures",
]

PLACES: tuple[tuple[str, str, Kelvin], ...] = (
    ("at_store", "in the store", kelvin(-18)),
    ("at_minus_12", "at −12 °C", kelvin(-12)),
    ("at_minus_6", "at −6 °C", kelvin(-6)),
    ("at_fridge", "in the refrigerator", kelvin(4)),
)
_MODEL = 0.03  # share of the volume, of ice between freezing point and −18 °C
_GRID = np.linspace(kelvin(-40), kelvin(2), 169)


def serving_temperature(view: View, role: str) -> Kelvin:
    """The temperature at which a layer is eaten: hearts at the core of the window, the rest as it is then."""
    core = sum(view.ready) / 2
    run = view.thaw
    if role in ("heart", "inner heart") or run is None or run.window is None or run.window.opens is None:
        return core
    curve = run.curve
    which = curve.surface if role in ("shell", "spray", "base") else curve.mean
    return float(np.interp(run.window.opens, np.asarray(curve.time), np.asarray(which)))


def ice_volume_of(part: Part, temperature: Kelvin) -> tuple[float, float, float]:
    """Share of the volume, air counted, that is ice at a temperature: least, middle and most for what is untold."""
    fractions = np.asarray(ice_fraction(part.cooked.composition.readings(), temperature))
    values = np.clip(fractions * part.cooked.density / ICE_DENSITY, 0.0, 1.0)
    return float(values.min()), float(values[1]), float(values.max())


def soft_figures(part: Part) -> Iterator[Named]:
    """Ice of the volume of a layer at the usual temperatures, with its class and the neighbour class at a border."""
    at = np.array([temperature for _, _, temperature in PLACES])
    fractions = np.asarray(ice_fraction(part.cooked.composition.readings()[:, None, :], at[None, :]))
    volumes = np.clip(fractions * part.cooked.density / ICE_DENSITY, 0.0, 1.0)
    for number, (key, where, _) in enumerate(PLACES):
        column = volumes[:, number]
        low, middle, high = float(column.min()), float(column[1]), float(column.max())
        yield Named(
            key=f"softness_{key}",
            name=f"ice of the volume {where}",
            of=part.name,
            figure=Figure(
                value=100 * middle,
                unit="%",
                low=100 * max(low - _MODEL, 0.0) if high > 0 else 0.0,
                high=100 * min(high + _MODEL, 1.0) if high > 0 else 0.0,
                basis=(basis_of(softness), basis_of(ice_fraction)),
                note=str(softness(middle)) if high > 0 else "thawed: its gel alone holds it",
            ),
        )


class Match:
    """A layer against the good batch: ice wanted, ice when eaten, and where this mix has as much as the good one."""

    def __init__(self, wanted: Fraction, now: Fraction, at: Kelvin | None) -> None:
        self.wanted, self.now, self.at = wanted, now, at

    @property
    def harder(self) -> Fraction:
        """Ice beyond that of the good batch, as a share of the volume; negative when it is softer."""
        return self.now - self.wanted


def good_match(part: Part, eaten_at: Kelvin) -> Match | None:
    """A layer against the chef's good batch; None where none is told."""
    good = part.recipe.good
    if good is None or (good.ice is None and good.cut_at is None):
        return None
    wanted = good.ice
    if wanted is None:
        assert good.cut_at is not None
        wanted = ice_volume_of(part, good.cut_at)[1]
    fractions = np.asarray(ice_fraction(part.cooked.composition.vector, _GRID))
    volumes = fractions * part.cooked.density / ICE_DENSITY
    falling = volumes[::-1]
    at = float(np.interp(wanted, falling, _GRID[::-1])) if falling[0] <= wanted <= falling[-1] and wanted > 0 else None
    return Match(wanted, ice_volume_of(part, eaten_at)[1], at)


def good_figures(part: Part, eaten_at: Kelvin) -> Iterator[Named]:
    """Where this mix cuts as the good batch did."""
    match = good_match(part, eaten_at)
    if match is None:
        return
    basis = (basis_of(softness), basis_of(ice_fraction))
    yield Named(
        key="softness_good",
        name="ice of the volume in the good batch",
        of=part.name,
        figure=Figure(value=100 * match.wanted, unit="%", basis=basis, measured="the chef's good batch"),
    )
    if match.at is not None:
        at = match.at - 273.15
        yield Named(
            key="cuts_as_good_at",
            name="cuts as the good batch at",
            of=part.name,
            figure=Figure(
                value=at,
                unit="°C",
                low=at - 0.5,
                high=at + 0.5,
                basis=basis,
                note=f"eaten at {degrees(eaten_at)} it has {100 * match.now:.0f} %",
            ),
        )


def good_of(view: View) -> Iterator[tuple[Part, str, Kelvin]]:
    """Layers that tell a good batch, with their place and the temperature at which they are eaten."""
    for layer, part in view.layered:
        if part.recipe.good is not None and layer.role in ("heart", "inner heart", "body"):
            yield part, layer.where or part.where, serving_temperature(view, layer.role)
