"""The questions that the cold room puts to the numerics."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from demoule.cold import StageRun, run_programme
from demoule.dossier.first import first_answer
from demoule.sheets.tokens import ThemeName
from demoule.units.showing import Language, System
from demoule.web import lessons
from demoule.web.cold_pictures import cold_told, moved_told
from demoule.web.reading import dessert_in, kitchen_in
from demoule.web.trying import levers_of, tried
from demoule.worked import MEMORY, Worked, varied_from, work_up

__all__ = ["COLD_QUESTIONS"]


def _worked(text: str, kitchen: str, prices: str, what_if: Mapping[str, str] | None = None) -> Worked:
    dessert, place = dessert_in(text, kitchen, prices), kitchen_in(kitchen, prices)
    return work_up(*tried(dessert, place, what_if or {}))


def cold(
    *,
    text: str,
    kitchen: str = "",
    prices: str = "",
    what_if: Mapping[str, str] | None = None,
    theme: ThemeName = "day",
    system: System = "metric",
    language: Language = "en",
) -> dict[str, Any]:
    """The cold room of a dessert: stages, curves, stills; `what_if` moves levers for a try."""
    return cold_told(_worked(text, kitchen, prices, what_if), theme=theme, system=system, language=language)


def cold_moved(
    *,
    text: str,
    kitchen: str = "",
    prices: str = "",
    what_if: Mapping[str, str],
    view: str = "",
    theme: ThemeName = "day",
    system: System = "metric",
    language: Language = "en",
) -> dict[str, Any]:
    """Hours and curves while a lever is being moved: with the bands of before and without pictures of the piece."""
    kept = worked = _worked(text, kitchen, prices)
    dessert, place = tried(kept.dessert, kept.kitchen, what_if)
    if dessert != kept.dessert:  # another heart is another piece, whose bands nobody waits for either
        worked = first_answer(dessert, place, memory=MEMORY).worked
    whole = varied_from(worked)
    run = run_programme(
        worked.piece,
        worked.cooked,
        whole.programme,
        place.rooms,
        filled_at=whole.filled_at,
        kitchen_air=place.air,
        pieces=worked.weighing.pieces,
        memory=MEMORY,
        bands=False,
    )
    stages = [_as_wide(one, was) for one, was in zip(run.stages, kept.cold.stages, strict=True)]
    return moved_told(stages, worked.piece, theme=theme, system=system, language=language, view=view)


def _as_wide(run: StageRun, was: StageRun) -> StageRun:
    """A stage without bands with those of the same stage before, to the same share: digits follow them."""

    def share(value: float | None, old: float | None, limit: float | None) -> float | None:
        return value * limit / old if value is not None and old and limit is not None else None

    window = run.window
    if window is not None and was.window is not None:
        window = replace(
            window,
            opens_low=share(window.opens, was.window.opens, was.window.opens_low),
            opens_high=share(window.opens, was.window.opens, was.window.opens_high),
            closes_low=share(window.closes, was.window.closes, was.window.closes_low),
            closes_high=share(window.closes, was.window.closes, was.window.closes_high),
        )
    low, high = share(run.time, was.time, was.low), share(run.time, was.time, was.high)
    return replace(run, low=low, high=high, window=window)


def levers(
    *, text: str, kitchen: str = "", prices: str = "", system: System = "metric", language: Language = "en"
) -> list[dict[str, Any]]:
    """What may be tried in the cold room, each with its range."""
    return levers_of(dessert_in(text, kitchen, prices), kitchen_in(kitchen, prices), system, language)


def log_told(*, data: bytes, name: str, theme: ThemeName = "day", language: Language = "en") -> dict[str, Any]:
    """What was read in a probe log."""
    return lessons.log_told(data=data, name=name, theme=theme, language=language)


def taught(*, text: str, kitchen: str = "", prices: str = "", now: str, **given: Any) -> dict[str, Any]:
    """What a probe log teaches of a room; `now` is a moment in ISO 8601, without a zone."""
    return lessons.taught(
        dessert_in(text, kitchen, prices),
        kitchen_in(kitchen, prices),
        now=datetime.datetime.fromisoformat(now),
        **given,
    )


def kept_lesson(*, kitchen: str, room: str, line: Mapping[str, str]) -> str:
    """A kitchen's text that keeps a lesson."""
    return lessons.kept_lesson(kitchen=kitchen, room=room, line=line)


COLD_QUESTIONS = {function.__name__: function for function in (cold, cold_moved, levers, log_told, taught, kept_lesson)}
"""What a worker can be asked of the cold, by name."""
