"""The words of the screens: one folder, a file or two a language; and phrases of the numerics for a French reader."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from functools import cache
from importlib import resources
from typing import Any

__all__ = ["LANGUAGES", "Words", "drawing_in_french", "in_french", "words_of"]

LANGUAGES = ("en", "fr")


class Words:
    """The texts of one language by their keys: `words("bench.keep")`, with values for what stands in braces."""

    def __init__(self, language: str, texts: Mapping[str, Any]) -> None:
        self.language = language
        self.texts = _flat(texts)

    def __call__(self, key: str, **values: object) -> str:
        """The text of a key."""
        text = self.texts[key]
        return text.format(**values) if values else text

    def maybe(self, key: str, otherwise: str) -> str:
        """The text of a key, or what else to say."""
        return self.texts.get(key, otherwise)

    def label(self, path: str, section: str) -> str:
        """A place in a file, told by the words of its keys: "heart filled at"; what has no word stays."""
        parts, told = path.split(" "), []
        while parts:
            for count in range(len(parts), 0, -1):
                known = self.texts.get(f"{section}.{' '.join(parts[:count])}")
                if known is not None or count == 1:
                    told.append(known if known is not None else parts[0])
                    parts = parts[count:]
                    break
        return ", ".join(told) if len(told) > 1 else told[0]


def _flat(texts: Mapping[str, Any], under: str = "") -> dict[str, str]:
    found: dict[str, str] = {}
    for key, value in texts.items():
        name = f"{under}{key}"
        if isinstance(value, Mapping):
            found |= _flat(value, f"{name}.")
        else:
            found[name] = str(value)
    return found


@cache
def words_of(language: str) -> Words:
    """The words of a language; English for one that is not known."""
    language = language if language in LANGUAGES else "en"
    folder = resources.files("demoule.web").joinpath("words")
    texts: dict[str, Any] = {}
    for name in sorted(entry.name for entry in folder.iterdir() if entry.is_file()):
        if name == f"{language}.toml" or (name.startswith(f"{language}-") and name.endswith(".toml")):
            texts |= tomllib.loads(folder.joinpath(name).read_text(encoding="utf-8"))
    return Words(language, texts)


@cache
def _phrases() -> tuple[re.Pattern[str], dict[str, str]]:
    phrases = {
        key.removeprefix("phrases."): value for key, value in words_of("fr").texts.items() if key.startswith("phrases.")
    }
    longest = sorted(phrases, key=len, reverse=True)
    return re.compile(r"(?<![\w-])(" + "|".join(re.escape(one) for one in longest) + r")(?![\w-])"), phrases


def drawing_in_french(svg: str) -> str:
    """A drawing whose words, and nothing else in it, are in French."""
    return re.sub(r">([^<>]+)<", lambda found: f">{in_french(found[1])}<", svg)


def in_french(text: str) -> str:
    """A short text of the numerics with its known phrases in French and a decimal comma; what a chef named stays."""
    pattern, phrases = _phrases()
    told = pattern.sub(lambda found: phrases[found[0]], text)
    return re.sub(r"(\d)\.(\d)", r"\1,\2", told)
