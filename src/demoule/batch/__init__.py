"""From one piece to many: the kitchen, makings, losses and packs."""

from demoule.batch.around import surroundings
from demoule.batch.clock import due, shift
from demoule.batch.kitchen import Bath, Calibration, Kitchen, Mixer, Person, Sprayer
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
    "Due",
    "Kitchen",
    "Making",
    "Mixer",
    "NeedOf",
    "Order",
    "OrderBook",
    "Person",
    "Sprayer",
    "WeighLine",
    "Weighing",
    "due",
    "on_scale",
    "plain_kitchen",
    "shift",
    "surroundings",
    "weigh_up",
]
