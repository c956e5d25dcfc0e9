"""How much coating a dipping pot must hold, how many pieces it serves, and what comes back out of it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from demoule.errors import BadInput, DoesNotFit
from demoule.figures import Status, published
from demoule.physics.coating import Coating
from demoule.physics.dipping import Shell
from demoule.units import CubicMetre, Joule, Kilogram, Metre, SquareMetre

__all__ = ["BathPlan", "bath_temperature_drop", "least_liquid", "level_rise", "pieces_per_bath", "plan_bath"]

CLEARANCE: Metre = 0.010  # below and above the piece (common practice)
POT_AND_TOOLS: tuple[Kilogram, Kilogram] = (0.020, 0.060)  # what sticks to them (common practice)


def _refuse(area: SquareMetre, height: Metre, volume: CubicMetre) -> None:
    if min(area, height, volume) <= 0 or not math.isfinite(area * height * volume):
        raise BadInput(
            "A pot and a piece need a size above zero.", remedy="give the pot's inner width and the piece's height."
        )
    if volume >= area * height:
        raise DoesNotFit(
            f"A piece of {volume * 1e6:.0f} ml and {height * 1000:.0f} mm height does not go into a pot of "
            f"{area * 1e4:.0f} cm².",
            remedy="take a wider pot.",
        )


@published(
    gives="least liquid to cover a piece in a straight pot",
    source="geometry",
    valid="straight walls, piece narrower than the pot",
    error="exact; clearances of 10 mm are common practice",
    status=Status.READ,
)
def least_liquid(
    area: SquareMetre,
    height: Metre,
    volume: CubicMetre,
    *,
    below: Metre = CLEARANCE,
    above: Metre = CLEARANCE,
) -> CubicMetre:
    """Coating in a straight pot with which a piece is just covered [m3]: A (H + below + above) - V.

    Parameters
    ----------
    area
        Inner cross-section of the pot [m2].
    height, volume
        Of the piece as it hangs [m, m3].
    below, above
        Coating under and over it [m].

    Raises
    ------
    DoesNotFit
        A piece that does not go into the pot.

    Examples
    --------
    >>> round(least_liquid(math.pi / 4 * 0.160**2, 0.0535, 80e-6) * 1e6, 1)  # ml
    1397.8
    """
    _refuse(area, height, volume)
    if below < 0 or above < 0:
        raise BadInput("Coating under and over a piece cannot be negative.", remedy="give 5 to 20 mm.")
    return area * (height + below + above) - volume


def level_rise(area: SquareMetre, volume: CubicMetre) -> Metre:
    """How far the level rises when a piece goes in [m], exactly V/A.

    >>> round(level_rise(math.pi / 4 * 0.180**2, 80e-6) * 1000, 2)  # mm
    3.14
    """
    if not area > 0 or volume < 0:
        raise BadInput("A pot needs a width above zero.", remedy="give the pot's inner diameter.")
    return volume / area


def pieces_per_bath(start: CubicMetre, least: CubicMetre, picked_up: CubicMetre) -> int:
    """Pieces that can be dipped before the pot must be topped up.

    Parameters
    ----------
    start, least
        Coating in the pot at the start, and that with which the last piece is still covered [m3].
    picked_up
        Coating that one piece takes away [m3].
    """
    if not picked_up > 0:
        raise BadInput("A piece takes some coating away.", remedy="compute the dip first.")
    return max(math.floor((start - least) / picked_up + 1e-9), 0)


@published(
    gives="fall of the bath's temperature by one dip",
    source="dip-model",
    valid="no heating, no loss to the room",
    error="50 %, with the surface coefficient and what drips back",
    status=Status.JUDGED,
)
def bath_temperature_drop(heat: Joule, mass: Kilogram, coating: Coating) -> float:
    """Kelvins that the coating left in the bath loses when it gives up some heat [J]."""
    if not mass > 0:
        raise BadInput("An empty bath has no temperature.", remedy="give the mass of coating in the pot.")
    return heat / (mass * coating.heat_capacity)


@dataclass(frozen=True, slots=True, kw_only=True)
class BathPlan:
    """A pot for a round of dipping.

    Parameters
    ----------
    start, added
        Coating in the pot at the start, and what must be added on the way so that the last piece is covered [kg].
    least
        What covers a piece [kg].
    per_round
        Pieces before topping up, when the pot starts with `start`.
    on_pieces, sticks, comes_back
        Where it goes: on the pieces, to pot and tools (low, high), and back into stock (low, high) [kg].
    level_rise
        When a piece goes in [m]: leave as much room at the rim.
    heat_drawn
        By all pieces from the coating left in the pot [J].
    drop
        What the bath would lose by it in all, unheated [K].
    """

    start: Kilogram
    added: Kilogram
    least: Kilogram
    per_round: int
    on_pieces: Kilogram
    sticks: tuple[Kilogram, Kilogram]
    comes_back: tuple[Kilogram, Kilogram]
    level_rise: Metre
    heat_drawn: Joule
    drop: float


def plan_bath(
    coating: Coating,
    shell: Shell,
    *,
    pieces: int,
    pot_area: SquareMetre,
    piece_height: Metre,
    piece_volume: CubicMetre,
    start: Kilogram | None = None,
    below: Metre = CLEARANCE,
    above: Metre = CLEARANCE,
) -> BathPlan:
    """What a round of dipping needs and leaves; `start` None: enough for all pieces without topping up.

    Raises
    ------
    BadInput
        No pieces, or less coating than covers one piece.
    """
    if pieces < 1:
        raise BadInput(f"{pieces} pieces cannot be dipped.", remedy="give one piece or more.")
    least_volume = least_liquid(pot_area, piece_height, piece_volume, below=below, above=above)
    least = least_volume * coating.density
    on_pieces = pieces * shell.mass
    begin = least + on_pieces if start is None else start
    if begin < least:
        raise BadInput(
            f"{begin * 1000:.0f} g of coating do not cover a piece: this pot needs {least * 1000:.0f} g.",
            remedy="take a narrower pot or melt more.",
        )
    added = max(least + on_pieces - begin, 0.0)
    remaining = begin + added - on_pieces
    heat = pieces * shell.heat_from_bath
    return BathPlan(
        start=begin,
        added=added,
        least=least,
        per_round=pieces_per_bath(begin / coating.density, least_volume, shell.mass / coating.density),
        on_pieces=on_pieces,
        sticks=POT_AND_TOOLS,
        comes_back=(max(remaining - POT_AND_TOOLS[1], 0.0), max(remaining - POT_AND_TOOLS[0], 0.0)),
        level_rise=level_rise(pot_area, piece_volume),
        heat_drawn=heat,
        drop=bath_temperature_drop(heat, (begin + remaining) / 2, coating),
    )
