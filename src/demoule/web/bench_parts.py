"""The parts of the Bench that follow what is typed, as words and HTML, each by the id of its place on the page."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from demoule.web.desk import Asking, Desk

__all__ = ["PART", "STRIP", "Before", "awaited", "before_of", "notes", "opened", "regions"]

STRIP = ("mass", "material_cost", "harden_piece_time", "ready_after", "cost")
"""Figures of the whole piece that stay in view."""

PART = (
    "soluble_solids", "freezing_point", "water_activity", "overrun", "ice_at_serving", "thickness", "fat", "sugars",
    "sweetness", "gelatine", "agar", "yield", "density", "water", "protein", "total_solids",
)  # fmt: skip
"""Figures of an open component, the first of them in sight."""

_IN_SIGHT = 5
_SHOWN = {*STRIP, *PART}


@dataclass(frozen=True, slots=True)
class Before:
    """The version that is kept, as far as a page compares with it: shown figures by (of, key), and whole fields."""

    figures: dict[tuple[str, str], dict[str, Any]]
    fields: dict[str, str] | None


def before_of(found: dict[str, Any]) -> Before:
    """What a page compares with, of the answer for the version that is kept."""
    figures = found["answer"]["figures"] if found["answer"] is not None else []
    return Before(
        {(one["of"], one["key"]): one for one in figures if one["key"] in _SHOWN},
        None if found["form"] is None else {one["at"]: one["whole"] for one in _all_fields(found["form"])},
    )


def regions(desk: Desk, asking: Asking, found: dict[str, Any], before: Before | None, **told: Any) -> dict[str, str]:
    """The parts of the page that follow what is typed; of a first answer only those that are computed already.

    A figure that is still to come stands as it was kept, marked as being computed; a page that shows a newer one keeps
    that one in its place.
    """
    answer, form = found["answer"], found["form"]
    old = before.figures if before is not None else {}
    was = {place: one["text"] for place, one in old.items()}
    values = {"found": found, "answer": answer, "was": was, **told}
    parts = {"state": desk.part(asking, "bench/state.html", **values)}
    if answer is None:
        return parts
    shown = {(one["of"], one["key"]): one for one in answer["figures"] if one["key"] in _SHOWN}
    if found["later"]:
        shown = _with_awaited(shown, old)
    strip = [shown["piece", key] for key in STRIP if ("piece", key) in shown]
    parts["strip"] = desk.part(asking, "bench/strip.html", strip=strip, **values)
    if any(answer["plates"].values()):
        parts["plate"] = desk.part(asking, "bench/plate.html", **values)
    if not found["later"]:
        for name in ("stops", "findings", "sold"):
            parts[name] = desk.part(asking, f"bench/{name}.html", **values)
    for place, component in enumerate(form["components"]):
        of = component["name"]
        readings = [shown[of, key] for key in PART if (of, key) in shown][:_IN_SIGHT]
        parts[f"part-{place}"] = desk.part(asking, "bench/part.html", component=component, readings=readings, **values)
        parts[f"sum-{place}"] = desk.part(asking, "bench/sum.html", component=component, **values)
        if not found["later"]:
            parts[f"said-{place}"] = desk.part(asking, "bench/said.html", component=component, **values)
    return parts


def _with_awaited(
    shown: dict[tuple[str, str], dict[str, Any]], old: dict[tuple[str, str], dict[str, Any]]
) -> dict[tuple[str, str], dict[str, Any]]:
    """Figures with those that are still to come: as they were kept, or a bare place that a page fills from before."""
    found = {place: {**one, "later": True} for place, one in old.items()} | shown
    bare = [("piece", key) for key in STRIP]
    bare += [(of, "ice_at_serving") for of, key in shown if key == "freezing_point"]
    for of, key in bare:
        found.setdefault((of, key), {"of": of, "key": key, "later": True, "bare": True})
    return found


def awaited(found: dict[str, Any]) -> list[str]:
    """The places whose content is still to come."""
    if not found["later"]:
        return []
    return ["stops", "findings", "sold", *(f"said-{place}" for place in range(len(found["form"]["components"])))]


def notes(asking: Asking, found: dict[str, Any], before: Before | None) -> dict[str, list[str]]:
    """What stands beside single fields: what it was, what to weigh, what is wrong; [kind, text] by pointer."""
    told: dict[str, list[str]] = {}
    answer, form = found["answer"], found["form"]
    if before is not None and before.fields is not None and form is not None:
        for one in _all_fields(form):
            old = before.fields.get(one["at"])
            if old is not None and old != one["whole"]:
                told[one["at"]] = ["was", asking.words("bench.was", value=old)]
            elif old is None and one["whole"]:
                told[one["at"]] = ["was", asking.words("bench.new")]
    if answer is not None:
        for component in form["components"]:
            need = answer["weigh"].get(component["name"])
            for line in component["lines"] if need else ():
                mass = need["lines"].get(line["what"])
                if mass:
                    told.setdefault(f"w:{line['at']}", ["weigh", mass])
    for wrong in found["mistakes"]:
        if wrong["at"]:
            told[wrong["at"]] = ["wrong", f"{wrong['says']} {wrong['remedy']}".strip()]
    return told


def _all_fields(form: dict[str, Any]) -> list[dict[str, Any]]:
    found = [*form["head"], form["pieces"], *form["piece"], *form["cold"]]
    for component in form["components"]:
        found += [*component["lines"], *component["steps"], *component["extras"]]
    return found


def opened(found: dict[str, Any], layer: str) -> str:
    """The component whose recipe is open: that of the chosen layer, else the heart's, else the first."""
    form, answer = found["form"], found["answer"]
    names = [one["name"] for one in form["components"]] if form else []
    if answer is not None:
        chosen = next((one["component"] for one in answer["layers"] if one["key"] == layer), "")
        heart = next((one["component"] for one in answer["layers"] if one["role"] == "heart"), "")
        for name in (chosen, layer, "" if layer else heart):
            if name in names:
                return str(name)
    if layer in names:
        return layer
    return names[0] if names else ""
