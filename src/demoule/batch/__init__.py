"""From one piece to many: the kitchen, makings, losses and packs."""

from demoule.batch.around import surroundings
from demoule.batch.kitchen import Bath, Calibration, Kitchen, Mixer, Person, Sprayer
from demoule.batch.plain import plain_kitchen
from demoule.batch.rounding import on_scale
from demoule.batch.weigh_up import weigh_up
from demoule.batch.weighing import Buying, Making, NeedOf, Weighing, WeighLine

__all__ = [
    "Bath",
    "Buying",
    "Calibration",
    "Kitchen",
    "Making",
    "Mixer",
    "NeedOf",
    "Person",
    "Sprayer",
    "WeighLine",
    "Weighing",
    "on_scale",
    "plain_kitchen",
    "surroundings",
    "weigh_up",
]
