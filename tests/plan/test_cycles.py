"""Lags alone: earliest starts of a textbook network, and circles that cannot close."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from demoule.errors import BadInput
from demoule.plan.clashes import refuse_circles
from demoule.plan.cycles import impossible_circle, longest_paths
from demoule.plan.week import Week

# A chain with a longest time: b starts 3 to 5 after a, c at least 4 after b, c at most 8 after a.
CHAIN = [("a", "b", 3), ("b", "a", -5), ("b", "c", 4), ("c", "a", -8)]


def test_earliest_starts_are_longest_paths():
    start, circle = longest_paths("abc", CHAIN)
    assert start == {"a": 0, "b": 3, "c": 7}
    assert circle == ()


def test_a_circle_that_is_too_long_is_named():
    circle = impossible_circle("abc", [*CHAIN[:3], ("c", "a", -6)])
    assert set(circle) == {("a", "b", 3), ("b", "c", 4), ("c", "a", -6)}
    assert sum(least for _, _, least in circle) > 0


def test_rests_that_contradict_each_other_are_refused_and_named(tiny: Callable[..., Week]):
    week = tiny(freeze=7200, at_most=3600)
    with pytest.raises(
        BadInput, match=r"pieces freeze at least 2 h.*pieces freeze at most 1 h|at most 1 h.*at least 2 h"
    ):
        refuse_circles(week)
