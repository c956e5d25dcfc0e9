"""From one piece to many: the kitchen, makings, losses and packs."""

from demoule.batch.around import surroundings
from demoule.batch.clock import due, shift
from demoule.batch.kitchen import Bath, Calibration, Kitchen, Mixer, Person, Sprayer
from demoule.batch.learned import (
    LearnedHere,
    conduction_learned,
    learned_here,
    rows_of,
    shells_learned,
    sprays_learned,
)
from demoule.batch.measured import (
    CandyingTest,
    ConductionTest,
    CupTest,
    DipTest,
    GunTest,
    Measurement,
    OneDip,
    PanTest,
)
from demoule.batch.orders import WEEKDAYS, Due, Order, OrderBook
from demoule.batch.plain import plain_kitchen
from demoule.batch.rounding import on_scale
from demoule.batch.weigh_up import weigh_up
from demoule.batch.weighing import Buying, Making, NeedOf, Weighing, WeighLine

__all__ = [
    "WEEKDAYS",
    "Bath",
    "Buying",
    "Calibration",
    "CandyingTest",
    "ConductionTest",
    "CupTest",
    "DipTest",
    "Due",
    "GunTest",
    "Kitchen",
    "LearnedHere",
    "Making",
    "Measurement",
    "Mixer",
    "NeedOf",
    "OneDip",
    "Order",
    "OrderBook",
    "PanTest",
    "Person",
    "Sprayer",
    "WeighLine",
    "Weighing",
    "conduction_learned",
    "due",
    "learned_here",
    "on_scale",
    "plain_kitchen",
    "rows_of",
    "shells_learned",
    "shift",
    "sprays_learned",
    "surroundings",
    "weigh_up",
]
