"""Who may do what: four roles, one table."""

from __future__ import annotations

import enum
from collections.abc import Mapping
from typing import TYPE_CHECKING

from demoule.store.trouble import NotAllowed

if TYPE_CHECKING:
    from demoule.store.people import Person

__all__ = ["PERMISSIONS", "Act", "Role", "may", "require"]


class Role(enum.StrEnum):
    """What a person is in the kitchen."""

    OWNER = "owner"
    CHEF = "chef"
    COOK = "cook"
    READER = "reader"


class Act(enum.StrEnum):
    """What can be allowed."""

    READ = "read"  # every screen, every paper
    RECORD = "record"  # ticks, weights, temperatures, lots
    DESIGN = "design"  # desserts: save, branch, restore, put away
    PLAN = "plan"  # orders and the week
    KITCHEN = "kitchen"  # moulds, rooms, machines, people's hours
    PRICES = "prices"
    PEOPLE = "people"  # accounts and roles
    AUDIT = "audit"  # read the trail
    CARRY = "carry"  # back-ups, everything at once


_READER = frozenset({Act.READ})
_COOK = _READER | {Act.RECORD}
_CHEF = _COOK | {Act.DESIGN, Act.PLAN, Act.KITCHEN, Act.PRICES}

PERMISSIONS: Mapping[Role, frozenset[Act]] = {
    Role.READER: _READER,
    Role.COOK: _COOK,
    Role.CHEF: _CHEF,
    Role.OWNER: frozenset(Act),
}
"""What each role includes; whatever is not in it is refused."""

_WORDS = {
    Act.READ: "look at this",
    Act.RECORD: "write into the log",
    Act.DESIGN: "change desserts",
    Act.PLAN: "change orders and the week",
    Act.KITCHEN: "change the kitchen",
    Act.PRICES: "change prices",
    Act.PEOPLE: "manage people",
    Act.AUDIT: "read the audit trail",
    Act.CARRY: "take or restore back-ups",
}


def may(role: Role, act: Act) -> bool:
    """Whether a role includes an act."""
    return act in PERMISSIONS[role]


def require(person: Person, act: Act) -> None:
    """Raise NotAllowed, with who could, unless the person may; a removed person may nothing."""
    if not person.removed and may(person.role, act):
        return
    least = next(role for role in (Role.READER, Role.COOK, Role.CHEF, Role.OWNER) if may(role, act))
    raise NotAllowed(
        f"{person.shown} ({person.role}) may not {_WORDS[act]}.",
        remedy=f"ask somebody who is {'an' if least is Role.OWNER else 'a'} {least}.",
    )
