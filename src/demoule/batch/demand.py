"""What the pieces ask of each component: what lands on them, what misses, and what comes back from bath and gun."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from demoule.batch.kitchen import Bath, Kitchen
from demoule.figures import Finding, Severity
from demoule.formula import Component, Cooked
from demoule.physics.bath import least_liquid
from demoule.piece.built import Layer, Piece
from demoule.units import Fraction, Kilogram, Metre

__all__ = ["Demand", "demands"]

# Shares of what enters (practice): piping bag, overfill scraped off, drip and foot of a dip, remelting of a bath.
BAG: Fraction = 0.025
SCRAPED: Fraction = 0.03
DRIP: Fraction = 0.06
REMELT: Fraction = 0.03
# Left in pot and tools of a bath, in a gun and its hose, and the share of the latter that can be melted out (practice).
POT: Kilogram = 0.040
GUN: Kilogram = 0.055
FROM_GUN: Fraction = 0.80
# Room beside a dipped piece in its pot (practice).
_BESIDE: Metre = 0.020

_FILLED = frozenset({"heart", "inner heart", "body"})


@dataclass(slots=True)
class Demand:
    """What all started pieces ask of one component.

    `used` is the sum of what lands, what is lost on the way and what comes back [kg].
    """

    component: str
    on_pieces: Kilogram = 0.0
    lost: dict[str, Kilogram] = field(default_factory=dict)
    comes_back: Kilogram = 0.0
    roles: set[str] = field(default_factory=set)
    discs: int = 0
    vessel: str = ""

    @property
    def used(self) -> Kilogram:
        """What must leave the component's last vessel [kg]."""
        return self.on_pieces + sum(self.lost.values()) + self.comes_back

    def lose(self, cause: str, mass: Kilogram) -> None:
        """Enter a loss, or add to it."""
        if mass > 0:
            self.lost[cause] = self.lost.get(cause, 0.0) + mass


def demands(
    piece: Piece,
    started: int,
    components: Mapping[str, Component],
    cooked: Mapping[str, Cooked],
    kitchen: Kitchen,
) -> tuple[dict[str, Demand], tuple[Finding, ...]]:
    """What `started` pieces ask of each component that is on them, in the order of the layers.

    Notes
    -----
    A filled component that tells neither its losses nor its yield loses the usual 2.5 % in the bag and, as body, 3 %
    scraped off the mould. A bath gives what the pieces carry, 6 % of it as drip and foot, and must at the end still
    cover a piece; that rest comes back but for 40 g in the pot and 3 % at remelting. A gun is filled once for
    each sprayed layer; what stays in it comes back to four fifths.
    """
    found: dict[str, Demand] = {}
    findings: list[Finding] = []
    spare = 1 + kitchen.contingency
    for layer in piece.layers:
        demand = found.setdefault(layer.component, Demand(component=layer.component))
        demand.roles.add(layer.role)
        landed = layer.mass * started
        demand.on_pieces += landed
        if layer.role in _FILLED:
            demand.lose("contingency", landed * kitchen.contingency)
            if _tells_nothing(components.get(layer.component)):
                passes = (1 - BAG) * (1 - SCRAPED if layer.role == "body" else 1.0)
                gross = landed * spare / passes
                demand.lose("bag", gross * BAG)
                demand.lose("scraping", gross * (1 - BAG) * (SCRAPED if layer.role == "body" else 0.0))
        elif layer.role == "base":
            demand.discs += started * _discs(layer, cooked.get(layer.component))
        elif layer.role == "spray":
            stays = kitchen.sprayers[0].stays if kitchen.sprayers else GUN
            taken = (layer.taken or layer.mass) * started
            demand.lose("overspray", taken - landed)
            demand.lose("gun", stays * (1 - FROM_GUN))
            demand.comes_back += stays * FROM_GUN
            demand.vessel = "spray gun"
        elif layer.role == "shell":
            demand.lose("drip", landed * DRIP)
    shells = [demand for demand in found.values() if "shell" in demand.roles]
    for demand in shells:
        findings += _fill_bath(demand, piece, cooked, kitchen)
    baths = sum(bath.count for bath in kitchen.baths)
    if kitchen.baths and len(shells) > baths:
        findings.append(
            Finding(
                severity=Severity.CAUTION,
                rule="baths",
                where="piece.skin",
                says=f"{len(shells)} coatings are dipped, and the kitchen has {baths} baths.",
                why="A bath must be emptied, cleaned and filled between two coatings.",
                remedy="plan the dips one after the other.",
            )
        )
    return found, tuple(findings)


def _tells_nothing(component: Component | None) -> bool:
    return component is not None and not component.losses and component.gives is None


def _discs(layer: Layer, cooked: Cooked | None) -> int:
    """Discs at the foot of one piece."""
    if cooked is None or cooked.cut is None or not cooked.cut.each:
        return 1
    return max(round(layer.mass / cooked.cut.each), 1)


def _fill_bath(demand: Demand, piece: Piece, cooked: Mapping[str, Cooked], kitchen: Kitchen) -> list[Finding]:
    """What must still be in the bath when the last piece is dipped."""
    bath = min(kitchen.baths, key=lambda one: one.least, default=None)
    if bath is not None:
        least = bath.least
        demand.vessel = "bath"
    else:
        pot = math.pi / 4 * (piece.diameter + 2 * _BESIDE) ** 2
        volume = sum(layer.volume for layer in piece.layers)
        made = cooked.get(demand.component)
        density = made.density if made is not None else 1000.0
        least = float(least_liquid(pot, piece.height, volume)) * density
        demand.vessel = f"pot of {(piece.diameter + 2 * _BESIDE) * 100:.0f} cm"
    melted = demand.used + least
    pot_loss = min(POT, least)
    demand.lose("pot and tools", pot_loss)
    demand.lose("remelting", (least - pot_loss) * REMELT)
    demand.comes_back += (least - pot_loss) * (1 - REMELT)
    return _too_much(melted, bath, demand.component) if bath is not None else []


def _too_much(melted: Kilogram, bath: Bath, component: str) -> list[Finding]:
    if melted <= bath.most:
        return []
    return [
        Finding(
            severity=Severity.NOTE,
            rule="bath",
            where=f"components.{component}",
            says=f"{melted:.2f} kg of {component} are melted in all, and a bath holds {bath.most:.2f} kg.",
            why=f"Below {bath.least:.2f} kg it no longer covers a piece.",
            remedy=f"fill it, and top it up as it goes down: {math.ceil(melted / bath.most) - 1} times or more.",
        )
    ]
