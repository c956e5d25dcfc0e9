"""What was weighed and read in a kitchen to teach the models, as it is written."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import Discriminator, Field, Tag, model_validator

from demoule.batch.measured import CandyingTest, ConductionTest, CupTest, DipTest, GunTest, OneDip, PanTest
from demoule.files.fields import (
    Brix,
    Conducts,
    Count,
    Duration,
    Entry,
    Mass,
    Name,
    Ratio,
    Share,
    Speed,
    SurfaceArea,
    Temperature,
    YesNo,
    complaints,
)
from demoule.files.hot_steps import CutPieceField, Strength
from demoule.files.verb import PanField

__all__ = ["CalibrationField", "FactorEntry"]


class FactorEntry(Entry):
    """A factor learned from one measurement in this kitchen."""

    factor: Ratio
    measured: Name


class OneDipEntry(Entry):
    """Some pieces weighed before and after a dip, dry."""

    duration: Duration = Field(alias="for")
    pieces: Count = 1
    gained: Mass

    def to_dip(self) -> OneDip:
        """The dip."""
        return OneDip(duration=self.duration, pieces=self.pieces, gained=self.gained)


class DipTestEntry(Entry):
    """Test dips in one bath: one time, or several under `dips`."""

    bath: Temperature
    piece: Temperature = 253.15
    lift: Speed = 0.05
    component: Name = ""
    dessert: Name = ""
    fat: Share | None = None
    mould: Name = ""
    area: SurfaceArea | None = None
    weighs: Mass | None = None
    duration: Duration | None = Field(None, alias="for")
    pieces: Count | None = None
    gained: Mass | None = None
    dips: list[OneDipEntry] = Field(default_factory=list)
    measured: Name = ""

    @model_validator(mode="after")
    def _whole(self) -> DipTestEntry:
        one = (self.duration, self.gained)
        if self.dips and one != (None, None):
            raise complaints("The dip is told twice: beside “dips” and in it.", "keep one of them.")
        if not self.dips and None in one:
            raise complaints(
                "A test dip is told by its seconds and by what the pieces gained.",
                "write for example for: 2 s, pieces: 5, gained: 28 g.",
            )
        if not self.mould and self.area is None:
            raise complaints("Nothing tells how large the dipped pieces were.", "name their mould, or give their area.")
        if self.fat is None and not self.component:
            raise complaints("Nothing tells what was dipped into.", "give fat: 60 %, or the component.")
        if self.bath <= self.piece:
            raise complaints("The bath is not warmer than the piece.", "write the warmth of the bath at “bath”.")
        return self

    def to_measurement(self, name: str) -> DipTest:
        """The measurement."""
        dips = [one.to_dip() for one in self.dips]
        if self.duration is not None and self.gained is not None:
            dips = [OneDip(duration=self.duration, pieces=self.pieces or 1, gained=self.gained)]
        return DipTest(
            name=name,
            dips=tuple(dips),
            bath=self.bath,
            piece=self.piece,
            lift=self.lift,
            component=self.component,
            dessert=self.dessert,
            fat=self.fat,
            mould=self.mould,
            area=self.area,
            weighs=self.weighs,
            measured=self.measured,
        )


class CandyingTestEntry(Entry):
    """Fruit weighed and read before and after some time in a syrup."""

    fruit: Mass
    fruit_solids: Brix = Field(alias="fruit Brix")
    syrup: Mass
    syrup_solids: Brix = Field(alias="syrup Brix")
    at: Temperature
    duration: Duration = Field(alias="for")
    piece: CutPieceField = ("wedge", 0.016)
    skin: YesNo = False
    fruit_after: Mass = Field(alias="fruit after")
    solids_after: Brix = Field(alias="Brix after")
    component: Name = ""
    measured: Name = ""

    def to_measurement(self, name: str) -> CandyingTest:
        """The measurement."""
        return CandyingTest(
            name=name,
            fruit=self.fruit,
            fruit_solids=self.fruit_solids,
            syrup=self.syrup,
            syrup_solids=self.syrup_solids,
            at=self.at,
            duration=self.duration,
            piece=self.piece[0],
            size=self.piece[1],
            skin=self.skin,
            fruit_after=self.fruit_after,
            solids_after=self.solids_after,
            component=self.component,
            measured=self.measured,
        )


class PanTestEntry(Entry):
    """Water off a pan in some minutes, from the pot weighed twice."""

    pan: PanField
    off: Mass
    duration: Duration = Field(alias="in")
    at: Temperature | None = None
    strength: Strength = "rolling"
    covered: YesNo = False
    measured: Name = ""

    def to_measurement(self, name: str) -> PanTest:
        """The measurement."""
        return PanTest(
            name=name,
            pan=self.pan,
            off=self.off,
            duration=self.duration,
            at=self.at,
            strength=self.strength,
            covered=self.covered,
            measured=self.measured,
        )


class GunTestEntry(Entry):
    """What a gun lost, and what the pieces gained by it together."""

    sprayed: Mass
    landed: Mass
    pieces: Count = 1
    component: Name = ""
    measured: Name = ""

    @model_validator(mode="after")
    def _less_lands(self) -> GunTestEntry:
        if self.landed > self.sprayed:
            raise complaints("More landed than was sprayed.", "weigh gun and pieces before and after.")
        return self

    def to_measurement(self, name: str) -> GunTest:
        """The measurement."""
        return GunTest(
            name=name,
            sprayed=self.sprayed,
            landed=self.landed,
            pieces=self.pieces,
            component=self.component,
            measured=self.measured,
        )


class CupTestEntry(Entry):
    """One level cup of water, of the whipped part, of the base and of the mousse; the share of the whipped part."""

    water: Mass
    foam: Mass
    base: Mass
    mousse: Mass
    share: Share
    measured: Name = ""

    def to_measurement(self, name: str) -> CupTest:
        """The measurement."""
        return CupTest(
            name=name,
            water=self.water,
            foam=self.foam,
            base=self.base,
            mousse=self.mousse,
            share=self.share,
            measured=self.measured,
        )


class ConductionEntry(Entry):
    """How well the mixes of a dessert conduct, of what is computed, learned from a probe log."""

    conducts: Conducts
    band: Share = Field(0.2, alias="give or take")
    dessert: Name
    source: Name = Field("", alias="from")
    measured: Name = ""

    def to_measurement(self, name: str) -> ConductionTest:
        """The measurement."""
        return ConductionTest(
            name=name,
            dessert=self.dessert,
            factor=self.conducts,
            band=self.band,
            source=self.source,
            measured=self.measured,
        )


_KINDS: tuple[tuple[str, frozenset[str]], ...] = (
    ("<factor>", frozenset(["factor"])),
    ("<dip>", frozenset(["bath", "dips", "gained", "lift"])),
    ("<candying>", frozenset(["fruit", "fruit Brix", "syrup", "syrup Brix", "fruit after", "Brix after"])),
    ("<pan>", frozenset(["pan", "off", "in"])),
    ("<gun>", frozenset(["sprayed", "landed"])),
    ("<cups>", frozenset(["water", "foam", "base", "mousse", "share"])),
    ("<conduction>", frozenset(["conducts"])),
)


def _kind(value: Any) -> str:
    """What was measured shows in what is told of it, whatever it is called."""
    keys = set(value) if isinstance(value, dict) else set()
    return max(_KINDS, key=lambda one: len(one[1] & keys))[0]


CalibrationField = Annotated[
    Annotated[FactorEntry, Tag("<factor>")]
    | Annotated[DipTestEntry, Tag("<dip>")]
    | Annotated[CandyingTestEntry, Tag("<candying>")]
    | Annotated[PanTestEntry, Tag("<pan>")]
    | Annotated[GunTestEntry, Tag("<gun>")]
    | Annotated[CupTestEntry, Tag("<cups>")]
    | Annotated[ConductionEntry, Tag("<conduction>")],
    Discriminator(_kind),
]
"""What was learned here: a measurement as it was made, or a factor."""
