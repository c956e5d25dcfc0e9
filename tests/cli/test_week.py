"""The `week` command: what it refuses, and what a file of events says."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest

from demoule.cli.planning import plan_orders
from demoule.errors import BadInput, Mistakes
from demoule.files.events import events_of


def plan(orders: Path | None, **more: object) -> int:
    asked: dict[str, object] = {
        "desserts": [],
        "kitchen": None,
        "first": "2026-04-27",
        "seconds": None,
        "work": 1.0,
        "events": None,
        "wishes": False,
        "out": None,
        "paper": "a4",
        "units": "metric",
        "as_json": True,
    }
    return plan_orders(orders, **(asked | more))  # type: ignore[arg-type]


def test_orders_without_a_kitchen_are_refused(tmp_path: Path):
    (tmp_path / "orders.yaml").write_text("demoule: 1\norders: [{what: a, when: Sat 10:00, Pear: 3}]\n")
    with pytest.raises(BadInput, match="no kitchen file"):
        plan(tmp_path / "orders.yaml")


def test_a_day_that_is_none_is_refused():
    with pytest.raises(BadInput, match="is no day"):
        plan(None, first="next week")


def test_events_are_read():
    told = events_of(
        "demoule: 1\nnow: 2026-04-30 10:00\n"
        "away: [{person: cook, since: 2026-04-30 10:00, until: 2026-04-30 23:00}]\n"
        "failed: [Quince 1]\ncancelled: [{what: shop, day: 2026-05-01}]\n"
        "added: [{what: tea, when: 2026-05-02 15:00, Chestnut: 12}]\n",
        "events.yaml",
    )
    assert told.now == datetime.datetime(2026, 4, 30, 10)
    assert told.away[0][0] == "cook"
    assert told.failed == ("Quince 1",)
    assert told.cancelled == (("shop", datetime.date(2026, 5, 1)),)
    assert told.added[0].pieces == (("Chestnut", 12),)


def test_mistakes_in_events_are_placed():
    with pytest.raises(Mistakes, match=r"events.yaml:3:"):
        events_of(
            "demoule: 1\nnow: 2026-04-30 10:00\naway: [{person: cook, since: soon, until: later}]\n", "events.yaml"
        )


def test_a_file_of_something_else_is_no_file_of_events():
    with pytest.raises(BadInput, match="tells no events"):
        events_of("demoule: 1\norders: []\n", "orders.yaml")
