"""Questions about a liquid mix: how dense, how sweet on the refractometer, when it freezes, when it boils."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from demoule.answers.mixture import Mixture, read_mixture
from demoule.answers.question import Answer, Parameter, Question, Values
from demoule.composition import Composition, Constituent
from demoule.errors import BadInput
from demoule.figures import Basis, Figure, basis_of
from demoule.physics import (
    boiling_point,
    boiling_stretched,
    density_of_mix,
    density_stretched,
    freezing_point,
    freezing_stretched,
    ice_fraction,
    pressure_at_altitude,
    refractive_index,
    soluble_solids,
    soluble_solids_stretched,
    viscosity_of_mix,
    viscosity_stretched,
    water_activity,
    water_activity_stretched,
    water_left_at_boiling_point,
    water_lost_to_solids,
)
from demoule.units import ZERO_CELSIUS, FloatArray, Kind

__all__ = ["ALTITUDE", "MIX", "QUESTIONS", "unknown_share"]

MIX = Parameter(name="mix", says="what is mixed, each part with its amount", example="sucrose 40 g, water 60 g")
ALTITUDE = Parameter(
    name="altitude",
    says="height of the kitchen above the sea",
    kind=Kind.LENGTH,
    bare="m",
    default="0 m",
    zero=True,
    example="640 m",
)


_BALANCE = Basis(model="balance of water and solids", source="mass-balance", valid="any mix; only water goes off")


def _at(default: str) -> Parameter:
    return Parameter(
        name="at", says="the temperature of the mix", kind=Kind.TEMPERATURE, bare="°C", default=default, example=default
    )


def unknown_share(composition: Composition) -> float:
    """Share of the mass of which no source tells what it is in the water."""
    return composition[Constituent.UNKNOWN_SUGARS] + composition[Constituent.UNKNOWN_SOLIDS]


def _banded(readings: FloatArray, error: float | FloatArray, unit: str, basis: Basis, unknown: float) -> Figure:
    """A figure from the three readings of what is unknown, widened by the error of the model."""
    spread = np.max(np.abs(error))
    return Figure(
        value=float(readings[1]),
        unit=unit,
        low=float(readings.min() - spread),
        high=float(readings.max() + spread),
        basis=(basis,),
        unknown=unknown,
    )


def _answer(question: str, figures: dict[str, Figure]) -> Answer:
    basis = tuple(dict.fromkeys(entry for figure in figures.values() for entry in figure.basis))
    return Answer(question=question, figures=figures, basis=basis)


def _mixed(values: Values) -> tuple[Mixture, FloatArray, float]:
    mixture = read_mixture(values.words("mix"), values.larder)
    return mixture, mixture.composition.readings(), unknown_share(mixture.composition)


def _wet(readings: FloatArray, what: str) -> None:
    if readings[1, Constituent.WATER] <= 0:
        raise BadInput(
            f"There is no water in the mixture, so it has no {what}.", remedy="add the water to the mixture."
        )


def _density(values: Values) -> Answer:
    _, readings, unknown = _mixed(values)
    at = values.number("at")
    stretched = bool(np.any(density_stretched(readings[1], at)))
    figure = _banded(
        density_of_mix(readings, at),
        6.0 if stretched else 2.0,
        "kg/m3",
        basis_of(density_of_mix, stretched=stretched),
        unknown,
    )
    return _answer("density", {"density": figure})


def _brix(values: Values) -> Answer:
    _, readings, unknown = _mixed(values)
    stretched = bool(soluble_solids_stretched(readings[1]))
    figure = _banded(
        soluble_solids(readings) * 100,
        1.0 if stretched else 0.2,
        "%",
        basis_of(soluble_solids, stretched=stretched),
        unknown,
    )
    return _answer("brix", {"soluble_solids": figure})


def _refractive(values: Values) -> Answer:
    _, readings, unknown = _mixed(values)
    stretched = bool(soluble_solids_stretched(readings[1]))
    index = refractive_index(soluble_solids(readings))
    figure = _banded(index, 2e-3 if stretched else 1e-4, "1", basis_of(refractive_index, stretched=stretched), unknown)
    return _answer("refractive", {"refractive_index": figure})


_WARM = (293.15, 333.15)  # K, where the model keeps within 8 %; within 15 % from 0 to 100 °C


def _viscosity(values: Values) -> Answer:
    _, readings, unknown = _mixed(values)
    at = values.number("at")
    stretched = bool(viscosity_stretched(readings[1], at))
    thick = viscosity_of_mix(readings, at) * 1000
    near = _WARM[0] <= at <= _WARM[1]
    figure = _banded(
        thick,
        thick * (0.5 if stretched else 0.08 if near else 0.15),
        "mPa s",
        basis_of(viscosity_of_mix, stretched=stretched),
        unknown,
    )
    return _answer("viscosity", {"viscosity": figure})


def _water_activity(values: Values) -> Answer:
    _, readings, unknown = _mixed(values)
    _wet(readings, "water activity")
    at = values.number("at")
    stretched = bool(water_activity_stretched(readings[1]))
    active = water_activity(readings, at)
    figure = _banded(active, 0.02 if stretched else 0.005, "1", basis_of(water_activity, stretched=stretched), unknown)
    figure = Figure(
        value=figure.value,
        unit="1",
        low=max(figure.low or 0.0, 0.0),
        high=min(figure.high or 1.0, 1.0),
        basis=figure.basis,
        unknown=unknown,
    )
    return _answer("water-activity", {"water_activity": figure})


_FRUIT_VARIES = 0.2
"""Of its freezing point, either way: one lot of a fruit is riper than the next (practice); printed points of raw fruit,
which two handbooks and a survey give up to 0.4 K apart, then lie within the band."""
_COLD, _BEYOND = 10.0, 0.2  # K below 0 °C from which printed tables part, and by how much of what is beyond


def _of_fruit(mixture: Mixture) -> float:
    """Share of the dissolved solids that comes with fruit and vegetables as a food table has them."""
    solids = [(i, mass * float(soluble_solids(i.composition.vector))) for i, mass in mixture.parts]
    total = sum(one for _, one in solids)
    grown = sum(one for i, one in solids if i.group.startswith(("fruit", "vegetable")))
    return grown / total if total > 0 else 0.0


def _freezing(values: Values) -> Answer:
    mixture, readings, unknown = _mixed(values)
    _wet(readings, "freezing point")
    stretched = bool(freezing_stretched(readings[1]))
    points = freezing_point(readings) - ZERO_CELSIUS
    error = 0.06 + 0.03 * np.abs(points) * (3 if stretched else 1)
    error = error + _FRUIT_VARIES * _of_fruit(mixture) * np.abs(points)
    error = error + _BEYOND * np.maximum(np.abs(points) - _COLD, 0.0)
    figures = {"freezing_point": _banded(points, error, "°C", basis_of(freezing_point, stretched=stretched), unknown)}
    if values.has("at"):
        at = values.number("at")
        share = ice_fraction(readings, at) * 100
        deep = at < ZERO_CELSIUS - 12
        band = np.where(share > 0, (3.0 if deep or stretched else 1.0), 0.0)
        iced = _banded(share, band, "%", basis_of(ice_fraction, stretched=stretched or deep), unknown)
        figures["ice_share"] = Figure(
            value=iced.value,
            unit="%",
            low=max(iced.low or 0.0, 0.0),
            high=min(iced.high or 0.0, 100 * float(readings[1, Constituent.WATER])),
            basis=iced.basis,
            unknown=unknown,
        )
    return _answer("freezing", figures)


def _boiling(values: Values) -> Answer:
    _, readings, unknown = _mixed(values)
    _wet(readings, "boiling point")
    pressure = pressure_at_altitude(values.number("altitude"))
    stretched = bool(boiling_stretched(readings[1]))
    points = boiling_point(readings, pressure) - ZERO_CELSIUS
    plain = boiling_point(Composition.of({Constituent.WATER: 1.0}).vector, pressure) - ZERO_CELSIUS
    solids = float(1 - readings[1, Constituent.WATER])
    # Published tables disagree by about 1 K up to 70 % solids and by a tenth of the elevation above.
    error = np.where(solids < 0.7, np.minimum(1.0, 0.05 + 0.4 * (points - plain)), 0.1 * (points - plain) + 0.5)
    figure = _banded(points, error, "°C", basis_of(boiling_point, stretched=stretched), unknown)
    return _answer("boiling", {"boiling_point": figure})


def _cook(values: Values) -> Answer:
    mixture, readings, unknown = _mixed(values)
    _wet(readings, "boiling point")
    pressure = pressure_at_altitude(values.number("altitude"))
    to = values.quantity("to")
    water = readings[1, Constituent.WATER]
    dry = readings[1, :].sum() - water
    if to.kind is Kind.TEMPERATURE:
        left = water_left_at_boiling_point(readings, to.value, pressure)
        begins = float(boiling_point(readings[1], pressure))
        if not np.isfinite(left).all() or left[1] > water * (1 + 1e-9):
            raise BadInput(
                f"The mix boils only at {begins - ZERO_CELSIUS:.1f} °C, so it is never at {to.written} at the boil.",
                where="“to” of question “cook”",
                remedy="name a temperature above that, or a Brix.",
            )
        solids = dry / (dry + left)
        lost = (water - left) * mixture.mass * 1000
        basis = basis_of(water_left_at_boiling_point, stretched=bool(boiling_stretched(readings[1], to.value)))
        return _answer(
            "cook",
            {
                # Two per cent points: the spread of the published stage tables.
                "solids": _banded(solids * 100, 2.0, "%", basis, unknown),
                "water_lost": _banded(
                    lost, float(0.02 / solids[1] * (dry / solids[1]) * mixture.mass * 1000), "g", basis, unknown
                ),
            },
        )
    lost = water_lost_to_solids(readings, to.value)
    if lost[1] < -1e-9:
        raise BadInput(
            f"The mix already has {100 * dry:.1f} % solids, more than {to.written}.",
            where="“to” of question “cook”",
            remedy="name a higher Brix, or add water.",
        )
    basis = _BALANCE
    grams = lost * mixture.mass * 1000
    figures = {
        "solids": Figure(value=to.value * 100, unit="%", basis=(basis,), unknown=unknown),
        "water_lost": _banded(grams, 0.0, "g", basis, unknown),
    }
    cooked = mixture.composition.with_water_changed(-float(lost[1])).readings()
    figures["boiling_point"] = _banded(
        boiling_point(cooked, pressure) - ZERO_CELSIUS, 1.0, "°C", basis_of(boiling_point), unknown
    )
    return _answer("cook", figures)


def _question(name: str, sentence: str, answer: Callable[[Values], Answer], *parameters: Parameter) -> Question:
    return Question(name=name, sentence=sentence, parameters=parameters, answer=answer)


QUESTIONS = (
    _question("density", "How dense is {mix} at {at}?", _density, MIX, _at("20 °C")),
    _question("brix", "What does a refractometer read in {mix}?", _brix, MIX),
    _question("refractive", "What is the refractive index of {mix} at 20 °C?", _refractive, MIX),
    _question("viscosity", "How thick is {mix} at {at}?", _viscosity, MIX, _at("20 °C")),
    _question("water-activity", "What is the water activity of {mix} at {at}?", _water_activity, MIX, _at("25 °C")),
    _question(
        "freezing",
        "When does {mix} begin to freeze, and how much of it is ice at {at}?",
        _freezing,
        MIX,
        Parameter(
            name="at",
            says="the temperature of the ice share",
            kind=Kind.TEMPERATURE,
            bare="°C",
            optional=True,
            example="-18 °C",
        ),
    ),
    _question("boiling", "At what temperature does {mix} boil, {altitude} above the sea?", _boiling, MIX, ALTITUDE),
    _question(
        "cook",
        "What is left of {mix} cooked to {to}, {altitude} above the sea?",
        _cook,
        MIX,
        Parameter(
            name="to",
            says="a temperature or a Brix",
            kind=(Kind.TEMPERATURE, Kind.BRIX, Kind.PERCENT),
            bare="°C",
            example="113 °C",
        ),
        ALTITUDE,
    ),
)
