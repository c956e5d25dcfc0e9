"""Compiles the inner loops once and keeps the machine code, so that later processes load it instead of compiling."""

from __future__ import annotations

import contextlib
from collections.abc import Callable
from typing import Any, TypeVar, cast

import numba

__all__ = ["compiled"]

F = TypeVar("F", bound=Callable[..., object])

# "contract" and "reassoc" let sums run in several lanes; NaN and infinity keep their meaning.
_LOOSE = {"contract", "reassoc", "arcp", "nsz"}


def compiled(function: F) -> F:
    """Machine code for a loop over arrays, kept on disk where that is possible; it runs without the interpreter's lock.

    Where no folder can be written (an install for reading only, an account without a home) the code is compiled again
    in each process: slower at the first answer, the same answer.
    """
    options: dict[str, Any] = {"nogil": True, "error_model": "numpy", "fastmath": _LOOSE}
    jit = cast("Callable[..., Callable[[F], F]]", numba.njit)
    with contextlib.suppress(RuntimeError):
        return jit(cache=True, **options)(function)
    return jit(cache=False, **options)(function)
