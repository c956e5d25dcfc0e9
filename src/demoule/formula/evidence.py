"""Published and worked points beside what the models of cooking give for them."""

from __future__ import annotations

import numpy as np

from demoule.composition import Composition, Constituent
from demoule.figures import Evidence, Status
from demoule.formula.component import Pan
from demoule.formula.evaporation import evaporation_ceiling, evaporation_flux
from demoule.formula.matter import heat_capacity, mix_density
from demoule.formula.published import rows
from demoule.formula.surroundings import Chill
from demoule.formula.warmth import cooling, heating_time
from demoule.physics.heat import conductivity
from demoule.units import kelvin

__all__ = ["evidence"]

_WATER = Composition.of({Constituent.WATER: 1.0})
_PAN = 0.045  # m2


def evidence() -> list[Evidence]:
    """Everything the models of cooking are held against."""
    return [_evaporation(), _ceiling(), _heating(), _cooling()]


def _evaporation() -> Evidence:
    table = rows("pan_evaporation")
    at = tuple(float(row["temperature_c"]) for row in table)
    flux = [evaporation_flux(kelvin(t), kelvin(100.0)) for t in at]
    return Evidence(
        model="evaporation from an open pan",
        title="water off a pan of 24 cm, lid off, by the habit of the trade",
        source="practice",
        status=Status.PRACTICE,
        unit="g/min",
        at_name="temperature, °C",
        at=at,
        published=tuple(float(row["value"]) for row in table),
        computed=tuple(one.usual * _PAN * 60_000 for one in flux),
        tolerance=0.02,
        relative=True,
    )


def _ceiling() -> Evidence:
    (row,) = [row for row in rows("steam_and_water") if row["what"] == "latent heat"]
    return Evidence(
        model="evaporation that a hob can pay for",
        title="heat for a kilogram of steam",
        source=row["source"],
        status=Status(row["status"]),
        unit="kJ/kg",
        at_name="temperature, °C",
        at=(float(row["to_c"]),),
        published=(float(row["value"]),),
        computed=(1.0 / evaporation_ceiling(1000.0),),
        tolerance=2e-3,
        relative=True,
    )


def _heating() -> Evidence:
    table = [row for row in rows("steam_and_water") if row["what"] == "heating"]
    return Evidence(
        model="heating on a hob",
        title="heat to warm a kilogram of water",
        source="iapws-steam",
        status=Status.QUOTED,
        unit="kJ/kg",
        at_name="to temperature, °C",
        at=tuple(float(row["to_c"]) for row in table),
        published=tuple(float(row["value"]) for row in table),
        computed=tuple(
            heating_time(1.0, _WATER, kelvin(float(row["from_c"])), kelvin(float(row["to_c"])), 1000.0) for row in table
        ),
        tolerance=0.01,
        relative=True,
    )


def _cooling() -> Evidence:
    table = rows("slab_with_surface_resistance")
    return Evidence(
        model="cooling in a pan",
        title="time for a layer to come near its room, against the exact slab, in units of half depth squared",
        source=table[0]["source"],
        status=Status(table[0]["status"]),
        unit="1",
        at_name="Biot number",
        at=tuple(float(row["biot"]) for row in table),
        published=tuple(float(row["value"]) for row in table),
        computed=tuple(_fourier(float(row["biot"]), float(row["excess_left"])) for row in table),
        tolerance=0.005,
        relative=True,
    )


def _fourier(biot: float, excess: float) -> float:
    """Fourier number at which our layer has so much of its excess over the room left."""
    start, air, half, area = kelvin(80.0), kelvin(3.0), 0.02, 0.1
    end = air + excess * (start - air)
    density, capacity = mix_density(_WATER), heat_capacity(_WATER, (start + end) / 2)
    conduction = float(conductivity(_WATER.vector, (start + end) / 2))
    room = Chill(name="", air=air, surface=biot * conduction / half)
    times, _ = cooling(density * area * 2 * half, _WATER, start, end, room, Pan(name="", open_area=area))
    return float(np.max(times)) * conduction / (density * capacity) / half**2
