"""All ingredients by name: a chef's own items before the shelf, the shelf before the rules."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import lru_cache

from demoule.errors import BadInput, UnknownName
from demoule.larder.ingredient import Ingredient
from demoule.larder.naming import fold, folded_words, loose
from demoule.larder.rules import EXAMPLES, by_rule
from demoule.larder.rules.forms import bare
from demoule.larder.shelf import Shelf, best_lead, standard_shelf

__all__ = ["Larder", "standard_larder"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Larder:
    """The ingredients that can be weighed; earlier ones win over later ones of the same name.

    Parameters
    ----------
    items
        A chef's own items and suppliers' sheets; they win over the shelf.
    shelf
        The named ingredients that come with demoule and the rules that make more; None: own items only.
    prices
        Names as a person wrote them, with prices per kg as bought.
    """

    items: tuple[Ingredient, ...] = ()
    shelf: Shelf | None = None
    prices: tuple[tuple[str, float], ...] = ()
    _found: dict[str, Ingredient] = field(default_factory=dict, compare=False, repr=False)
    _keys: dict[str, str] = field(default_factory=dict, compare=False, repr=False)
    _names: list[str] = field(default_factory=list, compare=False, repr=False)

    def find(self, name: str) -> Ingredient:
        """The ingredient of a name or other spelling.

        Accents, case, commas, plurals and the order of words do not matter. A name that nothing on the shelf carries is
        tried by rule ("glucose syrup 42 DE", "apricot purée 10 % sugar").

        Raises
        ------
        UnknownName
            With the nearest known name.
        BadInput
            For a number that no such thing can have ("cream 350 %").
        """
        found = self._found.get(name)
        if found is None:
            found = self._priced(self._look_up(name), name)
            self._found[name] = found
        return found

    def search(self, words: str, most: int = 20) -> tuple[Ingredient, ...]:
        """Ingredients in whose names the words occur, best first; words may be begun only."""
        wanted = folded_words(words)
        if not wanted:
            return ()
        ranked: list[tuple[int, int, int, str]] = []
        seen: set[str] = set()
        for order, (name, also) in enumerate(self._spellings()):
            score = max((_score(wanted, spelling, main=spelling is name) for spelling in (name, *also)), default=0)
            if score and fold(name) not in seen:
                seen.add(fold(name))
                ranked.append((-score, len(_plain(folded_words(name))), order, name))
        ranked.sort()
        best = [self.find(name) for *_, name in ranked[:most]]
        try:
            exact = self.find(words)
        except BadInput:
            return tuple(best)
        return tuple([exact, *(item for item in best if item.name != exact.name)][:most])

    def names(self) -> tuple[str, ...]:
        """Every name and spelling on the shelf and among own items, and one name of each kind the rules make."""
        if not self._names:
            self._names.extend(
                dict.fromkeys(spelling for name, also in self._spellings() for spelling in (name, *also))
            )
        return tuple(self._names)

    def with_items(self, own: Iterable[Ingredient]) -> Larder:
        """A larder in which `own` items come first."""
        return Larder(items=(*own, *self.items), shelf=self.shelf, prices=self.prices)

    def with_prices(self, prices: Mapping[str, float]) -> Larder:
        """A larder whose ingredients carry a price per kg as bought.

        A price holds for the thing it names in every spelling, and for whatever begins with its words as long as it
        stays that thing: "gelatine" for "gelatine 200 bloom", "egg white" for "egg white pasteurised", but not
        "apricot" for "apricot juice". A price of one cut holds for the other cuts of the thing. The longest name wins,
        and later prices win over earlier ones.
        """
        for name, price in prices.items():
            if not price >= 0:
                raise BadInput(f"The price of “{name}” is {price:g}.", remedy="give a price per kg of zero or more.")
        merged = dict(self.prices) | dict(prices)
        return Larder(items=self.items, shelf=self.shelf, prices=tuple(merged.items()))

    def __len__(self) -> int:
        return len(self.items) + (len(self.shelf) if self.shelf is not None else 0)

    def __iter__(self) -> Iterator[Ingredient]:
        """Every ingredient that has a name of its own, without those made by rule."""
        return (self.find(name) for name, _ in self._spellings(examples=False))

    # ------------------------------------------------------------------ within

    def _spellings(self, *, examples: bool = True) -> Iterator[tuple[str, tuple[str, ...]]]:
        yield from ((item.name, item.also) for item in self.items)
        if self.shelf is not None:
            yield from self.shelf.spellings()
            if examples:
                yield from ((example, ()) for example in EXAMPLES)

    def _look_up(self, name: str) -> Ingredient:
        for same in (fold, loose):
            wanted = same(name)
            for item in self.items:
                if wanted and any(same(spelling) == wanted for spelling in (item.name, *item.also)):
                    return item
        if self.shelf is not None:
            found = self.shelf.get(name) or by_rule(name, self.shelf)
            if found is not None:
                return found
        raise UnknownName("ingredient", name, _begun(name)[:1] or self.names())

    def _priced(self, item: Ingredient, asked: str) -> Ingredient:
        if not self.prices:
            return item
        price = self._price(item, asked)
        return item if price is None else replace(item, price=price)

    def _price(self, item: Ingredient, asked: str) -> float | None:
        prices = dict(self.prices)
        spellings = (asked, item.name, *item.also)
        exact = {fold(spelling) for spelling in spellings} | {loose(spelling) for spelling in spellings}
        for key in reversed(prices):
            if fold(key) in exact or loose(key) in exact:
                return prices[key]
        if item.price is not None:
            return None  # its own sheet knows better than a price of its kind
        if not self._keys:
            self._keys.update((" ".join(folded_words(key)), key) for key in prices)
        lead = best_lead(self._keys, spellings)
        if lead is None:
            same = {bare(spelling) for spelling in spellings}
            lead = next((key for key in prices if bare(key) in same), None)
        return None if lead is None else prices[lead]


def _begun(name: str) -> tuple[str, ...]:
    """Names made by rule that go on where a name stops: "cream" wants its fat told."""
    words = folded_words(name)
    return tuple(example for example in EXAMPLES if words and folded_words(example)[: len(words)] == words)


_MAIN = 8  # the name a thing goes by before another spelling of it: “purée” is no tahini first


def _plain(words: tuple[str, ...]) -> tuple[str, ...]:
    """Words without strengths and percentages."""
    return tuple(word for word in words if word != "%" and not word[:1].isdigit())


def _score(wanted: tuple[str, ...], spelling: str, *, main: bool) -> int:
    """How well words meet a spelling: 0 when one of them begins no word of it."""
    words = folded_words(spelling)
    points = 0
    for want in wanted:
        if want in words:
            points += 4
        elif any(word.startswith(want) for word in words):
            points += 2
        elif len(want) > 3 and any(want in word for word in words):
            points += 1
        else:
            return 0
    # What a thing is stands first in French and last in English: "pâte d'amande", "almond paste 50 %".
    if words[: len(wanted)] == wanted or _plain(words)[-len(wanted) :] == wanted:
        points += 3
    return 2 * points + _MAIN * main - (len(_plain(words)) > len(wanted))


@lru_cache(maxsize=1)
def standard_larder() -> Larder:
    """The larder that comes with demoule, without prices."""
    return Larder(shelf=standard_shelf())
