"""A week at the desk: its text, kept or tried, and the very versions of the texts that it was made from."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Any

from demoule.errors import BadInput
from demoule.store import Head, Kind, Store, Version
from demoule.web.desk import Asking, Desk

__all__ = ["AtHand", "at_hand", "first_day", "fresh_texts", "week_heads", "week_that_counts"]


@dataclass(frozen=True, slots=True)
class AtHand:
    """A week as somebody works at it.

    Parameters
    ----------
    text
        What is tried, where something is; else what is kept.
    rev
        The revision that it began from.
    newer
        Names of documents that have changed since the week was planned.
    """

    slug: str
    head: Head
    version: Version
    text: str
    rev: int
    texts: dict[str, Any]
    sources: dict[str, Any]
    start: date
    newer: list[str] = field(default_factory=list)

    @property
    def tried(self) -> bool:
        """Whether something is tried that is not kept."""
        return self.text != self.version.text

    @property
    def book(self) -> str:
        """The order book it belongs to."""
        return str(self.sources["orders"][0])


def _record(text: str) -> dict[str, Any]:
    try:
        told = json.loads(text)
        first = date.fromisoformat(told["from"])
        ((orders, orders_n),) = told["orders"].items()
        ((kitchen, kitchen_n),) = told["kitchen"].items()
        desserts = {str(slug): int(n) for slug, n in told["desserts"].items()}
    except (ValueError, KeyError, TypeError, AttributeError):
        raise BadInput(
            "This planned week cannot be read.", remedy="plan the week anew, or bring an older version back."
        ) from None
    return {
        "from": first,
        "orders": (orders, int(orders_n)),
        "kitchen": (kitchen, int(kitchen_n)),
        "desserts": desserts,
    }


async def at_hand(desk: Desk, asking: Asking, slug: str, n: int | None = None, *, kept: bool = False) -> AtHand:
    """A week; with what this person tries in it, unless an older version or only what is kept is asked for.

    Raises
    ------
    NotThere
        When there is no such week.
    """

    def read() -> AtHand:
        documents = desk.store.documents
        head = documents.head(Kind.WEEK, slug)
        version = documents.version(Kind.WEEK, slug, n)
        text, rev = version.text, head.rev
        if n is None and not kept:
            draft = desk.store.drafts.of(Kind.WEEK, slug, asking.who)
            if draft is not None and draft.text != version.text:
                text, rev = draft.text, draft.rev
        told = _record(text)
        texts, newer = _texts_of(desk.store, told)
        sources = {key: told[key] for key in ("orders", "kitchen", "desserts")}
        return AtHand(slug, head, version, text, rev, texts, sources, told["from"], newer)

    found: AtHand = await desk.call(read)
    return found


def _texts_of(store: Store, told: dict[str, Any]) -> tuple[dict[str, Any], list[str]]:
    newer = []

    def text(kind: Kind, slug: str, n: int) -> str:
        version = store.documents.version(kind, slug, n)
        if store.documents.head(kind, slug).n != n:
            newer.append(version.name)
        return version.text

    return {
        "orders": text(Kind.ORDERS, *told["orders"]),
        "kitchen": text(Kind.KITCHEN, *told["kitchen"]),
        "desserts": {slug: text(Kind.DESSERT, slug, n) for slug, n in told["desserts"].items()},
    }, newer


async def fresh_texts(desk: Desk, book: str) -> tuple[dict[str, Any], dict[str, Any]]:
    """The texts that a week is planned from now, and their short names and versions.

    Raises
    ------
    BadInput
        When there is no kitchen or no dessert yet.
    """

    def read() -> tuple[dict[str, Any], dict[str, Any]]:
        documents = desk.store.documents
        orders = documents.version(Kind.ORDERS, book)
        kitchens, desserts = documents.heads(Kind.KITCHEN), documents.heads(Kind.DESSERT)
        if not kitchens or not desserts:
            raise BadInput("A week needs a kitchen and its desserts.", remedy="take their files in first.")
        kitchen = documents.version(Kind.KITCHEN, kitchens[0].slug)
        wanted = [head for head in desserts if head.name in orders.text] or list(desserts)
        made = {head.slug: documents.version(Kind.DESSERT, head.slug) for head in wanted}
        texts = {
            "orders": orders.text,
            "kitchen": kitchen.text,
            "desserts": {slug: version.text for slug, version in made.items()},
        }
        sources = {
            "orders": (book, orders.n),
            "kitchen": (kitchen.slug, kitchen.n),
            "desserts": {slug: version.n for slug, version in made.items()},
        }
        return texts, sources

    found: tuple[dict[str, Any], dict[str, Any]] = await desk.call(read)
    return found


async def week_heads(desk: Desk) -> list[tuple[Head, date]]:
    """All planned weeks, the latest first."""
    heads = await desk.call(desk.store.documents.heads, Kind.WEEK)
    found = []
    for head in heads:
        try:
            found.append((head, date.fromisoformat(head.slug[-10:])))
        except ValueError:
            found.append((head, head.at.date()))
    return sorted(found, key=lambda one: (one[1], one[0].at), reverse=True)


async def week_that_counts(desk: Desk, at: datetime) -> str:
    """The week under way, else the next, else the last; empty when none is planned."""
    heads = await week_heads(desk)
    today = at.date()
    now = [head.slug for head, first in heads if first <= today < first + timedelta(days=7)]
    coming = [head.slug for head, first in reversed(heads) if first > today]
    past = [head.slug for head, _ in heads]
    return next(iter([*now, *coming, *past]), "")


def first_day(text: str, today: date) -> date:
    """The Monday of the first dated order, else of the week to come; today when it is a Monday."""
    dated = []
    for words in re.findall(r"\b\d{4}-\d\d-\d\d\b", text):
        try:
            dated.append(date.fromisoformat(words))
        except ValueError:
            continue
    if dated:
        first = min(dated)
        return first - timedelta(days=first.weekday())
    return today if today.weekday() == 0 else today + timedelta(days=7 - today.weekday())
