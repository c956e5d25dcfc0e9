"""What there are places for: levels and trays, lots as they are weighed, hours of thawing, pieces taken out."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

from demoule.batch import Kitchen, Weighing, weigh_up
from demoule.cold import StageRun
from demoule.errors import BadInput
from demoule.plan.week import Demand, Hold, Job, Lot, Part, Resource, seconds_down, seconds_up
from demoule.units import Second
from demoule.worked import Worked

__all__ = [
    "PLACE",
    "first_known",
    "hard_within",
    "pieces_a_level",
    "places",
    "rejects_of",
    "resources_of",
    "stock_lot",
    "take_out",
    "thaw_of",
    "weighed",
    "with_thawing",
]

PLACE = 100
"""Units of one level of a room."""

_MINUTE, _HOUR, _DAY = 60.0, 3600.0, 86400.0

# Common practice, no source.
_STANDS: Second = 4 * _HOUR  # a thawed piece on its tray in the refrigerator, at its best
_THAWED: Second = 24 * _HOUR  # the longest that it may stand there at all
_APART = 0.03  # m between pieces on a tray
_MOST_A_LEVEL = 24
_TAKE_OUT, _TAKE_TRAY = 5 * _MINUTE, 2 * _MINUTE


def _weighed(key: int, pieces: int) -> Weighing:
    worked = _KNOWN[key]
    dessert = worked.dessert
    # One person dips: the second pair of hands, which halves the time, is not planned.
    alone = replace(worked.kitchen, people=worked.kitchen.people[:1])
    return weigh_up(
        dessert.name,
        dessert.components,
        worked.cooked,
        worked.piece,
        alone,
        pieces,
        larder=worked.larder,
        rejects=dessert.rejects,
    )


_KNOWN: dict[int, Worked] = {}


def weighed(worked: Worked, pieces: int) -> Weighing:
    """What is weighed and worked for a lot of so many good pieces, remembered.

    A making that is too small to be cooked (more water would go off than there is) is made larger, and the rest is to
    spare.
    """
    _KNOWN[id(worked)] = worked
    size = pieces
    while True:
        try:
            return _weighed(id(worked), size)
        except BadInput:
            if size >= max(worked.weighing.pieces, pieces):
                raise
            size = min(math.ceil(size * 1.3), max(worked.weighing.pieces, pieces))


def rejects_of(worked: Worked) -> float:
    """Share of pieces that are not good."""
    told = worked.dessert.rejects
    return worked.kitchen.reject_share(worked.dessert.name) if told is None else told


def pieces_a_level(worked: Worked) -> int:
    """Finished pieces that stand on one level of 600 × 400 mm, 30 mm apart and at most 24 (practice)."""
    side = worked.piece.diameter + _APART
    return max(min(int(0.6 / side) * int(0.4 / side), _MOST_A_LEVEL), 1)


def resources_of(kitchen: Kitchen, worked: Sequence[Worked]) -> tuple[Resource, ...]:
    """Moulds, rooms and machines that the week may be short of.

    Raises
    ------
    BadInput
        For a mould of which nobody owns a tray.
    """
    found: dict[str, Resource] = {}
    for one in worked:
        for mould in (one.piece.mould, one.piece.heart_mould):
            if mould is None:
                continue
            owned = kitchen.mould(mould.name) or mould
            if owned.owned < 1:
                raise BadInput(
                    f"The kitchen owns no tray of “{mould.name}”, in which {one.dessert.name} is made.",
                    where=f"moulds.{mould.name}",
                    remedy="give the number of trays it owns.",
                )
            found[mould.name] = Resource(name=mould.name, kind="mould", amount=owned.owned)
    for room in kitchen.rooms:
        if room.levels:
            found[room.name] = Resource(
                name=room.name,
                kind="room",
                amount=int(room.levels * PLACE),
                per=PLACE,
                counted="level",
                air=room.air,
            )
    for mixer in kitchen.mixers:
        found[mixer.name] = Resource(name=mixer.name, kind="machine", amount=1, counted="bowl")
    if kitchen.baths:
        found["bath"] = Resource(
            name="bath", kind="machine", amount=sum(b.count for b in kitchen.baths), counted="bath"
        )
    if kitchen.sprayers:
        found["spray gun"] = Resource(name="spray gun", kind="machine", amount=len(kitchen.sprayers), counted="gun")
    found["oven"] = Resource(name="oven", kind="machine", amount=kitchen.oven_levels, counted="level")
    for diameter in kitchen.pans:
        name = f"{diameter * 100:.0f} cm pan"
        more = found[name].amount if name in found else 0
        found[name] = Resource(name=name, kind="machine", amount=more + 1, counted="pan")
    return tuple(found.values())


def thaw_of(worked: Worked) -> tuple[int, int, int, str]:
    """Shortest, best and longest time between taking out and service [s], and the room; the safe end of each band.

    The piece is surely ready when the slow end of the band says so. It stays at its best for four hours after the
    quick end of the band says that it has left its window, on its tray in the refrigerator (practice), and stands
    there a day at the most (practice; local law may say less).
    """
    run = worked.cold.stage("thaw")
    if run is None:
        return 0, seconds_down(_THAWED), seconds_down(_THAWED), ""
    window = run.window
    slow = first_known(window.opens_high if window else None, window.opens if window else None, run.high, run.time)
    if slow is None:
        raise BadInput(
            f"{worked.dessert.name} does not thaw within the time computed.",
            where="cold.thaw",
            remedy="thaw in a warmer room.",
        )
    closes = first_known(window.closes_low if window else None, window.closes if window else None, slow)
    assert closes is not None  # slow is told
    at_least = seconds_up(slow)
    best = max(seconds_down(closes + _STANDS), at_least + seconds_up(_HOUR))
    return at_least, best, max(seconds_down(_THAWED), best), run.room.name


def hard_within(run: StageRun | None, trays: int) -> Second | None:
    """Time in the freezer after which so many trays that went in together are surely hard: the safe end of the band.

    Where the room's capacity is known, the cold stage followed one load. A smaller load counts like that one, a larger
    one in proportion, as if the room's capacity alone decided (judged: on the safe side). Other lots that stand in the
    same room meanwhile are not in it.
    """
    if run is None:
        return None
    alone = first_known(run.high, run.time)
    if run.loaded is None or alone is None:
        return alone
    load = first_known(run.loaded.high, run.loaded.time)
    return alone if load is None else max(load * max(trays / run.loaded.trays, 1.0), alone)


def first_known(*values: float | None) -> float | None:
    """The first that is told."""
    return next((value for value in values if value is not None), None)


def stock_lot(
    dessert: str, number: int, pieces: int, use_by: int | None, served: Sequence[tuple[Demand, int]], label: str = ""
) -> Lot:
    """Finished pieces in the freezer as a lot whose only work is to be taken out."""
    key = label or f"{dessert} stock{f' {number}' if number else ''}"
    jobs = tuple(take_out(key, demand, count) for demand, count in served)
    return Lot(
        key=key,
        dessert=dessert,
        number=0,
        pieces=pieces,
        started=0,
        jobs=jobs,
        lags=(),
        holds=(),
        parts=tuple(
            Part(demand=demand.key, pieces=count, job=job.key)
            for (demand, count), job in zip(served, jobs, strict=True)
        ),
        spare=pieces - sum(count for _, count in served),
        stock=True,
        use_by=use_by,
    )


def take_out(lot: str, demand: Demand, pieces: int) -> Job:
    """The job of taking pieces out of the freezer for one service."""
    trays = math.ceil(pieces / _MOST_A_LEVEL)
    return Job(
        key=f"{lot} out {demand.key}",
        lot=lot,
        kind="take out",
        does=f"Take out for {demand.order}",
        seconds=seconds_up(_TAKE_OUT + trays * _TAKE_TRAY),
        pieces=pieces,
        order=demand.key,
    )


def with_thawing(lot: Lot, worked: Worked | None, demands: Mapping[str, Demand], rooms: frozenset[str]) -> Lot:
    """The lot with the places that its pieces take in the room where they thaw."""
    a_level = pieces_a_level(worked) if worked else _MOST_A_LEVEL
    holds = [hold for hold in lot.holds if hold.why != "thaw"]
    for part in lot.parts:
        demand = demands[part.demand]
        if demand.room in rooms:
            holds.append(
                Hold(
                    resource=demand.room,
                    amount=places(part.pieces / a_level),
                    first=part.job,
                    begins="end",
                    last="",
                    ends="",
                    until=demand.moment,
                    why="thaw",
                    pieces=part.pieces,
                )
            )
    return replace(lot, holds=tuple(holds))


def places(levels: float) -> int:
    """Whole half levels."""
    return max(math.ceil(2 * levels - 1e-9), 1) * PLACE // 2
