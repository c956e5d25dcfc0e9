"""How long hands are busy for all pieces, by kind of work and the habit of the trade."""

from __future__ import annotations

import math
from collections.abc import Sequence

from demoule.batch.kitchen import Kitchen
from demoule.batch.weighing import NeedOf
from demoule.piece.built import Piece
from demoule.units import Second

__all__ = ["hands_on_by_kind"]

_MINUTE = 60.0

# Set-up and clean-down, and work on one batch, in minutes; work on one piece, in seconds: for experienced hands a third
# up the usual range (practice).
_WEIGH_UP = 5.0
_HEARTS, _HALF_HEART, _WHOLE_HEART = 13.0 + 5.0, 7.0, 10.0
_FILL, _OPEN, _CLOSED = 20.0 + 5.0, 43.0, 67.0
_DEMOULD, _TRAY, _POLISH = 15.0, 2.0, 25.0
_DIP, _DIP_ALONE, _DIP_TWO = 27.0 + 15.0, 28.0, 16.0
_SPRAY, _PASS = 23.0 + 23.0, 12.0
_CUT = 4.0
_GARNISH, _STEM = 10.0, 17.0


def hands_on_by_kind(
    piece: Piece, started: int, cycles: int, heart_cycles: int, trays: int, needs: Sequence[NeedOf], kitchen: Kitchen
) -> tuple[tuple[str, Second], ...]:
    """Seconds of hands-on work for all started pieces, by kind.

    Parameters
    ----------
    cycles, heart_cycles, trays
        Fillings of the piece's mould and of the heart's, and trays of the former in all.

    Notes
    -----
    Makings count each time they are made; filling and demoulding have their setting-up each time the moulds are
    filled; dipping, each sprayed coat and the finish are one session for all pieces. Two people at the dip take 16 s a
    piece, one alone 28 s. Waiting is not counted. Source: practice.
    """
    roles = [layer.role for layer in piece.layers]
    work: dict[str, float] = {
        "weigh and cook": _WEIGH_UP * _MINUTE + sum(need.makings * need.hands_on for need in needs)
    }
    hearts = started * piece.hearts_per_piece
    if hearts:
        each = _HALF_HEART if piece.hearts_per_piece > 1 else _WHOLE_HEART
        work["fill hearts"] = heart_cycles * _HEARTS * _MINUTE + hearts * each
    discs = sum(need.discs for need in needs)
    if discs:
        work["cut discs"] = discs * _CUT
    closed = piece.mould is not None and piece.mould.two_part
    work["fill moulds"] = cycles * _FILL * _MINUTE + started * (_CLOSED if closed else _OPEN)
    work["demould"] = (cycles * _DEMOULD + trays * _TRAY) * _MINUTE + started * _POLISH
    dips = roles.count("shell")
    if dips:
        each = _DIP_TWO if len(kitchen.people) != 1 else _DIP_ALONE
        work["dip"] = dips * (_DIP * _MINUTE + started * each)
    sprays = roles.count("spray")
    if sprays:
        work["spray"] = sprays * (_SPRAY * _MINUTE + started * _PASS)
    stems = sum(garnish.count for garnish in piece.garnishes)
    work["finish"] = _GARNISH * _MINUTE + started * max(stems, 1) * _STEM
    return tuple((kind, float(seconds)) for kind, seconds in work.items() if not math.isclose(seconds, 0.0))
