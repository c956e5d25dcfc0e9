"""The page of all commands and options, from the command itself."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any, get_args, get_origin

import typer

from demoule.cli.main import app
from docpages.text import filled, table

__all__ = ["group", "leaves", "page"]

_WORDS = {int: "a number", float: "a number", Path: "a path"}


def group() -> Any:
    """The command with all its commands, as the terminal sees it."""
    return typer.main.get_command(app)


def page() -> str:
    """The whole page."""
    commands = dict(leaves(group()))
    listed = table(
        ("command", "does"),
        ((f"[`{name}`](#{name.replace(' ', '-')})", _help(command)) for name, command in commands.items()),
    )
    return filled(
        "commands.md", index=listed, sections="\n".join(_section(name, one) for name, one in commands.items())
    )


def leaves(parent: Any, before: str = "") -> Iterator[tuple[str, Any]]:
    """Every command by its full name, those of a group of commands by both words."""
    for name, command in parent.commands.items():
        if hasattr(command, "commands"):
            yield from leaves(command, f"{before}{name} ")
        else:
            yield before + name, command


def _help(command: Any) -> str:
    return " ".join((command.help or "").split())


def _section(name: str, command: Any) -> str:
    arguments = [p for p in command.params if p.param_type_name == "argument"]
    options = [p for p in command.params if p.param_type_name == "option"]
    usage = " ".join(
        ["demoule", name, *(_argument(p) for p in arguments), *(["[OPTIONS]"] if options else [])],
    )
    rows = [(f"`{p.name.upper()}`", p.help or "", "**needed**" if p.required else "") for p in arguments]
    rows += [(f"`{'`, `'.join(p.opts)}`", p.help or "", _taken(p)) for p in options]
    return f"## {name}\n\n`{usage}`\n\n{_help(command)}\n\n" + table(("", "is", "takes"), rows)


def _argument(p: Any) -> str:
    name = p.name.upper() + (" …" if p.nargs != 1 else "")
    return name if p.required else f"[{name}]"


def _taken(p: Any) -> str:
    if p.is_flag:
        return "nothing"
    kind = p.type_descriptor.annotation
    if get_origin(kind) is list:
        return f"{_WORDS.get(get_args(kind)[0], 'text')}; may be given several times"
    taken = " or ".join(f"`{c}`" for c in get_args(kind)) if get_args(kind) else _WORDS.get(kind, "text")
    return f"{taken}; without it `{p.default}`" if p.default is not None else taken
