"""Everything the cold stage is held against: exact series, moving fronts, converged solutions, handbook examples."""

from demoule.cold.evidence.converged import converged, reference_matter
from demoule.cold.evidence.exact import exact
from demoule.cold.evidence.fronts import fronts
from demoule.cold.evidence.handbooks import handbooks
from demoule.cold.evidence.solids import solids
from demoule.figures import Evidence

__all__ = ["evidence", "reference_matter"]


def evidence() -> list[Evidence]:
    """Each comparison with its points, its computed values and the difference allowed."""
    return [*exact(), *fronts(), *converged(), *solids(), *handbooks()]
