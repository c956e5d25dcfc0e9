"""`demoule people`: accounts, from the machine itself; whoever may run this here may do it."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

import typer

from demoule.cli.keeping import by_me, print_json
from demoule.errors import BadInput, UnknownName

if TYPE_CHECKING:
    from demoule.store import Role

__all__ = ["add_person", "change_role", "remove_person", "reset_password", "show_people", "show_trail"]


def _role(word: str) -> Role:
    from demoule.store import Role

    try:
        return Role(word)
    except ValueError:
        raise UnknownName("role", word, [str(role) for role in Role]) from None


def _password(*, temporary: bool, from_input: bool) -> str:
    from demoule.store import SHORTEST, temporary_password

    if temporary and from_input:
        raise BadInput("A password cannot be made and read at once.", remedy="leave one of the two out.")
    if temporary:
        return temporary_password()
    if from_input or not sys.stdin.isatty():
        typed = sys.stdin.readline().rstrip("\r\n")
        if not typed:
            raise BadInput("No password came in.", remedy="pipe it in, type it, or say --temporary.")
        return typed
    asked: str = typer.prompt(
        f"Password, {SHORTEST} signs or more", hide_input=True, confirmation_prompt=True, err=True
    )
    return asked


def _tell(password: str, *, temporary: bool) -> None:
    if temporary:
        print(f"Password, shown this once and to be changed at the next sign-in: {password}")


def add_person(
    database: str | None,
    name: str,
    role: str | None,
    *,
    shown: str,
    temporary: bool,
    from_input: bool,
    who: str | None,
) -> None:
    """Let somebody sign in; the first person is an owner, so that somebody can manage the others."""
    from demoule.store import Role, open_store

    with open_store(database) as store:
        first = not any(person.role is Role.OWNER for person in store.people.list())
        given = _role(role) if role else (Role.OWNER if first else Role.COOK)
        if first and given is not Role.OWNER:
            raise BadInput("Nobody is an owner yet.", remedy="add the owner first.")
        password = _password(temporary=temporary, from_input=from_input)
        person = store.people.add(name, given, password, by_me(who), shown=shown, must_change=temporary)
    print(f"{person.name} may sign in as {person.role}.")
    _tell(password, temporary=temporary)


def reset_password(database: str | None, name: str, *, temporary: bool, from_input: bool, who: str | None) -> None:
    """Give somebody a new password."""
    from demoule.store import open_store

    with open_store(database) as store:
        person = store.people.get(name)
        password = _password(temporary=temporary, from_input=from_input)
        store.people.set_password(name, password, by_me(who), must_change=temporary)
    print(f"{person.name} has a new password and is signed out everywhere.")
    _tell(password, temporary=temporary)


def change_role(database: str | None, name: str, new: str, *, who: str | None) -> None:
    """Give somebody another role."""
    from demoule.store import open_store

    with open_store(database) as store:
        person = store.people.change_role(name, _role(new), by_me(who))
    print(f"{person.name} is {person.role} now, and has to sign in again.")


def remove_person(database: str | None, name: str, *, who: str | None) -> None:
    """Let somebody sign in no more."""
    from demoule.store import open_store

    with open_store(database) as store:
        store.people.remove(name, by_me(who))
    print(f"{name} can sign in no more.")


def show_people(database: str | None, *, as_json: bool) -> None:
    """Print who may sign in."""
    from demoule.store import open_store

    with open_store(database) as store:
        everybody = store.people.list()
    if as_json:
        print_json(everybody)
        return
    for person in everybody:
        shown = f"  {person.shown}" if person.shown != person.name else ""
        must = "  (has to change the password)" if person.must_change else ""
        print(f"{person.name:<24} {person.role:<8}{shown}{must}")
    if not everybody:
        print("Nobody yet. Add the owner: demoule people add NAME")


def show_trail(database: str | None, *, most: int, who: str | None, as_json: bool) -> None:
    """Print who did what, the latest first."""
    from demoule.store import open_store

    with open_store(database) as store:
        traces = store.audit.list(most=most, who=who)
    if as_json:
        print_json(traces)
        return
    for one in traces:
        why = f": {one.details['why']}" if "why" in one.details else ""
        print(f"{one.at.astimezone():%Y-%m-%d %H:%M:%S}  {one.who:<20} {one.act:<16} {one.what}{why}")
