"""What a text describes, and what it is called, before it is read in full."""

from __future__ import annotations

from pathlib import PurePath
from typing import Literal

from demoule.errors import Mistake, Mistakes
from demoule.files.tree import read_trees

__all__ = ["described"]

_SIGNS: tuple[tuple[str, Literal["dessert", "kitchen", "orders", "week"], str], ...] = (
    ("components", "dessert", "name"),
    ("piece", "dessert", "name"),
    ("week", "week", "week"),
    ("kitchen", "kitchen", "kitchen"),
    ("orders", "orders", "name"),
)
"""A key at the top, what a text with it describes, and the key of its name."""


def described(text: str, name: str) -> tuple[Literal["dessert", "kitchen", "orders", "week"], str]:
    """What a text is, and what it is called; a text without a name is called after its file.

    Examples
    --------
    >>> described("demoule: 1\\nkitchen: The Walled Garden\\n", "kitchen.yaml")
    ('kitchen', 'The Walled Garden')

    Raises
    ------
    Mistakes
        When it cannot be read, or is neither a dessert, a kitchen, an order book nor a planned week.
    """
    trees = read_trees(text.removeprefix("\ufeff"), name)
    top = trees[0].value if trees else None
    if isinstance(top, dict):
        for key, kind, called in _SIGNS:
            if key in top:
                stem = PurePath(name).stem or kind
                words = top.get(called)
                return kind, (str(words).strip() if isinstance(words, str | int | float) else "") or stem
    raise Mistakes(
        [
            Mistake(
                file=name,
                line=1,
                column=1,
                says="This is neither a dessert, a kitchen, an order book nor a planned week.",
                remedy="write components:, kitchen:, orders: or week: at its top",
            )
        ]
    )
