"""The week as containers: hands, machines, moulds and rooms with what is in them, hour by hour; nights folded."""

from __future__ import annotations

from demoule.figures import Severity
from demoule.plan import Plan
from demoule.sheets.marks import finding_mark
from demoule.sheets.svg import Face, element, fragment, label, number, text_width, wrapped
from demoule.sheets.tokens import DESSERTS, ThemeName, Tokens, tokens_of
from demoule.sheets.week_axis import NIGHT, WIDTH, Axis, axis_of, lot_mark, lot_marks
from demoule.sheets.week_blocks import block, dessert_pattern, room_pattern
from demoule.sheets.week_containers import BED, container, escaped, hands_row, lane_of, machine_row, steps_of

__all__ = ["lot_mark", "lot_marks", "week_svg"]

_HANDS = BED + 14.0
_MOULD = 9.0
_GAP, _GROUP = 8.0, 14.0
_ROOMS = 84.0


def week_svg(plan: Plan, *, theme: ThemeName = "day", most_findings: int = 4) -> str:
    """The week of a plan as one drawing.

    Each scarce thing is a container: its floor a line, its ceiling dotted, its height the number of its places; what
    is inside stands on its shelf. Hands lie in the bed of their shift. The moment of service is a line through all.
    """
    tokens = tokens_of(theme)
    axis = axis_of(plan)
    parts: list[str] = []
    head, y = _head(plan, tokens)
    parts.append(head)
    days, y = _days(axis, y, tokens)
    parts.append(days)
    top = y
    body: list[str] = []
    marks = lot_marks(plan)
    for person in plan.week.hands:
        body.append(hands_row(plan, axis, person.name, y, tokens, marks))
        y += _HANDS
    used = {use.resource for task in plan.tasks for use in task.job.uses}
    machines = [r for r in plan.week.resources if r.kind == "machine" and r.counted != "pan" and r.name in used]
    y += 4 if machines else 0
    for machine in machines:
        body.append(machine_row(plan, axis, machine, y, tokens, marks))
        y += machine.amount * lane_of(machine) + _GAP
    y += _GROUP
    order = {"mould": 0, "room": 1}
    resources = [r for r in plan.week.resources if r.kind in order and any(s.resource == r.name for s in plan.stays)]
    resources.sort(key=lambda r: (order[r.kind], r.air if r.air is not None else 0.0))
    kind = ""
    for resource in resources:
        if kind and resource.kind != kind:
            y += _GROUP
        kind = resource.kind
        steps = steps_of(resource)
        unit = _MOULD if resource.kind == "mould" else max(min(_ROOMS / steps, 6.0), 2.0)
        height = max(steps * unit, 26.0)
        unit = height / steps
        stays = [stay for stay in plan.stays if stay.resource == resource.name]
        body.append(container(axis, resource, stays, y, height, unit, tokens, marks, plan))
        y += height + _GAP
    bottom = y
    parts.append(_creases(axis, top, bottom, tokens))
    parts += body
    parts.append(_services(plan, axis, top - 6, bottom, tokens))
    legend, y = _legend(plan, bottom + 18, tokens)
    parts.append(legend)
    found, y = _findings(plan, y, tokens, most_findings)
    parts.append(found)
    title = f"The week of {plan.week.kitchen.name} from {plan.week.start:%A %d %B %Y}"
    return element(
        "svg",
        element("title", escaped(title)),
        element(
            "defs",
            *(dessert_pattern(k) for k in range(len(DESSERTS))),
            *(room_pattern(name, tokens) for name in ("dense", "wide", "dashes", "plain", "dots")),
        ),
        element("rect", x="0", y="0", width=number(WIDTH), height=number(y), fill=tokens.paper),
        *parts,
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {number(WIDTH)} {number(y)}",
        width=number(WIDTH),
        height=number(y),
        role="img",
        aria_label=title,
    )


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
    column = WIDTH / 4
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
        lines = wrapped(note, 13, Face.SANS, column - 24)
        first = f"{lines[0]} …" if len(lines) > 1 else "".join(lines)
        parts.append(label(first, x, 127, size=13, fill=tokens.ink_2))
    parts.append(element("path", d=f"M0 142H{number(WIDTH)}", stroke=tokens.ink, stroke_width="2"))
    return fragment(*parts), 152.0


def _days(axis: Axis, y: float, tokens: Tokens) -> tuple[str, float]:
    """Names of the days, the strip of night and day, and the hours that a chef uses."""
    parts = []
    for day in axis.days:
        a, b = axis.x(axis.at(day, NIGHT[1])), axis.x(axis.at(day, NIGHT[0]))
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


def _creases(axis: Axis, top: float, bottom: float, tokens: Tokens) -> str:
    parts = []
    for day in axis.days:
        for a, b in ((0.0, NIGHT[1]), (NIGHT[0], 24.0)):
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


def _services(plan: Plan, axis: Axis, top: float, bottom: float, tokens: Tokens) -> str:
    most = max((answer.pieces for answer in plan.answers), default=0)
    parts = []
    for answer in plan.answers:
        x = axis.x(answer.moment)
        main = answer.pieces == most
        parts.append(
            element(
                "path",
                element("title", escaped(f"{answer.order}, {plan.week.told(answer.moment)}, {answer.pieces} pieces")),
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
        parts.append(block(plan, name, x, y, 34, 16, tokens))
        parts.append(label(told, x + 42, y + 13, size=14, fill=tokens.ink))
        x += 60 + text_width(told, 14)
        if x > WIDTH - 260:
            x, y = 0.0, y + 24
    parts.append(
        label(
            "Nights are folded. The dotted line is the ceiling.",
            WIDTH,
            y + 13,
            size=13,
            fill=tokens.ink_2,
            anchor="end",
        )
    )
    return fragment(*parts), y + 34


def _findings(plan: Plan, y: float, tokens: Tokens, most: int) -> tuple[str, float]:
    shown = [finding for finding in plan.findings if finding.severity != "note"][:most]
    parts = []
    for finding in shown:
        word = {"stop": "Stop.", "caution": "Caution."}[str(finding.severity)]
        colour = tokens.stop if word == "Stop." else tokens.caution
        lines = wrapped(finding.says, 15, Face.SANS_SEMIBOLD, WIDTH - 130)
        parts.append(finding_mark(finding.severity, 11, y + 11, 20, tokens))
        parts.append(label(word, 32, y + 16, size=15, face=Face.SANS_SEMIBOLD, fill=colour))
        for line in lines:
            parts.append(label(line, 104, y + 16, size=15, face=Face.SANS_SEMIBOLD, fill=tokens.ink))
            y += 20
        for line in wrapped(
            " ".join(_sentence(text) for text in (finding.why, finding.remedy) if text), 14, Face.SANS, WIDTH - 130
        ):
            parts.append(label(line, 104, y + 15, size=14, fill=tokens.ink_2))
            y += 18
        y += 12
    return fragment(*parts), y + 8


def _sentence(words: str) -> str:
    return words[:1].upper() + words[1:]
