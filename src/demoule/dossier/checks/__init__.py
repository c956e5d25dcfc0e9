"""The checks of a dossier, each a small function with a rule key; importing this package registers them all."""

from demoule.dossier.checks import (
    cautions,
    cold_chain,
    colouring,
    cooled,
    eggs,
    foam,
    gelling,
    grain,
    growth,
    illustrated,
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
    "foam",
    "gelling",
    "grain",
    "growth",
    "illustrated",
    "label_checks",
    "not_food",
    "numbers",
    "rests",
    "run_checks",
    "soft",
]
