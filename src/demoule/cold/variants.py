"""Thousands of variants of one dessert in the cold: which of its sizes, rooms and weights matters most.

Every variant goes the way from the weights to the thawed piece, as far as its factors reach: cooked, built, its hours
computed once on the coarse grid. It is the same function wherever it runs, so the numbers are the same.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, fields, is_dataclass, replace
from functools import partial

import numpy as np

from demoule.cold.hours import hours_of
from demoule.cold.life import run_programme
from demoule.cold.programme import Room
from demoule.cold.run import ColdRun
from demoule.cold.sensitivity import ANSWERS, Exploration, Outcome
from demoule.cold.varying import Base, Factor, checked, designed, reweighed, roomed, walled
from demoule.cold.workers import run_all
from demoule.errors import BadInput, DemouleError
from demoule.formula import Cooked, cook_kept, in_order
from demoule.larder import Larder
from demoule.memory import Memory
from demoule.piece import Piece, build
from demoule.units import FloatArray, Kelvin

__all__ = ["Workshop", "explore", "whole_life_of"]

_MADE = ("sugar", "weight", "heart size", "piece size")  # kinds for which something is cooked or built anew
_MADE_AT_LEAST, _TRIED_IN = 64, 16  # makings of these, and in how many rooms each is tried when there are many variants

_COMPUTED = "hours alone, 2 mm"  # kept outcomes that were computed otherwise are not gone on from

Pairs = Sequence[tuple[Factor, float]]


@dataclass(slots=True)
class Workshop:
    """One worker's bench: what does not vary is made once."""

    base: Base
    factors: tuple[Factor, ...]
    memory: Memory = field(default_factory=lambda: Memory(most=256))

    def __reduce__(self) -> tuple[type[Workshop], tuple[Base, tuple[Factor, ...]]]:
        """Sent without its memory."""
        return Workshop, (self.base, self.factors)

    def run(self, key: str, values: tuple[float | None, ...]) -> Outcome:
        """One variant; a value of None leaves its factor as the dessert has it."""
        told = tuple(float("nan") if value is None else value for value in values)
        try:
            return Outcome(key=key, values=told, answers=self._answers(values))
        except DemouleError as error:
            return Outcome(key=key, values=told, answers={}, why=error.says)

    @property
    def airs(self) -> tuple[Kelvin, ...]:
        """Ends of the ranges of the airs that vary [K]."""
        return tuple(end for one in self.factors if one.kind == "air" for end in (one.low, one.high))

    def whole(self, values: Sequence[float | None]) -> ColdRun:
        """A variant with its whole life on the fine grid, every time with its band."""
        piece, cooked, rooms, filled = self._made(values)
        return run_programme(
            piece,
            cooked,
            self.base.programme,
            rooms,
            filled_at=filled,
            kitchen_air=self.base.surroundings.air,
        )

    def _made(
        self, values: Sequence[float | None]
    ) -> tuple[Piece, Mapping[str, Cooked], tuple[Room, ...], Mapping[str, Kelvin]]:
        """Piece, components, rooms and temperatures of filling of a variant."""
        pairs = [(f, v) for f, v in zip(self.factors, values, strict=True) if v is not None]

        def of(*kinds: str) -> Pairs:
            return tuple((factor, value) for factor, value in pairs if factor.kind in kinds)

        weights, sizes = of("sugar", "weight"), of("heart size", "piece size")
        cooked = self.memory.recall(reweighed, weights, partial(self._cooked, weights))
        piece = self.memory.recall(designed, (weights, sizes), partial(self._built, cooked, sizes))
        for _, wall in of("wall"):
            piece = replace(piece, mould=walled(piece.mould, wall), heart_mould=walled(piece.heart_mould, wall))
        filled = dict(self.base.filled_at)
        for _, warmth in of("fill"):
            filled[self.base.design.body.component] = warmth
        return piece, cooked, roomed(self.base.rooms, of("air", "surface")), filled

    def _answers(self, values: Sequence[float | None]) -> dict[str, float | None]:
        piece, cooked, rooms, filled = self._made(values)
        found: dict[str, float | None] = dict(
            hours_of(
                piece,
                cooked,
                self.base.programme,
                rooms,
                filled_at=filled,
                kitchen_air=self.base.surroundings.air,
                memory=self.memory,
                airs=self.airs,
            )
        )
        heart = piece.layer("heart")
        found["heart"] = None if heart is None else heart.mass
        found["piece"] = piece.mass
        return {name: found.get(name) for name in ANSWERS}

    def _cooked(self, pairs: Pairs) -> Mapping[str, Cooked]:
        made: dict[str, Cooked] = {}
        for component in in_order(reweighed(self.base, pairs)):
            made[component.name] = cook_kept(component, self.base.larder, made, self.base.surroundings, self.memory)
        return made

    def _built(self, cooked: Mapping[str, Cooked], pairs: Pairs) -> Piece:
        design, moulds = designed(self.base, pairs)
        recipes = {one.name: one for one in self.base.components}
        return build(
            design, cooked, moulds, recipes=recipes, learned=self.base.shells, guns=self.base.guns, advise=False
        )


def explore(
    base: Base,
    factors: Sequence[Factor],
    n: int = 256,
    *,
    workers: int | None = None,
    scheduler: str | None = None,
    seed: int = 1,
    kept: Mapping[str, Outcome] | None = None,
    keep: Callable[[Outcome], None] | None = None,
    progress: Callable[[int, int], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> Exploration:
    """Vary a dessert: each factor to both its ends alone, and all of them together in n variants.

    Parameters
    ----------
    n
        Variants that fill the ranges evenly (scrambled Sobol points [sobol-1967]); the same seed gives the same ones.
        Of more than 64 several share a recipe and a piece, each in another room, since cooking and building take
        longer than the hours.
    workers
        1: one after the other; more: so many other processes; None: all processors.
    scheduler
        Address of a Dask scheduler that stands ready, such as "tcp://10.0.0.5:8786"; it wins over `workers`.
    kept, keep
        Outcomes of an earlier run by their key, and where each new one is handed as soon as it is there.
    progress
        Told how many of how many are done.
    cancelled
        Asked between variants; what is done by then is given back.

    Raises
    ------
    BadInput
        What cannot be varied, or a dessert that cannot be made as it is.
    """
    factors = tuple(factors)
    checked(base, factors, n)
    jobs = _jobs(base, factors, n, seed)
    done: dict[str, Outcome] = {key: one for key, one in (kept or {}).items() if key in jobs}
    bench = Workshop(base, factors)
    first, *rest = jobs
    if first not in done:
        done[first] = bench.run(first, jobs[first])
        if keep is not None and not done[first].why:
            keep(done[first])
    if done[first].why:
        raise BadInput(done[first].why, remedy="mend the dessert before it is varied.")
    missing = [(key, jobs[key]) for key in rest if key not in done]
    stop = cancelled or (lambda: False)
    lead = sum(key in rest[: 2 * len(factors)] for key, _ in missing)
    for outcome in run_all(bench, missing, workers=workers, scheduler=scheduler, lead=lead, cancelled=stop):
        done[outcome.key] = outcome
        if keep is not None:
            keep(outcome)
        if progress is not None:
            progress(len(done), len(jobs))
    empty = tuple(float("nan") for _ in factors)
    nothing = {key: Outcome(key=key, values=empty, answers={}, why="not computed") for key in jobs}
    order = [done.get(key, nothing[key]) for key in jobs]
    ends = order[1 : 1 + 2 * len(factors)]
    return Exploration(
        factors=factors,
        base=order[0],
        ends=tuple(zip(ends[::2], ends[1::2], strict=True)),
        variants=tuple(outcome for outcome in order[1 + 2 * len(factors) :] if outcome.key in done),
        whole=len(done) == len(jobs),
    )


def whole_life_of(base: Base, factors: Sequence[Factor], outcome: Outcome) -> ColdRun:
    """The whole life of one variant on the fine grid, every time with its band."""
    values = tuple(None if value != value else value for value in outcome.values)
    return Workshop(base, tuple(factors)).whole(values)


def _jobs(base: Base, factors: tuple[Factor, ...], n: int, seed: int) -> dict[str, tuple[float | None, ...]]:
    """Every variant by its key: the dessert as it is, both ends of each factor, and the points between."""
    plain: list[tuple[float | None, ...]] = [tuple(None for _ in factors)]
    for place, factor in enumerate(factors):
        plain += [tuple(end if k == place else None for k in range(len(factors))) for end in (factor.low, factor.high)]
    if n:
        points = _points(factors, n, seed)
        low, high = (np.array([getattr(factor, end) for factor in factors]) for end in ("low", "high"))
        plain += [tuple(map(float, row)) for row in low + points * (high - low)]
    used = dict.fromkeys(line.what for component in base.components for line in component.weighed)
    own = {component.name for component in base.components}
    items = [base.larder.find(what) for what in used if what not in own]
    about = _spelled((_COMPUTED, replace(base, larder=Larder()), items, [factor.name for factor in factors])).encode()
    return {hashlib.sha256(about + repr(values).encode()).hexdigest()[:20]: values for values in plain}


def _points(factors: tuple[Factor, ...], n: int, seed: int) -> FloatArray:
    """Points that fill the unit cube evenly, shape (n, n_factors); neighbours share what is to be cooked and built."""
    from scipy.stats import qmc  # loads slowly, and only an exploration needs it

    points = np.empty((n, len(factors)))
    made = [k for k, factor in enumerate(factors) if factor.kind in _MADE]
    rest = [k for k, factor in enumerate(factors) if factor.kind not in _MADE]
    makings = n if not rest else min(n, max(_MADE_AT_LEAST, -(-n // _TRIED_IN)))
    each = -(-n // makings)
    for where, count, repeat, own_seed in ((made, makings, each, seed), (rest, n, 1, seed + 1000)):
        if where:
            sobol = qmc.Sobol(d=len(where), seed=own_seed).random_base2(max(1, int(np.ceil(np.log2(count)))))
            points[:, where] = np.repeat(sobol, repeat, axis=0)[:n]
    return points


def _spelled(value: object) -> str:
    """A value as a text that is the same in every process: sets and mappings in order, arrays in full."""
    if is_dataclass(value) and not isinstance(value, type):
        inside = ",".join(f"{part.name}={_spelled(getattr(value, part.name))}" for part in fields(value))
        return f"{type(value).__name__}({inside})"
    if isinstance(value, Mapping):
        return "{" + ",".join(sorted(f"{_spelled(key)}:{_spelled(part)}" for key, part in value.items())) + "}"
    if isinstance(value, (set, frozenset)):
        return "{" + ",".join(sorted(map(_spelled, value))) + "}"
    if isinstance(value, (list, tuple)):
        return "[" + ",".join(map(_spelled, value)) + "]"
    if isinstance(value, np.ndarray):
        return repr(value.tolist())
    return repr(value) if isinstance(value, (str, int, float, bool, type(None))) else str(value)
