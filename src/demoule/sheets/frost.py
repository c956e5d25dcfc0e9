"""The frost as it moves through a piece: a section at any moment, and a film of it in one picture without a script."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from demoule.cold import StageRun, Still
from demoule.errors import BadInput
from demoule.piece import Piece
from demoule.sheets.curves import frame_parts, moment_parts, still_svg
from demoule.sheets.svg import Face, element, fragment, label, number, slug
from demoule.sheets.tokens import ThemeName, tokens_of
from demoule.units import Second, shown

__all__ = ["LARGEST", "moment_svg", "moving_svg", "still_at"]

LARGEST = 150_000
"""Bytes of a film: a tablet in a cold kitchen loads it at once."""

_SECONDS = 9.0  # of one showing
_REST = 0.18  # of it the last picture stands
_SIZE = 300.0


def still_at(run: StageRun, time: Second) -> Still:
    """The field at any moment of a stage, between two that were kept.

    Raises
    ------
    BadInput
        A moment before the stage or after its last field.
    """
    stills = run.stills
    if not stills:
        raise BadInput("Nothing was kept of this stage to be drawn.", remedy="run it again.")
    last = stills[-1].time
    if not 0 <= time <= last * (1 + 1e-9) + 1e-6:
        raise BadInput(
            f"{shown(time / 3600, 'h')} lies outside {run.stage.what}, which took {shown(last / 3600, 'h')}.",
            remedy="name a moment within it.",
        )
    times = [still.time for still in stills]
    after = int(np.searchsorted(times, time, side="left"))
    if after == 0 or after >= len(stills):
        return stills[min(after, len(stills) - 1)]
    one, other = stills[after - 1], stills[after]
    w = (time - one.time) / (other.time - one.time)
    return Still(
        time=time,
        r=one.r,
        z=one.z,
        temperature=(1 - w) * one.temperature + w * other.temperature,
        ice=(1 - w) * one.ice + w * other.ice,
    )


def moment_svg(run: StageRun, piece: Piece, time: Second, *, size: float = 240, theme: ThemeName = "day") -> str:
    """The section of the piece at any moment of a stage."""
    return still_svg(still_at(run, time), piece, size=size, theme=theme, ident=f"{slug(run.stage.what)}-{time:.0f}")


def moving_svg(
    run: StageRun,
    piece: Piece,
    *,
    frames: int = 24,
    theme: ThemeName = "day",
) -> str:
    """The frost front moving through the piece in one SVG: pictures that follow one another, without a script.

    Where a reader asks for reduced motion (and in every program that does not move pictures) the piece stands as it is
    half-way, with the hour written below.
    """
    stills = _spread(run, frames)
    text = _film(run, piece, stills, theme)
    while len(text.encode()) > LARGEST and len(stills) > 4:
        stills = [stills[k] for k in np.linspace(0, len(stills) - 1, max(4, len(stills) * 3 // 4)).round().astype(int)]
        text = _film(run, piece, stills, theme)
    if len(text.encode()) > LARGEST:
        text = _film(run, piece, [_coarser(still) for still in stills], theme)
    return text


def _film(run: StageRun, piece: Piece, stills: Sequence[Still], theme: ThemeName) -> str:
    tokens = tokens_of(theme)
    ident = f"film-{slug(run.stage.what)}"
    resting = len(stills) // 2
    clip, lines, outline = frame_parts(stills[0], piece, _SIZE, ident)
    pictures = []
    for place, still in enumerate(stills):
        field, words = moment_parts(still, _SIZE, theme)
        inside = element("g", field, clip_path=f"url(#{ident}-clip)") + words
        kind = f"{ident} {ident}-rest" if place == resting else ident
        pictures.append(element("g", inside, class_=kind, id=f"{ident}-{place}"))
    height = _SIZE + 62
    hours = [still.time for still in stills]
    span = max(hours[-1], 1.0)
    track = _SIZE - 40.0
    bar = fragment(
        element("line", x1=20.0, x2=_SIZE - 20, y1=_SIZE + 38, y2=_SIZE + 38, stroke=tokens.edge, stroke_width=1.5),
        element("circle", cx=20.0, cy=_SIZE + 38, r=5.0, fill=tokens.ink, class_=f"{ident}-dot"),
        label("0", 20, _SIZE + 56, size=12, face=Face.SANS, fill=tokens.ink_2, anchor="middle"),
        label(shown(span / 3600, "h"), _SIZE - 20, _SIZE + 56, size=12, fill=tokens.ink_2, anchor="end"),
    )
    return element(
        "svg",
        element("title", f"The frost moving through the piece: {run.stage.what}, {shown(span / 3600, 'h')}"),
        element("style", _style(ident, hours, track, resting)),
        element("rect", x=0.0, y=0.0, width=_SIZE, height=height, fill=tokens.paper),
        clip,
        *pictures,
        lines,
        outline,
        bar,
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {number(_SIZE)} {number(height)}",
        width=number(_SIZE),
        height=number(height),
        role="img",
    )


def _style(ident: str, hours: Sequence[Second], track: float, resting: int) -> str:
    """Each picture is seen from its moment to the next; the dot walks along the hours."""
    span = max(hours[-1], 1.0)
    moving = 1 - _REST
    seen = [f".{ident}{{visibility:hidden}}.{ident}-rest{{visibility:visible}}"]
    seen.append(f".{ident}-dot{{transform:translateX({number(track * hours[resting] / span)}px)}}")
    rules = []
    for place, hour in enumerate(hours):
        start = 100 * moving * hour / span
        end = 100 * moving * hours[place + 1] / span if place + 1 < len(hours) else 100.0
        frames = [] if start <= 0 else [f"0%,{number(start - 0.01, 2)}%{{visibility:hidden}}"]
        frames.append(f"{number(start, 2)}%,{number(end - 0.01, 2)}%{{visibility:visible}}")
        if end < 100:
            frames.append(f"{number(end, 2)}%,100%{{visibility:hidden}}")
        rules.append(f"@keyframes {ident}-k{place}{{{''.join(frames)}}}")
        rules.append(f"#{ident}-{place}{{animation:{ident}-k{place} {_SECONDS:g}s step-end infinite}}")
    there = f"{number(100 * moving)}%,100%{{transform:translateX({number(track)}px)}}"
    rules.append(f"@keyframes {ident}-walk{{0%{{transform:none}}{there}}}")
    rules.append(f".{ident}-dot{{animation:{ident}-walk {_SECONDS:g}s linear infinite}}")
    return "".join(seen) + "@media (prefers-reduced-motion:no-preference){" + "".join(rules) + "}"


def _spread(run: StageRun, frames: int) -> list[Still]:
    """Moments at which about equally much has frozen or thawed since the last one, so that the film never stands."""
    frames = int(min(max(frames, 4), 40))
    last = run.stills[-1].time if run.stills else 0.0
    fine = [still_at(run, float(time)) for time in np.linspace(0.0, last, 4 * frames)]
    gone = np.array([float(np.nanmean(still.ice)) for still in fine])
    warm = np.array([float(np.nanmean(still.temperature)) for still in fine])
    way = np.zeros(len(fine) - 1)
    for one in (gone, warm):
        way += np.abs(np.diff(one)) / max(float(np.ptp(one)), 1e-9)
    along = np.concatenate([[0.0], np.cumsum(way + 0.25 * way.mean() + 1e-12)])
    at = np.interp(np.linspace(0.0, along[-1], frames), along, [still.time for still in fine])
    return [still_at(run, float(min(time, last))) for time in np.unique(np.round(at, 3))]


def _coarser(still: Still) -> Still:
    """Every other cell of a field that is finer than a screen shows."""
    return replace(
        still, r=still.r[::2], z=still.z[::2], temperature=still.temperature[::2, ::2], ice=still.ice[::2, ::2]
    )
