"""Freezing, keeping and thawing as rules look at them: no way back once thawed, −18 °C, and the window to eat in."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from demoule.dossier.checks.registry import check, finding
from demoule.dossier.offers import written_at
from demoule.dossier.view import View
from demoule.dossier.words import degrees, duration, percent
from demoule.figures import Finding, Severity
from demoule.units import Second, kelvin

__all__ = ["frozen_store", "hardening", "refreezing", "thaw_window", "warm_body"]

_STORE = kelvin(-18)
_FREEZING = ("harden heart", "harden piece", "keep")
_OVERNIGHT: Second = 24 * 3600.0
_WARM = kelvin(32)  # bodies are filled colder than this (practice)
_SOFTENS, _MELTS = 0.4, 0.95  # of the ice in the heart: its edge goes, and all of it is soft again (judged)


@check("refreezing", looks_at="whether anything thawed goes back into the freezer", source="eu-89-108")
def refreezing(view: View) -> Iterator[Finding]:
    """A freezing stage after a thaw is a stop; every dessert gets the reminder."""
    thawed = False
    for stage in view.worked.dessert.programme.stages:
        if stage.what == "thaw":
            thawed = True
        elif thawed and stage.what in _FREEZING:
            yield finding(
                Severity.STOP,
                "refreezing",
                stage.where or "cold",
                f"“{stage.what}” comes after the thaw: the piece would be frozen a second time.",
                why="Freezing kills little, what grew in the thaw stays, and gels and foams weep twice as much.",
                remedy="take only as many pieces out as will be eaten, and throw away what is left.",
            )
            return
    yield finding(
        Severity.NOTE,
        "refreezing",
        "cold.thaw",
        "Once thawed, no way back to the freezer: mark trays with the hour they came out.",
        why="Hours used before freezing still count after the thaw; undated pieces are eaten within 24 h of it.",
        remedy="thaw by the tray, and do seams, dips and sprays while the core is at −12 °C or colder.",
        source="minnesota-date-marking",
    )


@check("frozen store", looks_at="whether pieces are kept at −18 °C or colder", source="eu-89-108")
def frozen_store(view: View) -> Iterator[Finding]:
    """The room in which pieces are kept, against −18 °C."""
    keep = next((s for s in view.worked.dessert.programme.stages if s.what == "keep"), None)
    if keep is not None and view.kept_at > _STORE + 0.05:
        yield finding(
            Severity.CAUTION,
            "frozen store",
            keep.where or "cold.keep",
            f"Pieces are kept at {degrees(view.kept_at)}.",
            why="−18 °C or colder is asked for; tolerances for quick-frozen food do not hold for ices.",
            remedy="set the store to −20 °C.",
        )
    if keep is not None and keep.at_most is not None and keep.at_most > 12 * 30 * 86400.0:
        yield finding(
            Severity.CAUTION,
            "frozen store",
            keep.where or "cold.keep",
            f"A frozen life of {duration(keep.at_most)} is written.",
            why="Pieces dry, pick up frost and lose colour; three months is common practice.",
            remedy="write 3 months, or show by tasting that they keep longer.",
            offers=written_at(keep.where or "cold.keep", "at most", "3 months"),
            source="practice",
        )


@check("hardening", looks_at="in how many hours the core gets hard")
def hardening(view: View) -> Iterator[Finding]:
    """Hardening that takes longer than a day; a stage that never ends is told by the cold stage itself."""
    for run in view.worked.cold.stages:
        if run.stage.what not in ("harden heart", "harden piece") or run.time is None:
            continue
        if (run.high or run.time) > _OVERNIGHT:
            yield finding(
                Severity.CAUTION,
                "hardening",
                run.stage.where or "cold",
                f"“{run.stage.what}” takes {duration(run.low or run.time)} to {duration(run.high or run.time)}.",
                why="Slow freezing grows large ice, makes gels weep and holds the mould for a day.",
                remedy="load fewer trays, or use moving air of −30 °C or colder.",
            )


@check("warm body", looks_at="whether the body goes in so warm that it melts the frozen heart")
def warm_body(view: View) -> Iterator[Finding]:
    """How much of the heart's ice is lost while the body around it gets hard."""
    run = view.worked.cold.stage("harden piece")
    if run is None or view.role("heart") is None:
        return
    ice = np.asarray(run.curve.heart_ice, dtype=float)
    if not len(ice) or not np.isfinite(ice[0]) or ice[0] <= 0.02:
        return
    melted = 1.0 - float(np.nanmin(ice)) / float(ice[0])
    warm = float(run.curve.surface[0])
    if melted > (_SOFTENS if warm > _WARM else _MELTS):
        yield finding(
            Severity.CAUTION,
            "warm body",
            "piece.body",
            f"The body goes in at {degrees(warm)} and melts {percent(melted)} of the ice in the heart.",
            why="A heart that softens floats, bleeds into the body, and freezes again slowly with large ice.",
            remedy="fill the body colder, or take the heart colder out of the freezer.",
        )


@check("thaw window", looks_at="when the piece is ready after the freezer, and for how long")
def thaw_window(view: View) -> Iterator[Finding]:
    """The hour at which the piece is ready against the time allowed; a window missed is told by the cold stage."""
    run = view.thaw
    if run is None:
        yield finding(
            Severity.NOTE,
            "thaw window",
            "cold",
            "No thaw is written, so when the piece is ready to eat is not shown.",
            why="A heart that is hard in a soft body, or a body gone soft around it, shows only at the table.",
            remedy="write a thaw stage with its room and the core at which it is ready.",
        )
        return
    window = run.window
    if window is None or window.opens is None or run.stage.at_most is None:
        return
    opens = window.opens_high if window.opens_high is not None else window.opens
    if opens > run.stage.at_most:
        yield finding(
            Severity.CAUTION,
            "thaw window",
            run.stage.where or "cold.thaw",
            f"The piece is ready after {duration(window.opens)} (up to {duration(opens)}), later than the "
            f"{duration(run.stage.at_most)} that the thaw may last.",
            why="The heart is then still hard when the piece must be eaten.",
            remedy=f"allow {duration(opens)} for the thaw, or make the heart softer.",
            offers=written_at(run.stage.where or "cold.thaw", "at most", duration(opens)),
        )
