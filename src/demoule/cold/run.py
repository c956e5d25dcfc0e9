"""What the cold stage found: times with bands, curves, fields at chosen moments, and the energy balance."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from demoule.cold.programme import Room, Stage
from demoule.figures import Basis, Finding
from demoule.units import FloatArray, Joule, Kelvin, Second

__all__ = ["ColdRun", "Curve", "Film", "Loaded", "Mark", "StageRun", "Still", "Swing", "Window", "Zones"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Curve:
    """Temperatures over time, each of shape (n_times,): seconds from the start of the stage, and kelvin."""

    time: FloatArray
    core: FloatArray
    mean: FloatArray
    surface: FloatArray
    heart_ice: FloatArray  # kg ice per kg of the heart; NaN without a heart
    body_ice: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Zones:
    """Temperatures by place at some of the moments of a stage, each of shape (n,): seconds, and kelvin.

    `heart` and `body` are means by mass, NaN where there is none; `outer_coldest` and `outer_warmest` are of the outer
    10 mm, through which a piece is to be cold before it is dipped.
    """

    time: FloatArray
    heart: FloatArray
    body: FloatArray
    outer_coldest: FloatArray
    outer_warmest: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A moment in a stage that a chef waits for or works against [s from its start]; None: not within what was run."""

    time: Second | None
    low: Second | None
    high: Second | None
    weakest: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Film:
    """Frost or dew on the skin over a stage, each of shape (n,): seconds, and kg/m2 with its band.

    Parameters
    ----------
    humidity
        Of the room, told or taken.
    taken
        Whether the humidity was taken for want of being told; the band then spans what such rooms have.
    """

    time: FloatArray
    mass: FloatArray
    low: FloatArray
    high: FloatArray
    humidity: float
    taken: bool


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Loaded:
    """A stage with everything that the making puts into its room at once.

    Parameters
    ----------
    trays, pieces
        In the room at once; pieces of what is frozen, hearts counted one by one.
    time, low, high
        Until the end of the stage [s]; None: not reached.
    clock, air
        Seconds, and the air of the room [K], shape (n,).
    warmest
        Of that air [K].
    capacity
        Heat that the machine takes out at its set temperature [W].
    heat, imbalance
        Given off by the whole load to the end [J], and its difference from what machine and room took, as a fraction.
    """

    trays: int
    pieces: int
    time: Second | None
    low: Second | None
    high: Second | None
    clock: FloatArray
    air: FloatArray
    warmest: Kelvin
    capacity: float
    heat: Joule
    imbalance: float
    assumed: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Swing:
    """How a kept piece follows its room over a day of opened doors and thawed coils: coldest and warmest [K].

    `openings` and `defrosts` are those of a day.
    """

    openings: float
    defrosts: float
    air: tuple[Kelvin, Kelvin]
    surface: tuple[Kelvin, Kelvin]
    mean: tuple[Kelvin, Kelvin]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Still:
    """The field at one moment on the computing grid: arrays of shape (n_z, n_r); NaN outside the piece.

    Of a piece that is not round: in the plane through its axis, r from the left (negative) to the right.
    """

    time: Second
    r: FloatArray  # centres [m], shape (n_r,)
    z: FloatArray  # centres above the foot [m], shape (n_z,)
    temperature: FloatArray
    ice: FloatArray  # share of the water that is ice


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """When the piece is ready to eat, in seconds from the start of the stage; None: not within the time computed."""

    opens: Second | None
    closes: Second | None
    opens_low: Second | None = None
    opens_high: Second | None = None
    closes_low: Second | None = None
    closes_high: Second | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StageRun:
    """One stage computed.

    Parameters
    ----------
    time, low, high
        Until its end [s], with the band for surface coefficient and conductivity; None when the end is not reached.
    started_at
        Mean temperature of the piece at the start [K].
    heat
        Heat that went in through the surface (negative: taken out) [J per piece], and `imbalance`, its difference
        from the change of enthalpy as a fraction.
    ended
        Core, mean and surface at the end [K].
    weakest
        The input that widens the band most, in words.
    marks
        By name: "demouldable", "dippable", "too soft to dip", "rime", "frost", "past its best", "slumps".
    zones
        Temperatures of heart, body and outer layer.
    film
        Frost or dew on a skin in the open air; None where none can settle or it was not followed.
    loaded
        The stage with the whole making in the room at once; None where the room's capacity is not known.
    swing
        Of a kept piece, where the room tells how often its door is opened or its coil thawed.
    """

    stage: Stage
    room: Room
    surface_coefficient: float
    time: Second | None
    low: Second | None
    high: Second | None
    started_at: Kelvin
    ended: tuple[Kelvin, Kelvin, Kelvin]
    curve: Curve
    stills: tuple[Still, ...]
    window: Window | None
    heat: Joule
    imbalance: float
    weakest: str
    assumed: tuple[str, ...]
    basis: tuple[Basis, ...]
    marks: Mapping[str, Mark] = field(default_factory=dict)
    zones: Zones | None = None
    film: Film | None = None
    loaded: Loaded | None = None
    swing: Swing | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ColdRun:
    """All stages of a dessert's programme, in order."""

    stages: tuple[StageRun, ...]
    findings: tuple[Finding, ...] = ()

    def stage(self, what: str) -> StageRun | None:
        """The first stage of that name."""
        return next((run for run in self.stages if run.stage.what == what), None)
