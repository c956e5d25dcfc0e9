"""What the planner and its checker say, in the reader's language: each sentence stands in the words of the pages."""

from __future__ import annotations

import re
from functools import cache

from demoule.web.wording import words_of

__all__ = ["day_name", "told"]

_UNDER = "week_says."
_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_LONG = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def day_name(weekday: int, language: str, *, long: bool = False) -> str:
    """The name of a day of the week from Monday, 0."""
    return words_of(language)(f"{'days' if long else 'days_short'}.d{weekday}")


def told(text: str, language: str) -> str:
    """A sentence of the planner in the reader's language; what a chef named stays as it is, and so does the unknown.

    A sentence is found by its pattern in the words; what fills the pattern is told in the same way.
    """
    if language == "en" or not text:
        return text
    return _sentence(text, language, 0)


def _sentence(text: str, language: str, depth: int) -> str:
    """By its pattern; else clause by clause; else as it stands, with days and numbers in the reader's way."""
    if depth > 5:
        return _small(text, language)
    whole = _by_pattern(text, language, depth)
    if whole is not None:
        return whole
    if text[:1].isupper() and (small := _by_pattern(text[0].lower() + text[1:], language, depth)) is not None:
        return small[:1].upper() + small[1:]
    if text.endswith(".") and (bare := _by_pattern(text[:-1], language, depth)) is not None:
        return f"{bare}."
    if (full := _by_pattern(f"{text}.", language, depth)) is not None:
        return full.removesuffix(".")
    for mark in ("; or ", "; and ", "; "):
        first, found, rest = text.partition(mark)
        if found:
            joint = words_of(language)(f"week_joints.{mark.strip(' ;') or 'then'}")
            return _sentence(first, language, depth) + joint + _sentence(rest, language, depth)
    if depth and " and " in text:  # a list within a sentence
        first, _, rest = text.rpartition(" and ")
        return f"{_small(first, language)}{words_of(language)('week_joints.list')}{_small(rest, language)}"
    return _small(text, language)


def _by_pattern(text: str, language: str, depth: int) -> str | None:
    for pattern, template in _patterns(language):
        found = pattern.fullmatch(text)
        if found:
            parts = {key: _sentence(value, language, depth + 1) for key, value in found.groupdict().items()}
            return template.format(**parts)
    return None


def _small(text: str, language: str) -> str:
    """Days, months and numbers within what has no pattern of its own."""
    names = _names(language)
    text = re.sub(r"\b(" + "|".join(names) + r")\b(?= \d|$)", lambda found: names[found[1]], text)
    return re.sub(r"(?<=\d)\.(?=\d)", ",", text)


@cache
def _names(language: str) -> dict[str, str]:
    words = words_of(language)
    names = {name: words(f"days.d{place}") for place, name in enumerate(_LONG)}
    names |= {name: words(f"days_short.d{place}") for place, name in enumerate(_DAYS)}
    return names | {name: words(f"months_short.m{place + 1}") for place, name in enumerate(_MONTHS)}


@cache
def _patterns(language: str) -> list[tuple[re.Pattern[str], str]]:
    """The sentences, those with the most words of their own first."""
    found = []
    for key, template in words_of(language).texts.items():
        if key.startswith(_UNDER):
            english = key.removeprefix(_UNDER)
            parts = re.split(r"\{(\w+)\}", english)
            pattern = "".join(
                re.escape(part) if place % 2 == 0 else f"(?P<{part}>(?:(?!; ).)+?)" for place, part in enumerate(parts)
            )
            own = sum(len(part) for part in parts[::2])
            found.append((own, re.compile(pattern, re.DOTALL), template))
    return [(pattern, template) for _, pattern, template in sorted(found, key=lambda one: -one[0])]
