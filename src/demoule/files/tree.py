"""YAML text to plain values, with the place of every key and value, so that a mistake can be shown where it is.

YAML 1.2 in its plain part: mappings, lists and scalars. Anchors, aliases, tags and keys that are not words are not
part of our files, so that a small file can never unfold into a large one.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, TypeAlias

from ruamel.yaml import YAML
from ruamel.yaml.error import MarkedYAMLError, YAMLError
from ruamel.yaml.events import (
    AliasEvent,
    DocumentEndEvent,
    DocumentStartEvent,
    MappingEndEvent,
    MappingStartEvent,
    ScalarEvent,
    SequenceEndEvent,
    SequenceStartEvent,
)

from demoule.errors import Mistake, Mistakes
from demoule.memory import Memory

__all__ = ["DEEPEST", "MOST_DOCUMENTS", "Path", "Place", "Tree", "read_trees", "resolved", "respelt"]

DEEPEST = 16
"""Levels of mappings and lists within each other; our deepest part needs nine."""

MOST_DOCUMENTS = 200
"""Documents of one file; a kitchen's whole book of desserts has fewer."""

Path: TypeAlias = tuple[str | int, ...]
"""Keys and list positions from the top of a document."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where something is written: line and column count from 1, start and end are positions in the text."""

    line: int
    column: int
    start: int
    end: int
    flow: bool = False  # within brackets or braces


@dataclass(slots=True, kw_only=True)
class Tree:
    """One document of a file: its plain values, and where each key and value is written."""

    name: str
    value: Any = None
    values: dict[Path, Place] = field(default_factory=dict)
    keys: dict[Path, Place] = field(default_factory=dict)

    def place(self, path: Sequence[str | int], *, key: bool = False) -> Place:
        """The place of a path, or of the deepest part of it that is written; parts that are not are passed over."""
        at: Path = ()
        for part in path:
            if (*at, part) in self.values:
                at = (*at, part)
        if (key or self._is_shown_by_key(at)) and at in self.keys:
            return self.keys[at]
        return self.values.get(at, Place(1, 1, 0, 0))

    def _is_shown_by_key(self, at: Path) -> bool:
        value = self.at(at)
        return value is None or isinstance(value, (dict, list))

    def at(self, path: Sequence[str | int]) -> Any:
        """The value at a path; None when there is none."""
        value = self.value
        for part in path:
            try:
                value = value[part]
            except (KeyError, IndexError, TypeError):
                return None
        return value

    def mistake(self, path: Sequence[str | int], says: str, remedy: str = "", *, key: bool = False) -> Mistake:
        """A mistake at a path of this document."""
        place = self.place(path, key=key)
        return Mistake(file=self.name, line=place.line, column=place.column, says=says, remedy=remedy)


_KEPT = Memory(most=32)
_LONGEST_KEPT = 60_000  # signs


def read_trees(text: str, name: str) -> tuple[Tree, ...]:
    """The documents of a text; raises Mistakes with everything that can be said about its form.

    The trees of the last texts are kept, and nobody changes one.
    """
    if len(text) > _LONGEST_KEPT:
        return _read(text, name)
    return _KEPT.recall(read_trees, (text, name), lambda: _read(text, name))


def respelt(text: str, name: str, written: Mapping[Path, tuple[Any, str]]) -> str:
    """A text in whose first document some values that stand in one line are written anew.

    Where each thing then stands is reckoned instead of read, which is what an edit on a screen waits for.

    Parameters
    ----------
    written
        By path of a scalar that is written out in one line: what it then means, and how that is written.
    """
    tree, *others = read_trees(text, name)
    moves: list[tuple[int, int, int, int]] = []  # start, end, line, signs more
    for path, (_, sign) in written.items():
        place = tree.values[path]
        end = place.start + len(text[place.start : place.end].rstrip())
        moves.append((place.start, end, place.line, len(sign) - (end - place.start)))
    changed = text
    for (start, end, _, _), (_, sign) in sorted(zip(moves, written.values(), strict=True), reverse=True):
        changed = changed[:start] + sign + changed[end:]
    if others or len(changed) > _LONGEST_KEPT:
        return changed

    def moved(place: Place) -> Place:
        start = sum(more for _, end, _, more in moves if end <= place.start)
        column = sum(more for _, end, line, more in moves if end <= place.start and line == place.line)
        end = sum(more for _, end, _, more in moves if end <= place.end)
        if not (start or column or end):
            return place
        return replace(place, column=place.column + column, start=place.start + start, end=place.end + end)

    value = tree.value
    for path, (meant, _) in written.items():
        value = _with(value, path, meant)
    new = Tree(
        name=name,
        value=value,
        values={path: moved(place) for path, place in tree.values.items()},
        keys={path: moved(place) for path, place in tree.keys.items()},
    )
    _KEPT.recall(read_trees, (changed, name), lambda: (new,))
    return changed


def _with(value: Any, path: Path, new: Any) -> Any:
    """A value in which one part is another; the rest is shared."""
    if not path:
        return new
    copied: Any = dict(value) if isinstance(value, dict) else list(value)
    copied[path[0]] = _with(value[path[0]], path[1:], new)
    return copied


def _read(text: str, name: str) -> tuple[Tree, ...]:
    mistakes = list(_tabs(text, name))
    if mistakes:
        raise Mistakes(mistakes)
    builder = _Builder(name)
    try:
        for event in YAML(typ="safe", pure=True).parse(text):
            if not builder.take(event):
                break
    except MarkedYAMLError as error:
        mistakes.append(_malformed(error, name, text))
    except (YAMLError, ValueError, RecursionError):
        mistakes.append(Mistake(file=name, line=1, column=1, says="The text is not YAML.", remedy="see the examples."))
    mistakes += builder.mistakes
    if not mistakes and not any(tree.value is not None for tree in builder.trees):
        mistakes.append(
            Mistake(file=name, line=1, column=1, says="The file is empty.", remedy="begin with “demoule: 1”.")
        )
    if mistakes:
        raise Mistakes(mistakes)
    return tuple(tree for tree in builder.trees if tree.value is not None)


def _tabs(text: str, name: str) -> Iterator[Mistake]:
    for number, line in enumerate(text.splitlines(), 1):
        indent = line[: len(line) - len(line.lstrip())]
        if "\t" in indent and line.strip():
            yield Mistake(
                file=name,
                line=number,
                column=indent.index("\t") + 1,
                says="A tab stands in the indentation; only spaces can.",
                remedy="put two spaces for each level.",
            )


_NULL = {"", "~", "null", "Null", "NULL"}
_TRUE = {"true", "True", "TRUE"}
_FALSE = {"false", "False", "FALSE"}
_INT = re.compile(r"[-+]?\d{1,18}")
_FLOAT = re.compile(r"[-+]?(?:\.\d+|\d+(?:\.\d*)?)(?:[eE][-+]?\d+)?|[-+]?\.(?:inf|Inf|INF)|\.(?:nan|NaN|NAN)")


def resolved(text: str) -> Any:
    """A scalar without quotation marks, by the core schema of YAML 1.2; octal and hexadecimal stay words."""
    if text in _NULL:
        return None
    if text in _TRUE or text in _FALSE:
        return text in _TRUE
    if _INT.fullmatch(text):
        return int(text)
    if _FLOAT.fullmatch(text):
        return float(re.sub(r"\.(?=[inIN])", "", text))
    return text


@dataclass(slots=True)
class _Open:
    """A mapping or list that is not closed yet."""

    value: dict[str, Any] | list[Any]
    path: Path
    start: Any
    flow: bool
    key: str | None = None
    skip: bool = False  # the value of a key that was refused


class _Builder:
    """Turns the events of the parser into trees."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.trees: list[Tree] = []
        self.mistakes: list[Mistake] = []
        self.open: list[_Open] = []

    def take(self, event: Any) -> bool:
        """Take one event; False when reading on is senseless."""
        match event:
            case DocumentStartEvent():
                if len(self.trees) >= MOST_DOCUMENTS:
                    self._wrong(
                        event, f"More than {MOST_DOCUMENTS} documents stand in one file.", "make several files."
                    )
                    return False
                self.trees.append(Tree(name=self.name))
            case DocumentEndEvent():
                self.open.clear()
            case AliasEvent():
                self._wrong(event, "A reference (*) stands here.", "write the part out; references are not used here.")
                if self._waits_for_key():
                    self.open[-1].key, self.open[-1].skip = "*", True
                else:
                    self._put(None, event)
            case ScalarEvent():
                self._refuse_extras(event)
                plain = event.implicit[0] and event.style is None
                if self._waits_for_key():
                    self._take_key(event)
                else:
                    self._put(resolved(event.value) if plain else event.value, event)
            case MappingStartEvent() | SequenceStartEvent():
                return self._begin(event)
            case MappingEndEvent() | SequenceEndEvent():
                self._end(event)
        return True

    def _wrong(self, event: Any, says: str, remedy: str) -> None:
        mark = event.start_mark
        self.mistakes.append(
            Mistake(file=self.name, line=mark.line + 1, column=mark.column + 1, says=says, remedy=remedy)
        )

    def _refuse_extras(self, event: Any) -> None:
        if getattr(event, "anchor", None):
            self._wrong(
                event, f"A reference mark (&{event.anchor}) stands here.", "take it out; references are not used here."
            )
        tag = getattr(event, "ctag", None)
        if tag is not None and str(tag) not in ("", "None", "!"):
            self._wrong(event, f"A type mark ({_shown_tag(tag)}) stands here.", "take it out; our files have none.")

    def _waits_for_key(self) -> bool:
        return bool(self.open) and isinstance(self.open[-1].value, dict) and self.open[-1].key is None

    def _take_key(self, event: Any) -> None:
        top = self.open[-1]
        mapping = top.value
        assert isinstance(mapping, dict)
        key = " ".join(event.value.split())
        place = self._place(event.start_mark, event.end_mark)
        path = (*top.path, key)
        top.key, top.skip = key, key in mapping
        if top.skip:
            first = self.trees[-1].keys[path].line
            self._wrong(event, f"“{key}” stands here a second time (first in line {first}).", "keep one of them.")
        else:
            self.trees[-1].keys[path] = place

    def _place(self, start: Any, end: Any) -> Place:
        flow = bool(self.open) and self.open[-1].flow
        return Place(start.line + 1, start.column + 1, start.index, end.index, flow)

    def _next_path(self) -> Path:
        if not self.open:
            return ()
        top = self.open[-1]
        if isinstance(top.value, dict):
            assert top.key is not None
            return (*top.path, top.key)
        return (*top.path, len(top.value))

    def _put(self, value: Any, event: Any) -> None:
        """Put a finished value where it belongs."""
        self._store(value, self._place(event.start_mark, event.end_mark))

    def _store(self, value: Any, place: Place) -> None:
        path = self._next_path()
        tree = self.trees[-1]
        if not self.open:
            tree.value = value
            tree.values[path] = place
            return
        top = self.open[-1]
        if isinstance(top.value, list):
            top.value.append(value)
            tree.values[path] = place
            return
        assert top.key is not None
        if not top.skip:
            top.value[top.key] = value
            tree.values[path] = place
        top.key, top.skip = None, False

    def _begin(self, event: Any) -> bool:
        self._refuse_extras(event)
        if len(self.open) >= DEEPEST:
            self._wrong(
                event, f"Lists and mappings lie deeper than {DEEPEST} levels in each other.", "see the examples."
            )
            return False
        if self._waits_for_key():
            self._wrong(event, "A name is expected here, not brackets or braces.", "put quotation marks around it.")
            return False
        value: dict[str, Any] | list[Any] = {} if isinstance(event, MappingStartEvent) else []
        path = self._next_path()
        self.open.append(_Open(value, path, event.start_mark, bool(event.flow_style)))
        return True

    def _end(self, event: Any) -> None:
        closed = self.open.pop()
        flow = bool(self.open) and self.open[-1].flow
        start = closed.start
        self._store(closed.value, Place(start.line + 1, start.column + 1, start.index, event.end_mark.index, flow))


def _shown_tag(tag: Any) -> str:
    handle, suffix = getattr(tag, "handle", None), getattr(tag, "suffix", None)
    return f"{handle or ''}{suffix or ''}" or str(tag)


_SAYS: tuple[tuple[str, str, str], ...] = (
    ("found character '\\t'", "A tab stands here; only spaces can.", "put spaces instead."),
    (
        "mapping values are not allowed here",
        "A colon cannot stand here.",
        "check the indentation of this line and the one above; put quotation marks around a text that holds a colon.",
    ),
    ("expected <block end>", "The indentation fits no line above.", "begin the line under the one it belongs beside."),
    ("expected ',' or ']'", "A comma or a closing bracket ] is missing before this.", "close the list with ]."),
    ("expected ',' or '}'", "A comma or a closing brace } is missing before this.", "close the mapping with }."),
    ("could not find expected ':'", "A colon is missing after a name.", "write “name: value”."),
    ("found unexpected end of stream", "A quotation mark is opened and never closed.", "close it."),
    ("found undefined alias", "A reference (*) stands here.", "write the part out; references are not used here."),
    ("found unknown escape", "A backslash within quotation marks means something else.", "use single quotation marks."),
    ("expected '<document start>'", "This begins further left than the line above it.", "check the indentation."),
    (
        "expected the node content",
        "A value is missing, or a sign stands here that needs quotation marks.",
        "write a value.",
    ),
    ("cannot start any token", "A text cannot begin with this sign.", "put quotation marks around the text."),
    ("undefined tag handle", "A type mark (!) stands here.", "take it out; our files have none."),
    ("while scanning a tag", "A type mark (!) stands here.", "take it out; our files have none."),
)


_LEFT_OPEN = re.compile(r"""(?:^|[:\-\[{,])\s*(?P<mark>["'])(?:(?!(?P=mark)).)*$""")


def _left_open(text: str, before: int) -> tuple[int, int] | None:
    """Line and column of a quotation mark that its own line does not close, above the line where it was noticed."""
    for number, line in enumerate(text.splitlines()[:before], 1):
        found = _LEFT_OPEN.search(line)
        if found and not line.lstrip().startswith("#"):
            return number, found.start("mark") + 1
    return None


def _malformed(error: MarkedYAMLError, name: str, text: str) -> Mistake:
    problem = f"{error.problem or ''} {error.context or ''}"
    mark = error.problem_mark or error.context_mark
    if "unexpected end of stream" in problem and error.context_mark is not None:
        mark = error.context_mark
    line, column = (mark.line + 1, mark.column + 1) if mark is not None else (1, 1)
    opened = _left_open(text, line)
    if opened is not None:
        says, remedy = "A quotation mark is opened here and not closed.", "close it at the end of the name or text."
        return Mistake(file=name, line=opened[0], column=opened[1], says=says, remedy=remedy)
    if text.splitlines()[line - 1 : line] and text.splitlines()[line - 1][: column + 1].strip() in ("}", "]"):
        sign = text.splitlines()[line - 1].strip()[0]
        says, remedy = f"A closing {sign} stands here that nothing opened.", "take it out, or open it above."
        return Mistake(file=name, line=line, column=column, says=says, remedy=remedy)
    for piece, says, remedy in _SAYS:
        if piece in problem:
            return Mistake(file=name, line=line, column=column, says=says, remedy=remedy)
    says = f"The text cannot be read as YAML: {(error.problem or 'unknown reason').strip()}."
    return Mistake(file=name, line=line, column=column, says=says, remedy="check the lines around.")
