"""A dessert's text as the fields of a form, and the fields back into the text; comments and order stay as they were."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from typing import Any

from demoule.errors import BadInput, Mistake
from demoule.files import REMOVED, dump, edited, renamed
from demoule.files.amount import line as read_line
from demoule.files.text import bounded
from demoule.files.tree import Path, Tree, read_trees, respelt
from demoule.files.writing import in_line, scalar
from demoule.units import Kind, leading

__all__ = [
    "applied", "begun", "differences", "field_of", "form_of", "leaves_of", "pasted", "path_of_pointer", "placed",
    "pointer", "reshaped",
]  # fmt: skip

_BARE = re.compile(r"\s*[-−+]?[\d\s.,–/½¼¾⅓⅔]+\s*")
_SPLIT = re.compile(r"([-−+]?\d[\d\s.,–/½¼¾⅓⅔]*|[½¼¾⅓⅔])\s*([^\W\d_].{0,40}|[%°µ€$£].{0,40})", re.DOTALL)
_OPTIONAL = ("to make", "gives", "density", "base", "pH", "evaporation", "label")
_LINES = 400
_LONGEST = 200
_TOLD = 200  # mistakes of one text; who mends them asks again
_OFFER = 4000  # signs of the changes that a remedy makes


def pointer(path: Sequence[str | int]) -> str:
    """A path as one word (RFC 6901): "/components/heart/weigh/thyme"."""
    return "".join("/" + str(part).replace("~", "~0").replace("/", "~1") for part in path)


def path_of_pointer(text: str, value: Any) -> Path:
    """A path from its pointer; a number is a position where the document holds a list."""
    path: list[str | int] = []
    here = value
    for raw in text.split("/")[1:]:
        part = raw.replace("~1", "/").replace("~0", "~")
        step: str | int = int(part) if isinstance(here, list) and part.isdecimal() and len(part) < 10 else part
        path.append(step)
        try:
            here = here[step]
        except (KeyError, IndexError, TypeError):
            here = None
    return tuple(path)


def _tree(text: str) -> Tree:
    return read_trees(bounded(text, "dessert"), "dessert")[0]


def field_of(path: Sequence[str | int], value: Any, *, label: str = "", split: bool = True) -> dict[str, Any]:
    """One field: what stands in it, and its unit apart so that the number alone is typed."""
    words = "" if value is None else phrase(value)
    found = _SPLIT.fullmatch(words) if split else None
    number, unit = (found[1].strip(), found[2]) if found else (words, "")
    return {"at": pointer(path), "label": label, "value": number, "unit": unit, "whole": words}


def phrase(value: Any) -> str:
    """A value in one line as it is typed into a field; what stands after the dash of a list."""
    if isinstance(value, Mapping):
        return in_line(value)[1:-1]
    if isinstance(value, list):
        return in_line(value)
    return str(value)


def has(text: str, key: str) -> bool:
    """Whether a text has a key at its top."""
    value = _tree(text).value
    return isinstance(value, dict) and key in value


def form_of(text: str) -> dict[str, Any]:
    """The fields of a text that is YAML; parts of an unknown form are left out."""
    value = _tree(text).value
    top = value if isinstance(value, dict) else {}
    components = top.get("components")
    return {
        "name": str(top.get("name", "")),
        "about": str(top.get("about", "") or ""),
        "head": [field_of((key,), top.get(key), label=key, split=False) for key in ("name", "about")],
        "pieces": field_of(("pieces",), top.get("pieces"), label="pieces", split=False),
        "components": [
            _component(str(name), part)
            for name, part in (components.items() if isinstance(components, dict) else ())
            if isinstance(part, dict)
        ],
        "piece": leaves_of(("piece",), top.get("piece")),
        "cold": leaves_of(("cold",), top.get("cold")),
        "own": [str(name) for name in top.get("own items") or ()],
    }


def _component(name: str, part: dict[str, Any]) -> dict[str, Any]:
    at: Path = ("components", name)
    weigh = part.get("weigh")
    lines = []
    if isinstance(weigh, dict):
        lines = [{"what": str(what), **field_of((*at, "weigh", what), much)} for what, much in weigh.items()]
    elif isinstance(weigh, list):
        for place, entry in enumerate(weigh):
            if isinstance(entry, dict) and len(entry) == 1:
                what, much = next(iter(entry.items()))
                lines.append({"what": str(what), **field_of((*at, "weigh", place, what), much)})
            else:
                lines.append({"what": "", **field_of((*at, "weigh", place), entry, split=False)})
    steps = part.get("steps") or []
    if isinstance(steps, (str, dict)):
        steps = [steps]
    extras = [
        field_of((*at, key), part[key], label=key, split=key not in ("base", "label"))
        for key in _OPTIONAL
        if key in part
    ]
    extras += leaves_of((*at, "loses"), part.get("loses"), under="loses")
    return {
        "name": name,
        "at": pointer(at),
        "lines": lines,
        "steps": [field_of((*at, "steps", k), step, split=False) for k, step in enumerate(steps)],
        "extras": extras,
        "missing": [key for key in ("to make", "gives", "density", "base") if key not in part],
    }


def leaves_of(at: Path, value: Any, *, under: str = "") -> list[dict[str, Any]]:
    """Every single value below a place, named by the keys on the way to it."""
    if isinstance(value, dict):
        return [
            one for key, part in value.items() for one in leaves_of((*at, key), part, under=f"{under} {key}".strip())
        ]
    if isinstance(value, list) and not all(isinstance(one, (int, float)) for one in value):
        many = len(value) > 1
        return [
            one
            for place, part in enumerate(value)
            for one in leaves_of((*at, place), part, under=f"{under} {place + 1}".strip() if many else under)
        ]
    if value is None or isinstance(value, list):
        return []
    return [{**field_of(at, value), "label": under, "group": under.split(" ")[0] if under else ""}]


def applied(text: str, fields: Mapping[str, str], units: Mapping[str, str] | None = None) -> str:
    """The text with what stands in the fields; fields that say what the text says already change nothing."""
    tree = _tree(text)
    units = units or {}
    at_once: dict[Path, tuple[Any, str]] = {}
    later: dict[str | tuple[str | int, ...], Any] = {}
    for where, typed in fields.items():
        path = path_of_pointer(where, tree.value)
        if not path:
            raise BadInput("A field has no place in the dessert.", remedy="load the page again.")
        new: Any = " ".join(typed.split())
        unit = units.get(where, "")
        if unit and _BARE.fullmatch(new):
            new = f"{new.strip()} {unit}"
        old = tree.at(path)
        if new == ("" if old is None else phrase(old)) or (old is None and not new):
            continue
        if not new and _may_go(path):
            later[path] = REMOVED
            continue
        if len(path) >= 2 and path[-2] == "steps" and new:
            new = _after_dash(new)
        if path in tree.values and not isinstance(new, (dict, list)) and not isinstance(old, (dict, list)):
            place = tree.values[path]
            sign = text[place.start : place.end]
            if sign.strip() and not sign.startswith(("|", ">")) and "\n" not in sign.strip():
                sign = scalar(new, flow=place.flow)
                at_once[path] = sign if isinstance(new, bool) else new, sign
                continue
        later[path] = new
    if at_once:
        text = respelt(text, "dessert", at_once)
    return edited(text, later) if later else text


def _may_go(path: Path) -> bool:
    """Whether an emptied field means that its line is taken out."""
    return "weigh" not in path and path[-1] not in ("name", "component") and "steps" not in path


def _after_dash(words: str) -> Any:
    """A step as it is typed: a phrase, or a verb with its details."""
    try:
        value = read_trees(f"x:\n  - {words}\n", "step")[0].value["x"]
    except (BadInput, KeyError, TypeError):
        return words
    return value[0] if isinstance(value, list) and len(value) == 1 else words


def reshaped(text: str, act: Mapping[str, str]) -> str:
    """The text after one act that adds, takes out or renames a part.

    Parameters
    ----------
    act
        "act": "add line", "remove", "rename", "add step", "add component", "add detail", "try" or "paste"; "at": a
        pointer; and what the act needs: "what", "amount", "words".
    """
    tree = _tree(text)
    path = path_of_pointer(act.get("at", ""), tree.value)
    what, amount = act.get("what", "").strip()[:_LONGEST], act.get("amount", "").strip()[:_LONGEST]
    match act.get("act"):
        case "add line":
            if not what:
                raise BadInput("A line needs the name of what is weighed.", remedy="write a name of the Larder.")
            amount = f"{amount} g" if _BARE.fullmatch(amount or "") else amount or "100 g"
            return _with_line(text, tree, path, what, amount)
        case "remove":
            return edited(text, {_line_of(tree, path): REMOVED})
        case "rename":
            if not what:
                raise BadInput("A name is missing.", remedy="write the new name.")
            return renamed(text, path, what)
        case "add step":
            steps = tree.at((*path, "steps"))
            step = _after_dash(act.get("words", "").strip()[:_LONGEST] or "mix")
            if isinstance(steps, list) and steps:
                return edited(text, {(*path, "steps", len(steps)): step})
            return edited(text, {(*path, "steps"): [step]})
        case "add component":
            if not what:
                raise BadInput("A component needs a name.", remedy="write one, such as “velvet”.")
            if what in (tree.at(("components",)) or {}):
                raise BadInput(f"“{what}” stands there already.", remedy="choose another name.")
            return edited(text, {("components", what): {"weigh": {"water": "100 g"}}})
        case "add detail":
            return edited(text, {(*path, what): amount})
        case "try":
            return edited(text, _offered(tree, act.get("words", "")))
        case "paste":
            for name, much in pasted(act.get("words", "")):
                tree = _tree(text)
                text = _with_line(text, tree, path, name, much)
            return text
    raise BadInput("This act is not known.", remedy="load the page again.")


def _offered(tree: Tree, words: str) -> dict[str | tuple[str | int, ...], Any]:
    """The changes of a remedy: pairs of a pointer and what stands there then."""
    try:
        pairs = [(str(at), str(value)) for at, value in json.loads(words[:_OFFER])]
    except (ValueError, TypeError):
        raise BadInput("This act is not known.", remedy="load the page again.") from None
    return {path_of_pointer(at, tree.value): value[:_LONGEST] for at, value in pairs[:4] if at}


def _line_of(tree: Tree, path: Path) -> Path:
    """The whole line of a list, where a path leads into it."""
    if len(path) > 1 and isinstance(path[-2], int) and len(tree.at(path[:-1]) or ()) == 1:
        return path[:-1]
    return path


def _with_line(text: str, tree: Tree, weigh: Path, what: str, amount: str) -> str:
    lines = tree.at(weigh)
    if isinstance(lines, list):
        return edited(text, {(*weigh, len(lines)): {what: amount}})
    if isinstance(lines, dict) and what in lines:
        raise BadInput(f"“{what}” is weighed here already.", remedy="change its amount, or take one of them out.")
    return edited(text, {(*weigh, what): amount})


def pasted(words: str) -> list[tuple[str, str]]:
    """Lines of a recipe pasted as text or from a sheet: (what, amount); a bare number is grams.

    Raises
    ------
    BadInput
        With the number of the line that cannot be read.

    Examples
    --------
    >>> pasted("700 g cream\\nsugar\\t120\\n2 leaves gelatine")
    [('cream', '700 g'), ('sugar', '120 g'), ('gelatine', '2 leaves')]
    """
    found: list[tuple[str, str]] = []
    for number, raw in enumerate(words.splitlines(), 1):
        if number > _LINES:
            raise BadInput(f"More than {_LINES} lines are pasted.", remedy="paste one component at a time.")
        line = raw.strip().lstrip("-•*").strip()
        if not line:
            continue
        try:
            found.append(_pasted_line(line))
        except BadInput as error:
            raise BadInput(error.says, where=f"line {number}", remedy=error.remedy) from None
    return found


def _pasted_line(line: str) -> tuple[str, str]:
    cells = [cell.strip() for cell in re.split(r"\t|;|:\s+", line) if cell.strip()]
    if len(cells) >= 2:
        for place, cell in enumerate(cells):
            if _BARE.fullmatch(cell):
                unit = cells[place + 1] if place + 1 < len(cells) and len(cells[place + 1]) <= 8 else "g"
                rest = [c for c in cells if c not in (cell, unit)]
                return (rest or ["?"])[0], f"{cell} {unit}"
            if leading(cell, (Kind.MASS, Kind.VOLUME, Kind.COUNT, Kind.PERCENT)) and place:
                return cells[0], cell
    bare = re.fullmatch(r"(.*\D)\s+(\d[\d.,]*)", line)
    if bare and not re.match(r"\d", line):
        return bare[1].strip(), f"{bare[2]} g"
    tail = re.fullmatch(r"(\D.*?)\s+(\d[\d.,]*\s*(?:g|kg|ml|l|oz|lb|cl))", line)
    if tail:
        return tail[1].strip(), tail[2]
    alone = re.fullmatch(r"(\d[\d.,]*)\s+(\D.*)", line)
    try:
        return read_line(line)
    except BadInput:
        if alone:
            return alone[2], f"{alone[1]} g"
        raise


def placed(text: str, mistakes: Sequence[Mistake]) -> list[dict[str, Any]]:
    """Mistakes with the pointer of the field that each stands beside; "" where there is none."""
    try:
        tree = _tree(text)
    except BadInput:
        tree = None
    lines: dict[int, list[tuple[int, int, Path]]] = {}
    for path, place in (*tree.values.items(), *tree.keys.items()) if tree is not None else ():
        if path:
            lines.setdefault(place.line, []).append((place.column, len(path), path))
    found = []
    for one in mistakes[:_TOLD]:
        here = [place for place in lines.get(one.line, ()) if place[0] <= one.column]
        where = pointer(max(here, key=lambda place: place[:2])[2]) if here else ""
        found.append({"at": where, "line": one.line, "column": one.column, "says": one.says, "remedy": one.remedy})
    return found


def differences(mine: str, theirs: str) -> list[dict[str, str]]:
    """Single values in which two texts differ, by place; a part that one of them lacks is told as empty."""
    left, right = _flat((), _tree(mine).value), _flat((), _tree(theirs).value)
    found = []
    for where in dict.fromkeys([*right, *left]):
        if left.get(where) != right.get(where):
            found.append({"at": where, "mine": left.get(where, ""), "theirs": right.get(where, "")})
    return found


def _flat(path: Path, value: Any) -> dict[str, str]:
    if isinstance(value, dict) and value:
        return {k: v for key, part in value.items() for k, v in _flat((*path, key), part).items()}
    if isinstance(value, list) and value and not all(isinstance(one, (int, float)) for one in value):
        return {k: v for place, part in enumerate(value) for k, v in _flat((*path, place), part).items()}
    return {pointer(path): phrase(value)}


def begun(name: str, mould: str, cavity: Mapping[str, Any] | None = None) -> str:
    """The text of a dessert that has just been begun: a body in a mould."""
    return dump(
        {
            "demoule": 1,
            "name": name,
            "components": {
                "whipped ganache": {
                    "weigh": {"cream 35 %": "600 g", "white chocolate": "220 g", "gelatine 200 bloom": "6 g"},
                    "steps": ["heat half the cream to 85 °C", "blend", "rest 12–48 h at 4 °C", "whip to 60 % overrun"],
                }
            },
            "piece": {"mould": mould or dict(cavity or {}), "body": "whipped ganache"},
        }
    )
