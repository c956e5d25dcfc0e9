"""Rooms, and the programme of stages that a piece goes through."""

from __future__ import annotations

from dataclasses import dataclass

from demoule.units import Fraction, Kelvin, Metre, Second, WattPerSquareMetreKelvin

__all__ = ["HARDENING", "Conduction", "Programme", "Room", "Softened", "Stage", "Until"]

HARDENING = ("harden heart", "harden piece")
"""Stages in which something warm is filled into a mould and frozen."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """A freezer, a refrigerator or a bench: its air, and how hard it takes or gives heat.

    `surface` is the surface coefficient stated or learned; None: computed from `air_speed`, size and radiation.
    `capacity` is the heat that the machine takes out at its set temperature [W]; None: from its rating or its power.
    `opened` and `defrosts` are how often the door is opened and the coil thawed [1/s].
    """

    name: str
    air: Kelvin
    surface: WattPerSquareMetreKelvin | None = None
    air_speed: float | None = None  # m/s
    humidity: Fraction | None = None
    levels: float | None = None  # of 600 x 400
    rated_mass: float | None = None  # kg per cycle
    rated_time: Second | None = None
    learned: str = ""  # date and log it was learned from
    learned_band: Fraction | None = None  # how far either way the learned coefficient may lie
    power: float | None = None  # electric input [W]
    capacity: float | None = None
    opened: float | None = None
    defrosts: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Until:
    """The end of a stage: one place of the piece reaches a temperature."""

    place: str  # "core", "mean", "surface"
    temperature: Kelvin


@dataclass(frozen=True, slots=True, kw_only=True)
class Softened:
    """How soft a layer is to be when it is eaten: so much of its volume, air counted, is ice at most and at least.

    `layer` is "heart" or "body".
    """

    layer: str
    most: Fraction
    least: Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """One stay in one room.

    Parameters
    ----------
    what
        "harden heart", "harden piece", "even out", "dip and spray", "keep", "thaw", "table", "stand".
    room
        Name of a room of the kitchen, or `own_room` when air and coefficient are stated on the spot.
    until, duration
        The end; with neither, the stage lasts until the piece has the temperature of the room.
    ready
        Range of the core in which the piece is ready to eat (low, high) [K], and `ready_body`, that of the mean of the
        body.
    softened
        How soft heart or body are to be, beside or instead of these temperatures.
    openings
        How often the door is opened in this stage, a quarter of an hour apart; on top of the room's own.
    assumed
        Whether nobody wrote it: a stage that every such piece goes through.
    """

    what: str
    room: str = ""
    own_room: Room | None = None
    until: Until | None = None
    duration: Second | None = None
    at_most: Second | None = None
    ready: tuple[Kelvin, Kelvin] | None = None
    in_mould: bool | None = None  # None: hardening in the mould, the rest out of it
    covered: bool = False  # the open face of a mould under film or lid
    contact: WattPerSquareMetreKelvin | None = None  # of what the foot stands on; None: like the air
    where: str = ""
    ready_body: tuple[Kelvin, Kelvin] | None = None
    openings: int = 0
    assumed: bool = False
    softened: tuple[Softened, ...] = ()

    @property
    def has_window(self) -> bool:
        """Whether it waits until the piece is ready to eat."""
        return self.ready is not None or bool(self.softened)


@dataclass(frozen=True, slots=True, kw_only=True)
class Conduction:
    """How well the mixes of a piece conduct, as a factor on what is computed, learned from a log.

    `band` is how far either way it may lie, `learned` where and when it was learned.
    """

    factor: float
    band: Fraction
    learned: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Programme:
    """All stages in the order of work, and how finely they are computed."""

    stages: tuple[Stage, ...]
    grid: Metre = 0.001
    tolerance: float = 0.03  # K, of the time stepping
    stills: int = 5  # fields kept of each stage, evenly from its start to its end
    conduction: Conduction | None = None  # None: as computed
