"""The answer sheet of one dessert in one call: figures, findings, cost, label and sources from what was worked up."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from demoule.dossier.answer import Dossier
from demoule.dossier.checks import run_checks
from demoule.dossier.cost import cost_of
from demoule.dossier.figures import all_figures
from demoule.dossier.label import draft_label, market_of
from demoule.dossier.sources import sources_used
from demoule.dossier.view import View
from demoule.figures import by_severity

if TYPE_CHECKING:
    from demoule.worked import Worked

__all__ = ["dossier"]


def dossier(worked: Worked, market: str | None = None) -> Dossier:
    """Everything there is to say about one dessert for one market.

    Parameters
    ----------
    worked
        The dessert with every stage's result.
    market
        "EU" or "US"; None: the kitchen's.

    Raises
    ------
    BadInput
        For a market without rules.
    """
    view = View(worked, market_of(market or worked.kitchen.market))
    cost = cost_of(worked)
    label = draft_label(worked, view.market, view.contents)
    figures = all_figures(view, cost)
    findings = by_severity(dict.fromkeys([*worked.findings, *label.findings, *run_checks(view)]))
    return Dossier(
        worked=worked,
        figures=figures,
        findings=findings,
        cost=cost,
        label=label,
        sources=sources_used(view, figures, findings, cost, label),
        assumptions=tuple(dict.fromkeys(_assumptions(view))),
    )


def _assumptions(view: View) -> Iterator[str]:
    worked = view.worked
    for run in worked.cold.stages:
        yield from run.assumed
    if not view.after_thaw[1]:
        yield "a thawed piece is eaten within 24 h of the end of its thaw, for the programme tells nothing else"
    if not any(stage.has_window for stage in worked.dessert.programme.stages):
        yield "a piece is ready to eat with its core at −1 to 2 °C"
    yield "water from the tap costs nothing; cooking energy, rent and tax are not in the cost"
    if not worked.kitchen.packaging:
        yield "no packaging is told, so none is in the cost"
    yield "spirits keep all their alcohol unless a step says otherwise"
    yield "traces of allergens through shared tools and air are not computed"
    if view.contents.unweighed:
        yield f"not weighed, and so in no sum: {', '.join(view.contents.unweighed)}"
