"""The allergen lists of the EU and the US, kept apart, and how a person's words find their group."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache

from demoule.errors import BadInput, UnknownName
from demoule.figures import Status
from demoule.larder.naming import loose
from demoule.larder.shelf import split_list
from demoule.larder.tables import read_csv

__all__ = ["AllergenGroup", "allergen_groups", "allergen_names", "in_other_market"]

# Groups whose kind the law wants named; a plain word for the kind ("almond") is written after the group.
_KINDS = {"gluten cereals", "nuts", "tree nuts"}


@dataclass(frozen=True, slots=True, kw_only=True)
class AllergenGroup:
    """One group of a market's list: the words that mean it, and what is exempt from it."""

    market: str
    name: str
    words: tuple[str, ...]
    exempt: str
    source: str
    locator: str
    status: Status


@lru_cache(maxsize=2)
def allergen_groups(market: str) -> tuple[AllergenGroup, ...]:
    """The allergen list of a market, "EU" or "US"."""
    found = tuple(
        AllergenGroup(
            market=row["market"],
            name=row["group"],
            words=split_list(row["words"]),
            exempt=row["exempt"],
            source=row["source"],
            locator=row["locator"],
            status=Status(row["status"]),
        )
        for row in read_csv("allergens.csv")
        if row["market"] == market
    )
    if not found:
        raise BadInput(f"There is no allergen list for “{market}”.", remedy="use EU or US.")
    return found


@lru_cache(maxsize=2)
def _by_word(market: str) -> Mapping[str, tuple[str, str]]:
    """Group and kind of every word of a market's list."""
    found: dict[str, tuple[str, str]] = {}
    for group in allergen_groups(market):
        general = {loose(group.name), *(loose(word) for word in group.words if word.split()[-1].startswith(_GENERAL))}
        for word in (group.name, *group.words):
            kind = word if group.name in _KINDS and loose(word) not in general else ""
            found.setdefault(loose(word), (group.name, "oats" if kind == "oat" else kind))
    return found


_GENERAL = ("nut", "gluten", "cereal")  # last words that name the group and no kind of it


def allergen_names(words: Iterable[str], market: str) -> frozenset[str]:
    """Allergens as the larder writes them ("milk", "nuts: almond"), from the words of a person or a sheet.

    Raises
    ------
    UnknownName
        For a word that is on no list of this market; one that only the other market lists gives nothing.

    Examples
    --------
    >>> sorted(allergen_names(["Eggs", "almonds", "soya", "pine nuts"], "EU"))
    ['eggs', 'nuts: almond', 'soybeans']
    >>> sorted(allergen_names(["wheat", "tree nuts: pecan"], "US"))
    ['tree nuts: pecan', 'wheat']
    """
    other = "US" if market == "EU" else "EU"
    names = set()
    for written in words:
        group, _, kind = written.partition(":")
        asked = kind or group
        found = _by_word(market).get(loose(asked))
        if found is not None:
            names.add(f"{found[0]}: {found[1]}" if found[1] else found[0])
        elif loose(asked) not in _by_word(other):
            known = {word for g in allergen_groups(market) for word in (g.name, *g.words)}
            raise UnknownName("allergen", written, sorted(known))
    return frozenset(names)


def in_other_market(names: Iterable[str], market: str) -> frozenset[str]:
    """What allergens named by one market's list are on the other's; wheat is the only gluten cereal of the US list.

    Examples
    --------
    >>> sorted(in_other_market(["gluten cereals: wheat", "gluten cereals: oats", "nuts: almond", "lupin"], "EU"))
    ['tree nuts: almond', 'wheat']
    """
    other = "US" if market == "EU" else "EU"
    found = set()
    for name in names:
        group, _, kind = name.partition(": ")
        here = _by_word(other).get(loose(kind or group))
        if here is not None and not (other == "US" and here[0] == "wheat" and kind not in ("", "wheat")):
            found.add(f"{here[0]}: {here[1]}" if here[1] else here[0])
    return frozenset(found)
