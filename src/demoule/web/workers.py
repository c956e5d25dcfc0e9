"""Processes that do the numerics, so that a request never waits for more than its own answer.

The process that serves pages never loads the numerics. Each worker holds one end of a pipe; one that takes too long or
dies is replaced, and only the question it had is lost.

There are two crews. The quick one answers what somebody waits for with a finger on the next key; the steady one does
all the rest, at a lower priority of the system, so that a long answer never holds up a short one on the same core.
"""

from __future__ import annotations

import asyncio
import contextlib
import itertools
import multiprocessing
import multiprocessing.process
import os
import threading
from collections import OrderedDict, deque
from collections.abc import Callable, Hashable
from concurrent.futures import ThreadPoolExecutor
from multiprocessing.connection import Connection
from typing import Any

from demoule.errors import BadInput, DemouleError

__all__ = ["QUICK", "Overtaken", "TookTooLong", "Workers"]

QUICK = frozenset({
    "begin", "bench_first", "described", "differences", "ingredient", "kitchen_names", "larder", "levers", "merged",
    "name_of", "patterns", "questions",
})  # fmt: skip
"""Questions of the quick crew: each takes a tenth of a second at most."""

_PATIENCE = 60.0  # s; the longest honest question of the demonstration takes 4 s on a cold machine
_LOADING = 180.0  # s; loading the numerics takes 2 s, and longer on a machine that is busy with other things
_LOADED = "loaded"
_REMEMBERED = 96
_STEADY = 10  # how much the steady crew gives way to the quick one and to pages, in the system's steps
_NEAR = 24  # documents whose results a worker still has at hand


class TookTooLong(DemouleError):
    """A question that a worker could not answer in time."""


class Overtaken(Exception):
    """A newer question of the same person on the same thing took its place."""


class _Failed:
    """What a worker sends back when a question goes wrong."""

    def __init__(self, error: BaseException) -> None:
        self.error = error


def _serve(pipe: Connection, gives_way: int) -> None:
    """The life of a worker: load, then answer until the pipe closes."""
    if gives_way:
        with contextlib.suppress(OSError, AttributeError):
            os.nice(gives_way)
    from demoule.cold.warm import warm
    from demoule.web import working

    warm()  # what is compiled on a first use is compiled now, and no chef's first question waits for it
    try:
        pipe.send(_LOADED)
    except OSError:
        return
    while True:
        try:
            name, given = pipe.recv()
        except (EOFError, OSError, KeyboardInterrupt):
            return
        try:
            found: object = working.QUESTIONS[name](**given)
        except DemouleError as error:
            found = _Failed(_bare(error))
        except Exception as error:  # told to the asker, who logs it
            found = _Failed(RuntimeError(f"{type(error).__name__}: {error}"))
        try:
            pipe.send(found)
        except (OSError, KeyboardInterrupt):
            return


def _bare(error: DemouleError) -> DemouleError:
    """An error that can travel: its parts, without what cannot be packed."""
    mistakes = getattr(error, "mistakes", None)
    bare = Placed(error.says, mistakes) if mistakes else BadInput(error.says)
    bare.places, bare.remedy = list(error.places), error.remedy
    return bare


class Placed(BadInput):
    """Mistakes of a file that travelled between processes."""

    def __init__(self, says: str, mistakes: Any = ()) -> None:
        super().__init__(says)
        self.mistakes = tuple(mistakes)

    def __reduce__(self) -> Any:
        return _placed, (self.says, self.mistakes, self.places, self.remedy)


def _placed(says: str, mistakes: Any, places: list[str], remedy: str) -> Placed:
    error = Placed(says, mistakes)
    error.places, error.remedy = places, remedy
    return error


class _Worker:
    """One process and our end of its pipe."""

    def __init__(self, context: Any, gives_way: int) -> None:
        self._context = context
        self._gives_way = gives_way
        self.near: OrderedDict[Hashable, None] = OrderedDict()
        self._process: multiprocessing.process.BaseProcess | None = None
        self._pipe: Connection | None = None
        self._starting = threading.Lock()
        self._loaded = False

    def start(self) -> None:
        """Start the process, unless it runs."""
        with self._starting:
            if self._process is None or not self._process.is_alive():
                self._start()

    def _start(self) -> None:
        ours, theirs = self._context.Pipe()
        self._process = self._context.Process(
            target=_serve, args=(theirs, self._gives_way), daemon=True, name="demoule-worker"
        )
        self._process.start()
        theirs.close()
        self._pipe = ours
        self._loaded = False

    def stop(self) -> None:
        """End the process, whatever it does."""
        with self._starting:
            pipe, process = self._pipe, self._process
            self._pipe = self._process = None
        if pipe is not None:
            pipe.close()
        if process is not None:
            process.kill()
            process.join(2)

    def ask(self, name: str, given: dict[str, Any], patience: float) -> Any:
        """Ask, and wait for the answer."""
        self.start()
        assert self._pipe is not None
        try:
            if not self._loaded:
                if not self._pipe.poll(_LOADING):
                    self.stop()
                    raise TookTooLong("The part that computes did not start.", remedy="look at the machine's load.")
                self._loaded = self._pipe.recv() == _LOADED
            self._pipe.send((name, given))
            if not self._pipe.poll(patience):
                self.stop()
                raise TookTooLong(
                    f"The answer took longer than {patience:.0f} s and was given up.",
                    remedy="make the dessert simpler, or the last change smaller.",
                )
            found = self._pipe.recv()
        except (EOFError, OSError):
            self.stop()
            raise TookTooLong(
                "The part that computes stopped in the middle of it.", remedy="try again; what is typed is kept."
            ) from None
        if isinstance(found, _Failed):
            raise found.error
        return found


class _Crew:
    """Workers of one priority; a question goes to one that had the same document before, when that one is idle."""

    def __init__(self, context: Any, count: int, gives_way: int) -> None:
        self.workers = [_Worker(context, gives_way) for _ in range(count)]
        self.threads = ThreadPoolExecutor(count, thread_name_prefix="ask")
        self._idle = list(self.workers)
        self._waiting: deque[asyncio.Future[_Worker]] = deque()

    async def take(self, near: Hashable) -> _Worker:
        """The next idle worker, kept until it is given back."""
        if self._idle:
            worker = min(self._idle, key=lambda one: (near is not None and near not in one.near, len(one.near)))
            self._idle.remove(worker)
        else:
            turn: asyncio.Future[_Worker] = asyncio.get_running_loop().create_future()
            self._waiting.append(turn)
            try:
                worker = await turn
            except asyncio.CancelledError:
                if turn.done() and not turn.cancelled():
                    self.give(turn.result())
                raise
        if near is not None:
            worker.near[near] = None
            worker.near.move_to_end(near)
            if len(worker.near) > _NEAR:
                worker.near.popitem(last=False)
        return worker

    def give(self, worker: _Worker) -> None:
        """Give a worker back."""
        while self._waiting:
            turn = self._waiting.popleft()
            if not turn.done():
                turn.set_result(worker)
                return
        self._idle.append(worker)


class Workers:
    """Some processes, a memory of their last answers, and a rule: of two questions on one thing the newer wins.

    Parameters
    ----------
    count
        Processes of the steady crew; None: as many as cores, four at most. The quick crew has so many too, two at most.
    patience
        How long an answer may take [s].
    """

    def __init__(self, count: int | None = None, *, patience: float = _PATIENCE) -> None:
        count = count or max(1, min(4, os.cpu_count() or 1))
        self._patience = patience
        ways = multiprocessing.get_all_start_methods()
        context = multiprocessing.get_context("forkserver" if "forkserver" in ways else "spawn")
        if "forkserver" in ways:
            context.set_forkserver_preload(["demoule.web.working"])
        self._steady = _Crew(context, count, _STEADY)
        self._quick = _Crew(context, min(count, 2), 0)
        self._remembered: OrderedDict[Hashable, Any] = OrderedDict()
        self._waiting: dict[Hashable, asyncio.Future[Any]] = {}
        self._newest: dict[Hashable, int] = {}
        self._numbers = itertools.count()

    def start(self) -> None:
        """Start the processes; they load while the first page is already served."""
        # The first start brings up the process that the workers are forked from; that must not hold up a page.
        for crew in (self._steady, self._quick):
            for worker in crew.workers:
                crew.threads.submit(worker.start)

    def stop(self) -> None:
        """End the processes."""
        for crew in (self._steady, self._quick):
            for worker in crew.workers:
                worker.stop()
            crew.threads.shutdown(wait=False, cancel_futures=True)

    def drop(self, turn: Hashable) -> None:
        """Let a question that still waits for its turn give up its place: nobody needs its answer any more."""
        self._newest.pop(turn, None)

    async def ask(
        self, question: str, /, *, turn: Hashable = None, near: Hashable = None, remember: bool = True, **given: Any
    ) -> Any:
        """The answer to a question of `demoule.web.working`.

        Parameters
        ----------
        near
            The document that it is about: a worker that had it before has most of the answer at hand.
        turn
            Who asks about what; a newer question with the same `turn` makes this one give up its place.
        remember
            Whether the same question may be answered from memory.

        Raises
        ------
        DemouleError
            As the numerics raise it, or when it takes too long.
        Overtaken
            When a newer question took its place.
        """
        remember = remember and "data" not in given  # what was sent as a file is not kept
        key = (question, tuple(sorted((k, v if isinstance(v, Hashable) else repr(v)) for k, v in given.items())))
        if turn is not None:
            number = self._newest[turn] = next(self._numbers)
        if remember and key in self._remembered:
            self._remembered.move_to_end(key)
            return self._remembered[key]
        if remember and key in self._waiting:
            return await asyncio.shield(self._waiting[key])
        crew = self._quick if question in QUICK else self._steady
        worker = await crew.take(near)
        if turn is not None and self._newest.get(turn) != number:
            crew.give(worker)
            raise Overtaken
        loop = asyncio.get_running_loop()
        asked = loop.run_in_executor(crew.threads, worker.ask, question, given, self._patience)
        asked.add_done_callback(lambda _: crew.give(worker))
        if remember:
            self._waiting[key] = asked
        try:
            found = await asyncio.shield(asked)
        finally:
            if remember and asked.done():
                self._waiting.pop(key, None)
            elif remember:
                asked.add_done_callback(lambda _: self._waiting.pop(key, None))
            asked.add_done_callback(_heard)
            if turn is not None and self._newest.get(turn) == number:
                self._newest.pop(turn, None)
        if remember:
            self._remembered[key] = found
            while len(self._remembered) > _REMEMBERED:
                self._remembered.popitem(last=False)
        return found


def _heard(asked: asyncio.Future[Any]) -> None:
    """An answer that nobody waits for any more is no news."""
    with contextlib.suppress(BaseException):
        asked.exception()


Question = Callable[..., Any]
