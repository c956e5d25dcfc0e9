"""What a chef may try in the cold room: rooms and the heart, moved on the values themselves and kept nowhere."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from demoule.batch import Kitchen
from demoule.errors import BadInput
from demoule.units import ZERO_CELSIUS, Kind, parse
from demoule.units.showing import Language, System
from demoule.web.wording import in_french
from demoule.worked import Dessert

__all__ = ["levers_of", "tried"]

_AIR_REACH = 8.0  # K either way
_WIND_REACH = 0.5  # of the value
_HEART_REACH = 0.3
_WIDE, _FINE = 1.0, 0.5


def levers_of(
    dessert: Dessert, kitchen: Kitchen, system: System = "metric", language: Language = "en"
) -> list[dict[str, Any]]:
    """Values that may be moved, each with its range: air and wind of the rooms of the programme, and the heart.

    What was learned of a room stands in place of what is stated, so a lever moves that.
    """
    used: dict[str, bool] = {}  # rooms, and whether something hardens there
    for stage in dessert.programme.stages:
        used[stage.room] = used.get(stage.room, False) or stage.what.startswith("harden")
    found = []
    for room in kitchen.rooms:
        if room.name not in used:
            continue
        air, of = room.air - ZERO_CELSIUS, in_french(room.name) if language == "fr" else room.name
        if system == "us":
            found.append(_lever(f"/rooms/{room.name}/air", "air", of, 1.8 * air + 32, "°F", 14.0, _WIDE))
        else:
            found.append(_lever(f"/rooms/{room.name}/air", "air", of, air, "°C", _AIR_REACH, _FINE))
        if room.surface is not None and used[room.name]:
            reach = round(room.surface * _WIND_REACH)
            found.append(_lever(f"/rooms/{room.name}/blows", "blows", of, room.surface, "W/m²K", reach, _FINE))
    heart = dessert.piece.heart
    if heart is not None and heart.volume is not None:
        size = 1e6 * heart.volume
        found.append(_lever("/heart/volume", "volume", "", size, "ml", round(size * _HEART_REACH), _FINE))
    return found


def _lever(at: str, what: str, of: str, value: float, unit: str, reach: float, step: float) -> dict[str, Any]:
    here = round(value, 1)  # where the lever stands is what is so; its steps count from the least
    return {
        "at": at,
        "what": what,
        "of": of,
        "value": here,
        "unit": unit,
        "least": round(here - reach, 1),
        "most": round(here + reach, 1),
        "step": step,
        "written": f"{here:g} {unit}",
    }


def tried(dessert: Dessert, kitchen: Kitchen, what_if: Mapping[str, str]) -> tuple[Dessert, Kitchen]:
    """Dessert and kitchen with what is tried.

    Raises
    ------
    BadInput
        A value that cannot be read, or a lever that is not there.
    """
    rooms = {room.name: room for room in kitchen.rooms}
    for at, value in what_if.items():
        if at == "/heart/volume" and dessert.piece.heart is not None:
            volume = parse(value, Kind.VOLUME, least=1e-6, most=1e-3).value
            heart = replace(dessert.piece.heart, volume=volume)
            dessert = replace(dessert, piece=replace(dessert.piece, heart=heart))
            continue
        _, _, rest = at.partition("/rooms/")
        name, _, key = rest.rpartition("/")
        if name not in rooms or key not in ("air", "blows"):
            raise BadInput("There is nothing to try under this name.", where=at, remedy="load the page again.")
        if key == "air":
            air = parse(value, Kind.TEMPERATURE, least=173.15, most=333.15).value
            rooms[name] = replace(rooms[name], air=air)
        else:
            taken = parse(value, Kind.SURFACE_COEFFICIENT, least=1.0, most=200.0).value
            rooms[name] = replace(rooms[name], surface=taken)
    return dessert, replace(kitchen, rooms=tuple(rooms.values()))
