"""Coats around a piece: what lands on it, and how thick that is, both ways through the exact offset volume."""

from __future__ import annotations

from dataclasses import dataclass

from demoule.errors import BadInput
from demoule.figures import Basis
from demoule.formula.cooked import Cooked
from demoule.physics.learning import Learned
from demoule.piece.around import Around
from demoule.piece.design import Dip, Spray
from demoule.units import CubicMetre, Kilogram, Metre

__all__ = ["Coat", "coat_of_mass", "coat_of_thickness", "spray_coat", "stated_dip"]

USUAL_VELVET = 0.20  # kg/m², habit of the trade (0.10 to 0.30)
USUAL_GLAZE = 0.25  # kg/m², habit of the trade (0.15 to 0.40)
USUAL_OVERSPRAY = 0.40  # share of a spray that misses a small piece, habit of the trade (0.25 to 0.60)
FATTY = 0.30  # a spray with more fat than this is a velvet, otherwise a glaze


@dataclass(frozen=True, slots=True, kw_only=True)
class Coat:
    """One coat: what it is together with all under it, and what it is made of in mass and thickness."""

    around: Around
    volume: CubicMetre
    mass: Kilogram
    thickness: Metre
    taken: Kilogram
    stated: bool
    thickness_low: Metre | None = None
    thickness_high: Metre | None = None
    basis: tuple[Basis, ...] = ()


GEOMETRY = Basis(model="even coat by offset of the section", source="crc-concise-math", valid="any section")
STATED = Basis(model="stated in the dessert file", source="practice", valid="")


def coat_of_thickness(under: Around, thickness: Metre, mix: Cooked) -> Coat:
    """The even coat of a stated mean thickness."""
    if not 0 < thickness < 0.05:
        raise BadInput(f"A coat of {1000 * thickness:.6g} mm cannot be.", remedy="give a thickness above 0 mm.")
    volume = under.coat(thickness)
    mass = volume * mix.density
    return Coat(
        around=under.coated(thickness),
        volume=volume,
        mass=mass,
        thickness=thickness,
        taken=mass,
        stated=True,
        basis=(STATED, GEOMETRY),
    )


def coat_of_mass(under: Around, mass: Kilogram, mix: Cooked, *, stated: bool = True) -> Coat:
    """The even coat of a stated mass, and the mean thickness it comes to."""
    if not 0 < mass < 10:
        raise BadInput(f"A coat of {1000 * mass:.6g} g cannot be.", remedy="give a mass above 0 g.")
    volume = mass / mix.density
    thickness = under.thickness_of(volume)
    return Coat(
        around=under.coated(thickness),
        volume=volume,
        mass=mass,
        thickness=thickness,
        taken=mass,
        stated=stated,
        basis=(STATED, GEOMETRY) if stated else (GEOMETRY,),
    )


def stated_dip(under: Around, dip: Dip, mix: Cooked) -> Coat | None:
    """The coat of a dip whose thickness or mass the chef states; None when neither is.

    With both, the thickness is drawn and the mass is weighed: what the even coat does not hold is the foot and drips.
    """
    if dip.thickness is not None:
        coat = coat_of_thickness(under, dip.thickness, mix)
        if dip.mass is None:
            return coat
        return Coat(
            around=coat.around,
            volume=coat.volume,
            mass=dip.mass,
            thickness=coat.thickness,
            taken=dip.mass,
            stated=True,
            basis=coat.basis,
        )
    return coat_of_mass(under, dip.mass, mix) if dip.mass is not None else None


def spray_coat(under: Around, spray: Spray, mix: Cooked, learned: Learned | None = None) -> Coat:
    """The coat of a spray from what lands on one piece, all passes together, or from what lands on its surface.

    With neither stated, the usual weight of a velvet or of a glaze is taken. An overspray that is not told is the one
    learned from the gun, or the usual one.
    """
    overspray = spray.overspray
    if overspray is None:
        overspray = USUAL_OVERSPRAY if learned is None else 1 - learned.factor
    if not 0 <= overspray < 1:
        raise BadInput(
            f"An overspray of {100 * overspray:.0f} % leaves nothing on the piece.",
            remedy="give the share that misses the piece, 25 to 60 % as a rule.",
        )
    stated = spray.lands is not None or spray.per_area is not None
    usual = USUAL_VELVET if mix.composition.fat > FATTY else USUAL_GLAZE
    lands = spray.lands
    if lands is None:
        lands = (spray.per_area if spray.per_area is not None else usual) * under.area
    coat = coat_of_mass(under, lands, mix, stated=stated)
    low = high = None
    basis = coat.basis
    if not stated:
        low, high = coat.thickness * 0.5, coat.thickness * 1.5
        basis = (Basis(model="usual weight of a spray", source="practice", valid="0.1 to 0.4 kg/m2"), *basis)
    return Coat(
        around=coat.around,
        volume=coat.volume,
        mass=coat.mass,
        thickness=coat.thickness,
        taken=lands / (1 - overspray),
        stated=stated,
        thickness_low=low,
        thickness_high=high,
        basis=basis,
    )
