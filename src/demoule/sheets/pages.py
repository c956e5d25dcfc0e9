"""What stands on the pages of a dossier, as plain texts and pictures; the sheet's template only lays it out."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from demoule.batch import NeedOf
from demoule.cold import StageRun
from demoule.dossier import Dossier
from demoule.dossier.answer import Named
from demoule.figures import Figure, Finding
from demoule.piece import Layer, Piece
from demoule.piece.design import Dip, Spray
from demoule.sheets.curves import curve_svg, film_svg, temperature_scale_svg
from demoule.sheets.looks import Look, looks
from demoule.sheets.marks import basis_mark
from demoule.sheets.method import degrees, sentence
from demoule.sheets.section import ghost_svg, section_svg
from demoule.units import Kilogram, Second, shown, shown_range
from demoule.units.showing import System
from demoule.units.wording import beside_in, sentence_in

__all__ = ["page_model"]

_CENT = 0.01
_CURVE, _FILM = 176, 100  # px: so low that two stages share a page
_OUNCE, _POUND = 0.028349523125, 16.0  # kg; ounces
_CRUMBS = 0.005  # kg: fewer spare discs than that are the cook's
_SEEN = 0.0005  # kg: less water than that no scale of a kitchen shows going off
_STAGES = {
    "harden heart": "Harden the hearts",
    "harden piece": "Harden the piece",
    "even out": "Even out in the cold",
    "dip and spray": "Dip and spray",
    "keep": "Keep",
    "stand": "Stand on the bench",
    "thaw": "Thaw",
    "table": "On the table",
}
_COVER = (
    "harden_heart_time",
    "harden_piece_time",
    "ready_after",
    "ready_until",
    "material_cost",
    "cost",
    "hands_on",
    "energy",
    "smallest_wall",
    "keeps",
)


def page_model(dossier: Dossier, *, system: System = "metric", made: str = "") -> dict[str, Any]:
    """Everything on the sheets of one dessert, in the order in which it is printed.

    Parameters
    ----------
    made
        A line for the head of the first page (version and date), when there is one.
    """
    worked = dossier.worked
    dessert, kitchen = worked.dessert, worked.kitchen
    styles = looks(dessert.components, worked.cooked, dessert=dessert.name)
    marks = {component.name: _ghost(dossier, component.name, styles) for component in dessert.components}
    return {
        "name": dessert.name,
        "about": dessert.about,
        "kitchen": kitchen.name,
        "made": made,
        "scale_says": "Scale to 0.1 g under 20 g, to 1 g above."
        if system == "metric"
        else "Scale to 0.005 oz under 1 oz, to 0.1 oz above.",
        "pieces": _count(worked.weighing.pieces, "piece"),
        "cover": _cover(dossier, styles, system),
        "weigh": _weigh(dossier, marks, system),
        "method": list(_method(dossier, marks, system)),
        "build": list(_build(dossier, system)),
        "cold": list(_cold(dossier, system)),
        "scale": temperature_scale_svg(theme="print", system=system),
        "cost": _cost(dossier, system),
        "buying": list(_buying(dossier, system)),
        "label": _label(dossier),
        "findings": [_finding(f, system) for f in dossier.findings],
        "figures": list(_figures(dossier, system)),
        "sources": [
            {"title": s.title, "status": str(s.status), "used": _some(s.used_for), "star": str(s.status) != "read"}
            for s in dossier.sources
        ],
        "assumptions": list(dossier.assumptions),
    }


_NAMED = 3  # uses of a source that paper names; all of them stand in the list of sources


def _some(used: Sequence[str]) -> str:
    rest = len(used) - _NAMED
    return ", ".join(used) if rest <= 1 else f"{', '.join(used[:_NAMED])} and {rest} more figures"


def _cover(dossier: Dossier, styles: Mapping[str, Look], system: System) -> dict[str, Any]:
    worked = dossier.worked
    plate = section_svg(
        worked.piece,
        name=worked.dessert.name,
        width=680,
        height=410,
        looks=styles,
        cooked=worked.cooked,
        theme="print",
        whole=False,
        system=system,
    )
    by_key = {named.key: named for named in dossier.figures if named.of == "piece"}
    contains = [*dossier.label.contains]
    off = [f"{g.count} {g.what}" for g in worked.piece.garnishes if not g.eaten]
    return {
        "section": plate,
        "section_alt": _described(worked.piece, worked.dessert.name),
        "figures": [_figure(by_key[key], system) for key in _COVER if key in by_key][:10],
        "findings": [_finding(f, system) for f in dossier.findings if str(f.severity) != "note"][:4],
        "more": max(0, len(dossier.findings) - min(4, sum(str(f.severity) != "note" for f in dossier.findings))),
        "contains": ", ".join(contains),
        "untold": ", ".join(dossier.label.allergens_untold),
        "remove": ", ".join(off),
    }


def _described(piece: Piece, name: str) -> str:
    layers = "; ".join(f"{layer.role} of {layer.component}, {shown(1000 * layer.mass, 'g')}" for layer in piece.layers)
    return f"{name}, cut through its axis, drawn to scale. From the inside outwards: {layers}."


def _figure(named: Named, system: System) -> dict[str, Any]:
    figure = named.figure
    value, unit = parts(_value(figure, system))
    return {
        "name": named.name,
        "value": value,
        "unit": unit,
        "says": _range(figure, system) or _least(figure, system),
        "mark": basis_mark(figure),
        "measured": bool(figure.measured),
        **_bar(figure),
    }


def _least(figure: Figure, system: System) -> str:
    """The note of a figure; of one that is not whole, what is known of it first."""
    if figure.value is not None or not figure.low:
        return figure.note
    return "; ".join(
        part for part in (f"at least {shown(figure.low, figure.unit, system=system)}", figure.note) if part
    )


def _bar(figure: Figure) -> dict[str, float | None]:
    """Where band and value lie on a line that reaches half a band beyond both ends, 0 to 1."""
    low, value, high = figure.low, figure.value, figure.high
    if low is None or high is None or value is None or not high > low:
        return {"bar_low": None, "bar_at": None, "bar_high": None}
    least, most = low - (high - low) / 2, high + (high - low) / 2
    at = min(max((value - least) / (most - least), 0.0), 1.0)
    return {"bar_low": 0.25, "bar_at": at, "bar_high": 0.75}


def _value(figure: Figure, system: System) -> str:
    return shown(figure.value, figure.unit, figure.low, figure.high, system=system)


def _range(figure: Figure, system: System) -> str:
    if figure.low is None or figure.high is None or not figure.high > figure.low:
        return ""
    told = shown_range(figure.low, figure.high, figure.unit, system=system)
    return told if told != _value(figure, system) else ""


def parts(text: str) -> tuple[str, str]:
    """Value and unit of a shown figure; what cannot be parted stays one value."""
    value, mark, unit = text.rpartition("\u202f")
    if not mark or any(c.isdigit() for c in unit):
        return text, ""
    return value, unit


def _weigh(dossier: Dossier, marks: Mapping[str, str], system: System) -> list[dict[str, Any]]:
    worked = dossier.worked
    tables = []
    for need in worked.weighing.needs:
        gives = _mass(need.gives, system)
        tables.append(
            {
                "component": need.component,
                "ghost": marks[need.component],
                "gives": f"gives {gives} a making" + beside_in(system, _in_vessel(need.vessel)),
                "makings": need.makings,
                "lines": [
                    {
                        "what": line.what,
                        "own": line.is_component,
                        "mass": parts(_weight(line.mass, system))[0],
                        "unit": parts(_weight(line.mass, system))[1],
                        "all": _weight(line.mass * need.makings, system),
                        "counted": f"that is {shown(line.leaves, '1')} {line.leaves_called}".strip()
                        if line.leaves
                        else "",
                    }
                    for line in need.lines
                ],
                "back": _left_over(need, system),
            }
        )
    return tables


def _in_vessel(vessel: str) -> str:
    if not vessel:
        return ""
    first, *others = vessel.split(", ")
    if first.endswith(" cm"):
        first += " pan"
    if first.split(" ")[-1] in ("sheet", "sheets"):
        return f", on {', '.join([first, *others])}"
    return f", in the {', '.join([first, *others])}"


def _left_over(need: NeedOf, system: System) -> str:
    """What is not on the pieces in the end, and what is done with it."""
    if need.comes_back <= 0:
        return ""
    told = _mass(need.comes_back, system)
    if need.discs:
        if need.comes_back < _CRUMBS:
            return ""
        return f"{told} of spare discs are left: keep them frozen in a closed box, labelled and dated."
    return f"{told} comes back: strain, label and date it."


def _mass(mass: Kilogram, system: System) -> str:
    return shown(1000 * mass, "g", step=1.0, system=system)


def _weight(mass: Kilogram, system: System) -> str:
    """A mass as a scale shows it: tenths of a gram under 20 g, 0.005 oz under an ounce and tenths of one above."""
    if system == "us" and (ounces := mass / _OUNCE) < _POUND:
        return shown(ounces, "oz", step=0.005 if ounces < 1 else 0.1)
    return shown(1000 * mass, "g", step=0.1 if mass < 0.02 else 1.0, system=system)


def _ghost(dossier: Dossier, component: str, styles: Mapping[str, Look]) -> str:
    worked = dossier.worked
    users = {line.what: c.name for c in worked.dessert.components for line in c.weighed}
    layers = {layer.component for layer in worked.piece.layers}
    hand, seen = component, set[str]()
    while hand not in layers and hand in users and hand not in seen:
        seen.add(hand)
        hand = users[hand]
    return ghost_svg(
        worked.piece,
        hand,
        name=worked.dessert.name,
        size=72,
        theme="print",
        looks=styles,
        cooked=worked.cooked,
        ident=f"mark-{len(component)}-{list(worked.cooked).index(component)}",
    )


def _method(dossier: Dossier, marks: Mapping[str, str], system: System) -> Iterator[dict[str, Any]]:
    recipes = {component.name: component for component in dossier.worked.dessert.components}
    for name, cooked in dossier.worked.cooked.items():
        recipe = recipes.get(name)
        if recipe is None:
            continue
        facts = []
        if cooked.water_lost >= _SEEN:
            facts.append(f"{_weight(cooked.water_lost, system)} of water off")
        if cooked.air > 0.005 and cooked.density_measured:
            facts.append(f"{shown(cooked.density / 1000, 'g/ml')} measured")
        elif cooked.air > 0.005:
            facts.append(f"{shown(cooked.density / 1000, 'g/ml')} with its air")
        facts.append(f"gives {_mass(cooked.mass, system)} as written")
        yield {
            "component": name,
            "ghost": marks[name],
            "steps": [sentence(step, system) for step in recipe.steps],
            "facts": "; ".join(facts),
        }


def _build(dossier: Dossier, system: System) -> Iterator[str]:
    """The piece put together, step by step, from the design and what was computed for it."""
    worked = dossier.worked
    piece, design = worked.piece, worked.dessert.piece
    heart = piece.layer("heart")
    if heart is not None:
        each = _weight(heart.mass / piece.hearts_per_piece, system)
        where = piece.heart_mould.name if piece.heart_mould else "its cavity"
        halves = (
            f"{piece.hearts_per_piece} cavities of “{where}” for one heart"
            if piece.hearts_per_piece > 1
            else f"“{where}”"
        )
        yield f"Fill {halves} with {each} of {heart.component} each; level."
        yield from _hardened(worked.cold.stage("harden heart"), system)
        if piece.hearts_per_piece > 1:
            yield "Turn the halves out and join them; back into the cold until they are wanted."
    body = piece.layer("body")
    if body is not None:
        mould = piece.mould.name if piece.mould else "the cavity"
        yield (
            f"Pipe {_weight(body.mass, system)} of {body.component} in all into each cavity of “{mould}”: "
            "half first, walls coated, no air left behind."
        )
    if heart is not None:
        yield "Press the frozen heart in, with a slight turn, to its height; cover it."
    base = piece.layer("base")
    if base is not None:
        yield f"Set the {base.component} flush; scrape once, tap twice."
    yield from _hardened(worked.cold.stage("harden piece"), system)
    if design.skins:
        yield "Turn out a tray at a time; seam and polish; back to the cold until the surface is dry and hard."
    for skin, layer in zip(design.skins, [x for x in piece.layers if x.role in ("shell", "spray")], strict=False):
        if isinstance(skin, Dip):
            yield (
                f"Dip in {skin.component} at {degrees(skin.bath, system)}, piece at {degrees(skin.piece, system)}, for "
                f"{shown(skin.duration, 's')}: {_weight(layer.mass, system)} a piece"
                + (f", {_thick(layer, system)} thick." if layer.thickness else ".")
            )
        elif isinstance(skin, Spray):
            sprayed = f", {_weight(layer.taken, system)} from the gun" if layer.taken else ""
            warm = f" at {degrees(skin.at, system)}" if skin.at is not None else ""
            yield f"Spray with {skin.component}{warm}: {_weight(layer.mass, system)} lands on a piece{sprayed}."
    for garnish in piece.garnishes:
        eaten = "" if garnish.eaten else " It is not eaten: count it out, and tell the guest to take it off."
        yield f"Finish with {garnish.count} {garnish.what}.{eaten}"


def _thick(layer: Layer, system: System) -> str:
    thickness = 1000 * (layer.thickness or 0.0)
    low, high = 1000 * (layer.thickness_low or 0.0), 1000 * (layer.thickness_high or 0.0)
    return shown(thickness, "mm", low or thickness, high or thickness, system=system)


def _hardened(run: StageRun | None, system: System) -> Iterator[str]:
    if run is None:
        return
    end = run.stage.until
    to = f" until the {end.place} is at {degrees(end.temperature, system)}" if end else ""
    yield f"Into the {run.room.name} at {degrees(run.room.air, system)}{to}: {_hours(run)}."


def _hours(run: StageRun) -> str:
    if run.time is None:
        return "it never gets there"
    low, high = run.low, run.high
    told = _time(run.time, low, high)
    if low is not None and high is not None:
        return f"{told} ({shown_range(low / 3600, high / 3600, 'h')})"
    return told


def _time(time: Second, low: Second | None, high: Second | None) -> str:
    return shown(time / 3600, "h", None if low is None else low / 3600, None if high is None else high / 3600)


def _cold(dossier: Dossier, system: System) -> Iterator[dict[str, Any]]:
    worked = dossier.worked
    for run in worked.cold.stages:
        if run.stage.what == "keep":
            continue
        air = degrees(run.room.air, system)
        says = [f"{run.room.name} at {air}, surface coefficient {run.surface_coefficient:.0f} W/(m²·K)"]
        if run.loaded is not None:
            full = run.loaded
            trays = f"all {full.trays} trays" if full.trays > 1 else "a full tray"
            hard = "not hard" if full.time is None else f"hard in {_time(full.time, full.low, full.high)}"
            says.append(
                f"one piece alone as above; {trays} at once, {full.pieces} pieces, {hard}, while the air warms "
                f"to {degrees(full.warmest, system)}"
            )
        if run.window is not None and run.window.opens is not None:
            opens = _time(run.window.opens, run.window.opens_low, run.window.opens_high)
            closes = (
                f"until {_time(run.window.closes, run.window.closes_low, run.window.closes_high)}"
                if run.window.closes is not None
                else "with no end in the time computed"
            )
            says.append(f"ready to eat from {opens} on, {closes}")
        says.append(f"the band follows most from {run.weakest}" if run.weakest else "")
        way = "out of" if run.heat < 0 else "into"
        closes = "one part in a thousand million" if run.imbalance <= 1e-9 else f"{run.imbalance:.0e}"
        says.append(f"{abs(run.heat) / 1000:.1f} kJ go {way} each piece, and the balance of heat closes to {closes}")
        heart_alone = run.stage.what == "harden heart"
        yield {
            "what": _STAGES.get(run.stage.what, run.stage.what),
            "time": _hours(run),
            "says": "; ".join(part for part in says if part) + ".",
            "curve": curve_svg(run, width=660, height=_CURVE, theme="print", system=system),
            "film": "" if heart_alone else film_svg(run, worked.piece, size=_FILM, theme="print"),
            "alt": f"{run.stage.what}: {_hours(run)}",
            "assumed": "; ".join(run.assumed),
        }


def _cost(dossier: Dossier, system: System) -> dict[str, Any]:
    cost = dossier.cost

    def money(figure: Figure) -> str:
        if figure.value is not None and 0 < figure.value < _CENT / 2:
            return f"under {shown(_CENT, figure.unit)}"
        if figure.value is None:
            return "unknown" if figure.low is None else f"at least {shown(figure.low, figure.unit)}"
        return shown(figure.value, figure.unit, figure.low, figure.high, system=system)

    lines = sorted(cost.lines, key=lambda line: (line.kind, -(line.per_piece.value or line.per_piece.low or 0.0)))
    small = [line for line in lines if line.per_piece.value is not None and line.per_piece.value < _CENT / 2]
    lines = [line for line in lines if line not in small]
    return {
        "lines": [{"what": line.what, "kind": line.kind, "each": money(line.per_piece)} for line in lines],
        "sums": [
            {"what": name, "each": money(figure), "says": _range(figure, system)}
            for name, figure in (
                ("material", cost.material),
                ("hands", cost.labour),
                ("packaging", cost.packaging),
                ("energy of freezing", cost.energy),
                ("one piece, all in", cost.total),
                (f"all {dossier.worked.weighing.pieces}", cost.order_total),
                (f"price at a margin of {dossier.worked.kitchen.margin:.0%}", cost.price),
            )
        ],
        "small": ", ".join(line.what for line in small),
        "unpriced": ", ".join(cost.unpriced),
    }


def _buying(dossier: Dossier, system: System) -> Iterator[dict[str, str]]:
    for line in dossier.worked.weighing.buying:
        packs = " + ".join(f"{count} × {beside_in(system, pack.name)}" for pack, count in line.packs)
        yield {"what": line.ingredient.name, "need": _weight(line.need, system), "packs": packs}


def _label(dossier: Dossier) -> dict[str, Any]:
    label = dossier.label
    return {
        "market": label.market,
        "name": label.name,
        "ingredients": label.ingredients,
        "contains": ", ".join(label.contains),
        "untold": ", ".join(label.allergens_untold),
        "serving": label.serving,
        "net": label.net_quantity,
        "storage": label.storage,
        "cautions": list(label.cautions),
        "nutrition": [
            {
                "name": line.name,
                "unit": line.unit,
                "hundred": line.printed_100g,
                "piece": line.printed_piece,
                "daily": line.daily_value,
                "note": line.note,
            }
            for line in label.nutrition
        ],
    }


def _finding(finding: Finding, system: System) -> dict[str, str]:
    says, why, remedy = (sentence_in(system, part) for part in (finding.says, finding.why, finding.remedy))
    return {
        "severity": str(finding.severity),
        "says": _begun(says),
        "why": _begun(why),
        "remedy": _begun(remedy),
        "source": finding.source,
    }


def _begun(text: str) -> str:
    """A sentence with a capital at its head; "pH" and the like keep their case."""
    return text if text[1:2].isupper() else text[:1].upper() + text[1:]


def _figures(dossier: Dossier, system: System) -> Iterator[dict[str, Any]]:
    """All figures by what they speak of, for the page where each stands with its band."""
    groups: dict[str, list[dict[str, Any]]] = {}
    for named in dossier.figures:
        groups.setdefault(named.of, []).append(_figure(named, system))
    for of, found in groups.items():
        yield {"of": of, "figures": found}


def _count(number: int, what: str) -> str:
    return f"{number} {what}" + ("" if number == 1 else "s")
