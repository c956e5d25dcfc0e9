"""The marks that stand beside a figure or a finding: forms first, colour only helps."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

from demoule.figures import Figure, Severity
from demoule.sheets.svg import element, fragment, number
from demoule.sheets.tokens import Tokens

__all__ = ["Band", "BasisMark", "band", "band_gradient", "basis_line", "basis_mark", "empty_frame", "finding_mark"]

BasisMark: TypeAlias = Literal["", "solid", "broken", "dotted", "unknown"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """The likely range of a value, inside the range that a chef would believe; all in one unit."""

    low: float
    value: float
    high: float
    least: float
    most: float


def basis_mark(figure: Figure) -> BasisMark:
    """The line under a figure: what it rests on."""
    if figure.value is None:
        return "unknown"
    if figure.unknown > 0.005:
        return "dotted"
    if figure.stretched:
        return "broken"
    return "solid" if figure.basis else ""


def basis_line(mark: BasisMark, x: float, y: float, width: float, tokens: Tokens) -> str:
    """The line under a value: solid when computed inside its range, broken outside, dotted on something unknown."""
    if mark in ("", "unknown"):
        return ""
    dashes = {"solid": None, "broken": "6 4", "dotted": "0.1 3.6"}[mark]
    return element(
        "path",
        d=f"M{number(x)} {number(y)}h{number(width)}",
        stroke=tokens.edge,
        stroke_width="2" if mark == "dotted" else "1.5",
        stroke_dasharray=dashes,
        stroke_linecap="round" if mark == "dotted" else None,
        fill="none",
    )


def empty_frame(x: float, y: float, width: float, height: float, tokens: Tokens) -> str:
    """The hole of an unknown value: a broken frame, hatched, and empty."""
    lines = []
    step = 7.0
    along = step
    while along < width + height:
        x0, y0 = (along, 0.0) if along <= width else (width, along - width)
        x1, y1 = (0.0, along) if along <= height else (along - height, height)
        lines.append(f"M{number(x + x0)} {number(y + y0)}L{number(x + x1)} {number(y + y1)}")
        along += step
    return fragment(
        element("path", d="".join(lines), stroke=tokens.rule, stroke_width="1", fill="none"),
        element(
            "rect",
            x=number(x),
            y=number(y),
            width=number(width),
            height=number(height),
            fill="none",
            stroke=tokens.edge,
            stroke_width="1.2",
            stroke_dasharray="4 3",
        ),
    )


def band_gradient(ident: str, tokens: Tokens) -> str:
    """Definition of the soft bar of a band: its ends fade, for they are no limits."""
    stops = ((0, 0.0), (0.22, 0.5), (0.5, 0.62), (0.78, 0.5), (1, 0.0))
    return element(
        "linearGradient",
        *(element("stop", offset=number(o, 2), stop_color=tokens.damson, stop_opacity=number(a, 2)) for o, a in stops),
        id=ident,
    )


def band(found: Band, x: float, y: float, width: float, tokens: Tokens, gradient: str, *, hairline: bool) -> str:
    """Soft bar of the likely range, tick at the value, thin line of what a chef would believe.

    Parameters
    ----------
    gradient
        Id of the `band_gradient`.
    hairline
        Draw the bar's edge as well: on paper the soft ends print weakly.
    """
    span = found.most - found.least

    def at(value: float) -> float:
        return x + width * min(max((value - found.least) / span, 0.0), 1.0)

    low, high = at(found.low), at(found.high)
    return fragment(
        element("path", d=f"M{number(x)} {number(y)}h{number(width)}", stroke=tokens.rule, stroke_width="1.5"),
        element(
            "rect",
            x=number(low),
            y=number(y - 4),
            width=number(max(high - low, 3.0)),
            height="8",
            fill=f"url(#{gradient})",
            stroke=tokens.edge if hairline else None,
            stroke_width="0.5" if hairline else None,
        ),
        element(
            "path", d=f"M{number(at(found.value))} {number(y - 6)}v12", stroke=tokens.ink, stroke_width="2", fill="none"
        ),
    )


def finding_mark(severity: Severity, x: float, y: float, size: float, tokens: Tokens) -> str:
    """The form of a finding, centred on a point: a barred square, a lozenge with a stroke, a ring with a dot."""
    half = size / 2
    if severity is Severity.STOP:
        return fragment(
            element(
                "rect",
                x=number(x - half * 0.88),
                y=number(y - half * 0.88),
                width=number(size * 0.88),
                height=number(size * 0.88),
                rx="2",
                fill=tokens.stop,
            ),
            element(
                "path",
                d=f"M{number(x - half * 0.5)} {number(y)}h{number(half)}",
                stroke=tokens.paper,
                stroke_width=number(size * 0.15),
            ),
        )
    if severity is Severity.CAUTION:
        return fragment(
            element(
                "path",
                d=f"M{number(x)} {number(y - half)}L{number(x + half)} {number(y)}L{number(x)} {number(y + half)}"
                f"L{number(x - half)} {number(y)}Z",
                fill="none",
                stroke=tokens.caution,
                stroke_width=number(size * 0.11, 2),
                stroke_linejoin="round",
            ),
            element(
                "path",
                d=f"M{number(x)} {number(y - half * 0.42)}v{number(half * 0.48)}m0 {number(half * 0.34)}v0.1",
                fill="none",
                stroke=tokens.caution,
                stroke_width=number(size * 0.12, 2),
                stroke_linecap="round",
            ),
        )
    return fragment(
        element(
            "circle",
            cx=number(x),
            cy=number(y),
            r=number(half * 0.86),
            fill="none",
            stroke=tokens.note,
            stroke_width=number(size * 0.1, 2),
        ),
        element("circle", cx=number(x), cy=number(y), r=number(size * 0.12), fill=tokens.note),
    )
