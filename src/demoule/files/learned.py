"""What a probe log taught of a room, as the line of the kitchen's text that keeps it."""

from __future__ import annotations

import datetime

from demoule.cold.learning import Lesson
from demoule.files.editing import edited
from demoule.files.kitchen import kitchen_of
from demoule.files.tree import read_trees
from demoule.units import ZERO_CELSIUS

__all__ = ["conduction_line", "learned_line", "with_lesson"]


def learned_line(lesson: Lesson, today: datetime.date) -> dict[str, str]:
    """What the kitchen's text keeps: from which log, of which day, and what it taught.

    `today` stands in where the log has no dates.
    """
    begun = lesson.record.begun
    return {
        "from": lesson.record.name,
        "measured": (begun.date() if begun else today).isoformat(),
        "stage": lesson.stage,
        "blows": f"{lesson.surface.value:.3g} W/m²K",
        "give or take": f"{100 * lesson.band:.0f} %",
        "air": f"{lesson.air.value - ZERO_CELSIUS:.1f} °C",
    }


def conduction_line(lesson: Lesson, dessert: str, known: float, today: datetime.date) -> dict[str, str] | None:
    """What the kitchen's text keeps of how a dessert's mixes conduct; None: the log was not asked.

    `known` is the factor that was already counted in when the log was read.
    """
    if lesson.body is None:
        return None
    line = learned_line(lesson, today)
    band = (lesson.body.high - lesson.body.low) / 2 / lesson.body.value
    return {
        "conducts": f"{100 * known * lesson.body.value:.0f} %",
        "give or take": f"{100 * band:.0f} %",
        "dessert": dessert,
        "from": line["from"],
        "measured": line["measured"],
    }


def with_lesson(
    text: str,
    room: str,
    line: dict[str, str],
    *,
    conduction: dict[str, str] | None = None,
    name: str = "kitchen",
) -> str:
    """A kitchen's text that keeps what was learned of a room, and of how a dessert's mixes conduct; the rest stays.

    Raises
    ------
    Mistakes
        When the text is no kitchen afterwards.
    """
    changes: dict[str | tuple[str | int, ...], dict[str, str] | dict[str, dict[str, str]]] = {
        ("rooms", room, "learned"): line
    }
    if conduction is not None:
        where = f"conduction of {conduction['dessert']}"
        has_any = isinstance(read_trees(text, name)[0].value.get("calibrations"), dict)
        if has_any:
            changes[("calibrations", where)] = conduction
        else:
            changes[("calibrations",)] = {where: conduction}
    text = edited(text, changes, name=name)
    kitchen_of(text, name)
    return text
