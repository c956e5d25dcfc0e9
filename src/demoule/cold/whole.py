"""The whole life of a piece: what nobody writes down, since every piece goes through it, is put in between."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from demoule.cold.programme import Programme, Room, Stage
from demoule.units import Fraction, Kelvin, Second

__all__ = ["whole_life"]

EVENED: Second = 45 * 60.0
"""Back in the cold before a dip, so that the outer 10 mm are neither warm nor brittle (practice: half to one hour)."""
ON_THE_BENCH: Second = 4 * 60.0
"""Out of the freezer for dip, drip and spray (practice: 3 to 5 min)."""
ON_THE_TABLE: Second = 45 * 60.0
"""From the refrigerator to the last spoon (practice: 30 to 60 min)."""
_TABLE_AIR: Kelvin = 294.15
_TABLE_HUMIDITY: Fraction = 0.50
_BENCHES = ("bench", "cold bench", "chocolate room", "dipping bench", "finishing")
_TABLES = ("dining room", "table", "shop", "counter")


def whole_life(programme: Programme, rooms: Sequence[Room], kitchen_air: Kelvin, *, coated: bool) -> Programme:
    """A programme with the stages that a chef leaves out, each marked as assumed.

    Parameters
    ----------
    programme
        As written. Nothing is put into one that tells a stand, a dip or a table itself.
    rooms
        Of the kitchen: a bench and a dining room among them are used, others are taken as usual.
    kitchen_air
        Where there is no bench, the piece is dipped in this air [K].
    coated
        Whether the piece is dipped or sprayed.

    Returns
    -------
    Programme
        Between “harden piece” and what follows: “even out” in the room where pieces are kept, and “dip and spray” on
        the bench; after the thaw: “table”.
    """
    stages = list(programme.stages)
    names = [stage.what for stage in stages]
    if coated and "harden piece" in names and not {"dip and spray", "stand"} & set(names):
        at = len(names) - names[::-1].index("harden piece")
        added = [_dip(rooms, kitchen_air)]
        keep = next((stage for stage in stages if stage.what == "keep"), None)
        if keep is not None and "even out" not in names and at < len(stages):
            added.insert(
                0,
                Stage(
                    what="even out",
                    room=keep.room,
                    own_room=keep.own_room,
                    duration=EVENED,
                    where=keep.where or "cold.keep",
                    assumed=True,
                ),
            )
        # Nothing is dipped in a programme that ends with the hardening.
        if at < len(stages):
            stages[at:at] = added
    if "thaw" in names and not {"table", "stand"} & set(names[names.index("thaw") :]):
        at = max(k for k, stage in enumerate(stages) if stage.what == "thaw") + 1
        if at == len(stages):
            stages.append(_table(rooms))
    return replace(programme, stages=tuple(stages))


def _named(rooms: Sequence[Room], names: Sequence[str]) -> str:
    have = {room.name.casefold(): room.name for room in rooms}
    return next((have[name] for name in names if name in have), "")


def _dip(rooms: Sequence[Room], kitchen_air: Kelvin) -> Stage:
    name = _named(rooms, _BENCHES)
    own = None if name else Room(name="kitchen", air=kitchen_air)
    return Stage(
        what="dip and spray", room=name, own_room=own, duration=ON_THE_BENCH, where="cold.dip and spray", assumed=True
    )


def _table(rooms: Sequence[Room]) -> Stage:
    name = _named(rooms, _TABLES)
    own = None if name else Room(name="dining room", air=_TABLE_AIR, humidity=_TABLE_HUMIDITY)
    return Stage(what="table", room=name, own_room=own, duration=ON_THE_TABLE, where="cold.table", assumed=True)
