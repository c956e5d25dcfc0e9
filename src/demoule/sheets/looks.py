"""How a component looks when it is cut: its colour, its texture, and the pieces and herbs in it.

A colour is the mean of the colours of what is in the mix, each weighing by its mass and by how strongly it colours: a
gram of oil colour outweighs a kilogram of cocoa butter. Without a recipe, the words of the component's name and then
of the dessert's name decide. It is a guess for a picture, and a `colour` given wins.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from demoule.formula.component import Candy, Component, Note
from demoule.formula.cooked import Cooked
from demoule.units import FloatArray, Fraction, Metre

__all__ = ["Bits", "Look", "as_coat", "candied_tone", "looks", "mixed", "shade", "skin_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Bits:
    """Things that stay whole in a mix: fruit, crumbs, herbs."""

    kind: str  # "candied", "raw", "herb", "crumb"
    size: Metre
    share: Fraction  # of the mix
    colour: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """One component as it is drawn."""

    colour: str
    texture: str  # "gel", "smooth", "aerated", "crumb", "shell", "velvet", "glaze", "liquid"
    bits: tuple[Bits, ...] = ()
    air: Fraction = 0.0


IVORY, WHITE = "#F8ECD6", "#FFFFFF"
_RAW = "#FFF4C4"  # what raw fruit pales to beside a candied piece
_BAKED = "#C98F4C"  # what the oven gives

# Word: flesh, skin, and how strongly a gram of it colours a mix. Ripe fruit as a painter would mix it (judged).
_FRUIT: dict[str, tuple[str, str, float]] = {
    "apricot": ("#F0A23A", "#E58552", 3),
    "peach": ("#F5B669", "#EE9A6C", 3),
    "nectarine": ("#F4A24E", "#C8442F", 3),
    "plum": ("#B5485A", "#5B2B4F", 4),
    "damson": ("#8E2F52", "#4A2A4C", 4),
    "cherry": ("#A3182E", "#8A1228", 4),
    "apple": ("#EFE3B0", "#B9C25A", 1.5),
    "pear": ("#F0E4B4", "#C9C063", 1.5),
    "quince": ("#EFC766", "#E6C54B", 2),
    "raspberry": ("#C7294A", "#B52545", 5),
    "strawberry": ("#D8393F", "#CC2C36", 4),
    "blackcurrant": ("#5E1F47", "#3B1A35", 9),
    "redcurrant": ("#C22232", "#B51C2C", 5),
    "blackberry": ("#4F1C3C", "#34162C", 8),
    "blueberry": ("#5A3A78", "#46538A", 6),
    "elderberry": ("#4B1535", "#2F1230", 8),
    "mulberry": ("#52163A", "#351226", 8),
    "gooseberry": ("#C9C866", "#B4BC5C", 2),
    "fig": ("#B5556A", "#5C3A5A", 3),
    "grape": ("#C9CF86", "#7A3B68", 2),
    "pomegranate": ("#B41F3C", "#C4453F", 4),
    "mango": ("#F4A722", "#E8953A", 3),
    "passion": ("#EDB02E", "#6B3550", 4),
    "pineapple": ("#F2D35E", "#C9953F", 2),
    "papaya": ("#EE8A4A", "#D9A441", 3),
    "kiwi": ("#9DB84B", "#8A6B43", 3),
    "banana": ("#F3E3A9", "#EBC945", 1.5),
    "melon": ("#F2AE6B", "#CFC389", 2),
    "lychee": ("#F3E9E4", "#C65B63", 1),
    "persimmon": ("#E8812D", "#E06A26", 3),
    "rhubarb": ("#DB8D8B", "#B9404F", 2),
    "lemon": ("#F4E28A", "#F0D23C", 1.5),
    "orange": ("#F2A535", "#EC8B22", 2),
    "coconut": ("#FBF8F0", "#7A5236", 1),
    "tomato": ("#D4422F", "#CC3325", 3),
    "pumpkin": ("#E59636", "#DB8327", 3),
    "beetroot": ("#8A1C42", "#6B1A36", 8),
    "ginger": ("#E8C472", "#CDA75E", 1.5),
    "chestnut": ("#B98A5F", "#6A3A1E", 3),
    "hazelnut": ("#C79A66", "#8C5A2E", 3),
    "almond": ("#E3C79A", "#A9713F", 1.5),
    "walnut": ("#C29C6E", "#A57B4D", 2),
    "pistachio": ("#A9B25A", "#9AA653", 4),
    "peanut": ("#D6AC6C", "#B98A4D", 2),
    "sesame": ("#D9C08F", "#C9AE78", 2),
}

_OTHER: dict[str, tuple[str, float]] = {
    "dark chocolate": ("#452619", 9),
    "milk chocolate": ("#8A5A3A", 5),
    "white chocolate": ("#F7E8C9", 1),
    "chocolate": ("#4A2A1C", 8),
    "cocoa butter": ("#F6E6BC", 0.5),
    "cocoa": ("#4A2818", 16),
    "praline": ("#A8743F", 4),
    "caramel": ("#B86A24", 4),
    "coffee": ("#4A2E1E", 9),
    "vanilla": ("#F3E4BE", 1.5),
    "honey": ("#E3AE44", 1),
    "cream cheese": ("#FAF3E4", 1),
    "cream": ("#FBF2DF", 1),
    "ganache": ("#F9EBD3", 1),
    "milk": ("#FBF6EA", 1),
    "yoghurt": ("#FCF8EF", 1),
    "butter": ("#F4DF9B", 1),
    "egg yolk": ("#F2BE4E", 2),
    "meringue": ("#FDF8EC", 1),
    "caramelised": ("#B9772F", 2),
    "sablé": ("#D9A860", 3),
    "biscuit": ("#D8A566", 3),
    "sponge": ("#E3BF80", 3),
    "dacquoise": ("#D9B57F", 3),
    "disc": ("#D6A76A", 2),
    "flour": ("#F1E4C9", 0.5),
    "matcha": ("#7E9A45", 12),
    "tea": ("#A9713A", 4),
    "saffron": ("#E8A317", 30),
    "rose": ("#E7A6AE", 2),
    "violet": ("#8A6FA8", 3),
    "rum": ("#C98B3D", 0.2),
    "wine": ("#7A1F3A", 3),
    "jelly": ("#F0C98A", 0.3),
}

# Hue of permitted colours by E number, as the law's list names them (eu-1333-2008, annex II part B; hue recalled).
_COLOURS: dict[str, str] = {
    "100": "#F0A81C", "101": "#F3B52B", "102": "#F4CF1F", "104": "#EDE04A", "110": "#F08A24", "120": "#B3122F",
    "122": "#A5153A", "124": "#C8202A", "129": "#C4202E", "131": "#2E6FB7", "132": "#2C3F8F", "133": "#1F78C1",
    "140": "#6C8F3A", "141": "#4E8A3C", "142": "#3C7A55", "150": "#5A2E14", "151": "#1E1A20", "153": "#201E1E",
    "155": "#5E3520", "160A": "#F2B02E", "160B": "#EE9A2C", "160C": "#DC4A22", "160D": "#CC3522", "161": "#EFB62F",
    "162": "#9C1B4C", "163": "#5D2A62", "170": "#FFFFFF", "171": "#FFFFFF", "172": "#8A4B2A", "173": "#B9BCC0",
    "174": "#C4C7CB", "175": "#D8B24A",
}  # fmt: skip
_COLOUR_STRENGTH, _MOST_COLOUR = 300.0, 0.72  # a coloured fat never hides its ground wholly

_HERBS: dict[str, str] = {
    "thyme": "#4F6B2C", "basil": "#4B7A34", "mint": "#4C8045", "verbena": "#6E8F3E", "rosemary": "#4A5F38",
    "lavender": "#7A6A96", "tarragon": "#5C7A36", "sage": "#7B8A66", "bay": "#55703C", "lemon balm": "#63893F",
}  # fmt: skip
_CUT = re.compile(r"\b(diced?|cubes?|wedges?|pieces|chopped|slivers|segments|halves|berries|slices)\b", re.I)
_CRISP = re.compile(r"\b(crisp|flakes?|crumbs?|nibs|croquant|crunch|feuilletine|nuts? chopped)\b", re.I)
_MILLIMETRES = re.compile(r"(\d+(?:[.,]\d+)?)\s*mm\b")
_USUAL_DICE: Metre = 0.007
_FLOWING = re.compile(r"\b(liquid|flowing|coulis|syrup|runny)\b", re.I)
_FATTY = 0.30


def looks(
    components: Sequence[Component],
    cooked: Mapping[str, Cooked],
    *,
    dessert: str = "",
    colours: Mapping[str, str] | None = None,
    names: Sequence[str] = (),
) -> dict[str, Look]:
    """How every component looks, by its name.

    Parameters
    ----------
    components
        As written; empty when only the names are known.
    cooked
        As they have become: contents, air, water and fat.
    dessert
        Name of the dessert, asked when a component's own words tell no colour.
    colours
        Given "#RRGGBB" by component; they win.
    names
        Of further components of which nothing but the name is known.
    """
    recipes = {component.name: component for component in components}
    given = colours or {}
    found: dict[str, Look] = {}
    for name in dict.fromkeys([*recipes, *cooked, *names]):
        mix = cooked.get(name)
        colour = given.get(name) or _colour(name, recipes.get(name), mix, dessert)
        texture = _texture(name, mix)
        if texture == "crumb" and name not in given:
            colour = mixed([(1, colour), (0.9, _BAKED)])
        found[name] = Look(
            colour=colour,
            texture=texture,
            bits=_bits(recipes[name], recipes, colour) if name in recipes else (),
            air=mix.air if mix else 0.0,
        )
    return found


def as_coat(look: Look, fat: float, *, sprayed: bool) -> Look:
    """The same mix as a coat: a shell, a velvet when it is fat, a glaze when it is not."""
    texture = "shell" if not sprayed else "velvet" if fat > _FATTY else "glaze"
    return replace(look, texture=texture, bits=())


def skin_of(dessert: str) -> str | None:
    """Colour of the skin of the fruit a dessert is named after, if its name tells one."""
    return next((skin for word, (_, skin, _) in _FRUIT.items() if _says(dessert, word)), None)


def mixed(parts: Sequence[tuple[float, str]]) -> str:
    """The mean of colours, each with its weight, as the eye mixes them (in the OKLab space of perception)."""
    weights = np.array([weight for weight, _ in parts], dtype=float)
    lab = np.array([_to_lab(colour) for _, colour in parts])
    return _from_lab(weights @ lab / weights.sum())


@lru_cache(maxsize=4096)
def shade(colour: str, by: float) -> str:
    """A colour lighter (up to 1) or darker (down to −1), its hue kept."""
    lab = _to_lab(colour)
    if by >= 0:
        return _from_lab(lab + by * (_to_lab(WHITE) - lab))
    # A deeper tone of a paint loses little of its colour.
    return _from_lab(lab * np.array([1 + by, 1 + by * 0.25, 1 + by * 0.25]))


def candied_tone(colour: str) -> str:
    """The colour of a fruit that has been candied: deeper, redder, clearer."""
    light, red, yellow = _to_lab(colour)
    return _from_lab(np.array([light - 0.105, red + 0.050, yellow + 0.012]))


def _says(words: str, word: str) -> bool:
    return re.search(rf"\b{re.escape(word)}", words, re.I) is not None


@lru_cache(maxsize=4096)
def _word_colour(words: str) -> tuple[str, float] | None:
    """Colour and strength of the things that words name."""
    for word, (colour, strength) in _OTHER.items():
        if " " in word and _says(words, word):
            return colour, strength
    for word, (flesh, _, strength) in _FRUIT.items():
        if _says(words, word):
            return flesh, strength
    for word, (colour, strength) in _OTHER.items():
        if _says(words, word):
            return colour, strength
    return None


def _colour(name: str, recipe: Component | None, mix: Cooked | None, dessert: str) -> str:
    parts = _parts(mix) if mix and mix.contents else _lines(recipe) if recipe else []
    air = mix.air if mix else 0.0
    own = _word_colour(name)
    if parts:
        found = mixed(parts)
        if own and own[1] >= 3 and sum(weight for weight, _ in parts) < 0.6:
            found = mixed([(1, found), (1, own[0])])
    else:
        light = re.search(r"mousse|bavar|cream|ganache|parfait", name, re.I)
        shell = re.search(r"coat|shell|velvet|skin|dip|spray|glaze|gloss", name, re.I)
        told = _word_colour(dessert)
        if own and own[0] not in (IVORY,):
            found = own[0]
            if light and own[1] > 1:
                found = mixed([(1, found), (1.2, IVORY)])
        elif shell:
            found = skin_of(dessert) or IVORY
            if re.search(r"\bdark\b", name, re.I):
                found = "#452619"
        elif told:
            found = mixed([(1, told[0]), (1.2, IVORY)]) if light else told[0]
        else:
            found = IVORY
    return shade(found, 0.35 * min(air, 0.6))


def _parts(mix: Cooked) -> list[tuple[float, str]]:
    """Weight and colour of each content of a finished mix."""
    parts: list[tuple[float, str]] = []
    colours: list[tuple[float, str]] = []
    for content in mix.contents:
        item = content.ingredient
        numbers = [
            re.sub(r"[^0-9A-Z]", "", a.e_number.upper())[1:] for a in item.additives if "colour" in a.label_class
        ]
        hues = [hue for n in numbers if (hue := _hue(n))]
        if hues:
            share = content.mass * _COLOUR_STRENGTH / len(hues)
            colours += [(share, hue) for hue in hues]
        elif found := _word_colour(item.name):
            parts.append((content.mass * found[1], found[0]))
    return _with_colours(parts, colours)


def _lines(recipe: Component) -> list[tuple[float, str]]:
    """Weight and colour of each line of a recipe that has not been cooked."""
    parts: list[tuple[float, str]] = []
    colours: list[tuple[float, str]] = []
    total = sum(line.amount.mass or 0 for line in recipe.weighed) or 1.0
    for line in recipe.weighed:
        share = (line.amount.mass or 0) / total
        hues = [hue for n in re.findall(r"\bE\s?(\d{3}[a-d]?)", line.what, re.I) if (hue := _hue(n.upper()))]
        if hues:
            colours += [(share * _COLOUR_STRENGTH / len(hues), hue) for hue in hues]
        elif found := _word_colour(line.what):
            parts.append((share * found[1], found[0]))
    return _with_colours(parts, colours)


def _hue(number: str) -> str | None:
    return _COLOURS.get(number) or _COLOURS.get(number[:3])


def _with_colours(parts: list[tuple[float, str]], colours: list[tuple[float, str]]) -> list[tuple[float, str]]:
    """What is mixed in beside the colours, and the colours, which never hide it wholly."""
    ground = sum(weight for weight, _ in parts)
    strength = sum(weight for weight, _ in colours)
    most = _MOST_COLOUR / (1 - _MOST_COLOUR) * ground
    less = min(1.0, most / strength) if strength and ground else 1.0
    return parts + [(weight * less, hue) for weight, hue in colours]


def _texture(name: str, mix: Cooked | None) -> str:
    if _FLOWING.search(name):
        return "liquid"
    if re.search(r"\b(disc|biscuit|sabl[ée]|dacquoise|sponge|base|crumble|shortbread)\b", name, re.I):
        return "crumb"
    if mix is None:
        return "aerated" if re.search(r"mousse|whipped|parfait|bavar", name, re.I) else "gel"
    if mix.composition.water < 0.16 and mix.composition.fat < 0.5 and mix.air > 0.2:
        return "crumb"
    if mix.air > 0.04:
        return "aerated"
    return "gel" if mix.composition.fat < 0.08 else "smooth"


def _bits(recipe: Component, recipes: Mapping[str, Component], ground: str) -> tuple[Bits, ...]:
    total = sum(line.amount.mass or 0 for line in recipe.weighed)
    found: list[Bits] = []
    for line in recipe.weighed:
        share = (line.amount.mass or 0) / total if total else 0.0
        herb = next((colour for word, colour in _HERBS.items() if _says(line.what, word)), None)
        own = _word_colour(line.what)
        colour = own[0] if own else ground
        made = recipes.get(line.what)
        candied = _says(line.what, "candied") or (
            made is not None and any(isinstance(step, Candy) for step in made.steps)
        )
        if herb and share < 0.1:
            found.append(Bits(kind="herb", size=0.0016, share=share, colour=herb))
        elif candied:
            found.append(Bits(kind="candied", size=_size(line.what, made), share=share, colour=candied_tone(colour)))
        elif _CRISP.search(line.what):
            found.append(Bits(kind="crumb", size=0.0022, share=share, colour=shade(colour, -0.15)))
        elif _CUT.search(line.what):
            found.append(
                Bits(kind="raw", size=_size(line.what, made), share=share, colour=mixed([(1, colour), (1.1, _RAW)]))
            )
    return tuple(found)


def _size(words: str, made: Component | None) -> Metre:
    """Size of the pieces: in millimetres in the line itself, in a later note of its recipe, or as it was candied."""
    told = [words]
    if made is not None:
        told += [step.text for step in reversed(made.steps) if isinstance(step, Note)]
    for text in told:
        if match := _MILLIMETRES.search(text):
            return min(float(match.group(1).replace(",", ".")) / 1000, 0.03)
    candied = next((step.size for step in made.steps if isinstance(step, Candy)), None) if made else None
    # A wedge is cut across before it goes into a heart.
    return min(candied, 0.010) if candied else _USUAL_DICE


# OKLab: a space in which equal steps look equally far. Published by B. Ottosson, 2020; coefficients recalled.
_TO_LMS = np.array(
    [[0.4122214708, 0.5363325363, 0.0514459929], [0.2119034982, 0.6806995451, 0.1073969566],
     [0.0883024619, 0.2817188376, 0.6299787005]]
)  # fmt: skip
_TO_LAB = np.array(
    [[0.2104542553, 0.7936177850, -0.0040720468], [1.9779984951, -2.4285922050, 0.4505937099],
     [0.0259040371, 0.7827717662, -0.8086757660]]
)  # fmt: skip


def _to_lab(colour: str) -> FloatArray:
    c = np.array([int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)])
    linear = np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4)
    return np.asarray(_TO_LAB @ np.cbrt(_TO_LMS @ linear))


def _from_lab(lab: FloatArray) -> str:
    linear = np.linalg.solve(_TO_LMS, np.linalg.solve(_TO_LAB, lab) ** 3).clip(0, 1)
    c = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055)
    return "#" + "".join(f"{round(float(v) * 255):02X}" for v in c.clip(0, 1))
