"""`demoule cold explore`: variants of a dessert, the table of what moves an answer most, and its picture."""

from __future__ import annotations

import json
import math
import signal
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from demoule.errors import UnknownName

if TYPE_CHECKING:
    from demoule.cold.variants import Exploration, Outcome
    from demoule.units.showing import System

__all__ = ["explore_dessert"]

_WIDTH = 28


def explore_dessert(
    dessert: Path,
    *,
    vary: Sequence[str],
    kitchen: Path | None,
    variants: int,
    answer: str,
    workers: int | None,
    scheduler: str | None,
    keep: Path | None,
    out: Path | None,
    units: System,
    as_json: bool,
) -> int:
    """Explore and tell; Ctrl-C ends it with what is done by then."""
    from demoule.cli.learning import one_dessert, write_whole
    from demoule.cold.variants import ANSWERS, explore
    from demoule.files.factors import Keeper, factor_of, kept_in
    from demoule.worked import varied_from, work_up

    made, place, _ = one_dessert(dessert, kitchen)
    if answer not in ANSWERS:
        raise UnknownName("answer", answer, ANSWERS)
    base = varied_from(work_up(made, place))
    factors = [factor_of(text) for text in vary]
    earlier = kept_in(keep) if keep is not None else {}
    keeper = Keeper(keep) if keep is not None else None
    with _stoppable() as stopped:
        found = explore(
            base,
            factors,
            variants,
            workers=workers,
            scheduler=scheduler,
            kept=earlier,
            keep=keeper,
            progress=None if as_json else _bar,
            cancelled=stopped,
        )
    if keeper is not None:
        keeper.close()
    if not as_json and sys.stderr.isatty():
        print("\r\x1b[K", end="", file=sys.stderr, flush=True)
    if out is not None and answer in found.answers():
        from demoule.sheets.sensitivity import effects_svg

        write_whole(out, effects_svg(found, answer, system=units))
    if as_json:
        print(json.dumps(_as_json(found), ensure_ascii=False))
    else:
        _tell(made.name, found, units, keep)
        if out is not None:
            print(f"Picture: {out}" if out.is_file() else f"This dessert has no answer “{answer}” to draw.")
    return 0 if found.whole else 130


@contextmanager
def _stoppable() -> Iterator[Callable[[], bool]]:
    """Whether Ctrl-C was pressed; a second one ends at once."""
    pressed = False

    def press(*_: object) -> None:
        nonlocal pressed
        if pressed:
            raise KeyboardInterrupt
        pressed = True

    before = signal.signal(signal.SIGINT, press)
    try:
        yield lambda: pressed
    finally:
        signal.signal(signal.SIGINT, before)


def _bar(done: int, of: int) -> None:
    if not sys.stderr.isatty():
        return
    filled = round(_WIDTH * done / of)
    print(f"\r\x1b[K{'━' * filled}{'┄' * (_WIDTH - filled)} {done} of {of}", end="", file=sys.stderr, flush=True)


def _tell(name: str, found: Exploration, units: System, keep: Path | None) -> None:
    import numpy as np

    from demoule.cold.variants import ANSWERS
    from demoule.sheets.sensitivity import words_of

    print(f"{name}: {len(found.variants)} variants, and each factor alone\n")
    for answer in found.answers():
        words, unit = ANSWERS[answer]
        base = found.base.answers[answer]
        assert base is not None
        values = found.column(answer)
        held = values[np.isfinite(values)]
        print(f"{answer} ({words}): {words_of(base, unit, units)} as it is", end="")
        if held.size > 9:
            low, high = np.quantile(held, [0.05, 0.95])
            print(f"; nine variants in ten: {words_of(low, unit, units)} to {words_of(high, unit, units)}", end="")
        missed = len(values) - held.size
        print(f"; not reached in {missed}" if missed else "")
        for effect in found.effects(answer):
            ends = [
                "not reached" if value is None else words_of(value, unit, units) for value in (effect.low, effect.high)
            ]
            share = "" if effect.share is None else f"  {effect.share:>4.0%} of all"
            print(f"  {effect.factor.name:<34} {ends[0]:>12} … {ends[1]:<12}{share}")
        print()
    refused = [outcome.why for outcome in found.variants if outcome.why]
    if refused:
        print(f"{len(refused)} variants cannot be made; the first because: {refused[0]}")
    if not found.whole:
        more = f" The same call with --keep {keep} goes on." if keep else " With --keep FILE it could go on."
        print(f"Stopped before all variants were done.{more}")


def _as_json(found: Exploration) -> dict[str, object]:
    from demoule.cold.variants import ANSWERS

    def told(outcome: Outcome) -> dict[str, object]:
        values = [None if math.isnan(value) else value for value in outcome.values]
        return {"values": values, "answers": dict(outcome.answers), "why": outcome.why}

    return {
        "factors": [{"name": f.name, "unit": f.unit, "low": f.low, "high": f.high} for f in found.factors],
        "units": {name: ANSWERS[name][1] for name in found.answers()},
        "base": told(found.base),
        "effects": {
            name: [
                {"factor": e.factor.name, "low": e.low, "high": e.high, "share": e.share} for e in found.effects(name)
            ]
            for name in found.answers()
        },
        "variants": [told(outcome) for outcome in found.variants],
        "whole": found.whole,
    }
