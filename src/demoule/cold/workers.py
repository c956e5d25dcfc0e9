"""Where variants run: beside each other in this process, in other processes, or on a distributed scheduler."""

from __future__ import annotations

import hashlib
import os
import pickle
import time
from collections.abc import Callable, Collection, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Executor, Future, ThreadPoolExecutor, wait
from functools import partial
from threading import Lock
from typing import Protocol

from demoule.cold.sensitivity import Outcome
from demoule.errors import BadInput

__all__ = ["Bench", "Job", "run_all"]

Job = tuple[str, tuple[float | None, ...]]
"""The key of a variant, and the value of each factor; None leaves it as the dessert has it."""

_CHUNK = 16
_WORTH = 20.0  # s of work, below which other processes would hardly have started


class Bench(Protocol):
    """What makes variants; it can be sent to another process."""

    def run(self, key: str, values: tuple[float | None, ...]) -> Outcome:
        """One variant."""
        ...


def run_all(
    bench: Bench,
    jobs: Sequence[Job],
    *,
    workers: int | None = None,
    scheduler: str | None = None,
    lead: int = 0,
    cancelled: Callable[[], bool] = lambda: False,
) -> Iterator[Outcome]:
    """Every variant as soon as it is there, until cancelled.

    Parameters
    ----------
    lead
        Of the jobs, so many at the beginning take longer than the rest.
    workers
        1: one after the other; more: in so many other processes; None: on all processors, in threads of this process
        (the solver holds no lock) or, where there is work for long, in other processes.
    scheduler
        Address of a Dask scheduler that stands ready; it wins over `workers`.
    """
    if scheduler is not None:
        yield from _on_scheduler(bench, _chunks(jobs), scheduler, cancelled)
        return
    count = workers or os.cpu_count() or 1
    if count == 1:
        yield from _one_by_one(bench, jobs, cancelled)
        return
    if workers is None:
        # The ends of the ranges are each made anew; those after them tell how long one takes.
        first, tried, jobs = jobs[:lead], jobs[lead : lead + _CHUNK], jobs[lead + _CHUNK :]
        yield from _one_by_one(bench, first, cancelled)
        begun = time.thread_time()
        yield from _one_by_one(bench, tried, cancelled)
        each = (time.thread_time() - begun) / max(len(tried), 1)
        if each * len(jobs) < _WORTH:
            with ThreadPoolExecutor(count) as threads:
                yield from _through(threads, partial(_batch, bench), _chunks(jobs), cancelled)
            return
    yield from _in_processes(bench, _chunks(jobs), count, cancelled)


def _one_by_one(bench: Bench, jobs: Sequence[Job], cancelled: Callable[[], bool]) -> Iterator[Outcome]:
    for key, values in jobs:
        if cancelled():
            return
        yield bench.run(key, values)


def _chunks(jobs: Sequence[Job]) -> list[Sequence[Job]]:
    return [jobs[at : at + _CHUNK] for at in range(0, len(jobs), _CHUNK)]


def _batch(bench: Bench, jobs: Sequence[Job]) -> list[Outcome]:
    return [bench.run(key, values) for key, values in jobs]


def _through(
    pool: Executor,
    batch: Callable[[Sequence[Job]], list[Outcome]],
    chunks: Sequence[Sequence[Job]],
    cancelled: Callable[[], bool],
) -> Iterator[Outcome]:
    waiting: Collection[Future[list[Outcome]]] = {pool.submit(batch, chunk) for chunk in chunks}
    try:
        while waiting:
            if cancelled():
                return
            ready, waiting = wait(waiting, timeout=0.2, return_when=FIRST_COMPLETED)
            for one in ready:
                yield from one.result()
    finally:
        pool.shutdown(wait=False, cancel_futures=True)


_here: list[Bench] = []


def _begin(sent: bytes) -> None:
    """Set up the bench of another process."""
    _here[:] = [pickle.loads(sent)]


def _batch_here(jobs: Sequence[Job]) -> list[Outcome]:
    return _batch(_here[0], jobs)


def _in_processes(
    bench: Bench, chunks: Sequence[Sequence[Job]], count: int, cancelled: Callable[[], bool]
) -> Iterator[Outcome]:
    import multiprocessing
    from concurrent.futures import ProcessPoolExecutor

    # Not forked from here: a fork would copy locks that other threads of this process hold. A server that has
    # loaded everything is forked instead, where the system can.
    served = "forkserver" in multiprocessing.get_all_start_methods()
    context = multiprocessing.get_context("forkserver" if served else "spawn")
    if served:
        context.set_forkserver_preload(["demoule.cold.variants", "demoule.cold.stay"])
    with ProcessPoolExecutor(count, mp_context=context, initializer=_begin, initargs=(pickle.dumps(bench),)) as pool:
        yield from _through(pool, _batch_here, chunks, cancelled)


_elsewhere: dict[str, Bench] = {}
_setting = Lock()


def _batch_elsewhere(sent: bytes, jobs: Sequence[Job]) -> list[Outcome]:
    """The same on a scheduler's worker, which may have several threads and see several explorations."""
    name = hashlib.sha256(sent).hexdigest()
    with _setting:
        if name not in _elsewhere:
            _elsewhere.clear()
            _elsewhere[name] = pickle.loads(sent)
        bench = _elsewhere[name]
    return _batch(bench, jobs)


def _on_scheduler(
    bench: Bench, chunks: Sequence[Sequence[Job]], address: str, cancelled: Callable[[], bool]
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
        # Sent to every worker once, not with every chunk.
        sent = client.scatter(pickle.dumps(bench), broadcast=True)  # type: ignore[no-untyped-call]
        futures = [client.submit(_batch_elsewhere, sent, chunk, pure=False) for chunk in chunks]
        for one in as_completed(futures):  # type: ignore[no-untyped-call]
            if cancelled():
                client.cancel(futures)  # type: ignore[no-untyped-call]
                return
            yield from one.result()
