"""The smallest set of clashing facts, held against every plan of weeks so small that all can be tried."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import product

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from demoule.plan import Clash, Effort, Plan, Week, plan_week

from .conftest import tiny_week

EFFORT = Effort(work=2.0, bound=False)
SLOT = 300
LONGEST = "lag pieces freeze"


Way = tuple[frozenset[int], int, int]
"""Slots in which hands are busy, the slot in which the filling begins, and that in which the finish ends."""


def possible(week: Week, lots: Sequence[str], limits: frozenset[str], lying: Sequence[Way] = ()) -> bool:
    """Whether lots can all be made on time under some of the limits, by trying every plan of them.

    Work takes 3, 2 and 1 slots; a tray is held from the first to the end of the second, a bowl for the first two slots.
    """
    ((a, b),) = week.hands[0].blocks
    ways = []
    for key in lots:
        lot = week.lot(key)
        demand = week.demand(lot.parts[0].demand)
        lag = lot.lags[0]
        last = (demand.moment - demand.at_least) // SLOT
        slots = range(a // SLOT, b // SLOT) if "hands" in limits else range(last)
        end = b // SLOT if "hands" in limits else last
        mine = set()
        for s, t, u in product(slots, slots, slots):
            waits = t - s - 3
            if u + 1 > min(end, last) or t + 2 > min(end, u) or waits < lag.at_least // SLOT:
                continue
            if LONGEST in limits and lag.at_most is not None and waits > lag.at_most // SLOT:
                continue
            if (u + 1) * SLOT + demand.at_most < demand.moment:
                continue
            mine.add((frozenset({*range(s, s + 3), t, t + 1, u}), s, t + 2))
        ways.append(list(mine))
    ways += [[way] for way in lying]
    trays = next(r.amount for r in week.resources if r.name == "tray")

    def fits(done: list[Way], left: int) -> bool:
        if left == len(ways):
            return True
        for way in ways[left]:
            if "hands" in limits and any(way[0] & other[0] for other in done):
                continue
            if "bowl" in limits and any(abs(way[1] - other[1]) < 2 for other in done):
                continue
            held = [(other[1], other[2]) for other in done] + [(way[1], way[2])]
            if "tray" in limits and any(sum(x <= at < y for x, y in held) > trays for at, _ in held):
                continue
            if fits([*done, way], left + 1):
                return True
        return False

    return fits([], 0)


def smallest(made: Plan, clash: Clash) -> bool:
    """Whether the facts of a clash cannot hold together, and without any one of them can."""
    week = made.week
    lots = [name for name in clash.about if name in {lot.key for lot in week.lots}]
    limits = frozenset(clash.about) - frozenset(lots)
    assert clash.lot in lots
    lying = [_way(made, lot.key) for lot in week.lots if lot.key not in (*lots, *made.unserved)] if clash.around else []
    assert not possible(week, lots, limits, lying)
    for limit in limits:
        assert possible(week, lots, limits - {limit}, lying), limit
    for lot in lots:
        assert possible(week, [one for one in lots if one != lot], limits, lying), lot
    return True


def _way(made: Plan, key: str) -> Way:
    fill, finish, out = (made.task(f"{key} {name}") for name in ("fill", "finish", "out"))
    assert fill
    assert finish
    assert out
    busy = {slot for task in (fill, finish, out) for slot in range(task.start // SLOT, task.end // SLOT)}
    return frozenset(busy), fill.start // SLOT, finish.end // SLOT


@settings(max_examples=40, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])
@given(
    lots=st.integers(1, 3),
    trays=st.integers(1, 2),
    freeze=st.sampled_from([600, 900, 1500, 2400]),
    longer=st.sampled_from([0, 300, 1200]),
    there=st.sampled_from([1800, 2400, 3000, 3600, 4200]),
    service=st.sampled_from([2400, 3600, 4800]),
)
def test_without_any_one_fact_the_rest_fits(lots: int, trays: int, freeze: int, longer: int, there: int, service: int):
    week = tiny_week(
        lots=lots,
        trays=trays,
        freeze=freeze,
        at_most=freeze + longer,
        people=(("ada", ((0, there),)),),
        service=service,
    )
    made = plan_week(week, EFFORT)
    stuck = {*made.unserved, *(lot.key for lot in week.lots for part in lot.parts if part.demand in dict(made.late))}
    assert {clash.lot for clash in made.clashes} == stuck
    for clash in made.clashes:
        assert smallest(made, clash)


def test_too_few_trays_are_said_as_a_chef_would(made: Plan):
    """ "Quince 1 needs 5 trays of quince 110 ml from Thu 18:00 at the latest …; you own 4"."""
    from demoule.plan.clash_words import facts_in_words
    from demoule.plan.table import Table

    lot = made.week.lot("Quince 1")
    holds = tuple(replace(h, amount=5) if h.resource == "quince 110 ml" else h for h in lot.holds)
    lots = tuple(replace(lot, holds=holds) if one is lot else one for one in made.week.lots)
    table = Table.of(replace(made.week, lots=lots))
    wanted, trays = facts_in_words(table, ["Quince 1"], ["quince 110 ml"], None)
    assert wanted.startswith("30 Quince (Quince 1) are wanted from ")
    assert trays.startswith("Quince 1 needs 5 trays of quince 110 ml from ")
    assert trays.endswith("; you own 4")


def test_who_alone_may_do_it_is_said(tiny: Callable[..., Week]):
    week = tiny(lots=1, people=(("ada", ((0, 7200),)), ("bea", ((0, 600),))))
    lots = tuple(
        replace(lot, jobs=tuple(replace(job, skill="fill") if job.kind == "fill" else job for job in lot.jobs))
        for lot in week.lots
    )
    hands = tuple(replace(one, skills=frozenset({"fill"})) if one.name == "bea" else one for one in week.hands)
    made = plan_week(replace(week, lots=lots, hands=hands), EFFORT)
    assert made.clashes[0].about == ("Pear 1", "hands")
    assert "only bea may fill" in " ".join(made.clashes[0].facts)
    assert made.clashes[0].remedies


@pytest.mark.parametrize("at_most", [600, 900])
def test_a_longest_rest_is_named_by_what_it_lies_between(tiny: Callable[..., Week], at_most: int):
    # One person from 00:00 to 00:20 and from 01:00 to 01:40: the finish can only come 45 min after the filling.
    week = tiny(lots=1, at_most=at_most, people=(("ada", ((0, 1200), (3600, 6000))),), service=6900)
    long = replace(week, hands=(replace(week.hands[0], blocks=((0, 1200), (3600, 4500))),))
    made = plan_week(long, EFFORT)
    assert set(made.clashes[0].about) == {"Pear 1", LONGEST, "hands"}
    assert "between “fill” and “finish” no more than" in " ".join(made.clashes[0].facts)
