"""Words of a drawing as outlines: a picture inside a picture cannot reach the faces of the page around it."""

from __future__ import annotations

import base64
import re
from collections.abc import Sequence
from functools import cache
from itertools import pairwise
from typing import TYPE_CHECKING
from xml.etree import ElementTree

from demoule.sheets.svg import Face, font_file, number

if TYPE_CHECKING:
    from fontTools.ttLib import TTFont

__all__ = ["outlined", "outlined_within"]

_SVG = "http://www.w3.org/2000/svg"
_EM = 160
"""Steps to the height of a face: finer than a screen shows of a figure."""
_WITHIN = re.compile(
    r'<image( transform="(?P<place>[^"]*)")? xlink:href="data:image/svg\+xml;base64,(?P<data>[A-Za-z0-9+/=]+)" '
    r'width="(?P<width>[\d.]+)" height="(?P<height>[\d.]+)"[^>]*/>'
)


def outlined_within(page: str) -> str:
    """A page whose drawings with words, held in it as pictures, become part of it, their words without any face."""

    def part(found: re.Match[str]) -> str:
        drawing = base64.b64decode(found["data"]).decode()
        if "<text" not in drawing:
            return found[0]
        drawing = outlined(drawing)
        # What it is called belongs to the page now, which tells it beside the picture.
        drawing = re.sub(r"<(title|desc)[ >].*?</\1>", "", drawing, flags=re.DOTALL)
        sized = re.sub(r' (width|height|role|aria-[a-z]+|data-[a-z-]+)="[^"]*"', "", drawing[: drawing.index(">")])
        size = f' width="{found["width"]}" height="{found["height"]}"'
        return f'<g transform="{found["place"] or "translate(0 0)"}">{sized}{size}{drawing[drawing.index(">") :]}</g>'

    return _WITHIN.sub(part, page)


def outlined(drawing: str) -> str:
    """A drawing with every text as the shapes of its letters; each shape stands in it once."""
    ElementTree.register_namespace("", _SVG)
    root = ElementTree.fromstring(drawing)
    shapes = ElementTree.SubElement(root, f"{{{_SVG}}}defs")
    known: dict[tuple[Face, str], tuple[str, float]] = {}

    def shape(face: Face, letter: str) -> tuple[str, float]:
        if (face, letter) not in known:
            path, advance = _letter(face, letter)
            ident = f"o{len(known)}"
            if path:
                ElementTree.SubElement(shapes, f"{{{_SVG}}}path", {"id": ident, "d": path})
            known[face, letter] = (ident if path else "", advance)
        return known[face, letter]

    for parent in list(root.iter()):
        for place, child in enumerate(list(parent)):
            if child.tag == f"{{{_SVG}}}text":
                face = _face_of(child)
                parent[place] = _group(child, [shape(face, letter) for letter in child.text or ""])
    return ElementTree.tostring(root, encoding="unicode")


def _group(text: ElementTree.Element, letters: list[tuple[str, float]]) -> ElementTree.Element:
    """One line of letters where the text stood."""
    scale = float(text.get("font-size", "16"))
    width = sum(advance for _, advance in letters)
    start = {"middle": -width / 2, "end": -width}.get(text.get("text-anchor", ""), 0.0)
    x, y = float(text.get("x", "0")), float(text.get("y", "0"))
    told = {key: value for key, value in text.attrib.items() if key in ("fill", "opacity", "class")}
    place = f"translate({number(x + start * scale, 2)} {number(y, 2)}) scale({scale / _EM:.4g} {-scale / _EM:.4g})"
    line = ElementTree.Element(f"{{{_SVG}}}g", {**told, "transform": place})
    at = 0.0
    for ident, advance in letters:
        if ident:
            ElementTree.SubElement(line, f"{{{_SVG}}}use", {"href": f"#{ident}", "x": number(_EM * at, 0)})
        at += advance
    return line


def _face_of(text: ElementTree.Element) -> Face:
    family = "serif" if "Serif" in text.get("font-family", "") else "sans"
    wanted = (family, int(text.get("font-weight", "400")), text.get("font-style") == "italic")
    return next((face for face in Face if face.value == wanted), Face.SANS)


@cache
def _letter(face: Face, letter: str) -> tuple[str, float]:
    """Path of a letter, and how far the next one stands from it in heights of the face."""
    from fontTools.pens.recordingPen import DecomposingRecordingPen

    font = _font(face)
    glyphs, names = font.getGlyphSet(), font.getBestCmap()
    name = names.get(ord(letter)) or names.get(ord(" ") if letter.isspace() else ord("\u25a0"), ".notdef")
    per_em = font["head"].unitsPerEm
    pen = DecomposingRecordingPen(glyphs)
    glyphs[name].draw(pen)
    return _path(pen.value, _EM / per_em), glyphs[name].width / per_em


def _path(strokes: Sequence[tuple[str, Sequence[tuple[float, float]]]], scale: float) -> str:
    """Path data in whole steps from point to point, which is short; rounded where the points lie, so nothing drifts."""
    written: list[str] = []
    here = start = (0, 0)

    def steps(points: Sequence[tuple[float, float]]) -> str:
        found = [(round(scale * x), round(scale * y)) for x, y in points]
        told = " ".join(f"{x - here[0]} {y - here[1]}" for x, y in found)
        return told.replace(" -", "-")

    for kind, points in strokes:
        ends: list[Sequence[tuple[float, float]]] = [points]
        if kind == "qCurveTo":
            # Between two points off the curve lies one on it, in the middle.
            middles = [((a + c) / 2, (b + d) / 2) for (a, b), (c, d) in pairwise(points[:-1])]
            ends = list(zip(points[:-1], [*middles, points[-1]], strict=True))
        for to in ends:
            if to:
                written.append({"moveTo": "m", "lineTo": "l", "qCurveTo": "q", "curveTo": "c"}[kind] + steps(to))
                here = (round(scale * to[-1][0]), round(scale * to[-1][1]))
                start = here if kind == "moveTo" else start
        if kind == "closePath":
            written.append("z")
            here = start
    return "".join(written)


@cache
def _font(face: Face) -> TTFont:
    from fontTools import ttLib

    return ttLib.TTFont(font_file(face), lazy=True)
