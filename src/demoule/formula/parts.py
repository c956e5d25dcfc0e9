"""What is in work while a component is cooked: its lines, each with its mass, warmth and air, wherever they stand."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from demoule.composition import Composition, Constituent
from demoule.errors import BadInput, UnknownName
from demoule.formula.amounts import Line
from demoule.formula.cooked import Content
from demoule.larder.ingredient import Ingredient, Nutrients
from demoule.units import CubicMetre, FloatArray, Fraction, Kelvin, Kilogram, Second

__all__ = ["Part", "Spell", "chosen", "composition_of", "contents_of", "nutrients_of", "part_of", "seen"]

COLD = 277.15
"""What comes out of the refrigerator [K]."""


@dataclass(frozen=True, slots=True)
class Spell:
    """A time over which the temperature runs in a straight line."""

    start: Kelvin
    end: Kelvin
    duration: Second


@dataclass(slots=True, eq=False)
class Part:
    """A share of one line: working value of a cooking, changed by its steps.

    Parameters
    ----------
    stands
        "waiting" until its step comes, "in work", or "on the hob".
    mass, unknown
        Of each constituent, and of what holds an untold content of it [kg], shape (COUNT,).
    nutrients, untold
        In the order of the larder's list of nutrients [kg], and of what holds an untold amount of each.
    contents
        Larder ingredients in it [kg in all], with the heat they had seen before this component.
    kept
        Share of the contents that losses have left.
    air
        Volume of air in it [m3].
    """

    name: str
    mass: FloatArray
    unknown: FloatArray
    nutrients: FloatArray
    untold: FloatArray
    contents: tuple[Content, ...]
    temperature: Kelvin
    stands: str = "in work"
    kept: Fraction = 1.0
    air: CubicMetre = 0.0
    spells: list[Spell] = field(default_factory=list)

    @property
    def total(self) -> Kilogram:
        """Its mass [kg]."""
        return float(self.mass.sum())

    @property
    def water(self) -> Kilogram:
        """Water in it [kg]."""
        return float(self.mass[Constituent.WATER])

    def lose(self, share: Fraction) -> None:
        """A share of everything goes."""
        keep = 1.0 - share
        self.mass = self.mass * keep
        self.unknown = self.unknown * keep
        self.nutrients = self.nutrients * keep
        self.untold = self.untold * keep
        self.kept *= keep
        self.air *= keep

    def dry(self, water: Kilogram) -> None:
        """Water goes."""
        self.mass = self.mass.copy()
        self.mass[Constituent.WATER] = max(self.water - water, 0.0)

    def split(self, share: Fraction) -> Part:
        """Take a share of it out as a part of its own."""
        taken = replace(
            self,
            mass=self.mass * share,
            unknown=self.unknown * share,
            nutrients=self.nutrients * share,
            untold=self.untold * share,
            kept=self.kept * share,
            air=self.air * share,
            spells=list(self.spells),
        )
        self.lose(share)
        return taken

    def passes(self, to: Kelvin, duration: Second) -> None:
        """Its temperature goes to `to` in a time."""
        self.spells.append(Spell(self.temperature, to, duration))
        self.temperature = to


def part_of(line: Line, room: Kelvin, factor: float = 1.0) -> Part:
    """A line as it is put in: fresh from the refrigerator, the dry store, or the component it comes from."""
    mass = line.mass * factor
    if line.cooked is not None:
        cooked = line.cooked
        return Part(
            name=line.what,
            mass=mass * cooked.composition.vector,
            unknown=mass * np.array(cooked.composition.unknown),
            nutrients=mass * np.array(cooked.nutrients.amounts),
            untold=mass * np.array(cooked.nutrients.unknown),
            contents=tuple(replace(content, mass=content.mass * mass) for content in cooked.contents),
            temperature=cooked.temperature,
            air=max(mass * (1 / cooked.density - 1 / cooked.mix_density), 0.0),
        )
    ingredient = line.ingredient
    assert ingredient is not None  # a line is an ingredient or a component
    at = _kept_at(ingredient, room)
    return Part(
        name=line.what,
        mass=mass * ingredient.composition.vector,
        unknown=mass * np.array(ingredient.composition.unknown),
        nutrients=mass * np.array(ingredient.nutrients.amounts),
        untold=mass * np.array(ingredient.nutrients.unknown),
        contents=(Content(ingredient=ingredient, mass=mass, heated_to=at, held=0.0),),
        temperature=at,
    )


def _kept_at(ingredient: Ingredient, room: Kelvin) -> Kelvin:
    """What keeps only cold comes cold; what keeps dry, or tells nothing, has the warmth of the room."""
    keeping = ingredient.keeping
    cold = keeping.chilled is not None and keeping.dry is None
    return min(COLD, room) if cold else room


def composition_of(parts: Iterable[Part]) -> Composition:
    """The composition of parts mixed."""
    parts = list(parts)
    mass = np.sum([part.mass for part in parts], axis=0)
    unknown = np.sum([part.unknown for part in parts], axis=0)
    total = float(mass.sum())
    fractions = np.maximum(mass, 0.0) / total
    fractions /= fractions.sum()
    return Composition(
        fractions=tuple(fractions.tolist()),
        unknown=tuple(np.clip(unknown / total, 0.0, 1.0).tolist()),
    )


def nutrients_of(parts: Iterable[Part]) -> Nutrients:
    """The nutrients of parts mixed, per mass of the mix."""
    parts = list(parts)
    total = sum(part.total for part in parts)
    amounts = np.sum([part.nutrients for part in parts], axis=0) / total
    untold = np.sum([part.untold for part in parts], axis=0) / total
    return Nutrients(amounts=tuple(amounts.tolist()), unknown=tuple(np.clip(untold, 0.0, 1.0).tolist()))


def contents_of(parts: Iterable[Part]) -> tuple[Content, ...]:
    """Every ingredient of the parts per mass of them together, with the highest warmth any of it has seen.

    An ingredient that stands in several parts is told once; of its heat the least is told, since the part of it that
    was heated least decides whether it counts as heated.
    """
    parts = list(parts)
    total = sum(part.total for part in parts)
    merged: dict[str, Content] = {}
    for part in parts:
        for content in part.contents:
            heated, held = seen(content.heated_to, content.held, part.spells)
            mine = replace(content, mass=content.mass * part.kept / total, heated_to=heated, held=held)
            other = merged.get(content.ingredient.name)
            if other is not None:
                cooler = min(mine, other, key=lambda one: (one.heated_to, one.held))
                mine = replace(cooler, mass=mine.mass + other.mass)
            merged[content.ingredient.name] = mine
    return tuple(merged.values())


NEAR = 5.0
"""Heat within so many kelvin of the highest counts as held [K]."""


def seen(heated_to: Kelvin, held: Second, spells: Sequence[Spell]) -> tuple[Kelvin, Second]:
    """The highest temperature and the time at or within 5 K of it, after more spells of heat."""
    top = max([heated_to, *(max(spell.start, spell.end) for spell in spells)])
    floor = top - NEAR
    time = held if heated_to >= floor else 0.0
    for spell in spells:
        low, high = sorted((spell.start, spell.end))
        if low >= floor:
            time += spell.duration
        elif high > floor:
            time += spell.duration * (high - floor) / (high - low)
    return top, time


_SHARES = {
    "all": 1.0,
    "rest": 1.0,
    "half": 0.5,
    "third": 1 / 3,
    "two thirds": 2 / 3,
    "quarter": 0.25,
    "three quarters": 0.75,
    "½": 0.5,
    "⅓": 1 / 3,
    "⅔": 2 / 3,
    "¼": 0.25,
    "¾": 0.75,
    "1/2": 0.5,
    "1/3": 1 / 3,
    "2/3": 2 / 3,
    "1/4": 0.25,
    "3/4": 0.75,
}
_GRAMS = {"g": 1e-3, "kg": 1.0}
_AMOUNT = re.compile(r"^(?P<number>\d+(?:[.,]\d+)?)\s*(?P<unit>g|kg|%)\s+(?P<what>.+)$")


def chosen(text: str, parts: list[Part], where: str, first: str = "") -> list[Part]:
    """The parts that a chef means by "half the cream", "sugar and 26 g water", "rest of the purée".

    Where several parts bear a name, those that stand in the state `first` are meant, if there are any.
    A part of which only a share is meant is split in place, so that `parts` grows; the split-off share is returned.

    Raises
    ------
    UnknownName
        When a name fits none of the lines.
    BadInput
        When a name fits several, or more is asked than there is.
    """
    picked: list[Part] = []
    whole = any(part.name.casefold() == text.strip().casefold() for part in parts)
    for phrase in [text] if whole else re.split(r"\s*(?:,(?!\d)|\+|;)\s*|\s+and\s+", text.strip()):
        name, share, grams = _phrase(phrase, parts)
        matches = _matching(name, parts, where)
        matches = [part for part in matches if part.stands == first] or matches
        total = sum(part.total for part in matches)
        if grams is not None:
            if grams > total * (1 + 1e-9):
                raise BadInput(
                    f"{grams * 1000:g} g of {name} are asked, and {total * 1000:.0f} g are there.",
                    where=where,
                    remedy="ask for less, or weigh more.",
                )
            share = min(grams / total, 1.0)
        if share >= 1.0 or not total:
            picked += matches
            continue
        for part in matches:
            taken = part.split(share)
            parts.append(taken)
            picked.append(taken)
    return picked


def _phrase(phrase: str, parts: Sequence[Part]) -> tuple[str, Fraction, Kilogram | None]:
    """A phrase as name, share and grams."""
    text = phrase.strip().casefold()
    if any(part.name.casefold() == text for part in parts):
        return text, 1.0, None
    share, grams = 1.0, None
    match = _AMOUNT.match(text)
    if match:
        number = float(match["number"].replace(",", "."))
        text = match["what"]
        if match["unit"] == "%":
            share = number / 100
        else:
            grams = number * _GRAMS[match["unit"]]
    else:
        bare = re.sub(r"^(a|one|the)\s+", "", text)
        for word in sorted(_SHARES, key=len, reverse=True):
            if bare.startswith(word + " "):
                share, text = _SHARES[word], bare[len(word) :].strip()
                break
    text = re.sub(r"^(of\s+)?(the\s+)?", "", text).strip()
    return text, share, grams


def _matching(name: str, parts: Sequence[Part], where: str) -> list[Part]:
    exact = [part for part in parts if part.name.casefold() == name]
    if exact:
        return exact
    words = name.split()
    near = [part for part in parts if all(word in part.name.casefold().split() for word in words)]
    names = {part.name for part in near}
    if len(names) == 1:
        return near
    if len(names) > 1:
        raise BadInput(
            f"“{name}” may mean {' or '.join(sorted(f'“{one}”' for one in names))}.",
            where=where,
            remedy="write the whole name of the line.",
        )
    raise UnknownName("line", name, sorted({part.name for part in parts}), where=where)
