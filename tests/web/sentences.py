"""Every sentence that the numerics can say, read from their source: a finding by its rule, an error by its module."""

from __future__ import annotations

import ast
import itertools
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parents[2] / "src" / "demoule"
HOLE = "\0"
_PLAIN = ("says", "remedy")
_ERRORS = dict.fromkeys(
    ("BadInput", "OutsideValidity", "Mistake", "complaints", "TookTooLong", "Forbidden", "DemouleError"), _PLAIN
) | {"_wrong": ("", *_PLAIN), "mistake": ("", *_PLAIN)}


class Module:
    """One module with what its names stand for."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.tree = ast.parse(path.read_text(encoding="utf-8"))
        self.constants: dict[str, ast.expr] = {}
        self.functions: dict[str, ast.FunctionDef] = {}
        self.imports: dict[str, str] = {}
        for node in self.tree.body:
            if isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Name):
                self.constants[node.targets[0].id] = node.value
            if isinstance(node, ast.ImportFrom) and node.module and node.module.startswith("demoule"):
                for one in node.names:
                    self.imports[one.asname or one.name] = node.module
        for node in ast.walk(self.tree):
            if isinstance(node, ast.FunctionDef):
                self.functions[node.name] = node


_MODULES: dict[str, Module] = {}


def module(name: str) -> Module | None:
    path = ROOT.parent / Path(*name.split("."))
    path = path / "__init__.py" if path.is_dir() else path.with_suffix(".py")
    if not path.is_file():
        return None
    return _MODULES.setdefault(name, Module(path))


def texts(node: ast.expr | None, home: Module, inside: ast.AST | None, deep: int = 0) -> list[str]:
    """What an expression can read as; HOLE where a value stands. Empty when it cannot be told."""
    if node is None or deep > 6:
        return []
    if isinstance(node, ast.Constant):
        return [node.value] if isinstance(node.value, str) else []
    if isinstance(node, ast.JoinedStr):
        parts = []
        for part in node.values:
            if isinstance(part, ast.Constant):
                parts.append([str(part.value)])
            elif isinstance(part, ast.FormattedValue):
                whole = isinstance(part.value, (ast.IfExp, ast.Name)) and part.format_spec is None
                found = texts(part.value, home, inside, deep + 1) if whole else []
                plain = [one for one in found if HOLE not in one]
                told = any(plain) and len(plain) == len(found) and len(plain) < 4
                parts.append(plain if told else [HOLE])
        return ["".join(one) for one in itertools.product(*parts)]
    if isinstance(node, ast.IfExp):
        return texts(node.body, home, inside, deep + 1) + texts(node.orelse, home, inside, deep + 1)
    if isinstance(node, ast.BoolOp):
        return [t for one in node.values for t in texts(one, home, inside, deep + 1)]
    if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Add):
        left = texts(node.left, home, inside, deep + 1) or [HOLE]
        right = texts(node.right, home, inside, deep + 1) or [HOLE]
        return [a + b for a in left for b in right]
    if isinstance(node, ast.Name):
        if inside is not None:
            found = []
            for one in ast.walk(inside):
                if isinstance(one, ast.Assign):
                    for target in one.targets:
                        if isinstance(target, ast.Name) and target.id == node.id:
                            found += texts(one.value, home, inside, deep + 1)
                        elif isinstance(target, ast.Tuple) and isinstance(one.value, (ast.Tuple, ast.IfExp)):
                            whole = isinstance(one.value, ast.Tuple)
                            values = [one.value] if whole else [one.value.body, one.value.orelse]
                            for value in values:
                                if isinstance(value, ast.Tuple):
                                    for t, v in zip(target.elts, value.elts, strict=False):
                                        if isinstance(t, ast.Name) and t.id == node.id:
                                            found += texts(v, home, inside, deep + 1)
            if found:
                return found
        if node.id in home.constants:
            return texts(home.constants[node.id], home, None, deep + 1)
        if node.id in home.imports:
            other = module(home.imports[node.id])
            if other is not None and node.id in other.constants:
                return texts(other.constants[node.id], other, None, deep + 1)
        return []
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in home.functions:
        function = home.functions[node.func.id]
        return [
            t
            for one in ast.walk(function)
            if isinstance(one, ast.Return)
            for t in texts(one.value, home, function, deep + 1)
        ]
    return []


def _tells(called: str, home: Module) -> tuple[str, ...]:
    """The parameters of a function of this module that makes a finding of what it is given."""
    function = home.functions.get(called)
    names = tuple(one.arg for one in function.args.args) if function is not None else ()
    return names if {"rule", "says"} <= set(names) else ()


def _enclosing(home: Module) -> dict[ast.AST, ast.AST]:
    found: dict[ast.AST, ast.AST] = {}
    for function in ast.walk(home.tree):
        if isinstance(function, ast.FunctionDef):
            for node in ast.walk(function):
                found[node] = function
    return found


def sentences(skip: tuple[str, ...] = ("cli", "plan", "store", "sheets")) -> Iterator[tuple[str, str, str]]:
    """(code, part, text) of every sentence: the code of a finding is its rule, that of an error its module."""
    for path in sorted(ROOT.rglob("*.py")):
        name = ".".join(path.relative_to(ROOT.parent).with_suffix("").parts)
        if path.relative_to(ROOT).parts[0] in skip:
            continue
        home = module(name.removesuffix(".__init__")) or Module(path)
        inside = _enclosing(home)
        short = name.removeprefix("demoule.")
        for node in ast.walk(home.tree):
            if not isinstance(node, ast.Call):
                continue
            called = node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")
            named = {one.arg: one.value for one in node.keywords if one.arg}
            here = inside.get(node)
            if called in ("Finding", "finding") or _tells(called, home):
                order = _tells(called, home) or ("severity", "rule", "where", "says")
                for key, value in zip(order, node.args, strict=False):
                    named.setdefault(key, value)
                rule = (texts(named.get("rule"), home, here) or ["*"])[0]
                for part in ("says", "why", "remedy"):
                    for text in texts(named.get(part), home, here):
                        yield f"finding {rule}", part, text
            elif called in _ERRORS:
                order = _ERRORS[called]
                for key, value in zip(order, node.args, strict=False):
                    if key:
                        named.setdefault(key, value)
                for part in ("says", "remedy"):
                    for text in texts(named.get(part), home, here):
                        yield f"error {short}", part, text
