"""The section of a piece, drawn to scale, with its figures hung on lines: the plate of the page."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from xml.sax.saxutils import escape

import shapely

from demoule.formula.cooked import Cooked
from demoule.piece import Clearance, Piece, solids
from demoule.sheets import cut
from demoule.sheets.cut import COATS, Drawn, styles_of
from demoule.sheets.frame import Frame
from demoule.sheets.ghost import ghost_svg
from demoule.sheets.hung import Column, Hung, Placed, Spot, drawn, fitted, hang, spoken
from demoule.sheets.looks import Look
from demoule.sheets.marks import band_gradient
from demoule.sheets.section_figures import grouped_walls, in_words, section_figures
from demoule.sheets.spots import on_coat, on_layer, on_wall
from demoule.sheets.svg import NARROW_SPACE, Face, element, label, number, slug, text_width
from demoule.sheets.tokens import DAY, ThemeName, Tokens, tokens_of
from demoule.units.showing import System

__all__ = ["Plate", "Standing", "ghost_svg", "plate", "section_figures", "section_svg"]

_SHIFT_LEFT, _SHIFT_UP = 0.36, 0.085  # of the whole fruit behind, in diameters and heights
_WIDE = 1.22  # a plate wider than this by its height has the whole fruit behind the cut piece
_BAR_BELOW = 54.0  # room for the scale bar
_SIDE_GAP = 30.0  # between the piece and a column of figures


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """Where a hung figure stands on the drawing: its words in a box, and its line from ring to rule."""

    at: str
    box: tuple[float, float, float, float]  # left, top, right, bottom
    ring: Spot
    rule: Spot


@dataclass(frozen=True, slots=True, kw_only=True)
class Plate:
    """A drawn section.

    Parameters
    ----------
    svg
        The drawing.
    per_mm
        Drawing units of one millimetre, across and up alike.
    widened
        Components whose coat is drawn thicker than it is, for it could not be seen otherwise.
    hung
        Where each figure stands.
    """

    svg: str
    per_mm: float
    widened: tuple[str, ...]
    hung: tuple[Standing, ...]


def section_svg(piece: Piece, *, name: str, width: float = 800, height: float = 560, **options: object) -> str:
    """The section as SVG; options as in `plate`."""
    return plate(piece, name=name, width=width, height=height, **options).svg  # type: ignore[arg-type]


def plate(
    piece: Piece,
    *,
    name: str,
    width: float = 800,
    height: float = 560,
    labels: Sequence[Hung] | None = None,
    looks: Mapping[str, Look] | None = None,
    cooked: Mapping[str, Cooked] | None = None,
    theme: ThemeName = "day",
    chosen: str | None = None,
    whole: bool | None = None,
    link: Callable[[str], str] | None = None,
    text: float = 1.0,
    system: System = "metric",
    ident: str | None = None,
) -> Plate:
    """Draw the section of a piece, true to scale in both directions.

    Parameters
    ----------
    piece
        As built.
    name
        Of the dessert: title, seed of all that is random, and the fruit when nothing else tells a colour.
    width, height
        Of the drawing, in its own units (px on a screen).
    labels
        Figures to hang; None: those of `section_figures`. An empty sequence: the bare piece with its scale.
    looks
        How each component looks (`demoule.sheets.looks.looks`); None: guessed from names and from `cooked`.
    chosen
        Key of the layer that is chosen ("heart", "shell" …).
    whole
        Draw the whole fruit behind; None: when the drawing is wide enough.
    link
        Where each key leads; layers and figures then are links, to be reached by Tab from outside in.
    text
        Factor on the type sizes.
    ident
        Start of every id in the drawing, unique on a page; None: from name and theme.
    """
    tokens = tokens_of(theme)
    prefix = ident or f"section-{slug(name)}-{theme}"
    styles = styles_of(piece, looks, cooked, name)
    behind = (width > _WIDE * height and width >= 560) if whole is None else whole
    figures = list(section_figures(piece, name=name, system=system, upright=not behind) if labels is None else labels)
    scene = _Scene(piece, figures, width, height, text, behind, system)
    frame = scene.frame
    layers = cut.drawn_layers(piece, styles, frame.scale)
    said = {one.at: spoken(one) for one in figures}
    wrap = {
        one.key: (link(one.key) if link else "", said.get(one.key, f"{one.layer.role}: {one.layer.component}"))
        for one in layers
    }
    body, defs = cut.cut_piece(layers, frame, prefix=prefix, seed=name, chosen=chosen, wrap=wrap)
    defs += cut.ground_gradient(f"{prefix}-ground", tokens) + band_gradient(f"{prefix}-band", tokens)
    outer = layers[-1].outline
    foot = min(z for _, z in outer)
    parts: list[str] = []
    if behind:
        back = frame.moved(-_SHIFT_LEFT * scene.wide * frame.scale, -_SHIFT_UP * scene.tall * frame.scale)
        parts.append(cut.ground(back, 0.62 * scene.wide, foot, f"{prefix}-ground"))
        fruit, needed = cut.whole_piece(piece, layers, back, prefix=prefix, name=name, stem=scene.stem)
        parts.append(fruit)
        defs += needed
        parts.append(_sizes(piece, back, scene, tokens))
    parts.append(cut.ground(frame, 0.60 * scene.wide, foot, f"{prefix}-ground"))
    parts.append(cut.far_half(layers, frame))
    parts.append(body)
    walls = grouped_walls(piece)
    at_axis = any(abs(c.start[0]) < 0.002 and c.what == "top" for group in walls.values() for c in group)
    parts.append(cut.garnish(piece, frame, outer, scene.stem, aside=0.0016 if at_axis else 0.0))
    on_wall = DAY.caution if theme != "print" else tokens.ink
    on_left = {figure.at for figure in figures if figure.side == "left"}
    for at, group in walls.items():
        parts += [cut.wall_bar(c, -1 if at in on_left else 1, frame, on_wall) for c in group]
    parts.append(_scale_bar(frame, scene, tokens, system))
    hung, standing = _hung(scene, layers, walls, tokens, chosen, link, prefix, theme)
    parts += hung
    widened = tuple(one.layer.component for one in layers if one.widened)
    svg = element(
        "svg",
        element("title", f"Section of {escape(name)}", id=f"{prefix}-t"),
        element("desc", escape(_described(piece, figures, widened)), id=f"{prefix}-d"),
        element("defs", defs),
        *parts,
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {number(width)} {number(height)}",
        width=number(width),
        height=number(height),
        role="group" if link else "img",
        aria_labelledby=f"{prefix}-t {prefix}-d",
        data_units_per_mm=number(frame.per_mm, 4),
    )
    return Plate(svg=svg, per_mm=frame.per_mm, widened=widened, hung=tuple(standing))


class _Scene:
    """Where everything stands: columns at the sides, the piece as large as the rest allows."""

    def __init__(
        self,
        piece: Piece,
        figures: Sequence[Hung],
        width: float,
        height: float,
        text: float,
        behind: bool,
        system: System,
    ) -> None:
        self.width, self.height, self.text, self.behind = width, height, text, behind
        outer = piece.layers[-1].outline
        shape = cut.section_of(piece.layers[-1])
        self.wide, self.tall = solids.width(outer), solids.height(outer)
        if shape is not None:
            self.wide = 2 * max(-shape.bounds[0], shape.bounds[2])
        self.stem = cut.stem_height(piece.garnishes, self.tall)
        most = (0.27 if not behind else 0.31) * width
        left_figures = [figure for figure in figures if figure.side == "left"]
        right_figures = [figure for figure in figures if figure.side != "left"]
        self.left_blocks, left_gap = fitted(left_figures, most, height - 4, text)
        self.right_blocks, right_gap = fitted(right_figures, most - 10 * text, height - 4, text)
        right = max((b.width for b in self.right_blocks), default=0.0)
        right = right + 10 * text if self.right_blocks else 0.0
        left = max((b.width for b in self.left_blocks), default=0.0)
        gap = _SIDE_GAP * text
        below = _BAR_BELOW * text
        strip = 8.0
        if behind:
            sizes = [
                in_words(piece.height * 1000, "mm", system) + " high",
                in_words(piece.diameter * 1000, "mm", system) + " across",
            ]
            self.sizes = sizes if figures else []
            self.dims = max((text_width(s, 15 * text, Face.SANS) for s in self.sizes), default=0.0) + 22 * text
            if self.left_blocks:
                strip = max(b.above + b.below for b in self.left_blocks) - 14 * text
            room = width - self.dims - right - (gap if right else 8.0)
            scale = min(
                room / (self.wide * (1 + _SHIFT_LEFT) * 1.03),
                (height - strip - below) / (self.tall * (1 + _SHIFT_UP) + self.stem * 0.9),
            )
            spare = room - scale * self.wide * (1 + _SHIFT_LEFT)
            x = self.dims + spare / 2 + scale * self.wide * (_SHIFT_LEFT + 0.5)
        else:
            self.sizes, self.dims = [], 0.0
            both = (left + gap if left else 8.0) + (right + gap if right else 8.0)
            room = width - both
            scale = min(room / self.wide / 1.02, (height - strip - below) / (self.tall + self.stem))
            x = (left + gap if left else 8.0) + room / 2
        foot = min(z for _, z in outer)
        high = scale * (self.tall * (1 + (_SHIFT_UP if behind else 0)) + self.stem)
        spare_high = max(0.0, height - strip - below - high)
        base = height - below - spare_high * 0.45
        self.frame = Frame(x=x, y=base + foot * scale, scale=scale)
        self.ground = base
        self.right = Column(
            left=width - right, width=right, top=2.0, bottom=height - 2.0, inner_left=True, gap=right_gap
        )
        self.left = Column(left=0.0, width=left, top=2.0, bottom=height - 2.0, inner_left=False, gap=left_gap)


def _hung(
    scene: _Scene,
    layers: list[Drawn],
    walls: Mapping[str, list[Clearance]],
    tokens: Tokens,
    chosen: str | None,
    link: Callable[[str], str] | None,
    prefix: str,
    theme: ThemeName,
) -> tuple[list[str], list[Standing]]:
    text = scene.text
    by_key = {one.key: one for one in layers}

    def spots(at: str, side: int) -> list[tuple[Spot, float]]:
        if at in walls:
            return on_wall(walls[at], scene.frame, side)
        if at == "piece":
            return on_coat(layers[-1], None, scene.frame, side)
        one = by_key.get(at)
        if one is None:
            return [(scene.frame.at(0.0, scene.tall / 2), 0.0)]
        if one.layer.role in COATS:
            under = layers[layers.index(one) - 1]
            return on_coat(one, under, scene.frame, side)
        return on_layer(one, scene.frame, side)

    silhouette = shapely.transform(layers[-1].whole, lambda xy: scene.frame.all_at(xy), include_z=False)

    parts: list[str] = []
    standing: list[Standing] = []

    def show(placed: Sequence[Placed], column: Column) -> None:
        for one in placed:
            block = one.block
            at = block.hung.at
            words = column.left + (10 * text if column.inner_left else 0.0)
            box = (words, one.rule - block.above, words + block.width, one.rule + block.below)
            standing.append(Standing(at=at, box=box, ring=one.spot, rule=(column.inner, one.rule)))
            parts.append(
                drawn(
                    one,
                    column,
                    tokens,
                    text=text,
                    chosen=at == chosen,
                    gradient=f"{prefix}-band",
                    paper=theme == "print",
                    href=link(at) if link else None,
                    piece=silhouette,
                )
            )

    right = hang(
        scene.right_blocks,
        scene.right,
        lambda at: spots(at, 1),
        text=text,
        free_order=lambda hung: hung.at.startswith("wall:"),
    )
    show(right, scene.right)
    if not scene.behind:
        taken = [(one.spot, (scene.right.inner, one.rule)) for one in right]
        left = hang(
            scene.left_blocks,
            scene.left,
            lambda at: spots(at, -1),
            text=text,
            free_order=lambda _: True,
            taken=taken,
        )
        show(left, scene.left)
        return parts, standing
    # Above the whole fruit, near enough that the line falls steeply past its stem.
    across = sum(block.width + 42 * text for block in scene.left_blocks)
    start = max(scene.dims, scene.frame.x - 30 * text - across)
    for block in scene.left_blocks:
        wide = block.width + 8 * text
        column = Column(left=start, width=wide, top=2.0, bottom=2.0 + block.above + block.below, inner_left=False)
        show(hang([block], column, lambda at: spots(at, -1), text=text, free_order=lambda _: False), column)
        start += block.width + 34 * text
    return parts, standing


def _sizes(piece: Piece, frame: Frame, scene: _Scene, tokens: Tokens) -> str:
    """Height as a measured line at the left, and across in words beside it."""
    if not scene.sizes:
        return ""
    outer = piece.layers[-1].outline
    low, high = min(z for _, z in outer), max(z for _, z in outer)
    x = scene.dims - 8 * scene.text
    _, y0 = frame.at(0, low)
    _, y1 = frame.at(0, high)
    middle = (y0 + y1) / 2
    stop = 5 * scene.text
    d = (
        f"M{number(x)} {number(y1)}V{number(y0)}M{number(x - stop)} {number(y1)}h{number(2 * stop)}"
        f"M{number(x - stop)} {number(y0)}h{number(2 * stop)}"
    )
    size = 15 * scene.text
    words = [
        label(
            line,
            x - 9 * scene.text,
            middle + (i - 0.5) * 21 * scene.text + 5,
            size=size,
            fill=tokens.ink_2,
            anchor="end",
        )
        for i, line in enumerate(scene.sizes)
    ]
    return element("path", d=d, fill="none", stroke=tokens.ink_2, stroke_width="1.1") + "".join(words)


def _scale_bar(frame: Frame, scene: _Scene, tokens: Tokens, system: System) -> str:
    """20 mm with ticks each 2 and 10 mm, under the cut piece."""
    long = 20 * frame.per_mm
    x, y = frame.x - long / 2, scene.ground + 38 * scene.text
    ticks = [f"M{number(x)} {number(y)}h{number(long)}"]
    for k in range(11):
        high = 8 if k % 5 == 0 else 4
        ticks.append(f"M{number(x + k * long / 10)} {number(y)}v{number(-high * scene.text)}")
    words = "20" + NARROW_SPACE + "mm" + (f" (0.79{NARROW_SPACE}in)" if system == "us" else "")
    size, gap = 15 * scene.text, 8 * scene.text
    beside = x + long + gap + text_width(words, size) <= scene.width
    return element("path", d="".join(ticks), fill="none", stroke=tokens.ink, stroke_width="1.2") + label(
        words,
        x + long + gap if beside else x - gap,
        y + 1,
        size=size,
        fill=tokens.ink_2,
        anchor=None if beside else "end",
    )


def _described(piece: Piece, figures: Sequence[Hung], widened: Sequence[str]) -> str:
    """The drawing in words."""
    told = "; ".join(spoken(one) for one in figures)
    wide = f" Drawn wider than true, to be seen: {', '.join(widened)}." if widened else ""
    size = f"{piece.diameter * 1000:.1f} mm across and {piece.height * 1000:.1f} mm high"
    return f"The piece cut through its axis, {size}, drawn to scale. {told}.{wide}"
