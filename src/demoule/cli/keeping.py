"""`demoule keep`: the memory from a terminal, and the clock that it is given."""

from __future__ import annotations

import dataclasses
import getpass
import json
import sys
from collections.abc import Iterable, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from demoule.errors import BadInput, UnknownName

if TYPE_CHECKING:
    from demoule.batch import Kitchen
    from demoule.dossier import Dossier
    from demoule.store import By, Comparison, Head, Kept, Kind, Store

__all__ = [
    "branch_off",
    "bring_version_back",
    "by_me",
    "check_back_up",
    "give_files_out",
    "now",
    "print_json",
    "put_document_away",
    "restore_back_up",
    "show_comparison",
    "show_history",
    "show_list",
    "show_version",
    "show_where",
    "take_files_in",
    "write_back_up",
]


def now() -> datetime:
    """The moment, in UTC, to the microsecond."""
    return datetime.now(UTC)


def by_me(who: str | None, why: str = "") -> By:
    """Who does it: as told, else the name on this machine."""
    from demoule.store import By

    if who is None:
        try:
            who = getpass.getuser()
        except (KeyError, OSError):
            raise BadInput("It is not known who you are on this machine.", remedy="say --who NAME.") from None
    return By(who=who, at=now(), why=why)


def print_json(value: object) -> None:
    """One line of JSON; moments as ISO 8601."""

    def plain(one: Any) -> Any:
        if dataclasses.is_dataclass(one) and not isinstance(one, type):
            return {field.name: getattr(one, field.name) for field in dataclasses.fields(one)}
        return str(one.isoformat() if hasattr(one, "isoformat") else one)

    print(json.dumps(value, ensure_ascii=False, default=plain))


def _kind(word: str | None) -> Kind | None:
    from demoule.store import Kind

    if word is None:
        return None
    try:
        return Kind(word)
    except ValueError:
        raise UnknownName("kind of document", word, [str(kind) for kind in Kind]) from None


def _head(store: Store, slug: str, kind: str | None) -> Head:
    """The document of a short name, whatever its kind; asked for when two share it."""
    from demoule.store import Kind, NotThere

    found = []
    for one in Kind if kind is None else [_kind(kind)]:
        assert one is not None  # `kind` is given here
        try:
            found.append(store.documents.head(one, slug))
        except NotThere:
            continue
    if not found:
        raise UnknownName("document", slug, [head.slug for head in store.documents.heads(put_away=True)])
    if len(found) > 1:
        raise BadInput(
            f"“{slug}” is a {' and a '.join(head.kind for head in found)}.", remedy=f"say --kind {found[0].kind}."
        )
    return found[0]


def _moment(at: datetime) -> str:
    return at.astimezone().strftime("%Y-%m-%d %H:%M")


def show_list(database: str | None, *, kind: str | None, put_away: bool, as_json: bool) -> None:
    """Print what is kept."""
    from demoule.store import open_store

    with open_store(database) as store:
        heads = store.documents.heads(_kind(kind), put_away=put_away)
    if as_json:
        print_json(heads)
        return
    for head in heads:
        away = "  (put away)" if head.put_away else ""
        of = f"  (from {head.branch_of}, version {head.branch_of_n})" if head.branch_of else ""
        print(f"{head.kind:<8} {head.slug:<28} {head.name}{of}{away}")
        print(f"{'':<8} version {head.n}, {_moment(head.at)}, {head.who}{': ' + head.why if head.why else ''}")
    if not heads:
        print("Nothing is kept yet. Take files in: demoule keep take-in FILE")


def show_history(database: str | None, slug: str, *, kind: str | None, as_json: bool) -> None:
    """Print the versions of a document, the newest first."""
    from demoule.store import open_store

    with open_store(database) as store:
        head = _head(store, slug, kind)
        versions = store.documents.history(head.kind, slug)
    if as_json:
        told = [dataclasses.asdict(version) for version in versions]
        for one in told:
            del one["text"]
        print_json(told)
        return
    print(f"{head.name} ({head.kind})")
    for version in versions:
        of = f" from {version.parent}" if version.parent and version.parent != version.n - 1 else ""
        why = f": {version.why}" if version.why else ""
        print(f"{version.n:>5}  {_moment(version.at)}  {version.act}{of} by {version.who}{why}")


def show_version(database: str | None, slug: str, n: int | None, *, kind: str | None) -> None:
    """Write one version to the output, byte for byte."""
    from demoule.store import open_store

    with open_store(database) as store:
        text = store.documents.version(_head(store, slug, kind).kind, slug, n).text
    sys.stdout.flush()
    sys.stdout.buffer.write(text.encode())
    sys.stdout.buffer.flush()


def show_comparison(
    database: str | None,
    slug: str,
    before: int,
    after: int | None,
    *,
    figures: bool,
    kitchen: str | None,
    kind: str | None,
    as_json: bool,
) -> None:
    """Print what moved between two versions."""
    from demoule.store import Kind, lines_moved, open_store

    with open_store(database) as store:
        head = _head(store, slug, kind)
        texts = [store.documents.version(head.kind, slug, n).text for n in (before, after)]
        if figures:
            if head.kind is not Kind.DESSERT:
                raise BadInput(f"{head.name} is no dessert and has no figures.", remedy="leave --figures out.")
            place = _kitchen(store, kitchen)
    if figures:
        _print_figures(texts, slug, place, as_json=as_json)
        return
    lines = lines_moved(*texts)
    if as_json:
        print_json([line for line in lines if line.kind != "same"])
        return
    signs = {"same": " ", "gone": "-", "come": "+"}
    near = [any(other.kind != "same" for other in lines[max(0, i - 2) : i + 3]) for i in range(len(lines))]
    for line, shown in zip(lines, near, strict=True):
        if shown:
            print(f"{line.before or '':>5} {line.after or '':>5} {signs[line.kind]} {line.text.rstrip()}")
    if not any(near):
        print("Both versions are the same.")


def _kitchen(store: Store, slug: str | None) -> Kitchen:
    from demoule.batch import plain_kitchen
    from demoule.files import kitchen_of
    from demoule.larder import standard_larder
    from demoule.store import Kind

    if slug is None:
        kept = store.documents.heads(Kind.KITCHEN)
        if len(kept) > 1:
            raise BadInput(f"{len(kept)} kitchens are kept.", remedy="say which: --kitchen SHORT-NAME.")
        if not kept:
            return plain_kitchen(standard_larder())
        slug = kept[0].slug
    text = store.documents.version(Kind.KITCHEN, slug).text
    return kitchen_of(text.removeprefix("\ufeff"), slug, standard_larder())


def _print_figures(texts: Sequence[str], slug: str, kitchen: Kitchen, *, as_json: bool) -> None:
    from demoule.dossier import dossier
    from demoule.files import desserts_of
    from demoule.store import figures_moved
    from demoule.worked import work_up

    made: list[dict[str, Dossier]] = []
    for text in texts:
        desserts = desserts_of(text.removeprefix("\ufeff"), slug, kitchen.larder, kitchen)
        made.append({one.name: dossier(work_up(one, kitchen)) for one in desserts})
    shared = [name for name in made[1] if name in made[0]]
    if not shared and len(made[0]) == len(made[1]) == 1:  # it was renamed
        (before,), (after,) = made[0].values(), made[1].values()
        moved = {after.worked.dessert.name: figures_moved(before, after)}
    else:
        moved = {name: figures_moved(made[0][name], made[1][name]) for name in shared}
    if as_json:
        print_json(moved)
        return
    for name, comparison in moved.items():
        print(f"── {name} ".ljust(96, "─"))
        _print_comparison(comparison)


def _print_comparison(moved: Comparison) -> None:
    from demoule.cli.showing import print_findings, shown_figure

    for one in moved.figures:
        if not one.visible:
            continue
        ends = ["–" if end is None else shown_figure(end, "metric") for end in (one.before, one.after)]
        mark = "  (beyond both ranges)" if one.beyond_band and one.before and one.after else ""
        print(f"  {one.of}, {one.name}: {ends[0]} → {ends[1]}{mark}")
    for words in moved.label:
        print(f"  label, {words.what}: {words.before or '–'} → {words.after or '–'}")
    for heading, findings in (("New findings", moved.findings_come), ("Findings gone", moved.findings_gone)):
        if findings:
            print(f"{heading}:")
            print_findings(findings)
    if moved.nothing:
        print("  Nothing moved.")


def take_files_in(database: str | None, paths: Iterable[Path], *, who: str | None, why: str, as_json: bool) -> int:
    """Take files and folders in; gives 2 when any was refused."""
    from demoule.files import described
    from demoule.store import Kind, open_store, read_folder, take_in

    def kind_of(text: str, name: str) -> tuple[Kind, str]:
        kind, called = described(text, name)
        return Kind(kind), called

    files: dict[str, bytes] = {}
    for path in paths:
        if path.is_dir():
            files |= {str(path / name): data for name, data in read_folder(path).items()}
            continue
        try:
            files[str(path)] = path.read_bytes()
        except OSError as error:
            raise BadInput(f"{path} cannot be read: {error.strerror}.", remedy="check its name and folder.") from None
    with open_store(database) as store:
        taken = take_in(store, files, by_me(who, why), kind_of=kind_of)
    if as_json:
        print_json([{**dataclasses.asdict(one), "trouble": str(one.trouble or "")} for one in taken])
    else:
        for one in taken:
            if one.trouble is not None:
                print(f"{one.file}: not taken in.\n{one.trouble}", file=sys.stderr)
                continue
            words = {"new": "new", "version": "a new version", "unchanged": "unchanged"}[one.became]
            print(f"{one.file}: {one.kind} {one.slug}, version {one.n}, {words}")
    return 2 if any(one.trouble for one in taken) else 0


def give_files_out(database: str | None, folder: Path, *, put_away: bool) -> None:
    """Write every document into a folder."""
    from demoule.store import give_out, open_store, write_folder

    with open_store(database) as store:
        files = give_out(store, put_away=put_away)
    write_folder(folder, files)
    for name in files:
        print(folder / name)


def bring_version_back(database: str | None, slug: str, n: int, *, kind: str | None, who: str | None, why: str) -> None:
    """Let an old version stand again."""
    from demoule.store import open_store

    with open_store(database) as store:
        head = _head(store, slug, kind)
        made = store.documents.restore(head.kind, slug, n, by_me(who, why), rev=head.rev)
    same = made.n == head.n
    print(
        f"{made.name}: version {n} stands already." if same else f"{made.name}: version {made.n} is version {n} again."
    )


def branch_off(
    database: str | None, slug: str, name: str, n: int | None, *, kind: str | None, who: str | None, why: str
) -> None:
    """Begin a new document from a version of another."""
    from demoule.store import open_store

    with open_store(database) as store:
        head = _head(store, slug, kind)
        made = store.documents.branch(head.kind, slug, name, by_me(who, why), n=n)
    print(f"{made.name} ({made.slug}) begins from {head.name}, version {n or head.n}.")


def put_document_away(
    database: str | None, slug: str, *, back: bool, kind: str | None, who: str | None, why: str
) -> None:
    """Take a document out of the list, or bring it back."""
    from demoule.store import open_store

    with open_store(database) as store:
        head = _head(store, slug, kind)
        store.documents.put_away(head.kind, slug, by_me(who, why), rev=head.rev, away=not back)
    print(f"{head.name} is {'back in the list' if back else 'put away; its versions stay'}.")


def _print_kept(kept: Kept, words: str, *, as_json: bool) -> None:
    if as_json:
        print_json(kept)
        return
    rows = ", ".join(f"{number} {name.replace('_', ' ')}" for name, number in kept.rows.items() if number)
    print(f"{words} Rows: {rows or 'none'}. Made {_moment(kept.made)}, form {kept.form}, SHA-256 {kept.digest[:16]}…")


def write_back_up(database: str | None, file: Path, *, as_json: bool) -> None:
    """Back everything up and read it back."""
    from demoule.store import back_up, open_store

    with open_store(database) as store:
        kept = back_up(store, file, at=now())
    _print_kept(kept, f"{file} was written and read back whole.", as_json=as_json)


def check_back_up(file: Path, *, as_json: bool) -> None:
    """Read a back-up from end to end."""
    from demoule.store import verify

    _print_kept(verify(file), f"{file} is whole.", as_json=as_json)


def restore_back_up(database: str | None, file: Path, *, who: str | None, replace: bool, as_json: bool) -> None:
    """Bring a back-up into a database; what stood there is backed up beside the back-up first."""
    from demoule.store import restore

    by = by_me(who)
    before = file.with_name(f"{file.name}.replaced-{by.at:%Y%m%dT%H%M%SZ}") if replace else None
    kept = restore(database, file, by, replace=replace, keep=before)
    words = f"{file} was restored and compared row by row."
    if before is not None and before.exists():
        words += f" What stood there before is in {before}."
    _print_kept(kept, words, as_json=as_json)


def show_where(database: str | None, *, as_json: bool) -> None:
    """Print where everything is kept."""
    from demoule.store import open_store

    with open_store(database) as store:
        rows = store.kept()
        address = store.address
    if as_json:
        print_json({"database": address, "rows": rows})
        return
    print(address)
    for name, number in rows.items():
        if number:
            print(f"  {name.replace('_', ' '):<12} {number:>8}")
