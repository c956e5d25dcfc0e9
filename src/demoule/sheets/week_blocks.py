"""A block of work or of places in the week's drawing: its dessert's colour and texture, and its mark in a pill."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from demoule.plan import Plan
from demoule.sheets.svg import Face, element, fragment, label, number, text_width
from demoule.sheets.tokens import DESSERTS, Tokens, lightness

__all__ = ["block", "dessert_pattern", "pill", "room_pattern", "rooms_hatch"]


def block(plan: Plan, dessert: str, x: float, y: float, width: float, height: float, tokens: Tokens) -> str:
    """A rectangle in a dessert's colour and texture."""
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


def pill(words: str, x: float, y: float, width: float, height: float, tokens: Tokens) -> str:
    """A lot's mark in the middle of a block, where there is room for it."""
    wide = text_width(words, 11.5, Face.SANS_SEMIBOLD) + 8
    if width < wide + 2 or height < 12:
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


def dessert_pattern(which: int) -> str:
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


# Rooms carry a hatch besides their colour: cold is darker, but above 0 °C it darkens again, and a copy is grey.
_HATCHES: tuple[tuple[float, str], ...] = ((-28.0, "dense"), (-8.0, "wide"), (10.0, "dashes"), (25.0, "plain"))


def rooms_hatch(air: float | None) -> str:
    """The hatch of a room by its air [K]: dense lines, wide lines, short dashes, plain, dots."""
    if air is None:
        return "plain"
    return next((name for most, name in _HATCHES if air - 273.15 <= most), "dots")


def room_pattern(name: str, tokens: Tokens) -> str:
    """The lines of a hatch, to be laid over the colour of a room."""
    line = {"stroke": tokens.edge, "stroke_width": "0.6", "stroke_opacity": "0.7", "fill": "none"}
    side, drawing = {
        "dense": ("6", element("path", d="M0 3H6", **line)),
        "wide": ("16", element("path", d="M0 8H16", **line)),
        "dashes": ("14", element("path", d="M1 4h5M8 11h5", **line)),
        "dots": ("10", element("circle", cx="5", cy="5", r="0.9", fill=tokens.edge)),
        "plain": ("10", ""),
    }[name]
    return element("pattern", drawing, id=f"room-{name}", width=side, height=side, patternUnits="userSpaceOnUse")
