"""What a first click waits for."""

from __future__ import annotations

import subprocess
import sys

import numba
import numpy as np

from demoule.cold import compiled as module
from demoule.cold.warm import warm


def test_importing_the_layer_loads_no_compiler():
    program = "import sys; import demoule.cold; sys.exit('numba' in sys.modules or 'llvmlite' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", program], check=False).returncode == 0


def test_where_nothing_can_be_kept_the_code_still_runs(monkeypatch):
    plain = numba.njit

    def no_folder(*args, **options):
        if options.get("cache"):
            raise RuntimeError("cannot cache function: no locator available")
        return plain(*args, **options)

    monkeypatch.setattr(module.numba, "njit", no_folder)

    def double(x):
        return 2.0 * x

    assert module.compiled(double)(np.float64(4.0)) == 8.0


def test_warming_runs_every_loop_and_tells_how_long():
    assert warm() > 0
