"""Reading a mixture as people write it: "sucrose 40 g, water 60 g"."""

from __future__ import annotations

import re
from dataclasses import dataclass

from demoule.composition import Composition, Constituent
from demoule.errors import BadInput, DemouleError
from demoule.figures import Status
from demoule.larder import Ingredient, Larder, Record
from demoule.larder.naming import counted
from demoule.physics.density import density_of_mix
from demoule.units import Kilogram, Kind, leading, parse

__all__ = ["Mixture", "read_mixture"]

_ROOM = 293.15  # K, at which volumes are measured
_LIQUID = 0.8  # kg water per kg

# A comma parts two things only where a blank follows or a letter does: "12,5 g" stays one quantity.
_PARTS = re.compile(r"\s*[;\n]\s*|,\s+|,(?=[^\d\s])|\s+\+\s+")
_AMOUNT_LAST = re.compile(r"^(?P<what>.*\S)\s+(?P<amount>[\d¼½¾⅓⅔][^\s]*(?:\s*[^\s\d]+)?(?:\s+[\d½¼¾]+\s*[^\s\d]+)?)$")
_KINDS = (Kind.MASS, Kind.VOLUME, Kind.PERCENT, Kind.COUNT)
_BARE = re.compile(r"\d+(?:[.,]\d+)?")
_PURE = {
    constituent.name.replace("_", " ").casefold(): constituent
    for constituent in Constituent
    if constituent
    not in (
        Constituent.OTHER_POLYOLS,
        Constituent.OTHER_FAT,
        Constituent.ASH,
        Constituent.ACIDS,
        Constituent.UNKNOWN_SUGARS,
        Constituent.UNKNOWN_SOLIDS,
    )
} | {
    "sodium chloride": Constituent.SALT,
    "citric acid": Constituent.ACIDS,
    "saccharose": Constituent.SUCROSE,
    "alcohol": Constituent.ETHANOL,
    "maltitol": Constituent.OTHER_POLYOLS,
    "isomalt": Constituent.OTHER_POLYOLS,
    "mannitol": Constituent.SORBITOL,
    "glycerine": Constituent.GLYCEROL,
    "fat": Constituent.OTHER_FAT,
    "carbohydrate": Constituent.DEXTRINS,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Mixture:
    """What is in a mixture: each part with its mass [kg], and the composition of the whole."""

    parts: tuple[tuple[Ingredient, Kilogram], ...]
    composition: Composition

    @property
    def mass(self) -> Kilogram:
        """Of all parts together."""
        return sum(mass for _, mass in self.parts)


def read_mixture(text: str, larder: Larder) -> Mixture:
    """Read a mixture: names of pure constituents or of ingredients of the larder, each with a quantity.

    The quantity stands after the name or before it; masses, volumes (of an ingredient of known density), percentages,
    or bare numbers, which count as parts by mass.

    Raises
    ------
    BadInput
        Naming the part that cannot be read.
    """
    pieces = [piece for piece in _PARTS.split(text.strip()) if piece]
    if not pieces:
        raise BadInput("Nothing is in the mixture.", remedy='write for example mix="sucrose 40 g, water 60 g"')
    lines = [_line(piece, larder) for piece in pieces]
    kinds = {kind for _, _, kind in lines}
    if len(kinds) > 1 and kinds != {"mass"}:
        raise BadInput(
            "The mixture counts some parts in grams and others in percent or parts.",
            where=f"mixture “{text}”",
            remedy="write all amounts in the same way.",
        )
    parts = tuple((ingredient, mass) for ingredient, mass, _ in lines)
    if "percent" in kinds and not abs(sum(mass for _, mass in parts) - 0.1) < 1e-3:
        total = sum(mass for _, mass in parts) * 1000
        raise BadInput(
            f"The percentages of the mixture add up to {total:.4g} instead of 100.",
            where=f"mixture “{text}”",
            remedy="let them add up to 100, or write grams.",
        )
    return Mixture(parts=parts, composition=Composition.mixed((mass, i.composition) for i, mass in parts))


def _line(piece: str, larder: Larder) -> tuple[Ingredient, Kilogram, str]:
    try:
        what, amount = _split(piece)
        ingredient = _ingredient(what, larder)
        mass, kind = _mass(amount, ingredient)
    except DemouleError as error:
        raise error.at(f"mixture, part “{piece}”") from None
    return ingredient, mass, kind


def _split(piece: str) -> tuple[str, str]:
    first = leading(piece, _KINDS)
    if first is not None:
        # "1 cup cream 35 %": what stands first is the amount, and a percentage behind belongs to the name.
        quantity, name = first
        name = counted(quantity.unit, name.strip().removeprefix("of ").strip())
        if name:
            return name, quantity.written
    last = _AMOUNT_LAST.match(piece)
    if last:
        # "cream 35 % 100 g": the amount is the last quantity, the percentage belongs to the name.
        return last["what"], last["amount"]
    words = piece.split()
    if words and words[0][:1].isdigit():
        return " ".join(words[1:]) or piece, words[0]
    raise BadInput(f"“{piece}” has no amount.", remedy="write name and amount, for example “sucrose 40 g”.")


def _ingredient(what: str, larder: Larder) -> Ingredient:
    constituent = _PURE.get(what.strip().casefold())
    return larder.find(what) if constituent is None else _pure(what.strip(), constituent)


def _pure(name: str, constituent: Constituent) -> Ingredient:
    return Ingredient(
        name=name,
        composition=Composition.of({constituent: 1.0}),
        record=Record(source="pure-compound", table_version="", id=constituent.name.lower(), status=Status.READ),
    )


def _mass(amount: str, ingredient: Ingredient) -> tuple[Kilogram, str]:
    if _BARE.fullmatch(amount):
        return float(amount.replace(",", ".")) / 1000, "parts"
    quantity = parse(amount, _KINDS)
    if quantity.kind is Kind.COUNT:
        each = ingredient.leaf_mass or ingredient.piece_mass
        if each is None:
            raise BadInput(f"Nothing tells what one {ingredient.name} weighs.", remedy="give its mass.")
        return quantity.value * each, "mass"
    if quantity.kind is Kind.PERCENT:
        return quantity.value / 10, "percent"
    if quantity.kind is Kind.VOLUME:
        told = ingredient.bulk_density or ingredient.density
        if told is None and ingredient.composition.water > _LIQUID:
            # Powders and pieces hold air between them; what is mostly water does not.
            return quantity.value * float(density_of_mix(ingredient.composition.vector, _ROOM)), "mass"
        if told is None:
            raise BadInput(
                f"The density of {ingredient.name} is not known, so {amount} cannot be turned into grams.",
                remedy="give its mass.",
            )
        return quantity.value * told, "mass"
    return quantity.value, "mass"
