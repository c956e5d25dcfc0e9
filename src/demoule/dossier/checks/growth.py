"""Water activity and acidity: the growth class of the piece, and what only keeps because it is dry enough."""

from __future__ import annotations

from collections.abc import Iterator

from demoule.composition import Constituent
from demoule.dossier.checks.registry import check, finding
from demoule.dossier.hygiene import GrowthClass, worst_layer
from demoule.dossier.view import Part, View
from demoule.dossier.words import duration
from demoule.figures import Finding, Severity
from demoule.physics import water_activity
from demoule.units import kelvin

__all__ = ["cautious_ph", "growth_class", "layer_states"]


def layer_states(view: View) -> list[tuple[str, float | None, float | None]]:
    """Component, pH and water activity at 25 °C of each layer with water in it, from the inside outwards."""
    states: list[tuple[str, float | None, float | None]] = []
    for _layer, part in view.layered:
        composition = part.cooked.composition
        if composition.water < 0.02:
            continue
        activity = float(water_activity(composition.vector, kelvin(25)))
        states.append((part.name, cautious_ph(part), activity))
    return states


def cautious_ph(part: Part) -> float | None:
    """pH on which a growth class may rest: measured, or that of an acid mix which no milk or egg holds back.

    The pH of a mix is guessed from its main part; milk and egg hold acid back, so beside them only a meter tells.
    """
    if part.recipe.ph is not None:
        return part.recipe.ph
    if part.cooked.ph is None or part.share("dairy") > 0.05 or part.cooked.composition[Constituent.PROTEIN] > 0.02:
        return None
    return part.cooked.ph + 0.2


@check(
    "growth class",
    looks_at="whether Listeria could grow in the worst layer or where two layers meet",
    source="eu-2073-2005",
)
def growth_class(view: View) -> Iterator[Finding]:
    """Class the piece by its worst layer, its interfaces and its unfrozen life."""
    states = layer_states(view)
    if not states:
        return
    place, judged = worst_layer(states, view.life)
    told = "" if view.after_thaw[1] else " (24 h after the thaw taken, for none is told)"
    life = duration(view.life)
    if judged.growth == GrowthClass.UNABLE:
        yield finding(
            Severity.NOTE,
            "growth class",
            "piece",
            f"By the rule Listeria is held unable to grow in the piece: {judged.why}; unfrozen life {life}{told}.",
            why="It rests on calculated values and on the hours described; a longer life changes the class."
            + (" One value lies near a limit: measure it." if judged.measure else ""),
            remedy="keep to these hours; for a longer life have pH and water activity measured.",
        )
        return
    yield finding(
        Severity.CAUTION,
        "growth class",
        "piece",
        f"Listeria is held able to grow in {place} over an unfrozen life of {life}{told}."
        if judged.growth == GrowthClass.ABLE
        else f"Whether Listeria could grow in {place} is not shown: {judged.why}.",
        why="pH 4.4 or less, water activity 0.92 or less, 5.0 with 0.94, or less than 5 days would hold it back; an "
        "acid gel does not make the mousse beside it acid."
        + (" A value lies near a limit: measure." if judged.measure else ""),
        remedy="keep the unfrozen life under 5 days in all, or show by a study that 100 cfu/g is not passed.",
    )
