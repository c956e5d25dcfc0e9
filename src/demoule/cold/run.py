"""What the cold stage found: times with bands, curves, fields at chosen moments, and the energy balance."""

from __future__ import annotations

from dataclasses import dataclass

from demoule.cold.programme import Room, Stage
from demoule.figures import Basis, Finding
from demoule.units import FloatArray, Joule, Kelvin, Second

__all__ = ["ColdRun", "Curve", "StageRun", "Still", "Window"]


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
class Still:
    """The field at one moment on the computing grid: arrays of shape (n_z, n_r); NaN outside the piece."""

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


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ColdRun:
    """All stages of a dessert's programme, in order."""

    stages: tuple[StageRun, ...]
    findings: tuple[Finding, ...] = ()

    def stage(self, what: str) -> StageRun | None:
        """The first stage of that name."""
        return next((run for run in self.stages if run.stage.what == what), None)
