"""The page "How sure are the hours": the cold stage against each published case, also the bad ones."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from demoule.figures import Evidence, Status
from demoule.units import Second, shown, shown_range
from docpages.evidence import Compared, evidence_rows
from docpages.text import error_text, filled, short, source_line, table

__all__ = ["page"]


_READ = (Status.READ, Status.QUOTED)
_FEW = 12
_WORST = 5


def page(compared: Sequence[Compared]) -> str:
    """The whole page."""
    cold = [one for one in compared if one.layer == "cold"]
    printed = [(one.name, e) for one in cold for e in one.report.evidence if e.status in _READ]
    other = [(one.name, e) for one in cold for e in one.report.evidence if e.status not in _READ]
    matter = [
        e
        for one in compared
        if one.name in ("conductivity", "enthalpy", "specific heat", "latent heat of ice", "ice fraction")
        for e in one.report.evidence
    ]
    return filled(
        "how-sure-are-the-hours.md",
        demonstration=table(("dessert", "stage", "time", "likely range", "widest for"), _demo()),
        printed="\n".join(map(_case, printed)),
        other="\n".join(map(_case, other)),
        matter=table(
            ("held against", "points", "status", "source", "worst", "typical", "allowed"), evidence_rows(matter)
        ),
    )


def _demo() -> Iterator[tuple[object, ...]]:
    from demoule.files import demo
    from demoule.worked import work_up

    desserts, kitchen, _ = demo()
    for dessert in desserts:
        for run in work_up(dessert, kitchen).cold.stages:
            if run.stage.until is not None and run.time is not None:
                yield dessert.name, run.stage.what, *_likely(run.time, run.low, run.high), run.weakest
            if run.window is not None and run.window.opens is not None:
                opens = _likely(run.window.opens, run.window.opens_low, run.window.opens_high)
                yield dessert.name, f"{run.stage.what}, until ready", *opens, run.weakest or "–"


def _likely(time: Second, low: Second | None, high: Second | None) -> tuple[str, str]:
    band = shown_range(low, high, "s") if low and high else "–"
    return shown(time, "s", low, high), band


def _case(named: tuple[str, Evidence]) -> str:
    """One comparison, point by point, or its worst points when there are many."""
    name, one = named
    points = list(zip(one.at, one.published, one.computed, one.errors, strict=True))
    many = len(points) > _FEW
    if many:
        points = sorted(points, key=lambda p: -abs(p[3]))[:_WORST]
    scale = max(abs(value) for value in one.published)
    head = (
        f"### {one.title[:1].upper()}{one.title[1:]}\n\n`{name}` against {source_line(one.source)} ({one.status}); "
        f"allowed {error_text(one.tolerance, 0.0, one.unit, relative=one.relative)}."
    )
    if many:
        worst = error_text(one.worst, scale, one.unit, relative=one.relative)
        typical = error_text(one.typical, scale, one.unit, relative=one.relative)
        return f"{head} {len(one.published)} points, worst {worst}, typical {typical}.\n"
    unit = "" if one.unit == "1" else f", {one.unit}"
    return head + "\n\n" + table((one.at_name, f"printed{unit}", f"computed{unit}", "off by"), _rows(points, one))


def _rows(points: Iterable[tuple[float, float, float, float]], one: Evidence) -> Iterator[tuple[object, ...]]:
    for at, published, computed, error in points:
        size = error_text(abs(error), abs(published), "1", relative=one.relative)
        yield short(at, 3), short(published, 4), short(computed, 4), f"−{size}" if error < 0 and size != "0" else size
