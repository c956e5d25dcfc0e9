"""`demoule cold film`: the frost front of one stage as a moving picture, or the section at one moment."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from demoule.errors import UnknownName

__all__ = ["film_dessert"]

_FIELDS = 41  # kept of the stage, between which any moment is drawn


def film_dessert(dessert: Path, *, kitchen: Path | None, stage: str, at: str | None, night: bool, out: Path) -> int:
    """Write the film, or the picture of one moment."""
    from demoule.cli.learning import one_dessert, write_whole
    from demoule.cold import run_programme
    from demoule.sheets.frost import moment_svg, moving_svg
    from demoule.sheets.tokens import ThemeName
    from demoule.units import Kind, parse
    from demoule.worked import varied_from, work_up

    made, place, _ = one_dessert(dessert, kitchen)
    worked = work_up(made, place)
    whole = varied_from(worked)
    run = run_programme(
        worked.piece,
        worked.cooked,
        replace(whole.programme, stills=_FIELDS),
        place.rooms,
        filled_at=whole.filled_at,
        kitchen_air=place.air,
        bands=False,
    )
    shown = run.stage(stage)
    if shown is None:
        raise UnknownName("stage", stage, [one.stage.what for one in run.stages])
    theme: ThemeName = "night" if night else "day"
    if at is not None:
        text = moment_svg(shown, worked.piece, parse(at, Kind.TIME).value, size=360, theme=theme)
    else:
        text = moving_svg(shown, worked.piece, theme=theme)
    write_whole(out, text)
    print(f"{made.name}, {stage}: {out} ({len(text.encode()) / 1000:.0f} kB)")
    return 0
