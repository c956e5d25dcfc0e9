"""The kitchen: what it owns, who works in it, and where it stands."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, field

from demoule.batch.measured import Measurement
from demoule.cold.programme import Room
from demoule.larder import Larder
from demoule.piece.design import Mould
from demoule.units import CubicMetre, Fraction, Kelvin, Kilogram, Metre, Second, Watt

__all__ = ["Bath", "Calibration", "Kitchen", "Mixer", "Person", "Sprayer"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Mixer:
    """A whipping bowl by the liquid cream it can take, smallest and largest."""

    name: str
    bowl: CubicMetre
    cream_least: CubicMetre
    cream_most: CubicMetre


@dataclass(frozen=True, slots=True, kw_only=True)
class Bath:
    """A vessel for dipping: what it holds, and the liquid below which a piece is no longer covered."""

    count: int
    least: Kilogram
    most: Kilogram


@dataclass(frozen=True, slots=True, kw_only=True)
class Sprayer:
    """A spray gun: its cup, and what stays in gun and hose for each colour."""

    cup: CubicMetre
    stays: Kilogram


@dataclass(frozen=True, slots=True, kw_only=True)
class Person:
    """Someone who works: shift as written (the plan reads it), pay per hour, what they may do.

    Parameters
    ----------
    shift
        "Mon–Sat 07:00–15:30"; several are parted by ";".
    skills
        Kinds of work; a kind that anyone is told to be able to do is left to those who are.
    breaks
        From and to in seconds after midnight, on every day of work.
    off
        Days on which this person does not come.
    overtime
        The most that may be added after a shift [s], and `overtime_factor`, what its hours cost of the pay.
    """

    name: str
    shift: str
    pay: float
    skills: frozenset[str] = frozenset()
    breaks: tuple[tuple[Second, Second], ...] = ()
    off: tuple[datetime.date, ...] = ()
    overtime: Second = 0.0
    overtime_factor: float = 1.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Calibration:
    """A factor learned from one measurement in this kitchen, with its date."""

    what: str
    factor: float
    measured: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Kitchen:
    """Everything about the place that a dessert's answers depend on.

    Parameters
    ----------
    altitude
        Above sea level [m].
    hob_power, hob_efficiency
        Electric power of one hob [W], and the share that reaches the pot.
    rejects
        Share of pieces that are not good, by dessert; "" holds for all others.
    market
        "EU" or "US".
    margin
        Gross margin on the selling price, for the price proposal.
    contingency
        Share made in excess of hearts and body, for what goes wrong.
    energy_price
        Per kWh, in the kitchen's currency.
    zone
        Time zone of its clock, by its name in the tz database.
    measurements
        What was weighed and read here to teach the models, as it was made.
    """

    name: str
    larder: Larder
    altitude: Metre = 0.0
    currency: str = "EUR"
    market: str = "EU"
    rooms: tuple[Room, ...] = ()
    moulds: tuple[Mould, ...] = ()
    mixers: tuple[Mixer, ...] = ()
    baths: tuple[Bath, ...] = ()
    sprayers: tuple[Sprayer, ...] = ()
    people: tuple[Person, ...] = ()
    hob_power: Watt = 3500.0
    hob_efficiency: Fraction = 0.85
    pans: tuple[Metre, ...] = (0.16, 0.20, 0.24, 0.28)
    oven_levels: int = 4
    air: Kelvin = 295.15
    rejects: tuple[tuple[str, Fraction], ...] = ()
    packaging: float = 0.0  # per piece, in the currency
    margin: Fraction = 0.70
    energy_price: float | None = None
    calibrations: tuple[Calibration, ...] = ()
    stock: tuple[tuple[str, int], ...] = field(default=())  # finished frozen pieces by dessert
    contingency: Fraction = 0.0
    pantry: tuple[tuple[str, Kilogram], ...] = ()  # ingredients on the shelf, by name
    zone: str = "UTC"
    measurements: tuple[Measurement, ...] = ()

    def room(self, name: str) -> Room | None:
        """A room by name."""
        return next((room for room in self.rooms if room.name == name), None)

    def mould(self, name: str) -> Mould | None:
        """A mould by name."""
        return next((mould for mould in self.moulds if mould.name == name), None)

    def reject_share(self, dessert: str) -> Fraction:
        """Share of pieces of a dessert that are not good."""
        shares = dict(self.rejects)
        return shares.get(dessert, shares.get("", 0.03))
