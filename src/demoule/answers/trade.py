"""Questions of the trade: gelatine, solubility, candying, the dipped shell, and growth of germs."""

from __future__ import annotations

import math
import re
from typing import Literal

from demoule.answers.liquids import unknown_share
from demoule.answers.mixture import read_mixture
from demoule.answers.question import Answer, Parameter, Question, Values
from demoule.composition import Constituent
from demoule.errors import BadInput, UnknownName
from demoule.figures import Basis, Figure, Finding, Severity, basis_of
from demoule.larder import LeafGrade, leaf_grades
from demoule.physics import solubility, solubility_stretched
from demoule.physics.candy_course import Fruit, SyrupStage
from demoule.physics.candy_shapes import PieceShape, piece_shape
from demoule.physics.candying import candy, candying_time
from demoule.physics.coating import Coating, coating_of
from demoule.physics.dipping import Core, dip
from demoule.physics.freeze_on import refuse_warm_piece
from demoule.physics.gelatine import swap_gelatine
from demoule.physics.growth import WORDING, doubling_time, growth_rate
from demoule.physics.solubility import SOLUBLE, sucrose_solubility
from demoule.physics.tissue import tissue_for
from demoule.units import Kind, Metre, parse

__all__ = ["QUESTIONS"]

Table = Literal["vavrinecz", "traditional"]
_TABLES: tuple[Table, ...] = ("vavrinecz", "traditional")
# The piece that is dipped when nothing is said of it: 80 ml of frozen mousse.
_VOLUME, _MASS = 80e-6, 0.058


def _solubility(values: Values) -> Answer:
    sugar = values.words("sugar").strip().casefold()
    known = {constituent.name.lower(): constituent for constituent in SOLUBLE} | {
        "sugar": Constituent.SUCROSE,
        "dextrose": Constituent.GLUCOSE,
    }
    if sugar not in known:
        raise BadInput(
            f"No solubility is known here for “{sugar}”.",
            where="“sugar”",
            remedy=f"ask for one of {', '.join(sorted(known))}.",
        )
    which, at = known[sugar], values.number("at")
    table: Table = "traditional" if values.words("table") == "traditional" else "vavrinecz"
    value = 100 * float(solubility(which, at, table=table))
    low, high = value - 1.0, value + 1.0
    if which is Constituent.SUCROSE:
        both = [100 * float(solubility(which, at, table=name)) for name in _TABLES]
        low, high = min(both) - 0.1, max(both) + 0.1
    model = sucrose_solubility if which is Constituent.SUCROSE else solubility
    basis = (basis_of(model, stretched=bool(solubility_stretched(which, at))),)
    return Answer(
        question="solubility",
        figures={"saturation": Figure(value=value, unit="%", low=low, high=high, basis=basis)},
        basis=basis,
    )


_LEAVES = Basis(model="mass of a leaf by grade", source="gelatine-leaf-table", valid="leaves as sold")


def _bloom(values: Values, name: str) -> float:
    """A Bloom strength, or the usual one of a grade of leaf."""
    written = values.words(name).casefold().removesuffix(" leaf").removesuffix(" bloom").strip()
    grades = {one.name: one for one in leaf_grades()}
    grade = grades.get(written)
    if grade is None and written.isalpha():
        raise UnknownName("grade of leaf", written, grades, where=f"“{name}” of question “gelatine”")
    return values.number(name) if grade is None else grade.usual


def _leaf(bloom: float) -> LeafGrade:
    """The grade of leaf whose usual strength is nearest."""
    return min(leaf_grades(), key=lambda grade: abs(grade.usual - bloom))


def _gelatine(values: Values) -> Answer:
    amount, bloom, to_bloom = values.quantity("mass"), _bloom(values, "bloom"), _bloom(values, "to-bloom")
    counted = amount.kind is Kind.COUNT
    form = "leaf" if counted else values.words("form")
    mass = amount.value * _leaf(bloom).leaf_mass if counted else amount.value
    swap = swap_gelatine(mass, bloom, to_bloom, form=form)
    figures = {
        "mass": Figure(value=swap.mass * 1000, unit="g", low=swap.low * 1000, high=swap.high * 1000, basis=swap.basis)
    }
    if form == "leaf":
        leaf = _leaf(to_bloom)
        low, value, high = (one / leaf.leaf_mass for one in (swap.low, swap.mass, swap.high))
        note = f"{leaf.name}, {1000 * leaf.leaf_mass:.1f} g each"
        figures["leaves"] = Figure(value=value, unit="1", low=low, high=high, basis=(*swap.basis, _LEAVES), note=note)
    return Answer(question="gelatine", figures=figures, basis=(*swap.basis, *((_LEAVES,) if form == "leaf" else ())))


def _sized(values: Values) -> PieceShape:
    text = values.words("piece")
    found = re.fullmatch(
        r"(?:(?P<kind>[a-zA-Z ]+?)\s+)?(?P<size>[\d.,½¼¾/ ]+\s*(?:mm|cm|m|in|″))(?:\s+(?P<after>[a-zA-Z ]+))?", text
    )
    if not found or not (found["kind"] or found["after"]):
        raise BadInput(
            f"“{text}” does not say what the piece is like.",
            where="“piece”",
            remedy="write shape and size, for example “wedge 16 mm”, “cube 15 mm”, “slice 8 mm”, “sphere 30 mm”.",
        )
    size: Metre = parse(found["size"].strip(), Kind.LENGTH).value
    return piece_shape((found["kind"] or found["after"]).strip().casefold(), size)


def _solids(values: Values, name: str) -> float:
    """Soluble solids stated as Brix or per cent, or those of a mixture."""
    text = values.words(name)
    bare = f"{text} °Bx" if re.fullmatch(r"\d+(?:[.,]\d+)?", text) else text
    try:
        return parse(bare, (Kind.BRIX, Kind.PERCENT)).value
    except BadInput as error:
        if re.fullmatch(r"[\d.,\s]+(?:°\s*)?(?:Bx|Brix|%)?", text, flags=re.IGNORECASE):
            raise error.at(f"“{name}” of question “candy”") from None
        from demoule.physics import soluble_solids

        return float(soluble_solids(read_mixture(text, values.larder).composition.vector))


def _candy(values: Values) -> Answer:
    at, duration, ratio = values.number("at"), values.number("for"), values.number("ratio")
    fruit_solids, syrup_solids = _solids(values, "fruit"), _solids(values, "syrup")
    if not ratio > 0:
        raise BadInput("There is no syrup.", where="“ratio”", remedy="give kg of syrup per kg of fruit.")
    fruit = Fruit(mass=1.0, soluble_solids=fruit_solids, shape=_sized(values), tissue=tissue_for(at))
    stage = SyrupStage(duration=duration, temperature=at, mass=ratio, solids=syrup_solids)
    candied = candy(fruit, (stage,))
    time, time_low, time_high = candying_time(fruit, stage, 0.9)
    basis = candied.basis

    def between(index: int) -> tuple[float, float]:
        ends = (candied.low[index], candied.high[index])
        return min(ends), max(ends)

    solids, mass = between(0), between(1)
    # What the fruit has, the syrup lacks: from the balance of its ends.
    syrups = [_left_in_syrup(fruit, ratio, syrup_solids, *end[:2]) for end in (candied.low, candied.high)]
    figures = {
        "fruit_solids": Figure(
            value=100 * float(candied.fruit_solids[-1]),
            unit="%",
            low=100 * solids[0],
            high=100 * solids[1],
            basis=basis,
        ),
        "syrup_solids": Figure(
            value=100 * float(candied.syrup_solids[-1]),
            unit="%",
            low=100 * min(syrups),
            high=100 * max(syrups),
            basis=basis,
        ),
        "mass_change": Figure(
            value=100 * (float(candied.fruit_mass[-1]) - 1),
            unit="%",
            low=100 * (mass[0] - 1),
            high=100 * (mass[1] - 1),
            basis=basis,
        ),
        "time_to_90": Figure(value=time / 3600, unit="h", low=time_low / 3600, high=time_high / 3600, basis=basis),
    }
    return Answer(question="candy", figures=figures, basis=basis, findings=candied.findings)


def _left_in_syrup(fruit: Fruit, ratio: float, syrup: float, solids: float, mass: float) -> float:
    """Soluble solids of the syrup when a kilogram of fruit has come to some solids and mass [kg/kg]."""
    gained = solids * (mass - fruit.mass * fruit.insoluble) - fruit.soluble_solids * fruit.liquid
    return (ratio * syrup - gained) / (ratio + fruit.mass - mass)


def _coating(values: Values) -> tuple[Coating, float]:
    text = values.words("coating")
    fat = re.fullmatch(r"(?:fat\s*)?(\d+(?:[.,]\d+)?\s*%)(?:\s*fat)?", text.strip(), flags=re.IGNORECASE)
    if fat:
        return Coating(fat=parse(fat[1], Kind.PERCENT).value), 0.0
    composition = read_mixture(text, values.larder).composition
    return coating_of(composition), unknown_share(composition)


def _shell(values: Values) -> Answer:
    coating, unknown = _coating(values)
    refuse_warm_piece(coating, values.number("piece"))
    core = Core.sphere(_VOLUME, temperature=values.number("piece"), mass=_MASS)
    shell = dip(coating, core, bath=values.number("bath"), duration=values.number("for"), lift=values.number("lift"))
    per_area = 0.1 / core.area  # kg to g/cm2
    figures = {
        "thickness": Figure(
            value=shell.thickness * 1000,
            unit="mm",
            low=shell.thickness_low * 1000,
            high=shell.thickness_high * 1000,
            basis=shell.basis,
            unknown=unknown,
        ),
        "mass": Figure(
            value=shell.mass * per_area,
            unit="g/cm2",
            low=shell.mass_low * per_area,
            high=shell.mass_high * per_area,
            basis=shell.basis,
            unknown=unknown,
        ),
    }
    return Answer(question="shell", figures=figures, basis=shell.basis, findings=shell.findings)


def _growth(values: Values) -> Answer:
    organism, at, duration = values.words("organism"), values.number("at"), values.number("for")
    ph = values.maybe("ph")
    aw = values.maybe("aw")
    rate = growth_rate(organism, at, ph=ph, aw=aw)
    doubling = doubling_time(organism, at, ph=ph, aw=aw)
    basis = (basis_of(growth_rate),)
    log_increase = rate * duration / math.log(10)
    figures = {
        # A factor of two lies between a laboratory model and a food.
        "log_increase": Figure(value=log_increase, unit="1", low=log_increase / 2, high=log_increase * 2, basis=basis),
        "doubling_time": Figure(
            value=doubling / 3600 if math.isfinite(doubling) else None,
            unit="h",
            low=doubling / 7200 if math.isfinite(doubling) else None,
            high=doubling / 1800 if math.isfinite(doubling) else None,
            basis=basis,
        ),
    }
    note = Finding(
        severity=Severity.NOTE,
        rule="growth model",
        where="organism",
        says=WORDING,
        why="Lag is not counted, and a factor of two lies between a model and a food.",
        remedy="Use it to compare schedules, never to set a shelf life; local law and a study decide.",
    )
    return Answer(question="growth", figures=figures, basis=basis, findings=(note,))


QUESTIONS = (
    Question(
        name="solubility",
        sentence="How much {sugar} does water hold at {at}?",
        parameters=(
            Parameter(name="sugar", says="which sugar", example="sucrose", default="sucrose"),
            Parameter(
                name="at", says="the temperature", kind=Kind.TEMPERATURE, bare="°C", example="20 °C", default="20 °C"
            ),
            Parameter(
                name="table", says="which table of sucrose", default="vavrinecz", choices=_TABLES, example="vavrinecz"
            ),
        ),
        answer=_solubility,
    ),
    Question(
        name="gelatine",
        sentence="How much gelatine of {to-bloom} Bloom replaces {mass} of {bloom} Bloom?",
        parameters=(
            Parameter(
                name="mass",
                says="the gelatine in the recipe, a mass or leaves",
                kind=(Kind.MASS, Kind.COUNT),
                bare="g",
                example="10 g",
            ),
            Parameter(
                name="bloom", says="its Bloom strength, or the grade of the leaf", kind=Kind.NUMBER, example="200"
            ),
            Parameter(
                name="to-bloom", says="the same of the other, such as 240 or gold", kind=Kind.NUMBER, example="240"
            ),
            Parameter(
                name="form", says="powder or leaf", default="powder", choices=("powder", "leaf"), example="powder"
            ),
        ),
        answer=_gelatine,
    ),
    Question(
        name="candy",
        sentence=(
            "What becomes of a {piece} of fruit of {fruit} in {ratio} times its weight of syrup of {syrup}, "
            "kept at {at} for {for}?"
        ),
        parameters=(
            Parameter(name="piece", says="shape and size of the piece", example="wedge 16 mm"),
            Parameter(name="fruit", says="the fruit's Brix", example="12 °Bx", default="12 °Bx"),
            Parameter(name="syrup", says="the syrup's Brix, or what is in it", example="65 °Bx"),
            Parameter(name="ratio", says="kg of syrup per kg of fruit", kind=Kind.NUMBER, example="2", default="2"),
            Parameter(
                name="at", says="the temperature of the syrup", kind=Kind.TEMPERATURE, bare="°C", example="85 °C"
            ),
            Parameter(name="for", says="how long", kind=Kind.TIME, bare="h", example="4 h"),
        ),
        answer=_candy,
    ),
    Question(
        name="shell",
        sentence="How thick is the shell of {coating} at {bath} on a piece of {piece} dipped for {for}?",
        parameters=(
            Parameter(
                name="bath", says="the temperature of the bath", kind=Kind.TEMPERATURE, bare="°C", example="34 °C"
            ),
            Parameter(
                name="piece",
                says="the temperature of the piece",
                kind=Kind.TEMPERATURE,
                bare="°C",
                example="-20 °C",
                default="-20 °C",
            ),
            Parameter(
                name="coating",
                says="its fat, or what is in it",
                example="white chocolate 60 g, cocoa butter 40 g",
            ),
            Parameter(
                name="for", says="how long it stays in the bath", kind=Kind.TIME, bare="s", zero=True, example="2 s"
            ),
            Parameter(
                name="lift",
                says="how fast it is lifted out",
                kind=Kind.SPEED,
                bare="m/s",
                default="0.05 m/s",
                example="0.05 m/s",
            ),
        ),
        answer=_shell,
    ),
    Question(
        name="growth",
        sentence="How much does {organism} grow at {at} in {for}?",
        parameters=(
            Parameter(name="organism", says="the germ, or the model of one", example="listeria in vanilla cream"),
            Parameter(name="at", says="the temperature", kind=Kind.TEMPERATURE, bare="°C", example="4 °C"),
            Parameter(name="for", says="how long", kind=Kind.TIME, bare="h", example="72 h"),
            Parameter(name="ph", says="pH, where the model has one", kind=Kind.NUMBER, optional=True, example="6.5"),
            Parameter(
                name="aw",
                says="water activity, where the model has one",
                kind=Kind.NUMBER,
                optional=True,
                example="0.97",
            ),
        ),
        answer=_growth,
    ),
)
