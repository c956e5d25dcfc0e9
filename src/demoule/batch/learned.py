"""From what was weighed in this kitchen to the factors its models go by, each with the measurement it came from."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from demoule.batch.kitchen import Kitchen
from demoule.batch.measured import CandyingTest, ConductionTest, CupTest, DipTest, GunTest, PanTest
from demoule.cold.programme import Conduction
from demoule.composition import Composition, Constituent
from demoule.errors import BadInput, DemouleError, UnknownName
from demoule.figures import Finding
from demoule.formula.cooked import Cooked
from demoule.formula.evaporation import evaporation_flux
from demoule.formula.matter import boils_at
from demoule.physics.candy_course import Fruit, SyrupStage
from demoule.physics.candy_shapes import piece_shape
from demoule.physics.coat import integrated_mean_curvature
from demoule.physics.coating import Coating, coating_of
from demoule.physics.dipping import Core, ShellFactors
from demoule.physics.learning import DipTest as PhysicsDipTest
from demoule.physics.learning import (
    Learned,
    learn_from_candying,
    learn_from_dips,
    learn_from_folding,
    learn_from_gun,
    learned_rows,
    shell_factors,
)
from demoule.physics.tissue import Tissue, tissue_for
from demoule.piece import solids
from demoule.piece.design import Dip, Spray
from demoule.piece.dips import FROZEN_HEAT_CAPACITY, MOUSSE_AIR, frozen_effusivity
from demoule.piece.shapes import cavity_outline
from demoule.units import Fraction, Kelvin, Kilogram, SquareMetre

__all__ = ["LearnedHere", "conduction_learned", "learned_here", "rows_of", "shells_learned", "sprays_learned"]

_PIECE_DENSITY = 850.0  # kg/m3 of a piece whose weight was not noted: a mousse round a heart (judged)
_WATER = 998.2  # kg/m3 at 20 °C, by which a cup of water tells its volume
_STRANGE = (0.3, 3.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class LearnedHere:
    """Everything that a kitchen's measurements teach, apart from the dips of a certain coating.

    Parameters
    ----------
    rows
        All factors in words, as they are shown.
    tissues
        What candying taught, by component; "" counts for all fruit.
    evaporation
        Factor on the water that goes off an open pan; None: nothing was measured.
    folding
        Share of the air lost in folding.
    """

    rows: tuple[Learned, ...]
    tissues: tuple[tuple[str, Tissue], ...]
    evaporation: float | None
    folding: float | None


def _words(what: str, measured: str) -> str:
    return f"{what} on {measured}" if measured else what


def _at(kitchen_part: str, error: DemouleError) -> DemouleError:
    return error.at(f"calibrations.{kitchen_part}")


def learned_here(kitchen: Kitchen) -> LearnedHere:
    """What all measurements of a kitchen but its dips teach.

    Raises
    ------
    BadInput
        A measurement that cannot be; its place is that in the kitchen file.
    """
    rows: list[Learned] = []
    tissues: list[tuple[str, Tissue]] = []
    pans: list[float] = []
    folding = None
    for one in kitchen.measurements:
        try:
            if isinstance(one, CandyingTest):
                tissue = _tissue(one)
                tissues.append((one.component, tissue))
                first = tissue_for(one.at)
                speed = tissue.diffusivity_at_90 / first.diffusivity_at_90
                rows.append(_row("candying", speed, tissue.learned_from, tissue.spread - 1))
                rows.append(_row("water given for sugar taken", tissue.water_per_sugar, tissue.learned_from, 0.15))
            elif isinstance(one, PanTest):
                factor = _evaporation(one, kitchen)
                pans.append(factor)
                words = _words(
                    f"{one.off * 1000:.0f} g off a pan ({one.pan.name}) in {one.duration / 60:.3g} min", one.measured
                )
                rows.append(_row("evaporation", factor, words, 0.15))
            elif isinstance(one, CupTest):
                learned = _folding(one)
                folding = learned.factor
                rows.append(learned)
            elif isinstance(one, GunTest):
                rows.append(_gun(one))
        except DemouleError as error:
            raise _at(one.name, error) from None
    evaporation = math.prod(pans) ** (1 / len(pans)) if pans else None
    return LearnedHere(rows=tuple(rows), tissues=tuple(tissues), evaporation=evaporation, folding=folding)


def _row(what: str, factor: float, words: str, spread: float) -> Learned:
    return Learned(what=what, factor=factor, learned_from=words, spread=spread)


def _tissue(test: CandyingTest) -> Tissue:
    fruit = Fruit(
        mass=test.fruit,
        soluble_solids=test.fruit_solids,
        shape=piece_shape(test.piece, test.size),
        tissue=tissue_for(test.at),
        skinned=test.skin,
    )
    stage = SyrupStage(mass=test.syrup, solids=test.syrup_solids, temperature=test.at, duration=test.duration)
    words = _words(f"{test.fruit * 1000:.0f} g of fruit after {test.duration / 3600:.3g} h in syrup", test.measured)
    return learn_from_candying(
        fruit, stage, mass_after=test.fruit_after, solids_after=test.solids_after, learned_from=words
    )


def _evaporation(test: PanTest, kitchen: Kitchen) -> float:
    boil: Kelvin = boils_at(Composition.of({Constituent.WATER: 1.0}), kitchen.altitude)
    flux = evaporation_flux(
        boil if test.at is None else test.at, boil, strength=test.strength, covered=test.covered
    ).usual
    factor = test.off / (flux * test.pan.open_area * test.duration)
    if not _STRANGE[0] <= factor <= _STRANGE[1]:
        raise BadInput(
            f"{test.off * 1000:.0f} g off in {test.duration / 60:.3g} min is {factor:.2g} times what such a pan loses.",
            remedy="weigh the pot again, and check pan, minutes and whether it boiled.",
        )
    return factor


def _folding(test: CupTest) -> Learned:
    if not test.water > 0:
        raise BadInput(
            "A cup of water has a weight above zero.", remedy="weigh the cup level with water, empty cup off."
        )
    foam, base, mousse = (_WATER * cup / test.water for cup in (test.foam, test.base, test.mousse))
    return learn_from_folding(
        before=mousse,
        part_before=foam,
        base=base,
        part_share=test.share,
        learned_from=_words("cups weighed before and after folding", test.measured),
    )


def _gun(test: GunTest) -> Learned:
    words = _words(f"{test.pieces} piece{'s' if test.pieces > 1 else ''} sprayed", test.measured)
    return learn_from_gun(
        sprayed=test.sprayed, landed=test.landed / test.pieces, pieces=test.pieces, learned_from=words
    )


def sprays_learned(kitchen: Kitchen, skins: tuple[object, ...]) -> dict[str, Learned]:
    """Share of the spray that lands, by the component that is sprayed; one measured for it wins over one for all."""
    found: dict[str, Learned] = {}
    tests = [one for one in kitchen.measurements if isinstance(one, GunTest)]
    for skin in skins:
        if isinstance(skin, Spray):
            fitting = [t for t in tests if t.component == skin.component] or [t for t in tests if not t.component]
            if fitting:
                try:
                    found[skin.component] = _gun(fitting[-1])
                except DemouleError as error:
                    raise _at(fitting[-1].name, error) from None
    return found


def shells_learned(
    kitchen: Kitchen,
    skins: tuple[object, ...],
    cooked: Mapping[str, Cooked],
    *,
    dessert: str = "",
    air: Fraction = MOUSSE_AIR,
) -> dict[str, ShellFactors]:
    """What test dips teach about each coating that a dessert is dipped into.

    A test in just this coating wins; else the one whose fat is nearest. Without any, a "dip" factor that the kitchen
    keeps is taken.

    Parameters
    ----------
    air
        Share of air in this dessert's body, for tests that were made with its pieces.
    """
    found: dict[str, ShellFactors] = {}
    for skin in skins:
        if not isinstance(skin, Dip) or skin.component not in cooked:
            continue
        composition = cooked[skin.component].composition
        tests = list(_usable(kitchen, skin.component, dessert, composition))
        if tests:
            test, fat = min(
                tests, key=lambda pair: (not _own(pair[0], skin.component, dessert), abs(pair[1] - composition.fat))
            )
            try:
                found[skin.component] = _shell(
                    test, Coating(fat=fat), kitchen, air if test.dessert == dessert else MOUSSE_AIR
                )
            except DemouleError as error:
                raise _at(test.name, error) from None
            continue
        rows = [(one.what, one.factor, one.measured) for one in kitchen.calibrations]
        kept = shell_factors(
            rows, fat=composition.fat, bath=skin.bath, piece=skin.piece, duration=max(skin.duration, 0.5)
        )
        if kept is not None:
            found[skin.component] = kept
    return found


def _usable(
    kitchen: Kitchen, component: str, dessert: str, composition: Composition
) -> Iterator[tuple[DipTest, float]]:
    for one in kitchen.measurements:
        if not isinstance(one, DipTest):
            continue
        if one.fat is not None:
            yield one, one.fat
        elif _own(one, component, dessert):
            yield one, coating_of(composition).fat


def _own(test: DipTest, component: str, dessert: str) -> bool:
    """Whether a test was made in just this coating."""
    return test.component == component and test.dessert in ("", dessert)


def _shell(test: DipTest, coating: Coating, kitchen: Kitchen, air: Fraction) -> ShellFactors:
    area, curvature, mass = _body(test, kitchen)
    core = Core(
        area=area,
        curvature=curvature,
        temperature=test.piece,
        effusivity=frozen_effusivity(air),
        mass=mass,
        heat_capacity=FROZEN_HEAT_CAPACITY,
    )
    pieces = sum(one.pieces for one in test.dips)
    words = _words(f"{pieces} test dip{'s' if pieces > 1 else ''}", test.measured)
    return learn_from_dips(
        [
            PhysicsDipTest(
                coating=coating,
                core=core,
                bath=test.bath,
                duration=one.duration,
                shell_mass=one.gained / one.pieces,
                lift=test.lift,
            )
            for one in test.dips
        ],
        words,
    )


def _body(test: DipTest, kitchen: Kitchen) -> tuple[SquareMetre, float, Kilogram]:
    """Surface [m2], integrated mean curvature [m] and mass [kg] of the pieces that were dipped."""
    if test.mould:
        mould = kitchen.mould(test.mould)
        if mould is None:
            raise UnknownName("mould", test.mould, [one.name for one in kitchen.moulds])
        outline, _ = cavity_outline(mould.cavity)
        area, curvature, volume = solids.area(outline), integrated_mean_curvature(outline), solids.volume(outline)
    elif test.area is not None:
        radius = math.sqrt(test.area / (4 * math.pi))
        area, curvature, volume = test.area, 4 * math.pi * radius, 4 / 3 * math.pi * radius**3
    else:
        raise BadInput(
            "Nothing tells how large the dipped pieces were.", remedy="name their mould, or give their area."
        )
    return area, curvature, test.weighs if test.weighs is not None else _PIECE_DENSITY * volume


def conduction_learned(kitchen: Kitchen, dessert: str) -> Conduction | None:
    """How well the mixes of a dessert conduct, as the last log of it told; None: nobody measured it."""
    logs = [one for one in kitchen.measurements if isinstance(one, ConductionTest) and one.dessert == dessert]
    if not logs:
        return None
    last = logs[-1]
    return Conduction(factor=last.factor, band=last.band, learned=_words(last.source or last.name, last.measured))


def rows_of(shells: Mapping[str, ShellFactors]) -> tuple[Learned, ...]:
    """The factors of dips in words, one entry for each coating."""
    found: list[Learned] = []
    for component, factors in shells.items():
        for row in learned_rows(factors):
            placed: tuple[Finding, ...] = tuple(replace(f, where="calibrations") for f in row.findings)
            found.append(replace(row, what=f"{component}: {row.what}", findings=placed))
    return tuple(found)
