"""The `week` command: what it refuses, and what a file of events says."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest

from demoule.batch import Order, OrderBook
from demoule.batch.clock import due
from demoule.cli.main import run
from demoule.cli.planning import _show_helps, plan_orders
from demoule.errors import BadInput, Mistakes
from demoule.files import demo
from demoule.files.demonstration import DEMO_FILES, demo_text
from demoule.files.events import events_of
from demoule.plan import Help, Helps, build_week
from demoule.worked import Worked, work_up


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


# ---- what cannot be planned: one clear message, and the command ends with 2

TEA = "orders:\n  - {what: tea, when: Saturday 10:00, Quince: 6}\n"
COOK = 'shift: "Tue–Sat 06:00–14:00"'


def asked(
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    orders: str,
    kitchen: tuple[str, str] = ("", ""),
    first: str = "2026-04-27",
    events: str = "",
) -> str:
    """What the command says of the demonstration's kitchen with other orders."""
    for name in DEMO_FILES:
        text = demo_text(name)
        if name == "orders.yaml":
            text = f"demoule: 1\n{orders}"
        if name == "kitchen.yaml" and kitchen[0]:
            assert kitchen[0] in text
            text = text.replace(*kitchen)
        (tmp_path / name).write_text(text, encoding="utf-8")
    more = []
    if events:
        (tmp_path / "events.txt").write_text(f"demoule: 1\n{events}", encoding="utf-8")
        more = ["--replan", str(tmp_path / "events.txt")]
    out = tmp_path / "out"
    argv = ["demoule", "week", str(tmp_path / "orders.yaml"), "--from", first, "--work", "0.5", "--out", str(out)]
    monkeypatch.setattr("sys.argv", [*argv, *more])
    with pytest.raises(SystemExit) as left:
        run()
    assert left.value.code == 2
    assert not out.exists()
    told = capsys.readouterr()
    assert told.out == ""
    return " ".join(told.err.split())


def tea(when: str = "Saturday 10:00", pieces: str = "Quince: 6") -> str:
    return f'orders:\n  - {{what: tea, when: "{when}", {pieces}}}\n'


def during(what: str, until: str) -> str:
    return f"now: 2026-04-30 10:00\n{what}, since: 2026-04-30 10:00, until: {until}}}]\n"


@pytest.mark.parametrize(
    ("orders", "more", "says"),
    [
        (tea("2026-04-20 10:00"), {}, "“tea” on Monday 20 April lies in the past"),
        (tea(pieces="Quince: 0"), {}, "“0” is zero"),
        (tea(pieces="Quince: -6"), {}, "“-6” is negative"),
        (tea(pieces="Quince: 10000"), {}, "10000 pieces of Quince take"),
        (tea(pieces="Quinze: 6"), {}, "no dessert called “Quinze”. (did you mean “Quince”?)"),
        (TEA + "  - {what: Tea, when: Sat 10:00, Quince: 4}\n", {}, "a second time (first in line 3)"),
        (TEA + "  - {what: tea, when: 2026-05-02 10:00, Quince: 4}\n", {}, "a second time (first in line 3)"),
        (TEA, {"kitchen": (COOK, 'shift: ""')}, "cook has no shift"),
        (TEA, {"kitchen": (COOK, 'shift: "Tue–Sat 06:00–14:00; Wed 13:00–18:00"')}, "two shifts overlap on Wednesday"),
        (
            TEA,
            {"kitchen": ("own: 4\n    holds: 110 ml", "own: 0\n    holds: 110 ml")},
            "kitchen.yaml:25:10: “0” is zero",
        ),
        (TEA, {"kitchen": ("Europe/Vienna", "Europe/Viena")}, "“Europe/Viena” is no time zone"),
        (tea("2026-03-29 02:30"), {"first": "2026-03-23"}, "02:30 does not exist: the clock is put forward"),
        (tea("2026-10-25 02:30"), {"first": "2026-10-19"}, "02:30 comes twice: the clock is put back"),
        (
            TEA,
            {"events": during("away: [{person: cok", "2026-04-30 23:00")},
            "no person called “cok”. What to do: did you mean “cook”?",
        ),
        (
            TEA,
            {"events": during("away: [{person: cook", "2026-04-30 9:00")},
            "is no moment",
        ),
        (
            TEA,
            {"events": during("down: [{what: oven", "2026-04-30 09:00")},
            "It ends 2026-04-30 09:00 and begins 2026-04-30 10:00",
        ),
        (
            TEA,
            {"events": "now: 2026-06-30 10:00\nfailed: [Quince 1]\n"},
            "lies outside the week that is planned",
        ),
    ],
)
def test_what_cannot_be_is_refused_in_one_message(
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    orders: str,
    more: dict[str, str],
    says: str,
):
    told = asked(tmp_path, capsys, monkeypatch, orders, **more)  # type: ignore[arg-type]
    assert says in told
    assert "Traceback" not in told


@pytest.mark.parametrize(("first", "day", "hours"), [("2026-03-23", "29 March", 23), ("2026-10-19", "25 October", 25)])
def test_a_service_at_three_on_the_night_of_the_clock_is_planned_and_the_night_is_told(
    worked: tuple[Worked, ...], first: str, day: str, hours: int
):
    # 03:00 exists once in either night: in spring it is what comes after 01:59, in autumn the second 02:00 is over.
    start = datetime.date.fromisoformat(first)
    sunday = start + datetime.timedelta(days=6)
    order = Order(what="tea", due=due(f"{sunday} 03:00"), pieces=(("Quince", 6),))
    week = build_week(OrderBook(orders=(order,)), worked, worked[0].kitchen, start=start)
    demand = week.demands[0]
    assert week.clock(demand.moment) == datetime.datetime.combine(sunday, datetime.time(3), week.zone)
    assert demand.moment == 6 * 86400 + (hours - 24 + 3) * 3600
    assert any(f"{day}: the day has {hours} hours" in finding.says for finding in week.findings)


@pytest.fixture(scope="module")
def worked() -> tuple[Worked, ...]:
    desserts, kitchen, _ = demo()
    return tuple(work_up(dessert, kitchen, 40) for dessert in desserts if dessert.name == "Quince")


def test_what_would_help_is_told_with_its_gain_and_what_was_not_tried(capsys: pytest.CaptureFixture[str]):
    def one(
        change: str, pieces: int = 0, late: float = 0.0, overtime: float = 0.0, serves: tuple[str, ...] = ()
    ) -> Help:
        return Help(change=change, kind="tray", pieces=pieces, late=late, overtime=overtime, aim=pieces, serves=serves)

    helps = Helps(
        tried=(
            one("one more tray", 28, -15.0, -30.0, ("banquet Sat Quince",)),
            one("an hour", 0, 45.0),
            one("one more bowl"),
        ),
        untried=("one more gun",),
    )
    _show_helps(works=False, helps=helps)
    lines = [line.strip() for line in capsys.readouterr().out.splitlines()]
    assert lines == [
        "What would help",
        "one more tray: 28 more pieces, but 15 min late in all, 30 min more overtime (banquet Sat",
        "Quince in time)",
        "an hour: 45 min less late",
        "brings nothing by itself: one more bowl",
        "not tried, the time was up: one more gun",
    ]
    _show_helps(works=False, helps=Helps(tried=(one("one more bowl"),)))
    assert "Nothing that was tried would help by itself." in capsys.readouterr().out
