"""How a chef writes a name and how we recognise it: accents, case, commas, plurals and the order of words fall away."""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

__all__ = ["counted", "fold", "folded_words", "loose", "word_set"]

_LIGATURES = str.maketrans({"œ": "oe", "Œ": "oe", "æ": "ae", "Æ": "ae", "ß": "ss"})

# One spelling for words that differ between the two sides of the Atlantic.
_SPELLINGS = {
    "pasteurized": "pasteurised",
    "yogurt": "yoghurt",
    "gelatin": "gelatine",
    "color": "colour",
    "colored": "coloured",
    "colorant": "colour",
    "flavored": "flavoured",
    "flavor": "flavour",
    "flavoring": "flavouring",
    "caramelized": "caramelised",
    "crystallized": "crystallised",
    "alkalized": "alkalised",
    "stabilizer": "stabiliser",
    "soy": "soya",
    "halves": "half",
    "leaves": "leaf",
    "mold": "mould",
    "skim": "skimmed",
    "litchi": "lychee",
    "pct": "%",
    "percent": "%",
}
_STOPS = frozenset(["de", "d", "du", "des", "la", "le", "les", "l", "a", "au", "aux", "en", "et", "of", "the", "and"])
_DIGIT = re.compile(r"\d")
_COLOUR_NUMBER = re.compile(r"\b(?:e|ins)[ -]?(\d{3,4})(?: ?((?:[a-h]|i{1,3}|iv))\b)?")


@lru_cache(maxsize=16384)
def fold(name: str) -> str:
    """One plain spelling of a name: no accents, lower case, single spaces, numbers apart from letters.

    Examples
    --------
    >>> fold("Crème  35%")
    'creme 35 %'
    >>> fold("purée d’abricot 12,5 % sucre")
    'puree d abricot 12.5 % sucre'
    >>> fold("oil colour E160a + E 160 c")
    'oil colour e160a + e160c'
    """
    text = name
    if not text.isascii():
        text = unicodedata.normalize("NFKD", text.translate(_LIGATURES))
        text = "".join(letter for letter in text if not unicodedata.combining(letter))
    text = text.casefold()
    if text.isalpha():
        return _SPELLINGS.get(text, text)
    text = re.sub(r"(?<=\d),(?=\d)", ".", text)
    text = re.sub(r"[^a-z0-9%+/:.&]+|\.(?!\d)|(?<!\d)\.", " ", text)
    if _DIGIT.search(text):
        text = _COLOUR_NUMBER.sub(lambda m: f"e{m.group(1)}{m.group(2) or ''}", text)
        text = re.sub(r"(?<=\d)%", " %", text)
        text = re.sub(r"\b(\d+(?:\.\d+)?)(de|mm|cm|g|bloom|percent|pct|vol|abv)\b", r"\1 \2", text)
        text = re.sub(r"(?<=\d)\.0+\b", "", text)
    words = [_SPELLINGS.get(word, word) for word in text.replace("+", " + ").split()]
    return " ".join(words)


def _singular(word: str) -> str:
    if len(word) <= 3 or not word.endswith("s") or word.endswith("ss"):
        return word
    if word.endswith("ies"):
        return word[:-3] + "y"
    if word.endswith("oes"):
        return word[:-2]
    return word[:-1]


@lru_cache(maxsize=16384)
def folded_words(name: str) -> tuple[str, ...]:
    """The words that carry meaning, in the singular, in the order written.

    Examples
    --------
    >>> folded_words("Blancs d'œufs")
    ('blanc', 'oeuf')
    """
    return tuple(_singular(word) for word in fold(name).split() if word not in _STOPS)


@lru_cache(maxsize=16384)
def loose(name: str) -> str:
    """The meaningful words in alphabetical order: the same for every order of writing.

    Examples
    --------
    >>> loose("powder of almonds") == loose("almond powder")
    True
    """
    return " ".join(sorted(folded_words(name)))


def word_set(text: str) -> frozenset[str]:
    """The meaningful words of a text, as `folded_words` gives them, for rules to ask against.

    Examples
    --------
    >>> sorted(word_set("powder poudre"))
    ['poudre', 'powder']
    """
    return frozenset(folded_words(text))


_FOODS = {"egg": "egg", "yolk": "egg yolk", "white": "egg white"}


def counted(unit: str, rest: str) -> str:
    """The name of what is counted by a word that is itself the thing: "4 egg yolks", "2 eggs", "3 whites".

    Parameters
    ----------
    unit
        The unit as it was read, in the singular.
    rest
        What stands behind it.

    Examples
    --------
    >>> counted("egg", "yolks"), counted("egg", ""), counted("white", "pasteurised"), counted("leaf", "basil")
    ('egg yolks', 'egg', 'egg white pasteurised', 'basil')
    """
    food = _FOODS.get(unit)
    return rest if food is None or folded_words(rest)[:1] == ("egg",) else f"{food} {rest}".strip()
