"""The course of sugar into fruit through its syrups: cells of flesh, a stirred bath, exact balances between them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from demoule.errors import BadInput
from demoule.physics.candy_shapes import PieceShape
from demoule.physics.solubility import sucrose_solubility
from demoule.physics.tissue import COOKED, Tissue, tissue_diffusivity
from demoule.units import FloatArray, Fraction, Kelvin, Kilogram, MassFraction, Metre, Second, celsius

__all__ = ["Course", "Fruit", "SyrupStage", "course_of", "saturation_of"]

CELLS = 40
SKIN_THICKNESS: Metre = 2.0e-4  # (judged)
SKIN_OVER_FLESH = 0.4  # diffusivity of skin over that of flesh (maldonado-2022)


@dataclass(frozen=True, slots=True, kw_only=True)
class Fruit:
    """The fruit that goes into the syrup.

    Parameters
    ----------
    mass
        Of all pieces [kg].
    soluble_solids
        Of its juice [kg/kg], a hundredth of its degree Brix.
    insoluble
        Share of the mass that stays behind when the juice is pressed out of the boiled fruit.
    shape, tissue
        Of one piece.
    skinned
        Whether the skin is still on, where the shape has one.
    density
        [kg/m3], for the change of volume.
    """

    mass: Kilogram
    soluble_solids: MassFraction
    shape: PieceShape
    tissue: Tissue = COOKED
    insoluble: Fraction = 0.03
    skinned: bool = False
    density: float = 1040.0

    def __post_init__(self) -> None:
        if not self.mass > 0 or not 0 <= self.soluble_solids < 0.9 or not 0 <= self.insoluble < 0.9:
            raise BadInput(
                f"Fruit of {self.mass * 1000:.4g} g with {self.soluble_solids:.0%} soluble and {self.insoluble:.0%} "
                "insoluble solids cannot be candied.",
                remedy="give a mass above zero, the Brix of its juice (fresh fruit 8 to 20) and its fibre.",
            )

    @property
    def liquid(self) -> Kilogram:
        """Juice, sugar and water together [kg]."""
        return self.mass * (1 - self.insoluble)


@dataclass(frozen=True, slots=True, kw_only=True)
class SyrupStage:
    """One syrup, or one day in it.

    Parameters
    ----------
    duration, temperature
        How long [s] and at what heat [K] the fruit lies in it.
    mass
        Of fresh syrup [kg]; None: the syrup of the stage before, raised to `solids`.
    solids
        Of the syrup [kg/kg]; None with `mass` None: as it stands.
    raised_by
        "sugar" stirred in or "boiling" down, when the syrup of the stage before is raised.
    evaporates
        Water going off [kg/s].
    saturation
        Solids at which this syrup grains at its temperature; None: that of plain sugar. Give the mixture's own when
        it holds glucose syrup or invert.
    """

    duration: Second
    temperature: Kelvin
    mass: Kilogram | None = None
    solids: MassFraction | None = None
    raised_by: str = "sugar"
    evaporates: float = 0.0
    saturation: MassFraction | None = None


class Block:
    """Cells of the stand-in, thin at the surface, and the flow between them."""

    def __init__(self, fruit: Fruit, cells: int = CELLS) -> None:
        m = fruit.shape.dimension
        k = np.arange(cells + 1) / cells
        faces = 1 - (1 - k) ** 2
        volumes = np.diff(faces**m)
        self.share = volumes / volumes.sum()
        centres = (faces[1:] + faces[:-1]) / 2
        self.centres = centres
        # Area over distance, per volume of the whole: flow between neighbours for a diffusivity of 1 and a radius of 1.
        inner = faces[1:-1] ** (m - 1) / np.diff(centres) * m
        outer = m / (1 - centres[-1])
        self.inner, self.outer = inner, outer
        self.radius = fruit.shape.radius
        skin = fruit.shape.skin_share if fruit.skinned else 0.0
        if skin > 0:
            # Flesh of the outermost half cell, and behind part of the surface the skin as well.
            half = 1 - centres[-1]
            through_skin = half + SKIN_THICKNESS / self.radius / SKIN_OVER_FLESH
            self.outer = m * ((1 - skin) / half + skin / through_skin)
        self.x0 = fruit.soluble_solids
        self.less = fruit.tissue.water_per_sugar - 1

    def solids(self, gained: FloatArray) -> FloatArray:
        """Soluble solids of the juice from sugar gained per juice there was."""
        result: FloatArray = (self.x0 + gained) / (1 - gained * self.less)
        return result


_GRID = np.linspace(0.0, 0.95, 951)


def _run_stage(
    block: Block,
    fruit: Fruit,
    bath: tuple[float, float],
    stage: SyrupStage,
    gained: FloatArray,
    way: float,
    times: FloatArray,
    speed: float = 1.0,
) -> FloatArray:
    """Sugar gained per juice there was, shape (n_times, n_cells), from a bath of (sugar, water) per juice there was.

    `way` is what the fruit has still to gain as a whole; it sets how finely time is stepped.
    """
    from scipy.integrate import odeint  # loads slowly, and only fruit needs it

    n = len(gained)
    diffusivity = tissue_diffusivity(fruit.tissue, _GRID, stage.temperature) * (speed / block.radius**2)
    # Flow between two cells goes with the diffusivity summed over the contents between them.
    between = np.concatenate([[0.0], np.cumsum((diffusivity[1:] + diffusivity[:-1]) / 2 * np.diff(_GRID))])
    sugar, water = bath
    start = float(block.share @ gained)
    away = stage.evaporates / fruit.liquid
    x0, less, per_share = block.x0, block.less, 1 / block.share
    conductance = np.append(block.inner, block.outer)
    rate, flow, x = np.empty(n + 1), np.zeros(n + 1), np.empty(n + 1)

    def change(state: FloatArray, t: float) -> FloatArray:
        g = state[:n]
        taken = state[n] - start
        np.divide(x0 + g, 1 - less * g, out=x[:n])
        x[n] = (sugar - taken) / (sugar + water + less * taken - away * t)
        potential = np.interp(x, _GRID, between)
        np.multiply(conductance, potential[1:] - potential[:-1], out=flow[1:])
        np.multiply(flow[1:] - flow[:-1], per_share, out=rate[:n])
        rate[n] = flow[n]  # what the bath gives is what the outermost cell takes: nothing is lost on the way
        return rate

    state = np.append(gained, start)
    out = odeint(change, state, times, ml=1, mu=1, rtol=1e-4, atol=3e-6 * max(way, 1e-6), mxstep=20000)
    result: FloatArray = out[:, :n]
    return result


@dataclass(frozen=True, slots=True, eq=False)
class Course:
    """One integration through all stages: moments in a row, shape (n_times,), per kg of juice at the start."""

    time: FloatArray
    gained: FloatArray  # mean over the fruit, per juice there was
    bath_sugar: FloatArray
    bath_water: FloatArray
    share: FloatArray
    cells: FloatArray  # through the last stage, shape (n_times of that stage, n_cells)
    unmixed: float
    evaporated: float
    end_gained: float


def _bath(stage: SyrupStage, before: tuple[float, float] | None, liquid: float, number: int) -> tuple[float, float]:
    """(sugar, water) of the syrup of a stage, per juice there was."""
    where = f"syrup {number}"
    if stage.mass is not None:
        if not stage.mass > 0 or stage.solids is None or not 0 <= stage.solids < 1:
            told = "no Brix" if stage.solids is None else f"{stage.solids:.0%} solids"
            raise BadInput(
                f"A syrup of {stage.mass * 1000:.4g} g with {told} is not possible.",
                where=where,
                remedy="give its mass above zero and its Brix below 100.",
            )
        mass = stage.mass / liquid
        return mass * stage.solids, mass * (1 - stage.solids)
    if before is None:
        raise BadInput("The first syrup has no mass.", where=where, remedy="say how much syrup the fruit goes into.")
    sugar, water = before
    now = sugar / (sugar + water)
    if stage.solids is None or abs(stage.solids - now) < 1e-12:
        return sugar, water
    if not now < stage.solids < 1:
        raise BadInput(
            f"The syrup stands at {now * 100:.1f} °Bx already; it cannot be raised to {stage.solids * 100:.1f}.",
            where=where,
            remedy="give a higher Brix, or fresh syrup with its mass.",
        )
    if stage.raised_by == "boiling":
        return sugar, sugar * (1 - stage.solids) / stage.solids
    if stage.raised_by != "sugar":
        raise BadInput(
            f"A syrup is raised by sugar or by boiling, not by “{stage.raised_by}”.", where=where, remedy="name one."
        )
    return water * stage.solids / (1 - stage.solids), water


def _check(stage: SyrupStage, bath: tuple[float, float], liquid: float, number: int) -> None:
    where = f"syrup {number}"
    if not 0 <= stage.duration < math.inf or stage.evaporates < 0:
        raise BadInput(
            f"{stage.duration / 3600:g} h in a syrup losing {stage.evaporates * 60000:g} g a minute is not possible.",
            where=where,
            remedy="give a time and a loss of zero or more.",
        )
    if not 263.15 <= stage.temperature <= 388.15:
        raise BadInput(
            f"Fruit is not candied at {celsius(stage.temperature):.0f} °C.",
            where=where,
            remedy="keep the syrup between 4 and 105 °C; 80 to 90 °C is usual for a quick candying.",
        )
    solids = bath[0] / sum(bath)
    limit = saturation_of(stage)
    if solids > limit + 0.005:
        raise BadInput(
            f"A syrup of {solids * 100:.1f} °Bx does not stay clear at {celsius(stage.temperature):.0f} °C: sugar "
            f"dissolves to {limit * 100:.1f} there.",
            where=where,
            remedy="take less sugar, more heat, or part glucose syrup and give the saturation of that mixture.",
        )
    if bath[1] - stage.evaporates * stage.duration / liquid < 0.12 * bath[0]:
        raise BadInput("The syrup would boil nearly dry.", where=where, remedy="cover the pan, or shorten the time.")


def course_of(fruit: Fruit, stages: Sequence[SyrupStage], grid: FloatArray, speed: float) -> Course:
    """Through all stages; `grid` holds the moments kept of each stage, as parts of its duration."""
    block = Block(fruit)
    liquid, less, x0 = fruit.liquid, block.less, block.x0
    cells = np.zeros(CELLS)
    bath: tuple[float, float] | None = None
    clock, gone, unmixed = 0.0, 0.0, 1.0
    columns: list[tuple[FloatArray, ...]] = []
    end_gained = 0.0
    course = np.zeros((1, CELLS))
    for number, stage in enumerate(stages, 1):
        bath = _bath(stage, bath, liquid, number)
        _check(stage, bath, liquid, number)
        start = float(block.share @ cells)
        held_sugar, held_water = x0 + start, 1 - x0 - (less + 1) * start
        away = stage.evaporates / liquid
        x_end = (bath[0] + held_sugar) / (sum(bath) + held_sugar + held_water - away * stage.duration)
        end_gained = (x_end - x0) / (1 + x_end * less)
        t = grid * stage.duration
        if stage.duration > 0:
            course = _run_stage(block, fruit, bath, stage, cells, abs(end_gained - start), t, speed)
        else:
            course = np.tile(cells, (len(t), 1))
        mean = course @ block.share
        taken = mean - start
        x_start = (x0 + start) / (1 - start * less)
        x = (x0 + mean) / (1 - mean * less)
        share = (x - x_start) / (x_end - x_start) if abs(x_end - x_start) > 1e-9 else np.ones_like(x)
        moved = float(taken[-1]) / (end_gained - start) if abs(end_gained - start) > 1e-9 else 1.0
        columns.append((clock + t, mean, bath[0] - taken, bath[1] + (less + 1) * taken - away * t, share))
        cells = course[-1]
        bath = (float(bath[0] - taken[-1]), float(bath[1] + (less + 1) * taken[-1] - away * t[-1]))
        clock += float(t[-1])
        gone += away * float(t[-1])
        unmixed *= 1 - min(max(moved, 0.0), 1.0)
    time, mean, sugar, water, share = (np.concatenate(parts) for parts in zip(*columns, strict=True))
    return Course(time, mean, sugar, water, share, course, unmixed, gone, end_gained)


def saturation_of(stage: SyrupStage) -> MassFraction:
    """Solids at which the syrup of a stage begins to grain [kg/kg]: its own, or that of plain sugar."""
    return stage.saturation if stage.saturation is not None else float(sucrose_solubility(stage.temperature))
