"""From one piece to many: what to make, how often and how much of each, what comes back, and what to buy."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from demoule.batch.backwards import Backwards
from demoule.batch.buying import buying_of
from demoule.batch.demand import demands
from demoule.batch.kitchen import Kitchen
from demoule.batch.makings import Filling, fillings
from demoule.batch.minutes import hands_on_by_kind
from demoule.batch.weighing import Buying, Making, Weighing
from demoule.errors import BadInput, UnknownName
from demoule.figures import Finding, Severity
from demoule.formula import Component, Cooked
from demoule.larder import Larder
from demoule.memory import Memory
from demoule.piece.built import Piece
from demoule.units import Fraction

__all__ = ["weigh_up"]

MOST = 1_000_000
_FUZZ = 1e-9
_WORTH_SAYING = 0.2  # kg left in a pack


def weigh_up(
    dessert_name: str,
    components: Sequence[Component],
    cooked: Mapping[str, Cooked],
    piece: Piece,
    kitchen: Kitchen,
    pieces: int,
    *,
    larder: Larder | None = None,
    rejects: Fraction | None = None,
    memory: Memory | None = None,
) -> Weighing:
    """What to weigh, make and buy for a number of good pieces.

    Parameters
    ----------
    dessert_name, components, cooked, piece
        The dessert, its components as written and as cooked once, and one piece.
    kitchen
        Moulds, machines, losses and prices.
    pieces
        Good pieces wanted.
    larder
        Where ingredients are found; None: the kitchen's.
    rejects
        Share of pieces that are not good; None: the kitchen's for this dessert.
    memory
        Where makings are kept, so that one whose recipe and size did not change is not cooked again.

    Raises
    ------
    BadInput
        For a number that is not positive, rejects of everything, or a mould of which no tray is owned.
    UnknownName
        When the piece is built of a component that there is not.

    Notes
    -----
    As many pieces are started as leave the wanted number good. The body is made once for each filling of the moulds,
    the heart once for each filling of its own; what goes into them is made once for all, or as often as the largest pan
    asks. Discs come from whole sheets. Each making is cooked anew in its own size, so that what evaporates by minutes
    and pan is not scaled; what must go in is found backwards from what must come out, component by component. Losses
    after the last vessel are those of `demands`.

    The recipe's own size does not matter: the same pieces ask the same, whatever the making was written for, but for
    evaporation, which goes by minutes and pan.
    """
    if not 0 < pieces <= MOST:
        raise BadInput(f"{pieces} pieces cannot be made.", remedy=f"give a number between 1 and {MOST}.")
    share = kitchen.reject_share(dessert_name) if rejects is None else rejects
    if not 0 <= share < 1:
        raise BadInput(
            f"Rejects of {share:.0%} leave no good piece.", where="rejects", remedy="give a share below 100 %."
        )
    started = math.ceil(pieces / (1 - share) - _FUZZ)
    by_name = {component.name: component for component in components}
    for layer in piece.layers:
        if layer.component not in cooked:
            raise UnknownName("component", layer.component, cooked, where=layer.where)
    bodies = fillings(piece.mould, started, "piece.mould")
    spares = 1 + kitchen.contingency
    hearts = fillings(
        piece.heart_mould, math.ceil(started * piece.hearts_per_piece * spares - _FUZZ), "piece.heart.mould"
    )
    asked, findings = demands(piece, started, by_name, cooked, kitchen)
    shelf = larder or kitchen.larder
    back = Backwards(components, cooked, asked, kitchen, shelf, memory or Memory(most=0))
    needs = back.work_out(bodies.times, hearts.times)
    trays = [_trays(piece, cavities) for cavities in bodies.cavities]
    good = math.floor(started * (1 - share) + _FUZZ)
    room = math.floor(bodies.capacity * bodies.times * (1 - share) + _FUZZ) - good
    spare = good - pieces
    buying = _buying(back, piece, started, kitchen, shelf)
    findings = (
        *findings,
        *back.findings,
        *_margin(piece, bodies, spare + room, share),
        *_left_in_packs(buying),
    )
    return Weighing(
        pieces=pieces,
        started=started,
        makings=tuple(
            Making(number=k + 1, cavities=cavities, trays=tray)
            for k, (cavities, tray) in enumerate(zip(bodies.cavities, trays, strict=True))
        ),
        heart_makings=hearts.times,
        needs=needs,
        buying=buying,
        spare=spare,
        hands_on=hands_on_by_kind(piece, started, bodies.times, hearts.times, sum(trays), needs, kitchen),
        findings=findings,
        reject_share=share,
        room=room,
    )


def _trays(piece: Piece, cavities: int) -> int:
    return math.ceil(cavities / piece.mould.per_tray) if piece.mould else 0


def _margin(piece: Piece, bodies: Filling, extra: int, share: Fraction) -> list[Finding]:
    """What to say when every cavity is needed."""
    if piece.mould is None or extra > 0:
        return []
    more = piece.mould.per_tray
    gain = math.floor(more * (1 - share))
    cycles = f"{bodies.times} filling{'s' if bodies.times > 1 else ''}"
    return [
        Finding(
            severity=Severity.CAUTION,
            rule="no margin",
            where="piece.mould",
            says=f"All {bodies.capacity * bodies.times} cavities of {cycles} are needed; no good piece is to spare.",
            why="One tray that tears on demoulding is missing on the plate.",
            remedy=f"plan one filling more, or one tray of “{piece.mould.name}” more ({more} cavities, {gain} good "
            "pieces each filling).",
        )
    ]


def _buying(back: Backwards, piece: Piece, started: int, kitchen: Kitchen, larder: Larder) -> tuple[Buying, ...]:
    """The shopping list, the heaviest line first."""
    for garnish in piece.garnishes:
        if garnish.ingredient is None:
            continue
        ingredient = larder.find(garnish.ingredient)
        mass = garnish.mass or ingredient.piece_mass
        if mass:
            back.weigh(ingredient, mass * garnish.count * started, 1.0)
    shelf = {name.casefold(): mass for name, mass in kitchen.pantry}
    lines = [
        buying_of(ingredient, back.weighed[name], back.consumed[name], shelf.get(name.casefold(), 0.0))
        for name, ingredient in back.things.items()
    ]
    return tuple(sorted(lines, key=lambda line: -line.need))


def _left_in_packs(buying: Sequence[Buying]) -> list[Finding]:
    """What is bought fresh in packs that hold more than twice the need."""
    found = []
    for line in buying:
        bought = sum(pack.mass * number for pack, number in line.packs)
        keeping = line.ingredient.keeping
        fresh = keeping.dry is None and (keeping.chilled is not None or keeping.frozen is not None)
        if fresh and bought - line.need > max(line.need, _WORTH_SAYING):
            found.append(
                Finding(
                    severity=Severity.NOTE,
                    rule="packs",
                    where="buying",
                    says=f"{line.need * 1000:.0f} g of {line.ingredient.name} are needed, and the packs hold "
                    f"{bought * 1000:.0f} g.",
                    why="More than half of what is bought is left over, and it does not keep dry.",
                    remedy="buy a smaller pack, or plan what the rest is for.",
                )
            )
    return found
