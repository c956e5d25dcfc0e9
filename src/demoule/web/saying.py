"""What the numerics say, in the reader's language: a finding under its rule, an error under where it arose.

The numerics write English sentences with values in them. The book of a language holds each sentence with holes where
the values stand; what fills a hole is told in the same way, and what a chef named stays as it is. A test holds the book
against every sentence in the source, so that none can be written or changed without its translation.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from functools import cache, lru_cache
from importlib import resources

__all__ = ["book", "is_told", "said"]

_DEEP = 4
_LONGEST = 2000  # characters; what is longer is no sentence of ours
_SURE = 20  # characters of its own, with which a sentence is known whatever stands in its holes
_HOLE = re.compile(r"\{(\d+)\}")


@cache
def book(language: str) -> Mapping[str, Mapping[str, str]]:
    """The sentences of a language by their codes; empty for English, which the numerics speak."""
    file = resources.files("demoule.web").joinpath("words", f"said-{language}.toml")
    return tomllib.loads(file.read_text(encoding="utf-8")) if file.is_file() else {}


def said(text: str, language: str, code: str = "") -> str:
    """A sentence of the numerics in the reader's language.

    Parameters
    ----------
    code
        "finding" with its rule, "error" with its module, or nothing; sentences of the code come first.
    """
    if language == "en" or not text.strip():
        return text
    return _told(text, language, code)[0]


def is_told(text: str, language: str, code: str = "") -> bool:
    """Whether the book has the sentence, or every sentence of several."""
    return _told(text, language, code)[1]


@lru_cache(maxsize=4096)
def _told(text: str, language: str, code: str, deep: int = 0) -> tuple[str, bool]:
    found = _found(text, language, code) if deep < _DEEP and len(text) < _LONGEST else None
    if found is not None:
        match, french = found
        holes = {key: _told(value, language, code, deep + 1)[0] for key, value in match.groupdict().items()}
        told = _HOLE.sub(lambda hole: holes[f"v{hole[1]}"], french)
        return re.sub(r"\b([Dd])e (?=[aeiouyàâéèêëîïôûœ])", r"\1'", told) if language == "fr" else told, True
    for edge, joint in ((r"(?<=[.!?]) (?=[A-ZÀ-Þ“−\d])", " "), (r"; ", " ; "), (r", | and ", "")):
        parts = re.split(edge, text)
        if len(parts) > 1 and deep < _DEEP:
            told_parts = [_told(part, language, code, deep + 1) for part in parts]
            whole = all(known for _, known in told_parts)
            if joint:
                return joint.join(part for part, _ in told_parts), whole
            if whole:
                return _listed([part for part, _ in told_parts]), True
    return _value(text, language), False


def _listed(parts: list[str]) -> str:
    return f"{', '.join(parts[:-1])} et {parts[-1]}"


def _found(text: str, language: str, code: str) -> tuple[re.Match[str], str] | None:
    """The sentence of the book that a text is: one of its own code before others, one of fewer parts before more."""
    for narrow in (True, False):
        for section in dict.fromkeys((code, "")):
            for pattern, french in _patterns(language, section, narrow):
                match = pattern.fullmatch(text)
                if match:
                    return match, french
    return None


@cache
def _patterns(language: str, code: str, narrow: bool) -> tuple[tuple[re.Pattern[str], str], ...]:
    """The sentences of a code, or of all; those with the most words of their own first."""
    sections = [book(language).get(code, {})] if code else list(book(language).values())
    sentences = {english: french for section in sections for english, french in section.items()}
    ordered = sorted(sentences, key=lambda one: len(_HOLE.sub("", one)), reverse=True)
    least = 1 if narrow else _SURE
    return tuple(
        (_pattern(one, narrow), sentences[one]) for one in ordered if len(_HOLE.sub("", one).strip(" .:,")) >= least
    )


def _pattern(english: str, narrow: bool) -> re.Pattern[str]:
    """A sentence as a pattern; narrow holes end at a semicolon, which parts the things of a list."""
    inside = r"(?:(?!; ).)*?" if narrow else ".*?"
    told: set[str] = set()
    text = ""
    for place, part in enumerate(_HOLE.split(english)):
        if place % 2 == 0:
            text += re.escape(part)
        elif part in told:
            text += f"(?P=v{part})"
        else:
            told.add(part)
            text += f"(?P<v{part}>{inside})"
    return re.compile(text, re.DOTALL)


_MONTHS = {
    "fr": {
        "January": "janvier", "February": "février", "March": "mars", "April": "avril", "May": "mai", "June": "juin",
        "July": "juillet", "August": "août", "September": "septembre", "October": "octobre", "November": "novembre",
        "December": "décembre",
    }
}  # fmt: skip

_WORDS = {
    "fr": (
        (re.compile(r"(\d) to ([−-]?\d)"), r"\1 à \2"),
        (re.compile(r"((?:°C|%|g|ml|mm|h|min|s|°Bx)) to ([−-]?\d)"), r"\1 à \2"),
        (re.compile(r"\b(\d+) days?\b"), r"\1 jours"),
        (re.compile(r"\b(\d+) months?\b"), r"\1 mois"),
        (re.compile(r"\b(\d+) more$"), r"\1 de plus"),
        (re.compile(r"\b1 filling\b"), "1 remplissage"),
        (re.compile(r"\b(\d+) fillings\b"), r"\1 remplissages"),
        (re.compile(r"(?<=\d)%"), " %"),
        (re.compile(r"(?<=\S) and (?=\S)"), " et "),
        (re.compile(r"(?<=\d)\.(?=\d)"), ","),
    )
}


def _value(text: str, language: str) -> str:
    """A value: numbers, times and lists as the language writes them; names stay."""
    for pattern, french in _WORDS.get(language, ()):
        text = pattern.sub(french, text)
    months = _MONTHS.get(language, {})
    return re.sub(r"(?<=\d )([A-Z][a-z]+)\b", lambda found: months.get(found[1], found[1]), text)
