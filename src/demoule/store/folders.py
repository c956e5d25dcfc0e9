"""Documents out into a folder of files and in again, byte for byte."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING, Literal

from demoule.errors import BadInput, DemouleError
from demoule.store.slugs import slug_of
from demoule.store.texts import LARGEST
from demoule.store.trouble import NotThere
from demoule.store.values import By, Kind

if TYPE_CHECKING:
    from demoule.store.store import Store

__all__ = ["FOLDERS", "TakenIn", "give_out", "read_folder", "take_in", "write_folder"]

FOLDERS: Mapping[Kind, str] = {
    Kind.DESSERT: "desserts",
    Kind.KITCHEN: "kitchens",
    Kind.ORDERS: "orders",
    Kind.WEEK: "weeks",
}
"""The folder of each kind."""

_MOST_FILES = 5000
_ENDINGS = (".yaml", ".yml")

KindOf = Callable[[str, str], tuple[Kind, str]]
"""Text and file name to what it is and what it is called; raises what is wrong with it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenIn:
    """What became of one file.

    Parameters
    ----------
    became
        "new" document, a new "version", "unchanged", or "refused".
    trouble
        Why it was refused.
    """

    file: str
    became: Literal["new", "version", "unchanged", "refused"]
    kind: Kind | None = None
    slug: str = ""
    n: int = 0
    trouble: DemouleError | None = None


def give_out(store: Store, *, put_away: bool = False) -> dict[str, bytes]:
    """Every document as it stands: the path in the folder, and the bytes as they were typed."""
    return {
        f"{FOLDERS[head.kind]}/{head.slug}.yaml": store.documents.version(head.kind, head.slug, head.n).text.encode()
        for head in store.documents.heads(put_away=put_away)
    }


def take_in(store: Store, files: Mapping[str, bytes], by: By, *, kind_of: KindOf) -> tuple[TakenIn, ...]:
    """Take files in: a new document, or a new version of the one that bears the file's name.

    Parameters
    ----------
    kind_of
        Reads a text and says what it is and what it is called; what it raises refuses that file alone.
    """
    taken = []
    for file in sorted(files):
        try:
            taken.append(_take(store, file, files[file], by, kind_of))
        except DemouleError as trouble:
            taken.append(TakenIn(file=file, became="refused", trouble=trouble))
    return tuple(taken)


def _take(store: Store, file: str, data: bytes, by: By, kind_of: KindOf) -> TakenIn:
    try:
        text = data.decode("utf-8")  # a mark at the beginning is kept: it was typed
    except UnicodeDecodeError as error:
        number = data[: error.start].count(b"\n") + 1
        raise BadInput(
            "The file is not UTF-8 text.", where=f"{file}, line {number}", remedy="save it as UTF-8."
        ) from None
    kind, name = kind_of(text, file)
    slug = slug_of(PurePosixPath(file).stem)
    try:
        head = store.documents.head(kind, slug)
    except NotThere:
        made = store.documents.begin(kind, name, text, by, slug=slug)
        return TakenIn(file=file, became="new", kind=kind, slug=slug, n=made.n)
    version = store.documents.save(kind, slug, text, by, rev=head.rev, name=name, act="taken in")
    became: Literal["version", "unchanged"] = "unchanged" if version.n == head.n else "version"
    return TakenIn(file=file, became=became, kind=kind, slug=slug, n=version.n)


def read_folder(path: str | Path) -> dict[str, bytes]:
    """The YAML files of a folder and of the folders in it; links that lead elsewhere are not followed.

    Raises
    ------
    BadInput
        When it is no folder, or holds too much.
    """
    folder = Path(path)
    if not folder.is_dir():
        raise BadInput(f"{path} is not a folder.", remedy="name the folder that holds the YAML files.")
    found: dict[str, bytes] = {}
    for place, _, names in os.walk(folder):
        for name in sorted(names):
            file = Path(place) / name
            if not name.lower().endswith(_ENDINGS) or file.is_symlink() or not file.is_file():
                continue
            if len(found) == _MOST_FILES:
                raise BadInput(f"{path} holds more than {_MOST_FILES} files.", remedy="take in a part of it.")
            if file.stat().st_size > LARGEST:
                raise BadInput(f"{file} holds more than {LARGEST // 1000} kB.", remedy="take it out, or split it.")
            found[file.relative_to(folder).as_posix()] = file.read_bytes()
    return found


def write_folder(path: str | Path, files: Mapping[str, bytes]) -> None:
    """Write files into a folder; each is there whole or not at all."""
    folder = Path(path)
    for name, data in files.items():
        target = folder / name
        if not target.resolve().is_relative_to(folder.resolve()):
            raise BadInput(f"{name} lies outside of the folder.", remedy="give a path within it.")
        try:
            target.parent.mkdir(parents=True, exist_ok=True)
            part = target.with_name(f"{target.name}.part")
            part.write_bytes(data)
            part.replace(target)
        except OSError as error:
            raise BadInput(
                f"{target} cannot be written: {error.strerror}.", remedy="name a folder that you may write in."
            ) from None
