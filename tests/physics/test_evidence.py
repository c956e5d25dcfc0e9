from __future__ import annotations

import tomllib
from importlib.resources import files

import pytest

from demoule.figures import MODELS, Status
from demoule.physics.evidence import evidence

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


@pytest.mark.parametrize(
    "model",
    [
        "freezing point",
        "boiling point",
        "density of mix",
        "refractive index",
        "viscosity of sucrose solution",
        "enthalpy",
    ],
)
def test_the_gates_rest_on_points_that_were_read(model):
    firm = [e for e in HELD if e.model == model and e.status in (Status.READ, Status.QUOTED)]
    assert firm
