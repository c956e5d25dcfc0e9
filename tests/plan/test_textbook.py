"""The solver's set-up on small textbook instances with a known optimum; lags that cannot hold are told at once."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import pytest

# The job shop of six jobs on six machines; its shortest makespan is 55.
# Source: Fisher and Thompson 1963, in Muth and Thompson, Industrial Scheduling. Status: recalled.
SIX_BY_SIX = (
    ((2, 1), (0, 3), (1, 6), (3, 7), (5, 3), (4, 6)),
    ((1, 8), (2, 5), (4, 10), (5, 10), (0, 10), (3, 4)),
    ((2, 5), (3, 4), (5, 8), (0, 9), (1, 1), (4, 7)),
    ((1, 5), (0, 5), (2, 5), (3, 3), (4, 8), (5, 9)),
    ((2, 9), (1, 3), (4, 5), (5, 4), (0, 3), (3, 1)),
    ((1, 3), (3, 3), (5, 9), (0, 10), (4, 4), (2, 1)),
)

# Five jobs through two machines in the same order. The least makespan follows from Johnson's rule (1954, law): jobs
# quicker on the first machine by rising first time, then the others by falling second time.
TWO_MACHINES = ((5, 2), (1, 6), (9, 7), (3, 8), (10, 4))


@pytest.fixture(scope="module")
def bench() -> ModuleType:
    path = Path(__file__).parents[2] / "benchmarks" / "bench_classical.py"
    spec = importlib.util.spec_from_file_location("bench_classical", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["bench_classical"] = module
    spec.loader.exec_module(module)
    return module


def shop(bench: ModuleType, jobs: tuple[tuple[tuple[int, int], ...], ...], machines: int) -> object:
    duration, demand, lags = [], [], []
    for job in jobs:
        for k, (machine, lasts) in enumerate(job):
            if k:
                lags.append((len(duration) - 1, len(duration), duration[-1]))
            duration.append(lasts)
            demand.append(tuple(int(m == machine) for m in range(machines)))
    return bench.Project(tuple(duration), tuple(demand), (1,) * machines, tuple(lags))


def test_the_six_by_six_job_shop(bench: ModuleType):
    project = shop(bench, SIX_BY_SIX, 6)
    found = bench.shortest(project, seconds=None, work=20.0, workers=1)
    assert found.makespan == 55
    assert found.proven
    assert bench.broken(project, found.starts) == []


def test_two_machines_in_johnsons_order(bench: ModuleType):
    quick = sorted((job for job in TWO_MACHINES if job[0] <= job[1]), key=lambda job: job[0])
    slow = sorted((job for job in TWO_MACHINES if job[0] > job[1]), key=lambda job: -job[1])
    first = second = 0
    for a, b in [*quick, *slow]:
        first += a
        second = max(second, first) + b
    project = shop(bench, tuple(((0, a), (1, b)) for a, b in TWO_MACHINES), 2)
    assert bench.shortest(project, seconds=None, work=10.0, workers=1).makespan == second


def test_a_store_must_be_filled_before_it_is_drawn_upon(bench: ModuleType):
    # Two tasks of 4 draw 3 each from a store of 2; a third of 5 fills 4 at its end: nothing of them can begin before 5.
    project = bench.Project((5, 4, 4), ((0,), (1,), (1,)), (1,), (), (2,), (((0, 4),), ((3, 0),), ((3, 0),)))
    found = bench.shortest(project, seconds=None, work=10.0, workers=1)
    assert found.makespan == 13
    assert bench.broken(project, found.starts) == []


def test_lags_that_contradict_each_other_are_told_without_the_solver(bench: ModuleType):
    project = bench.Project((2, 2), ((1,), (1,)), (1,), ((0, 1, 5), (1, 0, -3)))
    assert bench.shortest(project, work=0.0, seconds=None).infeasible


def test_a_schedule_broken_on_purpose_is_caught(bench: ModuleType):
    project = shop(bench, SIX_BY_SIX, 6)
    assert bench.broken(project, [0] * 36)
