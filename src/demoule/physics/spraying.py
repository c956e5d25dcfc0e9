"""What a spray gun puts on a piece and what misses it, for velvet and for glaze."""

from __future__ import annotations

from dataclasses import dataclass

from demoule.errors import BadInput
from demoule.figures import Basis, Finding, Severity, Status, basis_of, published
from demoule.physics.coat import coat_thickness, coat_volume
from demoule.units import (
    Fraction,
    Kelvin,
    Kilogram,
    KilogramPerCubicMetre,
    Metre,
    SquareMetre,
    celsius,
)

__all__ = ["COATS", "GUNS", "SprayKind", "Sprayed", "spray", "sprayed_for"]

# Share of the spray that lands, from and to: paint on larger parts (spray-transfer-primer).
GUNS: dict[str, tuple[Fraction, Fraction]] = {
    "high volume, low pressure": (0.50, 0.60),
    "airless": (0.40, 0.50),
    "air-assisted airless": (0.60, 0.80),
    "old cup gun": (0.30, 0.30),
}
"""Transfer efficiency by the kind of gun, on large flat parts."""

ON_A_SMALL_PIECE: tuple[Fraction, Fraction] = (
    0.40,
    0.75,
)  # 25 to 60 % overspray on pieces of 50 to 110 ml (common practice)


@dataclass(frozen=True, slots=True, kw_only=True)
class SprayKind:
    """One kind of coat by spraying: what it weighs, how much is usual, and when it holds.

    Parameters
    ----------
    density
        As it lies on the piece [kg/m3].
    usual
        Mass per area, from and to [kg/m2] (common practice).
    gun
        Temperature in the gun at which it sprays, coldest and hottest source [K].
    piece
        Warmest surface on which it sets as it should [K]; None: any.
    """

    name: str
    density: KilogramPerCubicMetre
    usual: tuple[float, float]
    gun: tuple[Kelvin, Kelvin]
    clogs: Kelvin
    piece: Kelvin | None


# Velvet: equal weights of cocoa butter and chocolate, gun 30 to 32 °C in one source and 42 °C in another, piece at
# -18 °C or colder, clogs under 28 °C (velour-note). Glaze: 60 to 75 °C (common practice).
COATS: dict[str, SprayKind] = {
    "velvet": SprayKind(
        name="velvet", density=960.0, usual=(0.1, 0.3), gun=(303.15, 315.15), clogs=301.15, piece=255.15
    ),
    "glaze": SprayKind(name="glaze", density=1250.0, usual=(0.15, 0.4), gun=(333.15, 348.15), clogs=318.15, piece=None),
}
"""The kinds of coats by name."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sprayed:
    """What lands on one piece and what is sprayed for it.

    Parameters
    ----------
    lands, per_area, thickness
        On the piece [kg, kg/m2, m].
    used, missed
        Out of the gun for one piece, with the likely range, and what of it misses [kg].
    """

    lands: Kilogram
    per_area: float
    thickness: Metre
    used: Kilogram
    used_low: Kilogram
    used_high: Kilogram
    missed: Kilogram
    basis: tuple[Basis, ...]
    findings: tuple[Finding, ...]


@published(
    gives="mass and thickness of a sprayed coat, and what misses",
    source="mass-balance",
    valid="coats of 20 to 600 g/m2 on dry cold pieces",
    error="exact for a weighed gun; transfer 0.40 to 0.75 on a small piece before that",
    status=Status.PRACTICE,
)
def spray(
    kind: SprayKind,
    *,
    area: SquareMetre,
    curvature: Metre,
    lands: Kilogram | None = None,
    per_area: float | None = None,
    used: Kilogram | None = None,
    transfer: Fraction = 0.6,
    learned: bool = False,
    gun: Kelvin | None = None,
    surface: Kelvin | None = None,
) -> Sprayed:
    """A sprayed coat from one of: what lands, what lands per area, or what the gun loses for one piece.

    Parameters
    ----------
    kind
        `COATS["velvet"]`, `COATS["glaze"]` or one's own.
    area, curvature
        Surface and integrated mean curvature of the piece [m2, m].
    lands, per_area, used
        On the piece [kg], [kg/m2]; out of the gun [kg]. Exactly one.
    transfer
        Share of the spray that lands: 1 less the overspray.
    learned
        Whether `transfer` was weighed with this gun on this piece.
    gun, surface
        Temperatures of mix and piece, to be judged when they are known [K].

    Raises
    ------
    BadInput
        None or several of the three amounts; a transfer outside 0 to 1.

    Examples
    --------
    >>> coat = spray(COATS["velvet"], area=0.009, curvature=0.336, per_area=0.2)
    >>> round(coat.lands * 1000, 2), round(coat.thickness * 1000, 2), round(coat.used * 1000, 1)
    (1.8, 0.21, 3.0)
    """
    given = [amount for amount in (lands, per_area, used) if amount is not None]
    if len(given) != 1 or not 0 <= given[0] < 10:
        raise BadInput(
            "A spray needs one amount: what lands, what lands per area, or what is sprayed.",
            remedy="give one of them, zero or more, or weigh the gun and one piece before and after.",
        )
    if not 0 < transfer <= 1:
        raise BadInput(
            f"A transfer of {transfer:.0%} is not possible.",
            remedy="overspray lies between 0 and 99 %; 25 to 60 is usual.",
        )
    if not area > 0 or curvature < 0:
        raise BadInput("A piece to be sprayed needs a surface.", remedy="work up the piece first.")
    if used is not None:
        on = used * transfer
    elif per_area is not None:
        on = per_area * area
    else:
        on = given[0]
    out = on / transfer
    low, high = (transfer, transfer) if learned else ON_A_SMALL_PIECE
    low, high = min(low, transfer), max(high, transfer)
    thickness = coat_thickness(area, curvature, on / kind.density)
    return Sprayed(
        lands=on,
        per_area=on / area,
        thickness=thickness,
        used=out,
        used_low=out if used is not None else on / high,
        used_high=out if used is not None else on / low,
        missed=out - on,
        basis=(basis_of(spray, stretched=not 0.02 <= on / area <= 0.6),),
        findings=_findings(kind, on / area, gun, surface),
    )


def sprayed_for(kind: SprayKind, *, area: SquareMetre, curvature: Metre, thickness: Metre) -> Kilogram:
    """Mass that must land for a coat of even thickness [kg]."""
    if thickness < 0:
        raise BadInput("A coat cannot be thinner than nothing.", remedy="give a thickness of zero or more.")
    return kind.density * coat_volume(area, curvature, thickness)


def _findings(kind: SprayKind, per_area: float, gun: Kelvin | None, surface: Kelvin | None) -> tuple[Finding, ...]:
    found = []

    def note(severity: Severity, rule: str, says: str, remedy: str, source: str = "") -> None:
        found.append(Finding(severity=severity, rule=rule, where="", says=says, remedy=remedy, source=source))

    if gun is not None and gun < kind.clogs:
        note(
            Severity.CAUTION,
            "spray clogs",
            f"At {celsius(gun):.0f} °C the {kind.name} mix sets in the needle.",
            f"keep it above {celsius(kind.clogs):.0f} °C; sources name {celsius(kind.gun[0]):.0f} to "
            f"{celsius(kind.gun[1]):.0f} °C in the gun.",
            "velour-note" if kind.name == "velvet" else "",
        )
    if surface is not None and kind.piece is not None and surface > kind.piece + 0.5:
        note(
            Severity.CAUTION,
            "spray needs a cold piece",
            f"On a surface at {celsius(surface):.0f} °C the {kind.name} turns shiny instead of matt.",
            f"spray at {celsius(kind.piece):.0f} °C or colder, straight from the freezer.",
            "velour-note",
        )
    low, high = kind.usual
    if per_area > 2 * high:
        note(
            Severity.NOTE,
            "spray is heavy",
            f"{per_area * 1000:.0f} g/m² of {kind.name} is far above the usual {low * 1000:.0f} to {high * 1000:.0f}.",
            "spray in several thin passes, or check the weighing.",
        )
    elif 0 < per_area < low / 2:
        note(
            Severity.NOTE,
            "spray is thin",
            f"{per_area * 1000:.0f} g/m² of {kind.name} hardly covers; {low * 1000:.0f} to {high * 1000:.0f} is usual.",
            "add a pass.",
        )
    return tuple(found)
