"""Shell, skin and bath as figures: what a dip does to piece and pot, what a spray lands, and how soon frost settles."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache

from demoule.dossier.answer import Named
from demoule.dossier.view import View
from demoule.errors import DemouleError
from demoule.figures import Basis, Figure
from demoule.physics.bath import BathPlan, plan_bath
from demoule.physics.coating import coating_of
from demoule.physics.frost import Frost, frost_time
from demoule.piece.built import Layer
from demoule.piece.design import Dip
from demoule.units import Fraction, Kelvin, Metre, SquareMetre

__all__ = [
    "HOLDS",
    "RIME",
    "Bench",
    "bath_of",
    "bench_of",
    "coat_figures",
    "frost_figures",
    "second_dip_figures",
    "standing",
]

RIME, HOLDS = 0.002, 0.005  # kg/m2: a bloom that is seen, and one that spoils the hold of a velvet (judged)
_WARMS = 0.018  # K/s, a small piece out of the freezer: 4 to 7 K in five minutes (judged)
_CLEARANCE: Metre = 0.010
_DAMP = (0.40, 0.50, 0.65)  # humidity of a room that tells none, least, middle and most (practice)
_UNTOLD = Basis(model="humidity of a kitchen that is not told", source="practice", valid="40 to 65 %", stretched=True)


def _named(key: str, name: str, of: str, figure: Figure) -> Named:
    return Named(key=key, name=name, of=of, figure=figure)


def coat_figures(view: View, layer: Layer) -> Iterator[Named]:
    """Figures of one shell or one spray."""
    of = layer.component
    if layer.warmed_to is not None and layer.heat is not None:
        what = "dip" if layer.role == "shell" else "spray"
        warmed = layer.warmed_to - 273.15
        figure = Figure(
            value=warmed,
            unit="°C",
            low=warmed - 1.5,
            high=warmed + 1.5,
            basis=layer.basis,
            note="throughout, once even",
        )
        yield _named("dipped_to" if what == "dip" else "sprayed_to", f"the piece after the {what}", of, figure)
        heat = layer.heat / 1000
        share = 0.15 if layer.learned or layer.stated else 0.4
        yield _named(
            "heat_taken",
            f"heat that the {what} brings",
            of,
            Figure(value=heat, unit="kJ", low=heat * (1 - share), high=heat * (1 + share), basis=layer.basis),
        )
    if layer.dipped is not None:
        yield from _dip_figures(view, layer)
    elif layer.role == "spray" and layer.taken is not None and layer.area > 0:
        learned = f"learned from {layer.learned}" if layer.learned else ""
        per = 1000 * layer.mass / layer.area
        yield _named(
            "per_area",
            "lands on the surface",
            of,
            Figure(value=per, unit="g/m2", low=0.9 * per, high=1.1 * per, basis=layer.basis),
        )
        used = 1000 * layer.taken
        spread = 0.1 if learned else 0.25
        yield _named(
            "sprayed",
            "sprayed for one piece",
            of,
            Figure(
                value=used,
                unit="g",
                low=used * (1 - spread),
                high=used * (1 + spread),
                basis=layer.basis,
                measured=learned,
                note=f"{100 * (1 - layer.mass / layer.taken):.0f} % misses it",
            ),
        )


def _dip_figures(view: View, layer: Layer) -> Iterator[Named]:
    shell, of = layer.dipped, layer.component
    assert shell is not None  # asked only then
    basis = shell.basis
    yield _named(
        "set_time",
        "until nothing flows",
        of,
        Figure(
            value=shell.set_time,
            unit="s",
            low=0.6 * shell.set_time,
            high=1.6 * shell.set_time,
            basis=basis,
            note="it may be touched after 20 to 60 s (practice)",
        ),
    )
    low, high = (1000 * share for share in shell.foot)
    yield _named(
        "foot",
        "gathers at the lowest point",
        of,
        Figure(value=(low + high) / 2, unit="g", low=low, high=high, basis=basis, note="counted in the shell; wipe it"),
    )
    plan = bath_of(view, layer)
    if plan is None:
        return
    started = view.worked.weighing.started
    yield _named(
        "bath_pieces",
        "pieces before the bath must be topped up",
        of,
        Figure(
            value=float(plan.per_round),
            unit="1",
            low=math.floor(plan.per_round * layer.mass / shell.mass_high) if shell.mass_high > 0 else None,
            high=math.ceil(plan.per_round * layer.mass / shell.mass_low) if shell.mass_low > 0 else None,
            basis=basis,
            note=f"from {1000 * plan.start:.0f} g down to {1000 * plan.least:.0f} g",
        ),
    )
    back = [100 * mass / (plan.start + plan.added) for mass in plan.comes_back]
    yield _named(
        "bath_comes_back",
        "of the bath comes back",
        of,
        Figure(value=sum(back) / 2, unit="%", low=back[0], high=back[1], basis=basis, note=f"after {started} pieces"),
    )
    rise = 1000 * plan.level_rise
    yield _named(
        "bath_rises",
        "the level rises with a piece in it",
        of,
        Figure(value=rise, unit="mm", low=0.9 * rise, high=1.1 * rise, basis=basis, note="leave so much at the rim"),
    )
    drop = plan.drop * 20 / started
    yield _named(
        "bath_cools",
        "the unheated bath loses over 20 pieces",
        of,
        Figure(
            value=drop,
            unit="K",
            low=0.5 * drop,
            high=1.5 * drop,
            basis=basis,
            note=f"{plan.heat_drawn / 1000:.1f} kJ by all",
        ),
    )


def second_dip_figures(view: View, layer: Layer) -> Iterator[Named]:
    """What a further dip into the same coating adds, and what the shells come to together."""
    of, shells = layer.component, [one for one in view.worked.piece.layers if one.component == layer.component]
    shell = layer.dipped
    assert shell is not None  # asked only then
    learned = f"learned from {layer.learned}" if layer.learned else ""

    def spread(value: float, unit: str, note: str = "") -> Figure:
        low, high = shell.thickness_low / shell.thickness, shell.thickness_high / shell.thickness
        return Figure(
            value=value, unit=unit, low=low * value, high=high * value, basis=shell.basis, measured=learned, note=note
        )

    if layer.thickness is None:
        return
    first = shells[0].mass
    share = f"{100 * layer.mass / first:.0f} % of the first" if first > 0 else ""
    yield _named("next_dip", "a further dip adds", of, spread(1000 * layer.thickness, "mm", share))
    together = sum(one.thickness or 0.0 for one in shells)
    yield _named("whole_shell", "all dips together", of, spread(1000 * together, "mm"))
    if layer.warmed_to is not None:
        warmed = layer.warmed_to - 273.15
        figure = Figure(value=warmed, unit="°C", low=warmed - 1.5, high=warmed + 1.5, basis=layer.basis)
        yield _named("dipped_again_to", "the piece after a further dip", of, figure)


def bath_of(view: View, layer: Layer) -> BathPlan | None:
    """The pot for a shell and all pieces that are started; None where the kitchen tells no bath."""
    baths, shell = view.worked.kitchen.baths, layer.dipped
    if not baths or shell is None:
        return None
    part = view.part(layer.component)
    if part is None:
        return None
    bath = min(baths, key=lambda one: one.least)
    piece = view.worked.piece
    try:
        coating = coating_of(part.cooked.composition)
        # A straight pot in which just the least that it may hold covers the piece.
        area = (bath.least / coating.density + piece.cavity_volume) / (piece.height + 2 * _CLEARANCE)
        return plan_bath(
            coating,
            shell,
            pieces=view.worked.weighing.started,
            pot_area=area,
            piece_height=piece.height,
            piece_volume=piece.cavity_volume,
            start=max(bath.most, bath.least * 1.0001),
        )
    except DemouleError:
        return None  # what is wrong with the bath is said where it is dipped


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """Where pieces stand while they are finished: its air, and its humidity, least, likely and most."""

    name: str
    air: Kelvin
    humidity: tuple[Fraction, Fraction, Fraction]
    told: bool


def bench_of(view: View) -> Bench:
    """The room called bench, else a room above 8 °C that tells its humidity, else the warm kitchen."""
    kitchen = view.worked.kitchen
    room = kitchen.room("bench") or next(
        (one for one in kitchen.rooms if one.humidity is not None and one.air > 281.15), None
    )
    if room is None:
        return Bench(name="kitchen", air=kitchen.air, humidity=_DAMP, told=False)
    if room.humidity is None:
        return Bench(name=room.name, air=room.air, humidity=_DAMP, told=False)
    return Bench(name=room.name, air=room.air, humidity=(room.humidity,) * 3, told=True)


def standing(view: View, mass: float) -> tuple[Frost, Frost, Frost]:
    """Frost of a mass per area on a piece out of the freezer: in the driest, likely and dampest air [kg/m2]."""
    bench = bench_of(view)
    area: SquareMetre = view.worked.piece.cavity_area
    dips = [skin.piece for skin in view.worked.dessert.piece.skins if isinstance(skin, Dip)]
    surface = dips[0] if dips else min(view.kept_at, 255.15)
    diameter = math.sqrt(area / math.pi)
    first, second, third = (_settled(surface, bench.air, damp, diameter, mass) for damp in bench.humidity)
    run = view.worked.cold.stage("dip and spray")
    mark = None if run is None else run.marks.get("rime" if mass == RIME else "frost")
    if run is not None and mark is not None and mark.time is not None and run.room.air == bench.air:
        # The piece was followed on the bench, its surface with it: that wins over a surface that warms evenly.
        first = replace(first, high=mark.high)
        second = replace(second, time=mark.time, low=mark.low, high=mark.high)
        third = replace(third, low=mark.low)
    return first, second, third


@lru_cache(maxsize=256)
def _settled(surface: Kelvin, air: Kelvin, humidity: Fraction, diameter: Metre, mass: float) -> Frost:
    return frost_time(surface, air, humidity, diameter=diameter, mass=mass, warms=_WARMS)


def frost_figures(view: View) -> Iterator[Named]:
    """How soon rime is seen on a piece that stands on the bench, and how soon it spoils what comes on top."""
    bench = bench_of(view)
    for key, name, mass in (
        ("first_frost", "frost is seen on a piece out of the freezer after", RIME),
        ("frost_spoils", "frost spoils the hold of a skin after", HOLDS),
    ):
        dry, likely, damp = standing(view, mass)
        basis = likely.basis if bench.told else (*likely.basis, _UNTOLD)
        told = (
            f"{1000 * mass:.0f} g/m² in “{bench.name}”, {bench.air - 273.15:.0f} °C and {100 * bench.humidity[1]:.0f} %"
        )
        yield _named(
            key,
            name,
            "piece",
            Figure(
                value=None if likely.time is None else likely.time / 60,
                unit="min",
                low=None if damp.low is None else damp.low / 60,
                high=None if dry.high is None else dry.high / 60,
                basis=basis,
                note=told if likely.time is not None else f"never: {told} lies above the dew point",
            ),
        )
    dew = likely.dew_point - 273.15
    yield _named(
        "dew_point",
        "it sweats while its surface is below",
        "piece",
        Figure(value=dew, unit="°C", low=dry.dew_point - 273.15 - 0.5, high=damp.dew_point - 273.15 + 0.5, basis=basis),
    )
