"""The sheet of one lot while it is written: jobs, lags and holds, and the machines that a turn at the bench takes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from demoule.batch import NeedOf
from demoule.formula import Component
from demoule.plan.places import weighed
from demoule.plan.steps import Turn, turns
from demoule.plan.week import Hold, Job, Lag, Resource, Use, seconds_down, seconds_up
from demoule.units import Second
from demoule.worked import Worked

__all__ = ["Sheet"]

_MINUTE = 60.0

# Common practice, no source.
_CLEAN: Second = 15 * _MINUTE
_HANDLED = 12  # frozen pieces on the bench at a time, and the longest that they are there
_BARE: Second = 20 * _MINUTE


@dataclass(slots=True)
class Sheet:
    """What a lot needs, as far as it is written.

    Parameters
    ----------
    first_of, last_of
        By component: its first job, and its last with the wait that follows.
    merged
        By component: the job into which its last turn goes.
    """

    worked: Worked
    number: int
    pieces: int
    resources: Mapping[str, Resource]
    skills: frozenset[str]
    made: frozenset[str]
    dirty: Mapping[str, frozenset[str]]
    jobs: list[Job] = field(default_factory=list)
    lags: list[Lag] = field(default_factory=list)
    holds: list[Hold] = field(default_factory=list)
    first_of: dict[str, Job] = field(default_factory=dict)
    last_of: dict[str, tuple[Job, Turn]] = field(default_factory=dict)
    merged: dict[str, Job] = field(default_factory=dict)
    at_once: set[str] = field(default_factory=set)
    takes: dict[str, tuple[str, ...]] = field(default_factory=dict)

    @property
    def key(self) -> str:
        """Name of the lot: "Apricot 1"."""
        return f"{self.worked.dessert.name} {self.number}"

    def job(self, name: str, kind: str, does: str, seconds: Second, **more: object) -> Job:
        """Write down a job."""
        job = Job(
            key=f"{self.key} {name}",
            lot=self.key,
            kind=kind,
            does=does,
            seconds=seconds_up(max(seconds, 300.0)),
            warm=self._warm(kind, seconds),
            skill=kind if kind in self.skills else "",
            **more,  # type: ignore[arg-type]
        )
        self.jobs.append(job)
        return job

    def _warm(self, kind: str, seconds: Second) -> int:
        """Filling stands open for as long as moulds are filled; what is frozen is handled twelve at a time."""
        if kind == "fill":
            return int(dict(weighed(self.worked, self.pieces).hands_on).get("fill moulds", 0.0))
        if kind in ("demould", "dip", "spray", "finish"):
            return int(min(seconds * _HANDLED / max(self.pieces, _HANDLED), _BARE))
        return 0

    def lag(self, before: Job, after: Job, at_least: Second, at_most: Second | None, why: str) -> None:
        """Write down the shortest and the longest time between two jobs, in whole slots on the strict side."""
        least = seconds_up(at_least)
        most = None if at_most is None else max(seconds_down(at_most), least)
        self.lags.append(Lag(before=before.key, after=after.key, at_least=least, at_most=most, why=why))

    def hold(self, resource: str, amount: int, first: Job, begins: str, last: Job, ends: str, why: str) -> None:
        """Write down places that are taken, where there are only so many."""
        if resource in self.resources and amount > 0:
            self.holds.append(
                Hold(
                    resource=resource,
                    amount=amount,
                    first=first.key,
                    begins=begins,
                    last=last.key,
                    ends=ends,
                    why=why,
                    pieces=self.pieces,
                )
            )

    def roles(self, component: str) -> set[str]:
        """What a component is in the piece."""
        return {layer.role for layer in self.worked.piece.layers if layer.component == component}

    def component(self, name: str) -> Component:
        """A component by name."""
        return next(one for one in self.worked.dessert.components if one.name == name)

    def turns(self, need: NeedOf) -> tuple[Turn, ...]:
        """The turns of a component at the bench."""
        return turns(self.component(need.component), self.worked.cooked[need.component], need)

    def allergens(self, components: Sequence[str]) -> frozenset[str]:
        """Allergens of some components, by the law of the market."""
        found: set[str] = set()
        for name in components:
            for content in self.worked.cooked[name].contents:
                item = content.ingredient
                found |= item.allergens_eu if self.worked.kitchen.market == "EU" else item.allergens_us
        return frozenset(found)

    def uses(self, need: NeedOf, turn: Turn, seconds: Second) -> tuple[tuple[Use, ...], Second]:
        """Machines that a turn takes, from the vessels of the weigh-up, and the clean-down that follows."""
        names = [part.split(",")[0].strip() for part in need.vessel.split(", ")]
        bears = self.allergens([need.component])
        uses: list[Use] = []
        clean = 0.0
        for name in names:
            machine = self.resources.get(name)
            if machine is None or machine.kind != "machine":
                continue
            pan = machine.counted == "pan"
            if (
                (pan and not turn.hot)
                or (machine.counted == "bowl" and not turn.whips)
                or name in ("bath", "spray gun")
            ):
                continue
            after = _CLEAN if not pan and bears & self.dirty.get(name, frozenset()) else 0.0
            clean = max(clean, after)
            uses.append(Use(resource=name, amount=1, seconds=seconds_up(seconds + after), clean=int(after)))
        if turn.bakes and "oven" in self.resources:
            sheets = min(self._sheets(need), self.resources["oven"].amount)
            uses.append(Use(resource="oven", amount=sheets, seconds=seconds_up(seconds)))
        return tuple(uses), clean

    def _sheets(self, need: NeedOf) -> int:
        head = need.vessel.split(" ")[0]
        return int(head) if head.isdigit() and "sheet" in need.vessel else 1
