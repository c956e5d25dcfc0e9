"""The demonstration: three desserts, their kitchen and a week of orders, all invented."""

from __future__ import annotations

from importlib.resources import files

from demoule.batch.kitchen import Kitchen
from demoule.batch.orders import OrderBook
from demoule.files.dessert import desserts_of
from demoule.files.kitchen import kitchen_of
from demoule.files.orders import orders_of
from demoule.larder import Larder, standard_larder
from demoule.worked import Dessert

__all__ = ["DEMO_FILES", "demo", "demo_text"]

DEMO_FILES = ("apricot.yaml", "quince.yaml", "chestnut.yaml", "kitchen.yaml", "orders.yaml")
"""Names of the files, desserts first."""


def demo_text(name: str) -> str:
    """The text of one file of the demonstration."""
    return files("demoule.files").joinpath("demo", name).read_text(encoding="utf-8")


def demo(larder: Larder | None = None) -> tuple[tuple[Dessert, ...], Kitchen, OrderBook]:
    """The desserts, the kitchen and the order book of the demonstration."""
    kitchen = kitchen_of(demo_text("kitchen.yaml"), "kitchen.yaml", standard_larder() if larder is None else larder)
    desserts = tuple(
        dessert for name in DEMO_FILES[:3] for dessert in desserts_of(demo_text(name), name, kitchen.larder, kitchen)
    )
    orders = orders_of(demo_text("orders.yaml"), "orders.yaml", [dessert.name for dessert in desserts])
    return desserts, kitchen, orders
