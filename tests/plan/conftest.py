"""The demonstration's week, planned once for all tests, and a week so small that every plan of it can be tried."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from dataclasses import replace

import pytest

from demoule.batch import Kitchen, OrderBook, plain_kitchen
from demoule.batch.kitchen import Person
from demoule.files import demo
from demoule.larder import standard_larder
from demoule.plan import Demand, Effort, Hands, Hold, Job, Lag, Lot, Part, Plan, Resource, Use, Week, plan
from demoule.worked import Worked, work_up

MONDAY = datetime.date(2026, 4, 27)
QUICK = Effort(work=5.0, bound=False, whole=0)


@pytest.fixture(scope="session")
def kitchen() -> Kitchen:
    found = demo()[1]
    people = tuple(
        replace(
            person,
            breaks=((11.5 * 3600, 12 * 3600),) if person.name != "junior" else ((16 * 3600, 16.5 * 3600),),
            overtime=7200.0,
        )
        for person in found.people
    )
    return replace(found, zone="Europe/Vienna", people=people)


@pytest.fixture(scope="session")
def book() -> OrderBook:
    return demo()[2]


@pytest.fixture(scope="session")
def worked(kitchen: Kitchen) -> tuple[Worked, ...]:
    return tuple(work_up(dessert, kitchen, 40) for dessert in demo()[0])


@pytest.fixture(scope="session")
def made(book: OrderBook, worked: tuple[Worked, ...], kitchen: Kitchen) -> Plan:
    return plan(book, worked, kitchen, start=MONDAY, effort=QUICK)


def tiny_week(
    *,
    lots: int = 2,
    trays: int = 1,
    freeze: int = 600,
    at_most: int | None = 3600,
    people: tuple[tuple[str, tuple[tuple[int, int], ...]], ...] = (("ada", ((0, 7200),)),),
    service: int = 9000,
    extra: tuple[tuple[int, int], ...] = (),
) -> Week:
    """Lots of two jobs with a tray held between them, on the first morning of a week."""
    start = datetime.datetime(2026, 4, 27, tzinfo=datetime.UTC)
    demands = []
    made = []
    for k in range(lots):
        key = f"Pear {k + 1}"
        fill = Job(key=f"{key} fill", lot=key, kind="fill", does="Fill", seconds=900, uses=_bowl())
        finish = Job(key=f"{key} finish", lot=key, kind="finish", does="Finish", seconds=600)
        out = Job(key=f"{key} out", lot=key, kind="take out", does="Take out", seconds=300, order=f"order {k}")
        demands.append(
            Demand(
                key=f"order {k}",
                order="order",
                dessert="Pear",
                pieces=10,
                moment=service + 600 * k,
                at_least=600,
                at_most=7200,
                best=7200,
                room="",
            )
        )
        made.append(
            Lot(
                key=key,
                dessert="Pear",
                number=k + 1,
                pieces=10,
                started=10,
                jobs=(fill, finish, out),
                lags=(
                    Lag(before=fill.key, after=finish.key, at_least=freeze, at_most=at_most, why="pieces freeze"),
                    Lag(before=finish.key, after=out.key, at_least=0, at_most=None, why="kept"),
                ),
                holds=(
                    Hold(
                        resource="tray",
                        amount=1,
                        first=fill.key,
                        begins="start",
                        last=finish.key,
                        ends="end",
                        why="pieces in the mould",
                    ),
                ),
                parts=(Part(demand=f"order {k}", pieces=10, job=out.key),),
            )
        )
    ends = max(b for _, blocks in people for _, b in blocks) if extra else 86100
    shift = f"daily 00:00–{ends // 3600:02d}:{ends % 3600 // 60:02d}"
    over = float(extra[-1][1] - ends) if extra else 0.0
    names = tuple(Person(name=name, shift=shift, pay=20.0, overtime=over) for name, _ in people)
    return Week(
        kitchen=replace(plain_kitchen(standard_larder()), people=names, zone="UTC"),
        start=start,
        now=0,
        length=86400,
        lots=tuple(made),
        demands=tuple(demands),
        resources=(
            Resource(name="tray", kind="mould", amount=trays),
            Resource(name="bowl", kind="machine", amount=1, counted="bowl"),
        ),
        hands=tuple(
            Hands(name=name, blocks=blocks, extra=extra, skills=frozenset(), pay=20.0) for name, blocks in people
        ),
    )


def _bowl() -> tuple[Use, ...]:
    return (Use(resource="bowl", amount=1, seconds=600),)


@pytest.fixture
def tiny() -> Callable[..., Week]:
    return tiny_week
