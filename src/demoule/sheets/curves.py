"""Temperatures over time as a chart, and the fields of a piece at chosen moments."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import Any

import numpy as np
from scipy import ndimage

from demoule.cold import StageRun, Still
from demoule.cold.softness import softness_words
from demoule.piece import Piece
from demoule.sheets.svg import Face, element, fragment, label, number, polyline, slug
from demoule.sheets.tokens import TEMPERATURES, ThemeName, Tokens, tokens_of
from demoule.units import ZERO_CELSIUS, FloatArray, shown
from demoule.units.showing import System

__all__ = [
    "ICE_EDGE",
    "curve_svg",
    "film_svg",
    "frame_parts",
    "moment_parts",
    "still_svg",
    "temperature_scale_svg",
]

ICE_EDGE = 0.05
"""Share of the water that is ice at the line drawn as the edge of the ice."""

_TICKS = (-36, -18, 0, 20, 60)
_MARGIN_LEFT, _MARGIN_RIGHT, _MARGIN_TOP, _MARGIN_FOOT = 54.0, 78.0, 14.0, 34.0
_FINE = 3  # how much finer than the computing grid the field is drawn


def curve_svg(
    run: StageRun,
    *,
    width: float = 640,
    height: float = 260,
    theme: ThemeName = "day",
    system: System = "metric",
) -> str:
    """Core, mean and surface of one stage over its hours, with the band of its end and what is wanted.

    The core is a solid line, the surface a broken one; a dotted line is the temperature of the end, a pale lane the
    range in which the piece is ready to eat.
    """
    tokens = tokens_of(theme)
    hours, celsius = _shown_part(run)
    low, high = _span(run, celsius)
    longest = float(hours[-1]) or 1.0
    right, foot = width - _MARGIN_RIGHT, height - _MARGIN_FOOT

    def x(hour: float) -> float:
        return _MARGIN_LEFT + (right - _MARGIN_LEFT) * hour / longest

    def y(degree: float) -> float:
        return _MARGIN_TOP + (foot - _MARGIN_TOP) * (high - degree) / (high - low)

    parts = [_axes(low, high, longest, x, y, right, foot, tokens, system)]
    if run.stage.ready is not None:
        cold, warm = (t - ZERO_CELSIUS for t in run.stage.ready)
        parts.append(
            element(
                "rect",
                x=_MARGIN_LEFT,
                y=y(min(warm, high)),
                width=right - _MARGIN_LEFT,
                height=max(y(max(cold, low)) - y(min(warm, high)), 1.0),
                fill=tokens.ink,
                fill_opacity=0.08,
            )
        )
    if run.stage.has_window:
        # Over the lane, at its beginning: there the piece is still far below it.
        above = y(min((high, *(t - ZERO_CELSIUS for t in (run.stage.ready or ())[1:])))) - 6
        parts.append(
            label(
                _wanted(run, system),
                _MARGIN_LEFT + 6,
                max(above, _MARGIN_TOP + 11),
                size=13,
                face=Face.SERIF_ITALIC,
                fill=tokens.ink_2,
            )
        )
    if run.low is not None and run.high is not None and run.time is not None:
        begin, end = x(min(run.low / 3600, longest)), x(min(run.high / 3600, longest))
        parts.append(
            element(
                "rect",
                x=begin,
                y=_MARGIN_TOP,
                width=max(end - begin, 1.0),
                height=foot - _MARGIN_TOP,
                fill=tokens.ink,
                fill_opacity=0.10,
            )
        )
        parts.append(
            element(
                "line",
                x1=x(run.time / 3600),
                x2=x(run.time / 3600),
                y1=_MARGIN_TOP,
                y2=foot,
                stroke=tokens.ink,
                stroke_width=1.0,
            )
        )
    if run.stage.until is not None:
        end_at = run.stage.until.temperature - ZERO_CELSIUS
        parts.append(
            element(
                "line",
                x1=_MARGIN_LEFT,
                x2=right,
                y1=y(end_at),
                y2=y(end_at),
                stroke=tokens.ink_2,
                stroke_width=1.2,
                stroke_dasharray="1 4",
                stroke_linecap="round",
            )
        )
        words = f"{run.stage.until.place} {shown(end_at, '°C', system=system)}"
        parts.append(label(words, _MARGIN_LEFT + 6, y(end_at) - 6, size=13, face=Face.SERIF_ITALIC, fill=tokens.ink_2))
    for values, stroke, weight, dash in (
        (celsius[2], tokens.skin, 1.8, "7 5"),
        (celsius[1], tokens.ink_2, 1.2, None),
        (celsius[0], tokens.ink, 2.6, None),
    ):
        points = [(x(float(h)), y(float(t))) for h, t in zip(hours, values, strict=True)]
        parts.append(
            element("path", d=polyline(points), fill="none", stroke=stroke, stroke_width=weight, stroke_dasharray=dash)
        )
    parts.append(_names(celsius, y, right, tokens))
    title = f"{run.stage.what} in the {run.room.name}: core, mean and surface over {longest:.1f} hours"
    return _svg(width, height, title, *parts)


def film_svg(run: StageRun, piece: Piece, *, count: int = 3, size: float = 170, theme: ThemeName = "day") -> str:
    """The piece at some moments of a stage, side by side, with the edge of the ice."""
    stills = _chosen(run.stills, count)
    pictures = []
    for place, still in enumerate(stills):
        inside = still_svg(still, piece, size=size, theme=theme, ident=f"{slug(run.stage.what)}-{place}", bare=True)
        pictures.append(element("g", inside, transform=f"translate({number(place * (size + 24))} 0)"))
    width = len(stills) * size + max(len(stills) - 1, 0) * 24
    moments = ", ".join(shown(still.time / 3600, "h") for still in stills)
    return _svg(width, size + 26, f"Temperature inside the piece during {run.stage.what}, after {moments}", *pictures)


def still_svg(
    still: Still, piece: Piece, *, size: float = 240, theme: ThemeName = "day", ident: str = "still", bare: bool = False
) -> str:
    """The section at one moment: temperature by colour, the outlines of the layers, the edge of the ice."""
    field, words = moment_parts(still, size, theme)
    clip, lines, outline = frame_parts(still, piece, size, ident)
    body = fragment(clip, element("g", field, clip_path=f"url(#{ident}-clip)"), element("g", lines), outline, words)
    return body if bare else _svg(size, size + 26, f"Inside the piece after {shown(still.time / 3600, 'h')}", body)


def moment_parts(still: Still, size: float, theme: ThemeName) -> tuple[str, str]:
    """What changes from moment to moment: the field with the edge of the ice, and the hour in words."""
    r, z, temperature, ice = _filled(still)
    at = _scaled(still, size)
    edge = [
        element(
            "path",
            d=polyline([at(sign * a, b) for a, b in line]),
            fill="none",
            stroke="#111111",
            stroke_width=1.6,
            stroke_dasharray="4 2.5",
        )
        for line in _contour(r, z, ice, ICE_EDGE)
        for sign in ((1, -1) if r[0] > 0 else (1,))
    ]
    words = label(
        shown(still.time / 3600, "h") if still.time else "at the start",
        size / 2,
        size + 16,
        size=14,
        face=Face.SANS,
        fill=tokens_of(theme).ink,
        anchor="middle",
    )
    return fragment(*_bands(r, z, temperature, at), *edge), words


def frame_parts(still: Still, piece: Piece, size: float, ident: str) -> tuple[str, str, str]:
    """What stays the same: the clip path of the piece, the lines of its layers, and its outline."""
    at = _scaled(still, size)
    reach, bottom = float(np.abs(still.r).max()), float(still.z[0])
    tall = float(still.z[-1]) - bottom
    body = piece.layer("body") or piece.layers[0]  # of what is computed: the piece without its coats
    outer = body.outline
    around = polyline([at(a, b) for a, b in outer] + [at(-a, b) for a, b in reversed(outer)], closed=True)
    if body.section and still.r[0] < 0:
        around = "".join(polyline([at(a, b) for a, b in ring], closed=True) for ring in body.section)
    lines = [
        element("path", d=polyline([at(a, b) for a, b in line]), fill="none", stroke="#2A211D", stroke_width=0.9)
        for layer in piece.layers
        if layer.role in ("heart", "inner heart", "base") and _inside(layer.outline, reach, tall, bottom)
        for line in layer.section or (layer.outline, [(-a, b) for a, b in layer.outline])
    ]
    return (
        element("clipPath", element("path", d=around), id=f"{ident}-clip"),
        fragment(*lines),
        element("path", d=around, fill="none", stroke="#2A211D", stroke_width=1.1),
    )


def _scaled(still: Still, size: float) -> Callable[[float, float], tuple[float, float]]:
    """Places of the section on a square of so many units, one scale for both directions."""
    step_r, step_z = float(still.r[1] - still.r[0]), float(still.z[1] - still.z[0])
    reach = max(float(np.abs(still.r).max()) + step_r / 2, 1e-3)
    bottom = float(still.z[0]) - step_z / 2
    tall = float(still.z[-1]) + step_z / 2 - bottom
    scale = (size - 8) / max(2 * reach, tall)

    def at(radius: float, height: float) -> tuple[float, float]:
        return size / 2 + scale * radius, size / 2 + scale * (tall / 2 - (height - bottom))

    return at


def temperature_scale_svg(*, width: float = 420, theme: ThemeName = "day", system: System = "metric") -> str:
    """The key of the colours of temperature, cold to warm."""
    tokens = tokens_of(theme)
    step = width / len(TEMPERATURES)
    parts = []
    for place, (degree, colour) in enumerate(TEMPERATURES):
        parts.append(element("rect", x=place * step, y=0.0, width=step, height=10.0, fill=colour))
        words = shown(float(degree), "°C", system=system)
        parts.append(label(words, place * step + step / 2, 25, size=11, fill=tokens.ink_2, anchor="middle"))
    return _svg(width, 30, "Colours of temperature, from cold to warm", *parts)


def _svg(width: float, height: float, title: str, *parts: str) -> str:
    return element(
        "svg",
        element("title", title.replace("&", "and").replace("<", "under")),
        *parts,
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {number(width)} {number(height)}",
        width=number(width),
        height=number(height),
        role="img",
    )


def _wanted(run: StageRun, system: System) -> str:
    """When the piece is ready to eat, as the chef told it."""
    stage, words = run.stage, []
    for place, window in (("core", stage.ready), ("body", stage.ready_body)):
        if window is not None:
            cold, warm = (shown(t - ZERO_CELSIUS, "°C", system=system) for t in window)
            words.append(f"{place} {cold} to {warm}")
    words += [f"{one.layer} {softness_words(one.most, one.least)}" for one in stage.softened]
    return "ready: " + ", ".join(words)


def _shown_part(run: StageRun) -> tuple[FloatArray, tuple[FloatArray, FloatArray, FloatArray]]:
    """The part of the curve worth drawing: to a little after its end, thinned to what a line can show."""
    curve = run.curve
    ends = [t for t in (run.high, run.time) if t is not None]
    if run.window is not None:
        ends += [t for t in (run.window.closes_high, run.window.closes, run.window.opens_high) if t is not None]
    last = min(1.05 * max(ends), float(curve.time[-1])) if ends else float(curve.time[-1])
    grid = np.linspace(0.0, max(last, 1.0), 160)
    rows = tuple(
        np.interp(grid, curve.time, values) - ZERO_CELSIUS for values in (curve.core, curve.mean, curve.surface)
    )
    return grid / 3600, (rows[0], rows[1], rows[2])


def _span(run: StageRun, celsius: Sequence[FloatArray]) -> tuple[float, float]:
    air = run.room.air - ZERO_CELSIUS
    values = [float(np.min(row)) for row in celsius] + [float(np.max(row)) for row in celsius] + [air]
    room = 0.06 * max(max(values) - min(values), 4.0)
    return min(values) - room, max(values) + room


def _axes(
    low: float,
    high: float,
    longest: float,
    x: Callable[[float], float],
    y: Callable[[float], float],
    right: float,
    foot: float,
    tokens: Tokens,
    system: System,
) -> str:
    parts = []
    for tick in _TICKS:
        if low < tick < high:
            parts.append(
                element("line", x1=_MARGIN_LEFT, x2=right, y1=y(tick), y2=y(tick), stroke=tokens.rule, stroke_width=1.0)
            )
            words = shown(float(tick), "°C", system=system)
            parts.append(label(words, _MARGIN_LEFT - 8, y(tick) + 4.5, size=13, fill=tokens.ink_2, anchor="end"))
    parts.append(element("line", x1=_MARGIN_LEFT, x2=right, y1=foot, y2=foot, stroke=tokens.ink, stroke_width=1.4))
    for hour in _hour_ticks(longest):
        parts.append(element("line", x1=x(hour), x2=x(hour), y1=foot, y2=foot + 5, stroke=tokens.ink, stroke_width=1.0))
        parts.append(
            label(shown(hour, "h") if hour else "0", x(hour), foot + 20, size=13, fill=tokens.ink_2, anchor="middle")
        )
    return fragment(*parts)


def _hour_ticks(longest: float) -> list[float]:
    step = next(s for s in (0.25, 0.5, 1.0, 2.0, 3.0, 6.0, 12.0, 24.0, 48.0, 96.0, 192.0, 1e9) if longest / s <= 6.5)
    return [step * n for n in range(int(longest / step + 1e-9) + 1)]


def _names(celsius: Sequence[FloatArray], y: Callable[[float], float], right: float, tokens: Tokens) -> str:
    """The name of each curve at its right end, moved apart where they come together."""
    wanted = sorted(
        (
            (y(float(row[-1])), name, colour)
            for row, name, colour in zip(
                celsius, ("core", "mean", "surface"), (tokens.ink, tokens.ink_2, tokens.skin), strict=True
            )
        ),
    )
    places = [wanted[0][0]]
    for place, _, _ in wanted[1:]:
        places.append(max(place, places[-1] + 15))
    shift = max(0.0, places[-1] - (y(float(min(row[-1] for row in celsius))) + 18))
    return fragment(
        *(
            label(name, right + 6, at + 4 - shift, size=14, face=Face.SERIF_ITALIC, fill=colour)
            for at, (_, name, colour) in zip(places, wanted, strict=True)
        )
    )


def _chosen(stills: Sequence[Still], count: int) -> list[Still]:
    """`count` stills, the one after the start and the last among them, the others between."""
    if len(stills) <= count:
        return list(stills)
    return [stills[i] for i in np.linspace(0, len(stills) - 1, count).round().astype(int)]


def _filled(still: Still) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Temperature [°C] and ice on a finer grid, carried beyond the piece so that its edge is sharp."""
    known = np.isfinite(still.temperature)
    nearest = np.asarray(ndimage.distance_transform_edt(~known, return_distances=False, return_indices=True))
    temperature = (still.temperature - ZERO_CELSIUS)[tuple(nearest)]
    ice = still.ice[tuple(nearest)]
    fine = (ndimage.zoom(field, _FINE, order=1, mode="nearest", grid_mode=True) for field in (temperature, ice))
    step_r, step_z = float(still.r[1] - still.r[0]), float(still.z[1] - still.z[0])
    r = (np.arange(len(still.r) * _FINE) + 0.5) * step_r / _FINE + (still.r[0] - step_r / 2)
    z = (np.arange(len(still.z) * _FINE) + 0.5) * step_z / _FINE + (still.z[0] - step_z / 2)
    t, i = fine
    return r, z, t, i


def _bands(
    r: FloatArray, z: FloatArray, celsius: FloatArray, at: Callable[[float, float], tuple[float, float]]
) -> list[str]:
    """The field in the colours of temperature, both halves: the warmest over all, then whatever is colder upon it."""
    import contourpy

    edges = np.array([degree for degree, _ in TEMPERATURES], dtype=float)
    between = (edges[1:] + edges[:-1]) / 2  # the colour whose degree lies nearest
    both_r, both = r, celsius
    if r[0] > 0:  # a round piece: the half that is computed stands for both
        both_r, both = np.concatenate([-r[::-1], r]), np.hstack([celsius[:, ::-1], celsius])
    coldest, warmest = (int(np.searchsorted(between, end)) for end in (float(np.min(both)), float(np.max(both))))
    left, foot = at(float(both_r[0]) * 1.1, float(z[0]) - 0.1 * float(np.ptp(z)))
    right, top = at(float(both_r[-1]) * 1.1, float(z[-1]) + 0.1 * float(np.ptp(z)))
    parts = [
        element("rect", x=left, y=top, width=right - left, height=foot - top, fill=TEMPERATURES[warmest][1]),
    ]
    contours = contourpy.contour_generator(both_r, z, both, fill_type="OuterOffset")
    for place in range(warmest - 1, coldest - 1, -1):
        found: Any = contours.filled(-1e9, float(between[place]))
        points, offsets = found
        path = []
        for polygon, starts in zip(points, offsets, strict=True):
            for first, last in pairwise(starts):
                ring = [at(float(a), float(b)) for a, b in polygon[first : last - 1]]
                path.append(polyline(_thinned(ring), closed=True))
        parts.append(element("path", d="".join(path), fill=TEMPERATURES[place][1], fill_rule="evenodd"))
    return parts


def _thinned(ring: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Without the points that an eye does not miss: those on the straight line between their neighbours."""
    from shapely import LinearRing

    if len(ring) < 8:
        return ring
    return [(float(a), float(b)) for a, b in LinearRing(ring).simplify(0.2).coords[:-1]]


def _contour(r: FloatArray, z: FloatArray, field: FloatArray, level: float) -> list[list[tuple[float, float]]]:
    import contourpy

    if not (np.min(field) < level < np.max(field)):
        return []
    from shapely import LineString

    lines = contourpy.contour_generator(r, z, field, line_type="Separate").lines(level)
    # A fortieth of a millimetre is finer than any screen shows.
    found = [LineString(np.asarray(line)).simplify(2.5e-5) for line in lines or () if len(line) > 1]
    return [[(float(a), float(b)) for a, b in line.coords] for line in found]


def _inside(outline: Sequence[tuple[float, float]], reach: float, tall: float, bottom: float) -> bool:
    return max(a for a, _ in outline) <= reach * 1.05 and max(b for _, b in outline) <= bottom + tall * 1.05
