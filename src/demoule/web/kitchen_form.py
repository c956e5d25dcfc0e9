"""A kitchen's text as the fields of a form: rooms, moulds, machines, people, prices, calibrations; and back into it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from demoule.errors import BadInput
from demoule.files import REMOVED, edited, renamed
from demoule.files.tree import read_trees
from demoule.web.form import field_of, leaves_of, path_of_pointer, pointer

__all__ = ["KINDS", "kitchen_form", "kitchen_reshaped"]

TOP = (
    "kitchen", "altitude", "air", "currency", "market", "time zone", "packaging", "margin", "energy price",
    "contingency",
)  # fmt: skip
"""What is told of the whole kitchen."""

PARTS: Mapping[str, tuple[str, ...]] = {
    "rooms": ("air", "blows", "air speed", "humidity", "levels", "rated", "power", "capacity", "opened", "defrosts"),
    "moulds": ("tray", "cavities", "own", "two-part", "holds"),
    "machines": (),
    "people": ("shift", "pay", "breaks", "off", "overtime", "overtime pay", "skills"),
    "calibrations": ("measured",),
}
"""Things with a name, and what may be told of each of them."""

LISTS = ("rejects", "prices per kg", "stock", "pantry")
"""Names with one value each."""

_LONGEST = 120

KINDS: Mapping[str, Mapping[str, Mapping[str, Any]]] = {
    "rooms": {"room": {"air": "-18 °C", "blows": "10 W/m²K"}},
    "moulds": {
        "sphere": {"tray": "300×400", "cavities": 12, "own": 2, "sphere": {"radius": "27 mm", "flat": "26 mm"}},
        "half sphere": {"tray": "300×400", "cavities": 24, "own": 2, "half sphere": {"radius": "20 mm"}},
        "disc": {"tray": "300×400", "cavities": 24, "own": 2, "disc": "45 × 18 mm"},
    },
    "machines": {
        "mixer": {"bowl": "5 l", "cream": "0.15–1.0 l"},
        "bath": {"count": 1, "holds": "1.0–2.0 kg"},
        "spray gun": {"cup": "0.6 l", "stays": "60 g"},
        "hob": {"power": "3.5 kW", "pans": "16 20 24 28 cm"},
        "oven": {"levels": 6},
    },
    "people": {"person": {"shift": "Mon–Fri 07:00–15:00", "pay": "18 {currency}/h"}},
    "calibrations": {
        "test dips": {
            "bath": "34 °C", "piece": "-20 °C", "fat": "60 %", "mould": "{mould}", "for": "2 s", "pieces": 5,
            "gained": "28 g", "measured": "{day}",
        },
        "candying": {
            "fruit": "500 g", "fruit Brix": "12 °Bx", "syrup": "1 kg", "syrup Brix": "60 °Bx", "at": "60 °C",
            "for": "6 h", "piece": "cube 12 mm", "fruit after": "450 g", "Brix after": "30 °Bx", "measured": "{day}",
        },
        "pan": {"pan": "24 cm", "off": "180 g", "in": "5 min", "measured": "{day}"},
        "spray": {"sprayed": "40 g", "landed": "19 g", "pieces": 10, "measured": "{day}"},
        "cups": {
            "water": "250 g", "foam": "125 g", "base": "262 g", "mousse": "178 g", "share": "47 %", "measured": "{day}",
        },
    },
}  # fmt: skip
"""What a new thing begins with; every number is to be written over with what is there or was weighed."""


def _value(text: str) -> Any:
    return read_trees(text, "kitchen")[0].value


def kitchen_form(text: str) -> dict[str, Any]:
    """The fields of a kitchen's text; raises Mistakes when it is no YAML."""
    value = _value(text)
    top = value if isinstance(value, dict) else {}
    return {
        "name": str(top.get("kitchen", "")),
        "top": [field_of((key,), top.get(key), label=key, split=False) for key in TOP],
        "parts": {part: _things(part, top.get(part)) for part in PARTS},
        "lists": {part: _pairs(part, top.get(part)) for part in LISTS},
        "kinds": {part: list(kinds) for part, kinds in KINDS.items()},
        "own": [str(name) for name in top.get("own items") or ()],
    }


def _things(part: str, value: Any) -> list[dict[str, Any]]:
    things = []
    for name, told in value.items() if isinstance(value, dict) else ():
        at = (part, name)
        told = told if isinstance(told, dict) else {}
        known = PARTS[part]
        fields = [field_of((*at, key), told[key], label=key) for key in known if _is_one(told.get(key))]
        taught = told.get("learned")
        rest = {key: one for key, one in told.items() if key != "learned" and not (key in known and _is_one(one))}
        fields += leaves_of(at, rest)
        things.append(
            {
                "name": str(name),
                "at": pointer(at),
                "fields": fields,
                "more": [field_of((*at, key), None, label=key) for key in known if key not in told],
                "taught": leaves_of((*at, "learned"), taught) if taught is not None else [],
                "profile": _points(told),
            }
        )
    return things


def _is_one(value: Any) -> bool:
    return value is not None and not isinstance(value, (dict, list))


def _points(told: Mapping[str, Any]) -> int:
    """How many points a profile has; they are told in the text."""
    profile = told.get("profile")
    return len(profile) if isinstance(profile, list) else 0


def _pairs(part: str, value: Any) -> list[dict[str, Any]]:
    if not isinstance(value, dict):
        return []
    return [{"what": str(name), **field_of((part, name), one, label=str(name))} for name, one in value.items()]


def kitchen_reshaped(text: str, act: Mapping[str, str], *, day: str = "") -> str:
    """The text after one act: a thing begun, taken out or renamed, a name with its value added.

    Parameters
    ----------
    act
        "act": "add thing", "add pair", "remove" or "rename"; "at": a pointer, of a new thing "/moulds/sphere"; "what",
        "amount", "words" as typed.
    day
        Of today, for what is measured.
    """
    document = _value(text)
    top = document if isinstance(document, dict) else {}
    path = path_of_pointer(act.get("at", ""), document)
    words, what = act.get("words", "").strip()[:_LONGEST], act.get("what", "").strip()[:_LONGEST]
    match act.get("act"):
        case "add thing":
            part, kind = (str(path[0]), str(path[1])) if len(path) == 2 else ("", "")
            if part not in KINDS or kind not in KINDS[part]:
                raise BadInput("This kind of thing is not known.", remedy="load the page again.")
            if not words:
                raise BadInput("A name is missing.", remedy="write how it is called in your kitchen.")
            if isinstance(top.get(part), dict) and words in top[part]:
                raise BadInput(f"“{words}” stands there already.", remedy="choose another name.")
            begun = _begun(KINDS[part][kind], top, day)
            if not isinstance(top.get(part), dict):
                return edited(text, {(part,): {words: begun}})
            return edited(text, {(part, words): begun})
        case "add pair":
            part = str(path[0]) if path else ""
            if part not in LISTS or not what:
                raise BadInput("A name is missing.", remedy="write a name and its value.")
            much = act.get("amount", "").strip()[:_LONGEST] or ("5 %" if part == "rejects" else "1")
            value = float(much.replace(",", ".")) if re.fullmatch(r"\d{1,9}(?:[.,]\d{1,4})?", much) else much
            if not isinstance(top.get(part), dict):
                return edited(text, {(part,): {what: value}})
            return edited(text, {(part, what): value})
        case "remove":
            return edited(text, {path: REMOVED})
        case "rename":
            if not (words or what):
                raise BadInput("A name is missing.", remedy="write the new name.")
            return renamed(text, path, words or what)
    raise BadInput("This act is not known.", remedy="load the page again.")


def _begun(kind: Mapping[str, Any], top: Mapping[str, Any], day: str) -> dict[str, Any]:
    moulds = top.get("moulds")
    fill = {
        "{currency}": str(top.get("currency", "EUR")),
        "{day}": day,
        "{mould}": str(next(iter(moulds))) if isinstance(moulds, dict) and moulds else "",
    }

    def told(one: Any) -> Any:
        for key, words in fill.items():
            one = one.replace(key, words) if isinstance(one, str) else one
        return one

    return {key: dict(one) if isinstance(one, Mapping) else told(one) for key, one in kind.items() if told(str(one))}
