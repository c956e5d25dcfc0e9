"""Remedies that are one change of the file: so much more of something, or one thing for another."""

from __future__ import annotations

from demoule.dossier.view import Part
from demoule.figures import Offer
from demoule.formula.component import Weighed
from demoule.units import Kilogram

__all__ = ["instead", "more_of", "written_at"]

_FINE: Kilogram = 0.020  # below it a scale is read to a tenth of a gram


def more_of(part: Part, what: str, mass: Kilogram) -> tuple[Offer, ...]:
    """So much more of an ingredient in a component as it is written; nothing where the file does not weigh in masses.

    Parameters
    ----------
    what
        As a new line would name it.
    mass
        To add [kg], to the component as its recipe is written.
    """
    changed = _changed(part, what, mass)
    return (Offer(changes=(changed,)),) if changed else ()


def instead(part: Part, old: str, new: str, mass: Kilogram) -> tuple[Offer, ...]:
    """So much of one ingredient taken out and another weighed for it."""
    less, more = _changed(part, old, -mass), _changed(part, new, mass)
    return (Offer(changes=(less, more)),) if less and more else ()


def written_at(where: str, key: str, value: str) -> tuple[Offer, ...]:
    """One key below a place of the file, such as "cold.thaw", written anew; nothing for a place that is not in it."""
    parts = tuple(where.split("."))
    return (Offer(changes=(((*parts, key), value),)),) if len(parts) == 2 else ()


def _changed(part: Part, what: str, mass: Kilogram) -> tuple[tuple[str, ...], str] | None:
    name, lines = part.recipe.name, part.recipe.weighed
    if part.recipe.where != f"components.{name}" or any(line.amount.percent is not None for line in lines):
        return None
    listed = any(line.where == f"components.{name}.weigh.0.{line.what}" for line in lines)
    same = [(place, line) for place, line in enumerate(lines) if line.what.casefold() == what.casefold()]
    if not same:
        return (("components", name, "weigh", what), _grams(mass)) if mass > 0 and not listed else None
    place, line = same[0]
    now = _mass(line)
    if now is None or now + mass <= 0:
        return None
    at = ("components", name, "weigh", *((str(place),) if listed else ()), line.what)
    return at, _grams(now + mass)


def _mass(line: Weighed) -> Kilogram | None:
    return line.amount.mass


def _grams(mass: Kilogram) -> str:
    return f"{1000 * mass:.0f} g" if mass >= _FINE else f"{1000 * mass:.1f} g"
