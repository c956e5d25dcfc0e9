"""What one weighing or reading in the kitchen teaches a model, as a factor with the place it was learned from."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from demoule.errors import BadInput
from demoule.figures import Finding, Severity
from demoule.physics.candy_course import Fruit, SyrupStage, course_of
from demoule.physics.coat import coat_thickness
from demoule.physics.coating import Coating
from demoule.physics.dipping import LIFT, ShellFactors, dip
from demoule.physics.freeze_on import STIRRING, Core
from demoule.physics.tissue import CALIBRATED, Tissue
from demoule.units import Fraction, Kelvin, Kilogram, KilogramPerCubicMetre, MassFraction, Second

__all__ = [
    "DipTest",
    "Learned",
    "learn_from_candying",
    "learn_from_dips",
    "learn_from_folding",
    "learn_from_gun",
    "learned_rows",
    "shell_factors",
]

STRANGE: tuple[float, float] = (0.4, 2.5)  # factors outside these ask for another look (judged)


@dataclass(frozen=True, slots=True, kw_only=True)
class Learned:
    """One number learned in this kitchen, for its file.

    Parameters
    ----------
    what
        "dip film", "dip freeze-on", "tissue diffusivity", "tissue water per sugar", "gun transfer", "folding loss" …
    factor
        The number itself; its meaning goes with `what`.
    learned_from
        The measurement in words, with its date when the chef gave one.
    spread
        Likely error of what is predicted with it, as a fraction.
    findings
        What is strange about it.
    """

    what: str
    factor: float
    learned_from: str
    spread: float
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class DipTest:
    """One test dip: the mean coat of some pieces weighed before and after, dry.

    Parameters
    ----------
    shell_mass
        What stayed on one piece [kg].
    """

    coating: Coating
    core: Core
    bath: Kelvin
    duration: Second
    shell_mass: Kilogram
    lift: float = LIFT
    stirring: float = STIRRING


def learn_from_dips(tests: Sequence[DipTest], learned_from: str) -> ShellFactors:
    """Factors on film and freeze-on from test dips.

    Parameters
    ----------
    tests
        One time gives one factor for both; two times that differ by half or more (1 and 6 s) tell the film, which is
        what a dip of no time leaves, from what freezes on with the root of the time.
    learned_from
        In words: date, number of pieces, bath.

    Raises
    ------
    BadInput
        No test, a coat of no mass, two tests of different coatings, times that make the film grow thinner than nothing.

    Notes
    -----
    Works on thicknesses, to which the two parts add up; the tests come out exactly.
    """
    if not tests:
        raise BadInput("No test dip was given.", remedy="weigh five pieces, dip, let dry and weigh again.")
    if any(not 0 < test.shell_mass < 0.5 for test in tests):
        raise BadInput(
            "A test dip without a coat teaches nothing.", remedy="give what stayed on one piece, in g, above zero."
        )
    if len({round(test.coating.fat, 3) for test in tests}) > 1:
        raise BadInput(
            "The test dips were made in different coatings.", remedy="learn from the dips of one coating at a time."
        )
    film, grown, measured = [], [], []
    for test in tests:
        whole, alone = (
            dip(test.coating, test.core, bath=test.bath, duration=t, lift=test.lift, stirring=test.stirring).thickness
            for t in (test.duration, 0.0)
        )
        film.append(alone)
        grown.append(whole - alone)
        volume = test.shell_mass / test.coating.density
        measured.append(coat_thickness(test.core.area, test.core.curvature, volume))
    m = np.array(measured)
    parts = np.column_stack([film, grown])
    single = float(np.dot(parts.sum(axis=1), m) / np.dot(parts.sum(axis=1), parts.sum(axis=1)))
    factors = (single, single)
    durations = [test.duration for test in tests]
    if max(durations) - min(durations) >= 0.5 * max(durations) and max(durations) >= 1.0:
        solved = np.linalg.lstsq(parts, m, rcond=None)[0]
        if (solved <= 0).any():
            raise BadInput(
                f"The dip of {max(durations):g} s took hardly more than that of {min(durations):g} s: no film and no "
                "growth fit both.",
                remedy="weigh again; check bath and piece temperature and that the pieces were dry.",
            )
        factors = (float(solved[0]), float(solved[1]))
    first = tests[0]
    return ShellFactors(
        film=factors[0],
        freeze_on=factors[1],
        fat=first.coating.fat,
        bath=sum(test.bath for test in tests) / len(tests),
        piece=sum(test.core.temperature for test in tests) / len(tests),
        shortest=min(durations),
        longest=max(durations),
        learned_from=learned_from,
    )


def shell_factors(
    rows: Sequence[tuple[str, float, str]], *, fat: Fraction, bath: Kelvin, piece: Kelvin, duration: Second
) -> ShellFactors | None:
    """Shell factors out of (what, factor, learned from) rows of a kitchen file; None when it holds none.

    "dip" counts for both parts; "dip film" and "dip freeze-on" for one each. A kitchen file keeps no conditions
    beyond its words: give those of the test as far as they are known.
    """
    film = freeze_on = None
    told = ""
    for what, factor, words in rows:
        if what in ("dip", "dip film"):
            film, told = factor, words
        if what in ("dip", "dip freeze-on"):
            freeze_on, told = factor, words
    if film is None and freeze_on is None:
        return None
    return ShellFactors(
        film=film if film is not None else freeze_on or 1.0,
        freeze_on=freeze_on if freeze_on is not None else film or 1.0,
        fat=fat,
        bath=bath,
        piece=piece,
        shortest=duration,
        longest=duration,
        learned_from=told,
    )


def learned_rows(factors: ShellFactors) -> tuple[Learned, ...]:
    """The rows for the kitchen file out of what test dips taught."""
    strange = tuple(
        Finding(
            severity=Severity.CAUTION,
            rule="test dip is strange",
            where="",
            says=f"This bath leaves {factor:.2g} times the {part} the model expects.",
            why="between 0.4 and 2.5 times is what technique and chocolate explain.",
            remedy="check the bath's thermometer, whether it was tempered, its fat, and that the pieces were dry.",
        )
        for part, factor in (("film", factors.film), ("frozen-on layer", factors.freeze_on))
        if not STRANGE[0] <= factor <= STRANGE[1]
    )
    if math.isclose(factors.film, factors.freeze_on, rel_tol=1e-9):
        return (
            Learned(
                what="dip", factor=factors.film, learned_from=factors.learned_from, spread=0.10, findings=strange[:1]
            ),
        )
    return (
        Learned(what="dip film", factor=factors.film, learned_from=factors.learned_from, spread=0.10, findings=strange),
        Learned(what="dip freeze-on", factor=factors.freeze_on, learned_from=factors.learned_from, spread=0.10),
    )


def learn_from_candying(
    fruit: Fruit, stage: SyrupStage, *, mass_after: Kilogram, solids_after: MassFraction, learned_from: str
) -> Tissue:
    """Diffusivity and water per sugar of a fruit from one weighing and one Brix reading.

    Parameters
    ----------
    fruit, stage
        As they went together; the stage lasts until the reading.
    mass_after, solids_after
        Of the drained fruit [kg], and of the juice pressed from it [kg/kg].

    Returns
    -------
    Tissue
        To be used in place of the first guess; times within 25 %.

    Raises
    ------
    BadInput
        No sugar gained, more than the syrup can give, or fruit so near to rest that the time tells nothing.

    Notes
    -----
    G = x (M - insoluble) - x0 L0; r = 1 - (M - M0)/G; then one root of the course of the fruit's Brix.
    """
    if stage.evaporates > 0:
        raise BadInput("A syrup that lost water cannot teach.", remedy="calibrate in a covered pan.")
    insoluble = fruit.mass * fruit.insoluble
    liquid = mass_after - insoluble
    if not liquid > 0 or not 0 < solids_after < 1 or not stage.duration > 0:
        raise BadInput(
            f"Fruit of {mass_after * 1000:.4g} g and {solids_after * 100:.4g} °Bx after candying is not possible.",
            remedy="weigh the drained fruit and read the Brix of its pressed juice.",
        )
    gained = solids_after * liquid - fruit.soluble_solids * fruit.liquid
    if gained <= 1e-4 * fruit.liquid:
        raise BadInput(
            f"The fruit has gained no sugar ({gained * 1000:.1f} g).",
            remedy="leave it in the syrup for an hour or two, then weigh and read again.",
        )
    ratio = 1 - (mass_after - fruit.mass) / gained
    if not -1.0 <= ratio <= 10.0:
        raise BadInput(
            f"By these readings {ratio:.1f} kg of water left for each kg of sugar that came in, which cannot be.",
            remedy="drain the fruit before weighing, and read the Brix of juice pressed from the whole piece.",
        )
    trial = replace(fruit, tissue=replace(fruit.tissue, water_per_sugar=ratio))
    # In one syrup of one heat the tissue's speed is the clock's: find the moment at which the model reads this Brix.
    grid = np.concatenate([[0.0], np.geomspace(1e-3, 300.0, 240)])
    course = course_of(trial, [stage], grid, 1.0)
    share = (solids_after - fruit.soluble_solids) / (
        (course.end_gained + fruit.soluble_solids) / (1 - course.end_gained * (ratio - 1)) - fruit.soluble_solids
    )
    if not 0 < share < 0.98:
        raise BadInput(
            f"The fruit has come {share:.0%} of its way: the hours tell nothing of how fast it went.",
            remedy="read earlier, when it has gone between a fifth and nine tenths of the way.",
        )
    moment = float(np.interp(share, course.share, np.sqrt(course.time))) ** 2
    factor = moment / stage.duration
    return Tissue(
        diffusivity_at_90=fruit.tissue.diffusivity_at_90 * factor,
        water_per_sugar=ratio,
        spread=CALIBRATED,
        learned_from=learned_from,
    )


def learn_from_gun(*, sprayed: Kilogram, landed: Kilogram, pieces: int = 1, learned_from: str) -> Learned:
    """Share of the spray that lands, from the gun and some pieces weighed before and after.

    Parameters
    ----------
    sprayed
        What the gun has lost [kg].
    landed
        What one piece has gained, mean of some [kg]; `pieces` were sprayed with it.

    >>> round(learn_from_gun(sprayed=0.030, landed=0.0018, pieces=10, learned_from="ten pieces").factor, 2)
    0.6
    """
    if pieces < 1 or not 0 < landed * pieces <= sprayed:
        raise BadInput(
            f"{landed * pieces * 1000:.1f} g on the pieces out of {sprayed * 1000:.1f} g from the gun is not possible.",
            remedy="weigh gun and pieces before and after; the gun loses more than the pieces gain.",
        )
    return Learned(what="gun transfer", factor=landed * pieces / sprayed, learned_from=learned_from, spread=0.10)


def learn_from_folding(
    *,
    before: KilogramPerCubicMetre,
    part_before: KilogramPerCubicMetre,
    base: KilogramPerCubicMetre,
    part_share: MassFraction,
    learned_from: str,
) -> Learned:
    """Share of the air lost in folding, from cups of the foam, the base and the finished mousse.

    Parameters
    ----------
    before
        Density of the mousse after folding [kg/m3].
    part_before, base
        Densities of the whipped part before folding and of the base without air [kg/m3].
    part_share
        Mass of the whipped part over that of the whole.

    Notes
    -----
    The whipped part is taken as dense as the base without its air, unless it is denser already.

    >>> learned = learn_from_folding(before=720.0, part_before=500.0, base=1040.0, part_share=0.5, learned_from="cups")
    >>> round(learned.factor, 2)
    0.18
    """
    if min(before, part_before, base) <= 0 or not 0 < part_share <= 1:
        raise BadInput("A cup has a weight above zero.", remedy="weigh one cup of each, level.")
    air_in = part_share * (1 / part_before - 1 / max(base, part_before))
    air_left = 1 / before - (1 - part_share) / base - part_share / max(base, part_before)
    if air_in <= 0:
        raise BadInput(
            "The whipped part holds no air.", remedy="weigh the same cup of it before folding; it must be lighter."
        )
    loss: Fraction = 1 - air_left / air_in
    if not -0.05 <= loss <= 1:
        raise BadInput(
            f"By these cups folding lost {loss:.0%} of the air, which cannot be.",
            remedy="weigh level cups of foam, base and mousse again, without pockets.",
        )
    return Learned(what="folding loss", factor=max(loss, 0.0), learned_from=learned_from, spread=0.10)
