"""Sizes written as products, and vessels called by their size: "300×400", "45 × 18 mm", "24 cm", "GN 1/1 40 mm"."""

from __future__ import annotations

import math
import re

from demoule.errors import BadInput, nearest
from demoule.formula.component import Pan
from demoule.units import Kind, Metre, parse
from demoule.units.number import tidy

__all__ = ["HOTEL_PANS", "lengths", "pan", "tray"]

HOTEL_PANS: dict[str, tuple[int, int]] = {
    "2/1": (650, 530),
    "1/1": (530, 325),
    "2/3": (354, 325),
    "2/4": (530, 162),
    "1/2": (325, 265),
    "1/3": (325, 176),
    "1/4": (265, 162),
    "1/6": (176, 162),
    "1/9": (176, 108),
}
"""Outer length and width [mm] of hotel pans. Source: en-631, as listed by makers. Status: quoted."""

_RIM = 12.5
"""The rim on which a hotel pan hangs [mm a side]: a 1/1 pan is 505 x 300 mm inside (practice)."""

_TIMES = re.compile(r"\s*[×xX*]\s*")
_GN = re.compile(r"(?:GN|hotel pan|gastronorm)\s*(\d/\d)(?:\s+|$)(.*)", re.IGNORECASE)


def lengths(text: str, count: int, *, bare: str = "") -> tuple[Metre, ...]:
    """The `count` lengths of a product; the last unit holds for those before it that have none.

    `bare` is the unit of a product without any ("300×400" of a tray is in mm); empty: a unit must be written.

    Examples
    --------
    >>> lengths("45 × 18 mm", 2)
    (0.045, 0.018)
    """
    parts = _TIMES.split(tidy(text))
    if len(parts) != count or not all(parts):
        shape = " × ".join(["45", "18", "12"][:count])
        raise BadInput(f"“{text}” is not {count} lengths.", remedy=f"write for example {shape} mm.")
    unit_text = re.sub(r"^[\d\s.,/¼-¾⅐-⅞]+", "", parts[-1]) or bare
    done = [part if re.search(r"[^\d\s.,/¼-¾⅐-⅞]", part) else f"{part} {unit_text}".strip() for part in parts]
    return tuple(parse(part, Kind.LENGTH, most=3.0, least=1e-6).value for part in done)


def tray(text: str) -> tuple[Metre, Metre]:
    """Length and width of a tray; without a unit in mm, as trays are called."""
    first, second = lengths(text, 2, bare="mm")
    return first, second


def pan(text: str) -> Pan:
    """A vessel from how the kitchen calls it.

    "24 cm" is a round pan by its diameter, "GN 1/1 40 mm" a hotel pan by its size and depth, "300×400 mm" a tray or a
    frame.

    Examples
    --------
    >>> round(pan("24 cm").open_area, 4)
    0.0452
    """
    name = tidy(text)
    hotel = _GN.fullmatch(name)
    if hotel:
        size, depth = hotel[1], hotel[2].strip()
        if size not in HOTEL_PANS:
            hint = nearest(size, HOTEL_PANS)
            raise BadInput(
                f"There is no hotel pan of size {size}.",
                remedy=f"did you mean GN {hint}?" if hint else f"the sizes are {', '.join(HOTEL_PANS)}.",
            )
        long, wide = (side - 2 * _RIM for side in HOTEL_PANS[size])
        return Pan(
            name=name,
            open_area=long * wide * 1e-6,
            depth=parse(depth, Kind.LENGTH, least=0.01, most=0.4).value if depth else None,
        )
    if _TIMES.search(name) and not name.casefold().startswith("x"):
        try:
            long, wide = lengths(name, 2, bare="mm")
        except BadInput as error:
            raise _no_pan(text) from error
        return Pan(name=name, open_area=long * wide)
    try:
        diameter = parse(name, Kind.LENGTH, least=0.05, most=1.5).value
    except BadInput as error:
        raise _no_pan(text) from error
    return Pan(name=name, open_area=math.pi / 4 * diameter**2)


def _no_pan(text: str) -> BadInput:
    return BadInput(
        f"“{text}” is no vessel that can be measured.",
        remedy="write a round pan by its diameter (24 cm), a hotel pan (GN 1/1 40 mm) or a tray (300×400 mm).",
    )
