"""How sugar goes into fruit and water out of it while both lie in a syrup, hour by hour and at the end."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from demoule.composition import COUNT, POLYOLS, SACCHARIDES, Composition, Constituent
from demoule.errors import BadInput
from demoule.figures import Basis, Finding, Severity, Status, basis_of, published
from demoule.physics.candy_course import Block, Course, Fruit, SyrupStage, course_of, saturation_of
from demoule.physics.tissue import tissue_diffusivity
from demoule.units import FloatArray, Fraction, Kilogram, MassFraction, Second, celsius

__all__ = ["Candied", "EndState", "candied_compositions", "candy", "candying_time", "end_state"]

SUGAR_DENSITY, WATER_DENSITY = 1590.0, 1000.0  # kg/m3, of what goes in and what comes out, for the change of volume


@dataclass(frozen=True, slots=True, kw_only=True)
class EndState:
    """Where fruit and syrup come to rest: one Brix in both, whatever the shape and the hours."""

    solids: MassFraction
    sugar_gained: Kilogram
    mass_change: Fraction  # of the fruit's mass at the start
    fruit_mass: Kilogram
    syrup_mass: Kilogram


@published(
    gives="Brix and masses of fruit and syrup at the end of candying",
    source="mass-balance",
    valid="any fruit and syrup without evaporation, or with a stated loss of water",
    error="exact; the mass of the fruit by its ratio of water to sugar",
    status=Status.READ,
)
def end_state(fruit: Fruit, syrup_mass: Kilogram, syrup_solids: MassFraction, evaporated: Kilogram = 0.0) -> EndState:
    """End of candying from the mass balance alone.

    Parameters
    ----------
    fruit
        The fruit as it goes in.
    syrup_mass, syrup_solids
        [kg], [kg/kg].
    evaporated
        Water that goes off on the way [kg].

    Returns
    -------
    EndState
        x = total sugar/(total sugar + water), sugar gained L0 (x - x0)/(1 + x (r - 1)), mass change G (1 - r).

    Examples
    --------
    >>> from demoule.physics.candy_shapes import piece_shape
    >>> fruit = Fruit(mass=1.0, soluble_solids=0.12, insoluble=0.0, shape=piece_shape("slice", 0.008))
    >>> round(end_state(fruit, 2.0, 0.65).solids, 3)
    0.473
    """
    if not syrup_mass > 0 or not 0 <= syrup_solids < 1 or evaporated < 0:
        raise BadInput(
            f"A syrup of {syrup_mass * 1000:.4g} g and {syrup_solids:.0%} solids is not possible.",
            remedy="give its mass above zero and its Brix below 100.",
        )
    x0, r, liquid = fruit.soluble_solids, fruit.tissue.water_per_sugar, fruit.liquid
    sugar = liquid * x0 + syrup_mass * syrup_solids
    total = liquid + syrup_mass - evaporated
    if total <= sugar:
        raise BadInput(
            "More water goes off than fruit and syrup hold together.", remedy="cover the pan or shorten the time."
        )
    x = sugar / total
    gained = liquid * (x - x0) / (1 + x * (r - 1))
    return EndState(
        solids=x,
        sugar_gained=gained,
        mass_change=gained * (1 - r) / fruit.mass,
        fruit_mass=fruit.mass + gained * (1 - r),
        syrup_mass=syrup_mass - gained * (1 - r) - evaporated,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Candied:
    """Fruit and syrup hour by hour; every array has the shape (n_times,).

    Parameters
    ----------
    time
        From the first syrup on [s].
    fruit_solids, syrup_solids
        Soluble solids of the fruit's juice and of the syrup [kg/kg].
    fruit_mass, syrup_mass
        [kg].
    share
        Of the way of its Brix to rest, within each stage.
    exchanged
        Share of the dissolved matter that has changed places, over all stages; 1 when everything is one.
    low, high
        (fruit solids, fruit mass, share) at the end with the slowest and the fastest likely tissue.
    depth, profile
        From the surface inwards [m], and the solids there at the end, shape (n_cells,).
    end
        Where the last stage would come to rest.
    volume
        Of the fruit at the end over its volume at the start.
    """

    time: FloatArray
    fruit_solids: FloatArray
    syrup_solids: FloatArray
    fruit_mass: FloatArray
    syrup_mass: FloatArray
    share: FloatArray
    exchanged: float
    low: tuple[float, float, float]
    high: tuple[float, float, float]
    depth: FloatArray
    profile: FloatArray
    end: EndState
    sugar_gained: Kilogram
    water_lost: Kilogram
    evaporated: Kilogram
    volume: Fraction
    stretched: bool
    basis: tuple[Basis, ...]
    findings: tuple[Finding, ...]

    def time_to(self, share: Fraction) -> Second | None:
        """Time from the start of the last syrup until that share of the way to rest; None when not reached."""
        last = len(self.share) - 1
        first = last
        while first > 0 and self.time[first - 1] < self.time[first]:
            first -= 1  # the next stage begins at the moment at which the one before ended
        t, s = self.time[first:] - self.time[first], self.share[first:]
        return None if s[-1] < share else _crossing(t, s, share)


def _crossing(t: FloatArray, s: FloatArray, share: float) -> float:
    # Uptake goes with the root of time at first: interpolate in it.
    return float(np.interp(share, s, np.sqrt(t))) ** 2


@published(
    gives="sugar into fruit and water out of it, hour by hour",
    source="candy-model",
    valid="pieces of 3 to 50 mm, 20 to 105 °C, syrup to 75 °Bx, at least as much syrup as fruit",
    error="times a factor 3 either way before a calibration, 25 % after one; the end exact",
    status=Status.JUDGED,
)
def candy(fruit: Fruit, stages: Sequence[SyrupStage], *, points: int = 60) -> Candied:
    """Fruit through one or several syrups.

    Parameters
    ----------
    fruit
        The fruit as it goes in.
    stages
        The syrups in order, over hours or days.
    points
        Moments kept of each stage.

    Raises
    ------
    BadInput
        No syrup, a syrup above its saturation, negative times, more water going off than there is.

    Notes
    -----
    One potential x = sugar/(sugar + water) and two flows on coordinates fixed to the solids of the fruit: sugar
    -c0 D grad x, water +r c0 D grad x, into a stirred bath whose sugar and water are counted; solved in one dimension
    (`piece_shape`) on 40 cells. Water follows sugar cell by cell, so that the balances close by construction.

    Examples
    --------
    >>> from demoule.physics.candy_shapes import piece_shape
    >>> fruit = Fruit(mass=1.0, soluble_solids=0.12, shape=piece_shape("wedge", 0.016))
    >>> hours = candy(fruit, [SyrupStage(duration=4 * 3600.0, temperature=358.15, mass=2.0, solids=0.65)])
    >>> bool(0.30 < hours.fruit_solids[-1] < hours.syrup_solids[-1])
    True
    """
    if not stages:
        raise BadInput("There is no syrup.", remedy="give at least one syrup with its mass and Brix.")
    spread = fruit.tissue.spread
    grid = np.linspace(0.0, 1.0, max(points, 2)) ** 2
    if len(stages) == 1 and stages[0].evaporates == 0:
        # The tissue's speed is then the clock's: one longer run gives the band as well.
        longer = np.unique(np.concatenate([grid, [1 / spread, spread]]))
        course = course_of(fruit, stages, longer, 1.0)
        rows = [int(np.searchsorted(longer, f)) for f in (1 / spread, spread)]
        edges = [(float(course.gained[row]), float(course.share[row])) for row in rows]
        kept = np.isin(longer, grid)
        course = replace(
            course,
            time=course.time[kept],
            gained=course.gained[kept],
            bath_sugar=course.bath_sugar[kept],
            bath_water=course.bath_water[kept],
            share=course.share[kept],
            cells=course.cells[kept],
            unmixed=1 - min(max(float(course.gained[kept][-1]) / course.end_gained, 0.0), 1.0)
            if abs(course.end_gained) > 1e-9
            else 0.0,
        )
    else:
        course = course_of(fruit, stages, grid, 1.0)
        edges = []
        for f in (1 / spread, spread):
            other = course_of(fruit, stages, np.array([0.0, 1.0]), f)
            edges.append((float(other.gained[-1]), float(other.share[-1])))
    return _candied(fruit, stages, course, edges)


def _candied(
    fruit: Fruit, stages: Sequence[SyrupStage], course: Course, edges: Sequence[tuple[float, float]]
) -> Candied:
    liquid, r, x0 = fruit.liquid, fruit.tissue.water_per_sugar, fruit.soluble_solids

    def solids(gained: FloatArray | float) -> FloatArray:
        return np.asarray((x0 + gained) / (1 - gained * (r - 1)))

    def mass(gained: FloatArray | float) -> FloatArray:
        return np.asarray(fruit.mass + liquid * (1 - r) * gained)

    gained = float(course.gained[-1])
    sugar, water = gained * liquid, r * gained * liquid
    start_volume = fruit.mass / fruit.density
    volume = (start_volume + sugar / SUGAR_DENSITY - water / WATER_DENSITY) / start_volume
    centres = Block(fruit).centres
    end_gained = course.end_gained
    taken = end_gained - gained
    end = EndState(
        solids=float(solids(end_gained)),
        sugar_gained=end_gained * liquid,
        mass_change=end_gained * liquid * (1 - r) / fruit.mass,
        fruit_mass=float(mass(end_gained)),
        syrup_mass=float(course.bath_sugar[-1] + course.bath_water[-1] + (r - 1) * taken) * liquid,
    )
    ends = sorted((float(solids(g)), float(mass(g)), share) for g, share in edges)
    stretched = _outside(fruit, stages, course)
    return Candied(
        time=course.time,
        fruit_solids=solids(course.gained),
        syrup_solids=course.bath_sugar / (course.bath_sugar + course.bath_water),
        fruit_mass=mass(course.gained),
        syrup_mass=(course.bath_sugar + course.bath_water) * liquid,
        share=course.share,
        exchanged=1 - course.unmixed,
        low=ends[0],
        high=ends[-1],
        depth=(1 - centres[::-1]) * fruit.shape.radius,
        profile=solids(course.cells[-1][::-1]),
        end=end,
        sugar_gained=sugar,
        water_lost=water,
        evaporated=course.evaporated * liquid,
        volume=float(volume),
        stretched=stretched,
        basis=(
            basis_of(candy, stretched=stretched),
            basis_of(tissue_diffusivity, stretched=stretched),
            basis_of(end_state),
        ),
        findings=_findings(fruit, stages, course, float(volume)),
    )


@published(
    gives="time for fruit to come a share of the way to rest in its syrup",
    source="candy-model",
    valid="pieces of 3 to 50 mm, 20 to 105 °C, syrup to 75 °Bx, no evaporation",
    error="a factor 3 either way before a calibration, 25 % after one",
    status=Status.JUDGED,
)
def candying_time(fruit: Fruit, stage: SyrupStage, share: Fraction = 0.9) -> tuple[Second, Second, Second]:
    """Time until a share of the way to rest, with its likely range: (time, low, high) [s].

    Raises
    ------
    BadInput
        A share outside 0 to 0.995; a syrup that loses water, which never comes to rest.

    >>> from demoule.physics.candy_shapes import piece_shape
    >>> fruit = Fruit(mass=1.0, soluble_solids=0.12, insoluble=0.0, shape=piece_shape("slice", 0.008))
    >>> hour = SyrupStage(duration=3600.0, temperature=358.15, mass=2.0, solids=0.65)
    >>> round(candying_time(fruit, hour, 0.5)[0] / 60)  # minutes
    73
    """
    if not 0 < share <= 0.995:
        raise BadInput(
            f"No one can wait for {share:.1%} of the way to rest.", remedy="ask for a share above 0 and up to 99 %."
        )
    if stage.evaporates > 0:
        raise BadInput(
            "A syrup that keeps losing water never comes to rest.", remedy="ask for the state after some hours instead."
        )
    # Long enough for the slowest solids: the flesh in the thickest syrup, whose decay is at least pi2/4 D/R2.
    solids = max(stage.solids or 0.0, fruit.soluble_solids)
    slowest = float(tissue_diffusivity(fruit.tissue, solids, stage.temperature)) / fruit.shape.radius**2
    long = replace(stage, duration=(2.5 - math.log(1 - share)) / (2.0 * slowest))
    course = course_of(fruit, [long], np.concatenate([[0.0], np.geomspace(1e-5, 1.0, 160)]), 1.0)
    time = _crossing(course.time, course.share, share)
    return time, time / fruit.tissue.spread, time * fruit.tissue.spread


# What moves with the juice; the rest of a fruit is its frame.
_DISSOLVED = np.zeros(COUNT, dtype=bool)
_DISSOLVED[[*SACCHARIDES, *POLYOLS]] = True
_DISSOLVED[[Constituent.ACIDS, Constituent.SALT, Constituent.ASH, Constituent.UNKNOWN_SUGARS, Constituent.ETHANOL]] = (
    True
)


def candied_compositions(
    fruit: Composition, fruit_mass: Kilogram, syrup: Composition, syrup_mass: Kilogram, candied: Candied
) -> tuple[tuple[Composition, Kilogram], tuple[Composition, Kilogram]]:
    """What fruit and syrup are made of after candying: ((fruit, its mass), (syrup, its mass)).

    Parameters
    ----------
    fruit, fruit_mass, syrup, syrup_mass
        As they went together, all syrups added up [kg].
    candied
        The course computed for them.

    Returns
    -------
    tuple
        Every kind of sugar, the acids and the minerals of both sides change places in the same share
        (`Candied.exchanged`); water follows the course. Mass is conserved constituent by constituent.

    Raises
    ------
    BadInput
        When the course was computed for other masses than these.
    """
    f, s = fruit.vector * fruit_mass, syrup.vector * syrup_mass
    pool = np.where(_DISSOLVED, f + s, 0.0)
    total = float(pool.sum())
    in_fruit = float(f[_DISSOLVED].sum())
    if total <= 0:
        return (fruit, fruit_mass), (syrup, syrup_mass)
    gained = min(max(candied.sugar_gained, -in_fruit), total - in_fruit)
    share = min(max(candied.exchanged, 0.0), 1.0)
    if share > 1e-12:  # at rest the fruit holds `rest` of the pool; now it has come its share of the way there
        rest = min(max((in_fruit + gained / share) / total, 0.0), 1.0)
        new = (1 - share) * np.where(_DISSOLVED, f, 0.0) + share * rest * pool
        new *= (in_fruit + gained) / max(float(new.sum()), 1e-300)
        new = np.minimum(new, pool)
    else:
        new = np.where(_DISSOLVED, f, 0.0)
    water = f[Constituent.WATER] - candied.water_lost
    left = s[Constituent.WATER] + candied.water_lost - candied.evaporated
    if water < -1e-9 or left < -1e-9:
        raise BadInput(
            "The course of the candying belongs to other masses than these.",
            remedy="compute it again for this fruit and this syrup.",
        )
    after_f = np.where(_DISSOLVED, new, f)
    after_s = np.where(_DISSOLVED, pool - new, s)
    after_f[Constituent.WATER], after_s[Constituent.WATER] = max(water, 0.0), max(left, 0.0)
    unknown_f = (1 - share) * np.array(fruit.unknown) + share * _mixed_unknown(fruit, fruit_mass, syrup, syrup_mass)
    unknown_s = (1 - share) * np.array(syrup.unknown) + share * _mixed_unknown(fruit, fruit_mass, syrup, syrup_mass)
    return (_composed(after_f, unknown_f), float(after_f.sum())), (_composed(after_s, unknown_s), float(after_s.sum()))


def _mixed_unknown(a: Composition, a_mass: float, b: Composition, b_mass: float) -> FloatArray:
    mixed: FloatArray = (np.array(a.unknown) * a_mass + np.array(b.unknown) * b_mass) / (a_mass + b_mass)
    return mixed


def _composed(masses: FloatArray, unknown: FloatArray) -> Composition:
    x = np.maximum(masses, 0.0)
    return Composition(fractions=tuple((x / x.sum()).tolist()), unknown=tuple(np.clip(unknown, 0.0, 1.0).tolist()))


def _outside(fruit: Fruit, stages: Sequence[SyrupStage], course: Course) -> bool:
    thickness = 2 * fruit.shape.radius
    richest = float(np.max(course.bath_sugar / (course.bath_sugar + course.bath_water)))
    temperatures = [celsius(stage.temperature) for stage in stages]
    ratio = min((stage.mass for stage in stages if stage.mass is not None), default=0.0) / fruit.mass
    return not (
        0.003 <= thickness <= 0.05
        and min(temperatures) >= 20
        and max(temperatures) <= 105
        and richest <= 0.75
        and ratio >= 0.999
    )


def _findings(fruit: Fruit, stages: Sequence[SyrupStage], course: Course, volume: float) -> tuple[Finding, ...]:
    found = []
    step = 0.0
    first = stages[0]
    if first.solids is not None:
        step = first.solids - fruit.soluble_solids
    if step > 0.20 and fruit.tissue.water_per_sugar > 2.5:
        found.append(
            Finding(
                severity=Severity.CAUTION,
                rule="fruit shrivels in strong syrup",
                where="",
                says=f"Raw fruit of {fruit.soluble_solids * 100:.0f} °Bx meets a syrup of {first.solids or 0:.0%}: it "
                "loses water faster than sugar comes in.",
                why="whole cells let water out and keep sugar out.",
                remedy="blanch the fruit first, or start within 15 °Bx of it and rise 5 to 10 °Bx a day.",
            )
        )
    if volume < 0.7:
        found.append(
            Finding(
                severity=Severity.NOTE,
                rule="fruit shrinks",
                where="",
                says=f"The pieces end at about {volume:.0%} of their volume.",
                remedy="cut them larger, or raise the syrup in smaller steps.",
            )
        )
    last = stages[-1]
    limit = saturation_of(last)
    solids = float(course.bath_sugar[-1] / (course.bath_sugar[-1] + course.bath_water[-1]))
    if solids > limit:
        found.append(
            Finding(
                severity=Severity.CAUTION,
                rule="syrup grains",
                where="",
                says=f"The syrup ends at {solids * 100:.1f} °Bx, above the {limit * 100:.1f} at which it stays clear.",
                why="water has gone off while the fruit lay in it.",
                remedy="cover the pan, add the water that is missing, or use part glucose syrup.",
            )
        )
    return tuple(found)
