"""`demoule week`: an order book planned, shown in a few lines, and put on paper and into the calendar."""

from __future__ import annotations

import datetime
import json
import sys
import textwrap
import time
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from demoule.errors import BadInput

if TYPE_CHECKING:
    from demoule.batch import Kitchen, OrderBook
    from demoule.files.events import Happened
    from demoule.plan import Cost, Help, Helps, Plan
    from demoule.units.showing import System
    from demoule.worked import Dessert

__all__ = ["plan_orders"]

_WIDTH = 96
_MOST_HELPS = 12


def plan_orders(
    orders: Path | None,
    *,
    desserts: Sequence[Path],
    kitchen: Path | None,
    first: str | None,
    seconds: float | None,
    work: float,
    events: Path | None,
    wishes: bool,
    out: Path | None,
    paper: Literal["a4", "letter"],
    units: System,
    as_json: bool,
) -> int:
    """Plan a week; without an order file, that of the demonstration."""
    from demoule.plan import Effort, what_would_help
    from demoule.plan import as_json as plan_as_json
    from demoule.plan import plan as make_plan
    from demoule.worked import work_up

    happened = _events(events)
    made, place, book = _inputs(orders, desserts, kitchen)
    wanted = set(book.desserts)
    start = _first_day(first, book, happened)
    worked = [work_up(dessert, place) for dessert in made if dessert.name in wanted]
    told = _Told(quiet=as_json)
    effort = Effort(work=work if seconds is None else 1e9, seconds=seconds)
    planned = make_plan(book, worked, place, start=start, effort=effort, progress=told, cancel=told.cancelled)
    if happened is not None:
        planned = _again(planned, happened, effort, told)
    helps = None
    if (wishes or not planned.works) and not told.cancelled():
        helps = what_would_help(planned, progress=told.tries, cancel=told.cancelled)
    told.done()
    written = _write(planned, helps, out, paper, units) if out is not None else []
    if as_json:
        print(json.dumps(plan_as_json(planned, helps), ensure_ascii=False, indent=2))
    else:
        _show(planned, helps, written)
    return 0 if planned.works else 1


class _Told:
    """Tells the best week so far on a terminal; Ctrl-C stops the search and keeps it."""

    def __init__(self, quiet: bool) -> None:
        self._begun = self._last = time.monotonic()
        self._shows = not quiet and sys.stderr.isatty()
        self._stopped = False
        self._before: object = None
        import signal

        try:
            self._before = signal.signal(signal.SIGINT, self._stop)
        except ValueError:  # not in the main thread
            self._before = None

    def _stop(self, *_: object) -> None:
        self._stopped = True

    def cancelled(self) -> bool:
        return self._stopped

    def __call__(self, words: str, cost: Cost) -> None:
        now = time.monotonic()
        if self._shows and now - self._begun > 1 and now - self._last > 0.2:
            self._last = now
            short = f"{cost.unserved} pieces not placed, " if cost.unserved else ""
            late = f"{cost.late * 5} min late, " if cost.late else ""
            over = f"{cost.overtime * 5} min overtime"
            print(f"\r\x1b[K{words}: {short}{late}{over} …", end="", file=sys.stderr, flush=True)

    def tries(self, words: str) -> None:
        """Tell which change is being tried."""
        if self._shows and time.monotonic() - self._begun > 1:
            print(f"\r\x1b[Kwould it help: {words} …", end="", file=sys.stderr, flush=True)

    def done(self) -> None:
        import signal

        if self._shows:
            print("\r\x1b[K", end="", file=sys.stderr, flush=True)
        if callable(self._before) or isinstance(self._before, int):
            signal.signal(signal.SIGINT, self._before)


def _inputs(
    orders: Path | None, desserts: Sequence[Path], kitchen: Path | None
) -> tuple[Sequence[Dessert], Kitchen, OrderBook]:
    from demoule.files import demo, read_desserts, read_kitchen, read_orders
    from demoule.larder import standard_larder

    if orders is None:
        if desserts or kitchen:
            raise BadInput("No order file is given.", remedy="name the order file, or nothing for the demonstration.")
        return demo()
    beside = orders.parent
    path = kitchen or beside / "kitchen.yaml"
    if not path.is_file():
        raise BadInput(f"There is no kitchen file {path}.", remedy="give it with --kitchen.")
    place = read_kitchen(path, standard_larder())
    files = list(desserts) or [
        file
        for file in sorted(beside.glob("*.yaml"))
        if file.name not in (orders.name, path.name) and "components:" in file.read_text(encoding="utf-8")
    ]
    made = [dessert for file in files for dessert in read_desserts(file, place.larder, place)]
    if not made:
        raise BadInput("There is no dessert file beside the orders.", remedy="name the desserts with --dessert.")
    return made, place, read_orders(orders, [dessert.name for dessert in made])


def _first_day(first: str | None, book: OrderBook, happened: Happened | None) -> datetime.date:
    """The day told; else the Monday of the first dated order, or of what happened, or the Monday to come."""
    if first is not None:
        try:
            return datetime.date.fromisoformat(first)
        except ValueError:
            raise BadInput(f"“{first}” is no day.", where="--from", remedy="write year-month-day.") from None
    dated = [order.due.date for order in book.orders if order.due.date is not None]
    if dated:
        return _monday(min(dated))
    if happened is not None:
        return _monday(happened.now.date())
    today = datetime.date.today()
    return today if today.weekday() == 0 else _monday(today) + datetime.timedelta(days=7)


def _monday(day: datetime.date) -> datetime.date:
    return day - datetime.timedelta(days=day.weekday())


def _events(path: Path | None) -> Happened | None:
    if path is None:
        return None
    from demoule.files.events import read_events

    return read_events(path)


def _again(planned: Plan, happened: Happened, effort: object, told: _Told) -> Plan:
    from demoule.files.weeks import as_events
    from demoule.plan import Effort, replan

    assert isinstance(effort, Effort)
    limit = Effort(work=5.0 if effort.seconds is None else 1e9, seconds=effort.seconds, bound=False)
    return replan(planned, as_events(happened), happened.now, effort=limit, progress=told, cancel=told.cancelled)


def _write(planned: Plan, helps: Helps | None, out: Path, paper: Literal["a4", "letter"], units: System) -> list[Path]:
    from demoule.plan import as_json as plan_as_json
    from demoule.sheets.week_calendar import week_calendar
    from demoule.sheets.week_lists import week_csv
    from demoule.sheets.week_paper import week_pdf
    from demoule.sheets.week_picture import week_svg

    out.mkdir(parents=True, exist_ok=True)
    files: dict[str, bytes] = {
        "week.pdf": week_pdf(planned, paper=paper, system=units),
        "week.svg": week_svg(planned).encode(),
        "week.ics": week_calendar(planned),
        "week.json": json.dumps(plan_as_json(planned, helps), ensure_ascii=False, indent=2).encode(),
    }
    for person in planned.week.hands:
        files[f"{person.name}.ics"] = week_calendar(planned, person.name)
    files |= {name: text.encode() for name, text in week_csv(planned).items()}
    written = []
    for name, data in files.items():
        path = out / name
        path.write_bytes(data)
        written.append(path)
    return written


def _show(planned: Plan, helps: Helps | None, written: Sequence[Path]) -> None:
    week = planned.week
    print(f"{week.kitchen.name}, from {week.start:%A %d %B %Y}")
    for answer in planned.answers:
        state = "ready" if answer.ready else "NOT ready"
        print(f"  {answer.order:<16}{week.told(answer.moment):<12}{answer.pieces:>4} pieces  {state}")
        if answer.first_start is not None:
            heart = f", first heart {week.told(answer.first_heart)}" if answer.first_heart is not None else ""
            print(f"      begins {week.told(answer.first_start)} with {answer.first_does}{heart}")
        for name, at, early, late in answer.into_room:
            print(f"      {name}: out of the freezer {week.told(at)} ({week.told(early)} to {week.told(late)})")
    spare = dict(pair for answer in planned.answers for pair in answer.spare)
    told = ", ".join(f"{name} {count}" for name, count in spare.items())
    print(f"  to spare, were every cavity filled: {told or 'nothing is made'}")
    gap = (
        f", the best there is costs at most {planned.gap:.0%} less" if planned.gap is not None and planned.works else ""
    )
    print(f"  overtime {planned.cost.overtime * 5} min{gap}; {len(planned.checked)} rules checked, none broken")
    for one in planned.staying:
        print(
            f"    {one.person} stays until {week.told(one.until)}, {one.after / 3600:.1f} h after the shift, "
            f"for {one.work / 60:.0f} min of work"
        )
    from demoule.cli.showing import print_findings

    print_findings(planned.findings)
    for words, why in planned.moved:
        print(textwrap.fill(f"moved: {words} ({why})", _WIDTH, initial_indent="  ", subsequent_indent="    "))
    if helps is not None:
        _show_helps(works=planned.works, helps=helps)
    for path in written:
        print(f"  {path}")


def _show_helps(*, works: bool, helps: Helps) -> None:
    """What each change was found to bring; when everything works, what makes the week calmer."""
    wanted = helps.helping if not works else tuple(one for one in helps.tried if one.helps or one.aim > 0)
    print("  What would help" if wanted else "  Nothing that was tried would help by itself.")
    for one in wanted[:_MOST_HELPS]:
        words = f"{one.change}: {_gains(one)}"
        print(textwrap.fill(words, _WIDTH, initial_indent="    ", subsequent_indent="      "))
    without = [one.change for one in helps.tried if one not in wanted]
    if wanted and without:
        told = f"brings nothing by itself: {', '.join(without)}"
        print(textwrap.fill(told, _WIDTH, initial_indent="    ", subsequent_indent="      "))
    if helps.untried:
        told = f"not tried, the time was up: {', '.join(helps.untried)}"
        print(textwrap.fill(told, _WIDTH, initial_indent="    ", subsequent_indent="      "))


def _gains(one: Help) -> str:
    gains = [f"{one.pieces} more pieces"] if one.pieces > 0 else []
    if one.late > 0:
        gains.append(f"{one.late:.0f} min less late")
    elif one.late < 0:
        gains.append(f"but {-one.late:.0f} min late in all")
    if one.overtime > 0:
        gains.append(f"{one.overtime:.0f} min less overtime")
    elif one.overtime < 0 and (one.pieces > 0 or one.late > 0):
        gains.append(f"{-one.overtime:.0f} min more overtime")
    served = f" ({', '.join(one.serves[:4])}{' …' if len(one.serves) > 4 else ''} in time)" if one.serves else ""
    return (", ".join(gains) or "begun later, kept shorter") + served
