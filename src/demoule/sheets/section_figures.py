"""The figures that hang on a section when nothing else is asked for, and the thin walls that are drawn on it."""

from __future__ import annotations

from typing import Literal

from demoule.figures import Severity
from demoule.piece import Clearance, Layer, Piece, solids, thin_walls
from demoule.sheets.cut import COATS, keys_of
from demoule.sheets.hung import Hung
from demoule.sheets.marks import Band, BasisMark
from demoule.sheets.svg import NARROW_SPACE, slug
from demoule.units import shown
from demoule.units.showing import System

__all__ = ["grouped_walls", "in_words", "section_figures"]


def section_figures(
    piece: Piece, *, name: str = "", system: System = "metric", upright: bool = False
) -> tuple[Hung, ...]:
    """The figures that hang on a section when nothing else is asked for: layers outside in, then the walls.

    Parameters
    ----------
    name
        Of the dessert, for a heart that is called nothing but "heart".
    upright
        Two columns, left and right: the whole piece is then told too, and the heart stands on the left.
    """
    found: list[Hung] = []
    keys = keys_of(piece)
    if upright:
        value, unit = _apart(piece.mass * 1000, "g", system)
        high, _ = _apart(piece.height * 1000, "mm", system)
        size = f"{in_words(piece.diameter * 1000, 'mm', system)} across, {high} high"
        found.append(Hung(at="piece", name="one piece", value=value, unit=unit, says=size, side="left"))
    outside_in = sorted(zip(keys, piece.layers, strict=True), key=lambda pair: _order(pair[1], piece))
    for key, layer in outside_in:
        found.append(_layer_figure(key, layer, piece, name, system, upright=upright))
    for at, group in grouped_walls(piece).items():
        value, unit = _apart(min(c.wall for c in group) * 1000, "mm", system)
        wanted = max(want for c, want in thin_walls(piece) if c in group)
        found.append(
            Hung(
                at=at,
                name="wall, " + _and([_PLACES[c.what] for c in group]),
                value=value,
                unit=unit,
                says=f"{in_words(wanted * 1000, 'mm', system)} wanted",
                finding=Severity.CAUTION,
                side="left" if upright or group[0].what == "top" else "right",
            )
        )
    return tuple(found)


_PLACES = {"top": "top", "side": "side", "foot": "foot", "heart to base": "foot"}


def _and(words: list[str]) -> str:
    words = list(dict.fromkeys(words))
    return words[0] if len(words) == 1 else ", ".join(words[:-1]) + " and " + words[-1]


def _order(layer: Layer, piece: Piece) -> int:
    """Outside in; the base last, for it lies lowest."""
    return 100 if layer.role == "base" else len(piece.layers) - piece.layers.index(layer)


def _layer_figure(key: str, layer: Layer, piece: Piece, dessert: str, system: System, *, upright: bool) -> Hung:
    grams, gram = _apart(layer.mass * 1000, "g", system)
    name = layer.component
    again = [one for one in piece.layers if one.component == layer.component and one.role == layer.role]
    if len(again) > 1 and layer.role in (*COATS, "shell"):
        name += f", coat {again.index(layer) + 1}"
    if dessert and name.casefold() == layer.role:
        name = f"{dessert.casefold()} {name}"
    if layer.role == "shell" and layer.thickness is not None:
        low, high = layer.thickness_low, layer.thickness_high
        value, unit = _apart(layer.thickness * 1000, "mm", system)
        if system == "us" and low is not None and high is not None:
            text = shown(layer.thickness * 1000, "mm", low * 1000, high * 1000, system=system)
            value, _, unit = text.partition(NARROW_SPACE)
        band = None
        if low is not None and high is not None:
            most = max(1.8, 1.1 * high * 1000)
            band = Band(low=low * 1000, value=layer.thickness * 1000, high=high * 1000, least=0.2, most=most)
        mark: BasisMark = "" if layer.stated else "broken" if any(b.stretched for b in layer.basis) else "solid"
        return Hung(
            at=key, name=name, value=value, unit=unit, says=f"{grams}{NARROW_SPACE}{gram}", mark=mark, band=band
        )
    if layer.role in COATS:
        used = in_words((layer.taken or layer.mass) * 1000, "g", system)
        thin = in_words((layer.thickness or 0) * 1000, "mm", system)
        return Hung(at=key, name=name, value=grams, unit=f"{gram} lands", says=f"{used} sprayed, {thin}")
    if layer.role == "base":
        across = in_words(solids.width(layer.outline) * 1000, "mm", system)
        thick = in_words(solids.height(layer.outline) * 1000, "mm", system)
        return Hung(at=key, name=name, value=grams, unit=gram, says=f"{across}, {thick} thick")
    says = in_words(layer.volume * 1e6, "ml", system)
    if layer.role == "heart":
        share = 100 * sum(x.volume for x in piece.layers if "heart" in x.role) / piece.cavity_volume
        says += f", {share:.0f}{NARROW_SPACE}% of the piece"
    side: Literal["left"] | None = "left" if upright and "heart" in layer.role else None
    return Hung(at=key, name=name, value=grams, unit=gram, says=says, side=side)


def _apart(value: float, unit: str, system: System) -> tuple[str, str]:
    """Value and unit apart; a tenth is what a kitchen can weigh or measure."""
    if system == "us":
        text = shown(value, unit, 0.92 * value, 1.08 * value, system=system)
    else:
        text = shown(value, unit, system=system, step=0.1 if value >= 0.4 else 0.01)
    amount, _, sign = text.partition(NARROW_SPACE)
    return amount, sign


def in_words(value: float, unit: str, system: System) -> str:
    """Value and unit together, for an explanation; a whole number without its zero."""
    amount, sign = _apart(value, unit, system)
    return (amount.removesuffix(".0") if system == "metric" else amount) + NARROW_SPACE + sign


def grouped_walls(piece: Piece) -> dict[str, list[Clearance]]:
    """Walls that are too thin, those of one size together, by the key of the first."""
    groups: dict[str, list[Clearance]] = {}
    order = {"top": 0, "side": 1, "heart to base": 2, "foot": 3}
    for clearance, _ in sorted(thin_walls(piece), key=lambda pair: order[pair[0].what]):
        same = next((g for g in groups.values() if abs(g[0].wall - clearance.wall) < 0.0001), None)
        if same is not None:
            same.append(clearance)
        else:
            groups[f"wall:{slug(clearance.what)}"] = [clearance]
    return groups
