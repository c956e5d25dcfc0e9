"""Why something does not fit: the smallest set of facts that cannot hold together, in plain words."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from demoule.errors import BadInput
from demoule.plan.aims import lot_cost
from demoule.plan.clash_words import facts_in_words, remedies_for
from demoule.plan.cycles import Arc, impossible_circle
from demoule.plan.model import solve
from demoule.plan.result import Clash
from demoule.plan.table import Placed, Table
from demoule.plan.week import Lot, Week

__all__ = ["ON_TIME", "clashes_of", "limits_of", "refuse_circles"]

ON_TIME = "on time"
"""The name under which the model is told that nothing may be late."""

_WORK = 0.8  # of one question to the solver
_MOST = 25.0  # of all the questions of a week
_SIZES = (1, 2, 3, 5, 8)


def refuse_circles(week: Week) -> None:
    """Raise BadInput when the rests of a lot contradict each other, and name them."""
    for lot in week.lots:
        length = {job.key: job.seconds for job in lot.jobs}
        arcs: list[Arc] = []
        said: dict[Arc, str] = {}
        for lag in lot.lags:
            least = (lag.before, lag.after, length[lag.before] + lag.at_least)
            arcs.append(least)
            said[least] = f"{lag.why} at least {_hours(lag.at_least)}"
            if lag.at_most is not None:
                most = (lag.after, lag.before, -length[lag.before] - lag.at_most)
                arcs.append(most)
                said[most] = f"{lag.why} at most {_hours(lag.at_most)}"
        circle = impossible_circle(length, arcs)
        if circle:
            raise BadInput(
                f"The rests of {lot.dessert} cannot all hold: {'; '.join(said[arc] for arc in circle)}.",
                where=f"dessert “{lot.dessert}”",
                remedy="let the longer rest begin earlier, or allow the shorter one to be longer.",
            )


def clashes_of(table: Table, placement: Mapping[str, Placed]) -> tuple[Clash, ...]:
    """For each lot that is late or not made, the smallest set of facts that cannot hold together.

    Facts are the services of this lot and of others, each thing of which there is so much and no more, the hands, each
    longest rest, and the present. First the lot is asked about alone, then with its neighbours, whatever else is in
    the week: a set found so clashes by itself, and without any one fact of it the rest of it fits. Where that cannot
    be proven within the work allowed, all other lots are taken to stay where they lie.
    """
    week = table.week
    bad = {}
    for lot in week.lots:
        cost = lot_cost(table, placement, lot)
        if cost.unserved or cost.late:
            bad[lot.key] = "not made" if cost.unserved else "late"
    asked = _Asked(table)
    found: dict[str, Clash] = {}
    for key, what in sorted(bad.items(), key=lambda pair: (table.due[pair[0]], pair[0])):
        known = next((clash for clash in found.values() if key in clash.about), None)
        if known is not None:  # the same set: it clashes for this lot too
            found[key] = Clash(lot=key, what=what, facts=known.facts, remedies=known.remedies, about=known.about)
            continue
        found[key] = _clash(asked, placement, week.lot(key), what, bad)
    return tuple(found[lot.key] for lot in week.lots if lot.key in found)


@dataclass(slots=True)
class _Asked:
    """Questions to the model, and how much work they were."""

    table: Table
    spent: float = 0.0
    known: dict[str, bool] = field(default_factory=dict)

    def alone(self, lot: str) -> bool:
        """Whether a lot by itself cannot be on time."""
        if lot not in self.known:
            self.known[lot] = self.impossible([lot], frozenset())
        return self.known[lot]

    def impossible(
        self, lots: Sequence[str], ignoring: frozenset[str], placement: Mapping[str, Placed] | None = None
    ) -> bool:
        """Whether it is proven that lots cannot all be made on time; by themselves, or around what is placed."""
        if self.spent >= _MOST:
            return False
        solved = solve(
            self.table,
            lots,
            placement or {},
            must=True,
            alone=placement is None,
            ignoring=frozenset({ON_TIME}) | ignoring,
            work=_WORK,
        )
        self.spent += 0.05 + solved.work
        return not solved.found and solved.proven


def _clash(asked: _Asked, placement: Mapping[str, Placed], lot: Lot, what: str, bad: Mapping[str, str]) -> Clash:
    table = asked.table
    if asked.alone(lot.key):
        lots, kept = _by_themselves(asked, lot, ())
        return _told(table, lots, kept, what, None)
    # A lot that cannot be on time whatever the others do explains itself and no other.
    alone = {key for key in bad if key != lot.key and asked.alone(key)}
    near = [key for key in _near(table, lot, bad) if key not in alone]
    for size in (*(k for k in _SIZES if k < len(near)), len(near)):
        if asked.impossible([lot.key, *near[:size]], frozenset()):
            lots, kept = _by_themselves(asked, lot, near[:size])
            return _told(table, lots, kept, what, None)
        if asked.spent >= _MOST:
            break
    limits = limits_of([lot])
    if asked.impossible([lot.key], frozenset(), placement):
        kept = _smallest(
            limits, lambda rest: asked.impossible([lot.key], frozenset(limits) - frozenset(rest), placement)
        )
        return _told(table, [lot.key], kept, what, placement)
    return Clash(
        lot=lot.key,
        what=what,
        facts=(
            *facts_in_words(table, [lot.key], [], None),
            "no clash was proven in the time there was: it may fit when other lots are moved",
        ),
        remedies=("plan for longer, or ask what would help.",),
        about=(lot.key,),
    )


def _by_themselves(asked: _Asked, lot: Lot, others: Sequence[str]) -> tuple[list[str], list[str]]:
    """Of lots that are impossible together, those and the limits that are needed for it."""
    needed = _smallest(others, lambda rest: asked.impossible([lot.key, *rest], frozenset()))
    lots = [lot.key, *needed]
    limits = limits_of([asked.table.week.lot(key) for key in lots])
    kept = _smallest(limits, lambda rest: asked.impossible(lots, frozenset(limits) - frozenset(rest)))
    return lots, kept


def _told(
    table: Table, lots: Sequence[str], kept: Sequence[str], what: str, placement: Mapping[str, Placed] | None
) -> Clash:
    return Clash(
        lot=lots[0],
        what=what,
        facts=facts_in_words(table, lots, kept, placement),
        remedies=remedies_for(table, lots, kept),
        about=(*lots, *kept),
        around=placement is not None,
    )


def _smallest(facts: Sequence[str], impossible: Callable[[Sequence[str]], bool]) -> list[str]:
    """Facts without any one of which the rest is no longer impossible.

    Notes
    -----
    A deletion filter: each fact is left out in turn, and stays out when the rest is still impossible.
    Source: chinneck-1991. Status: recalled.
    """
    kept = list(facts)
    for fact in facts:
        rest = [one for one in kept if one != fact]
        if impossible(rest):
            kept = rest
    return kept


def _near(table: Table, lot: Lot, bad: Mapping[str, str]) -> list[str]:
    """Other lots that are wanted as well, those first that want the same moulds at the same time."""
    mine = {hold.resource for hold in lot.holds if table.week.resource(hold.resource).kind == "mould"}
    others = [one for one in table.week.lots if one.key != lot.key and one.jobs and one.parts and not one.stock]

    def apart(other: Lot) -> tuple[float, bool, str]:
        same = bool(mine & {hold.resource for hold in other.holds})
        return abs(table.due[other.key] - table.due[lot.key]) / 288 - 2 * same, other.key not in bad, other.key

    return [other.key for other in sorted(others, key=apart)]


def limits_of(lots: Sequence[Lot]) -> list[str]:
    """What may be short for lots, in the order in which it is left out: the plain ones last, so that they stay."""
    lags = dict.fromkeys(f"lag {lag.why}" for lot in lots for lag in lot.lags if lag.at_most is not None)
    machines = dict.fromkeys(use.resource for lot in lots for job in lot.jobs for use in job.uses)
    places = dict.fromkeys(hold.resource for lot in lots for hold in lot.holds)
    return [*lags, *machines, *places, "hands", "now"]


def _hours(seconds: float) -> str:
    return f"{seconds / 3600:.1f} h".replace(".0 h", " h")
