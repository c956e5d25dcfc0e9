"""The checks of a dossier, each a small function with a rule key; importing this package registers them all."""

from demoule.dossier.checks import (
    cautions,
    cold_chain,
    colouring,
    cooled,
    eggs,
    grain,
    growth,
    label_checks,
    not_food,
    numbers,
    rests,
    soft,
)
from demoule.dossier.checks.registry import CHECKS, Check, Rule, check, finding, run_checks

__all__ = [
    "CHECKS",
    "Check",
    "Rule",
    "cautions",
    "check",
    "cold_chain",
    "colouring",
    "cooled",
    "eggs",
    "finding",
    "grain",
    "growth",
    "label_checks",
    "not_food",
    "numbers",
    "rests",
    "run_checks",
    "soft",
]
