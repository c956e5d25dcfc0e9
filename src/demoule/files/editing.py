"""Changing values in a file without touching anything else: comments, order and spacing stay as the chef left them.

A change replaces the very signs that stand for a value, or adds or takes out a line. The result is read again, and
must say exactly what was wanted.
"""

from __future__ import annotations

import copy
import re
from collections.abc import Mapping, Sequence
from typing import Any, Final

from demoule.errors import BadInput
from demoule.files.tree import Path, Place, Tree, read_trees
from demoule.files.writing import dump, in_line, item, scalar

__all__ = ["REMOVED", "edited", "located", "path_of", "renamed"]


class _Removed:
    def __repr__(self) -> str:
        return "REMOVED"


REMOVED: Final = _Removed()
"""Given as a value: the key or the line of a list is taken out."""


def path_of(where: str | Sequence[str | int], value: Any = None) -> Path:
    """A path from its dotted form ("components.heart.weigh.agar"); numbers are positions in lists.

    A name that holds a point is found by trying the longest names first when `value`, the document, is given.
    """
    if not isinstance(where, str):
        return tuple(where)
    parts = where.split(".") if where else []
    path: list[str | int] = []
    here = value
    while parts:
        take = 1
        if isinstance(here, Mapping):
            take = next((n for n in range(len(parts), 0, -1) if ".".join(parts[:n]) in here), 1)
        head = ".".join(parts[:take])
        parts = parts[take:]
        step: str | int = int(head) if isinstance(here, list) and head.isdecimal() and len(head) < 10 else head
        path.append(step)
        try:
            here = here[step] if here is not None else None
        except (KeyError, IndexError, TypeError):
            here = None
    return tuple(path)


def located(text: str, where: str | Sequence[str | int], *, name: str = "", document: int = 0) -> Place:
    """The place of a path in a text, or of the deepest part of it that is written."""
    tree = read_trees(text, name)[document]
    return tree.place(path_of(where, tree.value))


def edited(
    text: str, changes: Mapping[str | tuple[str | int, ...], Any], *, name: str = "the file", document: int = 0
) -> str:
    """The text with some of its values changed, and nothing else.

    Parameters
    ----------
    text
        A file as it was read.
    changes
        Path ("components.heart.weigh.agar", or a tuple of keys and positions) to the new value: a text, a number, yes
        or no, a mapping, a list, or `REMOVED`. A key that is not there yet is added at the end of its mapping; the
        position after the last adds a line to a list.
    document
        Which one, in a file of several.

    Raises
    ------
    BadInput
        When a path leads nowhere.

    Examples
    --------
    >>> edited("a: 1 # mine\\nb: {c: 2 g}\\n", {"b.c": "3 g", "b.d": True})
    'a: 1 # mine\\nb: {c: 3 g, d: yes}\\n'
    """
    for where, value in changes.items():
        trees = read_trees(text, name)
        if document >= len(trees):
            raise BadInput(f"The file holds {len(trees)} documents.", remedy="name one of them.")
        tree = trees[document]
        path = path_of(where, tree.value)
        if not path:
            raise BadInput("A change needs a path.", remedy="name the value that changes.")
        wanted = _changed(tree.value, path, value)
        text = _applied(text, tree, path, value)
        if read_trees(text, name)[document].value != wanted:
            raise BadInput(f"“{_dotted(path)}” cannot be changed in place.", remedy="change it in the file by hand.")
    return text


def renamed(text: str, where: str | Sequence[str | int], new: str, *, name: str = "the file", document: int = 0) -> str:
    """The text with one key renamed; its value, place and comments stay."""
    tree = read_trees(text, name)[document]
    path = path_of(where, tree.value)
    place = tree.keys.get(path)
    if place is None:
        raise BadInput(f"There is no “{_dotted(path)}”.", remedy="name a key of the file.")
    parent = tree.at(path[:-1])
    if new in parent and new != path[-1]:
        raise BadInput(f"“{new}” stands there already.", remedy="choose another name.")
    return text[: place.start] + scalar(new, flow=place.flow) + text[place.end :]


def _dotted(path: Path) -> str:
    return ".".join(str(part) for part in path)


def _changed(value: Any, path: Path, new: Any) -> Any:
    """The plain values after a change."""
    whole = copy.deepcopy(value)
    parent = whole
    for part in path[:-1]:
        try:
            parent = parent[part]
        except (KeyError, IndexError, TypeError):
            raise BadInput(f"There is no “{_dotted(path[:-1])}”.", remedy="name a place in the file.") from None
    last = path[-1]
    if isinstance(parent, dict) and isinstance(last, str):
        if isinstance(new, _Removed):
            if last not in parent:
                raise BadInput(f"There is no “{_dotted(path)}”.", remedy="name a place in the file.")
            del parent[last]
        else:
            parent[last] = _plain(new)
    elif isinstance(parent, list) and isinstance(last, int) and 0 <= last <= len(parent):
        if isinstance(new, _Removed):
            if last == len(parent):
                raise BadInput(f"There is no “{_dotted(path)}”.", remedy="name a place in the file.")
            del parent[last]
        elif last == len(parent):
            parent.append(_plain(new))
        else:
            parent[last] = _plain(new)
    else:
        raise BadInput(f"“{_dotted(path)}” leads nowhere.", remedy="name a place in the file.")
    return whole


def _plain(value: Any) -> Any:
    """A value as it will be read back: yes and no are words in a file."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Mapping):
        return {str(key): _plain(part) for key, part in value.items()}
    if isinstance(value, (list, tuple)):
        return [_plain(part) for part in value]
    return value


def _applied(text: str, tree: Tree, path: Path, new: Any) -> str:
    if isinstance(new, _Removed):
        return _without(text, tree, path)
    if path in tree.values:
        return _replaced(text, tree, path, new)
    return _added(text, tree, path, new)


def _replaced(text: str, tree: Tree, path: Path, new: Any) -> str:
    place = tree.values[path]
    old = text[place.start : place.end]
    if old.startswith(("|", ">")):
        line_end = text.find("\n", place.start)
        indent = len(text[text.rfind("\n", 0, place.start) + 1 :]) - len(
            text[text.rfind("\n", 0, place.start) + 1 :].lstrip(" -")
        )
        end = place.start + len(_block_scalar(text[place.start :], line_end - place.start, indent))
        return text[: place.start] + _written(new, place.flow) + text[end:]
    key = tree.keys.get(path)
    if not old and key is not None:
        colon = text.index(":", key.end) + 1
        return text[:colon] + " " + _written(new, place.flow) + text[colon:]
    start, end = place.start, place.start if not old else _end(text, tree, path)
    if isinstance(tree.at(path), (dict, list)) and not old.startswith(("{", "[")) and key is not None:
        # A block: from behind its key to its last line, comments within it go with it.
        colon = text.index(":", key.end) + 1
        return text[:colon] + " " + _written(new, place.flow) + text[end:]
    gap = "" if old or text[start - 1 : start] == " " else " "
    return text[:start] + gap + _written(new, place.flow) + text[end:]


def _block_scalar(text: str, header: int, indent: int) -> str:
    """A text after | or >: its header and every line that is blank or indented deeper than its key."""
    end = header
    for line in re.finditer(r"\n([^\n]*)", text[header:]):
        content = line[1]
        if content.strip() and len(content) - len(content.lstrip(" ")) <= indent:
            break
        if content.strip():
            end = header + line.end()
    return text[:end]


def _written(value: Any, flow: bool) -> str:
    return in_line(value) if isinstance(value, (Mapping, list, tuple)) else scalar(value, flow=flow)


def _end(text: str, tree: Tree, path: Path) -> int:
    """Where the last sign of a value stands; a block ends with its last part, not with the comment after it."""
    place = tree.values[path]
    if text[place.start : place.start + 1] in ("{", "["):
        return place.end
    value = tree.at(path)
    if isinstance(value, dict) and value:
        return _end(text, tree, (*path, list(value)[-1]))
    if isinstance(value, list) and value:
        return _end(text, tree, (*path, len(value) - 1))
    return place.start + len(text[place.start : place.end].rstrip())


def _line_end(text: str, at: int) -> int:
    """The end of the line in which a position stands, its break included."""
    end = text.find("\n", at)
    return len(text) if end < 0 else end + 1


def _break_before(text: str, at: int) -> str:
    return "" if at == 0 or text[at - 1] == "\n" else "\n"


def _added(text: str, tree: Tree, path: Path, new: Any) -> str:
    parent_path, last = path[:-1], path[-1]
    parent = tree.at(parent_path)
    place = tree.values[parent_path]
    entry = f"{scalar(last, flow=True)}: {_written(new, True)}" if isinstance(last, str) else _written(new, True)
    if text[place.start : place.start + 1] in ("{", "["):
        close = place.end - 1
        body = text[place.start + 1 : close].rstrip()
        comma = "" if not body.strip() or body.endswith(",") else ","
        inner = place.start + 1 + len(body)
        space = " " if body.strip() else ""
        return text[:inner] + comma + space + entry + text[close:]
    at = _line_end(text, _end(text, tree, parent_path))
    if isinstance(parent, dict):
        column = tree.keys[(*parent_path, next(iter(parent)))].column - 1
        assert isinstance(last, str)
        lines = dump({last: new}, indent=column)
    else:
        first = tree.values[(*parent_path, 0)]
        line_start = text.rfind("\n", 0, first.start) + 1
        column = text[line_start : first.start].rfind("-")
        lines = item(_plain(new), column)
    return text[:at] + _break_before(text, at) + lines + text[at:]


def _without(text: str, tree: Tree, path: Path) -> str:
    parent_path, last = path[:-1], path[-1]
    parent = tree.at(parent_path)
    place = tree.values[parent_path]
    names: list[str | int] = list(parent) if isinstance(parent, dict) else list(range(len(parent)))
    position = names.index(last)
    start = tree.keys[path].start if isinstance(parent, dict) else tree.values[path].start
    end = _end(text, tree, path) if text[tree.values[path].start : tree.values[path].end] else tree.values[path].start
    if text[place.start : place.start + 1] in ("{", "["):
        after = re.match(r"\s*,\s*", text[end:])
        if after:
            return text[:start] + text[end + after.end() :]
        before = re.search(r"\s*,\s*$", text[:start])
        return text[: before.start() if before else start] + text[end:]
    if len(names) == 1:
        empty = "{}" if isinstance(parent, dict) else "[]"
        if parent_path in tree.keys:
            colon = text.index(":", tree.keys[parent_path].end) + 1
            return text[:colon] + " " + empty + text[end:]
        return text[: place.start] + empty + text[end:]
    line_start = text.rfind("\n", 0, start) + 1
    before_key = text[line_start:start]
    if isinstance(parent, dict) and "-" in before_key and position + 1 < len(names):
        return text[:start] + text[tree.keys[(*parent_path, names[position + 1])].start :]
    return text[:line_start] + text[_line_end(text, end) :]
