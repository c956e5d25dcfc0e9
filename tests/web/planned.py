"""The demonstration's week as the screens keep it: planned once, shortly, and put into a memory."""

from __future__ import annotations

from datetime import UTC, datetime
from functools import cache
from typing import Any

from demoule.files import DEMO_FILES, demo_text
from demoule.store import By, Kind, Store
from demoule.web.week_working import search_week, week_begun

START = "2026-12-07"
SLUG = f"orders-{START}"
SOURCES = {
    "orders": ("orders", 1),
    "kitchen": ("the-walled-garden", 1),
    "desserts": {name.removesuffix(".yaml"): 1 for name in DEMO_FILES[:3]},
}


def texts() -> dict[str, Any]:
    return {
        "orders": demo_text("orders.yaml"),
        "kitchen": demo_text("kitchen.yaml"),
        "desserts": {name.removesuffix(".yaml"): demo_text(name) for name in DEMO_FILES[:3]},
    }


@cache
def week_text() -> str:
    """The text of the planned week; the search is stopped after two seconds of work."""
    found = search_week(
        texts=texts(), start=START, days=None, seconds=4.0, progress=lambda *_: None, best=lambda _: None,
        cancel=lambda: False,
    )  # fmt: skip
    return week_begun(texts=texts(), sources=SOURCES, start=START, days=None, found=found)["text"]


def with_week(store: Store) -> None:
    """Orders and the planned week into a memory that holds the demonstration's desserts and kitchen."""
    by = By(who="chef", at=datetime(2026, 12, 4, 8, tzinfo=UTC))
    store.documents.begin(Kind.ORDERS, "Orders", demo_text("orders.yaml"), by, slug="orders")
    store.documents.begin(Kind.WEEK, "50, The Walled Garden", week_text(), by, slug=SLUG)
