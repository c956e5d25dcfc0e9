"""A printed page as a light picture for the screen: the same page, with outlines to a tenth of a point."""

from __future__ import annotations

import re

__all__ = ["light"]

_USUAL = (' fill-rule="nonzero"', ' stroke-linecap="butt"', ' stroke-linejoin="miter"', ' stroke-miterlimit="4"')
"""What a browser takes where nothing is told."""
_GLYPH = re.compile(r'(?<=[#"])[a-z][0-9A-F]{32}(?=")')
_ACROSS = re.compile(r'( x=")(\d+\.\d+)"')
_PLACE = re.compile(r'(transform="translate\()([^")]*)(\))')
_OUTLINE = re.compile(r'( d=")([^"]*)"')
_LONG = re.compile(r"-?\d*\.\d{2,}")
_ROOM = re.compile(r"\s*([a-zA-Z])\s*")


def light(svg: str) -> str:
    """A page of a third of the bytes.

    On the screen a point is about a pixel, so nothing moves that an eye could see; what is printed is the PDF.

    Examples
    --------
    >>> light('<use x="23.004" y="0" fill="#111111" fill-rule="nonzero"/><path d="M 0 0v 841.88976378 Z "/>')
    '<use x="23" fill="#111111"/><path d="M0 0v841.9Z"/>'
    """
    names: dict[str, str] = {}
    svg = _GLYPH.sub(lambda found: names.setdefault(found[0], f"g{len(names):x}"), svg)
    svg = _ACROSS.sub(lambda found: f'{found[1]}{_short(found[2])}"', svg)
    svg = _PLACE.sub(lambda found: found[1] + _LONG.sub(lambda one: _short(one[0]), found[2]) + found[3], svg)
    svg = _OUTLINE.sub(lambda found: f'{found[1]}{_outline(found[2])}"', svg)
    for told in _USUAL:
        svg = svg.replace(told, "")
    return svg.replace(' y="0" ', " ").replace(" />", "/>")


def _outline(path: str) -> str:
    return _ROOM.sub(r"\1", _LONG.sub(lambda found: _short(found[0]), path)).strip()


def _short(number: str) -> str:
    told = f"{float(number):.1f}".removesuffix(".0")
    return "0" if told == "-0" else told
