"""An order file to an order book."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import Annotated, Any

from pydantic import BeforeValidator, ConfigDict, Discriminator, Field, Tag, ValidationError, WithJsonSchema

from demoule.batch.clock import due
from demoule.batch.orders import Due, InStock, Order, OrderBook
from demoule.errors import BadInput, Mistake, Mistakes, nearest
from demoule.files.dessert import VersionField
from demoule.files.fields import Count, Day, Entry, Mass, Name, complaint, count
from demoule.files.mistakes import mistakes_of
from demoule.files.text import read_text
from demoule.files.tree import Tree, read_trees

__all__ = ["OrdersEntry", "orders_of", "read_orders"]


def _due(value: Any) -> Due:
    try:
        return due("" if value is None else str(value))
    except BadInput as error:
        raise complaint(error) from None


DueField = Annotated[
    Due,
    BeforeValidator(_due),
    WithJsonSchema({"type": "string", "examples": ["Saturday 19:30", "Tue–Sat 10:00", "2026-05-02 19:30"]}),
]


def _counted(value: Any) -> Due:
    """The day of a count; without a time its morning."""
    text = str(value)
    return _due(text if any(sign.isdigit() for sign in text) else f"{text} 00:00")


class OrderEntry(Entry):
    """One order: what it is for, when, and the number of each dessert under its name."""

    model_config = ConfigDict(extra="allow", frozen=True)

    what: Name
    when: DueField
    __pydantic_extra__: dict[str, Count]

    @property
    def pieces(self) -> tuple[tuple[str, int], ...]:
        """Number by dessert, as written."""
        return tuple((self.__pydantic_extra__ or {}).items())


def _stock_count(value: Any) -> int:
    if value == 0 and not isinstance(value, bool):
        return 0
    return count(value)


class FinishedEntry(Entry):
    """Finished pieces of one lot, with the last day on which they may be eaten."""

    pieces: Count
    until: Day
    label: Name = ""


class MadeEntry(Entry):
    """A component that is made and kept: of which dessert, how much, and until when it keeps."""

    dessert: Name
    component: Name
    mass: Mass
    until: Day
    label: Name = ""


StockCount = Annotated[int, BeforeValidator(_stock_count), WithJsonSchema({"type": "integer", "minimum": 0})]


def _stock_kind(value: Any) -> str:
    return "<lots>" if isinstance(value, list) else "<count>"


StockField = Annotated[
    Annotated[StockCount, Tag("<count>")] | Annotated[list[FinishedEntry], Tag("<lots>")], Discriminator(_stock_kind)
]


class OrdersEntry(Entry):
    """An order book."""

    demoule: VersionField
    orders: Annotated[list[OrderEntry], Field(min_length=1)]
    stock: dict[Name, StockField] = Field(default_factory=dict)
    made: list[MadeEntry] = Field(default_factory=list)
    counted: (
        Annotated[Due, BeforeValidator(_counted), WithJsonSchema({"type": "string", "examples": ["Monday"]})] | None
    ) = None

    def to_book(self) -> OrderBook:
        """The order book."""
        return OrderBook(
            orders=tuple(
                Order(what=order.what, due=order.when, pieces=order.pieces, where=f"orders.{k}")
                for k, order in enumerate(self.orders)
            ),
            stock=tuple(
                (name, held if isinstance(held, int) else sum(lot.pieces for lot in held))
                for name, held in self.stock.items()
            ),
            counted=self.counted,
            lots=(
                *(
                    InStock(dessert=name, pieces=lot.pieces, until=lot.until, label=lot.label)
                    for name, held in self.stock.items()
                    if not isinstance(held, int)
                    for lot in held
                ),
                *(
                    InStock(
                        dessert=one.dessert, component=one.component, mass=one.mass, until=one.until, label=one.label
                    )
                    for one in self.made
                ),
            ),
        )


def read_orders(path: str | Path, desserts: Iterable[str] | None = None) -> OrderBook:
    """The order book of a file.

    Parameters
    ----------
    path
        A YAML file, UTF-8.
    desserts
        Names of the desserts there are; None: any name will do.

    Raises
    ------
    Mistakes
        All of them at once.
    """
    return orders_of(read_text(path), str(path), desserts)


def orders_of(text: str, name: str, desserts: Iterable[str] | None = None) -> OrderBook:
    """The order book in a text; `name` is what the file is called in messages. Raises Mistakes."""
    trees = read_trees(text, name)
    if len(trees) != 1:
        mistake = Mistake(file=name, line=1, column=1, says=f"The file holds {len(trees)} documents; one is expected.")
        raise Mistakes([mistake])
    tree = trees[0]
    mistakes = _other_kind(tree)
    if mistakes:
        raise Mistakes(mistakes)
    mistakes = _names(tree, desserts)
    try:
        entry = OrdersEntry.model_validate(tree.value)
    except ValidationError as error:
        raise Mistakes([*mistakes_of(error, OrdersEntry, tree), *mistakes]) from None
    mistakes += _twice(tree, entry)
    if mistakes:
        raise Mistakes(mistakes)
    book = entry.to_book()
    lines = [tree.mistake(("orders", k), "").line for k in range(len(book.orders))]
    named = (replace(one, where=f"{name}:{line}") for one, line in zip(book.orders, lines, strict=True))
    return replace(book, orders=tuple(named))


def _twice(tree: Tree, entry: OrdersEntry) -> list[Mistake]:
    """Orders of the same name that want the same dessert at the same moment."""
    mistakes = []
    for k, order in enumerate(entry.orders):
        for before, other in enumerate(entry.orders[:k]):
            shared = [name for name, _ in order.pieces if name in dict(other.pieces)]
            if order.what.casefold() == other.what.casefold() and shared and _meet(order.when, other.when):
                line = tree.mistake(("orders", before), "").line
                mistakes.append(
                    tree.mistake(
                        ("orders", k),
                        f"{shared[0]} for “{order.what}” at that hour is ordered a second time (first in line {line}).",
                        "add the pieces up in one line, or give one of the two another name.",
                    )
                )
                break
    return mistakes


def _meet(one: Due, other: Due) -> bool:
    """Whether two moments of service are, or may be, the same."""
    if one.time != other.time:
        return False
    if one.date is not None and other.date is not None:
        return one.date == other.date
    if one.date is None and other.date is None:
        return bool(set(one.days) & set(other.days))
    dated, weekly = (one, other) if one.date is not None else (other, one)
    return dated.date is not None and dated.date.weekday() in weekly.days


def _other_kind(tree: Tree) -> list[Mistake]:
    if not isinstance(tree.value, dict):
        return [tree.mistake((), "This is no order book.", "begin with “demoule: 1” and “orders:”.")]
    for key, called in (("components", "dessert"), ("kitchen", "kitchen")):
        if key in tree.value and "orders" not in tree.value:
            return [tree.mistake((key,), f"This is a {called}, not an order book.", "give the order file.", key=True)]
    return []


def _names(tree: Tree, desserts: Iterable[str] | None) -> list[Mistake]:
    """Names that are no dessert, and orders for nothing."""
    mistakes: list[Mistake] = []
    known = None if desserts is None else list(desserts)
    orders = tree.at(("orders",))
    paths: list[tuple[str | int, ...]] = []
    for k, order in enumerate(orders if isinstance(orders, list) else []):
        if isinstance(order, dict):
            names = [key for key in order if key not in ("what", "when")]
            if not names:
                mistakes.append(
                    tree.mistake(("orders", k), "Nothing is ordered here.", "write a dessert: and its number.")
                )
            paths += [("orders", k, key) for key in names]
    stock = tree.at(("stock",))
    paths += [("stock", key) for key in stock] if isinstance(stock, dict) else []
    for path in paths:
        name = str(path[-1])
        if known is not None and name not in known:
            hint = nearest(name, known)
            remedy = f"did you mean “{hint}”?" if hint else f"the desserts are {', '.join(known)}."
            mistakes.append(tree.mistake(path, f"There is no dessert called “{name}”.", remedy, key=True))
    return mistakes
