"""How long hands are busy with one making of a component, by the habit of the trade."""

from __future__ import annotations

from demoule.formula.component import Bake, Blanch, Blend, Boil, Candy, Component, Cook, Fold, Heat, Step, Whip
from demoule.units import Second

__all__ = ["hands_on", "weighing_time"]

_MINUTE = 60.0

# Setting up and cleaning down, and work on one batch [min]; for experienced hands a third up the
# usual range (practice).
_PER_LINE = 40.0 / 60
_WORK: tuple[tuple[str, tuple[type[Step], ...], float], ...] = (
    ("candying", (Candy,), 15.0 + 27.0),
    ("baking", (Bake,), 20.0 + 30.0),
    ("whipping", (Whip, Fold), 15.0 + 14.5),
    ("hot work", (Heat, Boil, Cook, Blanch), 13.0 + 20.0),
    ("blending", (Blend,), 5.0 + 5.0),
)
_SYRUP = 8.0
"""Sugar and water brought to the boil, and nothing else: no stirring, little to clean."""


def weighing_time(component: Component) -> Second:
    """Seconds to weigh the lines of one making, 40 s each (practice)."""
    return _PER_LINE * len(component.weighed) * _MINUTE


def hands_on(component: Component, noted: Second = 0.0) -> Second:
    """Seconds of work for one making: each line weighed, and each kind of work once.

    Notes
    -----
    A component that is heated and candied counts the candying, which has its heating in it, and a whisked sheet its
    baking; one that is heated and then whipped counts both, as base and whipping are two turns at the bench. Minutes
    of notes come on top.
    Source: practice.
    """
    minutes = _PER_LINE * len(component.weighed)
    kinds = {kind for kind, steps, _ in _WORK if any(isinstance(step, steps) for step in component.steps)}
    if "candying" in kinds:
        kinds -= {"hot work", "blending"}
    if "baking" in kinds:
        kinds -= {"whipping"}
    if kinds & {"hot work", "whipping", "baking"}:
        kinds -= {"blending"}
    only_boiled = bool(component.steps) and all(isinstance(step, Boil | Heat) for step in component.steps)
    for kind, _, time in _WORK:
        if kind in kinds:
            minutes += _SYRUP if kind == "hot work" and only_boiled else time
    return minutes * _MINUTE + noted
