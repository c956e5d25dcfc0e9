"""Components of a lot as jobs at the bench: their turns, how long they stand, and what they go into."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from demoule.batch import NeedOf
from demoule.plan.places import PLACE
from demoule.plan.sheet import Sheet
from demoule.plan.steps import KEEPS, Turn
from demoule.plan.week import Job, Use
from demoule.units import Second

__all__ = ["Components"]

_MINUTE, _HOUR = 60.0, 3600.0

# Common practice, no source.
_WARM_COAT: Second = 4 * _HOUR  # a coat held warm
_BASES_WAIT: Second = 72 * _HOUR
_WEIGH_UP = 5 * _MINUTE


@dataclass(slots=True)
class Components(Sheet):
    """The sheet with what is done for the components."""

    def components(self, needs: Mapping[str, NeedOf]) -> None:
        """Turns of every component; the last of one that must be used at once is part of the job that uses it."""
        weigh_up_left = _WEIGH_UP
        for name, need in needs.items():
            if name in self.made:
                continue
            listed = list(self.turns(need))
            if name in self.at_once:
                listed.pop()
            before: tuple[Job, Turn] | None = None
            for k, turn in enumerate(listed):
                uses, clean = self.uses(need, turn, turn.seconds)
                job = self.job(
                    f"{name} {k + 1}" if len(listed) > 1 else name,
                    "cook",
                    turn.does,
                    turn.seconds + weigh_up_left + clean,
                    component=name,
                    batch=need.gives * need.makings,
                    uses=uses,
                    allergens=self.allergens([name]),
                )
                weigh_up_left = 0.0
                if before is not None:
                    self.wait(before, job)
                self.first_of.setdefault(name, job)
                before = (job, turn)
            if before is not None:
                self.last_of[name] = before

    def wait(self, before: tuple[Job, Turn], after: Job) -> None:
        """The next job with a component comes after its rest, in the room in which it rests."""
        job, turn = before
        most = turn.at_most if turn.at_most is not None else self._keeps(job.component)
        self.lag(job, after, turn.at_least, max(most, turn.at_least), f"{job.component} rests")
        if turn.at is not None and turn.at_least > 0:
            room = self._cold_room(turn.at)
            if room:
                self.hold(room, PLACE // 2, job, "end", after, "start", f"{job.component} rests")

    def _cold_room(self, at: float) -> str:
        """The room with levels in which something rests at a temperature; none for what stands warm."""
        if not 268.15 < at < 283.15:
            return ""
        rooms = [r for r in self.resources.values() if r.kind == "room" and r.air is not None and r.air > 268.15]
        return rooms[0].name if rooms else ""

    def _keeps(self, component: str) -> Second:
        roles = self.roles(component)
        if roles & {"shell", "spray"}:
            return _WARM_COAT
        return _BASES_WAIT if "base" in roles else KEEPS

    def link_components(self, needs: Mapping[str, NeedOf]) -> None:
        """Each component before whatever it goes into."""
        for name, last in self.last_of.items():
            if name in self.merged:
                self.wait(last, self.merged[name])
                continue
            for user in self._users(name, needs):
                self.wait(last, user)

    def _users(self, name: str, needs: Mapping[str, NeedOf]) -> list[Job]:
        users = [job for job in self.jobs if name in self.takes.get(job.key, ())]
        for other in needs:
            if other == name or other in self.made:
                continue
            component = self.component(other)
            syrups = [step.syrup for step in component.steps if hasattr(step, "syrup")]
            if any(line.what.casefold() == name.casefold() for line in component.weighed) or name in syrups:
                first = self.first_of.get(other) or self.merged.get(other)
                if first is not None:
                    users.append(first)
        return list(dict.fromkeys(users))

    def find_at_once(self, names: Sequence[str], needs: Mapping[str, NeedOf]) -> None:
        """Whatever does not stand before it is used is made in the job that uses it: whipped, folded, poured warm."""
        for name in names:
            need = needs.get(name)
            if need is not None and name not in self.made and self.turns(need)[-1].at_least == 0:
                self.at_once.add(name)

    def used_at_once(self, names: Sequence[str], needs: Mapping[str, NeedOf]) -> tuple[Second, list[Use], list[str]]:
        """Seconds, machines and words of the turns that are done with the filling itself."""
        seconds = 0.0
        uses: list[Use] = []
        words: list[str] = []
        for name in names:
            if name not in self.at_once:
                continue
            need = needs[name]
            turn = self.turns(need)[-1]
            taken, clean = self.uses(need, turn, turn.seconds)
            seconds += turn.seconds + clean
            uses += taken
            words.append(turn.does)
        return seconds, uses, words
