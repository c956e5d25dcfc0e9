"""The page "How good are the figures": every model with its source, its range, and how far off it was found."""

from __future__ import annotations

import importlib
import pkgutil
import sys
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import demoule
from demoule.answers import ModelReport, model_reports
from demoule.figures import Evidence, Model, Status
from demoule.sheets.svg import slug
from docpages.pictures import picture
from docpages.text import error_text, filled, source_line, table

__all__ = ["Compared", "classes", "compared_models", "evidence_rows", "page", "pictures"]


_LAYERS = {
    "physics": "How a mixture behaves",
    "larder": "What an ingredient is",
    "formula": "What a component becomes",
    "piece": "How a piece is built",
    "cold": "What time in the cold does",
    "batch": "How much is made",
    "dossier": "What the law asks",
    "plan": "The week",
}

_INDEPENDENT = (Status.READ, Status.QUOTED)


@dataclass(frozen=True, slots=True)
class Compared:
    """One model, the layer that it stands in, and all that it is held against."""

    layer: str
    report: ModelReport

    @property
    def name(self) -> str:
        """Of the model."""
        return self.report.model.name


def compared_models() -> tuple[Compared, ...]:
    """Every model there is, layer by layer, in the order of the alphabet within each."""
    for found in pkgutil.walk_packages(demoule.__path__, "demoule."):
        if not found.name.endswith(("__main__", ".warm")) and found.name.split(".")[1] in _LAYERS:
            importlib.import_module(found.name)
    layer_of = {
        value.model.name: module.__name__.split(".")[1]
        for module in list(sys.modules.values())
        if getattr(module, "__name__", "").startswith("demoule.")
        for value in list(vars(module).values())
        if isinstance(getattr(value, "model", None), Model) and getattr(value, "__module__", "") == module.__name__
    }
    order = list(_LAYERS)
    found_models = [Compared(layer_of[report.model.name], report) for report in model_reports()]
    return tuple(sorted(found_models, key=lambda one: (order.index(one.layer), one.name)))


def pictures(compared: Iterable[Compared]) -> dict[str, str]:
    """Every picture by its path below `docs/`."""
    drawn = ((one, picture(one.report)) for one in compared)
    return {f"explanation/pictures/{slug(one.name)}.svg": svg for one, svg in drawn if svg is not None}


def page(compared: Sequence[Compared]) -> str:
    """The whole page."""
    held = [one for one in compared if one.report.independent]
    bare = [one for one in compared if not one.report.independent]
    points = sum(one.report.points for one in held)
    counts = (
        f"{len(compared)} models; {len(held)} of them are held against {points} independent points, "
        f"{len(bare)} against none."
    )
    through = [one for one in held if all(map(_to_rounding, one.report.evidence))]
    layers = []
    for layer, title in _LAYERS.items():
        inside = [one for one in compared if one.layer == layer]
        if inside:
            layers.append(f"## {title}\n\n" + "\n".join(map(_section, inside)))
    return filled(
        "how-good-are-the-figures.md",
        counts=counts,
        bare=_named(bare),
        through=_named(through),
        layers="\n".join(layers),
    )


def _named(models: Iterable[Compared]) -> str:
    return "".join(f"- [{one.name}](#{slug(one.name)}): {one.report.model.gives}\n" for one in models)


def _to_rounding(one: Evidence) -> bool:
    """Whether a comparison leaves nothing but rounding, or counts for nothing."""
    scale = max((abs(value) for value in one.published), default=0.0)
    return one.status not in _INDEPENDENT or error_text(one.worst, scale, "1", relative=one.relative) == "0"


def _red(words: str) -> str:
    return f'<span style="color:#9E1B1B">**{words}**</span>'


def _section(one: Compared) -> str:
    model = one.report.model
    text = f"### {one.name}\n\n{model.gives[:1].upper()}{model.gives[1:]}.\n\n"
    text += table(
        ("source", "status", "range", "stated error"),
        [(source_line(model.source), model.status, model.valid, model.error)],
    )
    if one.report.evidence:
        text += "\n" + table(
            ("held against", "points", "status", "source", "worst", "typical", "allowed"),
            evidence_rows(one.report.evidence),
        )
    if not one.report.independent:
        text += "\n" + _red("No independent point stands against this model.") + "\n"
    if picture(one.report) is not None:
        text += f"\n![{one.name}: computed against published](pictures/{slug(one.name)}.svg)\n"
    return text


def classes(one: Evidence) -> bool:
    """Whether verdicts are compared, not quantities."""
    return ", " in one.unit or one.unit == "as printed"


def evidence_rows(entries: Iterable[Evidence]) -> Iterator[tuple[object, ...]]:
    """One row a comparison: what, how many points, of which source, how far off, and what is allowed."""
    for one in entries:
        scale = max((abs(value) for value in one.published), default=0.0)
        if classes(one):
            differ = sum(error != 0 for error in one.errors)
            off: tuple[str, str, str] = ("all agree" if not differ else f"{differ} differ", "–", "none")
        else:
            off = (
                error_text(one.worst, scale, one.unit, relative=one.relative),
                error_text(one.typical, scale, one.unit, relative=one.relative),
                error_text(one.tolerance, 0.0, one.unit, relative=one.relative),
            )
        yield one.title, len(one.published), one.status, source_line(one.source), *off
