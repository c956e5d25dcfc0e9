"""The week as containers: hands, moulds and rooms with what is in them, hour by hour; nights folded."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from demoule.figures import Severity
from demoule.plan import Plan, Resource, Stay, Task
from demoule.sheets.marks import finding_mark
from demoule.sheets.svg import Face, element, fragment, label, number, slug, text_width, wrapped
from demoule.sheets.tokens import DESSERTS, TEMPERATURES, ThemeName, Tokens, lightness, tokens_of

__all__ = ["lot_mark", "lot_marks", "week_svg"]

_WIDTH = 1208.0
_LEFT = 150.0
_NIGHT = (22.0, 5.0)  # hours between which time is folded
_FOLD = 1 / 6
_HANDS, _BED = 44.0, 30.0
_MOULD = 9.0
_GAP, _GROUP = 8.0, 14.0
_ROOMS = 84.0


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
class _Axis:
    """Where the hours of the kitchen's clock lie, nights folded to a sixth of their length."""

    plan: Plan
    days: tuple[datetime.date, ...]
    knots: tuple[tuple[float, float], ...]  # seconds, x

    def x(self, moment: float) -> float:
        for (a, xa), (b, xb) in pairwise(self.knots):
            if moment <= b:
                return xa + (xb - xa) * (max(moment, a) - a) / (b - a)
        return self.knots[-1][1]

    def at(self, day: datetime.date, hour: float) -> float:
        """Seconds of an hour of the clock."""
        zone = self.plan.week.start.tzinfo
        whole = datetime.datetime.combine(day, datetime.time(), zone) + datetime.timedelta(hours=hour)
        return (whole.astimezone(datetime.UTC) - self.plan.week.start.astimezone(datetime.UTC)).total_seconds()


def _axis(plan: Plan) -> _Axis:
    week = plan.week
    begins = min([task.start for task in plan.tasks] + [a for p in week.hands for a, _ in p.blocks], default=0)
    ends = max([d.moment for d in week.demands] + [task.end for task in plan.tasks], default=week.length)
    first, last = week.clock(begins).date(), week.clock(max(ends - 1, 0)).date()
    days = tuple(first + datetime.timedelta(days=k) for k in range((last - first).days + 1))
    bare = _Axis(plan, days, ())
    cuts: list[tuple[float, float]] = []
    for day in days:
        cuts += [(bare.at(day, 0.0), _FOLD), (bare.at(day, _NIGHT[1]), 1.0), (bare.at(day, _NIGHT[0]), _FOLD)]
    end = bare.at(days[-1] + datetime.timedelta(days=1), 0.0)
    edges = [*cuts, (end, 0.0)]
    lengths = [(b - a) * weight for (a, weight), (b, _) in pairwise(edges)]
    scale = (_WIDTH - _LEFT) / sum(lengths)
    knots, x = [(edges[0][0], _LEFT)], _LEFT
    for (b, _), length in zip(edges[1:], lengths, strict=True):
        x += length * scale
        knots.append((b, x))
    return _Axis(plan, days, tuple(knots))


def week_svg(plan: Plan, *, theme: ThemeName = "day") -> str:
    """The week of a plan as one drawing.

    Each scarce thing is a container: its floor a line, its ceiling dotted, its height the number of its places; what
    is inside stands on its shelf. Hands lie in the bed of their shift. The moment of service is a line through all.
    """
    tokens = tokens_of(theme)
    axis = _axis(plan)
    parts: list[str] = []
    head, y = _head(plan, tokens)
    parts.append(head)
    days, y = _days(axis, y, tokens)
    parts.append(days)
    top = y
    body: list[str] = []
    marks = lot_marks(plan)
    for person in plan.week.hands:
        body.append(_hands(plan, axis, person.name, y, tokens, marks))
        y += _HANDS
    y += _GROUP
    order = {"mould": 0, "room": 1}
    resources = [r for r in plan.week.resources if r.kind in order and any(s.resource == r.name for s in plan.stays)]
    resources.sort(key=lambda r: (order[r.kind], r.air if r.air is not None else 0.0))
    kind = ""
    for resource in resources:
        if kind and resource.kind != kind:
            y += _GROUP
        kind = resource.kind
        steps = _steps(resource)
        unit = _MOULD if resource.kind == "mould" else max(min(_ROOMS / steps, 6.0), 2.0)
        height = max(steps * unit, 26.0)
        unit = height / steps
        stays = [stay for stay in plan.stays if stay.resource == resource.name]
        body.append(_container(axis, resource, stays, y, height, unit, tokens, marks, plan))
        y += height + _GAP
    bottom = y
    parts.append(_creases(axis, top, bottom, tokens))
    parts += body
    parts.append(_services(plan, axis, top - 6, bottom, tokens))
    legend, y = _legend(plan, bottom + 18, tokens)
    parts.append(legend)
    found, y = _findings(plan, y, tokens)
    parts.append(found)
    title = f"The week of {plan.week.kitchen.name} from {plan.week.start:%A %d %B %Y}"
    return element(
        "svg",
        element("title", _escaped(title)),
        element("defs", *(_pattern(k) for k in range(len(DESSERTS)))),
        element("rect", x="0", y="0", width=number(_WIDTH), height=number(y), fill=tokens.paper),
        *parts,
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {number(_WIDTH)} {number(y)}",
        width=number(_WIDTH),
        height=number(y),
        role="img",
        aria_label=title,
    )


def _escaped(words: str) -> str:
    return words.replace("&", "&amp;").replace("<", "&lt;")


# ---- above the drawing


def _head(plan: Plan, tokens: Tokens) -> tuple[str, float]:
    week = plan.week
    number_of_week = week.start.isocalendar().week
    parts = [
        label(f"Week {number_of_week}", 0, 34, size=32, face=Face.SERIF_SEMIBOLD, fill=tokens.ink),
        label(
            f"{week.kitchen.name}, from {week.start:%A %d %B %Y}",
            text_width(f"Week {number_of_week}", 32, Face.SERIF_SEMIBOLD) + 18,
            34,
            size=16,
            face=Face.SERIF_ITALIC,
            fill=tokens.ink_2,
        ),
    ]
    main = max(plan.answers, key=lambda answer: (answer.pieces, -answer.moment), default=None)
    if main is None:
        return fragment(*parts), 60.0
    out = min((a for _, a, _, _ in main.into_room), default=None)
    late = min((c for _, _, _, c in main.into_room), default=None)
    figures = (
        (
            f"{week.told(main.moment)}, {main.pieces} pieces",
            "Ready" if main.ready else "Not yet",
            main.order if main.ready else "see below what stands in the way",
        ),
        (
            "begins",
            week.told(main.first_start) if main.first_start is not None else "nothing to make",
            main.first_does,
        ),
        (
            "first out of the freezer",
            week.told(out) if out is not None else "none",
            f"{week.told(late)} at the latest" if late is not None else "",
        ),
        (
            "to spare",
            " · ".join(str(n) for _, n in main.spare) or "0",
            ", ".join(name for name, _ in main.spare),
        ),
    )
    column = _WIDTH / 4
    for k, (name, value, note) in enumerate(figures):
        x = k * column
        parts.append(label(name, x, 74, size=15, face=Face.SERIF_ITALIC, fill=tokens.ink_2))
        shift = 0.0
        bad = k == 0 and not main.ready
        if bad:
            parts.append(finding_mark(Severity.STOP, x + 12, 97, 24, tokens))
            shift = 32.0
        parts.append(
            label(
                value,
                x + shift,
                106,
                size=27,
                face=Face.SANS_SEMIBOLD,
                fill=tokens.stop if bad else tokens.ink,
            )
        )
        shown = wrapped(note, 13, Face.SANS, column - 16)[:1]
        parts.append(label(shown[0] if shown else "", x, 127, size=13, fill=tokens.ink_2))
    parts.append(element("path", d=f"M0 142H{number(_WIDTH)}", stroke=tokens.ink, stroke_width="2"))
    return fragment(*parts), 152.0


def _days(axis: _Axis, y: float, tokens: Tokens) -> tuple[str, float]:
    """Names of the days, the strip of night and day, and the hours that a chef uses."""
    parts = []
    for day in axis.days:
        a, b = axis.x(axis.at(day, _NIGHT[1])), axis.x(axis.at(day, _NIGHT[0]))
        name = f"{day:%A}" if b - a > 78 else f"{day:%a}"
        parts.append(
            label(name, (a + b) / 2, y + 16, size=15, face=Face.SERIF_SEMIBOLD, fill=tokens.ink, anchor="middle")
        )
        for begin, end, fill in (
            (0, 5, "#3F4353"),
            (5, 6, "#8C8FA0"),
            (6, 7, "#B9B3A6"),
            (7, 19, "#F0DFA8"),
            (19, 20, "#B9B3A6"),
            (20, 22, "#8C8FA0"),
            (22, 24, "#3F4353"),
        ):
            xa, xb = axis.x(axis.at(day, begin)), axis.x(axis.at(day, end))
            parts.append(
                element("rect", x=number(xa), y=number(y + 23), width=number(xb - xa + 0.2), height="9", fill=fill)
            )
        for hour in (8, 12, 16, 20):
            x = axis.x(axis.at(day, hour))
            if b - a > 60 or hour == 12:
                parts.append(label(str(hour), x, y + 48, size=12, fill=tokens.ink_2, anchor="middle"))
                parts.append(element("path", d=f"M{number(x)} {number(y + 32)}v4", stroke=tokens.edge))
    return fragment(*parts), y + 58


# ---- containers


def _hands(plan: Plan, axis: _Axis, person: str, y: float, tokens: Tokens, marks: dict[str, str]) -> str:
    hands = next(one for one in plan.week.hands if one.name == person)
    parts = [label(person, 0, y + 26, size=15, face=Face.SERIF_ITALIC, fill=tokens.ink)]
    for a, b in hands.blocks:
        xa, xb = axis.x(a), axis.x(b)
        parts.append(
            element(
                "rect",
                x=number(xa),
                y=number(y + 2),
                width=number(xb - xa),
                height=number(_BED + 4),
                fill=tokens.field,
                stroke=tokens.rule if tokens.field == tokens.paper else None,
            )
        )
        parts.append(
            element(
                "path", d=f"M{number(xa)} {number(y + _BED + 6)}H{number(xb)}", stroke=tokens.edge, stroke_width="1"
            )
        )
    for task in plan.tasks_of(person):
        parts.append(_task(plan, axis, task, y, tokens, marks))
    return fragment(*parts)


def _task(plan: Plan, axis: _Axis, task: Task, y: float, tokens: Tokens, marks: dict[str, str]) -> str:
    x, end = axis.x(task.start), axis.x(task.end)
    hours = f"{plan.week.told(task.start)} to {plan.week.clock(task.end):%H:%M}"
    says = f"{hours}, {task.person}: {task.job.lot}, {task.job.does}"
    dessert = plan.week.lot(task.job.lot).dessert
    return element(
        "g",
        element("title", _escaped(says)),
        _block(plan, dessert, x, y + 4, max(end - x, 2.0), _BED, tokens),
        _pill(marks[task.job.lot], (x + end) / 2, y + 4 + _BED / 2, end - x, _BED, tokens),
        element("path", d=f"M{number(x)} {number(y + 2)}H{number(end)}", stroke=tokens.ink, stroke_width="2.4")
        if task.overtime
        else "",
        id=f"task-{slug(task.job.key)}",
    )


def _block(plan: Plan, dessert: str, x: float, y: float, width: float, height: float, tokens: Tokens) -> str:
    names = list(dict.fromkeys(lot.dessert for lot in plan.week.lots))
    which = names.index(dessert) % len(DESSERTS)
    colour, texture = DESSERTS[which]
    return element(
        "rect",
        x=number(x),
        y=number(y),
        width=number(width),
        height=number(height),
        fill=colour if texture == "plain" else f"url(#dessert-{which})",
        stroke=tokens.ink,
        stroke_width="0.7",
    )


def _pill(words: str, x: float, y: float, width: float, height: float, tokens: Tokens) -> str:
    wide = text_width(words, 11.5, Face.SANS_SEMIBOLD) + 8
    if width < wide + 2 or height < 13:
        return ""
    return fragment(
        element(
            "rect",
            x=number(x - wide / 2),
            y=number(y - 7.5),
            width=number(wide),
            height="15",
            rx="7.5",
            fill=tokens.leaf,
        ),
        label(words, x, y + 4, size=11.5, face=Face.SANS_SEMIBOLD, fill=tokens.ink, anchor="middle"),
    )


def _steps(resource: Resource) -> int:
    return max(-(-resource.amount // max(resource.per // 2, 1)), 1)


def _container(
    axis: _Axis,
    resource: Resource,
    stays: Sequence[Stay],
    y: float,
    height: float,
    unit: float,
    tokens: Tokens,
    marks: dict[str, str],
    plan: Plan,
) -> str:
    floor = y + height
    count = resource.amount / resource.per
    ground = tokens.field if resource.kind == "mould" else _cold(resource.air, tokens)
    dark = resource.air is not None and lightness(ground) < 55
    name = resource.name if text_width(resource.name, 15, Face.SERIF_ITALIC) < _LEFT - 8 else resource.name[:19] + "…"
    parts = [
        label(name, 0, floor - 14, size=15, face=Face.SERIF_ITALIC, fill=tokens.ink),
        label(f"{count:g} {resource.counted}{'s' if count != 1 else ''}", 0, floor, size=12, fill=tokens.ink_2),
        element(
            "rect",
            x=number(_LEFT),
            y=number(y),
            width=number(_WIDTH - _LEFT),
            height=number(height),
            fill=ground,
            fill_opacity="0.45" if dark else "0.7",
        ),
        element(
            "path",
            d=f"M{number(_LEFT)} {number(y)}H{number(_WIDTH)}",
            stroke=tokens.ink_2,
            stroke_width="1",
            stroke_dasharray="1 3",
        ),
        element("path", d=f"M{number(_LEFT)} {number(floor)}H{number(_WIDTH)}", stroke=tokens.ink, stroke_width="1.4"),
    ]
    for stay in stays:
        x, end = axis.x(stay.start), axis.x(stay.end)
        dessert = plan.week.lot(stay.lot).dessert
        said = (
            f"{stay.lot}: {stay.why}, {plan.week.told(stay.start)} to {plan.week.told(stay.end)}, "
            f"{stay.amount / resource.per:g} {resource.counted}{'s' if stay.amount != resource.per else ''}"
        )
        blocks = []
        for low, high in _runs(stay.places):
            top, tall = floor - (high + 1) * unit, (high - low + 1) * unit
            blocks.append(_block(plan, dessert, x, top, max(end - x, 1.5), tall, tokens))
            blocks.append(_pill(marks[stay.lot], (x + end) / 2, top + tall / 2, end - x, tall, tokens))
        parts.append(element("g", element("title", _escaped(said)), *blocks))
    return fragment(*parts)


def _runs(places: Sequence[int]) -> list[tuple[int, int]]:
    runs: list[tuple[int, int]] = []
    for place in sorted(places):
        if runs and place == runs[-1][1] + 1:
            runs[-1] = (runs[-1][0], place)
        else:
            runs.append((place, place))
    return runs


def _cold(air: float | None, tokens: Tokens) -> str:
    """The colour of a room by its air."""
    if air is None:
        return tokens.field
    celsius = air - 273.15
    return min(TEMPERATURES, key=lambda step: abs(step[0] - celsius))[1]


def _creases(axis: _Axis, top: float, bottom: float, tokens: Tokens) -> str:
    parts = []
    for day in axis.days:
        for a, b in ((0.0, _NIGHT[1]), (_NIGHT[0], 24.0)):
            xa, xb = axis.x(axis.at(day, a)), axis.x(axis.at(day, b))
            parts.append(
                element(
                    "rect",
                    x=number(xa),
                    y=number(top),
                    width=number(xb - xa + 0.3),
                    height=number(bottom - top),
                    fill=tokens.rule,
                    fill_opacity="0.55",
                )
            )
    return fragment(*parts)


def _services(plan: Plan, axis: _Axis, top: float, bottom: float, tokens: Tokens) -> str:
    most = max((answer.pieces for answer in plan.answers), default=0)
    parts = []
    for answer in plan.answers:
        x = axis.x(answer.moment)
        main = answer.pieces == most
        parts.append(
            element(
                "path",
                element("title", _escaped(f"{answer.order}, {plan.week.told(answer.moment)}, {answer.pieces} pieces")),
                d=f"M{number(x)} {number(top)}V{number(bottom)}",
                stroke=tokens.ink,
                stroke_width="2" if main else "0.9",
            )
        )
        if main:
            parts.append(element("path", d=f"M{number(x - 6)} {number(top - 8)}h12l-6 9z", fill=tokens.ink))
    return fragment(*parts)


# ---- below the drawing


def _legend(plan: Plan, y: float, tokens: Tokens) -> tuple[str, float]:
    parts, x = [], 0.0
    for name in dict.fromkeys(lot.dessert for lot in plan.week.lots):
        lots = [lot for lot in plan.week.lots if lot.dessert == name and not lot.stock]
        told = (
            f"{name}, {len(lots)} lot{'s' if len(lots) != 1 else ''} of {', '.join(str(one.started) for one in lots)}"
        )
        parts.append(_block(plan, name, x, y, 34, 16, tokens))
        parts.append(label(told, x + 42, y + 13, size=14, fill=tokens.ink))
        x += 60 + text_width(told, 14)
        if x > _WIDTH - 260:
            x, y = 0.0, y + 24
    parts.append(
        label(
            "Nights are folded. The dotted line is the ceiling.",
            _WIDTH,
            y + 13,
            size=13,
            fill=tokens.ink_2,
            anchor="end",
        )
    )
    return fragment(*parts), y + 34


def _findings(plan: Plan, y: float, tokens: Tokens, most: int = 4) -> tuple[str, float]:
    shown = [finding for finding in plan.findings if finding.severity != "note"][:most]
    parts = []
    for finding in shown:
        word = {"stop": "Stop.", "caution": "Caution."}[str(finding.severity)]
        colour = tokens.stop if word == "Stop." else tokens.caution
        lines = wrapped(finding.says, 15, Face.SANS_SEMIBOLD, _WIDTH - 130)
        parts.append(finding_mark(finding.severity, 11, y + 11, 20, tokens))
        parts.append(label(word, 32, y + 16, size=15, face=Face.SANS_SEMIBOLD, fill=colour))
        for line in lines:
            parts.append(label(line, 104, y + 16, size=15, face=Face.SANS_SEMIBOLD, fill=tokens.ink))
            y += 20
        for line in wrapped(
            " ".join(_sentence(text) for text in (finding.why, finding.remedy) if text), 14, Face.SANS, _WIDTH - 130
        ):
            parts.append(label(line, 104, y + 15, size=14, fill=tokens.ink_2))
            y += 18
        y += 12
    return fragment(*parts), y + 8


def _sentence(words: str) -> str:
    return words[:1].upper() + words[1:]


def _pattern(which: int) -> str:
    """A dessert's colour with its texture, which carries it on a grey printer too."""
    colour, texture = DESSERTS[which]
    dark = lightness(colour) < 45
    line = "#F3E9DC" if dark else "#2A211D"
    drawings: dict[str, Callable[[], Iterable[str]]] = {
        "plain": lambda: (),
        "dots": lambda: (element("circle", cx=x, cy=y, r="0.9", fill=line) for x, y in (("2", "2"), ("6", "6"))),
        "hatch": lambda: (element("path", d="M-1 9L9 -1M-1 1L1 -1M7 9L9 7", stroke=line, stroke_width="0.9"),),
        "crosses": lambda: (element("path", d="M2 4h4M4 2v4", stroke=line, stroke_width="0.8"),),
        "waves": lambda: (element("path", d="M0 4q2 -3 4 0t4 0", stroke=line, fill="none", stroke_width="0.9"),),
        "rings": lambda: (element("circle", cx="4", cy="4", r="2", stroke=line, fill="none", stroke_width="0.8"),),
    }
    return element(
        "pattern",
        element("rect", width="8", height="8", fill=colour),
        *drawings[texture](),
        id=f"dessert-{which}",
        width="8",
        height="8",
        patternUnits="userSpaceOnUse",
    )
