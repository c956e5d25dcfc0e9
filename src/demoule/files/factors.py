"""What is to vary, as a person writes it (“heart size 80–120 %”), and variants kept in a file, one a line."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from demoule.errors import BadInput, nearest
from demoule.units import Kind, Quantity, parse

if TYPE_CHECKING:
    from demoule.cold.sensitivity import Outcome
    from demoule.cold.varying import Factor

__all__ = ["Keeper", "factor_of", "kept_in"]

_READ = {
    "factor": (Kind.PERCENT,),
    "K": (Kind.TEMPERATURE,),
    "m": (Kind.LENGTH,),
    "W/m2K": (Kind.SURFACE_COEFFICIENT,),
}
_EXAMPLES = {
    "heart size": "heart size 80–120 %",
    "piece size": "piece size 80–120 %",
    "wall": "wall 1.5–4 mm",
    "fill": "fill 4–20 °C",
    "sugar": "sugar 80–120 %",
    "weight": "weight jelly: agar 80–120 %",
    "air": "air blast freezer -40 to -30 °C",
    "surface": "surface blast freezer 10–30 W/m²K",
}


def factor_of(text: str) -> Factor:
    """The factor in a text: what varies, of what, and from where to where.

    Raises
    ------
    BadInput
        Nothing that can be varied, or no range.

    Examples
    --------
    >>> factor_of("heart size 80–120 %").high
    1.2
    """
    from demoule.cold.varying import KINDS, Factor

    tidy = " ".join(text.split())
    kind = next((one for one in KINDS if tidy.casefold().startswith(one + " ")), None)
    if kind is None:
        hint = nearest(" ".join(tidy.casefold().split()[:2]), KINDS) or nearest(tidy.split(" ")[0], KINDS)
        example = _EXAMPLES[hint] if hint else ", ".join(_EXAMPLES.values())
        raise BadInput(f"“{text}” is nothing that can be varied.", remedy=f"write for example: {example}.")
    words = tidy[len(kind) :].split()
    for at in range(len(words) - 1, -1, -1):
        span = _span(" ".join(words[at:]), _READ[KINDS[kind]])
        if span is not None:
            of = " ".join(words[:at])
            for little in ("of ", "in ", "the "):
                of = of.removeprefix(little)
            return Factor(kind=kind, of=of.strip("“”\"' "), low=span.low, high=span.high)
    raise BadInput(f"“{text}” has no range.", remedy=f"write for example: {_EXAMPLES[kind]}.")


def _span(text: str, kinds: tuple[Kind, ...]) -> Quantity | None:
    try:
        found = parse(text, kinds, span=True)
    except BadInput:
        return None
    return found if found.is_range else None


def kept_in(path: Path) -> Mapping[str, Outcome]:
    """Outcomes of earlier runs by their key; a line that was cut short is passed over."""
    from demoule.cold.sensitivity import Outcome

    if not path.is_file():
        return {}
    found: dict[str, Outcome] = {}
    for line in path.read_text(encoding="utf-8").splitlines():
        try:
            one = json.loads(line)
            values = tuple(float("nan") if value is None else float(value) for value in one["values"])
            found[one["key"]] = Outcome(key=one["key"], values=values, answers=one["answers"], why=one.get("why", ""))
        except (ValueError, KeyError, TypeError):
            continue
    return found


class Keeper:
    """Writes each outcome down as soon as it is there, so that a run that was cut off goes on where it was."""

    def __init__(self, path: Path) -> None:
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            torn = path.is_file() and path.stat().st_size > 0 and not path.read_bytes().endswith(b"\n")
            self._file = path.open("a", encoding="utf-8")
        except OSError as error:
            raise BadInput(f"{path} cannot be written: {error.strerror}.", remedy="name another file.") from None
        if torn:
            self._file.write("\n")

    def __call__(self, outcome: Outcome) -> None:
        """Keep one outcome."""
        line = {
            "key": outcome.key,
            "values": [None if value != value else value for value in outcome.values],
            "answers": dict(outcome.answers),
            "why": outcome.why,
        }
        self._file.write(json.dumps(line, ensure_ascii=False) + "\n")
        self._file.flush()

    def close(self) -> None:
        """Done."""
        self._file.close()


def listed(names: Iterable[str]) -> str:
    """Names in a sentence."""
    return ", ".join(f"“{name}”" for name in names)
