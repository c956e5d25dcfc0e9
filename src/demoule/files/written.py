"""A dessert to the text of a dessert file, as it would be written by hand."""

from __future__ import annotations

from dataclasses import fields
from functools import singledispatch
from typing import Any

from demoule.cold.programme import Programme, Room, Stage
from demoule.cold.softness import softness_words
from demoule.files.house import is_house
from demoule.files.writing import dump
from demoule.formula import component as formula
from demoule.formula.component import Amount, Component, Pan, Step
from demoule.piece import design
from demoule.units import from_si
from demoule.worked import Dessert

__all__ = ["as_data", "written"]

_DIGITS = 10


def written(dessert: Dessert) -> str:
    """The dessert as a file that reads back to it; its own items are left to the file they came from."""
    return dump(as_data(dessert))


def _of(value: float | None, unit_name: str) -> str | None:
    """A value in SI as a person writes it; None stays None."""
    if value is None:
        return None
    return f"{round(from_si(value, unit_name), 9):.{_DIGITS}g} {unit_name}"


_TIMES = ("month", "d", "h", "min", "s")


def _time(seconds: float | None) -> str | None:
    """A time in the greatest unit that gives a short number; days and months only from two days on."""
    if seconds is None:
        return None
    for name in _TIMES[0 if seconds >= 2 * 86400 else 2 :]:
        value = from_si(seconds, name)
        if value >= 1 and abs(value - round(value, 1)) < 1e-9:
            plural = "s" if name == "month" and value != 1 else ""
            return f"{round(value, 1):g} {name}{plural}"
    return _of(seconds, "s")


def _told(**parts: Any) -> dict[str, Any]:
    """Only what is told, with spaces in its names."""
    return {
        name.rstrip("_").replace("_", " "): part
        for name, part in parts.items()
        if part is not None and part != "" and part != [] and part != {}
    }


def as_data(dessert: Dessert) -> dict[str, Any]:
    """The dessert as plain values under the names of the file."""
    own = [component for component in dessert.components if not is_house(component)]
    return _told(
        demoule=1,
        name=dessert.name,
        about=dessert.about,
        looks_like=dessert.names_fruit if dessert.names_fruit != dessert.name else None,
        pieces=dessert.pieces,
        rejects=_of(dessert.rejects, "%"),
        components={component.name: _component(component) for component in own},
        piece=_piece(dessert.piece),
        cold=_cold(dessert.programme),
    )


def _component(component: Component) -> dict[str, Any]:
    names = [line.what for line in component.weighed]
    lines = [(line.what, _amount(line.amount)) for line in component.weighed]
    weigh: Any = dict(lines) if len(set(names)) == len(names) else [{what: how_much} for what, how_much in lines]
    losses = _told(evaporation=_of(component.evaporation, "g"))
    losses |= {name: _of(share, "%") for name, share in component.losses}
    return _told(
        weigh=weigh,
        steps=[step_as_data(step) for step in component.steps],
        base=component.base,
        to_make=_of(component.to_make, "g"),
        loses=losses,
        gives=_of(component.gives, "g"),
        density=_of(component.density, "g/ml"),
        pH=component.ph,
        label=component.label_name,
        good_batch=None
        if component.good is None
        else _told(
            ice=_of(component.good.ice, "%"),
            cut_at=_of(component.good.cut_at, "°C"),
            gelling=_of(component.good.gelling, "%"),
        ),
    )


def _amount(amount: Amount) -> str:
    if amount.written:
        return amount.written
    if amount.mass is not None:
        return str(_of(amount.mass, "g"))
    if amount.volume is not None:
        return str(_of(amount.volume, "ml"))
    if amount.count is not None:
        return f"{amount.count:g} pieces"
    if amount.percent is not None:
        return str(_of(amount.percent, "%"))
    named = {1.0: "all", 0.5: "half", 0.25: "a quarter", 0.75: "three quarters"}
    share = amount.share or 0.0
    return named.get(share) or ("a third" if abs(share - 1 / 3) < 1e-9 else "two thirds")


def _pan(pan: Pan | None) -> str | None:
    return None if pan is None else pan.name


def _yes(value: bool, *, usual: bool = False) -> str | None:
    return None if value is usual else ("yes" if value else "no")


@singledispatch
def step_as_data(step: Step) -> Any:
    """One step as it stands in a file: a bare verb, or a verb with its fields."""
    raise TypeError(f"no way is known to write {step!r}")


def _verb(verb: str, **parts: Any) -> Any:
    told = _told(**parts)
    return {verb: told} if told else verb


@step_as_data.register
def _(step: formula.Hydrate) -> Any:
    return _verb("hydrate", for_=_time(step.duration))


@step_as_data.register
def _(step: formula.Heat) -> Any:
    return _verb(
        "heat",
        to=_of(step.to, "°C"),
        what=step.part,
        pan=_pan(step.pan),
        for_=_time(step.duration),
        evaporates=_of(step.evaporates, "g"),
        covered=_yes(step.covered),
    )


@step_as_data.register
def _(step: formula.Boil) -> Any:
    return _verb(
        "boil",
        for_=_time(step.duration),
        what=step.part,
        pan=_pan(step.pan),
        evaporates=_of(step.evaporates, "g"),
        covered=_yes(step.covered),
        strength=step.strength if step.strength != "rolling" else None,
    )


@step_as_data.register
def _(step: formula.Cook) -> Any:
    aim = _of(step.to_temperature, "°C") if step.to_temperature is not None else _of(step.to_solids, "°Bx")
    return _verb("cook", to=aim, what=step.part, pan=_pan(step.pan), power=_of(step.power, "W"), rate=_rate(step.rate))


@step_as_data.register
def _(step: formula.Blanch) -> Any:
    return _verb(
        "blanch",
        for_=_time(step.duration),
        water=_of(step.water, "g"),
        times=step.times if step.times != 1 else None,
        at=_of(step.temperature, "°C"),
        piece=f"{step.piece} {_of(step.size, 'mm')}" if step.piece else None,
    )


def _rate(rate: float | None) -> str | None:
    return None if rate is None else f"{_of(60 * rate, 'g')} per 1 min"


@step_as_data.register
def _(step: formula.Candy) -> Any:
    return _verb(
        "candy",
        in_=step.syrup,
        at=_of(step.temperature, "°C"),
        for_=_time(step.duration),
        piece=f"{step.piece} {_of(step.size, 'mm')}",
        covered=_yes(step.covered, usual=True),
        ratio=step.ratio,
        gives=_of(step.gives, "g"),
        solids=_of(step.solids, "%"),
        skin=_yes(step.skin),
        then=[
            _told(to=_of(one.to_solids, "°Bx"), for_=_time(one.duration), at=_of(one.temperature, "°C"))
            for one in step.later
        ],
    )


@step_as_data.register
def _(step: formula.Drain) -> Any:
    return _verb("drain", loses=_of(step.loses, "%") if step.loses else None)


@step_as_data.register
def _(step: formula.Blend) -> Any:
    return _verb("blend", what=step.part, at=_of(step.at, "°C"), loses=_of(step.loses, "%"))


@step_as_data.register
def _(step: formula.Strain) -> Any:
    return _verb("strain", loses=_of(step.loses, "%"))


@step_as_data.register
def _(step: formula.Cool) -> Any:
    return _verb("cool", to=_of(step.to, "°C"), pan=_pan(step.pan), in_=step.room, for_=_time(step.duration))


@step_as_data.register
def _(step: formula.SetGel) -> Any:
    return _verb("set", at=_of(step.at, "°C"), for_=_time(step.duration))


@step_as_data.register
def _(step: formula.Rest) -> Any:
    return _verb("rest", at=_of(step.at, "°C"), at_least=_time(step.at_least), at_most=_time(step.at_most))


@step_as_data.register
def _(step: formula.Whip) -> Any:
    return _verb("whip", overrun=_of(step.overrun, "%"), density=_of(step.density, "g/ml"), at=_of(step.at, "°C"))


@step_as_data.register
def _(step: formula.Fold) -> Any:
    return _verb(
        "fold",
        what=step.part,
        density=_of(step.density, "g/ml"),
        air_lost=_of(step.air_lost, "%"),
        at=_of(step.at, "°C"),
    )


@step_as_data.register
def _(step: formula.Bake) -> Any:
    sheet = None if step.sheet is None else "×".join(f"{side * 1000:.{_DIGITS}g}" for side in step.sheet)
    return _verb(
        "bake",
        at=_of(step.at, "°C"),
        for_=_time(step.duration),
        loses=_of(step.loses, "%"),
        offcuts=_of(step.offcuts, "%") if step.offcuts else None,
        cut=_of(step.cut, "mm"),
        per_sheet=step.per_sheet,
        sheet=sheet,
    )


@step_as_data.register
def _(step: formula.Freeze) -> Any:
    return _verb("freeze", in_=step.room, to=_of(step.to, "°C"))


@step_as_data.register
def _(step: formula.Note) -> Any:
    if step.minutes is None and step.at is None:
        return {"note": step.text}
    minutes = None if step.minutes is None else f"{step.minutes:g} min"
    return _verb("note", says=step.text, for_=minutes, at=_of(step.at, "°C"))


_SHAPES = {
    design.Sphere: "sphere",
    design.HalfSphere: "half sphere",
    design.Spheroid: "spheroid",
    design.Cylinder: "cylinder",
    design.Cone: "cone",
    design.Dome: "dome",
    design.Ring: "ring",
}


def cavity_as_data(cavity: design.Cavity) -> dict[str, Any]:
    """A cavity written out."""
    shape = cavity.shape
    if isinstance(shape, design.Profile):
        form: Any = [[round(h * 1000, 6), round(r * 1000, 6)] for h, r in shape.points]
        name = "profile"
    else:
        name = _SHAPES[type(shape)]
        sizes = {field.name: getattr(shape, field.name) for field in fields(shape)}
        form = {key: _of(size, "mm") for key, size in sizes.items() if key != "flat" or size}
    return _told(
        **{name: form}, holds=_of(cavity.water_fill, "ml"), joined=cavity.joined if cavity.joined != 1 else None
    )


def _form(mould: str | None, cavity: design.Cavity | None) -> Any:
    return mould if cavity is None else cavity_as_data(cavity)


def _heart(heart: design.Heart) -> dict[str, Any]:
    return _told(
        component=heart.component,
        mould=_form(heart.mould, heart.cavity),
        joined=heart.joined if heart.joined != 1 else None,
        height=_of(heart.height, "mm"),
        mass=_of(heart.mass, "g"),
        volume=_of(heart.volume, "ml"),
        filled_at=_of(heart.filled_at, "°C"),
        inside=_heart(heart.inside) if heart.inside else None,
    )


def _skin(skin: design.Skin) -> dict[str, Any]:
    if isinstance(skin, design.Dip):
        return {
            "dip": _told(
                component=skin.component,
                bath=_of(skin.bath, "°C"),
                piece=_of(skin.piece, "°C"),
                for_=_time(skin.duration),
                lift=_of(skin.lift, "cm/s"),
                thickness=_of(skin.thickness, "mm"),
                mass=_of(skin.mass, "g"),
            )
        }
    return {
        "spray": _told(
            component=skin.component,
            lands=_of(skin.lands, "g"),
            per_area=_of(skin.per_area, "g/m2"),
            overspray=_of(skin.overspray, "%"),
            passes=skin.passes if skin.passes != 1 else None,
            at=_of(skin.at, "°C"),
        )
    }


def _piece(piece: design.PieceDesign) -> dict[str, Any]:
    body, base = piece.body, piece.base
    return _told(
        mould=_form(piece.mould, piece.cavity),
        heart=_heart(piece.heart) if piece.heart else None,
        body=_told(
            component=body.component,
            headspace=_of(body.headspace, "%") if body.headspace else None,
            filled_at=_of(body.filled_at, "°C"),
            mass=_of(body.mass, "g"),
        ),
        base=None
        if base is None
        else _told(
            component=base.component,
            count=base.count,
            diameter=_of(base.diameter, "mm"),
            thickness=_of(base.thickness, "mm"),
            mass=_of(base.mass, "g"),
        ),
        skin=[_skin(skin) for skin in piece.skins],
        garnish=[
            _told(
                what=one.what,
                eaten="yes" if one.eaten else "no",
                count=one.count if one.count != 1 else None,
                mass=_of(one.mass, "g"),
                ingredient=one.ingredient,
            )
            for one in piece.garnishes
        ],
    )


def _room(room: Room) -> dict[str, Any]:
    both = room.surface is not None and room.air_speed is not None
    blows = _of(room.surface, "W/m2K") if room.surface is not None else _of(room.air_speed, "m/s")
    rated = None
    if room.rated_mass is not None and room.rated_time is not None:
        rated = f"{_of(room.rated_mass, 'kg')} per {_of(room.rated_time, 'h')}"
    return _told(
        air=_of(room.air, "°C"),
        blows=blows,
        humidity=_of(room.humidity, "%"),
        levels=room.levels,
        rated=rated,
        power=_of(room.power, "W"),
        capacity=_of(room.capacity, "W"),
        opened=None if room.opened is None else f"{room.opened * 3600:.{_DIGITS}g} per h",
        defrosts=None if room.defrosts is None else f"{room.defrosts * 86400:.{_DIGITS}g} per day",
        air_speed=_of(room.air_speed, "m/s") if both else None,
        learned=room.learned
        if room.learned_band is None
        else _told(**{"from": room.learned, "blows": blows, "give or take": _of(room.learned_band, "%")}),
    )


def _stage(stage: Stage) -> dict[str, Any]:
    until = stage.until
    soft = [f"{one.layer} {softness_words(one.most, one.least)}" for one in stage.softened]
    return _told(
        in_=_room(stage.own_room) if stage.own_room else stage.room,
        until=f"{until.place} {_of(until.temperature, '°C')}" if until else None,
        for_=_time(stage.duration),
        at_most=_time(stage.at_most),
        ready=soft.pop(0) if stage.ready is None and soft else _in(stage.ready, "core "),
        body=soft[0].removeprefix("body ") if soft else _in(stage.ready_body),
        covered="yes" if stage.covered else None,
        opened=f"{stage.openings} times" if stage.openings else None,
        in_mould=None if stage.in_mould is None else ("yes" if stage.in_mould else "no"),
    )


def _in(between: tuple[float, float] | None, place: str = "") -> str | None:
    if between is None:
        return None
    low, high = (round(from_si(end, "°C"), 9) for end in between)
    return f"{place}{low:.{_DIGITS}g} to {high:.{_DIGITS}g} °C"


def _cold(programme: Programme) -> Any:
    names = [stage.what for stage in programme.stages]
    if len(set(names)) == len(names):
        return {stage.what: _stage(stage) for stage in programme.stages}
    return [{stage.what: _stage(stage)} for stage in programme.stages]
