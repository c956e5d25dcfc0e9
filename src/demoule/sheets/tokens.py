"""The colours of paper and screen, by the names of what they are for, and how well one reads on another."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

__all__ = [
    "CONSTITUENTS",
    "DAY",
    "DESSERTS",
    "NIGHT",
    "ON_PIECE",
    "PRINT",
    "TEMPERATURES",
    "ThemeName",
    "Tokens",
    "contrast",
    "lightness",
    "luminance",
    "tokens_of",
]

ThemeName: TypeAlias = Literal["day", "night", "print"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Tokens:
    """One theme. Text is set in ink, ink 2, damson, stop, caution, note or skin; never in rule or edge."""

    paper: str
    leaf: str
    field: str
    rule: str
    edge: str
    ink: str
    ink_2: str
    damson: str
    stop: str
    caution: str
    note: str
    skin: str
    ground: str  # the soft shadow under a drawn piece
    ground_strength: float


DAY = Tokens(
    paper="#FBF7F0",
    leaf="#FFFDF9",
    field="#F1E8DB",
    rule="#DACDBD",
    edge="#8C7B6C",
    ink="#2A211D",
    ink_2="#62564F",
    damson="#7A2B4B",
    stop="#9E1B1B",
    caution="#7A4F00",
    note="#3A5A63",
    skin="#A04A16",
    ground="#4A3A2C",
    ground_strength=0.30,
)

NIGHT = Tokens(
    paper="#1B1714",
    leaf="#231E1A",
    field="#322A24",
    rule="#4A4038",
    edge="#9A8A7B",
    ink="#F3E9DC",
    ink_2="#C2B3A4",
    damson="#F2A9C2",
    stop="#FF9C8F",
    caution="#F0C36A",
    note="#A9CBD3",
    skin="#F0A36A",
    ground="#000000",
    ground_strength=0.55,
)

PRINT = Tokens(
    paper="#FFFFFF",
    leaf="#FFFFFF",
    field="#FFFFFF",
    rule="#B9B1A9",
    edge="#555555",
    ink="#111111",
    ink_2="#444444",
    damson="#111111",
    stop="#111111",
    caution="#111111",
    note="#111111",
    skin="#444444",
    ground="#4A3A2C",
    ground_strength=0.26,
)

ON_PIECE = "#2A211D"
"""Lines drawn on a piece are dark in every theme: the piece keeps its colours by night."""

TEMPERATURES: tuple[tuple[float, str], ...] = (
    (-36, "#2B3A57"),
    (-20, "#567394"),
    (-10, "#86A2B6"),
    (-5, "#B4C6CF"),
    (-2, "#DDE3E1"),
    (0, "#EFEBDD"),
    (4, "#F5E3BC"),
    (18, "#EFC489"),
    (60, "#C4713A"),
)
"""Cold to warm by °C. Colder is always darker below 0, so that frost prints; it never means good or bad."""

DESSERTS: tuple[tuple[str, str], ...] = (
    ("#D9793B", "plain"),
    ("#E9CF6B", "dots"),
    ("#6A4634", "hatch"),
    ("#A9C4A0", "crosses"),
    ("#7A5C86", "waves"),
    ("#E7B9A4", "rings"),
)
"""Colour and texture of the first, second … dessert of a plan; the texture carries it, the hue only helps."""

CONSTITUENTS: dict[str, tuple[str, str]] = {
    "water": ("#BCD3DE", "waves"),
    "fat": ("#EBCB62", "plain"),
    "sugars": ("#F4E8CC", "grid"),
    "protein": ("#A9805C", "dashes"),
    "fibre and starch": ("#9DB489", "uprights"),
    "other": ("#B8B2AB", "dots"),
    "unknown": ("none", "hairlines"),
}
"""Colour and texture of the parts of a mixture, in the order in which they are always shown; the unknown comes last."""


def tokens_of(theme: ThemeName) -> Tokens:
    """The tokens of a theme by its name."""
    return {"day": DAY, "night": NIGHT, "print": PRINT}[theme]


def luminance(colour: str) -> float:
    """Relative luminance of a colour "#RRGGBB", 0 to 1 (WCAG 2.2, relative luminance)."""
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast of two colours, 1 to 21 (WCAG 2.2, contrast ratio)."""
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def lightness(colour: str) -> float:
    """Lightness L* of a colour, 0 to 100 (CIE 1976, from relative luminance)."""
    y = luminance(colour)
    return 116 * y ** (1 / 3) - 16 if y > 216 / 24389 else y * 24389 / 27
