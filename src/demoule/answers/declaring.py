"""Questions about a label: the energy of a mix, and its declaration."""

from __future__ import annotations

import re

from demoule.answers.liquids import MIX
from demoule.answers.mixture import read_mixture
from demoule.answers.question import Answer, Parameter, Question, Values
from demoule.dossier import energy_of_mix, label_of_mix
from demoule.figures import Figure

__all__ = ["QUESTIONS"]

MARKET = Parameter(name="market", says="whose rules apply", default="eu", choices=("eu", "us"), example="eu")


def _energy(values: Values) -> Answer:
    mixture = read_mixture(values.words("mix"), values.larder)
    found = energy_of_mix(mixture.parts, values.words("market").upper())
    figures = {}
    words = {"printed_kcal": found.printed_kcal}
    if found.kj_per_100g is not None:
        figures["energy_kj"] = Figure(
            value=found.kj_per_100g,
            unit="kJ/100 g",
            low=found.kj_low,
            high=found.kj_high,
            basis=found.basis,
            unknown=found.unknown,
        )
        words["printed_kj"] = found.printed_kj
    figures["energy_kcal"] = Figure(
        value=found.kcal_per_100g,
        unit="kcal/100 g",
        low=found.kcal_low,
        high=found.kcal_high,
        basis=found.basis,
        unknown=found.unknown,
    )
    return Answer(question="energy", figures=figures, basis=found.basis, words=words)


def _label(values: Values) -> Answer:
    mixture = read_mixture(values.words("mix"), values.larder)
    market = values.words("market").upper()
    label = label_of_mix(mixture.parts, market)
    basis = energy_of_mix(mixture.parts, market).basis
    figures: dict[str, Figure] = {}
    words: dict[str, str] = {}
    for line in label.nutrition:
        key = re.sub(r"[^a-z0-9]+", "_", f"{line.name} {line.unit}".casefold()).strip("_")
        figures[key] = Figure(value=line.per_100g, unit=line.unit, basis=basis, unknown=line.unknown)
        words[f"printed_{key}"] = line.printed_100g
    words["ingredients"] = label.ingredients
    words["contains"] = ", ".join(label.contains)
    words["cautions"] = " ".join(label.cautions)
    return Answer(question="label", figures=figures, basis=basis, findings=label.findings, words=words)


QUESTIONS = (
    Question(
        name="energy",
        sentence="How much energy is in {mix}, by the rules of {market}?",
        parameters=(MIX, MARKET),
        answer=_energy,
    ),
    Question(
        name="label",
        sentence="What must be declared of {mix}, by the rules of {market}?",
        parameters=(MIX, MARKET),
        answer=_label,
    ),
)
