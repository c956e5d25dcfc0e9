"""The figures of a dossier under their names: of the piece, each layer and each component, with band and basis."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from demoule.cold.run import StageRun
from demoule.cold.softness import softness
from demoule.dossier.answer import Cost, Named
from demoule.dossier.bench_figures import bench_figures
from demoule.dossier.checks.illustrated import growth_figures
from demoule.dossier.coat_figures import coat_figures, frost_figures, second_dip_figures
from demoule.dossier.label import amounts_of_piece, label_basis
from demoule.dossier.life_figures import life_figures
from demoule.dossier.mixture_figures import RECIPE, mixture_figures
from demoule.dossier.soft_figures import good_figures, ice_volume_of, serving_temperature, soft_figures
from demoule.dossier.view import Part, View
from demoule.figures import Basis, Figure, basis_of
from demoule.physics import ice_fraction
from demoule.piece.built import Layer
from demoule.units import Kelvin, KilogramPerCubicMetre, Second

__all__ = [
    "all_figures",
    "core_when_eaten",
    "drawn_density",
    "ice_volume_of",
    "layer_figures",
    "piece_figures",
    "serving_temperature",
]

_GEOMETRY = Basis(model="volume of the body of revolution", source="judged", valid="shapes turned about an axis")
_STATED = Basis(model="stated in the dessert file", source="practice", valid="as entered")
_VOLUME = 0.03  # nominal volume of a mould is true to 3 % (practice)
_FILL = 0.05  # a filled mass: volume and density together


def all_figures(view: View, cost: Cost) -> tuple[Named, ...]:
    """Every named figure of a dossier; those of the piece first, then layer by layer, then the other components."""
    named = [*piece_figures(view), *_cold(view), *life_figures(view), *_money(view, cost)]
    if view.worked.dessert.piece.skins:
        named.extend(frost_figures(view))
    named.extend(growth_figures(view))
    told: set[str] = set()
    for layer, part in view.layered:
        first = part.name not in told
        told.add(part.name)
        if first:
            named.extend(layer_figures(view, layer, part))
            named.extend(mixture_figures(part, partial(serving_temperature, view, layer.role), drawn_density(layer)))
            named.extend(bench_figures(view, part))
            named.extend(_softness(view, layer, part))
        elif layer.dipped is not None:
            named.extend(second_dip_figures(view, layer))
    for part in view.parts:
        if part.name not in told and part in view.used:
            named.extend(mixture_figures(part, partial(core_when_eaten, view)))
            named.extend(bench_figures(view, part))
        elif part.name not in told:
            named.extend(bench_figures(view, part))  # a syrup for candying ends in no piece
    return tuple(named)


def drawn_density(layer: Layer) -> KilogramPerCubicMetre | None:
    """Density of a base from weight and size of a piece of it, which tell it better than its mix [kg/m3]."""
    return layer.mass / layer.volume if layer.role == "base" and layer.volume > 0 else None


def core_when_eaten(view: View) -> Kelvin:
    """The middle of the range of the core in which a piece is eaten [K]."""
    return sum(view.ready) / 2


def piece_figures(view: View) -> Iterator[Named]:
    """Size, mass, make-up and energy of the whole piece."""
    piece = view.worked.piece
    contents = view.contents
    composition = contents.composition

    def of_piece(key: str, name: str, figure: Figure) -> Named:
        return Named(key=key, name=name, of="piece", figure=figure)

    def spread(value: float, unit: str, share: float, basis: Basis) -> Figure:
        return Figure(value=value, unit=unit, low=value * (1 - share), high=value * (1 + share), basis=(basis,))

    stated = all(layer.stated for layer in piece.layers)
    yield of_piece("mass", "mass", spread(1000 * piece.mass, "g", 0.02 if stated else _FILL, _GEOMETRY))
    volume = sum(layer.volume for layer in piece.layers)
    yield of_piece("volume", "volume", spread(1e6 * volume, "ml", _VOLUME, _GEOMETRY))
    yield of_piece("height", "height", spread(1000 * piece.height, "mm", 0.01, _GEOMETRY))
    yield of_piece("diameter", "diameter", spread(1000 * piece.diameter, "mm", 0.01, _GEOMETRY))
    for key, name, value in (
        ("water", "water", composition.water),
        ("fat", "fat", composition.fat),
        ("sugars", "sugars", composition.sugars),
        ("total_solids", "total solids", composition.total_solids),
    ):
        yield of_piece(key, name, spread(100 * value, "%", 0.02, RECIPE))
    if piece.clearances:
        wall = min(clearance.wall for clearance in piece.clearances)
        # Cut pieces show the heart 1 to 3 mm off its place (practice).
        yield of_piece(
            "smallest_wall",
            "smallest wall round the heart",
            Figure(value=1000 * wall, unit="mm", low=max(1000 * wall - 1.0, 0.0), high=1000 * wall, basis=(_GEOMETRY,)),
        )
    hearts = [layer.volume for layer in piece.layers if layer.role in ("heart", "inner heart")]
    if hearts and piece.cavity_volume > 0:
        yield of_piece(
            "heart_share",
            "heart, of the volume",
            spread(100 * sum(hearts) / piece.cavity_volume, "%", _VOLUME, _GEOMETRY),
        )
    amounts = amounts_of_piece(contents, view.market)
    energy = amounts["energy_kcal" if view.market == "EU" else "calories"]
    each = 1000 * contents.mass
    yield of_piece(
        "energy",
        "energy of a piece",
        Figure(
            value=energy.value * each,
            unit="kcal",
            low=energy.low * each * (1 - _FILL),
            high=(energy.high if energy.high is not None else energy.value) * each * (1 + _FILL),
            basis=label_basis(view.market),
            unknown=energy.unknown,
        ),
    )
    weighing = view.worked.weighing
    yield of_piece(
        "good_share",
        "good pieces, of those started",
        Figure(value=100 * (1 - weighing.reject_share), unit="%", basis=(_STATED,)),
    )


def _hours(time: Second | None) -> float | None:
    return None if time is None else time / 3600


def _cold(view: View) -> Iterator[Named]:
    for run in view.worked.cold.stages:
        key = run.stage.what.replace(" ", "_")
        if run.stage.what in ("harden heart", "harden piece"):
            what = "heart" if run.stage.what == "harden heart" else "piece"
            yield Named(key=f"{key}_time", name=f"{what} hardens in", of="piece", figure=_timed(run))
        elif run.window is not None:
            window = run.window
            weakest = f"widest for {run.weakest}" if run.weakest else ""
            note = weakest if window.opens is not None else "not within the time computed"
            yield Named(
                key="ready_after",
                name="ready to eat after",
                of="piece",
                figure=Figure(
                    value=_hours(window.opens),
                    unit="h",
                    low=_hours(window.opens_low),
                    high=_hours(window.opens_high),
                    basis=run.basis,
                    note=note,
                ),
            )
            yield Named(
                key="ready_until",
                name="ready to eat until",
                of="piece",
                figure=Figure(
                    value=_hours(window.closes),
                    unit="h",
                    low=_hours(window.closes_low),
                    high=_hours(window.closes_high),
                    basis=run.basis,
                    note=weakest if window.closes is not None else "still ready at the end of the time computed",
                ),
            )
    for stage in view.worked.dessert.programme.stages:
        if stage.what == "keep" and stage.at_most is not None:
            yield Named(
                key="keeps",
                name="keeps frozen",
                of="piece",
                figure=Figure(value=stage.at_most / 86400, unit="d", basis=(_STATED,)),
            )


def _timed(run: StageRun) -> Figure:
    return Figure(
        value=_hours(run.time),
        unit="h",
        low=_hours(run.low),
        high=_hours(run.high),
        basis=run.basis,
        note=f"in air of {run.room.air - 273.15:.0f} °C; widest for {run.weakest}".replace(" -", " −")
        if run.weakest
        else "",
    )


def _money(view: View, cost: Cost) -> Iterator[Named]:
    for key, name, figure in (
        ("material_cost", "material", cost.material),
        ("labour_cost", "hands", cost.labour),
        ("cost", "cost, all in", cost.total),
        ("price", "price at your margin", cost.price),
        ("order_cost", "cost of the order", cost.order_total),
    ):
        yield Named(key=key, name=name, of="piece", figure=figure)
    weighing = view.worked.weighing
    good = weighing.pieces + max(weighing.spare, 0)
    minutes = sum(seconds for _, seconds in weighing.hands_on) / good / 60
    yield Named(
        key="hands_on",
        name="hands on one piece",
        of="piece",
        figure=Figure(
            value=minutes,
            unit="min",
            low=0.85 * minutes,
            high=1.15 * minutes,
            basis=(Basis(model="minutes by kind of work", source="practice", valid="a practised team"),),
        ),
    )


def layer_figures(view: View, layer: Layer, part: Part) -> Iterator[Named]:
    """Mass, volume and thickness of a component as a layer, and what a coat of it does."""
    same = [entry for entry in view.worked.piece.layers if entry.component == layer.component]
    mass, volume = sum(entry.mass for entry in same), sum(entry.volume for entry in same)
    basis = layer.basis or ((_STATED,) if layer.stated else (_GEOMETRY,))

    def of_layer(key: str, name: str, figure: Figure) -> Named:
        return Named(key=key, name=name, of=part.name, figure=figure)

    learned = f"learned from {layer.learned}" if layer.learned and layer.role == "shell" else ""
    low, high = 1 - _FILL, 1 + _FILL
    if layer.thickness is not None and layer.thickness_low is not None and layer.thickness_high is not None:
        low, high = layer.thickness_low / layer.thickness, layer.thickness_high / layer.thickness
    elif layer.stated:
        low, high = 0.98, 1.02
    yield of_layer(
        "layer_mass",
        "mass in one piece",
        Figure(
            value=1000 * mass, unit="g", low=1000 * mass * low, high=1000 * mass * high, basis=basis, measured=learned
        ),
    )
    yield of_layer(
        "layer_volume",
        "volume in one piece",
        Figure(value=1e6 * volume, unit="ml", low=1e6 * volume * low, high=1e6 * volume * high, basis=basis),
    )
    if layer.thickness is not None:
        yield of_layer(
            "thickness",
            "thickness",
            Figure(
                value=1000 * layer.thickness,
                unit="mm",
                low=None if layer.thickness_low is None else 1000 * layer.thickness_low,
                high=None if layer.thickness_high is None else 1000 * layer.thickness_high,
                basis=basis,
                measured=learned,
            ),
        )
    yield from coat_figures(view, layer)


def _softness(view: View, layer: Layer, part: Part) -> Iterator[Named]:
    if layer.role not in ("heart", "inner heart", "body") or part.cooked.composition.water < 0.05:
        return
    if layer.role == "body":
        temperature = serving_temperature(view, "body")
        low, middle, high = ice_volume_of(part, temperature)
    else:
        cold, warm = view.ready
        low, middle, high = (
            ice_volume_of(part, warm)[0],
            ice_volume_of(part, sum(view.ready) / 2)[1],
            ice_volume_of(part, cold)[2],
        )
    told = softness(middle)
    yield Named(
        key="softness",
        name="ice when eaten, of the volume",
        of=part.name,
        figure=Figure(
            value=100 * middle,
            unit="%",
            low=100 * max(low - 0.03, 0.0) if high > 0 else 0.0,
            high=100 * min(high + 0.03, 1.0) if high > 0 else 0.0,
            basis=(basis_of(softness), basis_of(ice_fraction)),
            note=str(told),
        ),
    )
    yield from soft_figures(part)
    yield from good_figures(part, serving_temperature(view, layer.role))
