"""The page of all small questions, from the questions themselves and from their answers."""

from __future__ import annotations

import re

from demoule.answers import QUESTIONS, Parameter, Question
from demoule.cli.asking import example_of
from demoule.larder import standard_larder
from demoule.units import Kind
from docpages.text import filled, printed, table

__all__ = ["page"]


_KINDS = {
    Kind.TEMPERATURE: "temperature",
    Kind.TIME: "time",
    Kind.LENGTH: "length",
    Kind.MASS: "mass",
    Kind.COUNT: "number of leaves",
    Kind.NUMBER: "number",
    Kind.PERCENT: "share",
    Kind.BRIX: "Brix",
    Kind.SURFACE_COEFFICIENT: "surface coefficient",
    Kind.CONDUCTIVITY: "conductivity",
    Kind.DENSITY: "density",
    Kind.HEAT_CAPACITY: "specific heat",
    Kind.SPEED: "speed",
}

_GIVES: dict[str, str] = {
    "density": "mass of a volume without air",
    "soluble_solids": "what a refractometer reads, in per cent (a hundredth is kg/kg)",
    "refractive_index": "at 20 °C and 589 nm",
    "viscosity": "of the syrup in it",
    "water_activity": "0 to 1",
    "freezing_point": "where the first ice stands beside it",
    "ice_share": "of the mix, by mass, at `at`; only when `at` is given",
    "boiling_point": "at the pressure of that altitude",
    "solids": "of the mix when it is there",
    "water_lost": "by the amounts of the mix",
    "centre": "after that time",
    "surface": "after that time",
    "time": "until the core is there",
    "saturation": "sugar in the saturated solution, by mass",
    "gelatine mass": "of the other gelatine; both rules are its range",
    "shell mass": "on each square centimetre",
    "fruit_solids": "Brix of the fruit's juice at the end",
    "syrup_solids": "Brix of the syrup at the end",
    "mass_change": "of the fruit",
    "time_to_90": "until the fruit's Brix is nine tenths of its way",
    "thickness": "of the shell",
    "log_increase": "powers of ten",
    "doubling_time": "without lag",
    "energy_kj": "unrounded; EU only",
    "energy_kcal": "unrounded",
    "printed_kcal": "as a label prints it",
    "printed_kj": "as a label prints it; EU only",
    "ingredients": "the list, in descending order",
    "contains": "allergens by the market's list",
    "cautions": "what must be checked",
}


def page() -> str:
    """The whole page."""
    index = table(
        ("question", "asks"),
        ((f"[`{q.name}`](#{q.name})", _plain(q.sentence)) for q in QUESTIONS.values()),
    )
    return filled("questions.md", index=index, sections="\n".join(_section(q) for q in QUESTIONS.values()))


def _plain(sentence: str) -> str:
    return re.sub(r"\{([^}]+)\}", r"*\1*", sentence)


def _section(question: Question) -> str:
    command = example_of(question)
    given = {p.name: p.example for p in question.parameters if f"{p.name}=" in command}
    answer = question.ask(given, standard_larder())
    rows = [
        (f"`{name}`", figure.unit if figure.unit != "1" else "–", _says(question, name))
        for name, figure in answer.figures.items()
    ]
    rows += [
        (f"`{name}`", "text", _GIVES.get(name, "as a label prints it"))
        for name in answer.words
        if not (question.name == "label" and name.startswith("printed_"))
    ]
    more = "\nEach line of the declaration stands in `texts` as well, as `printed_…`: what the label prints.\n"
    return (
        f"## {question.name}\n\n{_plain(question.sentence)}\n\n"
        + table(("value", "is", "written as", "without it"), map(_parameter, question.parameters))
        + "\n"
        + table(("answer", "unit", "is"), rows)
        + (more if question.name == "label" else "")
        + f"\n```console\n$ {command}\n{printed(command)}```\n"
    )


def _says(question: Question, name: str) -> str:
    if question.name == "label":
        return "per 100 g, unrounded"
    return _GIVES.get(f"{question.name} {name}") or _GIVES[name]


def _parameter(p: Parameter) -> tuple[str, str, str, str]:
    if p.choices:
        written = " or ".join(f"`{choice}`" for choice in p.choices)
    elif p.kind is None:
        written = _growth_models() if p.name == "organism" else f"words, `{p.example}`"
    else:
        kinds = [p.kind] if isinstance(p.kind, Kind) else list(p.kind)
        written = " or ".join(_KINDS[kind] for kind in kinds) + f", `{p.example}`"
        written += f"; bare: {p.bare}" if p.bare else ""
    without = "may be left out" if p.optional else f"`{p.default}`" if p.default is not None else "**needed**"
    return f"`{p.name}`", p.says, written, without


def _growth_models() -> str:
    from demoule.physics.growth import GROWTH

    return "one of " + ", ".join(f"`{name}`" for name in GROWTH)
