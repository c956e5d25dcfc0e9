"""Figures hung on a line: ring on the thing, slanting line, rule under the name, value, one line of explanation."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

import shapely
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry

from demoule.figures import Severity
from demoule.sheets.marks import (
    Band,
    BasisMark,
    band,
    basis_line,
    empty_frame,
    finding_mark,
)
from demoule.sheets.svg import NARROW_SPACE, Face, element, label, number, polyline, text_width, wrapped
from demoule.sheets.tokens import DAY, ON_PIECE, Tokens

__all__ = ["Block", "Column", "Hung", "Placed", "Spot", "drawn", "fitted", "hang", "measure", "spoken"]

Spot = tuple[float, float]
"""A point on the drawing."""

NAME, VALUE, UNIT, SAYS = 18.0, 23.0, 16.0, 15.0
"""Type sizes on a leader."""

ON_PIECE_CHOSEN = DAY.damson
_RING = 3.0
_BAND = 150.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Hung:
    """One figure on a line.

    Parameters
    ----------
    at
        Key of what it hangs on: a layer ("heart", "shell", "spray-2"), a wall ("wall:top"), or "piece".
    value
        As it is shown; empty when it is not known.
    says
        One line of explanation.
    was
        The value before the last change, if it has changed.
    side
        Column in which it must stand; None leaves the choice.
    """

    at: str
    name: str
    value: str
    unit: str = ""
    says: str = ""
    mark: BasisMark = ""
    measured: bool = False
    band: Band | None = None
    was: str = ""
    finding: Severity | None = None
    side: Literal["left", "right"] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """A figure set in its column: broken lines, and how far it reaches above and below its rule."""

    hung: Hung
    name_lines: tuple[str, ...]
    says_lines: tuple[str, ...]
    width: float
    above: float
    below: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """Where a column of figures stands: its inner edge faces the piece."""

    left: float
    width: float
    top: float
    bottom: float
    inner_left: bool  # whether the piece lies to its left
    gap: float = 16.0  # between two figures

    @property
    def inner(self) -> float:
        """Where the slanting lines meet the rules."""
        return self.left if self.inner_left else self.left + self.width


@dataclass(frozen=True, slots=True)
class Placed:
    """A block with the height of its rule and the point its ring stands on."""

    block: Block
    rule: float
    spot: Spot


@dataclass(slots=True)
class _Best:
    cost: float = float("inf")
    placed: list[Placed] = field(default_factory=list)


def measure(hung: Hung, width: float, text: float) -> Block:
    """Set a figure for a column of at most `width`, type sizes times `text`."""
    mark = 26.0 * text if hung.finding is not None else 0.0
    name_lines = wrapped(hung.name, NAME * text, Face.SERIF_ITALIC, width - mark)
    says_lines = wrapped(hung.says, SAYS * text, Face.SANS, width) if hung.says else []
    wide = [mark + text_width(line, NAME * text, Face.SERIF_ITALIC) for line in name_lines]
    wide += [text_width(line, SAYS * text, Face.SANS) for line in says_lines]
    wide.append(_value_width(hung, text))
    if hung.band:
        wide.append(min(_BAND * text, width))
    below = 25 + (7 if hung.mark or hung.measured else 0) + 21 * len(says_lines) + (6 if says_lines else 8)
    if hung.band:
        below += 20
    return Block(
        hung=hung,
        name_lines=tuple(name_lines),
        says_lines=tuple(says_lines),
        width=max(wide),
        above=(9 + 15 + 21 * (len(name_lines) - 1)) * text,
        below=below * text,
    )


def _value_width(hung: Hung, text: float) -> float:
    value = text_width(hung.value, VALUE * text, Face.SANS_SEMIBOLD) if hung.value else 64.0 * text
    unit = text_width(NARROW_SPACE + hung.unit, UNIT * text, Face.SANS) if hung.unit else 0.0
    was = 10 * text + text_width(f"was {hung.was}", SAYS * text, Face.SANS_SEMIBOLD) if hung.was else 0.0
    return value + unit + was + (14 * text if hung.measured else 0.0)


def fitted(figures: Sequence[Hung], width: float, height: float, text: float) -> tuple[list[Block], float]:
    """Blocks that stand in a column of a height, and the gap between them.

    When there is too little room the gaps close up first, then the bands go, then the explanations from the last
    figure upwards; the type never shrinks.
    """
    now = list(figures)

    def stand(gap: float) -> list[Block] | None:
        blocks = [measure(one, width, text) for one in now]
        tall = sum(b.above + b.below for b in blocks) + gap * (len(blocks) - 1)
        return blocks if tall <= height else None

    for gap in (16.0, 11.0, 6.0):
        if (blocks := stand(gap * text)) is not None:
            return blocks, gap * text
    now = [replace(one, band=None) for one in now]
    for last in range(len(now), -1, -1):
        now = now[:last] + [replace(one, says="") for one in now[last:]]
        if (blocks := stand(6.0 * text)) is not None:
            return blocks, 6.0 * text
    return [measure(one, width, text) for one in now], 2.0 * text


def hang(
    blocks: Sequence[Block],
    column: Column,
    spots: Callable[[str], Sequence[tuple[Spot, float]]],
    *,
    text: float,
    free_order: Callable[[Hung], bool],
    taken: Sequence[tuple[Spot, Spot]] = (),
) -> list[Placed]:
    """Heights of the rules and places of the rings, so that no line crosses another and none is longer than it must.

    Parameters
    ----------
    spots
        For a key, the points where its ring may stand, each with what it costs to use it.
    free_order
        Whether a figure may stand anywhere in the column; the others keep the order given.
    taken
        Lines already drawn elsewhere, which must not be crossed either.
    """
    fixed = [block for block in blocks if not free_order(block.hung)]
    loose = [block for block in blocks if free_order(block.hung)]
    best = _Best()
    known = {block.hung.at: spots(block.hung.at) for block in blocks}
    for order in _orders(fixed, loose):
        placed, cost = _settled(order, column, known, text, taken)
        # What speaks of the whole comes first, and a worry after the things it is about.
        cost += 120 * sum(i for i, block in enumerate(order) if block.hung.at == "piece")
        cost += 40 * sum(len(order) - 1 - i for i, block in enumerate(order) if block.hung.finding)
        if cost < best.cost:
            best = _Best(cost, placed)
    return best.placed


def _orders(fixed: list[Block], loose: list[Block]) -> list[list[Block]]:
    orders = [fixed]
    for block in loose:
        orders = [[*o[:i], block, *o[i:]] for o in orders for i in range(len(o) + 1)]
    return orders[:160]


def _settled(
    order: list[Block],
    column: Column,
    known: Mapping[str, Sequence[tuple[Spot, float]]],
    text: float,
    taken: Sequence[tuple[Spot, Spot]],
) -> tuple[list[Placed], float]:
    """Rules near their things, then rings near their rules, a few times over."""
    if not order:
        return [], 0.0
    choices = [known[block.hung.at] for block in order]
    wished = [sum(spot[1] for spot, _ in found) / len(found) for found in choices]
    placed: list[Placed] = []
    cost = 0.0
    for _ in range(3):
        rules = _spread(order, wished, column)
        placed, cost = _ringed(order, rules, choices, column, taken)
        # A rule a little above its ring looks hung, not propped.
        wished = [one.spot[1] - 14 * text for one in placed]
    return placed, cost


def _spread(order: list[Block], wished: list[float], column: Column) -> list[float]:
    """Heights as near to the wished ones as the blocks allow, in order, inside the column (pooled neighbours)."""
    offsets = [0.0]
    for before, after in itertools.pairwise(order):
        offsets.append(offsets[-1] + before.below + column.gap + after.above)
    pools: list[list[float]] = []  # [sum, count]
    for wish, offset in zip(wished, offsets, strict=True):
        pools.append([wish - offset, 1])
        while len(pools) > 1 and pools[-2][0] / pools[-2][1] > pools[-1][0] / pools[-1][1]:
            total, count = pools.pop()
            pools[-1][0] += total
            pools[-1][1] += count
    base = [total / count for total, count in pools for _ in range(int(count))]
    highest = column.top + order[0].above
    lowest = column.bottom - order[-1].below - offsets[-1]
    return [max(highest, min(b, lowest)) + offset for b, offset in zip(base, offsets, strict=True)]


def _ringed(
    order: list[Block],
    rules: list[float],
    choices: list[Sequence[tuple[Spot, float]]],
    column: Column,
    taken: Sequence[tuple[Spot, Spot]],
) -> tuple[list[Placed], float]:
    """The best ring for each rule, seen after those above it; twice, so that the first ones see the last."""
    placed: list[Placed | None] = [None] * len(order)
    total = 0.0
    for _ in range(2):
        total = 0.0
        for i, (block, rule) in enumerate(zip(order, rules, strict=True)):
            others = [one for j, one in enumerate(placed) if one is not None and j != i]
            lines = [((one.spot), (column.inner, one.rule)) for one in others] + list(taken)
            best, chosen = float("inf"), choices[i][0][0]
            for spot, price in choices[i]:
                end = (column.inner, rule)
                cost = price + _slant(spot, end)
                if cost >= best:
                    continue  # what follows only adds
                cost += sum(1e5 for line in lines if _cross(spot, end, *line))
                cost += sum(400 for line in lines if _near(spot, *line) < 9)
                cost += sum(400 for one in others if _near(one.spot, spot, end) < 9)
                if cost < best:
                    best, chosen = cost, spot
            placed[i] = Placed(block, rule, chosen)
            total += best
    return [one for one in placed if one is not None], total


def _slant(spot: Spot, end: Spot) -> float:
    """What a line costs: its length, and more the steeper it is."""
    across, down = abs(end[0] - spot[0]), abs(end[1] - spot[1])
    return 0.35 * across + down + (0.02 * (down - across) ** 2 if down > across else 0.0)


def _cross(a: Spot, b: Spot, c: Spot, d: Spot) -> bool:
    def side(p: Spot, q: Spot, s: Spot) -> float:
        return (q[0] - p[0]) * (s[1] - p[1]) - (q[1] - p[1]) * (s[0] - p[0])

    return side(a, b, c) * side(a, b, d) < 0 and side(c, d, a) * side(c, d, b) < 0


def _near(p: Spot, a: Spot, b: Spot) -> float:
    """Distance of a point from a line between two points."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    long = dx * dx + dy * dy
    t = min(max(((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / long, 0.0), 1.0) if long else 0.0
    return float(((p[0] - a[0] - t * dx) ** 2 + (p[1] - a[1] - t * dy) ** 2) ** 0.5)


def drawn(
    one: Placed,
    column: Column,
    tokens: Tokens,
    *,
    text: float,
    chosen: bool,
    gradient: str,
    paper: bool,
    href: str | None,
    piece: BaseGeometry,
) -> str:
    """A placed figure with its line; with `href` it is a link with a hit area at least 40 px high.

    Parameters
    ----------
    piece
        Where the cut piece lies on the drawing: a line on it is dark, with a halo, in every theme.
    """
    block, hung = one.block, one.block.hung
    left, rule = column.left, one.rule
    ink, on_piece = (
        (tokens.damson, ON_PIECE_CHOSEN)
        if chosen
        else (tokens.caution, DAY.caution)
        if hung.finding
        else (tokens.ink_2, ON_PIECE)
    )
    if paper:
        on_piece = ink
    weight = "2.2" if chosen else "1.1"
    x, y = one.spot
    far = left + column.width if column.inner_left else left
    slant = LineString([(x, y), (column.inner, rule)])
    parts = [
        element(
            "path",
            d=f"M{number(x)} {number(y)}L{number(column.inner)} {number(rule)}H{number(far)}",
            fill="none",
            stroke=ink,
            stroke_width=weight,
            stroke_linejoin="round",
        )
    ]
    on = slant.intersection(piece)
    for part in shapely.get_parts(on):
        if part.length > 1.0:
            d = polyline(part.coords)
            parts.append(element("path", d=d, fill="none", stroke=DAY.paper, stroke_width="4", stroke_opacity="0.72"))
            parts.append(element("path", d=d, fill="none", stroke=on_piece, stroke_width=weight))
    if not hung.at.startswith("wall:"):
        parts.append(
            element(
                "circle",
                cx=number(x),
                cy=number(y),
                r=number(_RING),
                fill=DAY.paper,
                stroke=on_piece,
                stroke_width="1.6",
            )
        )
    parts.append(
        _words(block, left + (10 * text if column.inner_left else 0), rule, tokens, text, chosen, gradient, paper)
    )
    inside = "".join(parts)
    if href is None:
        return element("g", inside)
    high = max(40.0, block.above + block.below)
    hit = element(
        "rect",
        x=number(left),
        y=number(rule - block.above),
        width=number(column.width),
        height=number(high),
        fill="none",
        pointer_events="all",
    )
    return element("a", hit + inside, href=href, aria_label=spoken(hung))


def spoken(hung: Hung) -> str:
    """A figure as it is read aloud."""
    value = f"{hung.value} {hung.unit}".strip() if hung.value else "not known"
    start = f"{hung.finding.value}: " if hung.finding else ""
    return f"{start}{hung.name}, {value}" + (f", {hung.says}" if hung.says else "")


def _words(
    block: Block, x: float, rule: float, tokens: Tokens, text: float, chosen: bool, gradient: str, paper: bool
) -> str:
    hung = block.hung
    parts: list[str] = []
    indent = 26 * text if hung.finding is not None else 0.0
    if hung.finding is not None:
        parts.append(
            finding_mark(
                hung.finding, x + 10 * text, rule - (13 + 10.5 * (len(block.name_lines) - 1)) * text, 19 * text, tokens
            )
        )
    for i, line in enumerate(reversed(block.name_lines)):
        parts.append(
            label(
                line,
                x + indent,
                rule - (8 + 21 * i) * text,
                size=NAME * text,
                face=Face.SERIF_ITALIC,
                fill=tokens.damson if chosen else tokens.ink,
            )
        )
    base = rule + 25 * text
    if hung.value:
        wide = text_width(hung.value, VALUE * text, Face.SANS_SEMIBOLD)
        parts.append(label(hung.value, x, base, size=VALUE * text, face=Face.SANS_SEMIBOLD, fill=tokens.ink))
    else:
        wide = 64 * text
        parts.append(empty_frame(x, base - 19 * text, wide, 22 * text, tokens))
    end = x + wide
    if hung.unit:
        space = text_width(NARROW_SPACE, VALUE * text, Face.SANS)
        parts.append(label(hung.unit, end + space, base, size=UNIT * text, fill=tokens.ink_2))
        end += space + text_width(hung.unit, UNIT * text, Face.SANS)
    if hung.measured:
        parts.append(element("circle", cx=number(end + 9 * text), cy=number(base - 6 * text), r="2.5", fill=tokens.ink))
        end += 14 * text
    if hung.was:
        parts.append(
            label(
                f"was {hung.was}",
                end + 10 * text,
                base,
                size=SAYS * text,
                face=Face.SANS_SEMIBOLD,
                fill=tokens.damson,
            )
        )
    parts.append(basis_line(hung.mark, x, base + 7 * text, wide, tokens))
    down = base + (7 * text if hung.mark or hung.measured else 0.0)
    for line in block.says_lines:
        down += 21 * text
        parts.append(label(line, x, down, size=SAYS * text, fill=tokens.ink_2))
    if hung.band:
        parts.append(
            band(hung.band, x, down + 16 * text, min(_BAND * text, block.width), tokens, gradient, hairline=paper)
        )
    return "".join(parts)
