"""Whether the shortest and longest times between jobs can hold together at all: no circle of them may be too long."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

__all__ = ["Arc", "impossible_circle", "longest_paths"]

Arc = tuple[str, str, int]
"""From, to, and the least time from the start of the one to the start of the other; negative for a longest time."""


def longest_paths(nodes: Iterable[str], arcs: Sequence[Arc]) -> tuple[dict[str, int], tuple[Arc, ...]]:
    """Earliest starts, and the arcs of a circle of positive length when there is one (Bellman and Ford).

    Notes
    -----
    A schedule with start-to-start lags exists without regard to resources exactly when the graph of the lags has no
    circle of positive length. Source: bellman-1958.
    """
    names = list(nodes)
    start = dict.fromkeys(names, 0)
    came: dict[str, Arc] = {}
    changed = ""
    for _ in range(len(names)):
        changed = ""
        for arc in arcs:
            a, b, least = arc
            if start[a] + least > start[b]:
                start[b] = start[a] + least
                came[b] = arc
                changed = b
        if not changed:
            return start, ()
    node = changed
    for _ in names:  # far enough back to be on the circle
        node = came[node][0]
    circle = []
    at = node
    while True:
        circle.append(came[at])
        at = came[at][0]
        if at == node:
            break
    return start, tuple(reversed(circle))


def impossible_circle(nodes: Iterable[str], arcs: Sequence[Arc]) -> tuple[Arc, ...]:
    """A circle of lags that cannot all hold; empty when there is none."""
    return longest_paths(nodes, arcs)[1]
