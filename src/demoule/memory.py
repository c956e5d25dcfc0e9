"""Results that are kept by the value of what they were made from, so that nothing is computed twice."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable
from threading import Lock
from typing import TypeVar, cast

__all__ = ["Memory"]

T = TypeVar("T")


class Memory:
    """Results of stages by the value of their inputs, the least recently used forgotten first.

    A stage is a pure function of frozen values, so a result may be shared between desserts, threads and versions.
    """

    def __init__(self, most: int = 512) -> None:
        self._most = most
        self._results: OrderedDict[Hashable, object] = OrderedDict()
        self._lock = Lock()

    def recall(self, stage: Callable[..., object], inputs: Hashable, compute: Callable[[], T]) -> T:
        """The result of `stage` for these inputs, computed when it is not remembered."""
        key = _key(stage, inputs)
        with self._lock:
            if key in self._results:
                self._results.move_to_end(key)
                return cast(T, self._results[key])
        result = compute()
        with self._lock:
            self._results[key] = result
            while len(self._results) > self._most:
                self._results.popitem(last=False)
        return result

    def known(self, stage: Callable[..., object], inputs: Hashable) -> object | None:
        """The result of `stage` for these inputs when it is remembered; nothing is computed."""
        key = _key(stage, inputs)
        with self._lock:
            if key not in self._results:
                return None
            self._results.move_to_end(key)
            return self._results[key]


def _key(stage: Callable[..., object], inputs: Hashable) -> Hashable:
    return stage.__module__, stage.__qualname__, inputs
