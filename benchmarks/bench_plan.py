"""Generated weeks planned against the clock: first plan, all on time, how good after a minute, and how near the bound.

    python benchmarks/bench_plan.py              one week of 25 orders
    python benchmarks/bench_plan.py --weeks 10 --again 120   ten of them, each also searched again for the best known
    python benchmarks/bench_plan.py --large      100 orders in a week and 400 in four, in a kitchen four times as large

Every plan has passed the checker, or the run ends. Seconds are those of one core that the process had, so that other
work on the machine does not count; the best known is the better of two runs. The weeks are invented.
"""

from __future__ import annotations

import argparse
import datetime
import os
import platform
import random
import time
from dataclasses import replace
from functools import cache

from demoule.batch import Kitchen, Order, OrderBook
from demoule.batch.kitchen import Bath, Person, Sprayer
from demoule.batch.orders import Due
from demoule.files import demo
from demoule.piece import Mould
from demoule.plan import Cost, Effort, build_week, check, plan_week
from demoule.plan.bound import bound_of
from demoule.plan.table import Table
from demoule.worked import Worked, work_up

MONDAY = datetime.date(2026, 4, 27)
SECOND_NAMES = {"Apricot": "Peach", "Quince": "Pear", "Chestnut": "Walnut"}


@cache
def bench_kitchen(times: int = 1) -> tuple[Kitchen, list[Worked]]:
    """The demonstration's kitchen with three more desserts in moulds of their own, or several of it in one."""
    desserts, kitchen, _ = demo()
    more, moulds = [], list(kitchen.moulds)
    for dessert in desserts:
        name = SECOND_NAMES[dessert.name]
        piece = replace(dessert.piece, mould=f"{name.casefold()} mould")
        source = next(m for m in kitchen.moulds if m.name == dessert.piece.mould)
        moulds.append(replace(source, name=f"{name.casefold()} mould"))
        more.append(replace(dessert, name=name, piece=piece))
    shifts = (("early", "Mon–Sat 06:00–14:00"), ("day", "Mon–Fri 08:00–16:00"), ("late", "Tue–Sun 12:00–20:00"))
    people = tuple(
        Person(
            name=f"{name} {k + 1}" if times > 1 else name,
            shift=shift,
            pay=18.0,
            breaks=((pause * 3600.0, pause * 3600.0 + 1800.0),),
            overtime=7200.0,
        )
        for k in range(times)
        for (name, shift), pause in zip(shifts, (10.0, 12.0, 16.0), strict=True)
    )

    def many(mould: Mould) -> Mould:
        return replace(mould, owned=mould.owned * times)

    large = replace(
        kitchen,
        zone="Europe/Vienna",
        people=people,
        moulds=tuple(many(m) for m in moulds),
        rooms=tuple(replace(r, levels=r.levels * times) if r.levels else r for r in kitchen.rooms),
        mixers=tuple(
            replace(m, name=f"{m.name} {k + 1}" if k else m.name) for k in range(times) for m in kitchen.mixers
        ),
        baths=(Bath(count=2 * times, least=1.2, most=2.5),),
        sprayers=tuple(Sprayer(cup=0.0006, stays=0.06) for _ in range(times)),
        pans=kitchen.pans * times,
        oven_levels=kitchen.oven_levels * times,
    )
    return large, [work_up(dessert, large, 40) for dessert in (*desserts, *more)]


def bench_orders(seed: int, count: int, names: list[str], weeks: int = 1) -> OrderBook:
    """Orders for Wednesday to Sunday, most of them on Friday and Saturday."""
    chance = random.Random(seed)
    orders = []
    for k in range(count):
        day = chance.choices((2, 3, 4, 5, 6), weights=(2, 3, 6, 6, 2))[0] + 7 * (k * weeks // count)
        hour = chance.choice((12, 13, 15, 17, 18, 19, 19.5, 20))
        orders.append(
            Order(
                what=f"order {k + 1}",
                due=Due(date=MONDAY + datetime.timedelta(days=day), time=hour * 3600.0),
                pieces=((chance.choice(names), chance.choice((6, 8, 10, 12, 16, 20, 24, 30))),),
            )
        )
    return OrderBook(orders=tuple(orders))


class Clock:
    """Notes when the first complete week stood, and when nothing was late."""

    def __init__(self) -> None:
        self.began = time.process_time()
        self.first: float | None = None
        self.on_time: float | None = None
        self.at: list[tuple[float, int]] = []

    def __call__(self, _: str, cost: Cost) -> None:
        now = time.process_time() - self.began
        if cost.unserved == 0 and self.first is None:
            self.first = now
        if cost.unserved == 0 and cost.late == 0 and self.on_time is None:
            self.on_time = now
        self.at.append((now, cost.total))

    def over(self, seconds: float) -> bool:
        return time.process_time() - self.began > seconds

    def after(self, seconds: float) -> int | None:
        return min((total for at, total in self.at if at <= seconds), default=None)


def run(seed: int, orders: int, seconds: float, again: float, times: int = 1, weeks: int = 1) -> None:
    """One line of the table: how soon it was complete and on time, how good it became, and how near the bound."""
    kitchen, worked = bench_kitchen(times)
    book = bench_orders(seed, orders, [one.dessert.name for one in worked], weeks)
    week = build_week(book, worked, kitchen, start=MONDAY, days=7 * weeks)
    jobs = sum(len(lot.jobs) for lot in week.lots)
    hours = sum(job.seconds for lot in week.lots for job in lot.jobs) / 3600
    there = sum(b - a for person in week.hands for a, b in person.blocks) / 3600
    clock = Clock()
    effort = Effort(work=1e9, bound=False, whole=0)
    made = plan_week(week, effort, progress=clock, cancel=lambda: clock.over(seconds))
    assert check(made) == ()
    best, above = made.cost.total, "-"
    if again:
        twice = Clock()
        other = plan_week(week, replace(effort, seed=2), cancel=lambda: twice.over(again))
        assert check(other) == ()
        best = min(best, other.cost.total)
        above = f"{made.cost.total / best - 1:.1%}"
    bound = bound_of(Table.of(week), made.cost.total) if weeks == 1 else None
    gap = "-" if bound is None else f"{1 - bound / made.cost.total:.1%}"
    at = [clock.after(s) for s in (1, 5, 10)]
    print(
        f"| {seed} | {orders}/{weeks} | {len(week.lots)}/{jobs} | {hours:.0f}/{there:.0f} | {_s(clock.first)} "
        f"| {_s(clock.on_time)} | {len(made.unserved)} | {len(made.late)} | {made.cost.overtime * 5 / 60:.1f} "
        f"| {' '.join(str(x) for x in at)} | {made.cost.total} | {above} | {bound or '-'} | {gap} |",
        flush=True,
    )


HEAD = (
    "| seed | orders/weeks | lots/jobs | work/shift h | first s | on time s | not made | late | overtime h "
    "| aim at 1 5 10 s | aim | above best | bound | gap |"
)


def _s(seconds: float | None) -> str:
    return "never" if seconds is None else f"{seconds:.2f}"


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--weeks", type=int, default=1)
    asked.add_argument("--seconds", type=float, default=60.0)
    asked.add_argument("--first", type=int, default=1, help="seed of the first week")
    asked.add_argument("--again", type=float, default=0.0, help="seconds of a second run for the best known")
    asked.add_argument("--large", action="store_true")
    told = asked.parse_args()
    print(f"{platform.processor() or platform.machine()}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}")
    print(f"{HEAD}\n|{'---|' * HEAD.count(' | ')}---|", flush=True)
    if told.large:
        run(1, 100, min(told.seconds, 30.0), told.again, times=4)
        run(1, 400, min(2 * told.seconds, 120.0), told.again, times=4, weeks=4)
        return
    for seed in range(told.first, told.first + told.weeks):
        run(seed, 25, told.seconds, told.again)


if __name__ == "__main__":
    main()
