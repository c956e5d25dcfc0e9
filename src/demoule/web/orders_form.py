"""An order book as the fields of a form, and the fields back into its text; comments and order stay as they were."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

from demoule.errors import BadInput, Mistakes
from demoule.files import REMOVED, dump, edited, orders_of
from demoule.files.tree import Path, Tree, read_trees
from demoule.units.showing import Language
from demoule.web import form
from demoule.web.week_words import day_name

__all__ = ["orders", "orders_begun", "orders_differ", "orders_merged"]

_ENGLISH = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_LONGEST = 200
_MOST = 500


def orders(
    *,
    text: str,
    desserts: Sequence[str],
    fields: Mapping[str, str] | None = None,
    act: Mapping[str, str] | None = None,
    language: Language = "en",
) -> dict[str, Any]:
    """An order book's form after what was typed.

    Parameters
    ----------
    desserts
        Names of the desserts there are.

    Returns
    -------
    dict
        "text", "form", "mistakes" (placed beside fields), "wrong", and "answer": what is ordered in all, or None.
    """
    wrong = ""
    try:
        text = _applied(text, fields or {}, language)
        if act:
            text = _reshaped(text, act, language)
    except BadInput as error:
        wrong = f"{error.says} {error.remedy}".strip()
    told: dict[str, Any] = {"text": text, "form": None, "mistakes": [], "wrong": wrong, "answer": None}
    try:
        told["form"] = _form(text, desserts, language)
        book = orders_of(text, "orders", desserts)
    except Mistakes as error:
        told["mistakes"] = form.placed(text, error.mistakes)
        return told
    totals: dict[str, int] = {}
    for order in book.orders:
        times = max(len(order.due.days), 1) if order.due.date is None else 1
        for dessert, pieces in order.pieces:
            totals[dessert] = totals.get(dessert, 0) + pieces * times
    told["answer"] = {
        "totals": [{"dessert": name, "pieces": n, "stock": book.in_stock(name)} for name, n in totals.items()]
    }
    return told


def _tree(text: str) -> Tree:
    return read_trees(text, "orders")[0]


def _form(text: str, desserts: Sequence[str], language: Language) -> dict[str, Any]:
    value = _tree(text).value
    top = value if isinstance(value, dict) else {}
    listed = [one for one in top.get("orders") or [] if isinstance(one, dict)][:_MOST]
    stock = top.get("stock")
    stock = stock if isinstance(stock, dict) else {}
    named = [str(key) for one in listed for key in one if key not in ("what", "when")]
    columns = list(dict.fromkeys([*desserts, *named, *map(str, stock)]))
    return {
        "desserts": columns,
        "orders": [
            {
                "at": form.pointer(("orders", place)),
                "what": _field(("orders", place, "what"), one.get("what")),
                "when": _field(("orders", place, "when"), _days_out(one.get("when"), language)),
                "counts": [{**_field(("orders", place, name), one.get(name)), "dessert": name} for name in columns],
            }
            for place, one in enumerate(listed)
        ],
        "stock": [
            {**_field(("stock", name), stock.get(name)), "dessert": name, "lots": isinstance(stock.get(name), list)}
            for name in columns
        ],
        "counted": _field(("counted",), _days_out(top.get("counted"), language)),
    }


def _field(path: Sequence[str | int], value: Any) -> dict[str, str]:
    return {"at": form.pointer(path), "value": "" if value is None else form.phrase(value)}


def _days_out(value: Any, language: Language) -> Any:
    """Days of the week in the reader's language."""
    if language == "en" or not isinstance(value, str):
        return value
    for place, name in enumerate(_ENGLISH):
        short, long = day_name(place, language), day_name(place, language, long=True)
        value = re.sub(rf"\b{name}\b", long, value)
        value = re.sub(rf"\b{name[:3]}\b", short.rstrip("."), value)
    return value.replace("daily", "tous les jours") if language == "fr" else value


def _days_in(words: str, language: Language) -> str:
    """Days of the week as a file holds them."""
    if language == "en":
        return words
    if language == "fr":
        words = re.sub(r"(?i)\btous les jours\b|\bchaque jour\b", "daily", words)
        words = re.sub(r"(?i)(?<=\d)\s*h\s*(?=\d\d\b)", ":", words)
        words = re.sub(r"(?i)(?<=\d)\s*h\b", ":00", words)
    for place, name in enumerate(_ENGLISH):
        short, long = day_name(place, language), day_name(place, language, long=True)
        words = re.sub(rf"(?i)\b{long}s?\b", name, words)
        words = re.sub(rf"(?i)\b{re.escape(short.rstrip('.'))}\b\.?", name[:3], words)
    return words


def _applied(text: str, fields: Mapping[str, str], language: Language) -> str:
    """The text with what stands in the fields; fields that say what the text says already change nothing."""
    tree = _tree(text)
    for where, typed in fields.items():
        path = form.path_of_pointer(where, tree.value)
        if not path or path[0] not in ("orders", "stock", "counted") or len(path) > 3:
            raise BadInput("A field has no place in the order book.", remedy="load the page again.")
        old = tree.at(path)
        if isinstance(old, (list, dict)):
            continue
        words = " ".join(typed.split())[:_LONGEST]
        shown = _days_out(old, language) if path[-1] in ("when", "counted") else old
        if words == ("" if shown is None else str(shown)):
            continue
        text = edited(text, {path: _value(path, words, language)})
        tree = _tree(text)
    return text


def _value(path: Path, words: str, language: Language) -> Any:
    last = path[-1]
    if last in ("when", "counted"):
        return _days_in(words, language) if words or last == "when" else REMOVED
    if last == "what":
        return words
    if not words:
        return REMOVED
    bare = words.replace("\u202f", "").replace(" ", "")
    return int(bare) if re.fullmatch(r"\d{1,9}", bare) else words


def _reshaped(text: str, act: Mapping[str, str], language: Language) -> str:
    """The text after an order was added or taken out."""
    tree = _tree(text)
    listed = tree.at(("orders",))
    match act.get("act"):
        case "add order":
            what, when = _split(act.get("words", "") or act.get("what", ""), language)
            if not what:
                raise BadInput("An order needs a name.", remedy="write what it is for, such as “wedding”.")
            names = _form(text, [], language)["desserts"]
            entry: dict[str, Any] = {"what": what, "when": when or "Saturday 19:00"}
            entry |= {act.get("dessert") or (names[0] if names else "Dessert"): 12}
            if isinstance(listed, list) and listed:
                return edited(text, {("orders", len(listed)): entry})
            return edited(text, {("orders",): [entry]})
        case "remove":
            path = form.path_of_pointer(act.get("at", ""), tree.value)
            if len(path) != 2 or path[0] != "orders" or not isinstance(path[1], int):
                raise BadInput("This is no order of the book.", remedy="load the page again.")
            if isinstance(listed, list) and len(listed) == 1:
                raise BadInput("An order book holds one order at least.", remedy="change this one instead.")
            return edited(text, {path: REMOVED})
    raise BadInput("This act is not known.", remedy="load the page again.")


def _split(words: str, language: Language) -> tuple[str, str]:
    """What an order is for, and when: parted where a day begins."""
    told = _days_in(" ".join(words.split())[:_LONGEST], language)
    days = "|".join(f"{name}|{name[:3]}" for name in _ENGLISH)
    found = re.search(rf"\b(?:{days}|daily|\d{{4}}-\d\d-\d\d)\b", told)
    if found is None:
        return told.strip(" ,"), ""
    return told[: found.start()].strip(" ,"), told[found.start() :].strip(" ,")


def orders_begun(*, desserts: Sequence[str]) -> str:
    """The text of an order book that has just been begun."""
    first = desserts[0] if desserts else "Dessert"
    return dump({"demoule": 1, "orders": [{"what": "shop", "when": "Saturday 10:00", first: 12}]})


def orders_differ(*, mine: str, theirs: str) -> list[dict[str, str]]:
    """Values in which two order books differ."""
    return form.differences(mine, theirs)


def orders_merged(*, theirs: str, choices: Mapping[str, str]) -> str:
    """Their order book with the values of mine that were chosen."""
    return _applied(theirs, choices, "en")
