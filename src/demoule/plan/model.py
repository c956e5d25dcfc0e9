"""The exact model of some lots of a week while all others stay where they are, for the constraint solver."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
from ortools.sat.python import cp_model

from demoule.plan.aims import LATE, fresh_weight, roots, unserved_cost
from demoule.plan.table import WINDOW, Mask, Placed, Placement, Slots, Table, fits, ranges
from demoule.plan.week import SLOT, Hold, Job, Lot

__all__ = ["Moves", "Solved", "solve"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Moves:
    """What it costs to move a job against an earlier plan: once, for each slot, and for another crew."""

    old: Mapping[str, Placed]
    once: int = 500
    a_slot: int = 10
    hands: int = 300


@dataclass(frozen=True, slots=True, kw_only=True)
class Solved:
    """What the solver found: places of the lots that were free, whether that is proven best, a bound on their cost."""

    placement: Placement
    proven: bool
    bound: float
    work: float
    found: bool


@dataclass(slots=True)
class _Model:
    table: Table
    lots: Sequence[Lot]
    ignoring: frozenset[str]
    cp: cp_model.CpModel = field(default_factory=cp_model.CpModel)
    start: dict[str, cp_model.IntVar] = field(default_factory=dict)
    made: dict[str, cp_model.IntVar] = field(default_factory=dict)
    doing: dict[str, list[tuple[cp_model.IntVar, int, bool]]] = field(default_factory=dict)
    late: dict[str, cp_model.IntVar] = field(default_factory=dict)
    size: list[tuple[cp_model.IntVar, int]] = field(default_factory=list)
    cost: list[cp_model.LinearExprT] = field(default_factory=list)
    stays: dict[int, list[tuple[cp_model.IntervalVar, int]]] = field(default_factory=dict)


def solve(
    table: Table,
    free: Iterable[str],
    placement: Mapping[str, Placed],
    *,
    work: float = 0.5,
    seconds: float | None = None,
    hint: Mapping[str, Placed] | None = None,
    moves: Moves | None = None,
    must: bool = False,
    ignoring: frozenset[str] = frozenset(),
    least: Mapping[str, int] | None = None,
    below: int | None = None,
    workers: int = 1,
    alone: bool = False,
) -> Solved:
    """Find places for some lots at least cost.

    Parameters
    ----------
    free
        Keys of the lots to be placed; all others in `placement` stay.
    work, seconds
        Limits: of the solver's own count of work, which makes a run the same each time, and of time.
    hint
        Complete places to begin from.
    must
        Whether every lot must be made; infeasible is then an answer.
    ignoring
        Names of resources, or "hands", "now", "late", that are taken not to be short: to ask what stands in the way.
    least
        For single lots, the least they can cost.
    below
        Only a cost below this is wanted; that there is none is an answer too.
    alone
        Whether what other lots take is left out of account: gives a bound.
    """
    keys = set(free)
    lots = [lot for lot in table.week.lots if lot.key in keys and lot.jobs]
    if not lots:
        return Solved(placement={}, proven=True, bound=0.0, work=0.0, found=True)
    others = {} if alone else {key: place for key, place in placement.items() if table.lot_of[key] not in keys}
    taken, busy = table.taken(others, [lot.key for lot in table.week.lots] if alone else keys)
    model = _Model(table, lots, ignoring)
    for lot in lots:
        _lot(model, lot, taken, busy, moves, must)
    _crews(model, busy)
    _resources(model, taken)
    if least:
        _floors(model, least)
    if below is not None:
        model.cp.add(sum(model.cost) <= below - 1)
    model.cp.minimize(sum(model.cost))
    if hint is not None:
        _hint(model, hint)
    solver = cp_model.CpSolver()
    settings = solver.parameters
    settings.num_workers = workers
    settings.interleave_search = workers > 1
    settings.max_deterministic_time = work
    if seconds is not None:
        settings.max_time_in_seconds = max(seconds, 0.01)
    settings.random_seed = 1
    settings.linearization_level = 2 if workers == 1 else 1
    settings.cp_model_probing_level = 0
    settings.symmetry_level = 0
    status = solver.solve(model.cp)
    spent = float(solver.response_proto.deterministic_time)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return Solved(placement={}, proven=status == cp_model.INFEASIBLE, bound=float("inf"), work=spent, found=False)
    return Solved(
        placement=_read(model, solver),
        proven=status == cp_model.OPTIMAL,
        bound=float(solver.best_objective_bound),
        work=spent,
        found=True,
    )


def _lot(
    model: _Model,
    lot: Lot,
    taken: Mapping[str, Slots],
    busy: Sequence[Slots],
    moves: Moves | None,
    must: bool,
) -> None:
    table, cp = model.table, model.cp
    due = table.due[lot.key]
    begun = any(job.key in table.week.begun for job in lot.jobs)
    made = cp.new_constant(1) if must or begun else cp.new_bool_var(f"made {lot.key}")
    model.made[lot.key] = made
    if not (must or begun):
        cost = unserved_cost(table, lot)
        model.cost.append(cost - cost * made)
    opens, last = table.window(lot)
    opens = max(opens, table.first)
    if "now" in model.ignoring:
        opens = 0 if lot.stock else max(0, due - WINDOW)
    for job in lot.jobs:
        _job(model, job, opens, last, taken, busy, moves)
    for lag in lot.lags:
        if lag.before in table.week.begun and lag.after in table.week.begun:
            continue  # what has begun is as it is
        a, b = model.start[lag.before], model.start[lag.after]
        length = table.length[lag.before]
        cp.add(b >= a + length + lag.at_least // SLOT).only_enforce_if(made)
        if lag.at_most is not None and f"lag {lag.why}" not in model.ignoring:
            cp.add(b <= a + length + lag.at_most // SLOT).only_enforce_if(made)
    _aims(model, lot, made, due)
    for hold in lot.holds:
        _hold(model, hold, made)


def _job(
    model: _Model,
    job: Job,
    opens: int,
    last: int,
    taken: Mapping[str, Slots],
    busy: Sequence[Slots],
    moves: Moves | None,
) -> None:
    table, cp = model.table, model.cp
    made = model.made[job.lot]
    length = table.length[job.key]
    if job.key in table.week.begun:
        slot, _ = table.week.begun[job.key]
        model.start[job.key] = cp.new_constant(slot // SLOT)
        model.doing[job.key] = []
        return
    allowed = np.zeros(table.slots, dtype=np.bool_)
    allowed[opens : max(last - length + 1, opens)] = True
    for use in job.uses:
        if use.resource in model.ignoring:
            continue
        there = table.week.resource(use.resource).amount - taken[use.resource] >= use.amount
        allowed &= fits(there, use.seconds // SLOT)
    allowed &= ~table.banned(job.key)
    choices: list[tuple[Mask, int, bool]] = []
    if "hands" in model.ignoring:
        choices.append((allowed, -1, False))
    else:
        for crew, people in enumerate(table.crews):
            if not table.may_do(people, job):
                continue
            there = fits(busy[crew] < people.size, length)
            for extra in (False, True):
                mask = allowed & table.working(crew, extra, length) & there
                if mask.any():
                    choices.append((mask, crew, extra))
    union = np.zeros(table.slots, dtype=np.bool_)
    for mask, _, _ in choices:
        union |= mask
    if not choices:
        model.start[job.key] = cp.new_int_var(opens, max(last, opens), job.key)
        model.doing[job.key] = []
        cp.add(made == 0)
        return
    start = cp.new_int_var_from_domain(cp_model.Domain.from_intervals(ranges(union)), job.key)
    model.start[job.key] = start
    doing = []
    for mask, crew, extra in choices:
        chosen = cp.new_bool_var(f"{job.key} {crew} {extra}")
        cp.add_linear_expression_in_domain(start, cp_model.Domain.from_intervals(ranges(mask))).only_enforce_if(chosen)
        doing.append((chosen, crew, extra))
        if extra:
            model.cost.append(table.crews[crew].price * length * chosen)
    cp.add(sum(chosen for chosen, _, _ in doing) == made)
    model.doing[job.key] = doing
    if moves is not None and job.key in moves.old:
        _anchor(model, job, moves, moves.old[job.key], doing)


def _anchor(
    model: _Model, job: Job, moves: Moves, old: Placed, doing: Sequence[tuple[cp_model.IntVar, int, bool]]
) -> None:
    """Staying where it was costs nothing."""
    cp, start = model.cp, model.start[job.key]
    away = cp.new_int_var(0, model.table.slots, f"{job.key} away")
    cp.add_abs_equality(away, start - old.slot)
    stays = cp.new_bool_var(f"{job.key} stays")
    cp.add(away == 0).only_enforce_if(stays)
    model.cost += [moves.a_slot * away, moves.once - moves.once * stays]
    same = [chosen for chosen, crew, _ in doing if crew == old.crew]
    model.cost.append(moves.hands - moves.hands * sum(same) if same else moves.hands)


def _aims(model: _Model, lot: Lot, made: cp_model.IntVar, due: int) -> None:
    table, cp = model.table, model.cp
    for part in lot.parts:
        demand = table.week.demand(part.demand)
        if part.job in table.week.begun:
            continue
        end = model.start[part.job] + table.length[part.job]
        late = cp.new_int_var(0, 0 if "on time" in model.ignoring else table.late, f"late {part.job}")
        model.late[part.job] = late
        moment = demand.moment // SLOT
        cp.add(end + demand.at_least // SLOT <= moment + late).only_enforce_if(made)
        cp.add(end + demand.at_most // SLOT >= moment).only_enforce_if(made)
        if lot.use_by is not None:
            cp.add(end <= lot.use_by // SLOT).only_enforce_if(made)
        model.cost.append(LATE * late)
        # Earlier than needed, when it is not late: end + at_least + early = moment + late.
        early = cp.new_int_var(0, table.slots, f"early {part.job}")
        cp.add(early >= moment - demand.at_least // SLOT - end).only_enforce_if(made)
        model.size.append((early, -1))
        model.cost.append(early)
    for job in lot.jobs:
        if job.kind == "finish":
            _waits(model, fresh_weight(lot), due - table.length[job.key], model.start[job.key], made)
    for key in roots(lot):
        _waits(model, 1, due, model.start[key], made)


def _waits(model: _Model, weight: int, due: int, start: cp_model.IntVar, made: cp_model.IntVar) -> None:
    early = model.cp.new_int_var(0, model.table.slots, "waits")
    model.cp.add(early >= due - start).only_enforce_if(made)
    model.cost.append(weight * early)


def _hold(model: _Model, hold: Hold, made: cp_model.IntVar) -> None:
    if hold.resource in model.ignoring:
        return
    table, cp = model.table, model.cp
    begin = model.start[hold.first] + (table.length[hold.first] if hold.begins == "end" else 0)
    end: cp_model.LinearExprT
    if hold.last:
        end = model.start[hold.last] + (table.length[hold.last] if hold.ends == "end" else 0)
    else:
        end = cp.new_constant((hold.until or 0) // SLOT)
    size = cp.new_int_var(0, table.slots, "held")
    if not hold.last:  # late pieces take no place after their service
        end = cp.new_int_var(0, table.slots, "out")
        cp.add(end >= (hold.until or 0) // SLOT)
    interval = cp.new_optional_interval_var(begin, size, end, made, f"{hold.resource} {hold.why}")
    model.stays.setdefault(_number(table, hold.resource), []).append((interval, hold.amount))


def _number(table: Table, resource: str) -> int:
    return next(k for k, one in enumerate(table.week.resources) if one.name == resource)


def _crews(model: _Model, busy: Sequence[Slots]) -> None:
    """One pair of hands does one thing at a time."""
    table, cp = model.table, model.cp
    for crew, people in enumerate(table.crews):
        intervals = []
        for key, doing in model.doing.items():
            chosen = [literal for literal, who, _ in doing if who == crew]
            length = table.length[key]
            for literal in chosen:
                intervals.append(cp.new_optional_fixed_size_interval_var(model.start[key], length, literal, key))
        intervals += _begun(model, crew)
        if len(intervals) < 2 and people.size == 1:
            continue
        if people.size == 1:
            cp.add_no_overlap(intervals)
        else:
            background = _segments(model, busy[crew])
            cp.add_cumulative(
                [*intervals, *(i for i, _ in background)],
                [*(1 for _ in intervals), *(amount for _, amount in background)],
                people.size,
            )


def _begun(model: _Model, crew: int) -> list[cp_model.IntervalVar]:
    """Jobs of the free lots that somebody of the crew is at, as long as they last."""
    table = model.table
    found = []
    for lot in model.lots:
        for job in lot.jobs:
            if job.key in table.week.begun:
                slot, person = table.week.begun[job.key]
                if person in table.crews[crew].names and slot // SLOT + table.length[job.key] > table.first:
                    found.append(
                        model.cp.new_fixed_size_interval_var(slot // SLOT, table.length[job.key], f"begun {job.key}")
                    )
    return found


def _segments(model: _Model, taken: Slots) -> list[tuple[cp_model.IntervalVar, int]]:
    """What others take, as fixed intervals."""
    change = np.flatnonzero(np.diff(taken)) + 1
    edges = [0, *change.tolist(), len(taken)]
    found = []
    for a, b in pairwise(edges):
        amount = int(taken[a])
        if amount > 0 and b > model.table.first - 288:
            found.append((model.cp.new_fixed_size_interval_var(a, b - a, "others"), amount))
    return found


def _resources(model: _Model, taken: Mapping[str, Slots]) -> None:
    """Never more of anything than there is; what cannot be short is left out."""
    table, cp = model.table, model.cp
    for lot in model.lots:
        for job in lot.jobs:
            for use in job.uses:
                if use.resource in model.ignoring:
                    continue
                interval = cp.new_optional_fixed_size_interval_var(
                    model.start[job.key], use.seconds // SLOT, model.made[lot.key], f"{job.key} {use.resource}"
                )
                model.stays.setdefault(_number(table, use.resource), []).append((interval, use.amount))
    for number, stays in sorted(model.stays.items()):
        resource = table.week.resources[number]
        others = np.minimum(taken[resource.name], resource.amount)
        if sum(amount for _, amount in stays) + int(others.max(initial=0)) <= resource.amount:
            continue
        background = _segments(model, others)
        cp.add_cumulative(
            [*(i for i, _ in stays), *(i for i, _ in background)],
            [*(a for _, a in stays), *(a for _, a in background)],
            resource.amount,
        )


def _floors(model: _Model, least: Mapping[str, int]) -> None:
    known = [least[lot.key] for lot in model.lots if lot.key in least]
    if len(known) == len(model.lots):
        model.cp.add(sum(model.cost) >= sum(known))


def _hint(model: _Model, hint: Mapping[str, Placed]) -> None:
    cp = model.cp
    for lot in model.lots:
        there = lot.jobs[0].key in hint
        if model.made[lot.key].name:
            cp.add_hint(model.made[lot.key], int(there))
        for job in lot.jobs:
            if not there or job.key in model.table.week.begun:
                continue
            place = hint[job.key]
            cp.add_hint(model.start[job.key], place.slot)
            for literal, crew, extra in model.doing[job.key]:
                cp.add_hint(literal, int(crew == place.crew and extra == place.extra))
    # The rest of the variables follow from these: let the solver find them once, and hint all of them.
    solver = cp_model.CpSolver()
    solver.parameters.fix_variables_to_their_hinted_value = True
    solver.parameters.num_workers = 1
    solver.parameters.max_deterministic_time = 1.0
    solver.parameters.cp_model_probing_level = 0
    if solver.solve(cp) in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        values = solver.response_proto.solution
        cp.proto.clear_solution_hint()
        for index in range(len(cp.proto.variables)):
            cp.add_hint(cp.get_int_var_from_proto_index(index), values[index])


def _read(model: _Model, solver: cp_model.CpSolver) -> Placement:
    placement: Placement = {}
    for lot in model.lots:
        if not solver.value(model.made[lot.key]):
            continue
        for job in lot.jobs:
            begun = model.table.week.begun.get(job.key)
            if begun is not None:
                placement[job.key] = Placed(begun[0] // SLOT, model.table.crew_of(begun[1]))
                continue
            crew, extra = -1, False
            for literal, who, late in model.doing[job.key]:
                if solver.value(literal):
                    crew, extra = who, late
            placement[job.key] = Placed(solver.value(model.start[job.key]), crew, extra)
    return placement
