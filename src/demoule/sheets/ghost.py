"""The section as a mark: one layer in its colours, the others as hairlines; it stands where others put icons."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from xml.sax.saxutils import escape

from demoule.formula.cooked import Cooked
from demoule.piece import Piece
from demoule.sheets import cut
from demoule.sheets.cut import Drawn, styles_of
from demoule.sheets.frame import Frame
from demoule.sheets.looks import Look
from demoule.sheets.svg import element, number, slug
from demoule.sheets.tokens import ThemeName, tokens_of

__all__ = ["ghost_svg"]


def ghost_svg(
    piece: Piece,
    role: str,
    *,
    name: str,
    size: float = 56,
    theme: ThemeName = "day",
    looks: Mapping[str, Look] | None = None,
    cooked: Mapping[str, Cooked] | None = None,
    ident: str | None = None,
) -> str:
    """The section as a mark: the layer at hand in its colours, the others as hairlines.

    Parameters
    ----------
    role
        Key or component of the layer at hand; one that the piece has not gives the empty section.
    size
        Greatest width or height. Below 60 only the outline, the heart and the layer at hand are drawn.
    """
    tokens = tokens_of(theme)
    prefix = ident or f"mark-{slug(name)}-{slug(role)}-{theme}"
    styles = styles_of(piece, looks, cooked, name)
    scale = (size - 3) / max(piece.diameter, piece.height)
    layers = cut.drawn_layers(piece, styles, scale)
    for _ in range(2):  # coats drawn wider than true need their room
        drawn_wide = max(layers[-1].size)
        scale = (size - 3) / drawn_wide
        layers = cut.drawn_layers(piece, styles, scale)
    outer = layers[-1].outline
    foot = min(z for _, z in outer)
    across, high = (length * scale + 3 for length in layers[-1].size)
    frame = Frame(x=across / 2, y=high - 1.5 + foot * scale, scale=scale)
    at_hand = [one for one in layers if role in (one.key, one.layer.component, one.layer.role)]
    hair = "#B98A66" if theme != "print" else tokens.edge
    parts: list[str] = []
    defs = ""
    hollow = False  # whether the next layer inwards lies open in the one at hand
    for one in reversed(layers):
        if one in at_hand:
            alone = _alone(one, size)
            body, needed = cut.cut_piece(
                [alone], frame, prefix=prefix, seed=name, chosen=None, wrap={one.key: ("", one.layer.component)}
            )
            parts.append(body)
            defs += needed
            hollow = True
            continue
        inside = any(one.outline in hand.inside for hand in at_hand)
        if size >= 60 or one is layers[-1] or "heart" in one.layer.role or (inside and hollow):
            weight = "1" if one is layers[-1] else "0.8"
            fill = tokens.paper if inside else "none"
            parts.append(element("path", d=one.path(frame), fill=fill, stroke=hair, stroke_width=weight))
        hollow = False
    shown_part = at_hand[0].layer.component if at_hand else "nothing yet"
    return element(
        "svg",
        element("title", escape(f"{name}: {shown_part}"), id=f"{prefix}-t"),
        element("defs", defs) if defs else "",
        *parts,
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {number(across)} {number(high)}",
        width=number(across),
        height=number(high),
        role="img",
        aria_labelledby=f"{prefix}-t",
    )


def _alone(one: Drawn, size: float) -> Drawn:
    """A layer for a small mark: fewer and larger pieces in it."""
    grow = 1.0 if size >= 120 else 1.25
    bits = tuple(replace(bit, size=bit.size * grow) for bit in one.look.bits if bit.kind != "herb" or size >= 120)
    return replace(one, look=replace(one.look, bits=bits, air=one.look.air * min(1.0, size / 160)))
