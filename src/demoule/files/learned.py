"""What a probe log taught of a room, as the line of the kitchen's text that keeps it."""

from __future__ import annotations

import datetime

from demoule.cold.learning import Lesson
from demoule.files.editing import edited
from demoule.files.kitchen import kitchen_of
from demoule.units import ZERO_CELSIUS

__all__ = ["learned_line", "with_lesson"]


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


def with_lesson(text: str, room: str, line: dict[str, str], *, name: str = "kitchen") -> str:
    """A kitchen's text that keeps what was learned of a room; the rest of it stays as it is.

    Raises
    ------
    Mistakes
        When the text is no kitchen afterwards.
    """
    text = edited(text, {("rooms", room, "learned"): line}, name=name)
    kitchen_of(text, name)
    return text
