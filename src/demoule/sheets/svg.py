"""Small parts for drawing in SVG: elements, numbers, smooth paths, and text measured by the fonts it is set in."""

from __future__ import annotations

import enum
import itertools
import re
from collections.abc import Iterable, Sequence
from functools import cache
from pathlib import Path
from xml.sax.saxutils import escape, quoteattr

import numpy as np

from demoule.units import FloatArray

__all__ = [
    "NARROW_SPACE",
    "Face",
    "element",
    "font_file",
    "fragment",
    "label",
    "number",
    "polyline",
    "slug",
    "smooth_path",
    "text_width",
    "wrapped",
]

NARROW_SPACE = "\u202f"
"""Thin no-break space: between a value and its unit, and in thousands."""

_CORNER = np.radians(18.0)  # a line that turns by more at one point has a corner there
_BEND = np.radians(32.0)  # the most that one curve bends


class Face(enum.Enum):
    """The faces in use. Serif names, Sans measures."""

    SERIF = ("serif", 400, False)
    SERIF_ITALIC = ("serif", 400, True)
    SERIF_SEMIBOLD = ("serif", 600, False)
    SANS = ("sans", 400, False)
    SANS_ITALIC = ("sans", 400, True)
    SANS_SEMIBOLD = ("sans", 600, False)

    @property
    def attributes(self) -> dict[str, object]:
        """The attributes that set this face."""
        family, weight, italic = self.value
        names = "Source Serif Pro,Georgia,serif" if family == "serif" else "Source Sans Pro,system-ui,sans-serif"
        found: dict[str, object] = {"font_family": names}
        if weight != 400:
            found["font_weight"] = weight
        if italic:
            found["font_style"] = "italic"
        return found


def number(value: float, digits: int = 1) -> str:
    """A number as short as it can be written."""
    text = f"{value:.{digits}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def element(tag: str, *inside: str, **attributes: object) -> str:
    """An element; `_` in a name stands for `-` (a trailing one is dropped), and what is None is left out."""
    parts = [tag]
    for name, value in attributes.items():
        if value is None:
            continue
        shown = number(value, 2) if isinstance(value, float) else str(value)
        parts.append(f"{name.rstrip('_').replace('_', '-')}={quoteattr(shown)}")
    head = " ".join(parts)
    body = "".join(inside)
    return f"<{head}>{body}</{tag}>" if body else f"<{head}/>"


def fragment(*parts: str) -> str:
    """Several elements after one another."""
    return "".join(parts)


def label(
    words: str,
    x: float,
    y: float,
    *,
    size: float,
    face: Face = Face.SANS,
    fill: str,
    anchor: str | None = None,
    **attributes: object,
) -> str:
    """One line of text, its baseline at y."""
    return element(
        "text",
        escape(words),
        x=number(x),
        y=number(y),
        font_size=number(size),
        fill=fill,
        text_anchor=anchor,
        **face.attributes,
        **attributes,
    )


def slug(words: str) -> str:
    """A name that can stand in an id."""
    return re.sub(r"[^a-z0-9]+", "-", words.casefold()).strip("-") or "x"


def text_width(words: str, size: float, face: Face = Face.SANS) -> float:
    """Width of a line of text, in the unit of `size`; kerning, which makes it a little narrower, is left out."""
    advances, missing, per_em = _metrics(face)
    return size * sum(advances.get(ord(letter), missing) for letter in words) / per_em


def wrapped(words: str, size: float, face: Face, width: float) -> list[str]:
    """The words in as many lines as they need; a word that is wider than the line stands alone."""
    lines: list[str] = []
    for word in words.split(" "):
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width(longer, size, face) <= width:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines


@cache
def _metrics(face: Face) -> tuple[dict[int, int], int, int]:
    from fontTools.ttLib import TTFont

    font = TTFont(font_file(face), lazy=True)
    widths = font["hmtx"].metrics
    names = font.getBestCmap()
    advances = {letter: widths[name][0] for letter, name in names.items()}
    # Some faces lack the narrow no-break space, and browsers take one from elsewhere: leave it a whole space's room.
    advances[0x202F] = widths["space"][0]
    return advances, widths["n"][0], int(font["head"].unitsPerEm)


def font_file(face: Face) -> Path:
    """Where a face stands on the disk."""
    import font_source_sans_pro
    import font_source_serif_pro

    family, weight, italic = face.value
    package, stem = (
        (font_source_serif_pro, "SourceSerifPro") if family == "serif" else (font_source_sans_pro, "SourceSansPro")
    )
    style = ("Semibold" if weight == 600 else "") + ("It" if italic else "")
    return Path(package.__file__).parent / "files" / f"{stem}-{style or 'Regular'}.ttf"


def polyline(points: Iterable[tuple[float, float]], *, closed: bool = False) -> str:
    """Path data of straight pieces."""
    steps = [f"{number(x)} {number(y)}" for x, y in points]
    return "M" + "L".join(steps) + ("Z" if closed else "")


def smooth_path(points: Sequence[tuple[float, float]] | FloatArray, *, step: float = 26.0, closed: bool = False) -> str:
    """Path data of a fine polyline as few cubic curves; corners stay corners.

    Parameters
    ----------
    points
        Close together, in drawing units.
    step
        Length of one curve, in drawing units.
    """
    p = np.asarray(points, dtype=float)
    keep = np.concatenate([[True], np.hypot(*np.diff(p, axis=0).T) > 1e-6])
    p = p[keep]
    if len(p) < 3:
        return polyline([(float(x), float(y)) for x, y in p], closed=closed)
    way = np.diff(p, axis=0)
    angle = np.unwrap(np.arctan2(way[:, 1], way[:, 0]))
    sharp = set((np.flatnonzero(np.abs(np.diff(angle)) > _CORNER) + 1).tolist())
    # A long straight piece between short ones is a line of its own: a flat foot between rounded rims.
    length = np.hypot(way[:, 0], way[:, 1])
    straight = np.flatnonzero(length > max(8 * float(np.median(length)), 3.0)).tolist()
    corners = sorted({0, len(p) - 1, *sharp, *straight, *(i + 1 for i in straight)})
    parts = [f"M{number(p[0, 0])} {number(p[0, 1])}"]
    for start, end in itertools.pairwise(corners):
        parts.append(_run(p[start : end + 1], step))
    return "".join(parts) + ("Z" if closed else "")


def _run(p: FloatArray, step: float) -> str:
    """Curves through a line without corners: as long as `step`, shorter where it bends."""
    if len(p) == 2:
        return f"L{number(p[1, 0])} {number(p[1, 1])}"
    way = np.diff(p, axis=0)
    length = np.hypot(way[:, 0], way[:, 1])
    s = np.concatenate([[0.0], np.cumsum(length)])
    angle = np.unwrap(np.arctan2(way[:, 1], way[:, 0]))
    turned = np.concatenate([[0.0], np.cumsum(np.abs(np.diff(angle))), [0.0]])
    turned[-1] = turned[-2]
    effort = s / step + turned / _BEND
    count = max(1, int(np.ceil(effort[-1])))
    at = np.interp(np.linspace(0, effort[-1], count + 1), effort + np.arange(len(s)) * 1e-12, s)
    q = np.column_stack([np.interp(at, s, p[:, 0]), np.interp(at, s, p[:, 1])])
    # Direction of the fine line, known in the middle of its pieces and carried on to its ends.
    middle = (s[:-1] + s[1:]) / 2
    if len(angle) > 1:
        first = angle[0] - (angle[1] - angle[0]) * length[0] / (length[0] + length[1])
        last = angle[-1] + (angle[-1] - angle[-2]) * length[-1] / (length[-1] + length[-2])
        angle, middle = np.concatenate([[first], angle, [last]]), np.concatenate([[0.0], middle, [s[-1]]])
    direction = np.interp(at, middle, angle)
    tangent = np.column_stack([np.cos(direction), np.sin(direction)])
    third = np.diff(at)[:, None] / 3
    before, after = q[:-1] + tangent[:-1] * third, q[1:] - tangent[1:] * third
    return "".join(
        f"C{number(a[0])} {number(a[1])} {number(b[0])} {number(b[1])} {number(c[0])} {number(c[1])}"
        for a, b, c in zip(before, after, q[1:], strict=True)
    )
