"""Pooling against every way to cut, for a few services."""

from __future__ import annotations

from itertools import combinations

from hypothesis import given, settings
from hypothesis import strategies as st

from demoule.plan.lots import Costs, pooled
from demoule.plan.week import Demand


def demand(k: int, pieces: int, day: float) -> Demand:
    return Demand(
        key=str(k), order="", dessert="", pieces=pieces, moment=int(day * 86400), at_least=0, at_most=0, best=0, room=""
    )


def cost(cuts: tuple[int, ...], demands: list[Demand], costs: Costs) -> float:
    total, done, ends = 0.0, 0, []
    for d in demands:
        ends.append((ends[-1] if ends else 0) + d.pieces)
    for cut in cuts:
        first = next(k for k, end in enumerate(ends) if done < end)
        kept = 0.0
        at = done
        for k in range(first, len(demands)):
            if at >= cut:
                break
            pieces = min(ends[k], cut) - at
            kept += pieces * (demands[k].moment - demands[first].moment) / 86400
            at += pieces
        total += costs.a_lot + costs.keeping * kept
        done = cut
    return total


@settings(deadline=None, max_examples=40)
@given(
    wanted=st.lists(st.integers(1, 5), min_size=1, max_size=4),
    capacity=st.integers(2, 6),
    a_lot=st.integers(1, 40),
)
def test_no_other_way_to_cut_is_cheaper(wanted: list[int], capacity: int, a_lot: int):
    demands = [demand(k, pieces, k * 0.9) for k, pieces in enumerate(wanted)]
    costs = Costs(a_lot=a_lot, keeping=3.0, span=1e9)
    total = sum(wanted)
    makings = pooled(demands, capacity, costs)
    done, cuts = 0, []
    for making in makings:
        done += sum(count for _, count in making)
        cuts.append(done)
    best = min(
        cost((*inner, total), demands, costs)
        for size in range(total)
        for inner in combinations(range(1, total), size)
        if all(b - a <= capacity for a, b in zip((0, *inner), (*inner, total), strict=True))
    )
    assert abs(cost(tuple(cuts), demands, costs) - best) < 1e-6


@settings(deadline=None, max_examples=40)
@given(wanted=st.lists(st.integers(1, 90), min_size=1, max_size=8), capacity=st.integers(1, 60))
def test_every_piece_is_made_once_and_no_lot_is_too_large(wanted: list[int], capacity: int):
    demands = [demand(k, pieces, k) for k, pieces in enumerate(wanted)]
    makings = pooled(demands, capacity, Costs(a_lot=3600.0))
    given_to: dict[str, int] = {}
    for making in makings:
        assert 0 < sum(count for _, count in making) <= capacity
        for key, count in making:
            given_to[key] = given_to.get(key, 0) + count
    assert given_to == {d.key: d.pieces for d in demands}
