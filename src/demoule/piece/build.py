"""From what a chef writes for the piece to the built piece: every layer with its volume, mass and outline."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from demoule.errors import BadInput, DemouleError, DoesNotFit, UnknownName
from demoule.figures import Basis, Finding, by_severity
from demoule.formula.component import Bake, Component
from demoule.formula.cooked import Cooked
from demoule.physics.dipping import Shell, ShellFactors
from demoule.physics.learning import Learned
from demoule.piece import checks, coats, fitting, solids
from demoule.piece.around import Around, rings_of
from demoule.piece.built import Clearance, Layer, Outline, Piece
from demoule.piece.design import Base, Cavity, Dip, Heart, Mould, PieceDesign, Skin
from demoule.piece.dips import Dips
from demoule.piece.shapes import cavity_outline, cavity_solid
from demoule.piece.warmed import Frozen
from demoule.piece.words import grams, ml, mm
from demoule.units import CubicMetre, Kilogram, Metre

__all__ = ["GROWTH", "USUAL_FILL", "build", "own_volume"]

USUAL_FILL = 0.96
"""How full a heart's cavity is filled when nothing is stated: 94 to 98 %, by the habit of the trade."""

GROWTH = 1.06
"""Volume of a frozen heart over that of its mix: a water gel grows by 5 to 8 %, by the habit of the trade."""

_TRIM: Metre = 0.0003  # a disc that is wider than its place by less is trimmed by the scraper

SOLID = Basis(model="volume and surface of the turned section", source="crc-concise-math", valid="any section")
_MESH = Basis(model="volume and surface of the mesh", source="crc-concise-math", valid="any closed surface")
_FILL = Basis(model="hearts filled to 96 % of their cavity", source="practice", valid="94 to 98 %")
_STATED = coats.STATED


def build(
    design: PieceDesign,
    cooked: Mapping[str, Cooked],
    moulds: Mapping[str, Mould],
    *,
    recipes: Mapping[str, Component] | None = None,
    learned: Mapping[str, ShellFactors] | None = None,
    guns: Mapping[str, Learned] | None = None,
    advise: bool = True,
) -> Piece:
    """Build one piece.

    The base stands on the foot, the heart in the middle of the room above it (where its smallest wall is greatest) or
    at its stated height, the body fills the rest less the headspace, and the coats lie around the whole.

    Volumes are as filled. A frozen heart has grown into its cavity (`GROWTH`), so its outline may hold a little more
    than its volume; walls are measured to the outline.

    Parameters
    ----------
    design
        As the chef wrote it.
    cooked
        Every component by its name; its density gives mass from volume and back.
    moulds
        Those of the kitchen, by name.
    recipes
        The components as written, from which only the cut of a baked disc is read.
    learned
        What test dips have taught about a coating, by component.
    guns
        What share of a spray lands, where it was weighed, by component.
    advise
        Whether walls are looked at and remedies tried; without, a piece is built much faster.

    Raises
    ------
    DoesNotFit
        A heart, a base or a fill that has no room.
    UnknownName
        A mould or a component that nobody has described.
    BadInput
        A size that cannot be.
    """
    mould, cavity = _mould_of(design.mould, design.cavity, moulds, design.where)
    with _Place(design.where):
        around, scale = cavity_outline(cavity)
        _must_be_a_piece(around)
        solid = cavity_solid(cavity)
    findings: list[Finding] = list(checks.of_cavity(cavity, scale, design.where))

    inside = around if solid is None else solid.inscribed
    base = _base(design.base, inside, cooked, recipes or {}) if design.base else None
    room = fitting.Room(around, base.outline if base else None, solid)
    hearts: list[_Placed] = []
    if design.heart:
        hearts = _hearts(design.heart, room, cooked, moulds, findings)
        findings += checks.of_opening(design.heart, hearts[0].layer.outline, mould, around)

    taken = sum(h.layer.volume for h in hearts) + (base.volume if base else 0.0)
    bare = Around(outline=around, solid=solid)
    body = _body(design, bare, taken, cooked, findings)
    layers = [*(h.layer for h in reversed(hearts)), *([base] if base else []), body]
    layers += _skins(design, bare, layers, cooked, learned or {}, guns or {}, findings)

    clearances: list[Clearance] = []
    if hearts:
        clearances = list(fitting.walls(_form(hearts[0].layer), room))
        for outer, inner in itertools.pairwise(hearts):
            walls = fitting.walls(_form(inner.layer), fitting.Room(outer.layer.outline, None, outer.layer.solid))
            least = min(walls, key=lambda c: c.wall)
            clearances.append(replace(least, what="around the inner heart"))
    piece = Piece(
        mould=mould,
        heart_mould=hearts[0].mould if hearts else None,
        hearts_per_piece=hearts[0].halves if hearts else 0,
        layers=tuple(layers),
        cavity_volume=solids.volume(around),
        cavity_area=bare.area,
        clearances=tuple(clearances),
        garnishes=design.garnishes,
        cavity_scale=scale,
    )
    if advise:
        findings += checks.of_piece(piece, design, cooked, room, moulds)
    return replace(piece, findings=by_severity(findings))


_LEAST, _MOST = 0.2e-6, 5e-3  # m³: from a drop to a bucket


def _must_be_a_piece(around: Outline) -> None:
    volume = solids.volume(around)
    if not _LEAST <= volume <= _MOST:
        raise BadInput(
            f"The cavity holds {1e6 * volume:.3g} ml, and pieces of 0.2 ml to 5 l are worked up here.",
            remedy="check sizes and units; mm are meant by 60 mm.",
        )


def own_volume(piece: Piece, layer: Layer) -> CubicMetre:
    """Volume of the region of the section that is this layer's alone: its outline less all that lies inside [m³]."""
    before = piece.layers[: piece.layers.index(layer)]
    inside = [
        other for other in before if solids.polygon(layer.outline).covers(solids.polygon(other.outline).buffer(-1e-6))
    ]
    # Of what lies inside, only the outermost counts: a heart takes its inner heart with it.
    outermost = [
        one
        for one in inside
        if not any(o is not one and solids.polygon(o.outline).covers(solids.polygon(one.outline)) for o in inside)
    ]
    return solids.volume(layer.outline) - sum(solids.volume(one.outline) for one in outermost)


def _form(layer: Layer) -> fitting.Form:
    return layer.outline if layer.solid is None else layer.solid


@dataclass(frozen=True, slots=True)
class _Placed:
    layer: Layer
    mould: Mould | None
    halves: int


class _Place:
    """Adds the place in the dessert to every error that passes."""

    def __init__(self, where: str) -> None:
        self.where = where

    def __enter__(self) -> None:
        return None

    def __exit__(self, kind: object, error: BaseException | None, trace: object) -> None:
        if isinstance(error, DemouleError) and not error.places:
            error.at(self.where)


def _mix(name: str, cooked: Mapping[str, Cooked], where: str) -> Cooked:
    if name not in cooked:
        raise UnknownName("component", name, cooked, where=where)
    return cooked[name]


def _mould_of(
    name: str | None, cavity: Cavity | None, moulds: Mapping[str, Mould], where: str
) -> tuple[Mould | None, Cavity]:
    mould = None
    if name is not None:
        if name not in moulds:
            if cavity is None:
                raise UnknownName("mould", name, moulds, where=where)
        else:
            mould = moulds[name]
    found = cavity or (mould.cavity if mould else None)
    if found is None:
        raise BadInput(
            "Nothing tells the shape.", where=where, remedy="name a mould of the kitchen, or give the sizes."
        )
    return mould, found


def _base(base: Base, around: Outline, cooked: Mapping[str, Cooked], recipes: Mapping[str, Component]) -> Layer:
    mix = _mix(base.component, cooked, base.where)
    if base.count < 1:
        raise BadInput(f"{base.count} discs cannot be laid.", where=base.where, remedy="write count: 1 or more.")
    foot = 2 * solids.radius_at(around, 0.0)
    cut = next((s.cut for s in _steps(base.component, recipes) if isinstance(s, Bake) and s.cut), None)
    each = base.mass if base.mass is not None else (mix.cut.each if mix.cut else None)
    diameter = base.diameter or cut or foot
    if diameter <= 1e-6 or solids.closed(around):
        raise DoesNotFit(
            "The piece stands on no flat foot that a disc could lie on.",
            where=base.where,
            remedy="leave the base out, or give the cavity a flat foot.",
        )
    disc_area = math.pi * diameter**2 / 4
    if base.thickness is not None:
        thickness = base.thickness
    elif each is not None:
        thickness = each / (mix.density * disc_area)
    else:
        raise BadInput(
            f"Neither thickness nor mass of the disc of {base.component} is known.",
            where=base.where,
            remedy="give the thickness in mm, or the mass of one disc.",
        )
    tall = base.count * thickness
    if not tall > 0:
        raise BadInput(
            f"A disc of {mm(thickness)} cannot be laid.", where=base.where, remedy="give a thickness above 0 mm."
        )
    outline = solids.outline_of([(0, 0), (diameter / 2, 0), (diameter / 2, tall), (0, tall)])
    inside = solids.polygon(around)
    if not inside.buffer(_TRIM).covers(solids.polygon(outline)):
        widest = 2 * min(solids.radius_at(around, tall * k / 40) for k in range(41))
        raise DoesNotFit(
            f"The base does not fit: {mm(diameter)} across and {mm(tall)} thick, where the cavity is "
            f"{mm(widest)} across at its narrowest over that height.",
            where=base.where,
            remedy=f"cut the disc to {mm(widest - 0.0005, down=True)} or less."
            if widest > 0.003
            else "give the cavity a flat foot (flat: 26 mm), or leave the base out.",
        )
    outline = solids.from_polygon(inside.intersection(solids.polygon(outline)))
    volume = solids.volume(outline)
    mass = base.count * each if each is not None else volume * mix.density
    return Layer(
        role="base",
        component=base.component,
        outline=outline,
        volume=volume,
        mass=mass,
        area=solids.area(outline),
        composition=mix.composition,
        air=mix.air,
        thickness=tall,
        taken=mass,
        stated=base.mass is not None or base.thickness is not None,
        basis=(SOLID,),
        where=base.where,
    )


def _steps(name: str, recipes: Mapping[str, Component]) -> tuple[object, ...]:
    return recipes[name].steps if name in recipes else ()


def _hearts(
    heart: Heart, room: fitting.Room, cooked: Mapping[str, Cooked], moulds: Mapping[str, Mould], findings: list[Finding]
) -> list[_Placed]:
    """The heart and all hearts in it, from the outermost inwards, each placed in the one around it."""
    placed: list[_Placed] = []
    one: Heart | None = heart
    while one is not None:
        made, filled = _heart(one, room, cooked, moulds, findings, outermost=not placed)
        if placed:
            outer = placed[-1].layer
            left = outer.volume - filled
            if left <= 0:
                raise DoesNotFit(
                    f"The inner heart leaves nothing of the outer one: {ml(filled)} in {ml(outer.volume)}.",
                    where=one.where,
                    remedy="make the inner heart smaller, or fill the outer one higher.",
                )
            kept = cooked[outer.component].density * left if not outer.stated else outer.mass
            placed[-1] = replace(placed[-1], layer=replace(outer, volume=left, mass=kept, taken=kept))
        placed.append(made)
        room = fitting.Room(made.layer.outline, None, made.layer.solid)
        one = one.inside
    return placed


def _heart(
    heart: Heart,
    room: fitting.Room,
    cooked: Mapping[str, Cooked],
    moulds: Mapping[str, Mould],
    findings: list[Finding],
    *,
    outermost: bool,
) -> tuple[_Placed, CubicMetre]:
    mix = _mix(heart.component, cooked, heart.where)
    mould, cavity = _mould_of(heart.mould, heart.cavity, moulds, heart.where)
    halves = max(heart.joined, cavity.joined)
    with _Place(heart.where):
        whole, _ = cavity_outline(cavity, heart.joined)
        single, _ = cavity_outline(replace(cavity, joined=1))
    holds = solids.volume(single) * halves
    filled = _filled(heart, holds, mix)
    if filled > 1.001 * holds:
        raise DoesNotFit(
            f"The heart does not fit its mould: {ml(filled)} for a cavity of {ml(holds)}.",
            where=heart.where,
            remedy=f"fill {ml(0.94 * holds)} to {ml(0.98 * holds)}, or choose a heart mould of {ml(filled / 0.96)} "
            "or more.",
        )
    # The same level in each half; the frozen mix has grown towards the rim.
    full, kept = filled * GROWTH >= holds, min(filled * GROWTH, holds) / halves
    solid = cavity_solid(replace(cavity, joined=1))
    if solid is None:
        frozen = solids.cut_level(single, kept)
        outline = whole if full else solids.joined(frozen) if halves == 2 else frozen
    else:
        with _Place(heart.where):
            solid = solid if full else solid.cut_level(kept)
            solid = solid.joined() if halves == 2 else solid
        outline = solid.profile
    form: fitting.Form = outline if solid is None else solid
    level, wall = fitting.best_height(form, room)
    if heart.height is not None:
        level = heart.height
    here = solids.shifted(outline, level)
    solid = None if solid is None else solid.shifted(level)
    out = fitting.sticks_out(here if solid is None else solid, room)
    # Facets are as fine as the eye, not finer.
    if out > (1e-6 if solid is None and room.solid is None else 1e-4) or (heart.height is None and wall < 0):
        raise checks.heart_without_room(heart, form, room, filled, out, moulds)
    findings += checks.of_fill(heart, filled, holds, mix)
    mass = heart.mass if heart.mass is not None else filled * mix.density
    shape = SOLID if solid is None else _MESH
    layer = Layer(
        role="heart" if outermost else "inner heart",
        component=heart.component,
        outline=here,
        volume=filled,
        mass=mass,
        area=solids.area(here) if solid is None else solid.area,
        solid=solid,
        section=() if solid is None else rings_of(solid.section()),
        composition=mix.composition,
        air=mix.air,
        taken=mass,
        stated=heart.mass is not None,
        basis=(shape, _STATED) if heart.volume is not None or heart.mass is not None else (shape, _FILL),
        where=heart.where,
        joint=level + solids.height(outline) / 2 if halves == 2 else None,
    )
    return _Placed(layer, mould, halves), filled


def _filled(heart: Heart, holds: CubicMetre, mix: Cooked) -> CubicMetre:
    for name, given in (("mass", heart.mass), ("volume", heart.volume)):
        if given is not None and not 0 < given < 1:
            raise BadInput(
                f"The {name} of the heart cannot be {given:.6g}.", where=heart.where, remedy="give it above zero."
            )
    if heart.volume is not None:
        return heart.volume
    if heart.mass is not None:
        return heart.mass / mix.density
    return USUAL_FILL * holds


def _body(
    design: PieceDesign, bare: Around, taken: CubicMetre, cooked: Mapping[str, Cooked], findings: list[Finding]
) -> Layer:
    fill = design.body
    mix = _mix(fill.component, cooked, fill.where)
    if not 0 <= fill.headspace < 0.5:
        raise BadInput(
            f"A headspace of {100 * fill.headspace:.0f} % cannot be.", where=fill.where, remedy="0 to 2 % is usual."
        )
    cavity = solids.volume(bare.outline)
    left = cavity - taken
    volume = left - fill.headspace * cavity
    if volume <= 0:
        raise DoesNotFit(
            f"Nothing is left for the body: heart, base and headspace take all {ml(cavity)} of the cavity.",
            where=fill.where,
            remedy="choose a smaller heart or a larger mould.",
        )
    mass: Kilogram = volume * mix.density
    if fill.mass is not None:
        stated = fill.mass / mix.density
        if stated > 1.03 * left:
            raise DoesNotFit(
                f"The body does not fit: {grams(fill.mass)} are {ml(stated)}, and {ml(left)} are free.",
                where=fill.where,
                remedy=f"fill {grams(left * mix.density)}, or whip to a higher density.",
            )
        mass, volume = fill.mass, min(stated, left)
    findings += checks.of_body(design, volume, left, cavity, mix)
    shape = SOLID if bare.solid is None else _MESH
    return Layer(
        role="body",
        component=fill.component,
        outline=bare.outline,
        volume=volume,
        mass=mass,
        area=bare.area,
        solid=bare.solid,
        section=bare.section,
        composition=mix.composition,
        air=mix.air,
        taken=mass,
        stated=fill.mass is not None,
        basis=(shape, _STATED) if fill.mass is not None else (shape,),
        where=fill.where,
    )


def _skins(
    design: PieceDesign,
    bare: Around,
    inside: list[Layer],
    cooked: Mapping[str, Cooked],
    learned: Mapping[str, ShellFactors],
    guns: Mapping[str, Learned],
    findings: list[Finding],
) -> list[Layer]:
    layers: list[Layer] = []
    under = bare
    bath = Dips(inside)
    frozen = Frozen(inside) if design.skins else None
    for skin in design.skins:
        mix = _mix(skin.component, cooked, skin.where)
        with _Place(skin.where):
            if isinstance(skin, Dip):
                stated = coats.stated_dip(under, skin, mix)
                coat, said = bath.coat(under, skin, mix, stated, learned.get(skin.component))
                findings += said
            else:
                coat = coats.spray_coat(under, skin, mix, guns.get(skin.component))
        findings += checks.of_coat(skin, coat, mix)
        shell = bath.shell if isinstance(skin, Dip) else None
        assert frozen is not None
        heat, warmed, balance = frozen.coated(skin, coat.mass, mix.composition, shell.heat_from_bath if shell else 0.0)
        findings += checks.of_warmth(skin, warmed, last=skin is design.skins[-1])
        layers.append(
            Layer(
                role="shell" if isinstance(skin, Dip) else "spray",
                component=skin.component,
                outline=coat.around.outline,
                volume=coat.volume,
                mass=coat.mass,
                area=coat.around.area,
                section=coat.around.section,
                composition=mix.composition,
                air=mix.air,
                thickness=coat.thickness,
                thickness_low=coat.thickness_low,
                thickness_high=coat.thickness_high,
                taken=coat.taken,
                stated=coat.stated,
                basis=(*coat.basis, balance),
                where=skin.where,
                heat=heat,
                warmed_to=warmed,
                dipped=shell,
                learned=_learned_from(skin, shell, coat, guns),
            )
        )
        under = coat.around
    return layers


def _learned_from(skin: Skin, shell: Shell | None, coat: coats.Coat, guns: Mapping[str, Learned]) -> str:
    if isinstance(skin, Dip):
        return shell.learned_from if shell is not None and not coat.stated else ""
    return guns[skin.component].learned_from if skin.overspray is None and skin.component in guns else ""
