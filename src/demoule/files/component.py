"""A component as it is written: what is weighed, what is done to it, and what was measured."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BeforeValidator, ConfigDict, Discriminator, Field, Tag, WithJsonSchema, model_validator

from demoule.errors import BadInput
from demoule.files.amount import AmountField, single
from demoule.files.fields import PH, Density, Entry, Mass, Name, Share, Temperature, Whole, complaint, complaints
from demoule.files.steps import StepEntry
from demoule.formula.component import Amount, Component, GoodBatch, Weighed
from demoule.units import Kind, parse

__all__ = ["ComponentEntry"]

_Lines = Annotated[dict[Name, AmountField], Field(min_length=1)]
_Line = Annotated[
    dict[Name, AmountField],
    BeforeValidator(single),
    WithJsonSchema(
        {
            "anyOf": [
                {"type": "string", "examples": ["700 g cream 35 %", "half the apricot jelly"]},
                {"type": "object", "minProperties": 1, "maxProperties": 1, "additionalProperties": {"type": "string"}},
            ]
        }
    ),
]

WeighField = Annotated[
    Annotated[_Lines, Tag("<mapping>")] | Annotated[list[_Line], Field(min_length=1), Tag("<list>")],
    Discriminator(lambda value: "<list>" if isinstance(value, list) else "<mapping>"),
]
"""What is weighed: names to amounts, or a list of lines (for a name with a comma, or one that comes twice)."""


def _loss(value: Any) -> float:
    """A share lost, or a mass of water for evaporation; told apart by the sign: shares are below one."""
    try:
        quantity = parse("" if value is None else value, (Kind.PERCENT, Kind.MASS), zero=True)
    except BadInput as error:
        raise complaint(error) from None
    if quantity.kind is Kind.MASS:
        raise complaints(
            "A loss to a vessel is told as a share of what enters it.",
            "write for example pan: 2 %; only evaporation is told in grams.",
        )
    if quantity.value >= 1:
        raise complaints(f"“{value}” is more than there is.", "write for example pan: 2 %.")
    return quantity.value


class CupEntry(Entry):
    """One cup weighed level with water and with the mix, the empty cup taken off: its density."""

    water: Mass
    mix: Mass

    @property
    def density(self) -> float:
        """Of the mix [kg/m3]; water at 20 °C has 998.2."""
        return 998.2 * self.mix / self.water


class GoodBatchEntry(Entry):
    """The chef's own good batch: what it was like when it cut well."""

    ice: Whole | None = None
    cut_at: Temperature | None = Field(None, alias="cut at")
    gelling: Share | None = None

    def to_good(self) -> GoodBatch:
        """The batch to compare with."""
        return GoodBatch(ice=self.ice, cut_at=self.cut_at, gelling=self.gelling)


LossField = Annotated[
    float, BeforeValidator(_loss), WithJsonSchema({"type": "string", "description": "A share.", "examples": ["2 %"]})
]


class LossesEntry(Entry):
    """What stays behind: evaporation as a mass, vessels as shares of what enters them, in the order of work."""

    model_config = ConfigDict(extra="allow", frozen=True)

    evaporation: Mass | None = None
    __pydantic_extra__: dict[str, LossField]

    @property
    def vessels(self) -> tuple[tuple[str, float], ...]:
        """The shares in the order written."""
        return tuple((" ".join(name.split()), share) for name, share in (self.__pydantic_extra__ or {}).items())


class ComponentEntry(Entry):
    """One mix of a dessert."""

    weigh: WeighField
    steps: list[StepEntry] = Field(default_factory=list)
    base: Name = ""
    to_make: Mass | None = Field(None, alias="to make")
    loses: LossesEntry = Field(default_factory=LossesEntry)
    evaporation: Mass | None = None
    gives: Mass | None = None
    density: Density | None = None
    cup: CupEntry | None = None
    ph: PH | None = Field(None, alias="pH")
    label: Name = ""
    good: GoodBatchEntry | None = Field(None, alias="good batch")

    @model_validator(mode="after")
    def _told_once(self) -> ComponentEntry:
        if self.evaporation is not None and self.loses.evaporation is not None:
            raise complaints("The evaporation is told twice.", "keep it under loses.")
        if self.density is not None and self.cup is not None:
            raise complaints("The density is told twice: by itself and by a cup.", "keep one of them.")
        if self.cup is not None and not 50 <= self.cup.density <= 2500:
            raise complaints("No mix weighs so much against water.", "weigh one level cup of each, empty cup off.")
        if self.base and self.base.casefold() not in {what.casefold() for what, _ in self.lines()}:
            raise complaints(
                f"The base “{self.base}” is not weighed here.", "name the line that counts as 100 %, as it is written."
            )
        return self

    def lines(self) -> list[tuple[str, Amount]]:
        """What is weighed, in order."""
        if isinstance(self.weigh, dict):
            return list(self.weigh.items())
        return [pair for one in self.weigh for pair in one.items()]

    def to_component(self, name: str, *, where: str = "") -> Component:
        """The component; `where` is its path when that is not in the file."""
        where = where or f"components.{name}"
        listed = isinstance(self.weigh, list)
        return Component(
            name=name,
            weighed=tuple(
                Weighed(what=what, amount=how_much, where=f"{where}.weigh.{f'{k}.{what}' if listed else what}")
                for k, (what, how_much) in enumerate(self.lines())
            ),
            steps=tuple(step.to_step() for step in self.steps),
            base=self.base,
            to_make=self.to_make,
            losses=self.loses.vessels,
            evaporation=self.evaporation if self.evaporation is not None else self.loses.evaporation,
            gives=self.gives,
            density=self.density if self.cup is None else self.cup.density,
            ph=self.ph,
            where=where,
            label_name=self.label,
            good=self.good.to_good() if self.good else None,
        )
