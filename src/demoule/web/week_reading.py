"""A planned week read again: its plan worked out from its text and from the texts that it was made from."""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Any

from demoule.batch import OrderBook
from demoule.files import orders_of
from demoule.files.weeks import events_told, planned_week
from demoule.plan import Plan, Week, after, again, build_week
from demoule.web.reading import dessert_in, kitchen_in
from demoule.worked import Worked, work_up

__all__ = ["Texts", "facts_of", "moment_of", "plan_of"]

Texts = Mapping[str, Any]
"""What a week was made from: "orders", "kitchen", and "desserts", the texts by short name."""


def facts_of(texts: Texts, start: str, days: int | None) -> Week:
    """The facts of a week from a day on."""
    return _facts(*_key(texts), start, days)


def _key(texts: Texts) -> tuple[str, str, tuple[tuple[str, str], ...]]:
    return str(texts["orders"]), str(texts["kitchen"]), tuple(sorted(dict(texts["desserts"]).items()))


@lru_cache(maxsize=6)
def _worked(kitchen: str, desserts: tuple[tuple[str, str], ...]) -> tuple[Worked, ...]:
    place = kitchen_in(kitchen)
    return tuple(work_up(dessert_in(text, kitchen, ""), place) for _, text in desserts)


def _book(orders: str, worked: Sequence[Worked]) -> OrderBook:
    return orders_of(orders, "orders", [one.dessert.name for one in worked])


@lru_cache(maxsize=6)
def _facts(orders: str, kitchen: str, desserts: tuple[tuple[str, str], ...], start: str, days: int | None) -> Week:
    worked = _worked(kitchen, desserts)
    book = _book(orders, worked)
    wanted = set(book.desserts)
    return build_week(
        book,
        [one for one in worked if one.dessert.name in wanted],
        kitchen_in(kitchen),
        start=datetime.date.fromisoformat(start),
        days=days,
    )


@lru_cache(maxsize=12)
def _plan(text: str, orders: str, kitchen: str, desserts: tuple[tuple[str, str], ...]) -> Plan:
    kept = planned_week(text)
    plan = again(_facts(orders, kitchen, desserts, kept.start.isoformat(), kept.days), kept.changes[0].kept)
    for change in kept.changes[1:]:
        events, now = events_told(change.happened or {})
        plan = after(plan, events, now, change.kept)
    return plan


def plan_of(text: str, texts: Texts) -> Plan:
    """The plan of a week that is kept or tried."""
    return _plan(text, *_key(texts))


def moment_of(plan: Plan, now: str) -> int:
    """Seconds of a moment after the beginning of the week; −1 when it is none."""
    if not now:
        return -1
    try:
        present = datetime.datetime.fromisoformat(now)
    except ValueError:
        return -1
    if present.tzinfo is None:
        present = present.replace(tzinfo=plan.week.zone)
    return round((present - plan.week.start).total_seconds())
