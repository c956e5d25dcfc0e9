"""The containers of a week's drawing: shifts as beds, machines, trays and rooms, with what is in them."""

from __future__ import annotations

import heapq
from collections.abc import Sequence

from demoule.plan import Plan, Resource, Stay, Task
from demoule.sheets.svg import Face, element, fragment, label, number, slug, text_width
from demoule.sheets.tokens import TEMPERATURES, Tokens, lightness
from demoule.sheets.week_axis import LEFT, WIDTH, Axis
from demoule.sheets.week_blocks import block, pill, rooms_hatch

__all__ = ["BED", "container", "escaped", "hands_row", "lane_of", "lanes_of", "machine_row", "steps_of"]

BED = 30.0
"""Height of a shift."""

_MACHINES = 24.0
_LANE = 12.0


def escaped(words: str) -> str:
    """Words as they stand in XML."""
    return words.replace("&", "&amp;").replace("<", "&lt;")


def hands_row(plan: Plan, axis: Axis, person: str, y: float, tokens: Tokens, marks: dict[str, str]) -> str:
    """One person's shifts as beds, and the work that lies in them; overtime has a bar above it."""
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
                height=number(BED + 4),
                fill=tokens.field,
                stroke=tokens.rule if tokens.field == tokens.paper else None,
            )
        )
        parts.append(
            element("path", d=f"M{number(xa)} {number(y + BED + 6)}H{number(xb)}", stroke=tokens.edge, stroke_width="1")
        )
    for task in plan.tasks_of(person):
        parts.append(_task(plan, axis, task, y, tokens, marks))
    return fragment(*parts)


def _task(plan: Plan, axis: Axis, task: Task, y: float, tokens: Tokens, marks: dict[str, str]) -> str:
    x, end = axis.x(task.start), axis.x(task.end)
    hours = f"{plan.week.told(task.start)} to {plan.week.clock(task.end):%H:%M}"
    says = f"{hours}, {task.person}: {task.job.lot}, {task.job.does}"
    dessert = plan.week.lot(task.job.lot).dessert
    return element(
        "g",
        element("title", escaped(says)),
        block(plan, dessert, x, y + 4, max(end - x, 2.0), BED, tokens),
        pill(marks[task.job.lot], (x + end) / 2, y + 4 + BED / 2, end - x, BED, tokens),
        element("path", d=f"M{number(x)} {number(y + 2)}H{number(end)}", stroke=tokens.ink, stroke_width="2.4")
        if task.overtime
        else "",
        id=f"task-{slug(task.job.key)}",
    )


# ---- machines


def lanes_of(plan: Plan, machine: str) -> list[tuple[int, Task, int]]:
    """Every use of a machine: the lowest of its kind that is free, counted from 0, the task, and the end of the use."""
    found = []
    busy: list[tuple[int, int]] = []
    free: list[int] = []
    highest = 0
    for task in sorted(plan.tasks, key=lambda one: (one.start, one.job.key)):
        for use in task.job.uses:
            if use.resource != machine:
                continue
            while busy and busy[0][0] <= task.start:
                heapq.heappush(free, heapq.heappop(busy)[1])
            for _ in range(use.amount):
                if not free:
                    heapq.heappush(free, highest)
                    highest += 1
                lane = heapq.heappop(free)
                heapq.heappush(busy, (task.start + use.seconds, lane))
                found.append((lane, task, task.start + use.seconds))
    return found


def lane_of(machine: Resource) -> float:
    """Height of one of several machines of a kind."""
    return min(_LANE, _MACHINES / machine.amount)


def machine_row(plan: Plan, axis: Axis, machine: Resource, y: float, tokens: Tokens, marks: dict[str, str]) -> str:
    """A machine, or several of a kind one above the other, with the lots that are in it."""
    lane_height = lane_of(machine)
    floor = y + machine.amount * lane_height
    parts = [
        label(machine.name, 0, floor - 1, size=15, face=Face.SERIF_ITALIC, fill=tokens.ink),
        element("path", d=f"M{number(LEFT)} {number(floor)}H{number(WIDTH)}", stroke=tokens.ink, stroke_width="1.4"),
        element(
            "path",
            d=f"M{number(LEFT)} {number(y)}H{number(WIDTH)}",
            stroke=tokens.ink_2,
            stroke_width="1",
            stroke_dasharray="1 3",
        ),
    ]
    if machine.amount > 1:
        at = text_width(machine.name, 15, Face.SERIF_ITALIC) + 8
        parts.append(label(f"{machine.amount}", at, floor - 1, size=12, fill=tokens.ink_2))
    for lane, task, end in lanes_of(plan, machine.name):
        x, to = axis.x(task.start), axis.x(end)
        hours = f"{plan.week.told(task.start)} to {plan.week.clock(end):%H:%M}"
        says = f"{hours}, {machine.name}: {task.job.lot}, {task.job.does}"
        top = floor - (lane + 1) * lane_height
        parts.append(
            element(
                "g",
                element("title", escaped(says)),
                block(plan, plan.week.lot(task.job.lot).dessert, x, top + 1, max(to - x, 1.5), lane_height - 1, tokens),
                pill(marks[task.job.lot], (x + to) / 2, top + lane_height / 2, to - x, lane_height, tokens),
            )
        )
    return fragment(*parts)


# ---- trays and rooms


def steps_of(resource: Resource) -> int:
    """Trays, or half levels of a room."""
    return max(-(-resource.amount // max(resource.per // 2, 1)), 1)


def container(
    axis: Axis,
    resource: Resource,
    stays: Sequence[Stay],
    y: float,
    height: float,
    unit: float,
    tokens: Tokens,
    marks: dict[str, str],
    plan: Plan,
) -> str:
    """A mould's trays or a room's levels from floor to ceiling, with what stands on each."""
    floor = y + height
    count = resource.amount / resource.per
    ground = tokens.field if resource.kind == "mould" else _cold(resource.air, tokens)
    dark = resource.air is not None and lightness(ground) < 55
    name = resource.name if text_width(resource.name, 15, Face.SERIF_ITALIC) < LEFT - 8 else resource.name[:19] + "…"
    amount = f"{count:g} {resource.counted}{'s' if count != 1 else ''}"
    if resource.air is not None:
        amount = f"{_celsius(resource.air)}, {amount}"
    parts = [
        label(name, 0, floor - 14, size=15, face=Face.SERIF_ITALIC, fill=tokens.ink),
        label(amount, 0, floor, size=12, fill=tokens.ink_2),
        element(
            "rect",
            x=number(LEFT),
            y=number(y),
            width=number(WIDTH - LEFT),
            height=number(height),
            fill=ground,
            fill_opacity="0.45" if dark else "0.7",
        ),
        element(
            "rect",
            x=number(LEFT),
            y=number(y),
            width=number(WIDTH - LEFT),
            height=number(height),
            fill=f"url(#room-{rooms_hatch(resource.air)})",
        )
        if resource.kind == "room"
        else "",
        element(
            "path",
            d=f"M{number(LEFT)} {number(y)}H{number(WIDTH)}",
            stroke=tokens.ink_2,
            stroke_width="1",
            stroke_dasharray="1 3",
        ),
        element("path", d=f"M{number(LEFT)} {number(floor)}H{number(WIDTH)}", stroke=tokens.ink, stroke_width="1.4"),
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
            blocks.append(block(plan, dessert, x, top, max(end - x, 1.5), tall, tokens))
            blocks.append(pill(marks[stay.lot], (x + end) / 2, top + tall / 2, end - x, tall, tokens))
        parts.append(element("g", element("title", escaped(said)), *blocks))
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


def _celsius(air: float) -> str:
    """ "−20 °C"."""
    return f"{air - 273.15:.0f} °C".replace("-", "−")
