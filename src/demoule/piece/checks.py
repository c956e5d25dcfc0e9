"""What a chef should know about a built piece: thin walls, a heart too large or too heavy, coats out of the usual."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from demoule.errors import DoesNotFit
from demoule.figures import Finding, Offer, Severity
from demoule.formula.cooked import Cooked
from demoule.piece import fitting, solids
from demoule.piece.built import Clearance, Outline, Piece
from demoule.piece.coats import FATTY, Coat
from demoule.piece.design import Base, Cavity, Dip, Heart, Mould, PieceDesign, Skin, Spray
from demoule.piece.fitting import Form, Room
from demoule.piece.shapes import cavity_outline, cavity_solid, shape_outline
from demoule.piece.solid import Solid
from demoule.piece.words import degrees, grams, ml, mm, percent
from demoule.units import CubicMetre, Fraction, Kelvin, Metre

__all__ = [
    "LARGEST_SHARE",
    "WALL",
    "WALL_AT_TIP",
    "heart_without_room",
    "of_body",
    "of_cavity",
    "of_coat",
    "of_fill",
    "of_opening",
    "of_piece",
    "of_warmth",
    "pointed",
    "thin_walls",
]

# Habits of the trade, no source.
WALL: Metre = 0.004
WALL_AT_TIP: Metre = 0.006
LARGEST_SHARE: Fraction = 0.40  # heart of the whole
_HEADSPACE: Fraction = 0.02
_SHORT: Fraction = 0.03  # a fill that is short by more shows as hollows
_NOMINAL: Fraction = 0.03  # how true a mould is to its name
_THINNEST_DISC: Metre = 0.002
_SHELL = (0.0004, 0.0015)
_SHELL_TRUST = (0.0002, 0.003)
_VELVET = 0.0004
_FOR_NEXT_COAT: Kelvin = 255.15
_FOR_STORE: Kelvin = 261.15
_OVERSPRAY = (0.25, 0.60)


def _caution(rule: str, where: str, says: str, why: str, remedy: str, offers: tuple[Offer, ...] = ()) -> Finding:
    return Finding(severity=Severity.CAUTION, rule=rule, where=where, says=says, why=why, remedy=remedy, offers=offers)


def _note(rule: str, where: str, says: str, why: str = "", remedy: str = "") -> Finding:
    return Finding(severity=Severity.NOTE, rule=rule, where=where, says=says, why=why, remedy=remedy)


def pointed(around: Outline) -> bool:
    """Whether a cavity ends in a tip: its top is rounded by less than half of its greatest radius."""
    top = max(z for _, z in around)
    depth = min(0.003, 0.1 * solids.height(around))
    r = solids.radius_at(around, top - depth)
    return not solids.closed(around) and (r**2 + depth**2) / (2 * depth) < 0.25 * solids.width(around)


def of_cavity(cavity: Cavity, scale: float, where: str) -> Iterator[Finding]:
    """Tells when the measured water fill has changed the shape."""
    if cavity.water_fill is None:
        return
    computed = solids.volume(shape_outline(cavity.shape))
    off = cavity.water_fill / computed - 1
    if abs(off) < 0.001:
        return
    says = (
        f"The cavity holds {ml(cavity.water_fill)} of water, {percent(abs(off), 1)} {'more' if off > 0 else 'less'} "
        f"than its shape of {ml(computed)}; every length is taken times {scale:.3f}."
    )
    if abs(off) > _NOMINAL:
        yield _caution(
            "water fill",
            where,
            says,
            "Moulds are true to about 3 %; more points to a wrong size or a wrong weighing.",
            "measure the cavity again, or weigh the water in three of them.",
        )
    else:
        yield _note("water fill", where, says)


def of_fill(heart: Heart, filled: CubicMetre, holds: CubicMetre, mix: Cooked) -> Iterator[Finding]:
    """How full the heart's own cavity is, and whether stated mass and volume agree."""
    share = filled / holds
    frozen_water = mix.composition.water > 0.4 and mix.air < 0.1
    if share > 0.985 and frozen_water:
        yield _caution(
            "heart fill",
            heart.where,
            f"The heart's cavity is filled to {percent(share)}.",
            "A gel with much water grows by 5 to 8 % on freezing and rises over the rim.",
            f"fill {ml(0.94 * holds)} to {ml(0.98 * holds)}.",
        )
    elif share < 0.85:
        yield _note(
            "heart fill",
            heart.where,
            f"The heart's cavity is filled to {percent(share)} only; it comes out lower by the rest.",
            "94 to 98 % is usual.",
        )
    if heart.mass is not None and heart.volume is not None:
        told = heart.mass / heart.volume
        if abs(told / mix.density - 1) > 0.05:
            yield _note(
                "stated weight",
                heart.where,
                f"{grams(heart.mass)} in {ml(heart.volume)} mean {told / 1000:.2f} g/ml; the recipe gives "
                f"{mix.density / 1000:.2f} g/ml.",
                "Masses are taken as stated.",
                "weigh a known volume of the mix.",
            )


def of_opening(heart: Heart, outline: Outline, mould: Mould | None, around: Outline) -> Iterator[Finding]:
    """Whether the heart passes the opening of the mould."""
    wide = solids.width(outline)
    if mould is not None and mould.two_part:
        if mould.opening is not None and wide > mould.opening:
            yield _note(
                "heart opening",
                heart.where,
                f"The heart is {mm(wide)} across and the filling hole {mm(mould.opening)}: it goes in before closing.",
            )
        return
    opening = mould.opening if mould is not None and mould.opening is not None else None
    if opening is not None and wide > opening + 0.0005:
        raise DoesNotFit(
            f"The heart does not pass the opening of the mould: {mm(wide)} across for {mm(opening)}.",
            where=heart.where,
            remedy=f"choose a heart up to {mm(opening)} across, or a mould in two parts.",
        )
    foot = 2 * solids.radius_at(around, min(z for _, z in around))
    if opening is None and foot > 0 and wide > foot + 0.0005:
        yield _caution(
            "heart opening",
            heart.where,
            f"The heart is {mm(wide)} across and the mould opens to {mm(foot)} only.",
            "It has to be pressed past the rim, which tears soft body and pushes the heart off centre.",
            "use a mould in two parts, or a narrower heart.",
        )


def of_body(
    design: PieceDesign, volume: CubicMetre, left: CubicMetre, cavity: CubicMetre, mix: Cooked
) -> Iterator[Finding]:
    """Headspace, and a stated mass of body that does not fill the room."""
    fill = design.body
    if fill.headspace > _HEADSPACE:
        yield _caution(
            "headspace",
            fill.where,
            f"A headspace of {percent(fill.headspace)} is left empty.",
            "Up to 2 % closes when the body freezes; more stays as a hollow at the foot.",
            f"fill {grams((left - _HEADSPACE * cavity) * mix.density)} or more.",
        )
    short = 1 - volume / left
    if fill.mass is not None and short > _SHORT:
        yield _caution(
            "body fill",
            fill.where,
            f"{grams(fill.mass)} of body leave {percent(short)} of the room empty.",
            "A fill that is more than 3 % short shows as hollows and pock marks.",
            f"fill {grams(left * mix.density)}, or tell the density of the whipped mix.",
        )


def of_coat(skin: Skin, coat: Coat, mix: Cooked) -> Iterator[Finding]:
    """Coats thicker or thinner than anybody makes them."""
    if isinstance(skin, Dip):
        low, high = _SHELL
        if not low <= coat.thickness <= high:
            beyond = not _SHELL_TRUST[0] <= coat.thickness <= _SHELL_TRUST[1]
            thin = coat.thickness < low
            yield _caution(
                "shell",
                skin.where,
                f"The shell comes to {mm(coat.thickness)}" + (", which nobody would believe." if beyond else "."),
                "0.4 to 1.5 mm is usual: a thinner one shows bare spots, a thicker one cracks.",
                "dip colder or longer, or in a cooler bath."
                if thin
                else "warm the bath by 2 °C, add cocoa butter, or dip for a shorter time.",
            )
        if skin.mass is not None and skin.thickness is not None:
            even = coat.volume * mix.density
            if not 0.8 <= skin.mass / even <= 1.25:
                yield _note(
                    "stated weight",
                    skin.where,
                    f"{mm(skin.thickness)} all round would weigh {grams(even)}; {grams(skin.mass)} are stated.",
                    "The stated mass is weighed, the stated thickness drawn.",
                    "weigh five pieces before and after the dip.",
                )
        return
    kind = "velvet" if mix.composition.fat > FATTY else "glaze"
    if coat.thickness > (_VELVET if kind == "velvet" else 2.5 * _VELVET):
        yield _caution(
            "spray",
            skin.where,
            f"The {kind} comes to {mm(coat.thickness)}.",
            "0.1 to 0.4 mm is usual for a velvet; thicker it peels." if kind == "velvet" else "Thicker it runs.",
            "spray thinner passes, or tell what lands on one piece.",
        )
    yield from _of_overspray(skin)


def of_warmth(skin: Skin, warmed: Kelvin, *, last: bool) -> Iterator[Finding]:
    """What the heat of a coat asks for: the cold again before the next coat, or soon."""
    what = "dip" if isinstance(skin, Dip) else "spray"
    if not last and warmed > _FOR_NEXT_COAT:
        yield _note(
            "re-freeze before the next coat",
            skin.where,
            f"After this {what} the piece has {degrees(warmed)} throughout, once its warmth has evened out.",
            "A next coat wants a surface of −18 °C or colder; a warmer one turns velvet shiny and a dip thin.",
            "put it back at −20 °C or colder for 30 to 60 min first, 6 to 12 pieces at a time.",
        )
    elif last and warmed > _FOR_STORE:
        yield _caution(
            "re-freeze after the last coat",
            skin.where,
            f"After this {what} the piece has {degrees(warmed)} throughout, once its warmth has evened out.",
            "Above −12 °C ice crystals grow, and seams and skins give way.",
            "dip colder or shorter, or put each piece back into the blast freezer at once.",
        )


def _of_overspray(skin: Spray) -> Iterator[Finding]:
    low, high = _OVERSPRAY
    if skin.overspray is not None and not low <= skin.overspray <= high:
        yield _note(
            "overspray",
            skin.where,
            f"An overspray of {percent(skin.overspray)} is told; 25 to 60 % is usual.",
            "It decides how much must be melted.",
            "weigh the gun and one piece before and after.",
        )


def heart_without_room(
    heart: Heart, form: Form, room: Room, filled: CubicMetre, out: Metre, moulds: Mapping[str, Mould]
) -> DoesNotFit:
    """The error for a heart that stands out of its room, with the size that would fit."""
    outline = form.profile if isinstance(form, Solid) else form
    level, wall = fitting.best_height(form, room)
    if wall >= WALL or (wall > 0 and heart.height is not None):
        return DoesNotFit(
            f"The heart does not fit at a height of {mm(heart.height or 0)}: it stands out by {mm(out)}.",
            where=heart.where,
            remedy=f"set it at {mm(level)}, where it leaves {mm(wall)} all round; or leave the height out.",
        )
    floor, top = room.levels
    free = solids.volume(room.around) - (solids.volume(room.base) if room.base else 0.0)
    smaller = fitting.largest_that_fits(form, room, WALL)
    larger = fitting.room_needed(form, room, WALL)
    ways = []
    if smaller > 0.2:
        ways.append(f"a heart of this shape up to {ml(filled * smaller**3)} leaves {mm(WALL)} all round")
    if larger < 20:
        ways.append(f"this heart needs a cavity of {ml(solids.volume(room.around) * larger**3)} in this shape")
    other = _other_heart(heart, outline, room, moulds, WALL)
    if other:
        ways.append(f"of your moulds, “{other[0]}” fits and leaves {mm(other[1])}")
    return DoesNotFit(
        f"The heart does not fit: {ml(filled)}, {mm(solids.width(outline))} across and {mm(solids.height(outline))} "
        f"high, for a room of {ml(free)}, {mm(solids.width(room.around))} across and {mm(top - floor)} high.",
        where=heart.where,
        remedy="; ".join(ways) + "." if ways else "give the heart the shape of the room.",
    )


def of_piece(
    piece: Piece, design: PieceDesign, cooked: Mapping[str, Cooked], room: Room, moulds: Mapping[str, Mould]
) -> Iterator[Finding]:
    """Walls round the heart, its share of the piece, and whether it sinks."""
    heart, layer, body = design.heart, piece.layer("heart"), piece.layer("body")
    if heart is None or layer is None or body is None:
        return
    yield from _of_walls(piece, design, heart, room, moulds)
    inner = next((c for c in piece.clearances if c.what == "around the inner heart" and c.wall < 0.002), None)
    if inner is not None:
        yield _caution(
            "inner wall",
            heart.where,
            f"The inner heart leaves {mm(inner.wall)} of the outer one.",
            "Under 2 mm it shows through, and a soft one runs out.",
            "make the inner heart smaller.",
        )
    whole = sum(one.volume for one in piece.layers if one.role in ("heart", "inner heart"))
    share = whole / piece.cavity_volume
    if share > LARGEST_SHARE:
        yield _caution(
            "heart share",
            heart.where,
            f"The heart takes {percent(share)} of the piece: {ml(whole)} of {ml(piece.cavity_volume)}.",
            "Over 40 % little body is left to hold it, and its wall is thin.",
            f"a heart up to {ml(LARGEST_SHARE * piece.cavity_volume)}, or a mould of {ml(whole / LARGEST_SHARE)}.",
        )
    mix, hold = cooked[layer.component], cooked[body.component]
    if mix.density - hold.density > 400 and hold.density < 600:
        yield _caution(
            "heart sinks",
            heart.where,
            f"The heart ({mix.density / 1000:.2f} g/ml) sinks in the body ({hold.density / 1000:.2f} g/ml).",
            "Below 0.6 g/ml a body is too soft to hold a heart that is heavier by more than 0.4 g/ml.",
            "whip less, or half-freeze the lower body for 10 min before the heart goes in.",
        )


def thin_walls(piece: Piece, around: Outline | None = None) -> tuple[tuple[Clearance, Metre], ...]:
    """The walls of body that are thinner than wanted, each with the wall that is wanted there.

    Parameters
    ----------
    around
        Inside of the cavity; None: the outline of the body.
    """
    body = piece.layer("body")
    if around is None:
        assert body is not None
        around = body.outline
    tip = pointed(around)
    thin: list[tuple[Clearance, Metre]] = []
    for clearance in piece.clearances:
        if clearance.what != "around the inner heart":
            at_tip = tip and clearance.what == "top" and clearance.end[0] < 0.25 * solids.width(around)
            wanted = WALL_AT_TIP if at_tip else WALL
            # What a caliper reads as 4.0 is 4.
            if clearance.wall < wanted - 0.00005:
                thin.append((clearance, wanted))
    return tuple(thin)


def _of_walls(
    piece: Piece, design: PieceDesign, heart: Heart, room: Room, moulds: Mapping[str, Mould]
) -> Iterator[Finding]:
    thin = thin_walls(piece, room.around)
    if not thin:
        return
    places = _places([clearance for clearance, _ in thin])
    least = min(clearance.wall for clearance, _ in thin)
    wanted = max(want for _, want in thin)
    remedies = _remedies(design, heart, room, wanted, moulds)
    yield _caution(
        "wall",
        heart.where,
        f"The heart leaves {mm(least)} {places}.",
        f"{mm(wanted)} of body is wanted{' at the tip' if wanted > WALL else ''}: the cut may show it off centre by "
        "1 to 3 mm.",
        "; or ".join(words for words, _ in remedies[:2]) + "."
        if remedies
        else "choose a smaller heart or a larger mould.",
        tuple(Offer(changes=changes) for _, changes in remedies[:2] if changes),
    )


def _places(thin: list[Clearance]) -> str:
    words = {"top": "at the top", "side": "at the side", "foot": "at the foot", "heart to base": "above the disc"}
    named = [words[c.what] for c in thin]
    return named[0] if len(named) == 1 else ", ".join(named[:-1]) + " and " + named[-1]


_Changes = tuple[tuple[tuple[str, ...], str], ...]


def _remedies(
    design: PieceDesign, heart: Heart, room: Room, wanted: Metre, moulds: Mapping[str, Mould]
) -> list[tuple[str, _Changes]]:
    """What would leave the wanted wall, tried out one by one, the smallest change first; in words and for the file."""
    found: list[tuple[str, _Changes]] = []
    outline, form = _own_form(heart, moulds)
    here = heart.height
    best, wall = fitting.best_height(form, room)
    if here is not None and wall >= wanted - 0.00005:
        change = ((("piece", "heart", "height"), mm(best)),) if heart.where == "piece.heart" else ()
        found.append((f"set the heart at {mm(best)}, which leaves {mm(wall)}", change))
    if design.base is not None and room.base is not None:
        thinner = _thinner_disc(design.base, form, room, wanted)
        if thinner is not None:
            told, thickness = thinner
            found.append((told, _thinned(design.base, thickness, solids.height(room.base))))
    other = _other_heart(heart, outline, room, moulds, wanted)
    if other:
        found.append((f"the heart mould “{other[0]}” leaves {mm(other[1])}", ()))
    factor = fitting.largest_that_fits(form, room, wanted)
    if 0.3 < factor < 1:
        volume = heart.volume if heart.volume is not None else solids.volume(outline)
        found.append((f"a heart of {ml(volume * factor**3)} leaves {mm(wanted)}", ()))
    return found


def _thinned(base: Base, thickness: Metre, tall: Metre) -> _Changes:
    """A disc written thinner; one whose mass is told weighs less by as much."""
    if base.where != "piece.base":
        return ()
    changes = [(("piece", "base", "thickness"), mm(thickness))]
    if base.mass is not None:
        changes.append((("piece", "base", "mass"), grams(base.mass * thickness * base.count / tall)))
    return tuple(changes)


def _thinner_disc(base: Base, heart: Form, room: Room, wanted: Metre) -> tuple[str, Metre] | None:
    assert room.base is not None
    tall = solids.height(room.base)
    each = tall / base.count
    half_millimetres = int(each / 0.0005 - 1e-6)
    for steps in range(half_millimetres, int(_THINNEST_DISC / 0.0005) - 1, -1):
        thickness = steps * 0.0005
        r = solids.width(room.base) / 2
        disc = solids.outline_of([(0, 0), (r, 0), (r, thickness * base.count), (0, thickness * base.count)])
        _, wall = fitting.best_height(heart, replace(room, base=disc))
        if wall >= wanted - 0.00005:
            what = "a disc" if base.count == 1 else f"{base.count} discs"
            return f"{what} of {mm(thickness)} {'leaves' if base.count == 1 else 'leave'} {mm(wall)}", thickness
    return None


def _own_form(heart: Heart, moulds: Mapping[str, Mould]) -> tuple[Outline, Form]:
    cavity = heart.cavity or moulds[heart.mould or ""].cavity
    outline, _ = cavity_outline(cavity, heart.joined)
    return outline, cavity_solid(cavity, heart.joined) or outline


def _other_heart(
    heart: Heart, outline: Outline, room: Room, moulds: Mapping[str, Mould], wanted: Metre
) -> tuple[str, Metre] | None:
    """The largest other mould of the kitchen whose cavity leaves the wanted wall, single or as two halves."""
    best: tuple[float, str, Metre] | None = None
    now = solids.volume(outline)
    for name, mould in moulds.items():
        if name == heart.mould:
            continue
        halves = heart.joined if mould.cavity.joined == 1 else mould.cavity.joined
        tried, _ = cavity_outline(mould.cavity, halves)
        size = solids.volume(tried)
        if not 0.5 * now <= size < now or (best and size <= best[0]):
            continue
        _, wall = fitting.best_height(cavity_solid(mould.cavity, halves) or tried, room)
        if wall >= wanted:
            best = (size, name, wall)
    return (best[1], best[2]) if best else None
