"""What serves pages is up soon: it loads nothing that computes, draws or migrates."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

HEAVY = ("numpy", "scipy", "numba", "shapely", "ruamel.yaml", "alembic", "fontTools", "sqlalchemy.dialects.postgresql")

SCRIPT = """
import sys
from demoule.store import open_store
with open_store(sys.argv[1]):
    pass
"""

SERVED = """
import sys
from demoule.cli.serving import _opened
app, store = _opened("127.0.0.1", sys.argv[1], "", 1)
print(" ".join(name for name in sys.argv[2].split(",") if name in sys.modules))
"""


def test_what_serves_pages_loads_no_numerics(tmp_path: Path) -> None:
    path = tmp_path / "memory.sqlite"
    subprocess.run([sys.executable, "-c", SCRIPT, str(path)], check=True)  # makes the tables and dresses nothing
    run = [sys.executable, "-c", SERVED, str(path), ",".join(HEAVY)]
    subprocess.run(run, check=True, capture_output=True)  # the dress is made here when it is not there yet
    found = subprocess.run(run, check=True, capture_output=True, text=True)
    assert found.stdout.split() == []
