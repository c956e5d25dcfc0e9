"""Where the hours of a week lie across a drawing, nights folded; and the short mark of each lot."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from itertools import pairwise

from demoule.plan import Plan

__all__ = ["LEFT", "NIGHT", "WIDTH", "Axis", "axis_of", "lot_mark", "lot_marks"]

WIDTH = 1208.0
LEFT = 150.0
NIGHT = (22.0, 5.0)
"""Hours between which time is folded."""

_FOLD = 1 / 6


def lot_marks(plan: Plan) -> dict[str, str]:
    """Letter and number of each lot: "A2"; two letters where two desserts begin alike, "S" before what is in stock."""
    names = list(dict.fromkeys(lot.dessert for lot in plan.week.lots))
    letters: dict[str, str] = {}
    for name in names:
        length = 1
        while name[:length].upper() in letters.values() and length < len(name):
            length += 1
        letters[name] = name[:length].upper()
    return {lot.key: letters[lot.dessert] + (str(lot.number) if not lot.stock else "s") for lot in plan.week.lots}


def lot_mark(plan: Plan, lot: str) -> str:
    """The mark of one lot."""
    return lot_marks(plan)[lot]


@dataclass(frozen=True, slots=True)
class Axis:
    """Where the hours of the kitchen's clock lie, nights folded to a sixth of their length."""

    plan: Plan
    days: tuple[datetime.date, ...]
    knots: tuple[tuple[float, float], ...]  # seconds, x

    def x(self, moment: float) -> float:
        """Where a moment lies across the drawing."""
        for (a, xa), (b, xb) in pairwise(self.knots):
            if moment <= b:
                return xa + (xb - xa) * (max(moment, a) - a) / (b - a)
        return self.knots[-1][1]

    def at(self, day: datetime.date, hour: float) -> float:
        """Seconds of an hour of the clock."""
        zone = self.plan.week.start.tzinfo
        whole = datetime.datetime.combine(day, datetime.time(), zone) + datetime.timedelta(hours=hour)
        return (whole.astimezone(datetime.UTC) - self.plan.week.start.astimezone(datetime.UTC)).total_seconds()


def axis_of(plan: Plan) -> Axis:
    """The hours of all days on which somebody works or something is served."""
    week = plan.week
    begins = min([task.start for task in plan.tasks] + [a for p in week.hands for a, _ in p.blocks], default=0)
    ends = max([d.moment for d in week.demands] + [task.end for task in plan.tasks], default=week.length)
    first, last = week.clock(begins).date(), week.clock(max(ends - 1, 0)).date()
    days = tuple(first + datetime.timedelta(days=k) for k in range((last - first).days + 1))
    bare = Axis(plan, days, ())
    cuts: list[tuple[float, float]] = []
    for day in days:
        cuts += [(bare.at(day, 0.0), _FOLD), (bare.at(day, NIGHT[1]), 1.0), (bare.at(day, NIGHT[0]), _FOLD)]
    end = bare.at(days[-1] + datetime.timedelta(days=1), 0.0)
    edges = [*cuts, (end, 0.0)]
    lengths = [(b - a) * weight for (a, weight), (b, _) in pairwise(edges)]
    scale = (WIDTH - LEFT) / sum(lengths)
    knots, x = [(edges[0][0], LEFT)], LEFT
    for (b, _), length in zip(edges[1:], lengths, strict=True):
        x += length * scale
        knots.append((b, x))
    return Axis(plan, days, tuple(knots))
