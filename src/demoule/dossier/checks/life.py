"""A piece between freezer and plate: standing, dipping, sweating, on the table; and the freezer when it is full."""

from __future__ import annotations

from collections.abc import Iterator

from demoule.cold.run import Mark
from demoule.dossier.checks.registry import LAW, check, finding
from demoule.dossier.life_figures import SKIN_LIMIT, peak, skin_spoiled
from demoule.dossier.view import View
from demoule.dossier.words import degrees, duration, rounded
from demoule.figures import Finding, Severity
from demoule.units import Second

__all__ = ["full_freezer", "on_the_table", "skin_sweats", "standing_for_the_dip"]

_LONGER = 0.15  # share by which a full freezer takes longer, from which the plan must know
_DRY = "“humidity” is not told of that room; it was taken"


def _minutes(time: Second) -> str:
    return f"{rounded(time / 60, 2)} min"


def _between(mark: Mark) -> str:
    """A moment in words with its band: "5.4 min (3.1 to 10 min)"."""
    assert mark.time is not None
    if mark.low is None or mark.high is None:
        return _minutes(mark.time)
    return f"{_minutes(mark.time)} ({rounded(mark.low / 60, 2)} to {_minutes(mark.high)})"


@check("standing for the dip", looks_at="whether a piece is cold enough to be dipped, and stays so while it stands")
def standing_for_the_dip(view: View) -> Iterator[Finding]:
    """The outer layer before the dip, and the surface while the piece stands on the bench."""
    cold = view.worked.cold
    run = cold.stage("dip and spray")
    if run is None:
        return
    before = [one.marks["dippable"] for one in cold.stages if "dippable" in one.marks]
    if before and all(mark.time is None for mark in before):
        yield finding(
            Severity.CAUTION,
            "standing for the dip",
            run.stage.where,
            "The outer 10 mm of the piece never lie at −22 to −18 °C together before it is dipped.",
            why="Warmer, it melts under the coat; colder, the coat cracks.",
            remedy="write an “even out” stage in a room of about −20 °C, half an hour to an hour.",
        )
    mark = run.marks.get("too soft to dip")
    if mark is None or mark.time is None or run.time is None:
        return
    soonest = mark.low if mark.low is not None else mark.time
    if run.time > soonest:
        yield finding(
            Severity.CAUTION if run.time > mark.time else Severity.NOTE,
            "standing for the dip",
            run.stage.where,
            f"In “{run.room.name}” ({degrees(run.room.air)}) the surface is at −12 °C after {_between(mark)}; "
            f"the piece stands there for {_minutes(run.time)}{' as taken' if run.stage.assumed else ''}.",
            why=f"A coat slides on a softer surface. The band is widest for {mark.weakest}.",
            remedy="take out fewer pieces at a time, or work in a colder room.",
        )


@check("skin sweats", looks_at="how much frost and dew lies on a skin in the thaw", source="lewis-relation")
def skin_sweats(view: View) -> Iterator[Finding]:
    """Moisture that settles on a coated piece while it thaws in the open."""
    if not view.worked.dessert.piece.skins:
        return
    run = view.thaw
    mark = None if run is None else skin_spoiled(run)
    if run is None or run.film is None or mark is None or mark.time is None:
        return
    likely, least, most = (1000 * mass for mass in peak(run, run.film))
    certain = not run.film.taken and least > 1000 * SKIN_LIMIT
    yield finding(
        Severity.CAUTION if certain else Severity.NOTE,
        "skin sweats",
        run.stage.where or "cold.thaw",
        f"Thawed in the open in “{run.room.name}” ({degrees(run.room.air)}, {100 * run.film.humidity:.0f} %), "
        f"{1000 * SKIN_LIMIT:.0f} g/m² of frost or dew lie on the skin after {_between(mark)}, and at most "
        f"{rounded(likely, 2)} g/m² ({rounded(least, 2)} to {rounded(most, 2)}).",
        why="A velvet skin loses its bloom when it gets wet; the limit is judged, your own trial decides."
        + (f" {_DRY}." if run.film.taken else ""),
        remedy="thaw under a lid or in a closed box (“covered: yes”), or in a drier refrigerator.",
    )


@check("on the table", looks_at="how long a piece keeps its window once it is served")
def on_the_table(view: View) -> Iterator[Finding]:
    """The piece in the air of the dining room."""
    run = view.worked.cold.stage("table")
    mark = None if run is None else run.marks.get("past its best")
    if run is None or mark is None or mark.time is None or run.time is None or run.time <= mark.time:
        return
    slumps = run.marks.get("slumps")
    soft = "" if slumps is None or slumps.time is None else f", and its body goes soft after {_between(slumps)}"
    yield finding(
        Severity.NOTE if run.stage.assumed else Severity.CAUTION,
        "on the table",
        run.stage.where,
        f"In “{run.room.name}” ({degrees(run.room.air)}) the piece leaves its window {_between(mark)} after it is "
        f"ready{soft}; {duration(run.time)} on the table {'are taken' if run.stage.assumed else 'are written'}.",
        why=f"The band is widest for {mark.weakest}. How long such a dessert may stand in the warm, {LAW}",
        remedy="bring it out later and colder, or write a wider window.",
    )


@check("full freezer", looks_at="whether all trays of a making at once keep the freezer from its temperature")
def full_freezer(view: View) -> Iterator[Finding]:
    """The hardening stages with everything in the room at once."""
    for run in view.worked.cold.stages:
        full = run.loaded
        if full is None or run.time is None:
            continue
        longer = None if full.time is None else full.time / run.time - 1
        if longer is not None and longer < _LONGER:
            continue
        lasts = (
            "never gets there" if full.time is None else f"takes {duration(full.time)} instead of {duration(run.time)}"
        )
        yield finding(
            Severity.CAUTION,
            "full freezer",
            run.stage.where,
            f"With all {full.trays} trays in “{run.room.name}” at once, “{run.stage.what}” {lasts}: its air warms to "
            f"{degrees(full.warmest)}.",
            why=f"Its machine takes {full.capacity:.0f} W. That is the weakest input: {full.assumed[0]}.",
            remedy="put the trays in one after the other, fill colder, or tell the capacity of the machine.",
        )
