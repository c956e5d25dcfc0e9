"""Every model with its source, and how far it is from the published points it is held against."""

from __future__ import annotations

from dataclasses import dataclass

from demoule.figures import MODELS, Evidence, Model, Status

__all__ = ["ModelReport", "model_reports"]

_INDEPENDENT = (Status.READ, Status.QUOTED)


@dataclass(frozen=True, slots=True, kw_only=True)
class ModelReport:
    """One model beside all its evidence."""

    model: Model
    evidence: tuple[Evidence, ...]

    @property
    def points(self) -> int:
        """How many points of a source that was read or quoted it is held against."""
        return sum(len(e.published) for e in self.evidence if e.status in _INDEPENDENT)

    @property
    def independent(self) -> bool:
        """Whether anything but our own arithmetic and memory stands against it."""
        return self.points > 0


def model_reports() -> tuple[ModelReport, ...]:
    """All models in the order of their layers; computing the evidence takes a second or two."""
    from demoule.cold.evidence import evidence as of_cold
    from demoule.dossier.evidence import evidence as of_dossier
    from demoule.formula.evidence import evidence as of_formula
    from demoule.larder.evidence import evidence as of_larder
    from demoule.physics.evidence import evidence as of_physics

    by_model: dict[str, list[Evidence]] = {}
    for entry in (*of_physics(), *of_larder(), *of_formula(), *of_cold(), *of_dossier()):
        by_model.setdefault(entry.model, []).append(entry)
    return tuple(ModelReport(model=model, evidence=tuple(by_model.get(name, ()))) for name, model in MODELS.items())
