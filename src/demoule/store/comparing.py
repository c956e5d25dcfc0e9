"""What moved between two versions: line by line in the text, figure by figure in the answer."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from difflib import SequenceMatcher
from typing import TYPE_CHECKING, Literal

from demoule.errors import BadInput
from demoule.units import convert, shown

if TYPE_CHECKING:  # what serves pages opens the memory and must not load the numerics with it
    from demoule.dossier import Dossier, Label
    from demoule.figures import Figure, Finding

__all__ = ["Comparison", "LineMoved", "Moved", "WordsMoved", "figures_moved", "lines_moved"]

_SAME = 1e-9
"""Relative difference below which a figure has not moved: the last digits of the arithmetic."""

_MOST_LINES = 4000
"""Lines that are matched one by one; where more differ, they are told as gone and come."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LineMoved:
    """A line of two texts; `before` and `after` are its numbers, counted from 1."""

    kind: Literal["same", "gone", "come"]
    before: int | None
    after: int | None
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved:
    """A figure that is not what it was; None where it did not exist.

    Parameters
    ----------
    key, name, of
        As in the dossier.
    """

    key: str
    name: str
    of: str
    before: Figure | None
    after: Figure | None

    @property
    def difference(self) -> float | None:
        """After minus before, in the unit of `after`; None when either is unknown or they cannot be compared."""
        if self.before is None or self.after is None or self.before.value is None or self.after.value is None:
            return None
        ends = _in_unit(self.before, self.after.unit)
        return None if ends is None or ends[0] is None else self.after.value - ends[0]

    @property
    def beyond_band(self) -> bool:
        """Whether their ranges do not meet.

        Where they meet, the difference may still be real: what makes both unsure is often the same, and goes out of
        the difference.
        """
        if self.before is None or self.after is None:
            return True
        ends = _in_unit(self.before, self.after.unit)
        if ends is None or ends[0] is None or self.after.value is None:
            return True
        _, low, high = ends
        lowest_then, highest_then = _or(low, ends[0]), _or(high, ends[0])
        lowest_now, highest_now = _or(self.after.low, self.after.value), _or(self.after.high, self.after.value)
        return highest_then < lowest_now or highest_now < lowest_then

    @property
    def visible(self) -> bool:
        """Whether a person who reads both, with the digits they are shown with, sees a difference."""
        return _read(self.before) != _read(self.after)


@dataclass(frozen=True, slots=True, kw_only=True)
class WordsMoved:
    """Words of the label that are not what they were."""

    what: str
    before: str
    after: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """Everything that moved in the answer between two versions."""

    figures: tuple[Moved, ...]
    label: tuple[WordsMoved, ...]
    findings_come: tuple[Finding, ...]
    findings_gone: tuple[Finding, ...]

    @property
    def nothing(self) -> bool:
        """Whether nothing moved at all."""
        return not (self.figures or self.label or self.findings_come or self.findings_gone)


def lines_moved(before: str, after: str) -> tuple[LineMoved, ...]:
    """The lines of two texts in one order: those that stayed, went and came.

    Joining the lines that are not "come" gives the first text sign by sign, those not "gone" the second.

    Examples
    --------
    >>> [(line.kind, line.text) for line in lines_moved("sugar: 50 g", "sugar: 55 g")]
    [('gone', 'sugar: 50 g'), ('come', 'sugar: 55 g')]
    """
    old, new = _lines(before), _lines(after)
    head = 0
    while head < min(len(old), len(new)) and old[head] == new[head]:
        head += 1
    tail = 0
    while tail < min(len(old), len(new)) - head and old[-1 - tail] == new[-1 - tail]:
        tail += 1
    olds, news = old[head : len(old) - tail], new[head : len(new) - tail]
    moved = [LineMoved(kind="same", before=i + 1, after=i + 1, text=old[i]) for i in range(head)]
    moved += _matched(olds, news, head)
    for back in range(tail, 0, -1):
        i, j = len(old) - back, len(new) - back
        moved.append(LineMoved(kind="same", before=i + 1, after=j + 1, text=old[i]))
    return tuple(moved)


def _lines(text: str) -> list[str]:
    # Only the line feed parts lines, so that nothing is lost in a text with other breaks.
    lines = text.split("\n")
    return [f"{line}\n" for line in lines[:-1]] + ([lines[-1]] if lines[-1] else [])


def _matched(old: list[str], new: list[str], head: int) -> Iterator[LineMoved]:
    spans: Iterable[tuple[str, int, int, int, int]] = [("replace", 0, len(old), 0, len(new))]
    if max(len(old), len(new)) <= _MOST_LINES:
        spans = SequenceMatcher(None, old, new, autojunk=False).get_opcodes()
    for kind, i1, i2, j1, j2 in spans:
        if kind == "equal":
            for step in range(i2 - i1):
                i, j = i1 + step, j1 + step
                yield LineMoved(kind="same", before=head + i + 1, after=head + j + 1, text=old[i])
            continue
        for i in range(i1, i2):
            yield LineMoved(kind="gone", before=head + i + 1, after=None, text=old[i])
        for j in range(j1, j2):
            yield LineMoved(kind="come", before=None, after=head + j + 1, text=new[j])


def figures_moved(before: Dossier, after: Dossier) -> Comparison:
    """What moved in the answer: figures, lines of the cost, words of the label, findings."""
    old, new = dict(_figures(before)), dict(_figures(after))
    figures = []
    for place in dict.fromkeys([*new, *old]):
        was, now = old.get(place), new.get(place)
        if not _same(was[1] if was else None, now[1] if now else None):
            name = (now or was or ("", None))[0]
            figures.append(
                Moved(
                    key=place[0], name=name, of=place[1], before=was[1] if was else None, after=now[1] if now else None
                )
            )
    words_old, words_new = _words(before.label), _words(after.label)
    label = tuple(
        WordsMoved(what=what, before=words_old.get(what, ""), after=words_new.get(what, ""))
        for what in dict.fromkeys([*words_new, *words_old])
        if words_old.get(what, "") != words_new.get(what, "")
    )
    return Comparison(
        figures=tuple(figures),
        label=label,
        findings_come=tuple((Counter(after.findings) - Counter(before.findings)).elements()),
        findings_gone=tuple((Counter(before.findings) - Counter(after.findings)).elements()),
    )


def _figures(dossier: Dossier) -> Iterator[tuple[tuple[str, str, int], tuple[str, Figure]]]:
    """Every figure under its key, its place, and its number where two share both."""
    met: Counter[tuple[str, str]] = Counter()
    named = [(one.key, one.of, one.name, one.figure) for one in dossier.figures]
    named += [(f"cost {line.kind}", line.what, line.what, line.per_piece) for line in dossier.cost.lines]
    for key, of, name, figure in named:
        met[key, of] += 1
        yield (key, of, met[key, of]), (name, figure)


def _words(label: Label) -> dict[str, str]:
    words = {
        "name": label.name,
        "ingredients": label.ingredients,
        "contains": ", ".join(label.contains),
        "allergens to ask for": ", ".join(label.allergens_untold),
        "serving": label.serving,
        "net quantity": label.net_quantity,
        "storage": label.storage,
        "cautions": " ".join(label.cautions),
    }
    for line in label.nutrition:
        words[f"{line.name}, per 100 g"] = line.printed_100g
        words[f"{line.name}, per piece"] = line.printed_piece
    return words


def _in_unit(figure: Figure, unit: str) -> tuple[float | None, float | None, float | None] | None:
    ends = (figure.value, figure.low, figure.high)
    if figure.unit == unit:
        return ends
    try:
        value, low, high = (None if end is None else convert(end, figure.unit, unit) for end in ends)
    except BadInput:
        return None
    return value, low, high


def _same(before: Figure | None, after: Figure | None) -> bool:
    if before is None or after is None:
        return before is after
    if before.unit != after.unit or before.measured != after.measured:
        return False
    if not math.isclose(before.unknown, after.unknown, abs_tol=1e-9):
        return False
    ends = ((before.value, after.value), (before.low, after.low), (before.high, after.high))
    return all(_close(one, other) for one, other in ends)


def _close(one: float | None, other: float | None) -> bool:
    if one is None or other is None:
        return one is other
    return one == other or math.isclose(one, other, rel_tol=_SAME, abs_tol=1e-12)


def _or(end: float | None, value: float) -> float:
    return value if end is None else end


def _read(figure: Figure | None) -> str:
    if figure is None:
        return ""
    if figure.value is None:
        return "unknown"
    return shown(figure.value, figure.unit, low=figure.low, high=figure.high)
