"""The piece itself, drawn from outside in: coats, body, base, hearts; and the whole fruit that stands behind it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import shapely
import shapely.affinity
from shapely.geometry.base import BaseGeometry

from demoule.formula.cooked import Cooked
from demoule.piece import Clearance, Garnish, Layer, Outline, Piece, solids
from demoule.sheets.frame import Frame
from demoule.sheets.looks import Look, as_coat, candied_tone, mixed, shade
from demoule.sheets.looks import looks as looks_of
from demoule.sheets.svg import element, fragment, number, smooth_path
from demoule.sheets.textures import crumb_pattern, gel_shade, gleam, pieces, rings, stipple_pattern
from demoule.sheets.tokens import DAY, ON_PIECE, Tokens
from demoule.units import FloatArray, Metre

__all__ = [
    "COATS",
    "Drawn",
    "cut_piece",
    "drawn_layers",
    "ground",
    "keys_of",
    "region_of",
    "section_of",
    "stem_height",
    "styles_of",
    "whole_piece",
]

COATS = ("shell", "spray")
_THINNEST = 1.5  # drawing units: a coat is never drawn thinner
_STONE_FRUIT = ("apricot", "peach", "plum", "cherry", "nectarine", "damson", "mirabelle", "greengage")


@dataclass(frozen=True, slots=True)
class Drawn:
    """A layer with the outline it is drawn with: its own, or one further out when a coat is too thin to be seen.

    Where the cut is not alike on both sides, `shape` is all of it and the outline its right half; None: it is.
    """

    key: str
    layer: Layer
    look: Look
    outline: Outline
    widened: bool
    inside: tuple[Outline, ...]  # the layers that lie in it
    shape: BaseGeometry | None = None

    @property
    def whole(self) -> BaseGeometry:
        """The cut on both sides of the axis [m]."""
        return solids.mirrored(self.outline) if self.shape is None else self.shape

    def path(self, frame: Frame) -> str:
        """Path data of it."""
        return frame.path(self.outline) if self.shape is None else frame.rings_path(self.shape)

    @property
    def size(self) -> tuple[Metre, Metre]:
        """Width, twice what stands out further from the axis, and height as drawn [m]."""
        if self.shape is None:
            return solids.width(self.outline), solids.height(self.outline)
        left, low, right, high = self.shape.bounds
        return 2 * max(-left, right), high - low


def styles_of(
    piece: Piece, looks: Mapping[str, Look] | None, cooked: Mapping[str, Cooked] | None, name: str
) -> dict[str, Look]:
    """A look for every layer's component, coats as coats."""
    found = dict(looks or {})
    if any(layer.component not in found for layer in piece.layers):
        found = dict(looks_of((), cooked or {}, dessert=name)) | found
    missing = [layer.component for layer in piece.layers if layer.component not in found]
    guessed = looks_of((), {}, dessert=name, names=missing) if missing else {}
    for layer in piece.layers:
        look = found.get(layer.component) or guessed[layer.component]
        if layer.role in COATS:
            look = as_coat(look, layer.composition.fat, sprayed=layer.role == "spray")
        else:
            look = replace(look, air=layer.air)
            if layer.role == "base":
                look = replace(look, texture="crumb")
            elif layer.role == "body" and layer.air > 0.04:
                look = replace(look, texture="aerated")
        found[layer.component] = look
    return found


def keys_of(piece: Piece) -> list[str]:
    """A key for each layer, from the inside outwards: its role, numbered from the second of a role on."""
    seen: dict[str, int] = {}
    keys = []
    for layer in piece.layers:
        seen[layer.role] = seen.get(layer.role, 0) + 1
        role = layer.role.replace(" ", "-")
        keys.append(role if seen[layer.role] == 1 else f"{role}-{seen[layer.role]}")
    return keys


def drawn_layers(piece: Piece, looks: Mapping[str, Look], scale: float) -> list[Drawn]:
    """The layers from the inside outwards as they are drawn at a scale (drawing units per metre)."""
    found: list[Drawn] = []
    under: Outline | None = None
    around: BaseGeometry | None = None
    moved = False
    for key, layer in zip(keys_of(piece), piece.layers, strict=True):
        outline, widened, shape = layer.outline, False, section_of(layer)
        if layer.role in COATS and under is not None:
            thin = layer.thickness or 0.0
            widened = thin * scale < _THINNEST
            if widened or moved:
                outline = solids.offset(under, max(thin, _THINNEST / scale))
                shape = None if around is None else around.buffer(max(thin, _THINNEST / scale))
                moved = True
        if shape is not None:
            outline = _right_of(shape)
        inside = tuple(one.outline for one in found if _holds(outline, one.outline))
        found.append(Drawn(key, layer, looks[layer.component], outline, widened, inside, shape))
        if layer.role in ("body", *COATS):
            under, around = outline, shape
    return found


def section_of(layer: Layer) -> BaseGeometry | None:
    """The cut of a layer that is not alike on both sides [m]; None: it is."""
    if not layer.section:
        return None
    # Rings lie beside or in one another; what an even number of them holds is a hole.
    shape: BaseGeometry = shapely.Polygon()
    for ring in layer.section:
        shape = shape.symmetric_difference(shapely.Polygon(ring).buffer(0))
    return shape


def _right_of(shape: BaseGeometry) -> Outline:
    """The right half of a cut as an outline, that of the left turned over where nothing lies on the right."""
    _, low, right, high = shape.bounds
    half = shape.intersection(shapely.box(0.0, low, max(right, 1e-6), high))
    if half.area <= 0:
        half = shapely.affinity.scale(shape, xfact=-1, origin=(0, 0))
    return solids.from_polygon(half)


def _holds(outer: Outline, inner: Outline) -> bool:
    return bool(solids.polygon(outer).buffer(1e-6).covers(solids.polygon(inner)))


def region_of(one: Drawn, *, whole: bool = True) -> BaseGeometry:
    """What is seen of a layer in the section, in metres: the whole width, or the right half."""
    shape = solids.mirrored if whole else solids.polygon
    region = one.whole if whole and one.shape is not None else shape(one.outline)
    return region.difference(shapely.union_all([shape(inner) for inner in one.inside]))


def stem_height(garnishes: tuple[Garnish, ...], tall: Metre) -> Metre:
    """How far a stem or leaf stands above the piece; its true size is not told, so it is kept modest."""
    return min(0.011, 0.22 * tall) if any(_kind(g) for g in garnishes) else 0.0


def ground(frame: Frame, half: Metre, foot: Metre, gradient: str) -> str:
    """The soft shadow on which a piece stands."""
    x, y = frame.at(0.0, foot)
    return element(
        "ellipse",
        cx=number(x),
        cy=number(y + 0.0006 * frame.scale),
        rx=number(half * frame.scale),
        ry=number(max(6.0, 0.0034 * frame.scale)),
        fill=f"url(#{gradient})",
    )


def ground_gradient(ident: str, tokens: Tokens) -> str:
    """Definition of the shadow."""
    return element(
        "radialGradient",
        element("stop", offset="0.35", stop_color=tokens.ground, stop_opacity=number(tokens.ground_strength, 2)),
        element("stop", offset="1", stop_color=tokens.ground, stop_opacity="0"),
        id=ident,
    )


def cut_piece(
    layers: list[Drawn],
    frame: Frame,
    *,
    prefix: str,
    seed: str,
    chosen: str | None,
    wrap: Mapping[str, tuple[str, str]],
) -> tuple[str, str]:
    """The cut piece, and the definitions it needs.

    Parameters
    ----------
    wrap
        For each key, where it links to (or empty) and how it is read aloud.
    """
    defs: list[str] = []
    parts: list[str] = []
    for one in reversed(layers):
        ident = f"{prefix}-{one.key}"
        body, needed = _layer(one, frame, ident, f"{seed}:{one.key}")
        defs.append(needed)
        if one.key == chosen:
            body += element(
                "path",
                d=one.path(frame),
                fill="none",
                stroke=DAY.damson,
                stroke_width="3.6",
                stroke_linejoin="round",
            )
        href, spoken = wrap.get(one.key, ("", one.layer.component))
        if href:
            parts.append(element("a", body, href=href, id=ident, aria_label=spoken))
        else:
            parts.append(element("g", body, id=ident, role="img", aria_label=spoken))
    return "".join(parts), "".join(defs)


def _layer(one: Drawn, frame: Frame, ident: str, seed: str) -> tuple[str, str]:
    look, path = one.look, one.path(frame)
    line = shade(look.colour, -0.50)
    if one.layer.role in COATS:
        fill, defs, over = _coat(one, frame, ident, path)
        weight = "1.1"
    elif look.texture == "crumb":
        fill, defs, over = f"url(#{ident}-f)", crumb_pattern(f"{ident}-f", look, frame), ""
        weight, line = "1.2", shade(look.colour, -0.55)
    elif look.texture == "aerated":
        fill, defs = _ground_of(ident, look)
        over = rings(region_of(one), look, frame, seed)
        if look.bits:
            over += pieces(region_of(one), look.bits, frame, seed)
        weight = "0.9"
    elif look.texture == "liquid":
        return _liquid(one, frame, ident)
    else:
        fill, defs = f"url(#{ident}-f)", gel_shade(f"{ident}-f", look)
        over = pieces(region_of(one), look.bits, frame, seed) + _gel_gleam(one, frame)
        weight = "1.1"
    if one.layer.joint is not None:
        over += _joint(one, frame, line)
    return (
        fragment(element("path", d=path, fill=fill, stroke=line, stroke_width=weight, stroke_linejoin="round"), over),
        defs,
    )


def _ground_of(ident: str, look: Look) -> tuple[str, str]:
    """Pale ground of a body, a little deeper at the lower right."""
    defs = element(
        "linearGradient",
        element("stop", offset="0", stop_color=shade(look.colour, 0.22)),
        element("stop", offset="1", stop_color=mixed([(7.0, look.colour), (1.0, candied_tone(look.colour))])),
        id=f"{ident}-f",
        x1="0.2",
        y1="0",
        x2="0.8",
        y2="1",
    )
    return f"url(#{ident}-f)", defs


def _coat(one: Drawn, frame: Frame, ident: str, path: str) -> tuple[str, str, str]:
    look = one.look
    if look.texture == "velvet" and (one.layer.thickness or 0) * frame.scale > 4:
        over = element("path", d=path, fill=f"url(#{ident}-s)")
        return look.colour, stipple_pattern(f"{ident}-s", look.colour), over
    if look.texture == "glaze":
        # Clear: what lies under it shows through, and one gleam runs along its edge.
        shine = gleam(_right_edge(one.outline, -0.0006), frame, start=0.52, end=0.74, strength=0.9, width=2.2)
        return shade(look.colour, 0.35), "", shine
    return look.colour, "", ""


def _gel_gleam(one: Drawn, frame: Frame) -> str:
    """One soft gleam inside the upper left of a clear filling."""
    tall = solids.height(one.outline)
    if tall * frame.scale < 40:
        return ""
    inner = _right_edge(one.outline, -0.10 * min(tall, solids.width(one.outline)))
    if inner is None:
        return ""
    return gleam(inner, frame, start=0.60, end=0.84, strength=0.42, width=max(2.0, 0.0009 * frame.scale))


def _joint(one: Drawn, frame: Frame, line: str) -> str:
    joint = one.layer.joint or 0.0
    r = solids.radius_at(one.outline, joint)
    x0, y = frame.at(-r, joint)
    x1, _ = frame.at(r, joint)
    return element(
        "path",
        d=f"M{number(x0)} {number(y)}H{number(x1)}",
        stroke=line,
        stroke_width="1",
        stroke_dasharray="0.1 4",
        stroke_linecap="round",
        fill="none",
    )


def _liquid(one: Drawn, frame: Frame, ident: str) -> tuple[str, str]:
    """A liquid heart: filled to a level line, and without an outline below it."""
    p = solids.points(one.outline)
    z = p[:, 1]
    level = float(z.min() + 0.88 * (z.max() - z.min()))
    r = solids.radius_at(one.outline, level)
    above = p[(z > level) & (np.arange(len(z)) >= int(p[:, 0].argmax()))]
    arc = np.vstack([[(r, level)], above])
    if not solids.closed(one.outline):
        arc = np.vstack([arc, arc[-2::-1] * (-1.0, 1.0)])
    x0, y = frame.at(-r, level)
    x1, _ = frame.at(r, level)
    line = shade(one.look.colour, -0.5)
    body = element("path", d=one.path(frame), fill=f"url(#{ident}-f)")
    surface = element("path", d=f"M{number(x0)} {number(y)}H{number(x1)}", stroke=line, stroke_width="1.4", fill="none")
    rim = element("path", d=frame.open_path(arc), stroke=line, stroke_width="0.9", fill="none")
    return body + surface + rim, gel_shade(f"{ident}-f", one.look)


def _right_edge(outline: Outline, distance: Metre) -> FloatArray:
    """The right side of an outline from foot to top, moved in or out, without its flat foot and top."""
    edge = solids.points(solids.offset(outline, distance) if distance else outline)
    if solids.closed(outline):
        turn = int(edge[:, 1].argmax())
        return edge[: turn + 1]
    return edge[1:]


def whole_piece(
    piece: Piece, layers: list[Drawn], frame: Frame, *, prefix: str, name: str, stem: Metre
) -> tuple[str, str]:
    """The whole fruit as it is served, with skin, crease and stem; and the definitions it needs."""
    outer = layers[-1]
    skin = outer
    if outer.look.texture == "glaze" and len(layers) > 1:
        skin = layers[-2]
    colour = skin.look.colour
    path = _seen(outer, frame)
    ident = f"{prefix}-whole"
    defs = element(
        "radialGradient",
        element("stop", offset="0", stop_color=shade(colour, 0.30)),
        element("stop", offset="0.55", stop_color=colour),
        element("stop", offset="1", stop_color=shade(mixed([(1.6, colour), (1.0, candied_tone(colour))]), -0.13)),
        id=f"{ident}-f",
        cx="0.40",
        cy="0.30",
        r="0.78",
    )
    parts = [element("path", d=path, fill=f"url(#{ident}-f)", stroke=shade(colour, -0.40), stroke_width="0.8")]
    if outer.look.texture == "velvet":
        defs += stipple_pattern(f"{ident}-s", colour)
        parts.append(element("path", d=path, fill=f"url(#{ident}-s)", fill_opacity="0.55"))
    if any(word in name.casefold() for word in _STONE_FRUIT) and not solids.closed(outer.outline):
        parts.append(_crease(outer.outline, frame, colour))
    if outer.look.texture in ("glaze", "shell"):
        edge = _right_edge(outer.outline, -0.16 * min(solids.width(outer.outline), solids.height(outer.outline)))
        parts.append(gleam(edge, frame, start=0.50, end=0.80, strength=0.75, width=max(3.0, 0.0016 * frame.scale)))
    parts.append(garnish(piece, frame, outer.outline, stem, aside=0.0))
    return element("g", *parts, id=ident, role="img", aria_label=f"whole {name}", data_part="whole"), defs


def _seen(one: Drawn, frame: Frame) -> str:
    """Path data of the whole piece as it is seen from the side; a ring closes between its two sections."""
    if one.shape is not None or not solids.closed(one.outline):
        return one.path(frame)
    hull = solids.mirrored(one.outline).convex_hull
    return smooth_path(frame.all_at(shapely.get_coordinates(hull.exterior)), closed=True)


def far_half(layers: list[Drawn], frame: Frame) -> str:
    """The far half of a ring, seen through its hole behind the cut."""
    outer = layers[-1]
    if not solids.closed(outer.outline):
        return ""
    colour = outer.look.colour if outer.look.texture != "glaze" or len(layers) < 2 else layers[-2].look.colour
    return element(
        "path",
        d=_seen(outer, frame),
        fill=mixed([(1.0, colour), (0.45, ON_PIECE)]),
        stroke=shade(colour, -0.45),
        stroke_width="0.9",
    )


def _crease(outline: Outline, frame: Frame, colour: str) -> str:
    """The crease of a stone fruit: a meridian that has turned a little to the left."""
    edge = _right_edge(outline, 0.0)[::-1]
    turn = np.linspace(0.10, 0.46, len(edge))
    line = np.column_stack([-edge[:, 0] * np.sin(turn), edge[:, 1]])[2:]
    lit = np.add(line, (0.0006, 0.0))
    return fragment(
        element(
            "path",
            d=frame.open_path(line),
            fill="none",
            stroke=shade(colour, -0.30),
            stroke_width=number(max(1.6, 0.00042 * frame.scale)),
            stroke_opacity="0.8",
            stroke_linecap="round",
        ),
        element(
            "path",
            d=frame.open_path(lit[: int(len(lit) * 0.7)]),
            fill="none",
            stroke=shade(colour, 0.5),
            stroke_width=number(max(1.2, 0.00032 * frame.scale)),
            stroke_opacity="0.55",
            stroke_linecap="round",
        ),
    )


def _kind(garnish: Garnish) -> str:
    words = garnish.what.casefold()
    if any(word in words for word in ("leaf", "leaves")):
        return "leaf"
    if any(word in words for word in ("pod", "stem", "stalk", "twig", "sliver", "stick", "clove")):
        return "stem"
    return ""


def garnish(piece: Piece, frame: Frame, outline: Outline, tall: Metre, *, aside: Metre) -> str:
    """Stem and leaf on top of a piece."""
    top = max(z for _, z in outline)
    parts = []
    for one in piece.garnishes:
        kind = _kind(one)
        x, y = frame.at(aside, top)
        h = tall * frame.scale
        if kind == "stem":
            w = max(3.2, 0.0017 * frame.scale)
            d = (
                f"M{number(x - w / 2)} {number(y + 0.1 * h)}"
                f"C{number(x - w / 2)} {number(y - 0.35 * h)} {number(x + 0.1 * h)} {number(y - 0.75 * h)} "
                f"{number(x + 0.40 * h)} {number(y - h)}"
                f"L{number(x + 0.40 * h + 0.75 * w)} {number(y - h + 0.62 * w)}"
                f"C{number(x + 0.22 * h + w / 2)} {number(y - 0.66 * h)} {number(x + w / 2)} {number(y - 0.32 * h)} "
                f"{number(x + w / 2)} {number(y + 0.1 * h)}Z"
            )
            parts.append(element("path", d=d, fill="#5A3B2B", stroke=ON_PIECE, stroke_width="0.8"))
        elif kind == "leaf":
            d = (
                f"M{number(x)} {number(y)}C{number(x - 0.2 * h)} {number(y - 0.9 * h)} {number(x - 1.0 * h)} "
                f"{number(y - 1.0 * h)} {number(x - 1.5 * h)} {number(y - 0.55 * h)}"
                f"C{number(x - 1.1 * h)} {number(y - 0.1 * h)} {number(x - 0.5 * h)} {number(y + 0.05 * h)} "
                f"{number(x)} {number(y)}Z"
            )
            rib = (
                f"M{number(x)} {number(y)}Q{number(x - 0.7 * h)} {number(y - 0.62 * h)} "
                f"{number(x - 1.4 * h)} {number(y - 0.55 * h)}"
            )
            parts.append(element("path", d=d, fill="#7E9A55", stroke="#3E5226", stroke_width="0.9"))
            parts.append(element("path", d=rib, fill="none", stroke="#3E5226", stroke_width="0.7"))
    return "".join(parts)


def wall_bar(wall: Clearance, side: int, frame: Frame, colour: str) -> str:
    """The measured bar of a wall on the right (1) or left (-1) of the axis, with a short stop at both ends."""
    (x0, y0), (x1, y1) = (frame.at(side * r, z) for r, z in (wall.start, wall.end))
    long = math.hypot(x1 - x0, y1 - y0) or 1.0
    ax, ay = -(y1 - y0) / long * 5.5, (x1 - x0) / long * 5.5
    d = (
        f"M{number(x0)} {number(y0)}L{number(x1)} {number(y1)}"
        f"M{number(x0 - ax)} {number(y0 - ay)}l{number(2 * ax)} {number(2 * ay)}"
        f"M{number(x1 - ax)} {number(y1 - ay)}l{number(2 * ax)} {number(2 * ay)}"
    )
    return element("path", d=d, stroke=colour, stroke_width="1.9", fill="none")
