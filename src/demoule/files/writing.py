"""Plain values to YAML in the style of our files: short parts in one line, long ones indented, quoted where needed."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from typing import Any

from demoule.files.tree import resolved

__all__ = ["dump", "in_line", "item", "scalar"]

WIDTH = 110
"""Columns up to which a mapping or a list stands in one line."""

_RISKY_START = re.compile(r"[-?:,\[\]{}#&*!|>'\"%@`~\s]")
_RISKY_INSIDE = re.compile(r":(?:\s|$)|\s#|\s$")
_RISKY_IN_FLOW = re.compile(r"[,\[\]{}]|:")


def scalar(value: object, *, flow: bool = False) -> str:
    """One value as it is written; a text that could be read as something else stands in quotation marks."""
    if value is None:
        return "~"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (int, float)):
        return repr(value)
    text = str(value)
    if (
        re.fullmatch(r"-\d[^:#,\[\]{}\n]*[^\s:#,\[\]{}]", text)
        and isinstance(resolved(text), str)
        and text.isprintable()
    ):
        return text  # "-18 °C" begins with a dash that no list can mean
    risky = (
        _RISKY_START.match(text) is not None
        or _RISKY_INSIDE.search(text) is not None
        or (flow and _RISKY_IN_FLOW.search(text) is not None)
        or not isinstance(resolved(text), str)
        or not text.isprintable()
    )
    return _quoted(text) if risky or not text else text


def _quoted(text: str) -> str:
    """In double quotation marks; a sign that cannot be printed by its number."""
    return "".join(
        sign if sign.isprintable() else (f"\\u{ord(sign):04x}" if ord(sign) < 0x10000 else f"\\U{ord(sign):08x}")
        for sign in json.dumps(text, ensure_ascii=False)
    )


def in_line(value: Any) -> str:
    """A value in one line, with braces and brackets."""
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{scalar(k, flow=True)}: {in_line(v)}" for k, v in value.items()) + "}"
    if isinstance(value, Sequence) and not isinstance(value, (str, bytes)):
        return "[" + ", ".join(in_line(one) for one in value) + "]"
    return scalar(value, flow=True)


def dump(value: Mapping[str, Any], *, indent: int = 0) -> str:
    """A mapping as lines, each ended; its parts in one line where they are short and simple."""
    return "".join(_entry(scalar(key), part, indent) for key, part in value.items())


def _entry(head: str, value: Any, indent: int) -> str:
    margin = " " * indent
    if not _is_nested(value):
        return f"{margin}{head}: {scalar(value)}\n"
    line = f"{margin}{head}: {in_line(value)}"
    if not value or (len(line) <= WIDTH and _depth(value) <= 1):
        return line + "\n"
    if isinstance(value, Mapping):
        return f"{margin}{head}:\n{dump(value, indent=indent + 2)}"
    return f"{margin}{head}:\n" + "".join(item(one, indent + 2) for one in value)


def item(value: Any, indent: int) -> str:
    """One line of a list, or several."""
    margin = " " * indent
    if not _is_nested(value):
        return f"{margin}- {scalar(value)}\n"
    if isinstance(value, Mapping) and len(value) == 1:
        key, part = next(iter(value.items()))
        line = f"{margin}- {scalar(key)}: {in_line(part)}"
        if len(line) <= WIDTH:
            return line + "\n"
    line = f"{margin}- {in_line(value)}"
    if len(line) <= WIDTH or not isinstance(value, Mapping):
        return line + "\n"
    body = dump(value, indent=indent + 2)
    return f"{margin}- {body[indent + 2 :]}"


def _is_nested(value: Any) -> bool:
    return isinstance(value, Mapping) or (isinstance(value, Sequence) and not isinstance(value, (str, bytes)))


def _depth(value: Any) -> int:
    if not _is_nested(value) or not value:
        return 0
    parts = value.values() if isinstance(value, Mapping) else value
    return 1 + max(_depth(part) for part in parts)
