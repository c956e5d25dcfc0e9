"""Numbers as people write them: decimal comma or point, thin spaces, fractions, a real minus."""

from __future__ import annotations

import math
import re
import unicodedata
from dataclasses import dataclass

__all__ = ["Written", "read_number", "tidy"]

_SIGNS = str.maketrans(
    {
        "\u2212": "-",  # minus
        "\u2010": "-",
        "\u2011": "-",
        "\u00a0": " ",
        "\u2007": " ",
        "\u2008": " ",
        "\u2009": " ",
        "\u200a": " ",
        "\u202f": " ",
        "\u205f": " ",
        "\u3000": " ",
        "\t": " ",
        "º": "°",
        "˚": "°",
        "℃": "°C",
        "℉": "°F",
        "²": "2",
        "³": "3",
        "⁄": "/",
        "∕": "/",
        "″": '"',
        "”": '"',
        "“": '"',
        "′": "'",
        "’": "'",
        "μ": "µ",
        "⋅": "·",
        "—": "–",
        "‒": "–",
        "―": "–",
    }
)

_VULGAR = "".join(chr(c) for c in (0xBC, 0xBD, 0xBE, *range(0x2150, 0x215F)))
_DASH_BEFORE = r"[-–+]?\s?"
_NUMBER = re.compile(
    rf"(?P<sign>{_DASH_BEFORE})(?:"
    rf"(?P<whole>\d+)(?:\s+|-)(?P<top>\d+)\s?/\s?(?P<bottom>\d+)(?![\d/])"
    rf"|(?P<only_top>\d+)\s?/\s?(?P<only_bottom>\d+)(?![\d/])"
    rf"|(?P<before>\d+)?\s?(?P<vulgar>[{_VULGAR}])"
    r"|(?P<grouped>\d{1,3}(?:[ ']\d{3})+(?:[.,]\d+)?)(?!\d)"
    r"|(?P<plain>(?:\d+(?:[.,]\d+)*|[.,]\d+)(?:[eE][-+]?\d+)?)"
    r")"
)
_GROUPS = re.compile(r"\d{1,3}(?:[.,]\d{3})+")


@dataclass(frozen=True, slots=True)
class Written:
    """A number read from a text: where it ends, and the values that it can mean (more than one: ambiguous)."""

    values: tuple[float, ...]
    end: int


def tidy(text: str) -> str:
    """The text with one kind of space, minus, degree sign, quote and exponent, so that it can be read."""
    return " ".join(text.translate(_SIGNS).split())


def read_number(text: str, start: int = 0) -> Written | None:
    """The number that begins at `start` of a tidied text; None when there is none.

    A point is always the decimal mark, unless several of them part thousands. A comma is the decimal mark too, but
    one comma followed by exactly three digits can mean both ("1,110"): both values come back.

    Examples
    --------
    >>> read_number("12,5 g").values, read_number("1 1/2 cup").values, read_number("1,110 g").values
    ((12.5,), (1.5,), (1.11, 1110.0))
    """
    match = _NUMBER.match(text, start)
    if match is None:
        return None
    negative = match["sign"].strip() in ("-", "–")
    values = _values(match)
    if values is None:
        return None
    return Written(tuple(-value if negative else value for value in values), match.end())


def _values(match: re.Match[str]) -> tuple[float, ...] | None:
    if match["top"]:
        return _fraction(float(match["whole"]), match["top"], match["bottom"])
    if match["only_top"]:
        return _fraction(0.0, match["only_top"], match["only_bottom"])
    if match["vulgar"]:
        return (float(match["before"] or 0) + unicodedata.numeric(match["vulgar"]),)
    if match["grouped"]:
        return (float(match["grouped"].replace(" ", "").replace("'", "").replace(",", ".")),)
    return _plain(match["plain"])


def _fraction(whole: float, top: str, bottom: str) -> tuple[float, ...] | None:
    below = float(bottom)
    return (whole + float(top) / below,) if below else (math.nan,)


def _plain(text: str) -> tuple[float, ...] | None:
    points, commas = text.count("."), text.count(",")
    if not commas and points <= 1:
        return (float(text),)
    if commas == 1 and not points:
        as_decimal = float(text.replace(",", "."))
        if _GROUPS.fullmatch(text) and not text.startswith("0"):
            return (as_decimal, float(text.replace(",", "")))
        return (as_decimal,)
    # Both marks, or one of them several times: the last of a kind that stands once is the decimal mark.
    last = max(text.rfind("."), text.rfind(","))
    mark = text[last]
    head, tail = text[:last], text[last + 1 :]
    if mark not in head:
        return (float(head.replace(",", "").replace(".", "") + "." + tail),) if _GROUPS.fullmatch(head) else None
    if _GROUPS.fullmatch(text) and not (points and commas):
        return (float(text.replace(",", "").replace(".", "")),)
    return None
