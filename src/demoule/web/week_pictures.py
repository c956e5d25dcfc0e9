"""The week on a screen: each scarce thing a container, drawn in shares of the width so that one drawing fits all.

Heights are pixels and count places; along the hours everything stands at a percentage, and the nights are folded.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any
from xml.sax.saxutils import escape

from demoule.plan import Plan, Resource, Stay, Task
from demoule.sheets.svg import element, fragment, number, slug
from demoule.sheets.tokens import DESSERTS, TEMPERATURES, lightness
from demoule.units import ZERO_CELSIUS

__all__ = ["Axis", "Drawn", "axis_of", "day_head", "hands_row", "patterns", "place_row", "way_rows"]

_NIGHT = (22.0, 5.0)  # hours between which time is folded
_FOLD = 1 / 6
_BED = 34.0
_TASK = 30.0
_TRAY = 12.0
_ROOM = 84.0
_LEAST = 34.0
_WIDE, _MIDDLE = 10.2, 5.9  # px of one hundredth of the hours on a laptop and on a tablet
_SKY = (
    (0, 5, "night"),
    (5, 6, "dusk"),
    (6, 7, "dawn"),
    (7, 19, "light"),
    (19, 20, "dawn"),
    (20, 22, "dusk"),
    (22, 24, "night"),
)


@dataclass(frozen=True, slots=True)
class Axis:
    """Where the hours of the kitchen's clock lie, as a share of the width in hundredths."""

    plan: Plan
    days: tuple[datetime.date, ...]
    knots: tuple[tuple[float, float], ...]  # seconds after the beginning of the week, hundredths

    def x(self, moment: float) -> float:
        """Hundredths of the width; what lies outside is at the edge."""
        for (a, xa), (b, xb) in pairwise(self.knots):
            if moment <= b:
                return xa + (xb - xa) * (max(moment, a) - a) / (b - a)
        return self.knots[-1][1]

    def at(self, day: datetime.date, hour: float) -> float:
        """Seconds of an hour of the clock."""
        start = self.plan.week.start
        whole = datetime.datetime.combine(day, datetime.time(), start.tzinfo) + datetime.timedelta(hours=hour)
        return (whole.astimezone(datetime.UTC) - start.astimezone(datetime.UTC)).total_seconds()

    @property
    def span(self) -> tuple[float, float]:
        """The first and the last second that are shown."""
        return self.knots[0][0], self.knots[-1][0]

    def shows(self, start: float, end: float) -> bool:
        """Whether something between two moments can be seen."""
        return start < self.knots[-1][0] and end > self.knots[0][0]


def axis_of(plan: Plan, only: datetime.date | None = None) -> Axis:
    """All days on which something happens, or one of them."""
    week = plan.week
    begins = min([task.start for task in plan.tasks] + [a for p in week.hands for a, _ in p.blocks], default=0)
    ends = max([d.moment for d in week.demands] + [task.end for task in plan.tasks], default=week.length)
    first, last = week.clock(begins).date(), week.clock(max(ends - 1, 0)).date()
    days = tuple(first + datetime.timedelta(days=k) for k in range((last - first).days + 1))
    shown = (only,) if only is not None else days
    bare = Axis(plan, shown, ())
    cuts: list[tuple[float, float]] = []
    for day in shown:
        cuts += [(bare.at(day, 0.0), _FOLD), (bare.at(day, _NIGHT[1]), 1.0), (bare.at(day, _NIGHT[0]), _FOLD)]
    edges = [*cuts, (bare.at(shown[-1] + datetime.timedelta(days=1), 0.0), 0.0)]
    lengths = [(b - a) * weight for (a, weight), (b, _) in pairwise(edges)]
    knots, x = [(edges[0][0], 0.0)], 0.0
    for (b, _), length in zip(edges[1:], lengths, strict=True):
        x += 100 * length / sum(lengths)
        knots.append((b, x))
    return Axis(plan, shown, tuple(knots))


@dataclass(frozen=True, slots=True)
class Drawn:
    """What the rows of one picture share.

    Parameters
    ----------
    marks
        Letter and number of each lot.
    says
        A task and a stay in words, for readers by ear and for the slip.
    chosen, faded
        The job at hand, and lots that stand back behind the one at hand.
    before
        Hours and hands of jobs that were moved since the week was kept.
    wrong
        Jobs and resources that a broken rule names.
    """

    axis: Axis
    marks: Mapping[str, str]
    task_says: Callable[[Task], str]
    stay_says: Callable[[Stay], str]
    chosen: str = ""
    lot: str = ""
    before: Mapping[str, tuple[int, int, str]] = field(default_factory=dict)
    wrong: frozenset[str] = frozenset()

    def faded(self, lot: str) -> str | None:
        """The class of what stands back."""
        return "back" if self.lot and lot != self.lot else None

    def which(self, dessert: str) -> int:
        """The number of a dessert in the plan."""
        names = list(dict.fromkeys(lot.dessert for lot in self.axis.plan.week.lots))
        return names.index(dessert) % len(DESSERTS)

    def fill(self, lot: str) -> str:
        """Colour or texture of a lot's dessert."""
        which = self.which(self.axis.plan.week.lot(lot).dessert)
        colour, texture = DESSERTS[which]
        return colour if texture == "plain" else f"url(#dessert-{which})"


def _share(value: float) -> str:
    return f"{number(value, 2)}%"


def _svg(height: float, label: str, *parts: str, **more: object) -> str:
    return element(
        "svg", *parts, class_="lane", width="100%", height=number(height), role="group", aria_label=label, **more
    )


# ---- above


def day_head(axis: Axis, names: Sequence[tuple[str, str]]) -> str:
    """Names of the days, the strip of night and day, and the hours that a chef uses.

    Parameters
    ----------
    names
        Of the seven weekdays from Monday, long and short.
    """
    parts = []
    alone = len(axis.days) == 1
    for day in axis.days:
        middle = (axis.x(axis.at(day, _NIGHT[1])) + axis.x(axis.at(day, _NIGHT[0]))) / 2
        long, short = names[day.weekday()]
        for words, shown in ((long, "day-name long"), (short, "day-name short")):
            parts.append(element("text", escape(words), x=_share(middle), y="18", class_=shown, text_anchor="middle"))
        for begin, end, sky in _SKY:
            xa, xb = axis.x(axis.at(day, begin)), axis.x(axis.at(day, end))
            parts.append(
                element("rect", x=_share(xa), y="25", width=_share(xb - xa + 0.05), height="10", class_=f"sky {sky}")
            )
        for hour in range(6, 23, 2) if alone else (8, 12, 16, 20):
            x = axis.x(axis.at(day, hour))
            rare = None if alone or hour == 12 else "wide-only"
            parts.append(
                element(
                    "g",
                    element("line", x1=_share(x), x2=_share(x), y1="35", y2="40", class_="tick-line"),
                    element("text", str(hour), x=_share(x), y="54", class_="hour", text_anchor="middle"),
                    class_=rare,
                )
            )
    return element("svg", *parts, class_="lane", width="100%", height="60", aria_hidden="true")


# ---- containers


def _behind(axis: Axis, height: float) -> str:
    """The creases of the nights, and the moments of service."""
    parts = []
    for day in axis.days:
        for a, b in ((0.0, _NIGHT[1]), (_NIGHT[0], 24.0)):
            xa, xb = axis.x(axis.at(day, a)), axis.x(axis.at(day, b))
            parts.append(
                element("rect", x=_share(xa), y="0", width=_share(xb - xa), height=number(height), class_="crease")
            )
    return fragment(*parts)


def _before(axis: Axis, height: float) -> str:
    most = max((answer.pieces for answer in axis.plan.answers), default=0)
    parts = []
    for answer in axis.plan.answers:
        if axis.shows(answer.moment - 1, answer.moment + 1):
            x = _share(axis.x(answer.moment))
            main = " main" if answer.pieces == most else ""
            parts.append(element("line", x1=x, x2=x, y1="0", y2=number(height), class_=f"service{main}"))
    return fragment(*parts)


def hands_row(drawn: Drawn, person: str, label: str) -> str:
    """One person's shifts as beds, and the work that lies in them; work that meets other work overflows the bed."""
    axis = drawn.axis
    hands = next(one for one in axis.plan.week.hands if one.name == person)
    tasks = [task for task in axis.plan.tasks_of(person) if axis.shows(task.start, task.end)]
    levels = _levels([(task.start, task.end) for task in tasks])
    height = 8 + _BED + _TASK * max(levels, default=0) + 6
    parts = [_behind(axis, height)]
    for a, b in hands.blocks:
        if not axis.shows(a, b):
            continue
        xa, xb = axis.x(a), axis.x(b)
        parts.append(element("rect", x=_share(xa), y="6", width=_share(xb - xa), height=number(_BED), class_="bed"))
        parts.append(
            element("line", x1=_share(xa), x2=_share(xb), y1=number(6 + _BED), y2=number(6 + _BED), class_="bed-foot")
        )
    for job, (start, end, who) in drawn.before.items():
        if who == person and axis.shows(start, end):
            x = axis.x(start)
            parts.append(
                element(
                    "rect",
                    x=_share(x),
                    y="8",
                    width=_share(max(axis.x(end) - x, 0.2)),
                    height=number(_TASK),
                    class_="was-here",
                    id=None if len(axis.days) == 1 else f"was-{slug(job)}",
                )
            )
    for task, level in zip(tasks, levels, strict=True):
        parts.append(_task(drawn, task, 8 + _TASK * level))
    parts.append(_before(axis, height))
    return _svg(height, label, *parts, data_person=person)


def _levels(spans: Sequence[tuple[int, int]]) -> list[int]:
    """Beside what already lies there: 0, and higher for what begins before that has ended."""
    levels: list[int] = []
    for place, (start, end) in enumerate(spans):
        taken = {level for (a, b), level in zip(spans[:place], levels, strict=True) if a < end and start < b}
        levels.append(next(k for k in range(len(spans) + 1) if k not in taken))
    return levels


def _task(drawn: Drawn, task: Task, y: float) -> str:
    axis, key = drawn.axis, task.job.key
    x = axis.x(task.start)
    width = max(axis.x(task.end) - x, 0.22)
    kinds = ["task"]
    kinds += ["chosen"] if key == drawn.chosen else []
    kinds += ["moved"] if key in drawn.before else []
    kinds += ["wrong"] if key in drawn.wrong else []
    kinds += ["back"] if drawn.faded(task.job.lot) else []
    inner = [
        element("title", escape(drawn.task_says(task))),
        element(
            "rect", x=_share(x), y=number(y), width=_share(width), height=number(_TASK), fill=drawn.fill(task.job.lot)
        ),
    ]
    if task.overtime:
        inner.append(
            element("line", x1=_share(x), x2=_share(x + width), y1=number(y - 1), y2=number(y - 1), class_="overtime")
        )
    inner.append(_pill(drawn.marks[task.job.lot], x + width / 2, y + _TASK / 2, width, _TASK))
    return element(
        "a",
        *inner,
        href=f"?task={_quoted(key)}#task",
        data_task=key,
        class_=" ".join(kinds),
    )


def _quoted(words: str) -> str:
    from urllib.parse import quote

    return quote(words)


def _pill(words: str, x: float, y: float, width: float, height: float) -> str:
    """The mark of a lot, where there is room for it on a laptop or on a tablet too."""
    wide = 7 * len(words) + 9
    if height < 14 or width * _WIDE < wide + 2:
        return ""
    return element(
        "svg",
        element("rect", x=number(-wide / 2), y="-8", width=number(wide), height="16", rx="8"),
        element("text", escape(words), x="0", y="4", text_anchor="middle"),
        x=_share(x),
        y=number(y),
        class_="pill" if width * _MIDDLE >= wide + 2 else "pill wide-only",
    )


def place_row(drawn: Drawn, resource: Resource, label: str, over: Mapping[int, str]) -> str:
    """One mould, or one room: its floor, its ceiling, and what stands inside on its shelf.

    Parameters
    ----------
    over
        Sentences for moments at which more is wanted than there is.
    """
    axis = drawn.axis
    stays = [s for s in axis.plan.stays if s.resource == resource.name and axis.shows(s.start, s.end)]
    steps = max(-(-resource.amount // max(resource.per // 2, 1)), 1)
    unit = _TRAY if resource.kind == "mould" else max(min(_ROOM / steps, 6.0), 2.1)
    inside = max(steps * unit, _LEAST)
    unit = inside / steps
    highest = max([max(stay.places, default=0) + 1 for stay in stays], default=0)
    above = max(highest - steps, 0) * unit
    head = above + (26 if above else 4)
    height = head + inside + 3
    floor = head + inside
    grounds = [
        element(
            "rect",
            x="0",
            y=number(head),
            width="100%",
            height=number(inside),
            fill=_ground(resource),
            class_=f"ground {resource.kind}",
        ),
    ]
    hatch = _hatch(resource)
    if hatch:
        grounds.append(
            element("rect", x="0", y=number(head), width="100%", height=number(inside), fill=f"url(#{hatch})")
        )
    parts = [*grounds, _behind(axis, height)]
    parts.append(element("line", x1="0", x2="100%", y1=number(head), y2=number(head), class_="ceiling"))
    for stay in stays:
        parts.append(_stay(drawn, stay, floor, unit, steps))
    parts.append(element("line", x1="0", x2="100%", y1=number(floor), y2=number(floor), class_="floor"))
    if above:
        for moment, words in over.items():
            parts.append(_over(axis, moment, words, head))
    parts.append(_before(axis, height))
    return _svg(height, label, *parts)


def _over(axis: Axis, moment: int, words: str, head: float) -> str:
    x = axis.x(moment)
    left = x > 55
    mark = element("path", d="M-10 -9h18v18h-18z M-6 0h10", class_="stop-mark")
    text = element(
        "text",
        escape(words),
        x="-18" if left else "16",
        y="5",
        class_="stop-words",
        text_anchor="end" if left else None,
    )
    return element(
        "svg", mark, text, x=_share(x + (-1.2 if left else 2.6)), y=number(max(head - 13, 12)), class_="over"
    )


def _stay(drawn: Drawn, stay: Stay, floor: float, unit: float, steps: int) -> str:
    axis = drawn.axis
    x = axis.x(stay.start)
    width = max(axis.x(stay.end) - x, 0.15)
    blocks = []
    out = False
    for low, high in _runs(stay.places):
        top, tall = floor - (high + 1) * unit, (high - low + 1) * unit
        out = out or high >= steps
        blocks.append(
            element(
                "rect", x=_share(x), y=number(top), width=_share(width), height=number(tall), fill=drawn.fill(stay.lot)
            )
        )
        blocks.append(_pill(drawn.marks[stay.lot], x + width / 2, top + tall / 2, width, tall))
    kinds = ["stay"]
    kinds += ["wrong"] if out else []
    kinds += ["back"] if drawn.faded(stay.lot) else []
    return element(
        "a",
        element("title", escape(drawn.stay_says(stay))),
        *blocks,
        href=f"?lot={_quoted(stay.lot)}#way",
        data_lot=stay.lot,
        class_=" ".join(kinds),
        tabindex="-1",
    )


def _runs(places: Sequence[int]) -> list[tuple[int, int]]:
    runs: list[tuple[int, int]] = []
    for place in sorted(places):
        if runs and place == runs[-1][1] + 1:
            runs[-1] = (runs[-1][0], place)
        else:
            runs.append((place, place))
    return runs


def _ground(resource: Resource) -> str:
    if resource.air is None:
        return "var(--field)"
    celsius = resource.air - ZERO_CELSIUS
    index = min(range(len(TEMPERATURES)), key=lambda k: abs(TEMPERATURES[k][0] - celsius))
    return f"var(--t{index})"


def _hatch(resource: Resource) -> str:
    """Rooms are told apart on a grey printer too: dense lines, wide lines, short dashes."""
    if resource.air is None:
        return ""
    celsius = resource.air - ZERO_CELSIUS
    return "room-dense" if celsius < -28 else "room-wide" if celsius < -5 else "room-dashes" if celsius < 12 else ""


# ---- the way of one making


def way_rows(drawn: Drawn, lot_key: str, names: Mapping[str, str]) -> list[dict[str, Any]]:
    """The strands of one making: hearts, what rests for it, and the pieces; work in its colour, rooms in theirs.

    Parameters
    ----------
    names
        What the strands are called: "hearts", "rests" and "pieces".
    """
    plan = drawn.axis.plan
    tasks = [task for task in plan.tasks if task.job.lot == lot_key]
    stays = [stay for stay in plan.stays if stay.lot == lot_key and plan.week.resource(stay.resource).kind == "room"]
    strands: dict[str, tuple[list[Task], list[Stay]]] = {key: ([], []) for key in ("hearts", "rests", "pieces")}
    for task in tasks:
        strand = {"fill hearts": "hearts", "unmould hearts": "hearts", "cook": "rests"}.get(task.job.kind, "pieces")
        strands[strand][0].append(task)
    for stay in stays:
        strand = "hearts" if stay.why.startswith("hearts") else "rests" if stay.why.endswith(" rests") else "pieces"
        strands[strand][1].append(stay)
    rows = []
    for key, (works, rooms) in strands.items():
        if works or rooms:
            rows.append({"name": names[key], "svg": _strand(drawn, works, rooms, names[key])})
    return rows


def _strand(drawn: Drawn, works: Iterable[Task], rooms: Iterable[Stay], label: str) -> str:
    axis, height = drawn.axis, 40.0
    parts = [_behind(axis, height)]
    for stay in rooms:
        resource = axis.plan.week.resource(stay.resource)
        x = axis.x(stay.start)
        width = max(axis.x(stay.end) - x, 0.2)
        shape = {"x": _share(x), "y": "6", "width": _share(width), "height": "28"}
        parts.append(
            element(
                "g",
                element("title", escape(drawn.stay_says(stay))),
                element("rect", fill=_ground(resource), class_="in-room", **shape),
                element("rect", fill=f"url(#{_hatch(resource)})", **shape) if _hatch(resource) else "",
            )
        )
    for task in works:
        x = axis.x(task.start)
        width = max(axis.x(task.end) - x, 0.22)
        parts.append(
            element(
                "g",
                element("title", escape(drawn.task_says(task))),
                element(
                    "rect",
                    x=_share(x),
                    y="6",
                    width=_share(width),
                    height="28",
                    fill=drawn.fill(task.job.lot),
                    class_="block",
                ),
            )
        )
    parts.append(_before(axis, height))
    return element("svg", *parts, class_="lane", width="100%", height=number(height), role="img", aria_label=label)


# ---- textures


def patterns() -> str:
    """The textures of desserts and rooms, once on a page."""
    found = [_dessert(which) for which in range(len(DESSERTS))]
    found.append(_lines("room-dense", 5, "M0 0V5"))
    found.append(_lines("room-wide", 12, "M0 0V12"))
    found.append(
        element(
            "pattern",
            element("path", d="M2 7h6M9 14h6", class_="hatch"),
            id="room-dashes",
            width="14",
            height="16",
            patternUnits="userSpaceOnUse",
        )
    )
    return element("svg", element("defs", *found), class_="unseen", width="0", height="0", aria_hidden="true")


def _lines(name: str, size: int, d: str) -> str:
    return element(
        "pattern",
        element("path", d=d, class_="hatch"),
        id=name,
        width=str(size),
        height=str(size),
        patternUnits="userSpaceOnUse",
        patternTransform="rotate(45)",
    )


def _dessert(which: int) -> str:
    colour, texture = DESSERTS[which]
    line = "#F3E9DC" if lightness(colour) < 45 else "#2A211D"
    drawings: dict[str, str] = {
        "plain": "",
        "dots": fragment(*(element("circle", cx=x, cy=y, r="0.9", fill=line) for x, y in (("2", "2"), ("6", "6")))),
        "hatch": element("path", d="M-1 9L9 -1M-1 1L1 -1M7 9L9 7", stroke=line, stroke_width="0.9"),
        "crosses": element("path", d="M2 4h4M4 2v4", stroke=line, stroke_width="0.8"),
        "waves": element("path", d="M0 4q2 -3 4 0t4 0", stroke=line, fill="none", stroke_width="0.9"),
        "rings": element("circle", cx="4", cy="4", r="2", stroke=line, fill="none", stroke_width="0.8"),
    }
    return element(
        "pattern",
        element("rect", width="8", height="8", fill=colour),
        drawings[texture],
        id=f"dessert-{which}",
        width="8",
        height="8",
        patternUnits="userSpaceOnUse",
    )
