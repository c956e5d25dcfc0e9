"""The week as arrays of slots: what the solver and the search count with."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from demoule.plan.week import SLOT, Hold, Job, Lot, Span, Week

__all__ = ["WINDOW", "Crew", "Mask", "Placed", "Placement", "Slots", "Table", "fits", "ranges"]

WINDOW = 6 * 288
"""Slots before the service within which a lot is made."""

Slots = npt.NDArray[np.int32]
Mask = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Placed:
    """A job in its place: first slot, crew, and whether it is overtime."""

    slot: int
    crew: int
    extra: bool = False


OVERTIME = 100
"""Aim lost for one slot of overtime of somebody of mean pay, before what it costs more than an hour of the shift."""

Placement = dict[str, Placed]
"""Places by job; a lot is in it with all of its jobs or with none."""


@dataclass(frozen=True, slots=True)
class Crew:
    """People with the same hours, skills and pay: they need not be told apart while time is found."""

    names: tuple[str, ...]
    regular: Mask
    extra: Mask
    skills: frozenset[str]
    price: int  # of one slot of overtime, in the units of the aims

    @property
    def size(self) -> int:
        """How many people."""
        return len(self.names)


@dataclass(slots=True)
class Table:
    """Everything about a week in slots.

    Parameters
    ----------
    first
        The first slot in which anything may begin.
    late
        Slots by which pieces may be late before they count as not served.
    """

    week: Week
    slots: int = 0
    first: int = 0
    late: int = 288
    crews: tuple[Crew, ...] = ()
    length: dict[str, int] = field(default_factory=dict)
    starts: dict[tuple[int, bool, int], Mask] = field(default_factory=dict)
    lot_of: dict[str, str] = field(default_factory=dict)
    due: dict[str, int] = field(default_factory=dict)
    blocked: dict[str, Slots] = field(default_factory=dict)
    _banned: dict[str, Mask] = field(default_factory=dict)

    @classmethod
    def of(cls, week: Week) -> Table:
        """The table of a week."""
        table = cls(week=week)
        table.slots = week.length // SLOT
        table.first = -(-week.now // SLOT)
        groups: dict[tuple[object, ...], list[str]] = {}
        for person in week.hands:
            key = (person.blocks, person.extra, person.skills, person.pay, person.overtime_factor)
            groups.setdefault(key, []).append(person.name)
        mean = sum(person.pay for person in week.hands) / len(week.hands)
        by_name = {person.name: person for person in week.hands}
        crews = []
        for names in groups.values():
            person = by_name[names[0]]
            price = round(OVERTIME * person.overtime_factor * (person.pay / mean if mean > 0 else 1.0))
            crews.append(
                Crew(
                    tuple(names),
                    table._mask(person.blocks),
                    table._mask(person.extra),
                    person.skills,
                    max(price, 1),
                )
            )
        table.crews = tuple(crews)
        for lot in week.lots:
            for job in lot.jobs:
                table.length[job.key] = job.seconds // SLOT
                table.lot_of[job.key] = lot.key
            table.due[lot.key] = min((week.demand(p.demand).moment // SLOT for p in lot.parts), default=table.slots)
        for name, begins, ends in week.down:
            if name in {r.name for r in week.resources if r.kind == "machine"}:
                use = table.blocked.setdefault(name, np.zeros(table.slots, dtype=np.int32))
                use[begins // SLOT : -(-ends // SLOT)] = week.resource(name).amount
        return table

    def _mask(self, spans: Iterable[Span]) -> Mask:
        mask = np.zeros(self.slots, dtype=np.bool_)
        for a, b in spans:
            mask[-(-a // SLOT) : b // SLOT] = True
        return mask

    def may_do(self, crew: Crew, job: Job) -> bool:
        """Whether the people of a crew may do a job."""
        return not job.skill or job.skill in crew.skills

    def working(self, crew: int, extra: bool, length: int) -> Mask:
        """Slots at which work of some length may begin, by the hours of a crew alone."""
        key = (crew, extra, length)
        if key not in self.starts:
            one = self.crews[crew]
            self.starts[key] = fits(one.extra if extra else one.regular, length)
        return self.starts[key]

    def crew_of(self, person: str) -> int:
        """The crew that a person is of; -1 for someone who is no longer in the week."""
        return next((k for k, crew in enumerate(self.crews) if person in crew.names), -1)

    def banned(self, job: str) -> Mask:
        """Slots at which a job may not begin because a room is out of order in which its pieces would then freeze."""
        if job not in self._banned:
            mask = np.zeros(self.slots, dtype=np.bool_)
            if self.week.down:
                lot = self.week.lot(self.lot_of[job])
                least = {(lag.before, lag.after): lag.at_least for lag in lot.lags}
                for hold in lot.holds:
                    if hold.first != job:
                        continue
                    for name, begins, ends in self.week.down:
                        if name == hold.resource:
                            stay = least.get((hold.first, hold.last), 0) // SLOT
                            shift = self.length[job] if hold.begins == "end" else 0
                            a, b = begins // SLOT - stay - shift + 1, -(-ends // SLOT) - shift
                            mask[max(a, 0) : max(b, 0)] = True
            self._banned[job] = mask
        return self._banned[job]

    def window(self, lot: Lot) -> Span:
        """From which slot to which one, not included, the jobs of a lot may lie that have not begun."""
        opens = self.first if lot.stock else max(self.first, self.due[lot.key] - WINDOW)
        begun = [self.week.begun[job.key][0] // SLOT for job in lot.jobs if job.key in self.week.begun]
        opens = max(min([opens, *begun]), 0)
        closes = max((self.week.demand(part.demand).moment // SLOT for part in lot.parts), default=self.slots)
        return opens, max(min(closes + self.late, self.slots), opens)

    # ---- what is taken

    def taken(
        self, placement: Mapping[str, Placed], without: Collection[str] = ()
    ) -> tuple[dict[str, Slots], list[Slots]]:
        """What placed jobs take, slot by slot: of every resource, and of every crew.

        Hands and machines of jobs that have begun are taken even when the rest of their lot has no place yet, but for
        the lots in `without`.
        """
        resources = {r.name: np.zeros(self.slots, dtype=np.int32) for r in self.week.resources}
        for name, use in self.blocked.items():
            resources[name] = resources[name] + use
        crews = [np.zeros(self.slots, dtype=np.int32) for _ in self.crews]
        for lot in self.week.lots:
            if not lot.jobs:
                continue
            placed = lot.jobs[0].key in placement
            for job in lot.jobs:
                if placed:
                    place = placement[job.key]
                elif job.key in self.week.begun and lot.key not in without:
                    slot, person = self.week.begun[job.key]
                    place = Placed(slot // SLOT, self.crew_of(person))
                else:
                    continue
                if place.crew >= 0:
                    crews[place.crew][place.slot : place.slot + self.length[job.key]] += 1
                for used in job.uses:
                    resources[used.resource][place.slot : place.slot + used.seconds // SLOT] += used.amount
            for hold in lot.holds if placed else ():
                a, b = self.held(hold, placement)
                resources[hold.resource][max(a, 0) : max(b, 0)] += hold.amount
        return resources, crews

    def held(self, hold: Hold, placement: Mapping[str, Placed]) -> Span:
        """From which slot to which something is held."""
        a = placement[hold.first].slot + (self.length[hold.first] if hold.begins == "end" else 0)
        if not hold.last:
            return a, (hold.until or 0) // SLOT
        b = placement[hold.last].slot + (self.length[hold.last] if hold.ends == "end" else 0)
        return a, b


def fits(free: Mask, length: int) -> Mask:
    """Slots from which on so many are free in a row."""
    if length <= 1:
        return free
    sums = np.concatenate([[0], np.cumsum(free)])
    ok = np.zeros(len(free), dtype=np.bool_)
    ok[: len(free) - length + 1] = sums[length:] - sums[:-length] == length
    return ok


def ranges(mask: Mask) -> list[list[int]]:
    """Runs of slots that are allowed, ends included."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], mask, [False]]).astype(np.int8)))
    return [[int(a), int(b) - 1] for a, b in zip(edges[::2], edges[1::2], strict=True)]
