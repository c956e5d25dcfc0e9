"""A dessert file to desserts: read, checked in all its parts at once, and every mistake placed."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Annotated, Any

from pydantic import BeforeValidator, Field, ValidationError, WithJsonSchema

from demoule.batch.kitchen import Kitchen
from demoule.errors import BadInput, Mistake, Mistakes
from demoule.files.cold import ColdField, programme, usual_programme
from demoule.files.component import ComponentEntry
from demoule.files.fields import Count, Entry, Name, Prose, Share, complaints
from demoule.files.house import HOUSE_NAMES, house_components
from demoule.files.items import ItemEntry, item_mistakes, items_of
from demoule.files.meshes import beside
from demoule.files.mistakes import mistakes_of, split_decimals
from demoule.files.names import name_mistakes
from demoule.files.piece import PieceEntry
from demoule.files.text import read_text, text_of
from demoule.files.tree import Tree, read_trees
from demoule.larder import Larder
from demoule.piece import Heart, PieceDesign
from demoule.worked import Dessert

__all__ = ["VERSION", "DessertEntry", "check_text", "desserts_of", "read_dessert", "read_desserts"]

VERSION = 1
"""Of the files; a later form of them will carry a greater one."""


def _version(value: Any) -> int:
    if value == VERSION and not isinstance(value, bool):
        return VERSION
    raise complaints(f"“{value}” is not a form of file that is known.", f"write demoule: {VERSION}.")


VersionField = Annotated[int, BeforeValidator(_version), WithJsonSchema({"const": VERSION})]


class DessertEntry(Entry):
    """One dessert."""

    demoule: VersionField
    name: Name
    about: Prose = ""
    looks_like: Name = Field("", alias="looks like")
    pieces: Count | None = None
    rejects: Share | None = None
    own_items: dict[Name, ItemEntry] = Field(default_factory=dict, alias="own items")
    components: Annotated[dict[Name, ComponentEntry], Field(min_length=1)]
    piece: PieceEntry
    cold: ColdField | None = None

    def to_dessert(self, larder: Larder) -> Dessert:
        """The dessert."""
        written = tuple(entry.to_component(name) for name, entry in self.components.items())
        design = self.piece.to_design()
        return Dessert(
            name=self.name,
            components=(*written, *house_components(design, {one.name.casefold() for one in written})),
            piece=_spelt_as(design, {one.name.casefold(): one.name for one in written}),
            programme=programme(self.cold) if self.cold else usual_programme(heart=self.piece.heart is not None),
            about=self.about,
            own_items=items_of(self.own_items, larder),
            names_fruit=self.looks_like or self.name,
            rejects=self.rejects,
            pieces=self.pieces,
        )


def _spelt_as(design: PieceDesign, names: dict[str, str]) -> PieceDesign:
    """The design with the components it names spelt as they are where they are written."""

    def spelt(name: str) -> str:
        return names.get(name.casefold()) or HOUSE_NAMES.get(name.casefold(), name)

    def heart(one: Heart | None) -> Heart | None:
        return None if one is None else replace(one, component=spelt(one.component), inside=heart(one.inside))

    return replace(
        design,
        body=replace(design.body, component=spelt(design.body.component)),
        heart=heart(design.heart),
        base=replace(design.base, component=spelt(design.base.component)) if design.base else None,
        skins=tuple(replace(skin, component=spelt(skin.component)) for skin in design.skins),
    )


def desserts_of(text: str, name: str, larder: Larder, kitchen: Kitchen | None = None) -> tuple[Dessert, ...]:
    """The desserts in a text; `name` is what the file is called in messages.

    Raises
    ------
    Mistakes
        All of them at once, each with line and column.
    """
    desserts, mistakes = _read(text, name, larder, kitchen)
    if mistakes:
        raise Mistakes(split_decimals(mistakes, text))
    return desserts


def read_desserts(path: str | Path, larder: Larder, kitchen: Kitchen | None = None) -> tuple[Dessert, ...]:
    """The desserts of a file, one to each document of it; raises Mistakes."""
    with beside(path):
        return desserts_of(read_text(path), str(path), larder, kitchen)


def read_dessert(path: str | Path, larder: Larder, kitchen: Kitchen | None = None) -> Dessert:
    """The one dessert of a file.

    Parameters
    ----------
    path
        A YAML file, UTF-8.
    larder
        Ingredients that names in it may mean, beside its own items.
    kitchen
        When given, moulds and rooms must be its own.

    Raises
    ------
    Mistakes
        All of them at once; also when the file holds more than one dessert.
    """
    desserts = read_desserts(path, larder, kitchen)
    if len(desserts) != 1:
        names = ", ".join(f"“{dessert.name}”" for dessert in desserts)
        says = f"The file holds {len(desserts)} desserts: {names}."
        raise Mistakes([Mistake(file=str(path), line=1, column=1, says=says, remedy="give a file with one.")])
    return desserts[0]


def check_text(text: str | bytes, name: str, larder: Larder, kitchen: Kitchen | None = None) -> list[Mistake]:
    """Everything that is wrong in a text, in the order of lines; empty when it can be worked up."""
    try:
        decoded = text_of(text, name) if isinstance(text, bytes) else text_of(text.encode(), name)
        mistakes = _read(decoded, name, larder, kitchen)[1]
    except Mistakes as found:
        mistakes = list(found.mistakes)
    return sorted(mistakes, key=lambda mistake: (mistake.line, mistake.column))


def _read(text: str, name: str, larder: Larder, kitchen: Kitchen | None) -> tuple[tuple[Dessert, ...], list[Mistake]]:
    desserts: list[Dessert] = []
    mistakes: list[Mistake] = []
    seen: dict[str, int] = {}
    for tree in read_trees(text, name):
        dessert, wrong = _one(tree, larder, kitchen)
        mistakes += wrong
        if dessert is None:
            continue
        line = tree.place(("name",)).line
        if dessert.name.casefold() in seen:
            says = f"Another dessert is called “{dessert.name}” (line {seen[dessert.name.casefold()]})."
            mistakes.append(tree.mistake(("name",), says, "give one of them another name."))
        seen.setdefault(dessert.name.casefold(), line)
        desserts.append(dessert)
    return tuple(desserts), mistakes


def _one(tree: Tree, larder: Larder, kitchen: Kitchen | None) -> tuple[Dessert | None, list[Mistake]]:
    other = _other_kind(tree)
    if other is not None:
        return None, [other]
    mistakes = name_mistakes(tree, larder, kitchen)
    try:
        entry = DessertEntry.model_validate(tree.value)
    except ValidationError as error:
        return None, [*mistakes_of(error, DessertEntry, tree), *mistakes]
    mistakes += item_mistakes(entry.own_items, larder, tree)
    if mistakes:
        return None, mistakes
    try:
        return entry.to_dessert(larder), []
    except BadInput as error:
        path = tuple(error.places[-1].split(".")) if error.places else ()
        return None, [tree.mistake(path, error.says, error.remedy, key=True)]


def _other_kind(tree: Tree) -> Mistake | None:
    """A document that is no dessert at all, said in one sentence."""
    if not isinstance(tree.value, dict):
        what = "a list" if isinstance(tree.value, list) else "a bare text"
        return tree.mistake((), f"This is {what}; a dessert is names with values.", "begin with “demoule: 1”.")
    for key, called in (("kitchen", "kitchen"), ("orders", "order book")):
        if key in tree.value and "components" not in tree.value:
            return tree.mistake(
                (key,), f"This is a {called}, not a dessert.", "give it where that file is asked.", key=True
            )
    return None
