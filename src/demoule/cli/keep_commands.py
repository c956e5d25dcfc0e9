"""`demoule keep …` and `demoule people …`: what can be typed; the work is done elsewhere, and loaded when asked for."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

__all__ = ["keep", "people"]

keep = typer.Typer(
    name="keep",
    help="What is kept: versions of desserts, kitchens and order books; back-ups.",
    no_args_is_help=True,
    rich_markup_mode=None,
)
people = typer.Typer(name="people", help="Who may sign in, and as what.", no_args_is_help=True, rich_markup_mode=None)

Database = Annotated[
    str | None,
    typer.Option(
        "--database", help="A file, or postgresql://user@host/database; else DEMOULE_DATABASE, else a file of yours."
    ),
]
Who = Annotated[str | None, typer.Option("--who", help="Who does it; else your name on this machine.")]
Why = Annotated[str, typer.Option("--why", help="Why, in your words.")]
KindOption = Annotated[
    str | None, typer.Option("--kind", help="dessert, kitchen, orders or week; needed where two share a short name.")
]
Slug = Annotated[str, typer.Argument(help="Short name, as in the list.")]
Json = Annotated[bool, typer.Option("--json", help="Print the answer as JSON.")]
Name = Annotated[str, typer.Argument(help="The name that is typed to sign in.")]
Temporary = Annotated[
    bool, typer.Option("--temporary", help="Make a password, print it once, and have it changed at the next sign-in.")
]
FromInput = Annotated[bool, typer.Option("--password-from-input", help="Read the password from what is piped in.")]


@keep.command("list")
def list_kept(
    kind: KindOption = None,
    put_away: Annotated[bool, typer.Option("--all", help="Also what was put away.")] = False,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """List what is kept."""
    from demoule.cli.keeping import show_list

    show_list(database, kind=kind, put_away=put_away, as_json=as_json)


@keep.command("history")
def history(slug: Slug, kind: KindOption = None, database: Database = None, as_json: Json = False) -> None:
    """List the versions of one document: who, when, why."""
    from demoule.cli.keeping import show_history

    show_history(database, slug, kind=kind, as_json=as_json)


@keep.command("show")
def show(
    slug: Slug,
    version: Annotated[int | None, typer.Option("--version", help="Its number; else the one that stands.")] = None,
    kind: KindOption = None,
    database: Database = None,
) -> None:
    """Print one version, byte for byte as it was typed."""
    from demoule.cli.keeping import show_version

    show_version(database, slug, version, kind=kind)


@keep.command("compare")
def compare(
    slug: Slug,
    before: Annotated[int, typer.Argument(help="Number of the older version.")],
    after: Annotated[int | None, typer.Argument(help="Number of the newer one; else the one that stands.")] = None,
    figures: Annotated[bool, typer.Option("--figures", help="Work both up and tell each figure that moved.")] = False,
    kitchen: Annotated[
        str | None, typer.Option("--kitchen", help="Short name of the kitchen to work them up in.")
    ] = None,
    kind: KindOption = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Tell what moved between two versions: lines of the text, or figures of the answer."""
    from demoule.cli.keeping import show_comparison

    show_comparison(database, slug, before, after, figures=figures, kitchen=kitchen, kind=kind, as_json=as_json)


@keep.command("take-in")
def take_in(
    paths: Annotated[list[Path], typer.Argument(help="YAML files, or folders of them.")],
    who: Who = None,
    why: Why = "",
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Take files in: new documents, or new versions of those that bear their names."""
    from demoule.cli.keeping import take_files_in

    raise typer.Exit(take_files_in(database, paths, who=who, why=why, as_json=as_json))


@keep.command("give-out")
def give_out(
    folder: Annotated[Path, typer.Argument(help="Folder to write into.")],
    put_away: Annotated[bool, typer.Option("--all", help="Also what was put away.")] = False,
    database: Database = None,
) -> None:
    """Write every document into a folder, byte for byte as it was typed."""
    from demoule.cli.keeping import give_files_out

    give_files_out(database, folder, put_away=put_away)


@keep.command("bring-back")
def bring_back(
    slug: Slug,
    version: Annotated[int, typer.Argument(help="Number of the version whose text shall stand again.")],
    kind: KindOption = None,
    who: Who = None,
    why: Why = "",
    database: Database = None,
) -> None:
    """Let an old version stand again, as a new one."""
    from demoule.cli.keeping import bring_version_back

    bring_version_back(database, slug, version, kind=kind, who=who, why=why)


@keep.command("branch")
def branch(
    slug: Slug,
    name: Annotated[str, typer.Argument(help="Name of the new document.")],
    version: Annotated[int | None, typer.Option("--version", help="Number to begin from; else what stands.")] = None,
    kind: KindOption = None,
    who: Who = None,
    why: Why = "",
    database: Database = None,
) -> None:
    """Begin a new document from a version of another: try it with honey."""
    from demoule.cli.keeping import branch_off

    branch_off(database, slug, name, version, kind=kind, who=who, why=why)


@keep.command("put-away")
def put_away(
    slug: Slug,
    back: Annotated[bool, typer.Option("--back", help="Bring it back into the list.")] = False,
    kind: KindOption = None,
    who: Who = None,
    why: Why = "",
    database: Database = None,
) -> None:
    """Take a document out of the list; its versions stay."""
    from demoule.cli.keeping import put_document_away

    put_document_away(database, slug, back=back, kind=kind, who=who, why=why)


@keep.command("back-up")
def back_up(
    file: Annotated[Path, typer.Argument(help="A new file; it is never written over an old one.")],
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Write everything into one file, and read it back."""
    from demoule.cli.keeping import write_back_up

    write_back_up(database, file, as_json=as_json)


@keep.command("check")
def check(
    file: Annotated[Path, typer.Argument(help="A back-up.")],
    as_json: Json = False,
) -> None:
    """Read a back-up from end to end and tell whether it is whole."""
    from demoule.cli.keeping import check_back_up

    check_back_up(file, as_json=as_json)


@keep.command("restore")
def restore(
    file: Annotated[Path, typer.Argument(help="A back-up, made from either kind of database.")],
    replace: Annotated[
        bool, typer.Option("--replace", help="Take the place of what is there, which is backed up first.")
    ] = False,
    who: Who = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Bring a back-up into a database, and compare it row by row."""
    from demoule.cli.keeping import restore_back_up

    restore_back_up(database, file, who=who, replace=replace, as_json=as_json)


@keep.command("where")
def where(database: Database = None, as_json: Json = False) -> None:
    """Tell where everything is kept, and how much of it there is."""
    from demoule.cli.keeping import show_where

    show_where(database, as_json=as_json)


@people.command("add")
def add(
    name: Name,
    role: Annotated[
        str | None, typer.Option("--role", help="owner, chef, cook or reader; the first person is the owner.")
    ] = None,
    shown: Annotated[str, typer.Option("--shown", help="The name that others read.")] = "",
    temporary: Temporary = False,
    from_input: FromInput = False,
    who: Who = None,
    database: Database = None,
) -> None:
    """Let somebody sign in."""
    from demoule.cli.accounts import add_person

    add_person(database, name, role, shown=shown, temporary=temporary, from_input=from_input, who=who)


@people.command("reset")
def reset(
    name: Name, temporary: Temporary = False, from_input: FromInput = False, who: Who = None, database: Database = None
) -> None:
    """Give somebody a new password, end their sessions and any wait."""
    from demoule.cli.accounts import reset_password

    reset_password(database, name, temporary=temporary, from_input=from_input, who=who)


@people.command("role")
def role(
    name: Name,
    new: Annotated[str, typer.Argument(help="owner, chef, cook or reader.")],
    who: Who = None,
    database: Database = None,
) -> None:
    """Give somebody another role."""
    from demoule.cli.accounts import change_role

    change_role(database, name, new, who=who)


@people.command("list")
def list_people(database: Database = None, as_json: Json = False) -> None:
    """List who may sign in."""
    from demoule.cli.accounts import show_people

    show_people(database, as_json=as_json)


@people.command("remove")
def remove(name: Name, who: Who = None, database: Database = None) -> None:
    """Let somebody sign in no more; what they wrote stays."""
    from demoule.cli.accounts import remove_person

    remove_person(database, name, who=who)


@people.command("trail")
def trail(
    most: Annotated[int, typer.Option("--most", help="How many acts to show.", min=1, max=10_000)] = 40,
    who: Annotated[str | None, typer.Option("--who", help="Only what this person did.")] = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Show who did what, the latest first."""
    from demoule.cli.accounts import show_trail

    show_trail(database, most=most, who=who, as_json=as_json)
