from __future__ import annotations

import tomllib
from importlib.resources import files

import pytest

from demoule.cold.evidence import evidence
from demoule.figures import MODELS, Status

HELD = evidence()


@pytest.mark.parametrize("held", HELD, ids=lambda e: f"{e.model}: {e.title} ({e.source})")
def test_every_published_point_lies_within_its_tolerance(held):
    assert held.model in MODELS
    assert len(held.at) == len(held.published) == len(held.computed) > 0
    assert held.worst <= held.tolerance


def test_every_source_is_listed():
    listed = tomllib.loads(files("demoule").joinpath("sources.toml").read_text(encoding="utf-8"))
    assert {e.source for e in HELD} <= set(listed)
    assert {m.source for m in MODELS.values()} <= set(listed)


def test_some_gates_rest_on_what_was_read():
    assert {e.model for e in HELD if e.status is Status.READ} >= {"conduction", "plank time", "pham time"}
