"""A kitchen file to a kitchen: rooms, moulds, machines, people, prices, and what was learned there."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Annotated, Any
from zoneinfo import available_timezones

from pydantic import BeforeValidator, Discriminator, Field, Tag, ValidationError, WithJsonSchema

from demoule.batch.clock import shift, shifts
from demoule.batch.kitchen import Bath, Calibration, Kitchen, Mixer, Person, Sprayer
from demoule.errors import BadInput, Mistake, Mistakes, nearest
from demoule.files.cold import RoomEntry
from demoule.files.dessert import VersionField
from demoule.files.fields import (
    Altitude,
    Count,
    Day,
    Duration,
    EnergyPrice,
    Entry,
    Mass,
    Money,
    Name,
    Pay,
    Power,
    Share,
    Temperature,
    Volume,
    Whole,
    complaint,
    complaints,
)
from demoule.files.items import ItemEntry, PricePerKg, Words, items_of
from demoule.files.measurements import CalibrationField, FactorEntry
from demoule.files.meshes import beside
from demoule.files.mistakes import mistakes_of
from demoule.files.orders import StockCount
from demoule.files.shapes import MouldEntry
from demoule.files.text import read_text
from demoule.files.tree import Tree, read_trees
from demoule.larder import Larder, standard_larder
from demoule.units import CURRENCIES, Kind, Quantity, parse
from demoule.units.number import tidy

__all__ = ["KitchenEntry", "kitchen_of", "read_kitchen"]


def _span(kind: Kind) -> BeforeValidator:
    def read(value: Any) -> Quantity:
        try:
            quantity = parse("" if value is None else value, kind, span=True)
        except BadInput as error:
            raise complaint(error) from None
        if not quantity.is_range:
            raise complaints(f"“{value}” is one value; the least and the most are expected.", "write for example 1–3.")
        return quantity

    return BeforeValidator(read)


VolumeSpan = Annotated[Quantity, _span(Kind.VOLUME), WithJsonSchema({"type": "string", "examples": ["0.8–3.8 l"]})]
MassSpan = Annotated[Quantity, _span(Kind.MASS), WithJsonSchema({"type": "string", "examples": ["1.2–2.5 kg"]})]


def _pans(value: Any) -> tuple[float, ...]:
    """Diameters of round pans: "16 20 24 28 cm", or a list."""
    parts = value if isinstance(value, list) else re.split(r"[\s,]+", tidy(str(value)))
    texts = [str(part) for part in parts]
    if not isinstance(value, list) and len(texts) > 1 and not re.search(r"\d", texts[-1]):
        unit = texts.pop()
        texts = [f"{text} {unit}" for text in texts]
    try:
        return tuple(parse(text, Kind.LENGTH, least=0.08, most=1.5).value for text in texts)
    except BadInput as error:
        raise complaint(error) from None


PansField = Annotated[
    tuple[float, ...],
    BeforeValidator(_pans),
    WithJsonSchema({"type": ["string", "array"], "description": "Diameters.", "examples": ["16 20 24 28 cm"]}),
]


class MixerEntry(Entry):
    """A whipping bowl by the liquid cream it can take, smallest and largest."""

    bowl: Volume
    cream: VolumeSpan


class BathEntry(Entry):
    """Vessels for dipping: how many, and what one must and can hold."""

    count: Count = 1
    holds: MassSpan


class SprayerEntry(Entry):
    """A spray gun: its cup, and what stays in gun and hose for each colour."""

    cup: Volume
    stays: Mass


class HobEntry(Entry):
    """The hob: electric power, the share that reaches the pot, and the pans."""

    power: Power | None = None
    efficiency: (
        Annotated[float, BeforeValidator(lambda v: _efficiency(v)), WithJsonSchema({"type": "string"})] | None
    ) = None
    pans: PansField | None = None


def _efficiency(value: Any) -> float:
    try:
        return parse("" if value is None else value, Kind.PERCENT, least=0.1, most=1.0).value
    except BadInput as error:
        raise complaint(error) from None


class OvenEntry(Entry):
    """The oven by its levels."""

    levels: Count


_MACHINES: tuple[tuple[str, frozenset[str]], ...] = (
    ("<mixer>", frozenset(["bowl", "cream"])),
    ("<sprayer>", frozenset(["cup", "stays"])),
    ("<bath>", frozenset(["holds"])),
    ("<hob>", frozenset(["power", "pans", "efficiency"])),
    ("<oven>", frozenset(["levels"])),
)


def _kind_of_machine(value: Any) -> str:
    """What a machine is shows in what is told of it, whatever it is called."""
    keys = set(value) if isinstance(value, dict) else set()
    return max(_MACHINES, key=lambda one: len(one[1] & keys))[0]


MachineField = Annotated[
    Annotated[MixerEntry, Tag("<mixer>")]
    | Annotated[SprayerEntry, Tag("<sprayer>")]
    | Annotated[BathEntry, Tag("<bath>")]
    | Annotated[HobEntry, Tag("<hob>")]
    | Annotated[OvenEntry, Tag("<oven>")],
    Discriminator(_kind_of_machine),
]


def _shift(value: Any) -> str:
    text = str(value)
    try:
        shifts(text)
    except BadInput as error:
        raise complaint(error) from None
    return text


def _breaks(value: Any) -> tuple[tuple[float, float], ...]:
    """Pauses on every day of work: "11:30–12:00", or several in a list."""
    found = []
    for text in value if isinstance(value, list) else str(value).split(";"):
        try:
            found.append(shift(f"daily {text}")[1:])
        except BadInput:
            raise complaints(f"“{text}” is no break.", "write its hours, such as 11:30–12:00.") from None
    return tuple(sorted(found))


def _zone(value: Any) -> str:
    name = str(value).strip()
    if name in available_timezones():
        return name
    hint = nearest(name, available_timezones())
    raise complaints(
        f"“{value}” is no time zone.", f"did you mean “{hint}”?" if hint else "write for example Europe/Vienna."
    )


def _days_off(value: Any) -> list[Any]:
    return list(value) if isinstance(value, list) else [value]


BreaksField = Annotated[
    tuple[tuple[float, float], ...],
    BeforeValidator(_breaks),
    WithJsonSchema({"type": ["string", "array"], "examples": ["11:30–12:00"]}),
]


class PersonEntry(Entry):
    """Someone who works here."""

    shift: Annotated[
        str, BeforeValidator(_shift), WithJsonSchema({"type": "string", "examples": ["Mon–Sat 07:00–15:30"]})
    ]
    pay: Pay
    skills: Words = Field(default_factory=list)
    breaks: BreaksField = ()
    off: Annotated[list[Day], BeforeValidator(_days_off)] = Field(default_factory=list)
    overtime: Duration | None = None
    overtime_pay: Share | None = Field(None, alias="overtime pay")


def _currency(value: Any) -> str:
    code = str(value).strip().upper()
    by_sign = {sign: name for name, sign in CURRENCIES.items()}
    if code in CURRENCIES or str(value).strip() in by_sign:
        return code if code in CURRENCIES else by_sign[str(value).strip()]
    hint = nearest(code, CURRENCIES)
    raise complaints(
        f"“{value}” is no currency that is known.",
        f"did you mean “{hint}”?" if hint else f"write one of {', '.join(CURRENCIES)}.",
    )


def _market(value: Any) -> str:
    word = str(value).strip().upper()
    if word in ("EU", "US"):
        return word
    if word == "USA":
        return "US"
    raise complaints(f"“{value}” is no market whose rules are known.", "write EU or US.")


class KitchenEntry(Entry):
    """A kitchen."""

    demoule: VersionField
    kitchen: Name
    altitude: Altitude = 0.0
    currency: Annotated[str, BeforeValidator(_currency), WithJsonSchema({"enum": list(CURRENCIES)})] = "EUR"
    zone: Annotated[str, BeforeValidator(_zone), WithJsonSchema({"type": "string", "examples": ["Europe/Vienna"]})] = (
        Field("UTC", alias="time zone")
    )
    market: Annotated[str, BeforeValidator(_market), WithJsonSchema({"enum": ["EU", "US"]})] = "EU"
    air: Temperature = 295.15
    rooms: dict[Name, RoomEntry] = Field(default_factory=dict)
    moulds: dict[Name, MouldEntry] = Field(default_factory=dict)
    machines: dict[Name, MachineField] = Field(default_factory=dict)
    people: dict[Name, PersonEntry] = Field(default_factory=dict)
    rejects: dict[Name, Share] = Field(default_factory=dict)
    contingency: Share = 0.0
    prices: dict[Name, PricePerKg] = Field(default_factory=dict, alias="prices per kg")
    packaging: Money | None = None
    margin: Whole = 0.70
    energy_price: EnergyPrice | None = Field(None, alias="energy price")
    stock: dict[Name, StockCount] = Field(default_factory=dict)
    pantry: dict[Name, Mass] = Field(default_factory=dict)
    calibrations: dict[Name, CalibrationField] = Field(default_factory=dict)
    own_items: dict[Name, ItemEntry] = Field(default_factory=dict, alias="own items")

    def _machines(self, kind: type[Any]) -> list[tuple[str, Any]]:
        return [(name, machine) for name, machine in self.machines.items() if type(machine) is kind]

    def to_kitchen(self, larder: Larder) -> Kitchen:
        """The kitchen, with its own items and prices in its larder."""
        stocked = larder.with_items(items_of(self.own_items, larder))
        usual = Kitchen(name="", larder=larder)
        hobs = [hob for _, hob in self._machines(HobEntry)]
        hob: HobEntry = hobs[0] if hobs else HobEntry()
        ovens = [oven for _, oven in self._machines(OvenEntry)]
        return Kitchen(
            name=self.kitchen,
            larder=stocked.with_prices(self.prices) if self.prices else stocked,
            altitude=self.altitude,
            currency=self.currency,
            market=self.market,
            rooms=tuple(room.to_room(name) for name, room in self.rooms.items()),
            moulds=tuple(mould.to_mould(name) for name, mould in self.moulds.items()),
            mixers=tuple(
                Mixer(name=name, bowl=one.bowl, cream_least=one.cream.low, cream_most=one.cream.high)
                for name, one in self._machines(MixerEntry)
            ),
            baths=tuple(
                Bath(count=one.count, least=one.holds.low, most=one.holds.high) for _, one in self._machines(BathEntry)
            ),
            sprayers=tuple(Sprayer(cup=one.cup, stays=one.stays) for _, one in self._machines(SprayerEntry)),
            people=tuple(
                Person(
                    name=name,
                    shift=one.shift,
                    pay=one.pay.value * 3600,
                    skills=frozenset(one.skills),
                    breaks=one.breaks,
                    off=tuple(one.off),
                    overtime=one.overtime or 0.0,
                    overtime_factor=1.5 if one.overtime_pay is None else 1.0 + one.overtime_pay,
                )
                for name, one in self.people.items()
            ),
            hob_power=hob.power or usual.hob_power,
            hob_efficiency=hob.efficiency or usual.hob_efficiency,
            pans=hob.pans or usual.pans,
            oven_levels=sum(oven.levels for oven in ovens) or usual.oven_levels,
            air=self.air,
            rejects=tuple(
                ("" if name.casefold() in ("all", "others") else name, s) for name, s in self.rejects.items()
            ),
            packaging=self.packaging.value if self.packaging else 0.0,
            margin=self.margin,
            energy_price=self.energy_price.value * 3.6e6 if self.energy_price else None,
            calibrations=tuple(
                Calibration(what=what, factor=one.factor, measured=one.measured)
                for what, one in self.calibrations.items()
                if isinstance(one, FactorEntry)
            ),
            measurements=tuple(
                one.to_measurement(what) for what, one in self.calibrations.items() if not isinstance(one, FactorEntry)
            ),
            stock=tuple(self.stock.items()),
            contingency=self.contingency,
            pantry=tuple(self.pantry.items()),
            zone=self.zone,
        )


def read_kitchen(path: str | Path, larder: Larder | None = None) -> Kitchen:
    """The kitchen of a file.

    Parameters
    ----------
    path
        A YAML file, UTF-8.
    larder
        What the kitchen's own items and prices are added to; None: the larder that comes with demoule.

    Raises
    ------
    Mistakes
        All of them at once.
    """
    with beside(path):
        return kitchen_of(read_text(path), str(path), larder)


def kitchen_of(text: str, name: str, larder: Larder | None = None) -> Kitchen:
    """The kitchen in a text; `name` is what the file is called in messages. Raises Mistakes."""
    trees = read_trees(text, name)
    if len(trees) != 1:
        mistake = Mistake(file=name, line=1, column=1, says=f"The file holds {len(trees)} documents; one is expected.")
        raise Mistakes([mistake])
    tree = trees[0]
    _refuse_others(tree)
    stocked = standard_larder() if larder is None else larder
    mistakes = _larder_mistakes(tree, stocked) + _currency_mistakes(tree)
    try:
        entry = KitchenEntry.model_validate(tree.value)
    except ValidationError as error:
        raise Mistakes([*mistakes_of(error, KitchenEntry, tree), *mistakes]) from None
    if mistakes:
        raise Mistakes(mistakes)
    try:
        return entry.to_kitchen(stocked)
    except BadInput as error:
        path = tuple(error.places[-1].split(".")) if error.places else ()
        raise Mistakes([tree.mistake(path, error.says, error.remedy, key=True)]) from None


def _refuse_others(tree: Tree) -> None:
    if not isinstance(tree.value, dict):
        raise Mistakes([tree.mistake((), "This is no kitchen.", "begin with “demoule: 1” and “kitchen:”.")])
    for key, called in (("components", "dessert"), ("orders", "order book")):
        if key in tree.value and "kitchen" not in tree.value:
            raise Mistakes(
                [tree.mistake((key,), f"This is a {called}, not a kitchen.", "give the kitchen file.", key=True)]
            )


def _larder_mistakes(tree: Tree, larder: Larder) -> list[Mistake]:
    """Prices and shelf stock of things that the larder does not hold."""
    listed = [(part, name) for part in ("prices per kg", "pantry") for name in _keys(tree.at((part,)))]
    if not listed:
        return []
    own = tree.at(("own items",))
    names = [*larder.names(), *(own if isinstance(own, dict) else ())]
    folded = [name.casefold() for name in names]
    found = []
    for part, name in listed:
        start = name.casefold()
        if not any(one == start or one.startswith(start + " ") for one in folded) and not _is_known(name, larder):
            hint = nearest(name, names)
            remedy = f"did you mean “{hint}”?" if hint else "name an ingredient, or the words it begins with."
            found.append(tree.mistake((part, name), f"Nothing in the larder is called “{name}”.", remedy, key=True))
    return found


def _keys(value: Any) -> list[str]:
    return list(value) if isinstance(value, dict) else []


def _is_known(name: str, larder: Larder) -> bool:
    try:
        larder.find(name)
    except BadInput:
        return False
    return True


_MONEY = re.compile(r"|".join(re.escape(name) for pair in CURRENCIES.items() for name in pair))


def _currency_mistakes(tree: Tree) -> list[Mistake]:
    """Amounts in another currency than the kitchen's."""
    try:
        own = _currency(tree.at(("currency",)) or "EUR")
    except ValueError:
        return []
    by_sign = {sign: code for code, sign in CURRENCIES.items()}
    paths: list[tuple[str | int, ...]] = [("packaging",), ("energy price",)]
    for part, field in (("people", ("pay",)), ("prices per kg", ())):
        mapping = tree.at((part,))
        paths += [(part, name, *field) for name in mapping] if isinstance(mapping, dict) else []
    found = []
    for path in paths:
        value = tree.at(path)
        match = _MONEY.search(value) if isinstance(value, str) else None
        if match and by_sign.get(match[0], match[0]) != own:
            says = f"“{value}” is not in the kitchen's currency, {own}."
            found.append(tree.mistake(path, says, f"write it in {own}, or change currency:."))
    return found
