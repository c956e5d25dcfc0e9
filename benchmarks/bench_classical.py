"""The solver as we set it up, on classical project-scheduling instances; prints gaps to the best bounds known.

    python benchmarks/bench_classical.py FOLDER [--seconds 10] [--family RCPSP]

FOLDER holds `bks.csv` (columns id, file, family, lower_bound, upper_bound, status) and the instance files it names:
projects with renewable resources (.sm), with shortest and longest lags (.sch), with stores that are filled and drawn
upon (.rcp). Every schedule found is gone through by a sweep of its own, or the run ends.
"""

from __future__ import annotations

import argparse
import csv
import os
import platform
import re
import time
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path

from ortools.sat.python import cp_model

from demoule.plan.cycles import Arc, longest_paths


@dataclass(frozen=True)
class Project:
    """Tasks with durations and demands, start-to-start lags, capacities, and stores drawn at start, filled at end."""

    duration: tuple[int, ...]
    demand: tuple[tuple[int, ...], ...]
    capacity: tuple[int, ...]
    lags: tuple[tuple[int, int, int], ...]
    store: tuple[int, ...] = ()
    draws: tuple[tuple[tuple[int, int], ...], ...] = field(default=())


@dataclass(frozen=True)
class Found:
    """What the solver says: a makespan or that there is none, the proven bound, and the starts."""

    makespan: int | None
    bound: int
    proven: bool
    infeasible: bool
    starts: tuple[int, ...]


def read_sm(text: str) -> Project:
    """A project of the PSPLIB text format."""
    relations = text.split("PRECEDENCE RELATIONS:")[1].split("*****")[0].splitlines()[2:]
    requests = text.split("REQUESTS/DURATIONS:")[1].split("*****")[0].splitlines()
    rows = [[int(word) for word in line.split()] for line in requests if re.match(r"\s*\d", line)]
    capacity = [int(word) for word in text.split("RESOURCEAVAILABILITIES:")[1].splitlines()[2].split()]
    duration = tuple(row[2] for row in rows)
    lags = []
    for line in relations:
        words = [int(word) for word in line.split()]
        if words:
            lags += [(words[0] - 1, after - 1, duration[words[0] - 1]) for after in words[3:]]
    return Project(duration, tuple(tuple(row[3:]) for row in rows), tuple(capacity), tuple(lags))


def read_sch(text: str) -> Project:
    """A project with shortest and longest lags, start to start (ProGen/max)."""
    lines = [line for line in text.splitlines() if line.strip()]
    count, kinds = (int(word) for word in lines[0].split()[:2])
    lags = []
    for line in lines[1 : count + 3]:
        plain = [int(word) for word in re.sub(r"\[[^\]]*\]", "", line).split()]
        weights = [int(word) for word in re.findall(r"\[(-?\d+)", line)]
        lags += [(plain[0], after, weight) for after, weight in zip(plain[3:], weights, strict=True)]
    rows = [[int(word) for word in line.split()] for line in lines[count + 3 : 2 * count + 5]]
    capacity = tuple(int(word) for word in lines[2 * count + 5].split()[:kinds])
    return Project(tuple(row[2] for row in rows), tuple(tuple(row[3:]) for row in rows), capacity, tuple(lags))


def read_rcp(text: str) -> Project:
    """A project with stores: consumed at a start, produced at an end."""
    words = [int(word) for word in text.split()]
    count, kinds, stores = words[:3]
    at = 3
    capacity, store = words[at : at + kinds], words[at + kinds : at + kinds + stores]
    at += kinds + stores
    duration, demand, draws, lags = [], [], [], []
    for task in range(count):
        duration.append(words[at])
        demand.append(tuple(words[at + 1 : at + 1 + kinds]))
        at += 1 + kinds
        pairs = tuple((words[at + 2 * k], words[at + 2 * k + 1]) for k in range(stores))
        draws.append(pairs if 0 < task < count - 1 else tuple((0, 0) for _ in range(stores)))
        at += 2 * stores
        after = words[at + 1 : at + 1 + words[at]]
        at += 1 + len(after)
        lags += [(task, other - 1, duration[task]) for other in after]
    return Project(tuple(duration), tuple(demand), tuple(capacity), tuple(lags), tuple(store), tuple(draws))


READERS = {".sm": read_sm, ".sch": read_sch, ".rcp": read_rcp}


def shortest(project: Project, *, seconds: float | None = 10.0, work: float | None = None, workers: int = 8) -> Found:
    """The schedule of least makespan that is found; lags that cannot all hold are told at once, without the solver."""
    names = [str(k) for k in range(len(project.duration))]
    arcs: list[Arc] = [(str(a), str(b), least) for a, b, least in project.lags]
    earliest, circle = longest_paths(names, arcs)
    if circle:
        return Found(None, 0, True, True, ())
    horizon = sum(project.duration) + sum(max(least, 0) for _, _, least in project.lags)
    model = cp_model.CpModel()
    starts = [model.new_int_var(earliest[name], horizon, name) for name in names]
    end = model.new_int_var(0, horizon, "end")
    for a, b, least in project.lags:
        model.add(starts[b] >= starts[a] + least)
    for start, lasts in zip(starts, project.duration, strict=True):
        model.add(end >= start + lasts)
    intervals = [model.new_fixed_size_interval_var(s, d, "") for s, d in zip(starts, project.duration, strict=True)]
    for kind, most in enumerate(project.capacity):
        needs = [(i, row[kind]) for i, row in zip(intervals, project.demand, strict=True) if row[kind]]
        if needs:
            model.add_cumulative([i for i, _ in needs], [need for _, need in needs], most)
    for kind, first in enumerate(project.store):
        times, changes = [0], [first]
        for task, pairs in enumerate(project.draws):
            taken, given = pairs[kind]
            if taken:
                times.append(starts[task])
                changes.append(-taken)
            if given:
                times.append(starts[task] + project.duration[task])
                changes.append(given)
        model.add_reservoir_constraint(times, changes, 0, max(sum(c for c in changes if c > 0), 1))
    model.minimize(end)
    solver = cp_model.CpSolver()
    settings = solver.parameters
    settings.num_workers = workers
    settings.interleave_search = seconds is None and workers > 1
    settings.random_seed = 1
    settings.cp_model_probing_level = 0
    settings.symmetry_level = 0
    if seconds is not None:
        settings.max_time_in_seconds = seconds
    if work is not None:
        settings.max_deterministic_time = work
    status = solver.solve(model)
    if status == cp_model.INFEASIBLE:
        return Found(None, 0, True, True, ())
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return Found(None, 0, False, False, ())
    found = tuple(solver.value(start) for start in starts)
    return Found(
        int(solver.objective_value), int(solver.best_objective_bound + 0.999), status == cp_model.OPTIMAL, False, found
    )


def broken(project: Project, starts: Iterable[int]) -> list[str]:
    """Every rule of a project that a schedule breaks, by sweeping over its events."""
    at = list(starts)
    wrong = [f"lag {a} to {b}" for a, b, least in project.lags if at[b] < at[a] + least]
    for kind, most in enumerate(project.capacity):
        for moment in sorted(set(at)):
            used = sum(
                row[kind]
                for start, lasts, row in zip(at, project.duration, project.demand, strict=True)
                if start <= moment < start + lasts
            )
            if used > most:
                wrong.append(f"resource {kind} at {moment}")
    for kind, first in enumerate(project.store):
        events = []
        for task, pairs in enumerate(project.draws):
            events += [(at[task], -pairs[kind][0]), (at[task] + project.duration[task], pairs[kind][1])]
        for moment in sorted({moment for moment, _ in events}):
            if first + sum(change for when, change in events if when <= moment) < 0:
                wrong.append(f"store {kind} at {moment}")
    return wrong


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("folder", type=Path)
    asked.add_argument("--seconds", type=float, default=10.0)
    asked.add_argument("--family", default="")
    asked.add_argument("--most", type=int, default=1000)
    told = asked.parse_args()
    print(f"{platform.machine()}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}, {told.seconds:g} s each")
    gaps: dict[str, list[float]] = {}
    settled: dict[str, int] = {}
    with (told.folder / "bks.csv").open(newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["family"].startswith(told.family)][: told.most]
    for row in rows:
        path = told.folder / row["file"]
        if not path.is_file() or path.suffix not in READERS:
            continue
        project = READERS[path.suffix](path.read_text())
        began = time.monotonic()
        found = shortest(project, seconds=told.seconds)
        took = time.monotonic() - began
        if found.makespan is not None:
            assert not broken(project, found.starts), broken(project, found.starts)[:3]
        says = "infeasible" if found.infeasible else str(found.makespan)
        best = row["upper_bound"]
        mark = ""
        if found.makespan is not None and best.isdigit():
            gap = found.makespan / int(best) - 1
            gaps.setdefault(row["family"], []).append(gap)
            mark = f"{gap:+.1%}"
        settled[row["family"]] = settled.get(row["family"], 0) + found.proven
        known = f"{row['lower_bound']}..{best} {row['status']}"
        proof = "proven" if found.proven else f"bound {found.bound}"
        print(f"{row['id']:<28}{known:<24}{says:>10} {mark:>7}  {proof:<10} {took:5.1f} s")
    for family, values in gaps.items():
        mean = sum(values) / len(values)
        print(f"{family}: mean gap to the best known {mean:+.2%}, worst {max(values):+.1%}, {settled[family]} settled")


if __name__ == "__main__":
    main()
