"""The week as planned: who does what when, what stands where, what is not served, and how good it is."""

from __future__ import annotations

import heapq
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from demoule.figures import Finding
from demoule.plan.aims import Cost
from demoule.plan.table import Placed, Table
from demoule.plan.week import SLOT, Hold, Job, Lot, Week

__all__ = ["Answer", "Clash", "Plan", "Stay", "Staying", "Task", "stays_of", "tasks_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """A job in its hour: seconds after the beginning of the week, and whose hands do it."""

    job: Job
    start: int
    end: int
    person: str
    overtime: bool = False
    trays: tuple[tuple[str, tuple[int, ...]], ...] = ()  # by mould, the numbers of the trays


@dataclass(frozen=True, slots=True, kw_only=True)
class Stay:
    """Something in its place: which places of what, from when to when."""

    resource: str
    places: tuple[int, ...]  # numbers from 0; half levels in a room, trays of a mould
    amount: int
    start: int
    end: int
    lot: str
    why: str
    pieces: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Clash:
    """Why a lot is not made, or late: the smallest set of facts that cannot hold together.

    Parameters
    ----------
    facts
        In words.
    about
        Their names: lots, resources, "hands", "now", "lag " and a rest that must not be longer.
    around
        Whether they clash only while all other lots stay where they lie.
    """

    lot: str
    what: str  # "not made", "late"
    facts: tuple[str, ...]
    remedies: tuple[str, ...] = ()
    about: tuple[str, ...] = ()
    around: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What a chef asks first about one service.

    Parameters
    ----------
    slack
        Seconds by which the first job alone could begin later.
    into_room
        By dessert: when taking it out of the freezer begins, and between when it may begin.
    spare
        Good pieces more that the lots of the week would give, were every cavity filled.
    """

    order: str
    moment: int
    pieces: int
    ready: bool
    first_start: int | None
    first_does: str
    slack: int | None
    first_heart: int | None
    into_room: tuple[tuple[str, int, int, int], ...]
    spare: tuple[tuple[str, int], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Staying:
    """A person who stays after the shift for some work: until when, how long after it, and the work in it [s]."""

    person: str
    until: int
    after: int
    work: int


@dataclass(frozen=True, kw_only=True, eq=False)
class Plan:
    """A week that has passed the checker.

    Parameters
    ----------
    tasks
        By time.
    unserved
        Lots that are not made; `clashes` say why.
    late
        Seconds by which each late demand is ready after its service.
    bound
        A cost below which no plan of these lots can come; None: not computed.
    checked
        The rules that the checker went through.
    """

    week: Week
    tasks: tuple[Task, ...]
    stays: tuple[Stay, ...]
    unserved: tuple[str, ...]
    late: tuple[tuple[str, int], ...]
    cost: Cost
    bound: int | None
    findings: tuple[Finding, ...]
    clashes: tuple[Clash, ...]
    answers: tuple[Answer, ...]
    checked: tuple[str, ...]
    placement: Mapping[str, Placed]
    work: float = 0.0
    cancelled: bool = False
    moved: tuple[tuple[str, str], ...] = ()  # after a change: what moved, and why

    @property
    def works(self) -> bool:
        """Whether every order is served, and on time."""
        return not self.unserved and not self.late

    @property
    def gap(self) -> float | None:
        """How far the cost may be from the best there is, as a share of it."""
        if self.bound is None or self.cost.total <= 0:
            return None
        return max(1 - self.bound / self.cost.total, 0.0)

    @property
    def staying(self) -> tuple[Staying, ...]:
        """Who stays after the shift: overtime is counted as work, and the chef pays until the last of it is done."""
        found: dict[tuple[str, int], list[Task]] = {}
        ends = {hands.name: sorted(b for _, b in hands.blocks) for hands in self.week.hands}
        for task in self.tasks:
            if task.overtime:
                over = [end for end in ends.get(task.person, ()) if end <= task.start]
                found.setdefault((task.person, over[-1] if over else task.start), []).append(task)
        stays = [
            Staying(
                person=person,
                until=max(task.end for task in tasks),
                after=max(task.end for task in tasks) - end,
                work=sum(task.end - task.start for task in tasks),
            )
            for (person, end), tasks in found.items()
        ]
        return tuple(sorted(stays, key=lambda one: (one.until, one.person)))

    def tasks_of(self, person: str) -> tuple[Task, ...]:
        """One person's work, by time."""
        return tuple(task for task in self.tasks if task.person == person)

    def task(self, job: str) -> Task | None:
        """The task of a job; None when its lot is not made."""
        return next((task for task in self.tasks if task.job.key == job), None)


def tasks_of(table: Table, placement: Mapping[str, Placed], prefer: Mapping[str, str] | None = None) -> list[Task]:
    """Each job with one person of its crew, by the order of beginnings; a person already told keeps the job.

    People of one crew have the same hours, and never more is asked of a crew at once than it has hands, so whoever is
    free when a job begins can do it.
    """
    week = table.week
    wanted = dict(prefer or {})
    tasks = []
    until: dict[str, int] = {}
    for key, place in sorted(placement.items(), key=lambda item: (item[1].slot, item[0] not in week.begun, item[0])):
        job = week.job(key)
        begun = week.begun.get(key)
        start = begun[0] if begun else place.slot * SLOT
        if begun:
            person = begun[1]
        else:
            names = table.crews[place.crew].names
            # Where nobody is free the placement is wrong, and the checker will say so.
            free = [name for name in names if until.get(name, 0) <= start] or names
            asked = wanted.get(key, "")
            person = asked if asked in free else min(free, key=lambda name: (-until.get(name, 0), name))
        end = start + job.seconds
        until[person] = max(until.get(person, 0), end)
        tasks.append(Task(job=job, start=start, end=end, person=person, overtime=place.extra))
    return tasks


def stays_of(table: Table, placement: Mapping[str, Placed]) -> list[Stay]:
    """Every hold with the numbers of its places; a tray keeps the shelf on which it was put."""
    week = table.week
    holds: list[tuple[Lot, Hold, int, int]] = []
    for lot in week.lots:
        if lot.jobs and lot.jobs[0].key in placement:
            holds += [(lot, hold, *_seconds(table, hold, placement)) for hold in lot.holds]
    stays = []
    free: dict[str, list[int]] = {}
    busy: dict[str, list[tuple[int, int]]] = {}
    for lot, hold, start, end in sorted(holds, key=lambda h: (h[2], h[3], h[0].key, h[1].why)):
        if end <= start:
            continue
        resource = week.resource(hold.resource)
        step = max(resource.per // 2, 1)
        heap = free.setdefault(hold.resource, list(range(-(-resource.amount // step) + 400)))
        taken = busy.setdefault(hold.resource, [])
        while taken and taken[0][0] <= start:
            heapq.heappush(heap, heapq.heappop(taken)[1])
        count = -(-hold.amount // step)
        places = _together(heap, count, resource.amount // step)
        for place in places:
            heapq.heappush(taken, (end, place))
        stays.append(
            Stay(
                resource=hold.resource,
                places=tuple(places),
                amount=hold.amount,
                start=start,
                end=end,
                lot=lot.key,
                why=hold.why,
                pieces=hold.pieces,
            )
        )
    return stays


def _seconds(table: Table, hold: Hold, placement: Mapping[str, Placed]) -> tuple[int, int]:
    a, b = table.held(hold, placement)
    return a * SLOT, max(b, a) * SLOT


def _together(heap: list[int], count: int, there: int) -> list[int]:
    """The lowest run of so many free places of those there are, or the lowest free ones when none lie together."""
    order = sorted(heap)
    runs = (order[k : k + count] for k in range(len(order) - count + 1))
    run = next((run for run in runs if run[-1] - run[0] == count - 1 and run[-1] < there), order[:count])
    for place in run:
        heap.remove(place)
    heapq.heapify(heap)
    return run


def with_trays(tasks: Sequence[Task], stays: Sequence[Stay], week: Week) -> list[Task]:
    """Tasks with the numbers, from 1, of the trays that they handle."""
    numbers: dict[tuple[str, str, str], list[Stay]] = {}
    for stay in stays:
        if week.resource(stay.resource).kind == "mould":
            numbers.setdefault((stay.lot, stay.resource, ""), []).append(stay)
    out = []
    for task in tasks:
        found = []
        for mould, _ in task.job.trays:
            at = [
                stay
                for stay in numbers.get((task.job.lot, mould, ""), [])
                if stay.start == task.start or stay.end == task.end
            ]
            if at:
                found.append((mould, tuple(place + 1 for place in at[0].places)))
        out.append(
            Task(
                job=task.job,
                start=task.start,
                end=task.end,
                person=task.person,
                overtime=task.overtime,
                trays=tuple(found),
            )
        )
    return out
