from __future__ import annotations

import numpy as np
import pytest

from demoule.cold.evidence import reference_matter
from demoule.cold.grid import FOOT, SIDE, TOP, cut
from demoule.cold.many import Case, run_many
from demoule.cold.stay import Air, State, Watch, body_of
from demoule.cold.walls import Side, faces


@pytest.fixture(scope="module")
def cases(ball):
    outer = ball(0.0267)
    grid = cut(outer, [ball(0.0134), outer], 0.003)
    body = body_of(grid, [reference_matter("B"), reference_matter("A")], 233.15, 290.0)

    def case(h):
        table, wall = faces(grid, {kind: Side(film=h) for kind in (SIDE, FOOT, TOP)})
        return Case(
            body=body,
            state=State(heat=body.tables.heat_at([288.15, 288.15]), wall=wall),
            faces=table,
            air=Air.steady(238.15),
            until=Watch(place="core", temperature=255.15, falls=True),
            at_most=1e6,
        )

    return [case(h) for h in np.linspace(5.0, 50.0, 24)]


def test_side_by_side_is_the_same_as_one_after_the_other_and_in_order(cases):
    alone = [case.run().met for case in cases]
    together = [track.met for track in run_many(cases, 2)]
    assert together == alone
    assert (np.diff(alone) < 0).all()


def test_a_case_may_be_made_when_its_turn_comes(cases):
    made = run_many([lambda case=case: case for case in cases[:5]], 2)
    assert [track.met for track in made] == [case.run().met for case in cases[:5]]


def test_a_case_leaves_its_state_as_it_is(cases):
    before = cases[0].state.heat.copy()
    cases[0].run()
    assert np.array_equal(cases[0].state.heat, before)
