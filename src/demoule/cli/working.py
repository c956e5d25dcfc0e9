"""`demoule work-up` and `demoule demo`: desserts worked up, shown as cards, and put on paper."""

from __future__ import annotations

import itertools
import json
import os
import re
import sys
import tempfile
import time
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from demoule.errors import BadInput, DemouleError, Mistake, Mistakes

if TYPE_CHECKING:
    from demoule.batch import Kitchen
    from demoule.dossier import Dossier
    from demoule.larder import Larder
    from demoule.units.showing import System
    from demoule.worked import Dessert

__all__ = ["work_up_demo", "work_up_files"]

_PATIENCE = 1.0  # s, after which progress is told


class _Progress:
    """Tells what is being computed once it takes longer than a second, on a terminal only."""

    def __init__(self, quiet: bool) -> None:
        self._begun = time.monotonic()
        self._shows = not quiet and sys.stderr.isatty()

    def tell(self, words: str) -> None:
        if self._shows and time.monotonic() - self._begun > _PATIENCE:
            print(f"\r\x1b[K{words} …", end="", file=sys.stderr, flush=True)

    def done(self) -> None:
        if self._shows:
            print("\r\x1b[K", end="", file=sys.stderr, flush=True)


def work_up_files(
    files: Sequence[Path],
    *,
    kitchen: Path | None,
    pieces: int | None,
    out: Path | None,
    paper: Literal["a4", "letter"],
    market: str | None,
    units: System,
    as_json: bool,
) -> int:
    """Work up the desserts of some files in one kitchen."""
    from demoule.files import read_desserts, read_kitchen
    from demoule.larder import standard_larder

    place = read_kitchen(kitchen) if kitchen else _kitchen_beside(files)
    larder: Larder = place.larder if place else standard_larder()
    desserts, origins = [], {}
    for file in files:
        for number, dessert in enumerate(read_desserts(file, larder, place)):
            if dessert.name in origins:
                raise BadInput(
                    f"Two desserts are called “{dessert.name}”: the second stands in {file}.",
                    remedy="give each its own name, or work them up one after the other.",
                )
            origins[dessert.name] = (file, number)
            desserts.append(dessert)
    if place is None:
        place = _plain_kitchen(larder)
    return _work_up(
        desserts,
        place,
        pieces=dict.fromkeys((d.name for d in desserts), pieces),
        out=out,
        paper=paper,
        market=market,
        units=units,
        as_json=as_json,
        demo=False,
        origins=origins,
    )


def work_up_demo(
    *, out: Path | None, paper: Literal["a4", "letter"], market: str | None, units: System, as_json: bool
) -> int:
    """Work up the demonstration."""
    from demoule.files import demo

    desserts, kitchen, orders = demo()
    if not as_json:
        print(f"{kitchen.name}: all desserts, people, orders and prices of this demonstration are invented.\n")
    needed = {dessert.name: orders.needed(dessert.name) for dessert in desserts}
    return _work_up(
        desserts, kitchen, pieces=needed, out=out, paper=paper, market=market, units=units, as_json=as_json, demo=True
    )


def _kitchen_beside(files: Sequence[Path]) -> Kitchen | None:
    from demoule.files import read_kitchen

    beside = [file.parent / "kitchen.yaml" for file in files]
    found = next((path for path in beside if path.is_file()), None)
    return read_kitchen(found) if found else None


def _plain_kitchen(larder: Larder) -> Kitchen:
    from demoule.batch import plain_kitchen

    return plain_kitchen(larder)


def _work_up(
    desserts: Iterable[Dessert],
    kitchen: Kitchen,
    *,
    pieces: Mapping[str, int | None],
    out: Path | None,
    paper: Literal["a4", "letter"],
    market: str | None,
    units: System,
    as_json: bool,
    demo: bool,
    origins: Mapping[str, tuple[Path, int]] | None = None,
) -> int:
    from demoule.dossier import as_json as dossier_as_json
    from demoule.dossier import dossier
    from demoule.worked import work_up

    progress = _Progress(quiet=as_json)
    dossiers: list[Dossier] = []
    for dessert in desserts:
        progress.tell(f"Working up {dessert.name}")
        try:
            worked = work_up(dessert, kitchen, pieces[dessert.name])
        except DemouleError as error:
            raise _in_file(error, (origins or {}).get(dessert.name)) from None
        dossiers.append(dossier(worked, market))
    written = []
    if out is not None:
        folders = _folder_names(made.worked.dessert.name for made in dossiers)
        for made in dossiers:
            name = made.worked.dessert.name
            progress.tell(f"Printing {name}")
            written += _write(made, out / folders[name], paper=paper, units=units)
    progress.done()
    if as_json:
        told = [dossier_as_json(made) for made in dossiers]
        print(json.dumps(told[0] if len(told) == 1 and not demo else told, ensure_ascii=False))
    else:
        from demoule.cli.showing import print_card

        for made in dossiers:
            print_card(made, units)
        for path in written:
            if path.suffix == ".pdf":
                print(f"Paper: {path}")
        if out is None:
            print("Add --out FOLDER for the PDF and the lists.")
    stopped = any(finding.severity == "stop" for made in dossiers for finding in made.findings)
    return 1 if stopped else 0


def _in_file(error: DemouleError, origin: tuple[Path, int] | None) -> DemouleError:
    """The error at its line and column, where the innermost place it names is written in the dessert's file."""
    from demoule.files import located

    if origin is None or not error.places or isinstance(error, Mistakes):
        return error
    file, number = origin
    place = located(file.read_text(encoding="utf-8-sig"), error.places[0], name=str(file), document=number)
    if (place.line, place.column) == (1, 1):
        return error
    told = Mistake(file=str(file), line=place.line, column=place.column, says=error.says, remedy=error.remedy)
    return Mistakes([told])


def _folder_names(desserts: Iterable[str]) -> dict[str, str]:
    """A folder for each dessert: its name in letters that every disk takes, with a number where two come out alike.

    Examples
    --------
    >>> _folder_names(["Pêche Melba", "peche-melba", "柚子", "🍑"])
    {'Pêche Melba': 'peche-melba', 'peche-melba': 'peche-melba-2', '柚子': '柚子', '🍑': 'dessert'}
    """
    found: dict[str, str] = {}
    for name in desserts:
        plain = "".join(c for c in unicodedata.normalize("NFKD", name.casefold()) if not unicodedata.combining(c))
        folder = re.sub(r"[\W_]+", "-", plain).strip("-") or "dessert"
        taken = set(found.values())
        found[name] = next(
            tried for k in itertools.count(1) if (tried := folder if k == 1 else f"{folder}-{k}") not in taken
        )
    return found


def _write(made: Dossier, folder: Path, *, paper: Literal["a4", "letter"], units: System) -> list[Path]:
    """The PDF, the lists and the JSON of one dessert; each file appears whole or not at all."""
    from demoule.dossier import as_json as dossier_as_json
    from demoule.sheets import csv_lists, dossier_pdf

    contents: dict[str, bytes] = {
        f"{folder.name}.pdf": dossier_pdf(made, paper=paper, system=units),
        f"{folder.name}.json": json.dumps(dossier_as_json(made), ensure_ascii=False, indent=1).encode(),
        **{name: text.encode("utf-8-sig") for name, text in csv_lists(made).items()},
    }
    try:
        folder.mkdir(parents=True, exist_ok=True)
        return [_whole(folder / name, data) for name, data in contents.items()]
    except OSError as error:
        raise BadInput(
            f"Nothing can be written into {folder}: {error.strerror or error}.",
            remedy="name a folder that may be written, with room on its disk.",
        ) from None


def _whole(path: Path, data: bytes) -> Path:
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(handle, "wb") as opened:
            opened.write(data)
        Path(name).chmod(0o644)
        Path(name).replace(path)
    except OSError:
        Path(name).unlink(missing_ok=True)
        raise
    return path
