"""From one piece to many: the kitchen, makings, losses and packs."""

from demoule.batch.around import surroundings
from demoule.batch.demand import bath_liquid
from demoule.batch.kitchen import Bath, Calibration, Kitchen, Mixer, Person, Sprayer
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
    "bath_liquid",
    "on_scale",
    "surroundings",
    "weigh_up",
]
