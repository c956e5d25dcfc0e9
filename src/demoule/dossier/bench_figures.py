"""Syrup, candied fruit, gel and ganache as figures: what the bench asks beside composition and cold."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import lru_cache

from demoule.cold.programme import Room
from demoule.cold.quick import CoreTime, cool_pan
from demoule.composition import Composition
from demoule.dossier.answer import Named
from demoule.dossier.checks.foam import judged_whipping
from demoule.dossier.checks.gelling import found_weeping, gel_settings
from demoule.dossier.checks.grain import coldest_unfrozen, grains_of
from demoule.dossier.mixture_figures import gelling_shares, is_agent
from demoule.dossier.view import Part, View
from demoule.dossier.words import degrees, listed
from demoule.errors import DemouleError
from demoule.figures import Figure, basis_of
from demoule.formula.component import Bake, Cool, Rest, SetGel
from demoule.physics import density_of_mix
from demoule.physics.ganache import emulsion
from demoule.physics.gelatine import gelatine_firmness, hydration_water
from demoule.physics.gels import relative_firmness
from demoule.physics.thermal import thermal_table
from demoule.physics.whipping import ripe_after
from demoule.units import Kelvin, Metre, kelvin

__all__ = ["bench_figures", "sets_in"]

_HOT: Kelvin = kelvin(50)
_SOUR = 5.5  # pH above which a kitchen splits no sucrose worth telling
_TOLD = 0.005  # share of the sucrose below which nothing is said
_SYRUPY, _SWEET = 0.03, 0.15
_RICH = 0.15


def _named(key: str, name: str, part: Part, figure: Figure) -> Named:
    return Named(key=key, name=name, of=part.name, figure=figure)


def bench_figures(view: View, part: Part) -> Iterator[Named]:
    """All of one component."""
    for reading in part.cooked.readings:
        yield _named(reading.key, reading.name, part, reading.figure)
    if part.steps(Bake):
        return
    yield from _syrup(part)
    yield from _gels(view, part)
    yield from _fat(part)


# ---- syrup


def _syrup(part: Part) -> Iterator[Named]:
    composition = part.cooked.composition
    if composition.water < _SYRUPY or composition.sugars < _SWEET or composition.fat > 0.25:
        return
    found = grains_of(part)
    yield _named(
        "supersaturation",
        f"{found.sugar} over what stays dissolved",
        part,
        Figure(
            value=max(found.coefficient, found.glucose, found.lactose),
            unit="1",
            low=_by_acid(part, found.low, least=True) if found.sugar == "sucrose" else None,
            high=_by_acid(part, found.high, least=False) if found.sugar == "sucrose" else None,
            basis=found.basis,
            note=f"at {degrees(coldest_unfrozen(part))}: it {found.grain_class.value}",
        ),
    )


def _by_acid(part: Part, edge: float, *, least: bool) -> float:
    """An edge of a supersaturation, moved by what acid may have split more, or less, than counted."""
    split = next((reading.figure for reading in part.cooked.readings if reading.key == "inverted"), None)
    if split is None or split.value is None or split.low is None or split.high is None or split.value >= 99:
        return edge
    return edge * (100 - (split.high if least else split.low)) / (100 - split.value)


# ---- gels


def _gels(view: View, part: Part) -> Iterator[Named]:
    for kind, setting, dose in gel_settings(part):
        low, high = (t - 273.15 for t in setting.below)
        yield _named(
            "sets_below",
            f"{kind} sets below",
            part,
            Figure(
                value=(low + high) / 2,
                unit="°C",
                low=low,
                high=high,
                basis=setting.basis,
                note=f"sets: {setting.sets}" + (f" ({listed(setting.reasons, 3)})" if setting.reasons else ""),
            ),
        )
        likely, weakest, strongest = setting.strength
        if likely < 0.995:
            yield _named(
                "gel_left",
                f"of the strength of the {kind} left",
                part,
                Figure(
                    value=100 * likely,
                    unit="%",
                    low=100 * weakest,
                    high=100 * strongest,
                    basis=setting.basis,
                    note=f"{setting.dose[0]:.2g} to {setting.dose[1]:.2g} times the dose makes up for it",
                ),
            )
        yield from _setting_time(view, part, setting.below)
        yield from _against_good(part, kind, dose)
    yield from _gelatine(view, part)
    for kind, weeps in found_weeping(view, part):
        yield _named(
            "weeping",
            f"weeps after freezing ({kind})",
            part,
            Figure(
                value=float(weeps.weep_class),
                unit="1",
                low=float(weeps.low),
                high=float(weeps.high),
                basis=weeps.basis,
                note=f"{weeps.weep_class.words}, of 0 none to 3 spongy"
                + (f"; less with {listed(weeps.lowered_by, 3)}" if weeps.lowered_by and weeps.weep_class > 0 else ""),
            ),
        )


def _gelatine(view: View, part: Part) -> Iterator[Named]:
    agents = [c for c in part.contents("gelatine") if is_agent(c.ingredient) and part.weighs(c.ingredient.name)]
    if not agents:
        return
    share = gelling_shares(part, "gelatine")
    mass = share * part.cooked.mass
    usual, low, high = (1000 * water for water in hydration_water(mass))
    yield _named(
        "swelling_water",
        "water that its gelatine swells in",
        part,
        Figure(
            value=usual,
            unit="g",
            low=low,
            high=high,
            basis=(basis_of(gelatine_firmness),),
            note="of the recipe's water",
        ),
    )
    bloom = sum(c.mass * (c.ingredient.bloom_strength or 200.0) for c in agents) / sum(c.mass for c in agents)
    concentration = share / (share + part.cooked.composition.water)
    firm = float(gelatine_firmness(concentration, bloom))
    yield _named(
        "gelatine_firmness",
        "firmness of its gelatine, as a Bloom reading",
        part,
        Figure(
            value=firm,
            unit="1",
            low=0.75 * firm,
            high=1.25 * firm,
            basis=(basis_of(gelatine_firmness),),
            note=f"{100 * concentration:.2g} % on the water; compare recipes by it, not textures",
        ),
    )
    if part.cooked.air < 0.05:
        yield from _setting_time(view, part, (kelvin(15), kelvin(20)))
    yield from _against_good(part, "gelatine", concentration)


def _against_good(part: Part, kind: str, dose: float) -> Iterator[Named]:
    good = part.recipe.good
    if good is None or good.gelling is None:
        return
    try:
        reference = good.gelling
        if kind == "gelatine":  # told of the whole mix, as the dossier prints it
            reference = reference / (reference + part.cooked.composition.water)
        firm = relative_firmness(kind, dose, reference)
    except DemouleError:
        return
    yield _named(
        "firmness_to_good",
        "firmness over that of the good batch",
        part,
        Figure(
            value=firm.ratio,
            unit="1",
            low=firm.low,
            high=firm.high,
            basis=(basis_of(relative_firmness),),
            measured="the chef's good batch",
        ),
    )


def sets_in(view: View, part: Part, below: Kelvin) -> CoreTime | None:
    """How long the middle of the pan takes to come through its setting point in the room told; None without a step."""
    steps = [step for step in part.recipe.steps if isinstance(step, (Cool, SetGel, Rest))]
    if not steps:
        return None
    step = steps[0]
    kitchen = view.worked.kitchen
    name = step.room if isinstance(step, Cool) else ""
    chilled = [room for room in kitchen.rooms if 273.15 <= room.air <= 281.15]
    room = kitchen.room(name) if name else (chilled[0] if chilled else None)
    if room is None:
        room = Room(name="refrigerator", air=kelvin(3), surface=10.0)
    if room.air >= below - 1:
        return None
    depth: Metre = 0.040
    pan = step.pan if isinstance(step, Cool) else None
    if pan is not None and pan.open_area > 0:
        depth = part.cooked.mass / part.cooked.mix_density / pan.open_area
    hot = max((moment.temperature for moment in part.cooked.history), default=kelvin(60))
    if hot <= below:
        return None
    return _cooled(part.cooked.composition, round(depth, 4), round(hot, 1), round(below, 1), room)


@lru_cache(maxsize=128)
def _cooled(composition: Composition, depth: Metre, hot: Kelvin, below: Kelvin, room: Room) -> CoreTime | None:
    table = thermal_table(composition.vector, float(density_of_mix(composition.vector)))
    try:
        return cool_pan(table=table, depth=depth, start=min(hot, 375.0), until=below, room=room)
    except DemouleError:
        return None


def _setting_time(view: View, part: Part, below: tuple[Kelvin, Kelvin]) -> Iterator[Named]:
    cooled = sets_in(view, part, below[0])
    if cooled is None or cooled.time is None:
        return
    yield _named(
        "sets_in",
        "the middle of its pan comes through the setting point after",
        part,
        Figure(
            value=cooled.time / 60,
            unit="min",
            low=None if cooled.low is None else cooled.low / 60,
            high=None if cooled.high is None else cooled.high / 60,
            basis=(basis_of(cool_pan),),
            note=f"through {degrees(below[0])}; it firms up for hours after that",
        ),
    )


# ---- fat


def _fat(part: Part) -> Iterator[Named]:
    composition = part.cooked.composition
    if composition.fat > _RICH and composition.water > 0.05:
        found = emulsion(composition)
        yield _named(
            "fat_phase",
            "fat, of the volume of fat and water phase",
            part,
            Figure(
                value=100 * found.fat_share,
                unit="%",
                low=97 * found.fat_share,
                high=103 * found.fat_share,
                basis=found.basis,
                note=f"{found.emulsion_class.value}; {found.fat_per_water:.2g} of fat to 1 of water",
            ),
        )
        solids = 100 * found.water_phase_solids
        yield _named(
            "water_phase",
            "sugars of its water phase",
            part,
            Figure(value=solids, unit="%", low=0.98 * solids, high=1.02 * solids, basis=found.basis),
        )
    judged = judged_whipping(part)
    if judged is None:
        return
    check, rest_at, cools_for = judged
    ripe = check.ripeness
    yield _named(
        "fat_ripe",
        "of its fat has set by the end of the rest",
        part,
        Figure(
            value=100 * ripe.share,
            unit="%",
            low=100 * ripe.low,
            high=100 * ripe.high,
            basis=check.basis,
            note="ready to whip" if ripe.ready else "not ready to whip",
        ),
    )
    likely, low, high = (seconds / 3600 for seconds in ripe_after(rest_at, cools_for=cools_for))
    yield _named(
        "ripe_after",
        "hours of rest until it whips",
        part,
        Figure(
            value=likely,
            unit="h",
            low=min(low, high),
            high=max(low, high),
            basis=check.basis,
            note=f"at {degrees(rest_at)}" + (f", {cools_for / 3600:.1f} h of it to get cold" if cools_for > 0 else ""),
        ),
    )
    if math.isfinite(check.solid):
        yield _named(
            "fat_solid",
            "of its fat is solid under the whisk",
            part,
            Figure(
                value=100 * check.solid,
                unit="%",
                low=max(100 * check.solid - 10, 0.0),
                high=min(100 * check.solid + 10, 100.0),
                basis=check.basis,
                note=f"whips: {check.whips}; its foam {check.stands}",
            ),
        )
