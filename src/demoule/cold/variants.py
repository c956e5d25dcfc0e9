"""Thousands of variants of one dessert in the cold: which of its sizes, rooms and weights matters most.

Every variant goes the whole way: weights are cooked, the piece is built, its life in the cold is computed once on the
coarse grid. Only what a factor touches is made anew. Variants run one after the other, on all processors, or on a
distributed scheduler that stands ready somewhere; it is the same function each time, so the numbers are the same.
"""

from __future__ import annotations

import hashlib
import os
import pickle
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, fields, is_dataclass, replace
from typing import Any, TypeVar, cast

import numpy as np

from demoule.cold.life import run_programme
from demoule.cold.programme import Programme, Room
from demoule.cold.stages import COARSE
from demoule.errors import BadInput, DemouleError, UnknownName
from demoule.formula import Component, Cooked, Surroundings, cook, in_order
from demoule.larder import Larder
from demoule.physics.dipping import ShellFactors
from demoule.physics.learning import Learned
from demoule.piece import Mould, Piece, PieceDesign, build
from demoule.piece.design import Cavity, Heart
from demoule.units import FloatArray, Kelvin, Metre

__all__ = ["ANSWERS", "KINDS", "Base", "Effect", "Exploration", "Factor", "Outcome", "explore"]

ANSWERS: Mapping[str, tuple[str, str]] = {
    "harden heart": ("until the heart is hard", "s"),
    "harden piece": ("until the piece is hard", "s"),
    "thaw": ("until it is ready to eat", "s"),
    "window": ("how long it stays ready", "s"),
    "heart": ("weight of the heart", "kg"),
    "piece": ("weight of the piece", "kg"),
}
"""What every variant answers: in words, and its unit."""

KINDS: Mapping[str, str] = {
    "heart size": "factor",
    "piece size": "factor",
    "wall": "m",
    "fill": "K",
    "sugar": "factor",
    "weight": "factor",
    "air": "K",
    "surface": "W/m2K",
}
"""What can be varied, and in what: a factor on the dessert as it is, or a value of its own."""

_OF = {"air": "room", "surface": "room", "weight": "line of a recipe"}
_SWEET = 0.95  # of its solids: sugar by any name
MOST = 200_000
_TRIED = 8  # variants run here first, to see how long one takes
_WORTH = 20.0  # s of work left, below which other processes would hardly have started
_CHUNK = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class Factor:
    """One thing that varies, between two values.

    Parameters
    ----------
    kind
        One of `KINDS`.
    of
        The room; for a weight "component: ingredient"; for sugar a component, or nothing for all.
    low, high
        In the unit of its kind.
    """

    kind: str
    of: str = ""
    low: float
    high: float

    @property
    def name(self) -> str:
        """In words."""
        return f"{self.kind}, {self.of}" if self.of else self.kind

    @property
    def unit(self) -> str:
        """Of its values."""
        return KINDS[self.kind]


@dataclass(frozen=True, slots=True, kw_only=True)
class Base:
    """A dessert as the cold room sees it, before anything is varied."""

    components: tuple[Component, ...]
    larder: Larder
    surroundings: Surroundings
    design: PieceDesign
    moulds: tuple[Mould, ...]
    rooms: tuple[Room, ...]
    programme: Programme
    filled_at: Mapping[str, Kelvin] = field(default_factory=dict)
    shells: Mapping[str, ShellFactors] = field(default_factory=dict)  # what test dips have taught, by component
    guns: Mapping[str, Learned] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """One variant: the value of each factor, and each answer, None where it is not reached.

    `key` tells variants apart, also between two runs; `why` says why there is no answer at all.
    """

    key: str
    values: tuple[float, ...]
    answers: Mapping[str, float | None]
    why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """What one factor does to one answer.

    Parameters
    ----------
    low, high
        The answer at the low and at the high end of the factor, everything else as it is; None: not reached.
    share
        Of the variance over all variants that this factor explains by itself; None: too few variants.
    """

    factor: Factor
    low: float | None
    high: float | None
    share: float | None

    @property
    def swing(self) -> float:
        """From low to high; infinite where one of them is not reached."""
        if self.low is None or self.high is None:
            return 0.0 if self.low is self.high else float("inf")
        return self.high - self.low


@dataclass(frozen=True, slots=True, kw_only=True)
class Exploration:
    """All variants of a dessert.

    Parameters
    ----------
    base
        As the dessert is.
    ends
        Each factor at its low and its high end alone, in the order of the factors.
    variants
        All factors varied together.
    whole
        False when it was cancelled before all variants were done.
    """

    factors: tuple[Factor, ...]
    base: Outcome
    ends: tuple[tuple[Outcome, Outcome], ...]
    variants: tuple[Outcome, ...]
    whole: bool = True

    def answers(self) -> tuple[str, ...]:
        """The answers that this dessert has."""
        return tuple(name for name in ANSWERS if self.base.answers.get(name) is not None)

    def effects(self, answer: str) -> tuple[Effect, ...]:
        """What each factor does to an answer, the strongest first."""
        shares = self._shares(answer)
        found = [
            Effect(factor=factor, low=low.answers.get(answer), high=high.answers.get(answer), share=share)
            for factor, (low, high), share in zip(self.factors, self.ends, shares, strict=True)
        ]
        return tuple(sorted(found, key=lambda effect: -abs(effect.swing)))

    def column(self, answer: str) -> FloatArray:
        """An answer of all variants, NaN where it is not reached."""
        values = [outcome.answers.get(answer) for outcome in self.variants]
        return np.array([np.nan if value is None else value for value in values])

    def _shares(self, answer: str) -> list[float | None]:
        """Share of the variance by a curve of second order in each factor, all fitted together."""
        y = self.column(answer)
        held = np.isfinite(y)
        n = len(self.factors)
        if held.sum() < 6 * n + 4 or float(np.var(y[held])) < 1e-12 * max(float(np.mean(y[held]) ** 2), 1e-300):
            return [None] * n
        x = np.array([outcome.values for outcome in self.variants])[held]
        low, high = (np.array([getattr(f, end) for f in self.factors]) for end in ("low", "high"))
        at = 2 * (x - low) / (high - low) - 1
        columns = np.hstack([at, at**2 - 1 / 3, np.ones((len(at), 1))])
        fitted, *_ = np.linalg.lstsq(columns, y[held], rcond=None)
        parts = [float(np.var(columns[:, [k, n + k]] @ fitted[[k, n + k]])) for k in range(n)]
        return [part / float(np.var(y[held])) for part in parts]


T = TypeVar("T")
_Key = tuple[tuple[str, float], ...]


@dataclass(slots=True)
class _Workshop:
    """One worker's bench: what does not vary is made once."""

    base: Base
    factors: tuple[Factor, ...]
    cooked: dict[_Key, Mapping[str, Cooked]] = field(default_factory=dict)
    pieces: dict[_Key, Piece] = field(default_factory=dict)

    def run(self, key: str, values: Sequence[float | None]) -> Outcome:
        """One variant; a value of None leaves its factor as the dessert has it."""
        told = tuple(float("nan") if value is None else value for value in values)
        try:
            return Outcome(key=key, values=told, answers=self._answers(values))
        except DemouleError as error:
            return Outcome(key=key, values=told, answers={}, why=error.says)

    def _answers(self, values: Sequence[float | None]) -> dict[str, float | None]:
        pairs = [(f, v) for f, v in zip(self.factors, values, strict=True) if v is not None]
        kinds = {
            "recipe": [(f, v) for f, v in pairs if f.kind in ("sugar", "weight")],
            "piece": [(f, v) for f, v in pairs if f.kind in ("heart size", "piece size")],
            "wall": [(f, v) for f, v in pairs if f.kind == "wall"],
            "fill": [(f, v) for f, v in pairs if f.kind == "fill"],
            "room": [(f, v) for f, v in pairs if f.kind in ("air", "surface")],
        }
        base = self.base
        cooked = self._kept(self.cooked, kinds["recipe"], lambda: _cooked(base, kinds["recipe"]))
        piece = self._kept(
            self.pieces, [*kinds["recipe"], *kinds["piece"]], lambda: _built(base, cooked, kinds["piece"])
        )
        for _, wall in kinds["wall"]:
            piece = replace(piece, mould=_walled(piece.mould, wall), heart_mould=_walled(piece.heart_mould, wall))
        filled = dict(base.filled_at)
        for _, warmth in kinds["fill"]:
            filled[base.design.body.component] = warmth
        programme = replace(base.programme, grid=COARSE, tolerance=0.06)
        run = run_programme(
            piece,
            cooked,
            programme,
            _rooms(base.rooms, kinds["room"]),
            filled_at=filled,
            kitchen_air=base.surroundings.air,
            bands=False,
        )
        heart = piece.layer("heart")
        found: dict[str, float | None] = {stage.stage.what: stage.time for stage in run.stages}
        window = next((stage.window for stage in run.stages if stage.window is not None), None)
        opened = window is not None and window.opens is not None and window.closes is not None
        found["window"] = window.closes - window.opens if opened else None  # type: ignore[operator, union-attr]
        found["heart"] = None if heart is None else heart.mass
        found["piece"] = piece.mass
        return {name: found.get(name) for name in ANSWERS}

    def _kept(self, shelf: dict[_Key, T], pairs: Sequence[tuple[Factor, float]], make: Callable[[], T]) -> T:
        key = tuple((factor.name, value) for factor, value in pairs)
        if key not in shelf:
            if len(shelf) > 64:
                shelf.clear()
            shelf[key] = make()
        return shelf[key]


def _walled(mould: Mould | None, wall: Metre) -> Mould | None:
    return None if mould is None else replace(mould, wall=wall)


def _rooms(rooms: Sequence[Room], pairs: Sequence[tuple[Factor, float]]) -> tuple[Room, ...]:
    changed = {room.name: room for room in rooms}
    for factor, value in pairs:
        room = changed[factor.of]
        changed[factor.of] = replace(room, air=value) if factor.kind == "air" else replace(room, surface=value)
    return tuple(changed.values())


def _cooked(base: Base, pairs: Sequence[tuple[Factor, float]]) -> Mapping[str, Cooked]:
    components = base.components
    for factor, value in pairs:
        components = tuple(_reweighed(base, one, factor, value) for one in components)
    made: dict[str, Cooked] = {}
    for component in in_order(components):
        made[component.name] = cook(component, base.larder, made, base.surroundings)
    return made


def _reweighed(base: Base, component: Component, factor: Factor, value: float) -> Component:
    lines = tuple(
        replace(line, amount=_scaled_amount(line.amount, value))
        if _is_meant(base, component, line.what, factor)
        else line
        for line in component.weighed
    )
    if lines == component.weighed:
        return component
    # A measured yield belongs to the recipe as it was weighed; another one gives in proportion.
    before, after = (sum(line.amount.mass or 0.0 for line in one) for one in (component.weighed, lines))
    more = after / before if before else 1.0
    return replace(
        component,
        weighed=lines,
        gives=None if component.gives is None else component.gives * more,
    )


def _scaled_amount(amount: Any, factor: float) -> Any:
    told = {
        name: getattr(amount, name) * factor
        for name in ("mass", "volume", "count", "percent", "share")
        if getattr(amount, name) is not None
    }
    return replace(amount, **told)


def _is_meant(base: Base, component: Component, what: str, factor: Factor) -> bool:
    if factor.kind == "weight":
        name, _, line = factor.of.partition(":")
        return component.name == name.strip() and what == line.strip()
    if factor.of and factor.of != component.name:
        return False
    if any(what == one.name for one in base.components):
        return False
    vector = base.larder.find(what).composition
    from demoule.composition import Constituent

    return float(vector.vector[list(Constituent).index(Constituent.SUCROSE)]) > _SWEET


def _built(base: Base, cooked: Mapping[str, Cooked], pairs: Sequence[tuple[Factor, float]]) -> Piece:
    design, moulds = base.design, {mould.name: mould for mould in base.moulds}
    for factor, value in pairs:
        if factor.kind == "heart size" and design.heart is not None:
            design = replace(design, heart=_grown_heart(design.heart, moulds, value))
        if factor.kind == "piece size":
            if design.mould is not None:
                mould = moulds[design.mould]
                moulds[design.mould] = replace(mould, cavity=_grown(mould.cavity, value))
            elif design.cavity is not None:
                design = replace(design, cavity=_grown(design.cavity, value))
    recipes = {one.name: one for one in base.components}
    return build(design, cooked, moulds, recipes=recipes, learned=base.shells, guns=base.guns, advise=False)


def _grown_heart(heart: Heart, moulds: dict[str, Mould], factor: float) -> Heart:
    if heart.mould is not None and heart.mould in moulds:
        mould = moulds[heart.mould]
        moulds[heart.mould] = replace(mould, cavity=_grown(mould.cavity, factor))
    return replace(
        heart,
        cavity=None if heart.cavity is None else _grown(heart.cavity, factor),
        mass=None if heart.mass is None else heart.mass * factor,
        volume=None if heart.volume is None else heart.volume * factor,
        height=None,
        inside=None if heart.inside is None else _grown_heart(heart.inside, moulds, factor),
    )


def _grown(cavity: Cavity, factor: float) -> Cavity:
    """A cavity of the same shape with so many times the volume."""
    length = factor ** (1 / 3)
    shape = cavity.shape
    sizes: dict[str, Any] = {}
    for name in type(shape).__slots__:
        size = getattr(shape, name)
        if isinstance(size, tuple):
            sizes[name] = tuple((z * length, r * length) for z, r in size)
        else:
            sizes[name] = size * length
    fill = None if cavity.water_fill is None else cavity.water_fill * factor
    return replace(cavity, shape=replace(shape, **sizes), water_fill=fill)


def checked(base: Base, factors: Sequence[Factor], n: int) -> None:
    """Refuse what cannot be varied."""
    if not factors:
        raise BadInput("Nothing is to be varied.", remedy="name a factor, such as heart size 80–120 %.")
    if not 0 <= n <= MOST:
        raise BadInput(f"{n} variants are too many.", remedy=f"try up to {MOST}.")
    if len({factor.name for factor in factors}) < len(factors):
        raise BadInput("One thing is to be varied twice.", remedy="give each factor once.")
    for factor in factors:
        if factor.kind not in KINDS:
            raise UnknownName("thing that can be varied", factor.kind, KINDS)
        if not (np.isfinite([factor.low, factor.high]).all() and factor.low < factor.high):
            raise BadInput(f"“{factor.name}” has no range.", remedy="write the lower value first: 80–120 %.")
        if factor.unit != "K" and not factor.low > 0:
            raise BadInput(f"“{factor.name}” would fall to nothing.", remedy="give values above zero.")
        if factor.unit == "K" and not 100 < factor.low < factor.high < 450:
            raise BadInput(f"“{factor.name}” is no temperature of a kitchen.", remedy="give it in °C or °F.")
        if factor.kind in ("air", "surface"):
            names = [room.name for room in base.rooms]
            if factor.of not in names:
                raise UnknownName("room", factor.of, names)
        if factor.kind == "heart size" and base.design.heart is None:
            raise BadInput("The piece has no heart to be varied.", remedy="vary something else.")
        if factor.kind in ("sugar", "weight") and not any(
            _is_meant(base, one, line.what, factor) for one in base.components for line in one.weighed
        ):
            where = f" in “{factor.of}”" if factor.of else ""
            raise BadInput(
                f"There is no {'sugar' if factor.kind == 'sugar' else 'such line'}{where} to be varied.",
                remedy="name a component and one of its lines: weight jelly: sugar 80–120 %.",
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
    workers
        Processes; None: one per processor; 1: none besides this one.
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
    workshop = _Workshop(base, factors)
    first, *rest = jobs
    if first not in done:
        done[first] = workshop.run(first, jobs[first])
        if keep is not None and not done[first].why:
            keep(done[first])
    if done[first].why:
        raise BadInput(done[first].why, remedy="mend the dessert before it is varied.")
    missing = [(key, jobs[key]) for key in rest if key not in done]
    for outcome in _run(workshop, missing, workers, scheduler, cancelled or (lambda: False)):
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


def _jobs(base: Base, factors: tuple[Factor, ...], n: int, seed: int) -> dict[str, tuple[float | None, ...]]:
    """Every variant by its key: the dessert as it is, both ends of each factor, and the points between."""
    from scipy.stats import qmc  # loads slowly, and only an exploration needs it

    plain: list[tuple[float | None, ...]] = [tuple(None for _ in factors)]
    for place, factor in enumerate(factors):
        plain += [tuple(end if k == place else None for k in range(len(factors))) for end in (factor.low, factor.high)]
    if n:
        points = qmc.Sobol(d=len(factors), seed=seed).random_base2(max(1, int(np.ceil(np.log2(n)))))[:n]
        low, high = (np.array([getattr(factor, end) for factor in factors]) for end in ("low", "high"))
        plain += [tuple(map(float, row)) for row in low + points * (high - low)]
    used = dict.fromkeys(line.what for component in base.components for line in component.weighed)
    own = {component.name for component in base.components}
    items = [base.larder.find(what) for what in used if what not in own]
    about = _spelled((replace(base, larder=Larder()), items, [factor.name for factor in factors])).encode()
    return {hashlib.sha256(about + repr(values).encode()).hexdigest()[:20]: values for values in plain}


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


Job = tuple[str, tuple[float | None, ...]]
_here: list[_Workshop] = []


def _begin(made: bytes) -> None:
    """Set up the bench of another process."""
    _here[:] = [_Workshop(*pickle.loads(made))]


def _batch(jobs: Sequence[Job]) -> list[Outcome]:
    return [_here[0].run(key, values) for key, values in jobs]


def _batch_elsewhere(made: bytes, jobs: Sequence[Job]) -> list[Outcome]:
    """The same on a scheduler's worker, which may see several explorations."""
    name = hashlib.sha256(made).hexdigest()
    if _elsewhere.get("name") != name:
        _elsewhere.update(name=name, bench=_Workshop(*pickle.loads(made)))
    return [cast(_Workshop, _elsewhere["bench"]).run(key, values) for key, values in jobs]


_elsewhere: dict[str, object] = {}


def _run(
    workshop: _Workshop,
    jobs: Sequence[Job],
    workers: int | None,
    scheduler: str | None,
    cancelled: Callable[[], bool],
) -> Iterator[Outcome]:
    count = workers or os.cpu_count() or 1
    if scheduler is None and (workers is None or count == 1):
        begun = time.perf_counter()
        for done, (key, values) in enumerate(jobs):
            took = time.perf_counter() - begun
            if cancelled():
                return
            if count > 1 and done >= _TRIED and took / done * (len(jobs) - done) > _WORTH:
                jobs = jobs[done:]
                break
            yield workshop.run(key, values)
        else:
            return
    chunks = [jobs[at : at + _CHUNK] for at in range(0, len(jobs), _CHUNK)]
    if scheduler is not None:
        yield from _on_scheduler(workshop, chunks, scheduler, cancelled)
    else:
        yield from _in_processes(workshop, chunks, count, cancelled)


def _in_processes(
    workshop: _Workshop, chunks: Sequence[Sequence[Job]], count: int, cancelled: Callable[[], bool]
) -> Iterator[Outcome]:
    import multiprocessing
    from concurrent.futures import FIRST_COMPLETED, ProcessPoolExecutor, wait

    made = pickle.dumps((workshop.base, workshop.factors))
    # Not forked from here: a fork would copy locks that other threads of this process hold. A server that has
    # loaded everything is forked instead, where the system can.
    served = "forkserver" in multiprocessing.get_all_start_methods()
    context = multiprocessing.get_context("forkserver" if served else "spawn")
    if served:
        context.set_forkserver_preload(["demoule.cold.variants", "demoule.cold.stay", "scipy.ndimage"])
    with ProcessPoolExecutor(count, mp_context=context, initializer=_begin, initargs=(made,)) as pool:
        waiting = {pool.submit(_batch, chunk) for chunk in chunks}
        while waiting:
            if cancelled():
                pool.shutdown(wait=False, cancel_futures=True)
                return
            ready, waiting = wait(waiting, timeout=0.2, return_when=FIRST_COMPLETED)
            for one in ready:
                yield from one.result()


def _on_scheduler(
    workshop: _Workshop, chunks: Sequence[Sequence[Job]], address: str, cancelled: Callable[[], bool]
) -> Iterator[Outcome]:
    try:
        from dask.distributed import Client, as_completed
    except ImportError:
        raise BadInput(
            "To run on a scheduler, the part “cluster” of demoule is needed.",
            remedy='install it with: pip install "demoule[cluster]"',
        ) from None
    try:
        client = Client(address, timeout="10s")  # type: ignore[no-untyped-call]
    except (OSError, TimeoutError, ValueError) as error:
        raise BadInput(f"No scheduler answers at {address}: {error}.", remedy="check the address.") from None
    with client:
        made = pickle.dumps((workshop.base, workshop.factors))
        futures = [client.submit(_batch_elsewhere, made, chunk, pure=False) for chunk in chunks]
        for one in as_completed(futures):  # type: ignore[no-untyped-call]
            if cancelled():
                client.cancel(futures)  # type: ignore[no-untyped-call]
                return
            yield from one.result()
