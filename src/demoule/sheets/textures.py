"""What fills the cut layers: bubbles, fruit, herbs, crumb, gleams; the same name always gives the same picture."""

from __future__ import annotations

import math
import random
from collections.abc import Iterable, Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from demoule.sheets.frame import Frame
from demoule.sheets.looks import Bits, Look, candied_tone, mixed, shade
from demoule.sheets.svg import element, number, smooth_path
from demoule.units import FloatArray

__all__ = ["crumb_pattern", "gel_shade", "gleam", "pieces", "rings", "stipple_pattern"]

_RINGS_PER_MM2 = 0.34  # of a mix that is all air; a mousse of 30 % shows one on 10 mm²
_MOST_RINGS, _MOST_PIECES, _MOST_HERBS = 150, 44, 34


def rings(region: BaseGeometry, look: Look, frame: Frame, seed: str) -> str:
    """Small open rings in an aerated mix; their number follows its air.

    Parameters
    ----------
    region
        Whole section of the layer, in metres.
    """
    chance = random.Random(seed)
    wanted = min(_MOST_RINGS, round(region.area * 1e6 * look.air * _RINGS_PER_MM2))
    line = shade(look.colour, -0.32)
    placed: list[tuple[float, float, float]] = []
    drawn = []
    for x, z in _spots(region.buffer(-0.0009), chance, wanted * 14):
        if len(placed) >= wanted:
            break
        radius = 0.00020 + 0.00052 * chance.random() ** 2.2
        if not _free(placed, x, z, radius, 1.25):
            continue
        placed.append((x, z, radius))
        cx, cy = frame.at(x, z)
        drawn.append(element("circle", cx=number(cx), cy=number(cy), r=number(max(0.8, radius * frame.scale))))
    return element("g", *drawn, fill=shade(look.colour, 0.6), stroke=line, stroke_width="0.7", stroke_opacity="0.75")


def pieces(region: BaseGeometry, bits: Sequence[Bits], frame: Frame, seed: str) -> str:
    """Fruit, crumbs and herbs in a heart, fruit to its real size."""
    chance = random.Random(seed)
    placed: list[tuple[float, float, float]] = []
    drawn: list[str] = []
    area = region.area
    whole = [bit for bit in bits if bit.kind != "herb"]
    for bit in sorted(whole, key=lambda one: -one.size):
        # Cut anywhere, a cube shows less than its full face as a rule.
        face = (0.82 * bit.size) ** 2
        wanted = min(_MOST_PIECES, max(1, round(bit.share * area / face))) if bit.share > 0 else 0
        found = 0
        for x, z in _spots(region.buffer(-0.66 * bit.size), chance, wanted * 60):
            if found >= wanted:
                break
            size = bit.size * (0.68 + 0.34 * chance.random())
            reach = 0.60 * size
            if not _free(placed, x, z, reach, 1.06):
                continue
            placed.append((x, z, reach))
            found += 1
            drawn.append(_piece(bit, *frame.at(x, z), size * frame.scale, chance))
    for bit in bits:
        if bit.kind == "herb":
            count = min(_MOST_HERBS, max(8, round(bit.share * 9000)))
            drawn.append(_herbs(region, bit, placed, frame, chance, count))
    return "".join(drawn)


def _piece(bit: Bits, x: float, y: float, size: float, chance: random.Random) -> str:
    """One rounded block with its edge; a candied one has two fine strokes and a glint."""
    turn = chance.random() * math.tau
    corners = []
    for quarter in range(4):
        angle = turn + quarter * math.pi / 2 + (chance.random() - 0.5) * 0.42
        reach = size * (0.56 + 0.12 * chance.random())
        corners.append((x + reach * math.cos(angle), y + reach * math.sin(angle)))
    d = _rounded(corners, 0.26)
    dark = shade(bit.colour, -0.34)
    body = element("path", d=d, fill=bit.colour, stroke=dark, stroke_width="0.9", stroke_linejoin="round")
    if bit.kind != "candied" or size < 9:
        return body
    strokes = []
    slope = (chance.random() - 0.5) * 0.5
    for down in (0.10, 0.24):
        half = size * (0.26 - 0.25 * down)
        dx, dy = half * math.cos(slope), half * math.sin(slope)
        cy = y + size * down
        strokes.append(f"M{number(x - dx)} {number(cy - dy)}L{number(x + dx)} {number(cy + dy)}")
    fine = element("path", d="".join(strokes), stroke=dark, stroke_width="0.6", fill="none", stroke_opacity="0.7")
    glint = element(
        "path",
        d=f"M{number(x - 0.24 * size)} {number(y - 0.22 * size)}q{number(0.2 * size)} {number(-0.12 * size)} "
        f"{number(0.42 * size)} {number(-0.02 * size)}",
        stroke=shade(bit.colour, 0.65),
        stroke_width="1.1",
        stroke_linecap="round",
        fill="none",
        stroke_opacity="0.8",
    )
    return body + fine + glint


def _rounded(corners: Sequence[tuple[float, float]], share: float) -> str:
    """Path data of a polygon with rounded corners."""
    parts = []
    for i, (x, y) in enumerate(corners):
        before, after = corners[i - 1], corners[(i + 1) % len(corners)]
        a = (x + share * (before[0] - x), y + share * (before[1] - y))
        b = (x + share * (after[0] - x), y + share * (after[1] - y))
        parts.append(
            f"{'L' if i else 'M'}{number(a[0])} {number(a[1])}Q{number(x)} {number(y)} {number(b[0])} {number(b[1])}"
        )
    return "".join(parts) + "Z"


def _herbs(
    region: BaseGeometry,
    bit: Bits,
    placed: Sequence[tuple[float, float, float]],
    frame: Frame,
    chance: random.Random,
    count: int,
) -> str:
    dashes: list[str] = []
    taken: list[tuple[float, float, float]] = list(placed)
    for x, z in _spots(region.buffer(-0.0012), chance, count * 30):
        if len(dashes) >= count:
            break
        if not _free(taken, x, z, 0.0005, 1.0):
            continue
        taken.append((x, z, 0.0012))
        cx, cy = frame.at(x, z)
        angle = chance.random() * math.pi
        half = (0.35 + 0.3 * chance.random()) * bit.size * frame.scale
        dx, dy = half * math.cos(angle), half * math.sin(angle)
        dashes.append(f"M{number(cx - dx)} {number(cy - dy)}l{number(2 * dx)} {number(2 * dy)}")
    return element(
        "path", d="".join(dashes), stroke=bit.colour, stroke_width="1.3", stroke_linecap="round", fill="none"
    )


def gel_shade(ident: str, look: Look) -> str:
    """Gradient of a clear filling: light at the upper left, its own colour over most, deeper at the rim."""
    return element(
        "radialGradient",
        element("stop", offset="0", stop_color=shade(look.colour, 0.28)),
        element("stop", offset="0.62", stop_color=look.colour),
        element("stop", offset="1", stop_color=mixed([(2.6, look.colour), (1.0, candied_tone(look.colour))])),
        id=ident,
        cx="0.40",
        cy="0.34",
        r="0.68",
    )


def gleam(edge: FloatArray, frame: Frame, *, start: float, end: float, strength: float, width: float) -> str:
    """One soft white stroke along the inside of an edge, between two shares of its length.

    Parameters
    ----------
    edge
        Points of the line in metres, shape (n, 2), right side from foot to top; it is drawn on the left.
    """
    s = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(edge, axis=0).T))])
    at = np.linspace(start, end, 17) * s[-1]
    line = frame.all_at(np.column_stack([-np.interp(at, s, edge[:, 0]), np.interp(at, s, edge[:, 1])]))
    way = np.gradient(line, axis=0)
    across = np.column_stack([-way[:, 1], way[:, 0]]) / np.hypot(way[:, 0], way[:, 1])[:, None]
    # Thin at both ends, as light lies on a round thing.
    half = (width / 2 * np.sin(np.linspace(0.06, np.pi - 0.06, len(line))) ** 0.8)[:, None]
    lens = np.vstack([line + across * half, (line - across * half)[::-1]])
    return element("path", d=smooth_path(lens, closed=True), fill="#FFFFFF", fill_opacity=number(strength, 2))


def crumb_pattern(ident: str, look: Look, frame: Frame) -> str:
    """Oblique hatch of a baked base, with a few holes; 1.5 mm to a line at any scale."""
    size = max(5.0, 1.5 * frame.per_mm)
    line = shade(look.colour, -0.30)
    return element(
        "pattern",
        element("rect", width=number(size), height=number(size), fill=look.colour),
        element(
            "path",
            d=f"M0 {number(size / 2)}H{number(size)}",
            stroke=line,
            stroke_width="0.9",
            stroke_opacity="0.85",
        ),
        element(
            "path",
            d=f"M{number(size * 0.3)} {number(size * 0.15)}v{number(size * 0.22)}"
            f"M{number(size * 0.75)} {number(size * 0.62)}v{number(size * 0.25)}",
            stroke=line,
            stroke_width="0.7",
            stroke_opacity="0.7",
        ),
        id=ident,
        width=number(size),
        height=number(size),
        patternUnits="userSpaceOnUse",
        patternTransform="rotate(-38)",
    )


def stipple_pattern(ident: str, colour: str) -> str:
    """Fine stipple of a velvet, laid over its colour."""
    chance = random.Random(ident)
    side, apart = 21, 4.2
    inks = (shade(colour, -0.26), shade(colour, 0.42))
    dots: tuple[list[str], list[str]] = ([], [])
    # One dot in each small square, somewhere in its middle: even, and without rows.
    for row in range(5):
        for column in range(5):
            x = (column + 0.2 + 0.6 * chance.random()) * apart
            y = (row + 0.2 + 0.6 * chance.random()) * apart
            dots[chance.random() < 0.36].append(f"M{number(x)} {number(y)}h.01")
    marks = [
        element("path", d="".join(d), stroke=ink, stroke_width="0.95", stroke_linecap="round", fill="none")
        for d, ink in zip(dots, inks, strict=True)
        if d
    ]
    return element("pattern", *marks, id=ident, width=side, height=side, patternUnits="userSpaceOnUse")


def _spots(region: BaseGeometry, chance: random.Random, count: int) -> Iterable[tuple[float, float]]:
    """Points spread over a region, as chance has it."""
    if region.is_empty or count <= 0:
        return
    low_x, low_z, high_x, high_z = region.bounds
    tried = [(chance.uniform(low_x, high_x), chance.uniform(low_z, high_z)) for _ in range(count)]
    inside = shapely.contains_xy(region, [x for x, _ in tried], [z for _, z in tried])
    yield from (spot for spot, here in zip(tried, inside, strict=True) if here)


def _free(placed: Sequence[tuple[float, float, float]], x: float, z: float, reach: float, apart: float) -> bool:
    for px, pz, pr in placed:  # noqa: SIM110  (asked some thousand times for one picture)
        if (x - px) ** 2 + (z - pz) ** 2 <= (apart * (reach + pr)) ** 2:
            return False
    return True
