"""What a mix is made of and how it behaves, as figures with band and basis: one component at a time."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np

from demoule.composition import FATS, Constituent
from demoule.dossier.answer import Named
from demoule.dossier.view import Part
from demoule.dossier.words import degrees
from demoule.figures import Basis, Figure, basis_of
from demoule.formula.component import Bake, Fold, Whip
from demoule.larder import leaf_grades
from demoule.larder.ingredient import Ingredient
from demoule.physics import (
    density_of_mix,
    density_stretched,
    freezing_point,
    freezing_stretched,
    ice_fraction,
    ice_share,
    soluble_solids,
    soluble_solids_stretched,
    sweetness,
    water_activity,
    water_activity_stretched,
)
from demoule.units import FloatArray, Kelvin, KilogramPerCubicMetre, kelvin

__all__ = ["RECIPE", "gelling_shares", "is_agent", "leaf_of", "mixture_figures"]

RECIPE = Basis(model="mass balance of the recipe over table records", source="fao-recipe", valid="any recipe")
_STORE, _BODY = kelvin(-18), kelvin(25)

# What the model may be off by, beside what is not told of the mix.
_FREEZING_ERROR = 0.2  # K, mixes with syrups
_TRIED, _BEYOND = (
    252.15,
    0.2,
)  # colder than this [K] nothing was tried: the error grows by a fifth of what is beyond (judged)
_ACTIVITY_ERROR = 0.01
_ICE_ERROR = 0.03  # share of the water, and more in the deep cold
_BRIX_ERROR = 0.005
_DENSITY_ERROR = 0.005  # of the value
_SCALE = 0.02  # of a weighed share: scales and cartons
_DRY = 0.05  # kg water per kg, below which no water phase is spoken of
_FOAM = 0.05  # share of air from which a mix is a foam


def _reading(key: str, name: str, of: str, figure: Figure) -> Named:
    return Named(key=key, name=name, of=of, figure=figure)


def _three(values: FloatArray, error: float, unit: str, basis: Basis, *, scale: float = 1.0, note: str = "") -> Figure:
    """The middle of three readings of what is untold, its band widened by the error of the model."""
    low, middle, high = float(np.min(values)), float(values[1]), float(np.max(values))
    return Figure(
        value=scale * middle,
        unit=unit,
        low=scale * (low - error),
        high=scale * (high + error),
        basis=(basis,),
        note=note,
    )


def mixture_figures(
    part: Part, serving: Callable[[], Kelvin], density: KilogramPerCubicMetre | None = None
) -> Iterator[Named]:
    """Figures of one component; those that hang on the temperature when eaten come last.

    Parameters
    ----------
    serving
        Gives the temperature at which it is eaten [K]; asked only when all else is told.
    density
        Of the layer as it is drawn, where weight and size of a piece tell it better than the mix [kg/m3].
    """
    yield from _proximates(part)
    yield from _yields(part)
    yield from _density(part, density)
    yield from _gelling(part)
    if part.cooked.composition.water > _DRY:
        yield from _water_phase(part)
    yield from _sweet(part)
    if part.cooked.composition.water > _DRY and not part.steps(Bake):
        yield _ice(part, "ice_at_serving", "ice when eaten, of the water", serving())


def _share(part: Part, value: float, untold: float, constituents: tuple[int, ...]) -> Figure:
    """A share of the mix [%]; what is untold may belong to it where a table leaves one of its constituents open."""
    composition = part.cooked.composition
    unknown = max((composition.unknown[i] for i in constituents), default=0.0)
    room = untold if unknown > 0 else 0.0
    return Figure(
        value=100 * value,
        unit="%",
        low=100 * value * (1 - _SCALE),
        high=100 * min(value * (1 + _SCALE) + room, 1.0),
        basis=(RECIPE,),
        unknown=unknown if room > 0 else 0.0,
    )


def _proximates(part: Part) -> Iterator[Named]:
    composition, of = part.cooked.composition, part.name
    untold = composition[Constituent.UNKNOWN_SOLIDS]
    fats = tuple(int(i) for i in FATS)
    sugars = (Constituent.UNKNOWN_SUGARS,)
    yield _reading("water", "water", of, _share(part, composition.water, 0.0, ()))
    yield _reading("fat", "fat", of, _share(part, composition.fat, untold, fats))
    yield _reading("sugars", "sugars", of, _share(part, composition.sugars, untold, sugars))
    yield _reading(
        "protein", "protein", of, _share(part, composition[Constituent.PROTEIN], untold, (Constituent.PROTEIN,))
    )
    yield _reading("total_solids", "total solids", of, _share(part, composition.total_solids, 0.0, ()))
    alcohol = composition[Constituent.ETHANOL]
    if alcohol > 0.0005:
        figure = _share(part, alcohol, 0.0, ())
        yield _reading(
            "alcohol", "alcohol", of, Figure(value=figure.value, unit="%", low=0.0, high=figure.high, basis=(RECIPE,))
        )


def _yields(part: Part) -> Iterator[Named]:
    cooked = part.cooked
    measured = all(loss.measured for loss in cooked.losses)
    spread = 0.0 if measured else 0.02
    value = 100 * cooked.yield_fraction
    yield _reading(
        "yield",
        "yield",
        part.name,
        Figure(value=value, unit="%", low=value * (1 - spread), high=value * (1 + spread), basis=(RECIPE,)),
    )
    if cooked.water_lost > 1e-6:
        band = cooked.water_lost_band
        yield _reading(
            "water_lost",
            "water gone",
            part.name,
            Figure(
                value=1000 * cooked.water_lost,
                unit="g",
                low=1000 * band[0] if band else None,
                high=1000 * band[1] if band else None,
                basis=cooked.basis or (RECIPE,),
                note="in one making as written",
            ),
        )


def _density(part: Part, drawn: KilogramPerCubicMetre | None) -> Iterator[Named]:
    cooked = part.cooked
    x = cooked.composition.vector
    basis = basis_of(density_of_mix, stretched=bool(np.any(density_stretched(x, kelvin(20)))))
    measured = "measured" if cooked.density_measured else ""
    airy = cooked.air > 0.02 or drawn is not None
    error = 0.03 if cooked.density_measured else (0.08 if airy else _DENSITY_ERROR)
    value = (drawn or cooked.density) / 1000
    yield _reading(
        "density",
        "density",
        part.name,
        Figure(
            value=value,
            unit="g/ml",
            low=value * (1 - error),
            high=value * (1 + error),
            basis=(basis,),
            measured=measured,
        ),
    )
    if cooked.air > _FOAM or part.steps(Whip, Fold):
        overrun = 100 * (cooked.mix_density / cooked.density - 1)
        low, high = (100 * (cooked.mix_density / (cooked.density * (1 + s * error)) - 1) for s in (1, -1))
        yield _reading(
            "overrun",
            "overrun",
            part.name,
            Figure(value=overrun, unit="%", low=max(low, 0.0), high=high, basis=(basis,), measured=measured),
        )


def leaf_of(gelatine: Ingredient) -> tuple[float, str]:
    """Mass of one leaf of about the strength of a gelatine [kg], and what the leaf is called."""
    if gelatine.leaf_mass is not None:
        return gelatine.leaf_mass, gelatine.name
    strength = gelatine.bloom_strength or 200.0
    grade = min(leaf_grades(), key=lambda g: abs(g.usual - strength))
    return grade.leaf_mass, grade.name


def gelling_shares(part: Part, trait: str) -> float:
    """Mass of gelling agents of one trait per kg of the finished mix, as weighed dry [kg/kg]."""
    return sum(c.mass for c in part.cooked.contents if trait in c.ingredient.traits and is_agent(c.ingredient))


def is_agent(ingredient: Ingredient) -> bool:
    """A gelling agent by itself, not a glaze or a jelly that holds some."""
    return ingredient.composition.water < 0.25 and ingredient.composition.sugars < 0.3


def _gelling(part: Part) -> Iterator[Named]:
    for trait, key, name in (
        ("gelatine", "gelatine", "gelatine"),
        ("agar", "agar", "agar"),
        ("pectin LM", "pectin_lm", "LM pectin"),
        ("pectin HM", "pectin_hm", "HM pectin"),
    ):
        share = gelling_shares(part, trait)
        if share <= 0:
            continue
        figure = Figure(
            value=100 * share, unit="%", low=98 * share, high=102 * share, basis=(RECIPE,), note="of the finished mix"
        )
        yield _reading(key, name, part.name, figure)
        if trait == "gelatine":
            leaves, called = 0.0, ""
            for content in part.cooked.contents:
                if trait in content.ingredient.traits and is_agent(content.ingredient):
                    mass, called = leaf_of(content.ingredient)
                    leaves += content.mass / mass
            yield _reading(
                "gelatine_sheets",
                "gelatine leaves per kg",
                part.name,
                Figure(
                    value=leaves,
                    unit="1",
                    low=0.98 * leaves,
                    high=1.02 * leaves,
                    basis=(
                        Basis(model="mass of a leaf by grade", source="gelatine-leaf-table", valid="leaves as sold"),
                    ),
                    note=called,
                ),
            )


def _water_phase(part: Part) -> Iterator[Named]:
    readings = part.cooked.composition.readings()
    x = part.cooked.composition.vector
    of = part.name
    activity = basis_of(water_activity, stretched=bool(np.any(water_activity_stretched(x))))
    yield _reading(
        "water_activity",
        "water activity",
        of,
        _three(
            np.asarray(water_activity(readings, _BODY)), _ACTIVITY_ERROR, "1", activity, note="calculated, at 25 °C"
        ),
    )
    if part.steps(Bake):
        return  # a crumb has no syrup to speak of that could be read or freeze
    brix = basis_of(soluble_solids, stretched=bool(np.any(soluble_solids_stretched(x))))
    yield _reading(
        "soluble_solids",
        "soluble solids of the water phase",
        of,
        _three(np.asarray(soluble_solids(readings)), _BRIX_ERROR, "°Bx", brix, scale=100.0),
    )
    freezing = basis_of(freezing_point, stretched=bool(np.any(freezing_stretched(x))))
    points = np.asarray(freezing_point(readings))
    beyond = max(_TRIED - float(points.min()), 0.0)
    yield _reading(
        "freezing_point",
        "begins to freeze",
        of,
        _three(points - 273.15, _FREEZING_ERROR + _BEYOND * beyond, "°C", freezing),
    )
    yield _ice(part, "ice_at_minus_18", "ice at −18 °C, of the water", _STORE)


def _ice(part: Part, key: str, name: str, temperature: Kelvin) -> Named:
    composition = part.cooked.composition
    share = basis_of(ice_fraction, stretched=bool(np.any(freezing_stretched(composition.vector))))
    values = np.asarray(ice_share(composition.readings(), temperature))
    figure = _three(values, _ICE_ERROR if float(np.max(values)) > 0 else 0.0, "%", share, scale=100.0)
    low = max(figure.low or 0.0, 0.0)
    high = min(figure.high if figure.high is not None else 100.0, 100.0)
    note = f"at {degrees(temperature)}"
    told = Figure(value=figure.value, unit="%", low=low, high=high, basis=figure.basis, note=note)
    return _reading(key, name, part.name, told)


def _sweet(part: Part) -> Iterator[Named]:
    told = sweetness(part.cooked.composition.vector)
    value, low, high = float(told.value), float(told.low), float(told.high)
    if value > 0.001:
        yield _reading(
            "sweetness",
            "sweetness, as sucrose",
            part.name,
            Figure(
                value=100 * value,
                unit="%",
                low=100 * low,
                high=100 * high,
                basis=(basis_of(sweetness),),
            ),
        )
