"""A kitchen for desserts that come without one: usual rooms and machines, no moulds and no prices."""

from __future__ import annotations

from demoule.batch.kitchen import Bath, Kitchen, Mixer, Sprayer
from demoule.cold.programme import Room
from demoule.larder import Larder

__all__ = ["plain_kitchen"]


def plain_kitchen(larder: Larder) -> Kitchen:
    """A kitchen by the habit of the trade (common practice, no source), so that a dessert file can stand alone."""
    return Kitchen(
        name="no kitchen given, usual rooms taken",
        larder=larder,
        rooms=(
            Room(name="blast freezer", air=238.15, surface=20.0, levels=5, power=2500.0),
            Room(name="store freezer", air=253.15, surface=9.0, levels=15, power=800.0),
            Room(name="refrigerator", air=277.15, surface=10.0, levels=15, power=400.0),
            Room(name="bench", air=293.15, surface=8.0, humidity=0.5),
        ),
        mixers=(Mixer(name="table mixer", bowl=0.005, cream_least=0.00015, cream_most=0.001),),
        baths=(Bath(count=1, least=1.2, most=2.5),),
        sprayers=(Sprayer(cup=0.0006, stays=0.06),),
    )
