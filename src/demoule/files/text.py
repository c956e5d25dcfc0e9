"""Bytes of a file to text: refused by size first, then by what is not UTF-8 text, one clear message each."""

from __future__ import annotations

import codecs
from pathlib import Path

from demoule.errors import Mistake, Mistakes

__all__ = ["LARGEST", "bounded", "read_text", "text_of"]

LARGEST = 200_000
"""Bytes; a file of thirty desserts is smaller, and a greater one would keep a person waiting."""

_MARKS = (
    (codecs.BOM_UTF32_LE, "UTF-32"),
    (codecs.BOM_UTF32_BE, "UTF-32"),
    (codecs.BOM_UTF16_LE, "UTF-16"),
    (codecs.BOM_UTF16_BE, "UTF-16"),
)
_SAVE_AS = "open it in an editor and save it as UTF-8 text."


def read_text(path: str | Path) -> str:
    """The text of a file on disk.

    Raises
    ------
    Mistakes
        When it is not there, too large, or not UTF-8 text; the size is looked at before anything is read.
    """
    place = Path(path)
    name = str(path)
    try:
        size = place.stat().st_size
        if place.is_dir():
            raise _wrong(name, "This is a folder, not a file.", "name a file in it.")
        if size > LARGEST:
            raise _too_large(name, size)
        with place.open("rb") as stream:
            data = stream.read(LARGEST + 1)
    except FileNotFoundError:
        raise _wrong(name, "There is no such file.", "check its name and folder.") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "its name cannot be used"
        raise _wrong(name, f"The file cannot be read: {reason}.", "check that you may open it.") from None
    return text_of(data, name)


def text_of(data: bytes, name: str) -> str:
    """The text in the bytes of a file that is called `name`; raises Mistakes as `read_text` does."""
    if len(data) > LARGEST:
        raise _too_large(name, len(data))
    for mark, called in _MARKS:
        if data.startswith(mark):
            raise _wrong(name, f"The file is written in {called}; UTF-8 is expected.", _SAVE_AS)
    if data.count(0):
        called = "UTF-16" if data.count(0) * 3 >= len(data) else ""
        says = f"The file is written in {called}; UTF-8 is expected." if called else "This is not a text file."
        raise _wrong(name, says, _SAVE_AS if called else "give the file in which the dessert is written.")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise _not_utf8(data, error.start, name) from None
    for number, line in enumerate(text.splitlines(), 1):
        for column, sign in enumerate(line, 1):
            if (sign < " " and sign != "\t") or "\x7f" <= sign <= "\x9f" or sign in "\ufffe\uffff":
                says = f"A sign that no text holds (number {ord(sign)}) stands here; this may not be a text file."
                raise _wrong(name, says, "take the sign out.", line=number, column=column)
    return text


def bounded(text: str, name: str) -> str:
    """A text that came by another way than a file, unless it is larger than a file may be; raises Mistakes."""
    if len(text) > LARGEST or (4 * len(text) > LARGEST and len(text.encode("utf-8", "replace")) > LARGEST):
        raise _too_large(name, len(text.encode("utf-8", "replace")))
    return text


def _not_utf8(data: bytes, at: int, name: str) -> Mistakes:
    before = data[:at]
    line = before.count(b"\n") + 1
    column = len(before[before.rfind(b"\n") + 1 :].decode("utf-8-sig", "replace")) + 1
    if data[:4] in (b"%PDF", b"PK\x03\x04", b"\x89PNG", b"\xff\xd8\xff\xe0", b"\x1f\x8b\x08\x00"):
        return _wrong(name, "This is not a text file.", "give the file in which the dessert is written.")
    meant = bytes([data[at]]).decode("latin-1")
    says = f"The file is not UTF-8: byte {data[at]:#04x} stands here"
    says += f", which is “{meant}” in an older encoding (Latin-1)." if data[at] >= 0xA0 else "."
    return _wrong(name, says, _SAVE_AS, line=line, column=column)


def _too_large(name: str, size: int) -> Mistakes:
    says = f"The file holds {_bytes(size)}; at most {_bytes(LARGEST)} are read."
    return _wrong(name, says, "give the file in which the dessert is written, or put fewer desserts into one.")


def _bytes(size: int) -> str:
    return f"{size / 1e6:.3g} MB" if size >= 1e6 else f"{size / 1e3:.0f} kB"


def _wrong(name: str, says: str, remedy: str, *, line: int = 1, column: int = 1) -> Mistakes:
    return Mistakes([Mistake(file=name, line=line, column=column, says=says, remedy=remedy)])
