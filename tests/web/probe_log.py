"""A log as a logger would have written it, of a piece in a room that is not as its file tells."""

from __future__ import annotations

import datetime
from dataclasses import replace
from functools import cache

import numpy as np

from demoule.cold import run_programme
from demoule.files import demo_text
from demoule.web.reading import dessert_in, kitchen_in
from demoule.worked import varied_from, work_up

TRUE_H, TRUE_AIR = 24.0, 238.65  # what the room of the log really is; its file says 18 and 237.15


@cache
def log(hours: float = 3.0) -> bytes:
    """What a logger with 0.3 K of noise writes in a piece in a stronger and warmer room than the file tells."""
    text = demo_text("kitchen.yaml")
    dessert, kitchen = dessert_in(demo_text("apricot.yaml"), text, ""), kitchen_in(text)
    worked = work_up(dessert, kitchen)
    whole = varied_from(worked)
    stated = next(room for room in kitchen.rooms if room.name == "blast freezer")
    rooms = [
        replace(room, surface=TRUE_H, air=TRUE_AIR) if room.name == "blast freezer" else room for room in kitchen.rooms
    ]
    stages = [
        replace(s, own_room=stated) if s.what == "harden heart" else replace(s, until=None, duration=hours * 3600)
        for s in whole.programme.stages
        if s.what in ("harden heart", "harden piece")
    ]
    run = run_programme(
        worked.piece,
        worked.cooked,
        replace(whole.programme, stages=tuple(stages)),
        rooms,
        filled_at=whole.filled_at,
        kitchen_air=kitchen.air,
        bands=False,
    ).stage("harden piece")
    assert run is not None
    time = np.arange(0, hours * 3600, 60.0)
    core = np.interp(time, run.curve.time, run.curve.core) - 273.15
    core += np.random.default_rng(3).normal(0, 0.3, len(time))
    begun = datetime.datetime(2026, 11, 12, 9, 10)
    moments = [begun + datetime.timedelta(seconds=float(second)) for second in time]
    rows = [f"{at:%Y-%m-%d %H:%M:%S};{read:.1f};-34" for at, read in zip(moments, core, strict=True)]
    return "\n".join(["time;piece (°C);door (°C)", *rows]).encode()
