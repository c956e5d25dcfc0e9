"""Published points beside what the models of this layer give for them."""

from __future__ import annotations

from demoule.figures import Evidence
from demoule.physics.evidence.bench import bench
from demoule.physics.evidence.candied import candied
from demoule.physics.evidence.heat import heat
from demoule.physics.evidence.shell import shell
from demoule.physics.evidence.solutions import solutions
from demoule.physics.evidence.water import water

__all__ = ["evidence"]


def evidence() -> list[Evidence]:
    """Everything the models of this layer are held against."""
    return [*solutions(), *water(), *heat(), *shell(), *candied(), *bench()]
