"""The components of a dessert as turns at the bench: what hands do before, between and after the long waits."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from demoule.batch import NeedOf
from demoule.formula import (
    Bake,
    Blanch,
    Blend,
    Boil,
    Candy,
    Component,
    Cook,
    Cooked,
    Cool,
    Fold,
    Freeze,
    Heat,
    Hydrate,
    Rest,
    SetGel,
    Wait,
    Whip,
)
from demoule.formula.component import Step
from demoule.formula.hands import hands_on
from demoule.units import Kelvin, Second

__all__ = ["LONG", "Turn", "turns"]

LONG: Second = 45 * 60.0
"""A shorter wait is bridged by the person who began it, or added to the time until the next use."""

KEEPS: Second = 48 * 3600.0
"""The longest that a component stands in the cold before it is used, when its recipe does not say (practice)."""

_LATE = 0.25  # a wait that must end is ended within so much of it
_LEAST: Second = 300.0
_WAITING: dict[type, frozenset[str]] = {
    Hydrate: frozenset({"hydrate"}),
    Candy: frozenset({"candy"}),
    Cool: frozenset({"cool"}),
    SetGel: frozenset({"set"}),
    Rest: frozenset({"rest"}),
    Bake: frozenset({"bake", "cool"}),
    Freeze: frozenset({"freeze"}),
}
_WORKS = (Whip, Fold, Blend, Bake, Heat, Boil, Cook, Blanch)


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """One turn at the bench with one component.

    Parameters
    ----------
    does
        In a chef's words.
    seconds
        Hands-on, all makings of the lot.
    at_least, at_most
        The wait after it; `at_most` None: as long as it keeps.
    at
        Temperature of the wait [K].
    whips
        Whether air goes in, so that it must be used at once.
    hot, bakes
        Whether it needs the hob, or the oven.
    """

    component: str
    does: str
    seconds: Second
    at_least: Second = 0.0
    at_most: Second | None = None
    at: Kelvin | None = None
    whips: bool = False
    hot: bool = False
    bakes: bool = False


def turns(component: Component, cooked: Cooked, need: NeedOf) -> tuple[Turn, ...]:
    """The turns of one component for all its makings of a lot, in order.

    The work of a component is split at its long waits: what follows a wait counts by the same habit of the trade as
    the whole, and what comes first is the rest of it. A wait in which something goes on that must be stopped (fruit
    in hot syrup) ends in a visit.
    """
    total = need.hands_on * need.makings
    pieces = list(_pieces(component.steps, cooked.waits))
    seconds = [
        max(hands_on(replace(component, steps=tuple(steps), weighed=())) * need.makings, _LEAST) for steps, _ in pieces
    ]
    seconds[0] = max(total - sum(seconds[1:]), _LEAST)
    made = []
    for k, (steps, wait) in enumerate(pieces):
        made.append(
            Turn(
                component=component.name,
                does=_words(component, steps, pieces[k - 1][1] if k else None, last=k == len(pieces) - 1),
                seconds=seconds[k],
                at_least=wait.at_least if wait else 0.0,
                at_most=_longest(wait),
                at=wait.temperature if wait else None,
                whips=any(isinstance(step, Whip | Fold) for step in steps),
                hot=any(isinstance(step, Heat | Boil | Cook | Blanch) for step in steps),
                bakes=any(isinstance(step, Bake) for step in steps),
            )
        )
    return tuple(made)


def _pieces(steps: Sequence[Step], waits: Sequence[Wait]) -> Iterator[tuple[list[Step], Wait | None]]:
    """Steps up to each long wait, with that wait; short ones at the end are the last piece's."""
    left = list(waits)
    here: list[Step] = []
    short = 0.0
    for step in steps:
        here.append(step)
        if isinstance(step, _WORKS):
            short = 0.0  # a short wait before more work is bridged by it
        while left and left[0].what in _WAITING.get(type(step), frozenset()):
            wait = left.pop(0)
            if wait.at_least < LONG:
                short += wait.at_least
                continue
            yield here, wait
            here, short = [], 0.0
    tail = [step for step in here if isinstance(step, _WORKS)]
    # After the last wait nothing may be left to do; then the wait stands before whatever uses the component.
    if tail or here or short or not steps:
        last = None if short == 0 else Wait(what="stand", at_least=short, at_most=None, temperature=295.15)
        yield here, last


def _longest(wait: Wait | None) -> Second | None:
    if wait is None:
        return None
    if wait.at_most is not None:
        return max(wait.at_most, wait.at_least)
    if wait.what == "candy":  # the syrup is hot: somebody takes it off
        return wait.at_least * (1 + _LATE)
    return max(KEEPS, 2 * wait.at_least)


_VERBS: tuple[tuple[tuple[type, ...], str], ...] = (
    ((Candy,), "Candy"),
    ((Bake,), "Bake"),
    ((Whip,), "Whip"),
    ((Fold,), "Fold"),
    ((Cook, Boil), "Boil"),
    ((Heat,), "Melt and mix"),
    ((Blend,), "Blend"),
)


def _words(component: Component, steps: Sequence[Step], before: Wait | None, *, last: bool) -> str:
    for kinds, verb in _VERBS:
        if any(isinstance(step, kinds) for step in steps):
            return f"{verb} {component.name}"
    if before is None:
        return f"Mix {component.name}"
    if before.what == "candy":
        return f"Take {component.name} off the heat"
    return f"Finish {component.name}" if last else f"Cover {component.name} and leave it to rest"
