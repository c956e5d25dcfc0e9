from __future__ import annotations

import ast
import importlib
from pathlib import Path

import demoule.physics as physics


def test_the_layer_lists_what_it_gives():
    assert len(set(physics.__all__)) == len(physics.__all__)
    for name in physics.__all__:
        assert hasattr(physics, name)
    tree = ast.parse(Path(physics.__file__).read_text(encoding="utf-8"))
    imported = {a.asname or a.name for node in tree.body if isinstance(node, ast.ImportFrom) for a in node.names}
    assert imported == set(physics.__all__)


def test_every_module_lists_its_own_names():
    for path in Path(physics.__file__).parent.glob("*.py"):
        if path.stem != "__init__":
            module = importlib.import_module(f"demoule.physics.{path.stem}")
            assert all(hasattr(module, name) for name in module.__all__)
