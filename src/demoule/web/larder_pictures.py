"""What an ingredient is made of, as a strip and as a tray of a hundred; what is not told stays empty."""

from __future__ import annotations

from typing import Any

from demoule.composition import Composition, Constituent
from demoule.larder import Ingredient
from demoule.sheets.svg import element, fragment, number
from demoule.sheets.tokens import CONSTITUENTS
from demoule.units import from_si

__all__ = ["EVERYDAY", "parts_of", "patterns_svg", "row", "strip_svg", "tray_svg", "whole"]

EVERYDAY = (
    "cream 35 %", "whole milk", "butter", "white chocolate", "dark chocolate 70 %", "cocoa butter", "sugar",
    "glucose syrup 60 DE", "honey", "gelatine 200 bloom", "agar", "pectin", "egg white pasteurised", "almond powder",
    "apricot purée", "raspberry",
)  # fmt: skip
"""What the Larder shows before anything is looked for."""

_C = Constituent
_OF: dict[str, tuple[Constituent, ...]] = {
    "water": (_C.WATER,),
    "fat": (_C.MILK_FAT, _C.COCOA_BUTTER, _C.OTHER_FAT),
    "sugars": (
        _C.SUCROSE, _C.GLUCOSE, _C.FRUCTOSE, _C.GALACTOSE, _C.LACTOSE, _C.MALTOSE, _C.TREHALOSE, _C.UNKNOWN_SUGARS,
    ),
    "protein": (_C.PROTEIN,),
    "fibre and starch": (_C.STARCH, _C.FIBRE, _C.MALTOTRIOSE, _C.DEXTRINS, _C.MALTODEXTRINS),
    "other": (
        _C.SORBITOL, _C.GLYCEROL, _C.ERYTHRITOL, _C.OTHER_POLYOLS, _C.ETHANOL, _C.ACIDS, _C.SALT, _C.ASH,
    ),
    "unknown": (_C.UNKNOWN_SOLIDS,),
}  # fmt: skip
_NAMES = {_C.ASH: "minerals", _C.SALT: "salt", _C.ETHANOL: "alcohol", _C.UNKNOWN_SUGARS: "sugars of an untold kind"}
_SEEN_FROM = 0.0005
_LINE = "#2A211D"


def parts_of(composition: Composition) -> list[dict[str, Any]]:
    """The parts in their fixed order, with grams in 100 g and what they are mostly."""
    found = []
    for name, constituents in _OF.items():
        share = sum(composition[one] for one in constituents)
        if share < _SEEN_FROM:
            continue
        largest = sorted(constituents, key=lambda one: -composition[one])
        of = [
            _NAMES.get(one, one.name.lower().replace("_", " "))
            for one in largest[:3]
            if composition[one] > _SEEN_FROM and len(constituents) > 1
        ]
        found.append({"name": name, "key": name.split(" ")[0], "grams": 100 * share, "of": of})
    return found


def strip_svg(composition: Composition, *, width: float = 250, height: float = 22) -> str:
    """100 g as a strip: water, fat, sugars, protein, fibre and starch, other; the unknown last and empty."""
    x = 0.5
    parts = []
    for one in parts_of(composition):
        wide = one["grams"] / 100 * (width - 1)
        unknown = one["name"] == "unknown"
        parts.append(
            element(
                "rect",
                x=number(x, 2),
                y="0.5",
                width=number(max(wide, 0.8), 2),
                height=number(height - 1),
                fill=f"url(#of-{one['key']})",
                stroke="currentColor",
                stroke_width="1",
                stroke_dasharray="3 2" if unknown else None,
            )
        )
        x += wide
    return element(
        "svg",
        *parts,
        viewBox=f"0 0 {number(width)} {number(height)}",
        width=number(width),
        height=number(height),
        preserveAspectRatio="none",
        class_="strip",
        aria_hidden="true",
    )


def tray_svg(composition: Composition) -> str:
    """100 g in a tray of a hundred cavities, one to each gram."""
    ends: list[tuple[float, str]] = []
    total = 0.0
    for one in parts_of(composition):
        total += one["grams"]
        ends.append((total, one["key"]))
    parts = [
        element(
            "rect", x="1", y="1", width="358", height="358", rx="12", fill="none", stroke="currentColor",
            stroke_width="1.5", class_="edge",
        )
    ]  # fmt: skip
    for gram in range(100):
        cx, cy = 27 + (gram % 10) * 34, 27 + (gram // 10) * 34
        start = 0.0 if gram == 0 else float(gram)
        inside = [(key, max(start, before), min(gram + 1.0, end)) for key, before, end in _spans(ends)]
        inside = [(key, a, b) for key, a, b in inside if b - a > 0.02]
        if len(inside) == 1:
            key = inside[0][0]
            parts.append(
                element(
                    "circle", cx=cx, cy=cy, r="15", fill=f"url(#of-{key})", stroke="currentColor", stroke_width="1.2",
                    stroke_dasharray="3 2" if key == "unknown" else None,
                )
            )  # fmt: skip
            continue
        for key, a, b in inside:
            left, wide = cx - 15 + 30 * (a - gram), 30 * (b - a)
            clip = f"cell-{gram}-{key}"
            parts.append(
                element(
                    "clipPath", element("rect", x=number(left), y=cy - 16, width=number(wide), height="32"), id=clip
                )
            )
            parts.append(element("circle", cx=cx, cy=cy, r="15", fill=f"url(#of-{key})", clip_path=f"url(#{clip})"))
        parts.append(element("circle", cx=cx, cy=cy, r="15", fill="none", stroke="currentColor", stroke_width="1.2"))
    return element(
        "svg", *parts, viewBox="0 0 360 360", width="360", height="360", class_="tray", aria_hidden="true"
    )  # fmt: skip


def _spans(ends: list[tuple[float, str]]) -> list[tuple[str, float, float]]:
    before = 0.0
    found = []
    for end, key in ends:
        found.append((key, before, end))
        before = end
    return found


def patterns_svg() -> str:
    """The textures of the parts, once for a page."""
    tile = {
        "waves": "M0 4q2.5 -4 5 0t5 0",
        "dashes": "M1 3h4M6 8h4",
        "grid": "M0 0V8M0 0H8",
        "uprights": "M2 0V8",
        "hairlines": "M0 8L8 0",
    }
    found = []
    for name, (colour, texture) in CONSTITUENTS.items():
        inside = "" if colour == "none" else element("rect", width="12", height="12", fill=colour)
        if texture == "dots":
            inside += element("circle", cx="3", cy="3", r="1", fill=_LINE, fill_opacity="0.55")
        elif texture in tile:
            strong = "0.75" if texture in ("dashes", "waves") else "0.5"
            stroke = (
                "currentColor" if name == "unknown" else {"waves": "#35607A", "grid": "#8A6A3C"}.get(texture, _LINE)
            )
            inside += element(
                "path", d=tile[texture], fill="none", stroke=stroke, stroke_width="1", stroke_opacity=strong
            )
        size = {"waves": "10", "dashes": "11", "uprights": "4", "dots": "6"}.get(texture, "8")
        found.append(
            element(
                "pattern", inside, id=f"of-{name.split(' ')[0]}", width=size, height="8" if size == "10" else size,
                patternUnits="userSpaceOnUse",
            )
        )  # fmt: skip
    return element("svg", element("defs", fragment(*found)), width="0", height="0", class_="unseen", aria_hidden="true")


def row(item: Ingredient) -> dict[str, Any]:
    """One line of the list."""
    parts = parts_of(item.composition)
    return {
        "name": item.name,
        "also": list(item.also[:3]),
        "group": item.group,
        "strip": strip_svg(item.composition),
        "says": ", ".join(f"{one['name']} {one['grams']:.1f}" for one in parts),
        "parts": parts,
        "unknown": next((one["grams"] for one in parts if one["name"] == "unknown"), 0.0),
        "declare": sorted(item.allergens_eu),
        "declare_told": item.allergens_told,
        "price": item.price,
    }


def whole(item: Ingredient) -> dict[str, Any]:
    """One ingredient with its tray and all that is told of it."""
    nutrients = item.nutrients
    from demoule.larder import NUTRIENTS

    return {
        **row(item),
        "tray": tray_svg(item.composition),
        "source": item.record.source,
        "record": item.record.id,
        "status": str(item.record.status),
        "density": item.density,
        "ph": item.ph,
        "edible": item.edible,
        "keeps": {
            name: None if time is None else round(from_si(time, "d"), 1)
            for name, time in (
                ("chilled", item.keeping.chilled), ("frozen", item.keeping.frozen), ("dry", item.keeping.dry),
            )
        },
        "packs": [{"name": p.name, "mass": p.mass, "price": p.price, "pieces": p.pieces} for p in item.packs],
        "additives": [{"number": a.e_number, "class": a.label_class, "share": a.share} for a in item.additives],
        "nutrients": [
            {"name": name, "share": amount, "known": unknown == 0}
            for name, amount, unknown in zip(NUTRIENTS, nutrients.amounts, nutrients.unknown, strict=True)
        ],
        "note": item.note,
    }  # fmt: skip
