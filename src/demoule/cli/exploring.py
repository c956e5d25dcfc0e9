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
    from demoule.cold.run import ColdRun
    from demoule.cold.sensitivity import Exploration, Outcome
    from demoule.cold.varying import Base
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
    whole: int,
    units: System,
    as_json: bool,
) -> int:
    """Explore and tell; Ctrl-C ends it with what is done by then."""
    from demoule.cli.learning import one_dessert, write_whole
    from demoule.cold.sensitivity import ANSWERS
    from demoule.cold.variants import explore
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
    lives = _lives(base, found, answer, whole) if found.whole else []
    if as_json:
        print(json.dumps(_as_json(found, lives), ensure_ascii=False))
    else:
        _tell(made.name, found, units, keep)
        _tell_lives(found, answer, lives, units)
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

    from demoule.cold.sensitivity import ANSWERS
    from demoule.sheets.sensitivity import value_of, words_of

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
        shares = found.shares(answer)
        for effect in found.effects(answer):
            ends = [
                "not reached" if value is None else words_of(value, unit, units) for value in (effect.low, effect.high)
            ]
            share = "" if effect.share is None else f"  {effect.share:>4.0%} of all"
            if effect.share is not None and effect.with_others is not None and effect.with_others > effect.share + 0.01:
                share += f", {effect.with_others:.0%} with others"
            print(f"  {effect.factor.name:<34} {ends[0]:>12} … {ends[1]:<12}{share}")
        if shares is not None and shares.foretold < 0.99:
            print(f"  (the shares explain {shares.foretold:.0%} of how the variants differ)")
        print()
    for factor, both in zip(found.factors, found.ends, strict=True):
        for end, value in zip(both, (factor.low, factor.high), strict=True):
            if end.why and found.whole:
                print(f"{factor.name} {value_of(value, factor.unit, units)} cannot be made: {end.why}")
    refused = [outcome.why for outcome in found.variants if outcome.why]
    if refused:
        print(f"{len(refused)} variants cannot be made; the first because: {refused[0]}")
    if not found.whole:
        more = f" The same call with --keep {keep} goes on." if keep else " With --keep FILE it could go on."
        print(f"Stopped before all variants were done.{more}")


def _lives(base: Base, found: Exploration, answer: str, count: int) -> list[tuple[Outcome, ColdRun]]:
    """The variants that come first by an answer, run whole: the quickest, or those that stay ready longest."""
    from demoule.cold.variants import whole_life_of

    sign = -1.0 if answer == "window" else 1.0
    reached = [
        (sign * value, k) for k, one in enumerate(found.variants) if (value := one.answers.get(answer)) is not None
    ]
    chosen = [found.variants[k] for _, k in sorted(reached)[:count]]
    return [(one, whole_life_of(base, found.factors, one)) for one in chosen]


def _tell_lives(found: Exploration, answer: str, lives: list[tuple[Outcome, ColdRun]], units: System) -> None:
    from demoule.sheets.sensitivity import value_of, words_of

    for place, (outcome, run) in enumerate(lives, 1):
        named = zip(found.factors, outcome.values, strict=True)
        told = ", ".join(f"{f.name} {value_of(v, f.unit, units)}" for f, v in named)
        print(f"{place}. by {answer}: {told}")
        for stage in run.stages:
            if stage.time is None or stage.low is None:
                continue
            high = "not sure to get there" if stage.high is None else words_of(stage.high, "s", units)
            print(
                f"   {stage.stage.what:<14} {words_of(stage.time, 's', units):>8}   likely "
                f"{words_of(stage.low, 's', units)} to {high}; weakest: {stage.weakest}"
            )
        print()


def _as_json(found: Exploration, lives: list[tuple[Outcome, ColdRun]]) -> dict[str, object]:
    from demoule.cold.sensitivity import ANSWERS

    def told(outcome: Outcome) -> dict[str, object]:
        values = [None if math.isnan(value) else value for value in outcome.values]
        return {"values": values, "answers": dict(outcome.answers), "why": outcome.why}

    return {
        "factors": [{"name": f.name, "unit": f.unit, "low": f.low, "high": f.high} for f in found.factors],
        "units": {name: ANSWERS[name][1] for name in found.answers()},
        "base": told(found.base),
        "effects": {
            name: [
                {
                    "factor": e.factor.name,
                    "low": e.low,
                    "high": e.high,
                    "share": e.share,
                    "share_with_others": e.with_others,
                }
                for e in found.effects(name)
            ]
            for name in found.answers()
        },
        "foretold": {name: s.foretold if (s := found.shares(name)) else None for name in found.answers()},
        "variants": [told(outcome) for outcome in found.variants],
        "whole": found.whole,
        "lives": [
            {
                "values": list(outcome.values),
                "stages": [
                    {"stage": r.stage.what, "time": r.time, "low": r.low, "high": r.high, "weakest": r.weakest}
                    for r in run.stages
                ],
            }
            for outcome, run in lives
        ],
    }
