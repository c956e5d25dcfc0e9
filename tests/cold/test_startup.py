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


def test_a_mesh_needs_no_code_that_was_not_warmed(ribbed_fruit):
    from demoule.cold import cubes, grid, solver
    from demoule.cold.evidence import reference_matter
    from demoule.cold.evidence.points import run

    warm()
    loops = (cubes._traced, grid.joined_cells, solver.march)
    before = [len(loop.signatures) for loop in loops]
    fruit = ribbed_fruit()
    body = cubes.cut_solid(fruit, [fruit], 0.004)
    track = run(body, [reference_matter("A")], start=288.15, air=238.15, h=25.0, until=255.15, at_most=1e5)
    assert track.met is not None
    assert [len(loop.signatures) for loop in loops] == before
