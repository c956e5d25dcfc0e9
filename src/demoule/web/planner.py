"""A process that looks for a good week, for as long as it takes; the best week so far is here at every moment.

It is told to stop by a word on its pipe. When it is in the middle of a long step it does not hear it, and is ended:
what it told last is the best so far. When it dies, that is not lost either.
"""

from __future__ import annotations

import asyncio
import contextlib
import multiprocessing
import multiprocessing.process
import os
import secrets
import time
from collections import OrderedDict
from collections.abc import Awaitable, Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from multiprocessing.connection import Connection
from typing import Any

from demoule.errors import BadInput, DemouleError
from demoule.web.workers import TookTooLong

__all__ = ["Busy", "Job", "Planner"]

_GRACE = 2.0  # s that a search has for stopping by itself
_LONGEST = 900.0  # s; the demonstration takes less than one minute
_WAITING = 8
_STOP = "stop"
_REMEMBERED = 64

Found = dict[str, Any]
Done = Callable[["Job"], Awaitable[str]]


class Busy(DemouleError):
    """Too many weeks wait to be planned."""


@dataclass(slots=True)
class Job:
    """One search.

    Parameters
    ----------
    state
        "waiting", "reading", "looking", "done", "failed".
    words, cost
        What was found last, and how good it is: pieces not made, minutes late, minutes of overtime.
    best
        The best week so far; None until there is a complete one.
    leads
        Where the page goes when it is done.
    """

    who: str
    what: str
    question: str
    given: dict[str, Any]
    ident: str = field(default_factory=lambda: secrets.token_urlsafe(12))
    begun: float = field(default_factory=time.monotonic)
    ended: float | None = None
    state: str = "waiting"
    words: str = ""
    cost: dict[str, int] = field(default_factory=dict)
    better: int = 0
    best: Found | None = None
    stop: bool = False
    error: DemouleError | None = None
    leads: str = ""

    @property
    def seconds(self) -> float:
        """How long it has been at it."""
        return (self.ended if self.ended is not None else time.monotonic()) - self.begun

    @property
    def over(self) -> bool:
        """Whether nothing more will come."""
        return self.state in ("done", "failed")


def _serve(pipe: Connection) -> None:
    """The life of the process: one search after the other, until the pipe closes."""
    from demoule.web import week_working
    from demoule.web.workers import _bare

    searches: dict[str, Callable[..., Found]] = {
        "search_week": week_working.search_week,
        "search_again": week_working.search_again,
    }
    if hasattr(os, "nice"):
        os.nice(10)  # whoever types a figure meanwhile goes first
    while True:
        try:
            asked = pipe.recv()
        except (EOFError, OSError, KeyboardInterrupt):
            return
        if asked == _STOP:  # it came when all was done
            continue
        question, given = asked

        def progress(words: str, cost: dict[str, int]) -> None:
            pipe.send(("better", (words, cost)))

        def best(found: Found) -> None:
            pipe.send(("best", found))

        def cancel() -> bool:
            return pipe.poll()

        try:
            found = searches[question](**given, progress=progress, best=best, cancel=cancel)
            answer: tuple[str, Any] = ("done", found)
        except DemouleError as error:
            answer = ("failed", _bare(error))
        except Exception as error:  # told to whoever asked, and logged there
            answer = ("broke", f"{type(error).__name__}: {error}")
        try:
            pipe.send(answer)
        except (OSError, EOFError, KeyboardInterrupt):
            return


class Planner:
    """Searches, one at a time, and what became of the last ones."""

    def __init__(self) -> None:
        ways = multiprocessing.get_all_start_methods()
        self._context: Any = multiprocessing.get_context("forkserver" if "forkserver" in ways else "spawn")
        self._process: multiprocessing.process.BaseProcess | None = None
        self._pipe: Connection | None = None
        self._threads = ThreadPoolExecutor(1, thread_name_prefix="plan")
        self._jobs: OrderedDict[str, Job] = OrderedDict()
        self._tasks: set[asyncio.Task[None]] = set()

    def begin(self, job: Job, done: Done) -> Job:
        """Put a search in the row; `done` is awaited with what was found and tells where the page goes.

        Raises
        ------
        Busy
            When too many wait.
        """
        if sum(not one.over for one in self._jobs.values()) >= _WAITING:
            raise Busy("Several weeks are being planned already.", remedy="wait until one of them is done.")
        self._jobs[job.ident] = job
        while len(self._jobs) > _REMEMBERED:
            self._jobs.popitem(last=False)
        task = asyncio.get_running_loop().create_task(self._look(job, done))
        self._tasks.add(task)
        task.add_done_callback(self._tasks.discard)
        return job

    def job(self, ident: str) -> Job | None:
        """A search by its name; None when it is not known any more."""
        return self._jobs.get(ident)

    def running(self, what: str) -> Job | None:
        """The search on something that is not over."""
        return next((job for job in self._jobs.values() if job.what == what and not job.over), None)

    def cancel(self, job: Job) -> None:
        """Stop a search; the best week so far is kept."""
        job.stop = True

    def stop(self) -> None:
        """End everything."""
        for job in self._jobs.values():
            job.stop = True
        self._end()
        self._threads.shutdown(wait=False, cancel_futures=True)

    async def _look(self, job: Job, done: Done) -> None:
        try:
            await asyncio.get_running_loop().run_in_executor(self._threads, self._search, job)
            if job.error is None and job.best is None:
                job.error = BadInput("Nothing complete was found before it was stopped.", remedy="let it look longer.")
            if job.error is None:
                job.leads = await done(job)
        except DemouleError as error:
            job.error = error
        except Exception as error:
            job.error = TookTooLong("The planning broke off.", remedy="try again; what is kept is untouched.")
            raise error from None
        finally:
            job.ended = time.monotonic()
            job.state = "failed" if job.error is not None else "done"

    def _search(self, job: Job) -> None:
        """In a thread: ask, listen, and stop when told to."""
        if job.stop:
            return
        pipe = self._started()
        job.state, job.begun = "reading", time.monotonic()
        told = None
        try:
            pipe.send((job.question, job.given))
            while True:
                if pipe.poll(0.1):
                    kind, value = pipe.recv()
                    if kind == "better":
                        job.words, job.cost = value
                        job.better += 1
                        job.state = "looking"
                    elif kind == "best":
                        job.best = value
                    elif kind == "done":
                        job.best = value
                        return
                    elif kind == "failed":
                        job.error = value
                        return
                    else:
                        raise RuntimeError(value)
                    continue
                if job.stop and told is None:
                    told = time.monotonic()
                    pipe.send(_STOP)
                late = job.seconds > _LONGEST
                if late or (told is not None and time.monotonic() - told > _GRACE):
                    self._end()
                    if job.best is None and late:
                        job.error = TookTooLong("No week was found in time.", remedy="plan fewer days at once.")
                    return
        except (EOFError, OSError):
            self._end()
            if job.best is None:
                job.error = TookTooLong(
                    "The part that plans stopped in the middle of it.", remedy="try again; what is kept is untouched."
                )

    def _started(self) -> Connection:
        if self._process is None or not self._process.is_alive() or self._pipe is None:
            self._end()
            ours, theirs = self._context.Pipe()
            self._process = self._context.Process(target=_serve, args=(theirs,), daemon=True, name="demoule-planner")
            self._process.start()
            theirs.close()
            self._pipe = ours
        return self._pipe

    def _end(self) -> None:
        pipe, process = self._pipe, self._process
        self._pipe = self._process = None
        if pipe is not None:
            pipe.close()
        if process is not None:
            with contextlib.suppress(AttributeError, ValueError):
                process.kill()
                process.join(2)
