"""What validation found, in a chef's words, at the place in the file where it stands."""

from __future__ import annotations

import re
import types
import typing
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from typing import Any

from pydantic import BaseModel, ValidationError

from demoule.errors import Mistake, nearest
from demoule.files.tree import Tree

__all__ = ["mistakes_of", "split_decimals"]


def mistakes_of(error: ValidationError, model: type[BaseModel], tree: Tree) -> list[Mistake]:
    """Every mistake that an entry model found in a document, each at its line and column."""
    found = []
    errors = error.errors(include_url=False, include_input=True)
    misspelt = {
        (*one["loc"][:-1], nearest(str(one["loc"][-1]), _keys_at(model, one["loc"][:-1])))
        for one in errors
        if one["type"] == "extra_forbidden"
    }
    for one in errors:
        if one["type"] == "missing" and one["loc"] in misspelt:
            continue  # it is there under a misspelt name, which is said already
        loc, kind, context = one["loc"], one["type"], one.get("ctx") or {}
        if kind == "demoule":
            says, remedy, at_key = str(context["says"]), str(context["remedy"]), False
        elif kind == "extra_forbidden":
            says, remedy = _unknown_key(str(loc[-1]), sorted(_keys_at(model, loc[:-1])))
            at_key = True
        elif kind == "missing":
            value = "1" if loc[-1] == "demoule" else "and its value"
            says, remedy, at_key = f"“{loc[-1]}” is missing here.", f"add {loc[-1]}: {value}.", True
            loc = loc[:-1]
        else:
            says, remedy = _habitual(kind, one.get("input"), context)
            at_key = False
        if loc and loc[-1] == "[key]":
            loc, at_key = loc[:-1], True
        found.append(tree.mistake(loc, says, remedy, key=at_key))
    return found


def _unknown_key(key: str, known: list[str]) -> tuple[str, str]:
    hint = nearest(key, known)
    if hint:
        return f"“{key}” is no name that is known here.", f"did you mean “{hint}”?"
    most = ", ".join(known[:12]) + (" …" if len(known) > 12 else "")
    return f"“{key}” is no name that is known here.", f"the names are {most}." if known else "take it out."


def _habitual(kind: str, value: Any, context: dict[str, Any]) -> tuple[str, str]:
    shown = _shown(value)
    table: dict[str, Callable[[], tuple[str, str]]] = {
        "dict_type": lambda: (f"{shown} stands where names with values belong.", "write name: value, one a line."),
        "model_type": lambda: (f"{shown} stands where names with values belong.", "write name: value, one a line."),
        "list_type": lambda: (f"{shown} stands where a list belongs.", "begin each line of it with a dash."),
        "tuple_type": lambda: (f"{shown} stands where a list belongs.", "begin each line of it with a dash."),
        "greater_than_equal": lambda: (
            f"{shown} is too little; at least {context.get('ge')} is expected.",
            "check it.",
        ),
        "less_than_equal": lambda: (f"{shown} is too much; at most {context.get('le')} is expected.", "check it."),
        "greater_than": lambda: (f"{shown} is too little; more than {context.get('gt')} is expected.", "check it."),
        "too_short": lambda: ("Nothing stands here.", "write at least one line."),
        "too_long": lambda: (f"More stands here than the {context.get('max_length')} that fit.", "split it up."),
        "string_type": lambda: (f"{shown} stands where words belong.", "write a name."),
        "union_tag_invalid": lambda: (f"{shown} cannot be used here.", "see the reference of the files."),
    }
    if kind in table:
        return table[kind]()
    return f"{shown} cannot be used here.", "see the reference of the files."


def _shown(value: Any) -> str:
    if value is None:
        return "Nothing"
    if isinstance(value, dict):
        return "A mapping"
    if isinstance(value, list):
        return "A list"
    text = str(value)
    return f"“{text if len(text) <= 40 else text[:37] + '…'}”"


def _keys_at(model: type[BaseModel], loc: Iterable[str | int]) -> set[str]:
    """The names that are known at a place, found by walking the entry models."""
    return {key for found in _models(model, tuple(loc)) for key in _names(found)}


def _names(model: type[BaseModel]) -> Iterator[str]:
    for name, info in model.model_fields.items():
        yield info.alias or name


def _models(annotation: Any, loc: tuple[str | int, ...]) -> set[type[BaseModel]]:
    origin = typing.get_origin(annotation)
    if origin is typing.Annotated:
        return _models(typing.get_args(annotation)[0], loc)
    if origin in (typing.Union, types.UnionType):
        # A tag such as "<mapping>" stands in the place for the branch that was taken.
        rest = loc[1:] if loc and str(loc[0]).startswith("<") else loc
        return {m for branch in typing.get_args(annotation) for m in _models(branch, rest)}
    if origin is dict:
        return _models(typing.get_args(annotation)[1], loc[1:]) if loc else set()
    if origin in (list, tuple):
        return _models(typing.get_args(annotation)[0], loc[1:]) if loc else set()
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        if not loc:
            return {annotation}
        for name, info in annotation.model_fields.items():
            if (info.alias or name) == loc[0]:
                return _models(_with_branches(info), loc[1:])
    return set()


def _with_branches(info: Any) -> Any:
    return info.annotation


_SPLIT = re.compile(r"(\d+),(\d+ ?[^\W\d]\w*)")


def split_decimals(mistakes: Iterable[Mistake], text: str) -> list[Mistake]:
    """The mistakes with those that one decimal comma within braces makes told as one.

    Notes
    -----
    Within braces a comma ends a part, so that `{sugar: 80,5 g}` is read as "80" and a name "5 g".
    """
    found = list(mistakes)
    lines = text.splitlines()
    for one in tuple(found):
        line = lines[one.line - 1] if 0 < one.line <= len(lines) else ""
        split = _SPLIT.match(line, one.column - 1)
        rest = [other for other in found if other.line == one.line and split and other.column == split.start(2) + 1]
        if split and rest and one in found:
            found = [other for other in found if other is not one and other not in rest]
            found.append(
                replace(
                    one,
                    says=f"Within braces the comma of “{split[0]}” ends a part.",
                    remedy=f"write {split[1]}.{split[2]}, or put it in quotation marks.",
                )
            )
    return found
