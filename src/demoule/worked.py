"""The whole chain of one dessert in one call; a stage whose inputs did not change is not computed again."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from demoule.batch import (
    Kitchen,
    Weighing,
    conduction_learned,
    learned_here,
    rows_of,
    shells_learned,
    sprays_learned,
    surroundings,
    weigh_up,
)
from demoule.cold import ColdRun, Programme, run_programme, whole_life
from demoule.cold.programme import HARDENING
from demoule.cold.varying import Base
from demoule.errors import BadInput, DemouleError
from demoule.figures import Finding, by_severity
from demoule.formula import Boil, Candy, Component, Cook, Cooked, Fold, Heat, Surroundings, cook_kept, in_order
from demoule.larder import Ingredient, Larder
from demoule.memory import Memory
from demoule.physics.dipping import ShellFactors
from demoule.physics.learning import Learned
from demoule.piece import Piece, PieceDesign, build
from demoule.piece.design import Spray
from demoule.piece.dips import MOUSSE_AIR
from demoule.units import Kelvin

__all__ = ["Dessert", "Memory", "Worked", "varied_from", "work_up"]

MOST_PIECES = 1_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Dessert:
    """One dessert as a chef describes it; frozen, compared by value.

    Parameters
    ----------
    own_items
        A chef's own ingredients and suppliers' sheets; they win over the larder's rows.
    names_fruit
        The fruit that the piece is named after or looks like, for the label.
    rejects
        Share of pieces that are not good, where it is known for this dessert; wins over the kitchen's.
    pieces
        The usual number; None: the good pieces of one filling of the kitchen's moulds.
    """

    name: str
    components: tuple[Component, ...]
    piece: PieceDesign
    programme: Programme
    about: str = ""
    own_items: tuple[Ingredient, ...] = ()
    names_fruit: str = ""
    rejects: float | None = None
    pieces: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Worked:
    """Every stage's result for one dessert."""

    dessert: Dessert
    kitchen: Kitchen
    larder: Larder
    cooked: Mapping[str, Cooked]
    piece: Piece
    cold: ColdRun
    weighing: Weighing
    findings: tuple[Finding, ...]
    learned: tuple[Learned, ...] = ()  # factors from this kitchen's measurements that went into it


MEMORY = Memory()


def work_up(dessert: Dessert, kitchen: Kitchen, pieces: int | None = None, memory: Memory = MEMORY) -> Worked:
    """Compute composition, piece, cold and batch of a number of good pieces of a dessert in a kitchen.

    Parameters
    ----------
    pieces
        Good pieces wanted; None: the dessert's usual number, else one filling of all the moulds.
    memory
        Where results of earlier calls are kept.

    Raises
    ------
    DemouleError
        What is wrong with the dessert, where in it, and what to do.
    """
    if pieces is not None and not 0 < pieces <= MOST_PIECES:
        raise BadInput(
            f"{pieces} pieces cannot be made; between 1 and {MOST_PIECES} can.",
            remedy="give the number of pieces wanted.",
        )
    try:
        larder = kitchen.larder.with_items(dessert.own_items) if dessert.own_items else kitchen.larder
        cooked = _cooked(dessert.components, larder, surroundings(kitchen), memory)
        shells = _shells(dessert, cooked, kitchen, memory)
        guns = sprays_learned(kitchen, dessert.piece.skins)
        piece = _built(dessert, cooked, kitchen, shells, guns, memory)
        wanted = pieces or dessert.pieces or _one_filling(piece, dessert, kitchen)
        cold = _frozen(dessert, piece, cooked, kitchen, wanted, memory)
        weighing = weigh_up(
            dessert.name,
            dessert.components,
            cooked,
            piece,
            kitchen,
            wanted,
            larder=larder,
            rejects=dessert.rejects,
            memory=memory,
        )
    except DemouleError as error:
        raise error.at(f"dessert “{dessert.name}”") from None
    learned = _learned(dessert, kitchen, shells, guns)
    findings = [finding for made in cooked.values() for finding in made.findings]
    findings += [finding for row in learned for finding in row.findings]
    findings += [*piece.findings, *cold.findings, *weighing.findings]
    return Worked(
        dessert=dessert,
        kitchen=kitchen,
        larder=larder,
        cooked=cooked,
        piece=piece,
        cold=cold,
        weighing=weighing,
        findings=by_severity(dict.fromkeys(findings)),
        learned=learned,
    )


def _learned(
    dessert: Dessert, kitchen: Kitchen, shells: Mapping[str, ShellFactors], guns: Mapping[str, Learned]
) -> tuple[Learned, ...]:
    """Factors from this kitchen's measurements that bear on a dessert."""
    steps = [step for component in dessert.components for step in component.steps]
    asked = {
        "evaporation": any(isinstance(step, Heat | Boil | Cook) for step in steps),
        "candying": any(isinstance(step, Candy) for step in steps),
        "water given for sugar taken": any(isinstance(step, Candy) for step in steps),
        "folding loss": any(isinstance(step, Fold) and step.air_lost is None for step in steps),
        "gun transfer": False,  # told by the coats themselves
    }
    rows = [row for row in learned_here(kitchen).rows if asked.get(row.what, True)]
    untold = {skin.component for skin in dessert.piece.skins if isinstance(skin, Spray) and skin.overspray is None}
    rows += [row for component, row in guns.items() if component in untold]
    return (*rows, *rows_of(shells))


def varied_from(worked: Worked) -> Base:
    """A worked dessert as what variants of it start from: `demoule.cold.variants.explore`."""
    dessert, kitchen = worked.dessert, worked.kitchen
    hardens = any(stage.what in HARDENING for stage in dessert.programme.stages)
    return Base(
        components=dessert.components,
        larder=worked.larder,
        surroundings=surroundings(kitchen),
        design=dessert.piece,
        moulds=kitchen.moulds,
        rooms=kitchen.rooms,
        programme=_life_of(dessert, kitchen, worked.piece),
        filled_at=_filled_at(dessert.piece) if hardens else {},
        shells=_shells(dessert, worked.cooked, kitchen, MEMORY),
        guns=sprays_learned(kitchen, dessert.piece.skins),
    )


def _cooked(
    components: tuple[Component, ...], larder: Larder, around: Surroundings, memory: Memory
) -> Mapping[str, Cooked]:
    made: dict[str, Cooked] = {}
    for component in in_order(components):
        made[component.name] = cook_kept(component, larder, made, around, memory)
    return made


def _shells(
    dessert: Dessert, cooked: Mapping[str, Cooked], kitchen: Kitchen, memory: Memory
) -> Mapping[str, ShellFactors]:
    """What test dips of this kitchen teach about the coatings of a dessert."""
    body = cooked.get(dessert.piece.body.component)
    air = MOUSSE_AIR if body is None else body.air
    coats = tuple(cooked.get(skin.component) for skin in dessert.piece.skins)
    return memory.recall(
        shells_learned,
        (dessert.piece.skins, coats, air, dessert.name, kitchen.measurements, kitchen.calibrations, kitchen.moulds),
        lambda: shells_learned(kitchen, dessert.piece.skins, cooked, dessert=dessert.name, air=air),
    )


def _built(
    dessert: Dessert,
    cooked: Mapping[str, Cooked],
    kitchen: Kitchen,
    shells: Mapping[str, ShellFactors],
    guns: Mapping[str, Learned],
    memory: Memory,
) -> Piece:
    moulds = {mould.name: mould for mould in kitchen.moulds}
    recipes = {component.name: component for component in dessert.components}
    return memory.recall(
        build,
        (
            dessert.piece,
            tuple(cooked.values()),
            kitchen.moulds,
            dessert.components,
            tuple(shells.items()),
            tuple(guns.items()),
        ),
        lambda: build(dessert.piece, cooked, moulds, recipes=recipes, learned=shells, guns=guns),
    )


def _frozen(
    dessert: Dessert, piece: Piece, cooked: Mapping[str, Cooked], kitchen: Kitchen, wanted: int, memory: Memory
) -> ColdRun:
    # What goes warm into a mould does so with the temperature it was made with, unless the chef tells another;
    # nothing else of it counts.
    warm = tuple((name, made.temperature, bool(made.history)) for name, made in cooked.items())
    hardens = any(stage.what in HARDENING for stage in dessert.programme.stages)
    filled = _filled_at(dessert.piece) if hardens else {}  # what starts hard is not filled in its programme
    whole = _life_of(dessert, kitchen, piece)
    return memory.recall(
        run_programme,
        (piece, warm, whole, kitchen.rooms, kitchen.air, tuple(filled.items()), wanted),
        lambda: run_programme(
            piece,
            cooked,
            whole,
            kitchen.rooms,
            filled_at=filled,
            kitchen_air=kitchen.air,
            pieces=wanted,
            memory=memory,
        ),
    )


def _life_of(dessert: Dessert, kitchen: Kitchen, piece: Piece) -> Programme:
    """The whole life of a piece, and how its mixes conduct as far as this kitchen has learned it."""
    whole = whole_life(dessert.programme, kitchen.rooms, kitchen.air, coated=piece.coated_at is not None)
    return replace(whole, conduction=conduction_learned(kitchen, dessert.name))


def _filled_at(design: PieceDesign) -> dict[str, Kelvin]:
    """By component, the temperature at which the chef says that it goes into its mould."""
    told = {design.body.component: design.body.filled_at}
    heart = design.heart
    while heart is not None:
        told[heart.component] = heart.filled_at
        heart = heart.inside
    return {component: at for component, at in told.items() if at is not None}


def _one_filling(piece: Piece, dessert: Dessert, kitchen: Kitchen) -> int:
    """Good pieces that one filling of all the moulds can be counted on to give."""
    if piece.mould is None:
        return 12
    share = dessert.rejects if dessert.rejects is not None else kitchen.reject_share(dessert.name)
    return max(1, int(piece.mould.per_tray * piece.mould.owned * (1 - share)))
