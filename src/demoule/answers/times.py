"""Questions about hours: conduction, freezing, thawing, and cooling a pan."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

from demoule.answers.liquids import MIX, unknown_share
from demoule.answers.mixture import Mixture, read_mixture
from demoule.answers.question import Answer, Parameter, Question, Values
from demoule.cold import (
    Programme,
    Room,
    Stage,
    Until,
    conduction,
    cool_pan,
    run_programme,
    time_to_core,
)
from demoule.cold.quick import CoreTime
from demoule.dossier.cooling import cooling_verdicts
from demoule.dossier.verdict import Verdict
from demoule.errors import BadInput
from demoule.figures import Basis, Figure, Finding, Severity, basis_of
from demoule.formula import Amount, Component, Weighed, cook
from demoule.larder import Larder
from demoule.physics import density_of_mix, thermal_table
from demoule.physics.thermal import ThermalTable
from demoule.piece import Fill, PieceDesign, build
from demoule.piece.design import Mould
from demoule.units import ZERO_CELSIUS, Kelvin, Kind, Metre, Second, parse

__all__ = ["QUESTIONS"]

_SHAPES = ("slab", "cylinder", "sphere")
_STILL_COLD = 10.0  # W/m2K, of a refrigerator's air, practice

SHAPE = Parameter(name="shape", says="slab, cylinder, sphere, or a cavity as FILE:NAME", example="sphere")
SIZE = Parameter(
    name="size",
    says="thickness of a slab, diameter of a cylinder or a sphere; not of a cavity",
    kind=Kind.LENGTH,
    bare="mm",
    example="53 mm",
    optional=True,
)
HEIGHT = Parameter(
    name="height",
    says="height of a cylinder; without it, it is long",
    kind=Kind.LENGTH,
    bare="mm",
    optional=True,
    example="20 mm",
)
START = Parameter(name="from", says="the temperature at the start", kind=Kind.TEMPERATURE, bare="°C", example="15 °C")
AIR = Parameter(name="air", says="the temperature of the air", kind=Kind.TEMPERATURE, bare="°C", example="-35 °C")
H = Parameter(name="h", says="how hard the air takes heat", kind=Kind.SURFACE_COEFFICIENT, bare="W/m2K", example="25")
WHIPPED = Parameter(
    name="overrun",
    says="air whipped into the mix",
    kind=Kind.PERCENT,
    bare="%",
    default="0 %",
    zero=True,
    example="60 %",
)


def _shape(values: Values) -> str:
    shape = values.words("shape").strip()
    return "slab" if shape.casefold() == "plate" else shape


def _plain_shape(values: Values) -> str:
    shape = _shape(values).casefold()
    if shape not in _SHAPES:
        raise BadInput(
            f"“{shape}” is not a shape for this question.",
            where="“shape”",
            remedy="use slab, cylinder or sphere.",
        )
    return shape


def _conduction(values: Values) -> Answer:
    shape = _plain_shape(values)
    found = conduction(
        shape,
        values.number("size"),
        h=values.number("h"),
        k=values.number("k"),
        rho=values.number("rho"),
        cp=values.number("cp"),
        start=values.number("from"),
        air=values.number("air"),
        duration=values.number("for"),
        height=values.maybe("height"),
    )
    basis = (basis_of(conduction),)
    return Answer(
        question="conduction",
        figures={
            "centre": Figure(value=found.centre - ZERO_CELSIUS, unit="°C", basis=basis),
            "surface": Figure(value=found.surface - ZERO_CELSIUS, unit="°C", basis=basis),
        },
        basis=basis,
    )


def _table(mixture: Mixture, overrun: float) -> ThermalTable:
    vector = mixture.composition.vector
    return thermal_table(vector, float(density_of_mix(vector)), overrun / (1 + overrun))


def _freeze(values: Values) -> Answer:
    return _hours(values, "freeze")


def _thaw(values: Values) -> Answer:
    return _hours(values, "thaw")


def _hours(values: Values, question: str) -> Answer:
    mixture = read_mixture(values.words("mix"), values.larder)
    start, air, until = values.number("from"), values.number("air"), _until(values)
    if (question == "freeze" and not air < start) or (question == "thaw" and not air > start):
        way = "colder" if question == "freeze" else "warmer"
        raise BadInput(
            f"To {question}, the air must be {way} than the piece.", where="“air”", remedy="change from= or air=."
        )
    shape = _shape(values)
    if shape.casefold() in _SHAPES:
        found = time_to_core(
            shape.casefold(),
            values.number("size"),
            table=_table(mixture, values.number("overrun")),
            start=start,
            air=air,
            h=values.number("h"),
            until=until,
            height=values.maybe("height"),
        )
        return _timed(question, found.time, found.low, found.high, found, mixture)
    return _in_cavity(values, question, mixture, start, air, until)


def _in_cavity(values: Values, question: str, mixture: Mixture, start: Kelvin, air: Kelvin, until: Kelvin) -> Answer:
    mould: Mould = values.cavity(_shape(values))
    parts = [Weighed(what=item.name, amount=Amount(mass=mass), where="mix") for item, mass in mixture.parts]
    larder = Larder(items=tuple(item for item, _ in mixture.parts))
    mix = cook(Component(name="mix", weighed=tuple(parts), density=None), larder, {})
    overrun = values.number("overrun")
    if overrun:
        density = mix.mix_density / (1 + overrun)
        mix = cook(Component(name="mix", weighed=tuple(parts), density=density), larder, {})
    piece = build(
        PieceDesign(mould=mould.name, cavity=None, body=Fill(component="mix")), {"mix": mix}, {mould.name: mould}
    )
    room = Room(name="air", air=air, surface=values.number("h"))
    what = "harden piece" if question == "freeze" else "thaw"
    stage = Stage(what=what, own_room=room, until=Until(place="core", temperature=until), where="shape", in_mould=False)
    run = run_programme(piece, {"mix": mix}, Programme(stages=(stage,)), (), filled_at={"mix": start}).stages[0]
    return _timed(question, run.time, run.low, run.high, run, mixture)


def _timed(
    question: str, time: Second | None, low: Second | None, high: Second | None, found: object, mixture: Mixture
) -> Answer:
    basis: tuple[Basis, ...] = getattr(found, "basis", ()) or (basis_of(time_to_core), basis_of(thermal_table))
    findings: tuple[Finding, ...] = ()
    if time is None:
        raise BadInput(
            "The core never reaches that temperature in this air.",
            where="“until”",
            remedy="name a temperature on the way to that of the air, or other air.",
        )
    figure = Figure(
        value=time / 60,
        unit="min",
        low=None if low is None else low / 60,
        high=None if high is None else high / 60,
        basis=basis,
        unknown=unknown_share(mixture.composition),
        note=str(getattr(found, "weakest", "")),
    )
    return Answer(question=question, figures={"time": figure}, basis=basis, findings=findings)


def _until(values: Values) -> Kelvin:
    text = values.words("until")
    bare = re.sub(r"^\s*(core|centre|center)\s+", "", text, flags=re.IGNORECASE)
    bare = f"{bare} °C" if re.fullmatch(r"[-−+]?\d+(?:[.,]\d+)?", bare) else bare
    try:
        return parse(bare, Kind.TEMPERATURE).value
    except BadInput as error:
        raise error.at("“until”") from None


def _cool(values: Values) -> Answer:
    mixture = read_mixture(values.words("mix"), values.larder)
    table = _table(mixture, 0.0)
    depth = _depth(values, mixture)
    start, until = values.number("from"), values.number("to")
    room = _room(values)
    found: CoreTime = cool_pan(table=table, depth=depth, start=start, until=until, room=room)
    answer = _timed("cool", found.time, found.low, found.high, found, mixture)
    return Answer(question="cool", figures=answer.figures, basis=answer.basis, findings=tuple(_judged(found)))


def _judged(found: CoreTime) -> Iterator[Finding]:
    """What the two cooling rules say of the computed curve; a rule that the record does not reach is not shown."""
    for verdict in cooling_verdicts(found.curve.time, found.curve.core):
        yield Finding(
            severity=Severity.CAUTION if verdict.verdict == Verdict.FAIL else Severity.NOTE,
            rule="cooling rules",
            where="pan",
            says=f"{verdict.rule.says}: {verdict.verdict}. {verdict.why}",
            why="Computed, not measured; a probe in the middle decides.",
            remedy="This is one jurisdiction's rule; your authority may ask for another.",
            source=verdict.rule.source,
        )


_AREA_BY_DIAMETER = re.compile(r"(\d+(?:[.,]\d+)?)\s*cm")
_DEPTH = re.compile(r"(\d+(?:[.,]\d+)?)\s*mm\s*(?:deep)?$")


def _depth(values: Values, mixture: Mixture) -> Metre:
    text = values.words("pan")
    if found := _DEPTH.search(text):
        return parse(f"{found[1]} mm", Kind.LENGTH).value
    if found := _AREA_BY_DIAMETER.search(text):
        radius = parse(f"{found[1]} cm", Kind.LENGTH).value / 2
        volume = mixture.mass / float(density_of_mix(mixture.composition.vector))
        return volume / (3.141592653589793 * radius**2)
    raise BadInput(
        f"The depth of the pan “{text}” cannot be told.",
        where="“pan”",
        remedy="write for example “GN 1/1 40 mm”, “40 mm”, or a round pan as “24 cm” with the mix in grams.",
    )


def _room(values: Values) -> Room:
    text = values.words("room")
    found = re.search(r"[-−+]?\d+(?:[.,]\d+)?\s*°?\s*[CFK]?$", text)
    known = {"refrigerator": "3 °C", "fridge": "3 °C", "blast freezer": "-36 °C", "freezer": "-20 °C", "bench": "18 °C"}
    if found:
        written = found[0] if re.search(r"[CFK]$", found[0]) else f"{found[0]} °C"
        air = parse(written, Kind.TEMPERATURE).value
    elif text.casefold() in known:
        air = parse(known[text.casefold()], Kind.TEMPERATURE).value
    else:
        raise BadInput(
            f"The temperature of the room “{text}” is not told.",
            where="“room”",
            remedy="write it, for example room=“3 °C”.",
        )
    usual = {"blast freezer": 18.0, "freezer": 9.0, "bench": 9.0}
    surface = values.maybe("h") or usual.get(text.casefold(), _STILL_COLD)
    return Room(name=text, air=air, surface=surface)


_HOURS = (
    "How long does a {shape} of {size} of {mix} take from {from} in air of {air}, with {h}, "
    "until its core is at {until}?"
)
_UNTIL = Parameter(name="until", says="the core temperature to be reached", default="core -18 °C", example="-18 °C")

QUESTIONS = (
    Question(
        name="conduction",
        sentence=(
            "How warm is a {shape} of {size} after {for}, from {from} in air of {air}, with {h}, {k}, {rho}, {cp}?"
        ),
        parameters=(
            SHAPE,
            SIZE,
            H,
            Parameter(name="k", says="heat conductivity", kind=Kind.CONDUCTIVITY, bare="W/mK", example="0.5"),
            Parameter(name="rho", says="density", kind=Kind.DENSITY, bare="kg/m3", example="1050"),
            Parameter(name="cp", says="specific heat", kind=Kind.HEAT_CAPACITY, bare="J/kgK", example="3600"),
            START,
            AIR,
            Parameter(name="for", says="how long", kind=Kind.TIME, bare="min", zero=True, example="30 min"),
            HEIGHT,
        ),
        answer=_conduction,
    ),
    Question(
        name="freeze",
        sentence=_HOURS,
        parameters=(SHAPE, SIZE, MIX, START, AIR, H, _UNTIL, WHIPPED, HEIGHT),
        answer=_freeze,
    ),
    Question(
        name="thaw",
        sentence=_HOURS,
        parameters=(
            SHAPE,
            SIZE,
            MIX,
            replace(START, example="-18 °C"),
            replace(AIR, example="3 °C"),
            replace(H, example="10"),
            Parameter(name="until", says="the core temperature to be reached", default="core -1 °C", example="-1 °C"),
            WHIPPED,
            HEIGHT,
        ),
        answer=_thaw,
    ),
    Question(
        name="cool",
        sentence="How long does {mix} in a pan {pan} take from {from} to {to} in a room of {room}?",
        parameters=(
            Parameter(name="pan", says="the pan with its depth", example="GN 1/1 40 mm"),
            MIX,
            replace(START, example="80 °C"),
            Parameter(
                name="to", says="the core temperature to be reached", kind=Kind.TEMPERATURE, bare="°C", example="5 °C"
            ),
            Parameter(name="room", says="the temperature of the room", default="3 °C", example="3 °C"),
            Parameter(
                name="h",
                says="how hard the air takes heat",
                kind=Kind.SURFACE_COEFFICIENT,
                bare="W/m2K",
                optional=True,
                example="10",
            ),
        ),
        answer=_cool,
    ),
)
