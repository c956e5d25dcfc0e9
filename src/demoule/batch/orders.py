"""What is wanted, how much of it, and when: the order book as frozen values."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Self

from demoule.errors import BadInput
from demoule.units import Kilogram, Second

__all__ = ["WEEKDAYS", "Due", "InStock", "Order", "OrderBook"]

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
"""Days of the week; in a `Due` Monday is 0."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Due:
    """The moment of service: one date, or one or several days of every week, at a time of day.

    Parameters
    ----------
    days
        Days of the week, Monday being 0; empty for a date.
    date
        A calendar day; None for days of the week.
    time
        Seconds after midnight.
    written
        As the chef wrote it.
    """

    days: tuple[int, ...] = ()
    date: datetime.date | None = None
    time: Second = 0.0
    written: str = ""

    def __post_init__(self) -> None:
        if bool(self.days) == (self.date is not None):
            raise ValueError("a moment is either a date or days of the week")
        if any(not 0 <= day <= 6 for day in self.days) or not 0 <= self.time < 86400:
            raise ValueError("days run from 0 to 6 and times to midnight")

    @property
    def recurring(self) -> bool:
        """Whether it comes on several days."""
        return len(self.days) > 1

    def moments(self, monday: datetime.date | None = None) -> tuple[Second, ...]:
        """Every moment of one week, in seconds after its Monday, 0:00.

        `monday` says which week is meant; without it a date counts by its day of the week.
        """
        if self.date is None:
            return tuple(day * 86400.0 + self.time for day in self.days)
        day = self.date.weekday() if monday is None else (self.date - monday).days
        return (day * 86400.0 + self.time,) if 0 <= day <= 6 else ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """One order: who or what it is for, when, and how many good pieces of which dessert each time."""

    what: str
    due: Due
    pieces: tuple[tuple[str, int], ...]
    where: str = ""

    def of(self, dessert: str) -> int:
        """Pieces of one dessert, each time."""
        return sum(number for name, number in self.pieces if name == dessert)


@dataclass(frozen=True, slots=True, kw_only=True)
class InStock:
    """One lot of stock with the day by which it must be eaten: finished pieces, or a component that is made.

    `component` is empty for finished pieces; `mass` is that of the component [kg].
    """

    dessert: str
    pieces: int = 0
    component: str = ""
    mass: Kilogram = 0.0
    until: datetime.date | None = None
    label: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderBook:
    """All orders of a week or of several dates, and what is finished in the freezer already.

    Parameters
    ----------
    stock
        Finished frozen pieces by dessert.
    counted
        When the stock was counted.
    lots
        What is in stock lot by lot, with its last day; pieces in it are counted in `stock` too.
    """

    orders: tuple[Order, ...]
    stock: tuple[tuple[str, int], ...] = ()
    counted: Due | None = None
    lots: tuple[InStock, ...] = ()

    @property
    def desserts(self) -> tuple[str, ...]:
        """Every dessert that is ordered or in stock, in the order of the book."""
        names = [name for order in self.orders for name, _ in order.pieces] + [name for name, _ in self.stock]
        return tuple(dict.fromkeys(names))

    def in_stock(self, dessert: str) -> int:
        """Finished pieces of a dessert."""
        return sum(number for name, number in self.stock if name == dessert)

    def ordered(self, dessert: str) -> int:
        """Pieces of a dessert wanted in a week, every return of a recurring order counted."""
        return sum(order.of(dessert) * max(len(order.due.days), 1) for order in self.orders)

    def needed(self, dessert: str) -> int:
        """Pieces of a dessert that must still be made: ordered less in stock, never below zero."""
        return max(self.ordered(dessert) - self.in_stock(dessert), 0)

    def only(self, desserts: Iterable[str]) -> Self:
        """The book of some desserts only; raises BadInput when none of it is left."""
        wanted = set(desserts)
        orders = tuple(
            Order(
                what=order.what,
                due=order.due,
                pieces=tuple((name, number) for name, number in order.pieces if name in wanted),
                where=order.where,
            )
            for order in self.orders
        )
        kept = tuple(order for order in orders if order.pieces)
        if not kept:
            raise BadInput("Nothing of these desserts is ordered.", remedy="name a dessert of the order book.")
        stock = tuple((name, number) for name, number in self.stock if name in wanted)
        lots = tuple(lot for lot in self.lots if lot.dessert in wanted)
        return type(self)(orders=kept, stock=stock, counted=self.counted, lots=lots)
