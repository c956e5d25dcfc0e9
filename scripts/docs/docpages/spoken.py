"""Reads the code for the findings it can speak: rule key, severities and module, without running it."""

from __future__ import annotations

import ast
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import demoule
from docpages.text import sources

__all__ = ["Spoken", "spoken_rules"]

SEVERITIES = ("stop", "caution", "note")


@dataclass(slots=True)
class Spoken:
    """One rule key as the code uses it."""

    severities: set[str] = field(default_factory=set)
    modules: set[str] = field(default_factory=set)
    sources: set[str] = field(default_factory=set)


@dataclass(frozen=True, slots=True)
class _Speaker:
    """A function that makes a finding: where its rule stands among the arguments, and severities it fixes itself."""

    rule_at: int
    rule_name: str
    fixed: frozenset[str]


_FINDING = _Speaker(rule_at=1, rule_name="rule", fixed=frozenset())


def spoken_rules() -> dict[str, Spoken]:
    """Every rule key that any stage can speak."""
    found: dict[str, Spoken] = defaultdict(Spoken)
    root = Path(demoule.__file__).parent
    for path in sorted(root.rglob("*.py")):
        module = ".".join(("demoule", *path.relative_to(root).with_suffix("").parts))
        for rule, severities, call in _in_module(ast.parse(path.read_text(encoding="utf-8"))):
            found[rule].severities |= severities
            found[rule].modules.add(module)
            found[rule].sources |= {text for part in ast.walk(call) for text in _texts(part) if text in sources()}
    return dict(found)


def _in_module(tree: ast.Module) -> Iterator[tuple[str, set[str], ast.Call]]:
    speakers = {"Finding": _FINDING, "finding": _FINDING, **_helpers(tree)}
    for function in ast.walk(tree):
        if not isinstance(function, ast.FunctionDef):
            continue
        for call in _own_calls(function):
            speaker = speakers.get(call.func.id) if isinstance(call.func, ast.Name) else None
            if speaker is None:
                continue
            rules = set(_texts(_argument(call, speaker)))
            severities = set(speaker.fixed) | _severities(call) or _severities(function) or _handed(function, tree)
            for rule in rules:
                yield rule, severities, call


def _handed(function: ast.FunctionDef, tree: ast.Module) -> set[str]:
    """Severities that a function is handed by those who call it."""
    return {
        severity
        for call in ast.walk(tree)
        if isinstance(call, ast.Call) and isinstance(call.func, ast.Name) and call.func.id == function.name
        for severity in _severities(call)
    }


def _helpers(tree: ast.Module) -> dict[str, _Speaker]:
    """Functions that hand their own `rule` on to a finding."""
    found = {}
    for function in ast.walk(tree):
        if not isinstance(function, ast.FunctionDef):
            continue
        names = [a.arg for a in (*function.args.posonlyargs, *function.args.args)]
        every = [*names, *(a.arg for a in function.args.kwonlyargs)]
        for call in _own_calls(function):
            if not isinstance(call.func, ast.Name) or call.func.id not in ("Finding", "finding"):
                continue
            rule = _argument(call, _FINDING)
            if isinstance(rule, ast.Name) and rule.id in every:
                at = names.index(rule.id) if rule.id in names else -1
                found[function.name] = _Speaker(at, rule.id, frozenset(_severities(call)))
    return found


def _own_calls(function: ast.FunctionDef) -> Iterator[ast.Call]:
    """Calls in a function, those of functions inside it left to them."""
    waiting: list[ast.AST] = list(function.body)
    while waiting:
        node = waiting.pop()
        if isinstance(node, ast.FunctionDef):
            continue
        if isinstance(node, ast.Call):
            yield node
        waiting.extend(ast.iter_child_nodes(node))


def _argument(call: ast.Call, speaker: _Speaker) -> ast.expr | None:
    for keyword in call.keywords:
        if keyword.arg == speaker.rule_name:
            return keyword.value
    if 0 <= speaker.rule_at < len(call.args):
        return call.args[speaker.rule_at]
    return None


def _texts(node: ast.AST | None) -> Iterator[str]:
    """The texts an expression may be: a constant, or either side of a choice."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield node.value
    elif isinstance(node, ast.IfExp):
        yield from _texts(node.body)
        yield from _texts(node.orelse)


def _severities(node: ast.AST) -> set[str]:
    return {
        part.attr.lower()
        for part in ast.walk(node)
        if isinstance(part, ast.Attribute)
        and isinstance(part.value, ast.Name)
        and part.value.id == "Severity"
        and part.attr.lower() in SEVERITIES
    }
