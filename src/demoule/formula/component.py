"""What a chef writes for a component: what is weighed, and what is done to it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

from demoule.units import (
    CubicMetre,
    Fraction,
    Kelvin,
    Kilogram,
    KilogramPerCubicMetre,
    MassFraction,
    Metre,
    Second,
    Watt,
)

__all__ = [
    "Amount",
    "Bake",
    "Blanch",
    "Blend",
    "Boil",
    "Candy",
    "Component",
    "Cook",
    "Cool",
    "Drain",
    "Fold",
    "Freeze",
    "GoodBatch",
    "Heat",
    "Hydrate",
    "LaterSyrup",
    "Note",
    "Pan",
    "Rest",
    "SetGel",
    "Step",
    "Strain",
    "Weighed",
    "Whip",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Amount:
    """How much of one thing is weighed; exactly one of the fields is given.

    `percent` counts of the component's base (`Component.base`), or of the whole when there is none.
    `count` counts leaves, pods or pieces. `share` takes that part of all that another component gives.
    """

    mass: Kilogram | None = None
    volume: CubicMetre | None = None
    count: float | None = None
    percent: Fraction | None = None
    share: Fraction | None = None
    written: str = ""  # as the chef wrote it


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighed:
    """One line of a component: an ingredient of the larder or another component, by name."""

    what: str
    amount: Amount
    where: str  # path into the file


@dataclass(frozen=True, slots=True, kw_only=True)
class Pan:
    """A vessel, by the surface that is open to the air and the surface that is wetted."""

    name: str  # "24 cm", "GN 1/1 40 mm"
    open_area: float  # m2
    depth: Metre | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Hydrate:
    """Swell gelatine or powder in the cold."""

    duration: Second = 900.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Heat:
    """Warm to a temperature, all of it or a part ("half the cream")."""

    to: Kelvin
    part: str = ""
    pan: Pan | None = None
    duration: Second | None = None
    evaporates: Kilogram | None = None  # measured
    covered: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Boil:
    """Keep at the boil for a time, or until a measured mass of water is off."""

    duration: Second | None = None
    pan: Pan | None = None
    covered: bool = False
    evaporates: Kilogram | None = None
    strength: str = "rolling"  # "gentle", "rolling"
    part: str = ""  # the lines in the pan; empty: all that is in work


@dataclass(frozen=True, slots=True, kw_only=True)
class Cook:
    """Cook a syrup or a purée to a temperature or to a Brix; the water that goes off follows exactly."""

    to_temperature: Kelvin | None = None
    to_solids: MassFraction | None = None  # soluble solids
    pan: Pan | None = None
    power: Watt | None = None
    part: str = ""
    rate: float | None = None  # kg/s of water off at the boil, from the pot weighed twice


@dataclass(frozen=True, slots=True, kw_only=True)
class Blanch:
    """Scald in plain water, once or several times; `piece` empty: cut as for the candying that follows."""

    duration: Second = 60.0
    water: Kilogram | None = None
    times: int = 1
    temperature: Kelvin = 368.15
    piece: str = ""
    size: Metre = 0.016


@dataclass(frozen=True, slots=True, kw_only=True)
class LaterSyrup:
    """A further day in the same syrup, boiled up to a higher Brix before the fruit goes back in; None: as it is."""

    duration: Second
    temperature: Kelvin
    to_solids: MassFraction | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Candy:
    """Keep fruit in a syrup that is another component, until sugar and water have changed places.

    When `gives` and `solids` are measured they win over the model. `later` stages it over hours or days.
    """

    syrup: str
    temperature: Kelvin = 358.15
    duration: Second = 14400.0
    piece: str = "wedge"  # slice, wedge, cube, stick, sphere, half
    size: Metre = 0.016
    covered: bool = True
    ratio: float | None = None  # kg syrup per kg fruit; None: all the syrup there is
    gives: Kilogram | None = None
    solids: MassFraction | None = None
    skin: bool = False
    later: tuple[LaterSyrup, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Drain:
    """Let the liquid run off."""

    loses: Fraction = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Blend:
    """Blend, emulsify or mix; what stays in the jug is lost."""

    loses: Fraction | None = None
    at: Kelvin | None = None
    part: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Strain:
    """Pass through a sieve; what stays behind is lost."""

    loses: Fraction | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Cool:
    """Cool to a temperature in a pan, in a room or over ice."""

    to: Kelvin
    pan: Pan | None = None
    room: str = ""
    duration: Second | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SetGel:
    """Leave to set."""

    at: Kelvin = 277.15
    duration: Second | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Rest:
    """Leave alone, not shorter than `at_least` and not longer than `at_most`."""

    at: Kelvin = 277.15
    at_least: Second | None = None
    at_most: Second | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Whip:
    """Beat air in, to an overrun or to a measured density of the foam."""

    overrun: Fraction | None = None
    density: KilogramPerCubicMetre | None = None
    at: Kelvin = 277.15


@dataclass(frozen=True, slots=True, kw_only=True)
class Fold:
    """Fold a whipped part in; some of its air is lost."""

    part: str = ""
    density: KilogramPerCubicMetre | None = None  # of the part folded in
    air_lost: Fraction | None = None
    at: Kelvin | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Bake:
    """Bake or dry; the water that goes off is measured as a share of the mass.

    `offcuts` is lost before the component counts as made (dough between discs that are cut raw). A sheet that is cut
    when it is used says so by `cut`, `per_sheet` and `sheet`: the component's mass is then that of the whole sheet.
    """

    at: Kelvin
    duration: Second
    loses: Fraction
    offcuts: Fraction = 0.0  # edges and the web between discs
    cut: Metre | None = None  # diameter of a disc
    per_sheet: float | None = None  # discs out of one making as written
    sheet: tuple[Metre, Metre] | None = None  # sides of the sheet


@dataclass(frozen=True, slots=True, kw_only=True)
class Freeze:
    """Freeze a component on its own before it is used."""

    room: str = ""
    to: Kelvin = 255.15


@dataclass(frozen=True, slots=True, kw_only=True)
class Note:
    """Something to do that changes neither mass nor composition; printed in the method."""

    text: str
    minutes: float | None = None
    at: Kelvin | None = None


Step: TypeAlias = (
    Hydrate
    | Heat
    | Boil
    | Cook
    | Blanch
    | Candy
    | Drain
    | Blend
    | Strain
    | Cool
    | SetGel
    | Rest
    | Whip
    | Fold
    | Bake
    | Freeze
    | Note
)


@dataclass(frozen=True, slots=True, kw_only=True)
class GoodBatch:
    """The chef's own good batch, against which a mix is compared.

    Parameters
    ----------
    ice
        Ice of the volume when it cut well, as its dossier told.
    cut_at
        The temperature at which it cut well; the ice of this recipe there is then the aim.
    gelling
        Gelling agent in the finished mix [kg/kg].
    """

    ice: Fraction | None = None
    cut_at: Kelvin | None = None
    gelling: MassFraction | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Component:
    """One mix of a dessert, as written for one making.

    Parameters
    ----------
    base
        Name of the line that counts as 100 % when amounts are percentages.
    to_make
        Wanted mass out of the last vessel; all amounts are scaled to it.
    losses
        Shares lost to vessels in the order of work ("pan", "bowl", "bag", "scraping"), each of what enters it.
    evaporation
        Measured water off in all [kg]; wins over what the steps would compute.
    gives
        Measured mass out of the last vessel [kg]; the rest of the loss is named "not told".
    density
        Measured, of the finished mix with its air.
    ph
        Measured.
    good
        The chef's good batch, to compare with.
    """

    name: str
    weighed: tuple[Weighed, ...]
    steps: tuple[Step, ...] = ()
    base: str = ""
    to_make: Kilogram | None = None
    losses: tuple[tuple[str, Fraction], ...] = ()
    evaporation: Kilogram | None = None
    gives: Kilogram | None = None
    density: KilogramPerCubicMetre | None = None
    ph: float | None = None
    where: str = ""
    label_name: str = ""
    good: GoodBatch | None = None
